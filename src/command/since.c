/* SPDX-License-Identifier: MIT */
/* A date or time as somebody gives it on the command line. */
#include "command/since.h"

#include <stddef.h>
#include <string.h>
#include <time.h>

/* What may be given; 0 stands for a digit. */
static const char *const forms[] = {"0000-00-00", "0000-00-00T00:00Z", "0000-00-00T00:00:00Z",
                                    "0000-00-00T00:00:00.000Z"};
enum { FORMS = sizeof forms / sizeof *forms };

static bool has_form(const char *text, const char *form)
{
    for (; *form != '\0'; form++, text++)
        if (*form == '0' ? *text < '0' || *text > '9' : *text != *form)
            return false;
    return *text == '\0';
}

static int digits(const char *text, size_t at, size_t count)
{
    int number = 0;
    for (size_t i = 0; strlen(text) >= at + count && i < count; i++)
        number = 10 * number + (text[at + i] - '0');
    return number;
}

bool since_parse(const char *text, int64_t *ms)
{
    bool fits = false;
    for (size_t i = 0; i < FORMS; i++)
        fits = fits || has_form(text, forms[i]);
    if (!fits)
        return false;
    const bool seconds = strlen(text) >= strlen(forms[2]), parts = strlen(text) == strlen(forms[3]);
    const struct tm given = {.tm_year = digits(text, 0, 4) - 1900,
                             .tm_mon = digits(text, 5, 2) - 1,
                             .tm_mday = digits(text, 8, 2),
                             .tm_hour = strlen(text) > strlen(forms[0]) ? digits(text, 11, 2) : 0,
                             .tm_min = strlen(text) > strlen(forms[0]) ? digits(text, 14, 2) : 0,
                             .tm_sec = seconds ? digits(text, 17, 2) : 0};
    struct tm same = given; /* timegm turns February 30 into March 2 */
    time_t at = timegm(&same);
    *ms = (int64_t)at * 1000 + (parts ? digits(text, 20, 3) : 0);
    return at >= 0 && same.tm_mon == given.tm_mon && same.tm_mday == given.tm_mday && same.tm_hour == given.tm_hour &&
           same.tm_min == given.tm_min && same.tm_sec == given.tm_sec;
}
