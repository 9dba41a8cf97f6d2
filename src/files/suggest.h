/* SPDX-License-Identifier: MIT */
/* Gathering of the words that are right, to find the one that was meant. */
#ifndef ASLEFT_FILES_SUGGEST_H
#define ASLEFT_FILES_SUGGEST_H

#include <stddef.h>

/* Zero it to start. The words are not owned. */
struct suggestion {
    const char **words;
    size_t count;
};

/* Adds a word that is right; NULL is passed over. */
void suggestion_offer(struct suggestion *suggestion, const char *word);

/* The word nearest to `text`, or NULL where none is near (types/nearest.h); forgets the words. */
const char *suggestion_take(struct suggestion *suggestion, const char *text);

#endif
