/* SPDX-License-Identifier: MIT */
/* Writing of a record as YAML: one line a parameter, so that two of them can be compared line by line. */
#include "files/record_file.h"

#include "files/text_file.h"
#include "motor/quantity.h"
#include "types/moment.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A character that a YAML file may hold, that does nothing to a terminal, and that is no line break to any reader. */
static bool is_harmless(uint32_t code)
{
    if (code < 0x20 || (code >= 0x7f && code < 0xa0) || code == '\\')
        return false;
    return !(code == 0x061c || code == 0x200e || code == 0x200f || (code >= 0x2028 && code <= 0x202e) ||
             (code >= 0x2066 && code <= 0x2069) || code == 0xfeff || code == 0xfffe || code == 0xffff);
}

/* Owned copy with everything else as \xNN, a byte each, and \ as \\. */
static char *escaped(const char *text)
{
    size_t left = strlen(text);
    char *copy = memory_new(4 * left + 1, 1);
    char *end = copy;
    for (const unsigned char *in = (const unsigned char *)text; left > 0;) {
        uint32_t code = 0;
        size_t length = text_file_character(in, left, &code);
        size_t taken = length == 0 ? 1 : length;
        bool keep = length > 0 && is_harmless(code);
        for (size_t i = 0; i < taken; i++) {
            if (keep)
                *end++ = (char)in[i];
            else
                end += snprintf(end, 5, in[i] == '\\' ? "\\\\" : "\\x%02X", in[i]);
        }
        in += taken;
        left -= taken;
    }
    return copy;
}

static bool same_word(const char *text, const char *word)
{
    for (; *word != '\0'; text++, word++)
        if ((*text | 0x20) != *word) /* small letters, as the words have */
            return false;
    return *text == '\0';
}

/* What a reader that guesses would take for something else than text: 0042, 1e3, no. */
static bool is_guessed(const char *text)
{
    if (text[0] >= '0' && text[0] <= '9' && strchr(text, ' ') == NULL)
        return true;
    static const char *const words[] = {"yes", "no", "true", "false", "on", "off", "y", "n", "null"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (same_word(text, words[i]))
            return true;
    return false;
}

/* May the text stand without quotes, in a flow mapping too? */
static bool is_plain(const char *text)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";
    size_t length = strlen(text);
    if (length == 0 || (strchr(letters, text[0]) == NULL && text[0] != '/') || text[length - 1] == ' ')
        return false;
    for (const char *at = text; *at != '\0'; at++)
        if ((unsigned char)*at < 0x80 && strchr(letters, *at) == NULL && strchr(" _-+./%\\", *at) == NULL)
            return false;
    return !is_guessed(text);
}

/* Owned; in single quotes where it needs them. */
static char *scalar(const char *text)
{
    char *safe = escaped(text);
    if (is_plain(safe))
        return safe;
    char *quoted = memory_new(2 * strlen(safe) + 3, 1);
    char *end = quoted;
    *end++ = '\'';
    for (const char *at = safe; *at != '\0'; at++) {
        *end++ = *at;
        if (*at == '\'')
            *end++ = '\'';
    }
    *end = '\'';
    free(safe);
    return quoted;
}

/* Appends "KEY: TEXT", or nothing where there is no text. */
static void add(struct texts *parts, const char *key, const char *text)
{
    if (text == NULL)
        return;
    char *value = scalar(text);
    texts_add(parts, text_format("%s: %s", key, value));
    free(value);
}

static void add_number(struct texts *parts, const char *key, uint64_t number)
{
    texts_add(parts, text_format("%s: %" PRIu64, key, number));
}

/* Appends "KEY: {A: 1, B: 2}" of `inner`, which is empty afterwards; nothing where it was before. */
static void add_mapping(struct texts *parts, const char *key, struct texts *inner)
{
    if (inner->count == 0)
        return;
    char *all = texts_join(inner, ", ");
    texts_add(parts, text_format("%s: {%s}", key, all));
    free(all);
    texts_free(inner);
}

static void add_moment(struct texts *parts, const char *key, int64_t ms)
{
    char *text = moment_text(ms);
    texts_add(parts, text_format("%s: %s", key, text)); /* a plain scalar in spite of its colons */
    free(text);
}

/* The fewest digits that read back as the same number. */
static char *number_text(double number)
{
    for (int digits = 6; digits < 17; digits++) {
        double again = 0, rounding = 0;
        char *text = text_format("%.*g", digits, number);
        if (number_parse(text, true, &again, &rounding, NULL) && again == number)
            return text;
        free(text);
    }
    return text_format("%.17g", number);
}

static void add_raw(struct texts *parts, const struct record_value *value)
{
    if (value->raw_count == 0)
        return;
    struct texts words = {0};
    for (size_t i = 0; i < value->raw_count; i++)
        texts_add(&words, text_format("%u", value->raw[i]));
    char *all = texts_join(&words, ", ");
    texts_add(parts, text_format("raw: [%s]", all));
    free(all);
    texts_free(&words);
}

static void add_value(struct texts *lines, const struct record_value *value)
{
    struct texts parts = {0};
    add_raw(&parts, value);
    add(&parts, "symptom", value->symptom);
    add(&parts, "value", value->shown);
    if (isfinite(value->number)) {
        char *number = number_text(value->number);
        texts_add(&parts, text_format("number: %s", number));
        free(number);
    }
    add(&parts, "unit", value->unit);
    add(&parts, "means", value->means);
    char *parameter = scalar(value->parameter);
    char *key = text_format("  %s", parameter);
    add_mapping(lines, key, &parts);
    free(key);
    free(parameter);
}

static void add_traffic(struct texts *lines, const struct traffic *traffic)
{
    struct texts parts = {0};
    add_number(&parts, "requests", traffic->requests);
    add_number(&parts, "retries", traffic->retries);
    add_number(&parts, "exceptions", traffic->exceptions);
    add_number(&parts, "timeouts", traffic->timeouts);
    add_number(&parts, "bad_frames", traffic->bad_frames);
    add_number(&parts, "discarded", traffic->discarded);
    add_mapping(lines, "traffic", &parts);
}

static void add_head(struct texts *lines, const struct record *record)
{
    struct texts parts = {0};
    char id[RECORD_ID_TEXT];
    texts_add(lines, text_format("record: %s", record_id_text(&record->id, id)));
    texts_add(lines, text_format("as: %s", record_kind_word(record->kind)));
    if (record->after_power_cycle)
        texts_add(lines, text_copy("after_power_cycle: yes"));
    add(lines, "tag", record->tag);
    add(lines, "service", record->service);
    add(&parts, "serial_number", record->serial_number);
    add(&parts, "firmware", record->firmware);
    add_mapping(lines, "drive", &parts);
    add(&parts, "name", record->map_name);
    texts_add(&parts, text_format("sha256: %s", record->map_sha256));
    add_mapping(lines, "map", &parts);
    texts_add(lines, text_format("sheet: {sha256: %s}", record->sheet_sha256));
    add(lines, "line", record->line);
    add_number(lines, "unit", record->unit);
    add(lines, "who", record->who);
    add(lines, "host", record->host);
    add(lines, "tool", record->tool);
    add_moment(lines, "began", record->began_ms);
    add_moment(lines, "ended", record->ended_ms);
    add_traffic(lines, &record->traffic);
}

void record_write(FILE *file, const struct record *record)
{
    struct texts lines = {0};
    add_head(&lines, record);
    texts_add(&lines, text_copy(record->value_count == 0 ? "values: {}" : "values:"));
    for (size_t i = 0; i < record->value_count; i++)
        add_value(&lines, &record->values[i]);
    for (size_t i = 0; i < lines.count; i++) {
        (void)fwrite(lines.items[i], 1, strlen(lines.items[i]), file);
        (void)fwrite("\n", 1, 1, file);
    }
    texts_free(&lines);
}
