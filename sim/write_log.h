/* SPDX-License-Identifier: MIT */
/* The log of writes: each write request that a drive took in, and what became of it. */
#ifndef ASLEFT_SIM_WRITE_LOG_H
#define ASLEFT_SIM_WRITE_LOG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* Functions 05, 06, 15 and 16. `pdu` has at least one byte. */
bool write_log_is_write(const uint8_t *pdu);

/* Comma-separated, one line each: unit, function, address, words, outcome, fault. The words are hexadecimal with spaces
 * between, as they travelled; of function 15, its bytes. Address and words are empty where the request was cut short.
 * The outcome is "done" or "exception-03"; `fault` is the word of the fault that struck it, or "". Nothing is written
 * for a request that is no write, nor where `file` is NULL. */
void write_log_head(FILE *file);
void write_log_row(FILE *file, unsigned unit, const uint8_t *pdu, size_t length, uint8_t exception, const char *fault);

#endif
