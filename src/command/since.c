/* SPDX-License-Identifier: MIT */
/* A date or time as somebody gives it on the command line. */
#include "command/since.h"

#include "types/memory.h"
#include "types/moment.h"

#include <stdlib.h>
#include <string.h>

/* What a shorter text leaves out of a whole moment. */
static const struct {
    size_t length;
    const char *ends_in, *rest;
} forms[] = {{sizeof "2026-01-31" - 1, "", "T00:00:00.000Z"},
             {sizeof "2026-01-31T08:00Z" - 1, "Z", ":00.000Z"},
             {sizeof "2026-01-31T08:00:00Z" - 1, "Z", ".000Z"},
             {sizeof "2026-01-31T08:00:00.000Z" - 1, "Z", "Z"}};
enum { FORMS = sizeof forms / sizeof *forms };

bool since_parse(const char *text, int64_t *ms)
{
    size_t length = strlen(text);
    for (size_t i = 0; i < FORMS; i++) {
        size_t tail = strlen(forms[i].ends_in);
        if (length != forms[i].length || strcmp(text + length - tail, forms[i].ends_in) != 0)
            continue;
        char *whole = text_format("%.*s%s", (int)(length - tail), text, forms[i].rest);
        bool read = moment_parse(whole, ms);
        free(whole);
        return read;
    }
    return false;
}
