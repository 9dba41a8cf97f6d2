/* SPDX-License-Identifier: MIT */
/* How numbers with units, bands, lines and times are put for a person. */
#include "report/words.h"

#include "motor/quantity.h"
#include "motor/show.h"
#include "types/moment.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool ends_with(const char *number, char last)
{
    return strchr(number, '.') != NULL && number[strlen(number) - 1] == last;
}

/* "2.950" and "3.050" say no more than "2.95" and "3.05". */
static void drop_common_zeros(char *low, char *high)
{
    while (ends_with(low, '0') && ends_with(high, '0'))
        low[strlen(low) - 1] = high[strlen(high) - 1] = '\0';
    if (ends_with(low, '.') && ends_with(high, '.'))
        low[strlen(low) - 1] = high[strlen(high) - 1] = '\0';
}

static char *words_range(const struct expected *expected, enum unit unit, double step)
{
    if (isinf(expected->low) || isinf(expected->high)) {
        bool least = isinf(expected->high);
        char *end = show_number(least ? expected->low : expected->high, unit, step / 10);
        char *text = text_format("%s %s", least ? "at least" : "at most", end);
        free(end);
        return text;
    }
    char low[64], high[64];
    number_format(expected->low, step / 10, low, sizeof low);
    number_format(expected->high, step / 10, high, sizeof high);
    drop_common_zeros(low, high);
    if (isnan(expected->nominal))
        return text_format("%s to %s%s%s", low, high, unit == UNIT_NONE ? "" : " ", unit_name(unit));
    char *nominal = show_number(expected->nominal, unit, step);
    char *text = strcmp(low, high) == 0 ? text_copy(nominal) : text_format("%s (%s to %s)", nominal, low, high);
    free(nominal);
    return text;
}

char *words_expected(const struct expected *expected, enum unit unit, double step)
{
    switch (expected->kind) {
    case EXPECTED_NOTHING:
        return text_copy("-");
    case EXPECTED_RANGE:
        return words_range(expected, unit, step);
    case EXPECTED_ONE_OF:
        return texts_join(&expected->one_of, " or ");
    }
    return text_copy("-");
}

char *words_format(const struct serial_format *format)
{
    static const char parity[] = {[PARITY_NONE] = 'N', [PARITY_EVEN] = 'E', [PARITY_ODD] = 'O'};
    return text_format("%u 8%c%u", format->baud, parity[format->parity], format->stop_bits);
}

char *words_line(const struct line *line)
{
    if (line->serial != NULL) {
        const struct serial_format given = {line->baud, line->parity, line->stop_bits};
        char *format = words_format(&given);
        char *text = text_format("%s %s", line->serial, format);
        free(format);
        return text;
    }
    if (line->host == NULL)
        return text_copy("no line");
    bool numeric_v6 = strchr(line->host, ':') != NULL;
    return text_format(numeric_v6 ? "[%s]:%u" : "%s:%u", line->host, line->port);
}

char *words_time(int64_t ms)
{
    return moment_text(ms);
}

char *words_id(const struct record_id *id)
{
    char digits[RECORD_ID_TEXT];
    return text_format("%.*s", RECORD_ID_SHORT, record_id_text(id, digits));
}

const char *words_kind(enum record_kind kind)
{
    static const char *const words[RECORD_KINDS] = {
        [RECORD_FOUND] = "as found",
        [RECORD_LEFT] = "as left",
        [RECORD_BEFORE_WRITE] = "before a write",
        [RECORD_AFTER_WRITE] = "after a write",
        [RECORD_SWEPT] = "by a sweep",
        [RECORD_WITNESSED] = "before a run",
    };
    return words[kind];
}

char *words_traffic(const struct traffic *traffic)
{
    const struct {
        uint64_t count;
        const char *one, *many;
    } rows[] = {
        {traffic->requests, "request", "requests"},       {traffic->retries, "retry", "retries"},
        {traffic->exceptions, "exception", "exceptions"}, {traffic->timeouts, "timeout", "timeouts"},
        {traffic->bad_frames, "bad frame", "bad frames"}, {traffic->discarded, "frame discarded", "frames discarded"}};
    struct texts parts = {0};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (i == 0 || rows[i].count > 0)
            texts_add(&parts, text_format("%llu %s", (unsigned long long)rows[i].count,
                                          rows[i].count == 1 ? rows[i].one : rows[i].many));
    char *text = texts_join(&parts, ", ");
    texts_free(&parts);
    return text;
}
