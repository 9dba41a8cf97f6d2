/* SPDX-License-Identifier: MIT */
/* Copying and freeing of values. */
#include "types/value.h"

#include <stdlib.h>

struct value value_copy(const struct value *value)
{
    struct value copy = {.kind = value->kind, .number = value->number, .truth = value->truth};
    copy.text = text_copy(value->text);
    for (size_t i = 0; i < value->words.count; i++)
        texts_add(&copy.words, text_copy(value->words.items[i]));
    return copy;
}

void value_free(struct value *value)
{
    free(value->text);
    texts_free(&value->words);
    *value = (struct value){0};
}
