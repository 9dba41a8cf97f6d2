/* SPDX-License-Identifier: MIT */
/* Moments as text: UTC with milliseconds. */
#include "types/moment.h"

#include "types/memory.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

static const int64_t end_of_9999_ms = INT64_C(253402300800000);

char *moment_text(int64_t ms)
{
    time_t seconds = (time_t)(ms / 1000);
    struct tm utc;
    char text[32];
    if (ms < 0 || ms >= end_of_9999_ms || gmtime_r(&seconds, &utc) == NULL ||
        strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%S", &utc) == 0)
        return text_copy("");
    return text_format("%s.%03dZ", text, (int)(ms % 1000));
}

static bool is_pattern(const char *text)
{
    static const char pattern[] = "0000-00-00T00:00:00.000Z";
    for (size_t i = 0; i < sizeof pattern; i++) {
        bool fits = pattern[i] == '0' ? text[i] >= '0' && text[i] <= '9' : text[i] == pattern[i];
        if (!fits)
            return false;
    }
    return true;
}

static int digits(const char *text, size_t count)
{
    int number = 0;
    for (size_t i = 0; i < count; i++)
        number = number * 10 + (text[i] - '0');
    return number;
}

bool moment_parse(const char *text, int64_t *ms)
{
    if (!is_pattern(text))
        return false;
    struct tm utc = {.tm_year = digits(text, 4) - 1900,
                     .tm_mon = digits(text + 5, 2) - 1,
                     .tm_mday = digits(text + 8, 2),
                     .tm_hour = digits(text + 11, 2),
                     .tm_min = digits(text + 14, 2),
                     .tm_sec = digits(text + 17, 2)};
    int64_t moment = (int64_t)timegm(&utc) * 1000 + digits(text + 20, 3);
    char *same = moment_text(moment); /* timegm makes 3 March of 31 February */
    bool exists = strcmp(same, text) == 0;
    free(same);
    if (exists)
        *ms = moment;
    return exists;
}
