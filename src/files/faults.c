/* SPDX-License-Identifier: MIT */
/* Collecting, ordering and capping of what is wrong with a file. */
#include "files/faults.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A person mends the first ones and runs it again; more would only scroll away. */
enum { SHOWN_MOST = 50 };

static bool is_control(unsigned char byte)
{
    return byte < 0x20 || byte == 0x7f;
}

/* Owned copy in which control characters are written as \xNN: the message ends up on a terminal. */
static char *text_escaped(const char *text)
{
    char *escaped = memory_new(4 * strlen(text) + 1, 1);
    char *end = escaped;
    for (; *text != '\0'; text++) {
        if (is_control((unsigned char)*text))
            end += snprintf(end, 5, "\\x%02x", (unsigned char)*text);
        else
            *end++ = *text;
    }
    return escaped;
}

__attribute__((format(printf, 4, 0))) static void add(struct faults *faults, struct place place, bool is_warning,
                                                      const char *format, va_list list)
{
    char *text = text_format_list(format, list);
    faults->items = memory_grow(faults->items, faults->count, sizeof *faults->items);
    faults->items[faults->count] =
        (struct fault){.place = place, .is_warning = is_warning, .order = faults->count, .text = text_escaped(text)};
    faults->count++;
    faults->error_count += !is_warning;
    free(text);
}

void faults_error(struct faults *faults, struct place place, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    add(faults, place, false, format, list);
    va_end(list);
}

void faults_warning(struct faults *faults, struct place place, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    add(faults, place, true, format, list);
    va_end(list);
}

static int by_place(const void *left_item, const void *right_item)
{
    const struct fault *left = left_item;
    const struct fault *right = right_item;
    if (left->place.line != right->place.line)
        return left->place.line < right->place.line ? -1 : 1;
    if (left->place.column != right->place.column)
        return left->place.column < right->place.column ? -1 : 1;
    return left->order < right->order ? -1 : 1;
}

static void hand_out(const struct faults *faults, bool warnings, const char *noun, struct texts *texts)
{
    size_t found = 0;
    for (size_t i = 0; i < faults->count; i++) {
        const struct fault *fault = &faults->items[i];
        if (fault->is_warning != warnings || ++found > SHOWN_MOST)
            continue;
        if (fault->place.line == 0)
            texts_add(texts, text_format("%s: %s", faults->path, fault->text));
        else
            texts_add(texts,
                      text_format("%s:%d:%d: %s", faults->path, fault->place.line, fault->place.column, fault->text));
    }
    if (found > SHOWN_MOST)
        texts_add(texts, text_format("%s: and %zu more %s", faults->path, found - SHOWN_MOST, noun));
}

bool faults_hand_out(struct faults *faults, struct problems *problems)
{
    bool fine = faults->error_count == 0;
    if (faults->count > 0)
        qsort(faults->items, faults->count, sizeof *faults->items, by_place);
    hand_out(faults, false, "errors", &problems->errors);
    hand_out(faults, true, "warnings", &problems->warnings);
    faults_free(faults);
    return fine;
}

bool faults_are_few(const struct faults *faults)
{
    return faults->error_count < SHOWN_MOST;
}

void faults_free(struct faults *faults)
{
    for (size_t i = 0; i < faults->count; i++)
        free(faults->items[i].text);
    free(faults->items);
    *faults = (struct faults){.path = faults->path};
}

struct excerpt excerpt(const char *text)
{
    enum { WHOLE = 60 };
    struct excerpt piece = {{0}};
    size_t length = strlen(text);
    if (length <= WHOLE) {
        memcpy(piece.text, text, length);
        return piece;
    }
    length = WHOLE - 3;
    while (length > 0 && ((unsigned char)text[length] & 0xc0) == 0x80)
        length--;
    memcpy(piece.text, text, length);
    memcpy(piece.text + length, "...", sizeof "...");
    return piece;
}

void problems_free(struct problems *problems)
{
    texts_free(&problems->errors);
    texts_free(&problems->warnings);
}
