/* SPDX-License-Identifier: MIT */
/* What a command says on standard error. */
#include "command/trouble.h"

#include "report/escape.h"

#include <stdio.h>
#include <stdlib.h>

static void say(const char *head, const char *text)
{
    char *harmless = escape_terminal(text);
    (void)fprintf(stderr, "%s%s\n", head, harmless);
    free(harmless);
}

enum status trouble(const struct error *error)
{
    say("asleft: ", error->text);
    switch (error->kind) {
    case ERROR_NONE:
    case ERROR_USE:
        return STATUS_USE;
    case ERROR_FILE:
        return STATUS_FILE;
    case ERROR_CONTACT:
    case ERROR_STORE:
        return STATUS_CONTACT;
    case ERROR_OUTPUT:
        return STATUS_OUTPUT;
    case ERROR_BUSY:
        return STATUS_BUSY;
    }
    return STATUS_USE;
}

void trouble_steps(const struct advice_row *row)
{
    for (size_t i = 0; row != NULL && i < ADVICE_STEPS && row->steps[i].cause != NULL; i++)
        (void)fprintf(stderr, "  %zu. %s: %s\n", i + 1, row->steps[i].cause, row->steps[i].check);
    if (row != NULL && row->caution != NULL)
        (void)fprintf(stderr, "  caution: %s\n", row->caution);
}

void trouble_note(const char *text)
{
    say("note: ", text);
}

void trouble_warning(const char *text)
{
    say("warning: ", text);
}

void trouble_files(const struct problems *problems)
{
    for (size_t i = 0; i < problems->errors.count; i++)
        say("", problems->errors.items[i]);
    for (size_t i = 0; i < problems->warnings.count; i++)
        trouble_warning(problems->warnings.items[i]);
}
