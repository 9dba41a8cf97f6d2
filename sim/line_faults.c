/* SPDX-License-Identifier: MIT */
/* Reading fault specifications, and drawing lots by them. */
#include "sim/line_faults.h"

#include "files/suggest.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum { ALWAYS_PPM = 1000000 };

/* What stands behind the = of a kind. */
enum argument {
    ARGUMENT_NONE,
    ARGUMENT_TIME,
    ARGUMENT_BYTES,
    ARGUMENT_CODE,
    ARGUMENT_UNIT,
    ARGUMENT_PERCENT,
    ARGUMENT_SERIAL /* must be given */
};

static const struct {
    const char *due;  /* for messages */
    const char *sign; /* for --help */
    uint64_t least, most;
    bool ranges; /* may be A-B */
} arguments[] = {
    [ARGUMENT_NONE] = {"", "", 0, 0, false},
    [ARGUMENT_TIME] = {"a time up to 60s such as 120ms, or a range such as 40ms-160ms", "TIME", 0, 60000000, true},
    [ARGUMENT_BYTES] = {"a number of bytes from 1 to 32, or a range such as 1-3", "BYTES", 1, 32, true},
    [ARGUMENT_CODE] = {"an exception code from 01 to FF, hexadecimal", "CODE", 1, 255, false},
    [ARGUMENT_UNIT] = {"a unit from 1 to 247", "UNIT", 1, 247, false},
    [ARGUMENT_PERCENT] = {"whole per cent from 1% to 100%", "PERCENT", 1, 100, false},
    [ARGUMENT_SERIAL] = {"a serial number", "SERIAL", 0, 0, false},
};

/* In the order of enum fault_kind. */
static const struct kind {
    const char *word;
    enum argument argument;
    const char *usual; /* the argument where none is given; NULL: 0 */
    const char *help;
    bool writes; /* strikes writes only, and @N counts them only */
} kinds[] = {
    [FAULT_LATE] = {"late", ARGUMENT_TIME, "200ms", "the reply comes that much later", false},
    [FAULT_CUT] = {"cut", ARGUMENT_BYTES, "1-32", "the reply ends after so many bytes, short of its end", false},
    [FAULT_CORRUPT] = {"corrupt", ARGUMENT_NONE, NULL, "one bit of the reply is wrong; over TCP, of its header", false},
    [FAULT_FOREIGN_UNIT] = {"foreign-unit", ARGUMENT_UNIT, NULL,
                            "the reply bears another unit's number; else the next one", false},
    [FAULT_DOUBLED] = {"doubled", ARGUMENT_TIME, "0ms", "the reply comes twice, the second one that much later", false},
    [FAULT_ECHO] = {"echo", ARGUMENT_NONE, NULL, "the request comes back before the reply", false},
    [FAULT_NOISE] = {"noise", ARGUMENT_BYTES, "1-3", "so many bytes of nonsense before the reply", false},
    [FAULT_SILENT] = {"silent", ARGUMENT_NONE, NULL, "the request is carried out, and no reply comes", false},
    [FAULT_DEAF] = {"deaf", ARGUMENT_NONE, NULL, "the request is lost on its way, and no reply comes", false},
    [FAULT_EXCEPTION] = {"exception", ARGUMENT_CODE, "04", "the request is refused with that exception", false},
    [FAULT_SLOW] = {"slow", ARGUMENT_TIME, "5ms", "the reply comes byte by byte, so far apart", false},
    [FAULT_DISCONNECT] = {"disconnect", ARGUMENT_NONE, NULL, "the connection ends instead of a reply", false},
    [FAULT_NOT_KEPT] = {"not-kept", ARGUMENT_NONE, NULL, "a write is confirmed and not done; @N counts writes", true},
    [FAULT_CLAMPED] = {"clamped", ARGUMENT_PERCENT, "100%",
                       "a write is confirmed; kept is that much of the way from the old value, within the range", true},
    [FAULT_CHANGED_LATER] = {"changed-later", ARGUMENT_TIME, "1s", "what was written turns back so much later", true},
    [FAULT_TRIP] = {"trip", ARGUMENT_NONE, NULL, "the drive trips right after the write", true},
    [FAULT_STARTS] = {"starts", ARGUMENT_NONE, NULL, "somebody starts the motor right after the write", true},
    [FAULT_EXCHANGED] = {"exchanged", ARGUMENT_SERIAL, NULL, "after the write another drive answers", true},
    [FAULT_GATEWAY] = {"gateway", ARGUMENT_TIME, "100ms",
                       "TCP: exception 0B after that time; the late reply goes to the next request", false},
};
enum { KINDS = sizeof kinds / sizeof *kinds };

const char *fault_word(enum fault_kind kind)
{
    return kinds[kind].word;
}

void line_faults_help(FILE *file)
{
    for (size_t i = 0; i < KINDS; i++) {
        const struct kind *kind = &kinds[i];
        const char *sign = arguments[kind->argument].sign;
        const int width = 20 - (int)strlen(kind->word);
        const bool must = kind->argument == ARGUMENT_SERIAL;
        char *argument = *sign == '\0' ? text_copy("") : text_format("%s=%s%s", must ? "" : "[", sign, must ? "" : "]");
        (void)fprintf(file, "    %s%-*s %s", kind->word, width, argument, kind->help);
        (void)fprintf(file, kind->usual == NULL ? "\n" : " (%s)\n", kind->usual);
        free(argument);
    }
}

static bool read_number(const char *text, double most, double *number)
{
    double rounding = 0;
    return number_parse(text, false, number, &rounding, NULL) && *number >= 0 && *number <= most;
}

static bool read_time(const char *text, uint64_t *time_us)
{
    static const struct {
        const char *unit;
        double us;
    } units[] = {{"ms", 1e3}, {"us", 1}, {"s", 1e6}};
    const size_t length = strlen(text);
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        const size_t tail = strlen(units[i].unit);
        if (length <= tail || strcmp(text + length - tail, units[i].unit) != 0)
            continue;
        char *number = text_format("%.*s", (int)(length - tail), text);
        double value = 0;
        const bool good = read_number(number, 1e9, &value);
        free(number);
        *time_us = (uint64_t)(value * units[i].us + 0.5);
        return good;
    }
    return false;
}

static bool read_code(const char *text, uint64_t *code)
{
    static const char digits[] = "0123456789abcdef0123456789ABCDEF";
    *code = 0;
    for (const char *at = text; *at != '\0'; at++) {
        const char *digit = strchr(digits, *at);
        if (digit == NULL)
            return false;
        *code = *code * 16 + (uint64_t)(digit - digits) % 16;
    }
    return strlen(text) == 2;
}

static bool read_whole(const char *text, uint64_t *number)
{
    double value = 0;
    if (text[strspn(text, "0123456789")] != '\0' || !read_number(text, 1e9, &value))
        return false;
    *number = (uint64_t)value;
    return true;
}

/* "50%" */
static bool read_percent(const char *text, uint64_t *percent)
{
    const size_t digits = strspn(text, "0123456789");
    char *number = text_format("%.*s", (int)digits, text);
    const bool good = read_whole(number, percent) && strcmp(text + digits, "%") == 0;
    free(number);
    return good;
}

static bool read_one(enum argument argument, const char *text, uint64_t *value)
{
    bool good = false;
    switch (argument) {
    case ARGUMENT_NONE:
    case ARGUMENT_SERIAL:
        break;
    case ARGUMENT_PERCENT:
        good = read_percent(text, value);
        break;
    case ARGUMENT_TIME:
        good = read_time(text, value);
        break;
    case ARGUMENT_CODE:
        good = read_code(text, value);
        break;
    case ARGUMENT_BYTES:
    case ARGUMENT_UNIT:
        good = read_whole(text, value);
        break;
    }
    return good && *value >= arguments[argument].least && *value <= arguments[argument].most;
}

static bool read_argument(struct fault *fault, const char *text, struct error *error)
{
    const enum argument argument = kinds[fault->kind].argument;
    if (argument == ARGUMENT_NONE)
        return error_set(error, ERROR_USE, "'%s' takes no argument, found '%s'", kinds[fault->kind].word, text);
    if (argument == ARGUMENT_SERIAL && *text != '\0') {
        fault->word = text_copy(text);
        return true;
    }
    char *low = text_copy(text);
    char *dash = arguments[argument].ranges ? strchr(low, '-') : NULL;
    const char *high = low;
    if (dash != NULL) {
        *dash = '\0';
        high = dash + 1;
    }
    const bool good =
        read_one(argument, low, &fault->least) && read_one(argument, high, &fault->most) && fault->least <= fault->most;
    free(low);
    return good || error_set(error, ERROR_USE, "'%s' is no argument of '%s'; expected %s", text,
                             kinds[fault->kind].word, arguments[argument].due);
}

/* "5%" or "0.1%" */
static bool read_chance(struct fault *fault, const char *text, struct error *error)
{
    const size_t length = strlen(text);
    char *number = text_format("%.*s", length == 0 ? 0 : (int)(length - 1), text);
    double percent = 0;
    const bool good = length > 1 && text[length - 1] == '%' && read_number(number, 100, &percent);
    free(number);
    fault->chance_ppm = (uint32_t)(percent * (ALWAYS_PPM / 100.0) + 0.5);
    return (good && fault->chance_ppm > 0) ||
           error_set(error, ERROR_USE, "'%s' is no probability; expected one from 0.0001%% to 100%%", text);
}

static bool read_turn(struct fault *fault, const char *text, struct error *error)
{
    uint64_t at = 0;
    const bool good = *text != '\0' && read_whole(text, &at) && at > 0;
    fault->at = (unsigned long)at;
    return good || error_set(error, ERROR_USE, "'%s' is no request; expected its number, from 1 on", text);
}

static bool read_kind(struct fault *fault, const char *word, struct error *error)
{
    struct suggestion near = {0};
    for (size_t i = 0; i < KINDS; i++) {
        if (strcmp(kinds[i].word, word) == 0) {
            fault->kind = (enum fault_kind)i;
            (void)suggestion_take(&near, word);
            return true;
        }
        suggestion_offer(&near, kinds[i].word);
    }
    const char *meant = suggestion_take(&near, word);
    return meant != NULL ? error_set(error, ERROR_USE, "no fault '%s'; did you mean '%s'?", word, meant)
                         : error_set(error, ERROR_USE, "no fault '%s'; --help lists them", word);
}

/* `text` is cut in pieces: KIND[=ARGUMENT][:PERCENT% or @N]. */
static bool read_fault(struct fault *fault, char *text, struct error *error)
{
    char *when = text + strcspn(text, ":@");
    const char mark = *when;
    if (mark != '\0')
        *when++ = '\0';
    char *argument = strchr(text, '=');
    if (argument != NULL)
        *argument++ = '\0';
    if (!read_kind(fault, text, error))
        return false;
    const char *usual = kinds[fault->kind].usual;
    if (argument == NULL && kinds[fault->kind].argument == ARGUMENT_SERIAL)
        argument = when + strlen(when); /* empty, which is none */
    if (argument != NULL ? !read_argument(fault, argument, error)
                         : usual != NULL && !read_argument(fault, usual, error))
        return false;
    if (mark == ':')
        return read_chance(fault, when, error);
    if (mark == '@')
        return read_turn(fault, when, error);
    fault->chance_ppm = ALWAYS_PPM;
    return true;
}

bool line_faults_add(struct line_faults *faults, const char *text, struct error *error)
{
    struct fault fault = {.text = text};
    char *pieces = text_copy(text);
    const bool good = read_fault(&fault, pieces, error);
    free(pieces);
    uint64_t chances_ppm = fault.chance_ppm;
    for (size_t i = 0; i < faults->count; i++)
        chances_ppm += faults->items[i].chance_ppm;
    if (!good)
        (void)error_context(error, "'%s'", text);
    else if (chances_ppm > ALWAYS_PPM)
        (void)error_set(error, ERROR_USE,
                        "'%s': one fault strikes a request at most, and these are more than 100 %%; "
                        "give each a probability, such as :5%%, or a request, such as @7",
                        text);
    if (!good || chances_ppm > ALWAYS_PPM) {
        free(fault.word);
        return false;
    }
    faults->items = memory_grow(faults->items, faults->count, sizeof *faults->items);
    faults->items[faults->count++] = fault;
    return true;
}

void line_faults_free(struct line_faults *faults)
{
    for (size_t i = 0; i < faults->count; i++)
        free(faults->items[i].word);
    free(faults->items);
    *faults = (struct line_faults){0};
}

void line_faults_seed(struct line_faults *faults, uint64_t seed)
{
    faults->seed = seed;
    faults->state = seed;
}

/* SplitMix64. Source: Steele, Lea and Flood, Fast Splittable Pseudorandom Number Generators, OOPSLA 2014, figure 17
 * (the constants from memory). */
static uint64_t next_random(struct line_faults *faults)
{
    faults->state += UINT64_C(0x9e3779b97f4a7c15);
    uint64_t mixed = faults->state;
    mixed = (mixed ^ mixed >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    mixed = (mixed ^ mixed >> 27) * UINT64_C(0x94d049bb133111eb);
    return mixed ^ mixed >> 31;
}

uint64_t line_faults_below(struct line_faults *faults, uint64_t bound)
{
    return next_random(faults) % bound;
}

uint64_t line_faults_argument(struct line_faults *faults, const struct fault *fault)
{
    return fault->least + (fault->most > fault->least ? line_faults_below(faults, fault->most - fault->least + 1) : 0);
}

bool line_faults_have(const struct line_faults *faults, enum fault_kind kind)
{
    for (size_t i = 0; i < faults->count; i++)
        if (faults->items[i].kind == kind)
            return true;
    return false;
}

static struct fault *fault_by_turn(struct line_faults *faults, bool is_write)
{
    for (size_t i = 0; i < faults->count; i++) {
        struct fault *fault = &faults->items[i];
        const bool counts_writes = kinds[fault->kind].writes;
        if (fault->at != 0 && fault->at == (counts_writes ? faults->writes : faults->requests) &&
            (is_write || !counts_writes))
            return fault;
    }
    return NULL;
}

static struct fault *fault_by_chance(struct line_faults *faults, bool is_write)
{
    uint64_t lot = line_faults_below(faults, ALWAYS_PPM);
    for (size_t i = 0; i < faults->count; i++) {
        struct fault *fault = &faults->items[i];
        if (lot < fault->chance_ppm)
            return is_write || !kinds[fault->kind].writes ? fault : NULL;
        lot -= fault->chance_ppm;
    }
    return NULL;
}

const struct fault *line_faults_draw(struct line_faults *faults, bool is_write, bool spared)
{
    faults->requests++;
    faults->writes += is_write;
    if (spared || faults->count == 0)
        return NULL;
    struct fault *fault = fault_by_turn(faults, is_write);
    if (fault == NULL)
        fault = fault_by_chance(faults, is_write);
    if (fault != NULL)
        fault->struck++;
    return fault;
}
