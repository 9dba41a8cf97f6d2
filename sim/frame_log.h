/* SPDX-License-Identifier: MIT */
/* The log of frames: when each was read, when its reply was due, when it really went out. */
#ifndef ASLEFT_SIM_FRAME_LOG_H
#define ASLEFT_SIM_FRAME_LOG_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* A time that there is none of: nothing was sent. */
#define FRAME_NEVER INT64_MIN

/* One request and what became of it. Times are CLOCK_MONOTONIC. */
struct frame_row {
    int64_t read_us;
    int64_t ideal_us; /* FRAME_NEVER where there was no reply */
    int64_t real_us;
    uint8_t unit;
    uint8_t function;
    int32_t address;    /* -1 where the function has none */
    int32_t count;      /* of registers or bits; -1 where the function has none */
    const char *remark; /* the fault that struck it, or why it has no reply; "" for none */
};

/* The row of a request, not answered yet; `pdu` has at least one byte. */
struct frame_row frame_row_of(uint8_t unit, const uint8_t *pdu, size_t length, int64_t read_us);

/* Comma-separated, one line each. What is not there is left empty. */
void frame_log_head(FILE *file);
void frame_log_row(FILE *file, const struct frame_row *row);

#endif
