/* SPDX-License-Identifier: MIT */
/* Gathering of words for "did you mean". */
#include "files/suggest.h"

#include "types/memory.h"
#include "types/nearest.h"

#include <stdlib.h>

void suggestion_offer(struct suggestion *suggestion, const char *word)
{
    if (word == NULL)
        return;
    suggestion->words = memory_grow(suggestion->words, suggestion->count, sizeof *suggestion->words);
    suggestion->words[suggestion->count++] = word;
}

const char *suggestion_take(struct suggestion *suggestion, const char *text)
{
    const char *best = nearest(text, suggestion->words, suggestion->count);
    free(suggestion->words);
    *suggestion = (struct suggestion){0};
    return best;
}
