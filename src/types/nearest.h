/* SPDX-License-Identifier: MIT */
/* "did you mean": the nearest of some names. */
#ifndef ASLEFT_TYPES_NEAREST_H
#define ASLEFT_TYPES_NEAREST_H

#include <stddef.h>

/* The one of `names` that is nearest to `given` by insertions, deletions, replacements and exchanges of neighbours, if
 * that takes at most two, and at most a third of the longer one's length; else NULL. NULL entries are passed over. */
const char *nearest(const char *given, const char *const *names, size_t count);

#endif
