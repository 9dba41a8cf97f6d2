/* SPDX-License-Identifier: MIT */
/* Reading and showing of plain decimal numbers, the same in every locale. */
#include "motor/quantity.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_DECIMALS = 6, SIGNIFICANT_DIGITS = 6, MOST_SMALL_DECIMALS = 12 };

/* The parts of a number that its text shows. */
struct scan {
    const char *next;     /* first character that does not belong to the number */
    unsigned long digits; /* before the point */
    unsigned long decimals;
    bool leading_zero; /* a 0 with further digits behind it */
    bool bare_point;   /* a point with no digit behind it */
    bool exponent;
    bool bare_exponent; /* an exponent with no digit behind it */
    long power;
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static unsigned long skip_digits(const char **text)
{
    const char *begin = *text;
    while (is_digit(**text))
        (*text)++;
    return (unsigned long)(*text - begin);
}

static void scan_exponent(struct scan *scan)
{
    const char *text = scan->next + 1;
    bool negative = *text == '-';
    if (*text == '+' || *text == '-')
        text++;
    scan->exponent = true;
    scan->bare_exponent = !is_digit(*text);
    for (; is_digit(*text); text++)
        if (scan->power < 10000)
            scan->power = scan->power * 10 + (*text - '0');
    if (negative)
        scan->power = -scan->power;
    scan->next = text;
}

static struct scan scan_number(const char *text)
{
    struct scan scan = {.next = text};
    if (*scan.next == '+' || *scan.next == '-')
        scan.next++;
    scan.leading_zero = scan.next[0] == '0' && is_digit(scan.next[1]);
    scan.digits = skip_digits(&scan.next);
    if (scan.digits == 0)
        return scan;
    if (*scan.next == '.') {
        scan.next++;
        scan.decimals = skip_digits(&scan.next);
        scan.bare_point = scan.decimals == 0;
    }
    if (*scan.next == 'e' || *scan.next == 'E')
        scan_exponent(&scan);
    return scan;
}

/* What to do about a character that has no place in a number. */
static const char *advice_for(char c)
{
    switch (c) {
    case ',':
        return "write the decimals behind a point, and no thousands separators";
    case ':':
        return "write minutes and seconds as one number with its unit, such as 90 s";
    case '_':
        return "write the digits without separators";
    case ' ':
    case '\t':
        return "leave the space out";
    case 'x':
    case 'X':
        return "write it in decimal";
    }
    return "expected digits, with a decimal point where needed";
}

static bool explain(const char *text, const struct scan *scan, bool allow_exponent, struct error *error)
{
    if (*text == '\0')
        return error_set(error, ERROR_FILE, "a number is missing");
    if (scan->digits == 0)
        return error_set(error, ERROR_FILE, "\"%s\" is not a number; expected digits, such as 0.5 or 60", text);
    if (scan->leading_zero)
        return error_set(error, ERROR_FILE, "\"%s\" begins with a needless zero; write it without", text);
    if (scan->bare_point)
        return error_set(error, ERROR_FILE, "\"%s\" has no digit behind the point; write digits there or no point",
                         text);
    if (scan->exponent && (!allow_exponent || scan->bare_exponent))
        return error_set(error, ERROR_FILE, "\"%s\" has an exponent; write the number in full", text);
    char c = *scan->next;
    if (c >= ' ' && c <= '~')
        return error_set(error, ERROR_FILE, "\"%s\" is not a number: unexpected '%c'; %s", text, c, advice_for(c));
    return error_set(error, ERROR_FILE, "\"%s\" is not a number: unexpected character; %s", text, advice_for(c));
}

/* The "C" locale object is static in the C library: it costs no allocation and need not be freed. */
static double to_double(const char *text)
{
    return strtod_l(text, NULL, newlocale(LC_ALL_MASK, "C", (locale_t)0));
}

bool number_parse(const char *text, bool allow_exponent, double *value, double *rounding, struct error *error)
{
    struct scan scan = scan_number(text);
    bool good = scan.digits > 0 && *scan.next == '\0' && !scan.leading_zero && !scan.bare_point &&
                !scan.bare_exponent && (allow_exponent || !scan.exponent);
    if (!good)
        return explain(text, &scan, allow_exponent, error);

    double number = to_double(text);
    if (!isfinite(number))
        return error_set(error, ERROR_FILE, "\"%s\" is too large", text);
    char half_digit[48];
    (void)snprintf(half_digit, sizeof half_digit, "5e%ld", scan.power - (long)scan.decimals - 1);
    *value = number + 0.0; /* never -0 */
    *rounding = to_double(half_digit);
    return true;
}

/* Fewest decimals that show every multiple of `step` (> 0), as 0.25 needs two; for a step that would need more than two
 * beyond those that tell neighbours apart, such as a percentage of an odd base, only these. */
static int decimals_for(double step)
{
    int apart = (int)ceil(-log10(step));
    double scaled = step;
    for (int decimals = 0; decimals <= MOST_DECIMALS && decimals <= apart + 2; decimals++) {
        if (scaled > 0.5 && fabs(scaled - round(scaled)) < 1e-9 * scaled)
            return decimals;
        scaled *= 10;
    }
    return apart < 0 ? 0 : apart > MOST_DECIMALS ? MOST_DECIMALS : apart;
}

static int decimals_of_significant(double value)
{
    if (value == 0 || !isfinite(value))
        return 0;
    double decimals = SIGNIFICANT_DIGITS - 1 - floor(log10(fabs(value)));
    return decimals < 0 ? 0 : decimals > MOST_SMALL_DECIMALS ? MOST_SMALL_DECIMALS : (int)decimals;
}

static void drop_trailing_zeros(char *text)
{
    if (strchr(text, '.') == NULL)
        return;
    char *end = text + strlen(text);
    while (end[-1] == '0')
        *--end = '\0';
    if (end[-1] == '.')
        end[-1] = '\0';
}

const char *number_format(double value, double step, char *text, size_t size)
{
    if (size == 0)
        return text;
    if (isnan(value)) {
        (void)snprintf(text, size, "nan");
        return text;
    }
    bool by_step = step > 0;
    locale_t before = uselocale(newlocale(LC_ALL_MASK, "C", (locale_t)0));
    (void)snprintf(text, size, "%.*f", by_step ? decimals_for(step) : decimals_of_significant(value), value);
    (void)uselocale(before);
    if (!by_step)
        drop_trailing_zeros(text);
    if (text[0] == '-' && strspn(text + 1, "0.") == strlen(text + 1))
        memmove(text, text + 1, strlen(text));
    return text;
}
