/* SPDX-License-Identifier: MIT */
/* Allocation that does not return NULL, and owned strings. Out of memory ends the process by abort(), with one line on
 * standard error: nothing this program holds is worth continuing without, and docs/decisions says so. */
#ifndef ASLEFT_TYPES_MEMORY_H
#define ASLEFT_TYPES_MEMORY_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

/* Zeroed memory for `count` items of `size` bytes; free() it. count * size is checked for overflow. */
void *memory_new(size_t count, size_t size);

/* Grows `items` (NULL at first) so that one more item of `size` bytes fits behind the `count` there are.
 * Returns the array, possibly moved; the new item is zeroed. */
void *memory_grow(void *items, size_t count, size_t size);

/* Owned copy of `text`, NULL for NULL; free() it. */
char *text_copy(const char *text);

/* Owned formatted string; free() it. */
char *text_format(const char *format, ...) __attribute__((format(printf, 1, 2)));

char *text_format_list(const char *format, va_list list) __attribute__((format(printf, 1, 0)));

/* A list of owned strings. Zero it to start. */
struct texts {
    char **items;
    size_t count;
};

/* Appends `text`, which the list then owns. */
void texts_add(struct texts *texts, char *text);
void texts_free(struct texts *texts);

/* The same text, or both none? */
bool text_same(const char *a, const char *b);

/* Is `text` one of `words`, which end with NULL? */
bool text_is_one_of(const char *text, const char *const *words);

/* Is `text` among them? */
bool texts_have(const struct texts *texts, const char *text);

/* All of them in one owned text, with `between` between. */
char *texts_join(const struct texts *texts, const char *between);

#endif
