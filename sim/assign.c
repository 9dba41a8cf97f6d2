/* SPDX-License-Identifier: MIT */
/* Reading and showing values of a simulated drive's parameters. */
#include "sim/assign.h"

#include "files/suggest.h"
#include "motor/quantity.h"
#include "sim/registers.h"
#include "sim/scaling.h"
#include "types/memory.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

size_t assign_find(const struct map *map, const char *name, struct error *error)
{
    const size_t parameter = map_find(map, name);
    if (parameter != PARAMETER_NOT_FOUND)
        return parameter;
    struct suggestion near = {0};
    for (size_t i = 0; i < map->count; i++)
        suggestion_offer(&near, map->parameters[i].name);
    const char *meant = suggestion_take(&near, name);
    if (meant != NULL)
        error_set(error, ERROR_USE, "the map has no parameter '%s'; did you mean '%s'?", name, meant);
    else
        error_set(error, ERROR_USE, "the map has no parameter '%s'", name);
    return PARAMETER_NOT_FOUND;
}

static bool is_set(const struct named_raws *list, const char *word, uint32_t *raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].word != NULL && strcmp(list->items[i].word, word) == 0) {
            *raw = list->items[i].raw;
            return true;
        }
    return false;
}

/* "raw 0x0258" or "raw 600": the register as such. */
static bool parse_raw(const struct parameter *parameter, const char *text, uint32_t *raw, struct error *error)
{
    char *end = NULL;
    errno = 0;
    const unsigned long long number = strtoull(text, &end, strncmp(text, "0x", 2) == 0 ? 16 : 10);
    const unsigned width = registers_width(parameter);
    if (text[0] < '0' || text[0] > '9' || *end != '\0')
        return error_set(error, ERROR_USE, "'%s' is no raw value; expected a whole number such as 600 or 0x0258", text);
    if (errno == ERANGE || number >> width != 0)
        return error_set(error, ERROR_USE, "raw %s does not fit in %u bit%s", text, width, width == 1 ? "" : "s");
    *raw = (uint32_t)number;
    return true;
}

static bool parse_bits(const struct parameter *parameter, const char *text, uint32_t *raw, struct error *error)
{
    *raw = 0;
    if (strcmp(text, "none") == 0)
        return true;
    char *copy = text_copy(text);
    char *rest = copy;
    bool fine = true;
    for (char *word = strsep(&rest, ", "); word != NULL && fine; word = strsep(&rest, ", ")) {
        uint32_t bit = 0;
        if (*word == '\0')
            continue;
        fine =
            is_set(&parameter->bits, word, &bit) ||
            error_set(error, ERROR_USE, "'%s' is no bit of it; expected bit names with commas between, or none", word);
        *raw |= UINT32_C(1) << bit;
    }
    free(copy);
    return fine;
}

static bool parse_bool(const char *text, uint32_t *raw, struct error *error)
{
    static const char *const words[] = {"false", "true", "no", "yes", "off", "on", "0", "1"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(text, words[i]) == 0) {
            *raw = i % 2;
            return true;
        }
    return error_set(error, ERROR_USE, "'%s' is neither true nor false", text);
}

static bool starts_number(const char *text)
{
    return strchr("+-.0123456789", text[0]) != NULL && text[0] != '\0';
}

/* Offers the words of a list, and adds them to `all`, which the caller owns and gets back longer. */
static char *gather_words(const struct named_raws *list, struct suggestion *near, char *all)
{
    for (size_t i = 0; i < list->count; i++) {
        if (list->items[i].word == NULL)
            continue;
        suggestion_offer(near, list->items[i].word);
        char *longer = text_format("%s%s%s", all, *all == '\0' ? "" : ", ", list->items[i].word);
        free(all);
        all = longer;
    }
    return all;
}

static bool no_such_word(const struct parameter *parameter, const char *text, struct error *error)
{
    struct suggestion near = {0};
    char *all = gather_words(&parameter->choices, &near, text_copy(""));
    all = gather_words(&parameter->special, &near, all);
    const char *meant = suggestion_take(&near, text);
    if (meant != NULL)
        error_set(error, ERROR_USE, "'%s' is none of its words; did you mean '%s'?", text, meant);
    else if (*all != '\0')
        error_set(error, ERROR_USE, "'%s' is none of its words; expected one of: %s", text, all);
    else
        error_set(error, ERROR_USE, "'%s' is no number; expected one such as 6.0, with its unit or without", text);
    free(all);
    return false;
}

/* "6.0 A" or "6.0". The unit decides whether it is the register's own or the value of a percentage. */
static bool parse_number(const struct drive *drive, size_t parameter, const char *text, uint32_t *raw,
                         struct error *error)
{
    const size_t digits = strspn(text, "+-.0123456789");
    const char *unit_text = text + digits + strspn(text + digits, " ");
    const enum unit own = scaling_unit(drive, parameter);
    enum unit unit = UNIT_NONE;
    if (*unit_text != '\0' && !unit_find(unit_text, &unit)) {
        const char *nearest = unit_suggest(unit_text);
        return error_set(error, ERROR_USE, "'%s' is no unit that is known here%s%s%s", unit_text,
                         nearest == NULL ? "" : "; did you mean '", nearest == NULL ? "" : nearest,
                         nearest == NULL ? "" : "'?");
    }
    struct quantity quantity = {0};
    if (!quantity_parse(text, unit_dimension(unit), &quantity, error)) {
        if (error != NULL)
            error->kind = ERROR_USE;
        return false;
    }
    const enum dimension dimension = unit_dimension(unit);
    if (unit != UNIT_NONE && dimension != unit_dimension(own) && dimension != scaling_dimension(drive, parameter))
        return error_set(error, ERROR_USE, "'%s' has the wrong kind of unit; %s%s", text,
                         own == UNIT_NONE ? "it has none" : "expected one like ", unit_name(own));
    return scaling_raw_of_quantity(drive, parameter, &quantity, raw) ||
           error_set(error, ERROR_USE, "'%s' does not fit in the register", text);
}

static bool parse_value(const struct drive *drive, size_t parameter, const char *text, uint32_t *raw,
                        struct error *error)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (strncmp(text, "raw ", strlen("raw ")) == 0)
        return parse_raw(row, text + strlen("raw "), raw, error);
    if (is_set(&row->choices, text, raw) || is_set(&row->special, text, raw))
        return true;
    if (row->type == TYPE_BOOL)
        return parse_bool(text, raw, error);
    if (row->type == TYPE_BITS)
        return parse_bits(row, text, raw, error);
    if (!starts_number(text))
        return no_such_word(row, text, error);
    if (row->choices.count > 0)
        return parse_raw(row, text, raw, error);
    return parse_number(drive, parameter, text, raw, error);
}

static bool put_text(struct drive *drive, size_t parameter, const char *text, struct error *error)
{
    const size_t count = drive->map->parameters[parameter].words;
    if (strlen(text) > 2 * count)
        return error_set(error, ERROR_USE, "'%s' is longer than the %zu characters that its registers hold", text,
                         2 * count);
    uint16_t *words = memory_new(count, sizeof *words);
    registers_from_text(text, words, count);
    drive_put_words(drive, parameter, words);
    free(words);
    return true;
}

bool assign_value(struct drive *drive, size_t parameter, const char *value, struct error *error)
{
    uint32_t raw = 0;
    if (drive->map->parameters[parameter].type == TYPE_TEXT)
        return put_text(drive, parameter, value, error);
    if (!parse_value(drive, parameter, value, &raw, error))
        return false;
    drive_put_raw(drive, parameter, raw);
    return true;
}

bool assign(struct drive *drive, const char *text, size_t *parameter, struct error *error)
{
    const char *sign = strchr(text, '=');
    size_t length = sign == NULL ? 0 : (size_t)(sign - text);
    while (length > 0 && text[length - 1] == ' ')
        length--;
    if (sign == NULL || length == 0)
        return error_set(error, ERROR_USE, "'%s' sets nothing; expected PARAMETER=VALUE", text);
    char *name = text_format("%.*s", (int)length, text);
    const char *value = sign + 1 + strspn(sign + 1, " ");
    const size_t found = assign_find(drive->map, name, error);
    const bool fine =
        found != PARAMETER_NOT_FOUND && (assign_value(drive, found, value, error) || error_context(error, "%s", name));
    free(name);
    if (!fine)
        return false;
    drive->pinned[found] = true;
    drive_take_command(drive, found);
    if (parameter != NULL)
        *parameter = found;
    return true;
}

static const char *word_of(const struct named_raws *list, uint32_t raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].raw == raw && list->items[i].word != NULL)
            return list->items[i].word;
    return NULL;
}

static char *bits_text(const struct parameter *parameter, uint32_t raw)
{
    char *all = text_copy("");
    for (size_t i = 0; i < parameter->bits.count; i++) {
        if ((raw >> parameter->bits.items[i].raw & 1U) == 0)
            continue;
        char *longer = text_format("%s%s%s", all, *all == '\0' ? "" : ",", parameter->bits.items[i].word);
        free(all);
        all = longer;
    }
    if (*all != '\0')
        return all;
    free(all);
    return text_copy("none");
}

static char *value_text(const struct drive *drive, size_t parameter, uint32_t raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const char *word = word_of(&row->choices, raw);
    if (word == NULL)
        word = word_of(&row->special, raw);
    if (word != NULL)
        return text_copy(word);
    if (row->type == TYPE_BITS)
        return bits_text(row, raw);
    if (row->type == TYPE_BOOL)
        return text_copy(raw != 0 ? "true" : "false");
    char number[64];
    const double step = row->type == TYPE_F32 ? 0 : scaling_step(drive, parameter);
    (void)number_format(scaling_number(drive, parameter), step, number, sizeof number);
    const char *unit = unit_name(scaling_unit(drive, parameter));
    return text_format("%s%s%s", number, *unit == '\0' ? "" : " ", unit);
}

/* A drive's texts are data: what is not a printable letter is shown as '?'. */
static char *quoted_text(const struct drive *drive, size_t parameter)
{
    const size_t count = drive->map->parameters[parameter].words;
    char *text = memory_new(2 * count + 1, 1);
    registers_to_text(drive_words(drive, parameter), count, text);
    for (char *letter = text; *letter != '\0'; letter++)
        if (*letter < ' ' || *letter > '~')
            *letter = '?';
    return text;
}

char *assign_show(const struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const char *lock = drive_is_locked(drive, parameter) ? ", locked: the line reads 0xFFFF" : "";
    char *line = NULL;
    char *value = NULL;
    if (row->type == TYPE_TEXT) {
        value = quoted_text(drive, parameter);
        line = text_format("%s: \"%s\"%s", row->name, value, lock);
    } else {
        const uint32_t raw = drive_raw(drive, parameter);
        value = value_text(drive, parameter, raw);
        line = text_format("%s: %s (raw 0x%0*X%s)", row->name, value, registers_width(row) == 32 ? 8 : 4, raw, lock);
    }
    free(value);
    return line;
}
