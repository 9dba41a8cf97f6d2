/* SPDX-License-Identifier: MIT */
/* Allocation that does not return NULL, and owned strings. */
#include "types/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void *checked(void *memory)
{
    if (memory == NULL) {
        (void)fputs("asleft: out of memory\n", stderr);
        abort();
    }
    return memory;
}

void *memory_new(size_t count, size_t size)
{
    return checked(calloc(count == 0 ? 1 : count, size));
}

void *memory_grow(void *items, size_t count, size_t size)
{
    /* Capacity doubles: it is full exactly when count is a power of two (or nothing is there yet). */
    if (count == 0 || (count & (count - 1)) == 0) {
        size_t capacity = count == 0 ? 1 : count * 2;
        items = checked(reallocarray(items, capacity, size));
    }
    memset((char *)items + count * size, 0, size);
    return items;
}

char *text_copy(const char *text)
{
    return text == NULL ? NULL : checked(strdup(text));
}

char *text_format_list(const char *format, va_list list)
{
    char *text = NULL;
    return checked(vasprintf(&text, format, list) < 0 ? NULL : text);
}

char *text_format(const char *format, ...)
{
    va_list list;
    va_start(list, format);
    char *text = text_format_list(format, list);
    va_end(list);
    return text;
}

void texts_add(struct texts *texts, char *text)
{
    texts->items = memory_grow(texts->items, texts->count, sizeof *texts->items);
    texts->items[texts->count++] = text;
}

void texts_free(struct texts *texts)
{
    for (size_t i = 0; i < texts->count; i++)
        free(texts->items[i]);
    free(texts->items);
    *texts = (struct texts){0};
}

bool texts_have(const struct texts *texts, const char *text)
{
    for (size_t i = 0; i < texts->count; i++)
        if (strcmp(texts->items[i], text) == 0)
            return true;
    return false;
}

char *texts_join(const struct texts *texts, const char *between)
{
    char *all = text_copy("");
    for (size_t i = 0; i < texts->count; i++) {
        char *more = text_format("%s%s%s", all, i > 0 ? between : "", texts->items[i]);
        free(all);
        all = more;
    }
    return all;
}

bool text_same(const char *a, const char *b)
{
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

bool text_is_one_of(const char *text, const char *const *words)
{
    while (*words != NULL && strcmp(*words, text) != 0)
        words++;
    return *words != NULL;
}
