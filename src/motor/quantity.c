/* SPDX-License-Identifier: MIT */
/* Units: their names, their sizes, and quantities written with them. */
#include "motor/quantity.h"

#include "motor/constants.h"
#include "types/nearest.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* value in the base unit = value * times / over: both whole numbers for the decimal units, so that 86.5 % is exactly
 * the double 0.865. */
struct unit_row {
    const char *name;
    enum dimension dimension;
    double times, over;
};

static const struct unit_row unit_rows[UNIT_COUNT] = {
    [UNIT_NONE] = {"", DIMENSION_NONE, 1, 1},
    [UNIT_W] = {"W", DIMENSION_POWER, 1, 1},
    [UNIT_KW] = {"kW", DIMENSION_POWER, 1000, 1},
    [UNIT_HP] = {"hp", DIMENSION_POWER, WATTS_PER_HORSEPOWER, 1},
    [UNIT_V] = {"V", DIMENSION_VOLTAGE, 1, 1},
    [UNIT_A] = {"A", DIMENSION_CURRENT, 1, 1},
    [UNIT_MA] = {"mA", DIMENSION_CURRENT, 1, 1000},
    [UNIT_HZ] = {"Hz", DIMENSION_FREQUENCY, 1, 1},
    [UNIT_KHZ] = {"kHz", DIMENSION_FREQUENCY, 1000, 1},
    [UNIT_RPM] = {"rpm", DIMENSION_SPEED, 1, 1},
    [UNIT_S] = {"s", DIMENSION_TIME, 1, 1},
    [UNIT_MS] = {"ms", DIMENSION_TIME, 1, 1000},
    [UNIT_MIN] = {"min", DIMENSION_TIME, 60, 1},
    [UNIT_H] = {"h", DIMENSION_TIME, 3600, 1},
    [UNIT_PERCENT] = {"%", DIMENSION_RATIO, 1, 100},
    [UNIT_PER_UNIT] = {"per unit", DIMENSION_RATIO, 1, 1},
    [UNIT_OHM] = {"ohm", DIMENSION_RESISTANCE, 1, 1},
    [UNIT_NM] = {"N.m", DIMENSION_TORQUE, 1, 1},
    [UNIT_LBFT] = {"lb.ft", DIMENSION_TORQUE, NEWTON_METRES_PER_POUND_FOOT, 1},
    [UNIT_KGM2] = {"kg.m2", DIMENSION_INERTIA, 1, 1},
    [UNIT_LBFT2] = {"lb.ft2", DIMENSION_INERTIA, KILOGRAMS_PER_POUND *METRES_PER_FOOT *METRES_PER_FOOT, 1},
    [UNIT_DEGC] = {"degC", DIMENSION_TEMPERATURE, 1, 1},
    [UNIT_M] = {"m", DIMENSION_LENGTH, 1, 1},
    [UNIT_FT] = {"ft", DIMENSION_LENGTH, METRES_PER_FOOT, 1},
    [UNIT_HZ_PER_S] = {"Hz/s", DIMENSION_RATE, 1, 1},
    [UNIT_S_PER_HZ] = {"s/Hz", DIMENSION_INVERSE_RATE, 1, 1},
    [UNIT_RPM_PER_S] = {"rpm/s", DIMENSION_SPEED_RATE, 1, 1},
};

struct dimension_row {
    const char *name;
    enum unit base;
};

static const struct dimension_row dimension_rows[] = {
    [DIMENSION_NONE] = {"a bare number", UNIT_NONE},
    [DIMENSION_POWER] = {"a power", UNIT_W},
    [DIMENSION_VOLTAGE] = {"a voltage", UNIT_V},
    [DIMENSION_CURRENT] = {"a current", UNIT_A},
    [DIMENSION_FREQUENCY] = {"a frequency", UNIT_HZ},
    [DIMENSION_SPEED] = {"a speed", UNIT_RPM},
    [DIMENSION_TIME] = {"a time", UNIT_S},
    [DIMENSION_RATIO] = {"a ratio", UNIT_PER_UNIT},
    [DIMENSION_RESISTANCE] = {"a resistance", UNIT_OHM},
    [DIMENSION_TORQUE] = {"a torque", UNIT_NM},
    [DIMENSION_INERTIA] = {"an inertia", UNIT_KGM2},
    [DIMENSION_TEMPERATURE] = {"a temperature", UNIT_DEGC},
    [DIMENSION_LENGTH] = {"a length", UNIT_M},
    [DIMENSION_RATE] = {"a rate of frequency", UNIT_HZ_PER_S},
    [DIMENSION_INVERSE_RATE] = {"a time per frequency", UNIT_S_PER_HZ},
    [DIMENSION_SPEED_RATE] = {"a rate of speed", UNIT_RPM_PER_S},
};

struct spelling {
    const char *text;
    enum unit unit;
};

/* Further spellings that are accepted as they stand. */
static const struct spelling spellings[] = {
    {"1/min", UNIT_RPM},
    {"r/min", UNIT_RPM},
    {"min-1", UNIT_RPM},
    {"\xCE\xA9", UNIT_OHM},     /* Greek capital omega */
    {"\xE2\x84\xA6", UNIT_OHM}, /* the ohm sign */
    {"Nm", UNIT_NM},
    {"N\xC2\xB7m", UNIT_NM},
    {"lbf.ft", UNIT_LBFT},
    {"lb-ft", UNIT_LBFT},
    {"lbf-ft", UNIT_LBFT},
    {"lb\xC2\xB7"
     "ft",
     UNIT_LBFT},
    {"lbf\xC2\xB7"
     "ft",
     UNIT_LBFT},
    {"kgm2", UNIT_KGM2},
    {"kgm\xC2\xB2", UNIT_KGM2},
    {"kg.m\xC2\xB2", UNIT_KGM2},
    {"kg\xC2\xB7m2", UNIT_KGM2},
    {"kg\xC2\xB7m\xC2\xB2", UNIT_KGM2},
    {"lb-ft2", UNIT_LBFT2},
    {"lb.ft\xC2\xB2", UNIT_LBFT2},
    {"lb-ft\xC2\xB2", UNIT_LBFT2},
    {"lb\xC2\xB7"
     "ft2",
     UNIT_LBFT2},
    {"lb\xC2\xB7"
     "ft\xC2\xB2",
     UNIT_LBFT2},
    {"\xC2\xB0"
     "C",
     UNIT_DEGC},
};

/* What people write instead; only suggested from, in any case of letters. */
static const struct spelling slips[] = {
    {"watt", UNIT_W},
    {"watts", UNIT_W},
    {"kilowatt", UNIT_KW},
    {"kilowatts", UNIT_KW},
    {"horsepower", UNIT_HP},
    {"volt", UNIT_V},
    {"volts", UNIT_V},
    {"Vac", UNIT_V},
    {"Vdc", UNIT_V},
    {"amp", UNIT_A},
    {"amps", UNIT_A},
    {"ampere", UNIT_A},
    {"amperes", UNIT_A},
    {"hertz", UNIT_HZ},
    {"cps", UNIT_HZ},
    {"rev/min", UNIT_RPM},
    {"sec", UNIT_S},
    {"secs", UNIT_S},
    {"second", UNIT_S},
    {"seconds", UNIT_S},
    {"msec", UNIT_MS},
    {"mins", UNIT_MIN},
    {"minute", UNIT_MIN},
    {"minutes", UNIT_MIN},
    {"hr", UNIT_H},
    {"hrs", UNIT_H},
    {"hour", UNIT_H},
    {"hours", UNIT_H},
    {"percent", UNIT_PERCENT},
    {"pct", UNIT_PERCENT},
    {"per cent", UNIT_PERCENT},
    {"pu", UNIT_PER_UNIT},
    {"p.u.", UNIT_PER_UNIT},
    {"ohms", UNIT_OHM},
    {"ft.lb", UNIT_LBFT},
    {"ft-lb", UNIT_LBFT},
    {"ft.lbf", UNIT_LBFT},
    {"ft-lbf", UNIT_LBFT},
    {"lbft", UNIT_LBFT},
    {"lbft2", UNIT_LBFT2},
    {"C", UNIT_DEGC},
    {"celsius", UNIT_DEGC},
    {"deg C", UNIT_DEGC},
    {"metre", UNIT_M},
    {"metres", UNIT_M},
    {"meter", UNIT_M},
    {"meters", UNIT_M},
    {"foot", UNIT_FT},
    {"feet", UNIT_FT},
};

#define ROWS(table) (sizeof(table) / sizeof(table)[0])

const char *unit_name(enum unit unit)
{
    return unit_rows[unit].name;
}

enum dimension unit_dimension(enum unit unit)
{
    return unit_rows[unit].dimension;
}

const char *dimension_name(enum dimension dimension)
{
    return dimension_rows[dimension].name;
}

enum unit dimension_unit(enum dimension dimension)
{
    return dimension_rows[dimension].base;
}

bool unit_find(const char *text, enum unit *unit)
{
    for (int i = UNIT_NONE + 1; i < UNIT_COUNT; i++)
        if (strcmp(text, unit_rows[i].name) == 0) {
            *unit = (enum unit)i;
            return true;
        }
    for (size_t i = 0; i < ROWS(spellings); i++)
        if (strcmp(text, spellings[i].text) == 0) {
            *unit = spellings[i].unit;
            return true;
        }
    return false;
}

static unsigned lower(char letter)
{
    unsigned code = (unsigned char)letter;
    return letter >= 'A' && letter <= 'Z' ? code | 0x20U : code;
}

/* For the letters of ASCII, in every locale. */
static bool same_but_for_case(const char *a, const char *b)
{
    while (*a != '\0' && lower(*a) == lower(*b)) {
        a++;
        b++;
    }
    return lower(*a) == lower(*b);
}

const char *unit_suggest(const char *text)
{
    const char *names[UNIT_COUNT] = {NULL};
    for (int i = UNIT_NONE + 1; i < UNIT_COUNT; i++)
        if (same_but_for_case(text, unit_rows[i].name))
            return unit_rows[i].name;
    for (size_t i = 0; i < ROWS(spellings); i++)
        if (same_but_for_case(text, spellings[i].text))
            return unit_name(spellings[i].unit);
    for (size_t i = 0; i < ROWS(slips); i++)
        if (same_but_for_case(text, slips[i].text))
            return unit_name(slips[i].unit);
    for (int i = UNIT_NONE + 1; i < UNIT_COUNT; i++)
        names[i] = unit_rows[i].name;
    return nearest(text, names, UNIT_COUNT);
}

double unit_to_base(double value, enum unit unit)
{
    return value * unit_rows[unit].times / unit_rows[unit].over;
}

double unit_from_base(double value, enum unit unit)
{
    return value * unit_rows[unit].over / unit_rows[unit].times;
}

double quantity_base(const struct quantity *quantity)
{
    return quantity->given ? unit_to_base(quantity->value, quantity->unit) : NAN;
}

double quantity_rounding_base(const struct quantity *quantity)
{
    return quantity->given ? unit_to_base(quantity->rounding, quantity->unit) : 0;
}

/* Lists the units of a dimension: "W, kW or hp". */
static void list_units(enum dimension dimension, char *text, size_t size)
{
    const char *names[UNIT_COUNT];
    size_t count = 0;
    for (int i = UNIT_NONE + 1; i < UNIT_COUNT; i++)
        if (unit_rows[i].dimension == dimension)
            names[count++] = unit_rows[i].name;
    text[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        size_t used = strlen(text);
        const char *between = i == 0 ? "" : i + 1 == count ? " or " : ", ";
        (void)snprintf(text + used, size - used, "%s%s", between, names[i]);
    }
}

/* Where the number ends: at the first space, or without one at the first character that can only begin a unit. */
static size_t number_length(const char *text)
{
    size_t space = strcspn(text, " \t");
    if (text[space] != '\0')
        return space;
    return strspn(text, "+-.,:_0123456789");
}

static bool check_unit(const char *text, const char *unit_text, enum dimension dimension, enum unit *unit,
                       struct error *error)
{
    char units[80];
    list_units(dimension, units, sizeof units);
    if (*unit_text == '\0')
        return error_set(error, ERROR_FILE, "\"%s\" has no unit; expected %s in %s", text, dimension_name(dimension),
                         units);
    if (!unit_find(unit_text, unit)) {
        const char *near = unit_suggest(unit_text);
        if (near != NULL)
            return error_set(error, ERROR_FILE, "unknown unit \"%s\"; did you mean \"%s\"", unit_text, near);
        return error_set(error, ERROR_FILE, "unknown unit \"%s\"; expected %s in %s", unit_text,
                         dimension_name(dimension), units);
    }
    if (unit_dimension(*unit) != dimension)
        return error_set(error, ERROR_FILE, "\"%s\" is %s; expected %s in %s", text,
                         dimension_name(unit_dimension(*unit)), dimension_name(dimension), units);
    return true;
}

bool quantity_parse(const char *text, enum dimension dimension, struct quantity *quantity, struct error *error)
{
    char number[64];
    size_t length = number_length(text);
    const char *unit_text = text + length + strspn(text + length, " \t");
    if (length == 0 && *text != '\0')
        return error_set(error, ERROR_FILE, "\"%s\" does not begin with a number; expected %s", text,
                         dimension_name(dimension));
    if (length >= sizeof number)
        return error_set(error, ERROR_FILE, "\"%s\" is too long for a number", text);
    (void)snprintf(number, sizeof number, "%.*s", (int)length, text);

    struct quantity read = {.given = true, .unit = UNIT_NONE};
    if (!number_parse(number, false, &read.value, &read.rounding, error))
        return false;
    if (dimension == DIMENSION_NONE) {
        if (text[length] != '\0')
            return error_set(error, ERROR_FILE, "\"%s\" has more behind the number; expected a bare number", text);
    } else if (!check_unit(text, unit_text, dimension, &read.unit, error)) {
        return false;
    }
    *quantity = read;
    return true;
}

const char *quantity_format(const struct quantity *quantity, char *text, size_t size)
{
    if (size == 0)
        return text;
    text[0] = '\0';
    if (!quantity->given)
        return text;
    (void)number_format(quantity->value, 2 * quantity->rounding, text, size);
    size_t used = strlen(text);
    if (quantity->unit != UNIT_NONE)
        (void)snprintf(text + used, size - used, " %s", unit_name(quantity->unit));
    return text;
}
