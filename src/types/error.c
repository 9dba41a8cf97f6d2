/* SPDX-License-Identifier: MIT */
/* Filling and prefixing of errors. */
#include "types/error.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void fill(struct error *error, enum error_kind kind, enum line_trouble trouble, const char *format, va_list list)
    __attribute__((format(printf, 4, 0)));

static void fill(struct error *error, enum error_kind kind, enum line_trouble trouble, const char *format, va_list list)
{
    if (error == NULL)
        return;
    error->kind = kind;
    error->trouble = trouble;
    (void)vsnprintf(error->text, sizeof error->text, format, list);
}

bool error_set(struct error *error, enum error_kind kind, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    fill(error, kind, LINE_TROUBLE_NONE, format, list);
    va_end(list);
    return false;
}

bool error_set_line(struct error *error, enum error_kind kind, enum line_trouble trouble, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    fill(error, kind, trouble, format, list);
    va_end(list);
    return false;
}

bool error_context(struct error *error, const char *format, ...)
{
    if (error == NULL)
        return false;
    char context[sizeof error->text];
    va_list list;
    va_start(list, format);
    (void)vsnprintf(context, sizeof context, format, list);
    va_end(list);

    char whole[2 * sizeof error->text + 2];
    (void)snprintf(whole, sizeof whole, "%s: %s", context, error->text);
    (void)snprintf(error->text, sizeof error->text, "%.*s", (int)sizeof error->text - 1, whole);
    return false;
}
