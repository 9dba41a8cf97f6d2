/* SPDX-License-Identifier: MIT */
/* What a parameter holds, once read: a number, a word, a text, a set of bit names, a boolean or nothing. */
#ifndef ASLEFT_TYPES_VALUE_H
#define ASLEFT_TYPES_VALUE_H

#include "types/memory.h"

#include <stdbool.h>

enum value_kind { VALUE_NOTHING, VALUE_NUMBER, VALUE_WORD, VALUE_TEXT, VALUE_BITS, VALUE_BOOL };

struct value {
    enum value_kind kind;
    double number;      /* VALUE_NUMBER, in the reading's unit */
    bool truth;         /* VALUE_BOOL */
    char *text;         /* VALUE_WORD (a choice or special), VALUE_TEXT: owned, UTF-8 */
    struct texts words; /* VALUE_BITS: names of the set bits, owned */
};

struct value value_copy(const struct value *value);
void value_free(struct value *value);

#endif
