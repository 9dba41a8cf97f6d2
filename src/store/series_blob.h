/* SPDX-License-Identifier: MIT */
/* A series' moments and numbers as bytes: about five a sample, and nothing is lost. Pure functions. */
#ifndef ASLEFT_STORE_SERIES_BLOB_H
#define ASLEFT_STORE_SERIES_BLOB_H

#include "types/samples.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct blob {
    uint8_t *bytes; /* owned */
    size_t length;
};

/* Of each sample the change of its interval and of half_us, as variable-length numbers. */
struct blob blob_of_moments(const struct series *series);

/* A byte for the form, then the numbers: whole multiples of the step as differences where all of them are that exactly,
 * else eight bytes each, low byte first. */
struct blob blob_of_numbers(const struct series *series);

/* Fill `count` items, which are there. False where the bytes are not what one of these functions has made. */
bool blob_to_moments(const struct blob *blob, struct sample *items, size_t count);
bool blob_to_numbers(const struct blob *blob, double step, struct sample *items, size_t count);

void blob_free(struct blob *blob);

#endif
