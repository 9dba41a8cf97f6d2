/* SPDX-License-Identifier: MIT */
/* Writing of a record as YAML: one line a parameter, so that two of them can be compared line by line. */
#include "files/record_file.h"

#include "files/text_file.h"
#include "types/moment.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

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
                end += sprintf(end, in[i] == '\\' ? "\\\\" : "\\x%02X", in[i]);
        }
        in += taken;
        left -= taken;
    }
    return copy;
}

/* What a reader that guesses would take for something else than text: 0042, 1e3, no. */
static bool is_guessed(const char *text)
{
    if (text[0] >= '0' && text[0] <= '9' && strchr(text, ' ') == NULL)
        return true;
    static const char *const words[] = {"yes", "no", "true", "false", "on", "off", "y", "n", "null"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcasecmp(text, words[i]) == 0)
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

static void write_text(FILE *file, const char *text)
{
    char *safe = escaped(text);
    if (is_plain(safe)) {
        (void)fputs(safe, file);
    } else {
        (void)fputc('\'', file);
        for (const char *at = safe; *at != '\0'; at++)
            (void)fputs(*at == '\'' ? "''" : (const char[]){*at, '\0'}, file);
        (void)fputc('\'', file);
    }
    free(safe);
}

/* A line of the top level; none where there is no text. */
static void write_line(FILE *file, const char *key, const char *text)
{
    if (text == NULL)
        return;
    (void)fprintf(file, "%s: ", key);
    write_text(file, text);
    (void)fputc('\n', file);
}

/* "KEY: TEXT" within a flow mapping, behind `before`; nothing where there is no text. Returns what comes before the
 * next one. */
static const char *write_part(FILE *file, const char *before, const char *key, const char *text)
{
    if (text == NULL)
        return before;
    (void)fprintf(file, "%s%s: ", before, key);
    write_text(file, text);
    return ", ";
}

static void write_moment(FILE *file, const char *key, int64_t ms)
{
    char *text = moment_text(ms);
    (void)fprintf(file, "%s: %s\n", key, text); /* a plain scalar in spite of its colons */
    free(text);
}

/* The fewest digits that read back as the same number. */
static char *number_text(double number)
{
    for (int digits = 6; digits < 17; digits++) {
        char *text = text_format("%.*g", digits, number);
        if (strtod(text, NULL) == number)
            return text;
        free(text);
    }
    return text_format("%.17g", number);
}

static void write_value(FILE *file, const struct record_value *value)
{
    const char *before = "";
    (void)fputs("  ", file);
    write_text(file, value->parameter);
    (void)fputs(": {", file);
    if (value->raw_count > 0) {
        for (size_t i = 0; i < value->raw_count; i++)
            (void)fprintf(file, "%s%u", i == 0 ? "raw: [" : ", ", value->raw[i]);
        (void)fputc(']', file);
        before = ", ";
    }
    before = write_part(file, before, "symptom", value->symptom);
    before = write_part(file, before, "value", value->shown);
    if (isfinite(value->number)) {
        char *number = number_text(value->number);
        (void)fprintf(file, "%snumber: %s", before, number);
        free(number);
        before = ", ";
    }
    before = write_part(file, before, "unit", value->unit);
    (void)write_part(file, before, "means", value->means);
    (void)fputs("}\n", file);
}

static void write_traffic(FILE *file, const struct traffic *traffic)
{
    (void)fprintf(file,
                  "traffic: {requests: %" PRIu64 ", retries: %" PRIu64 ", exceptions: %" PRIu64 ", timeouts: %" PRIu64
                  ", bad_frames: %" PRIu64 ", discarded: %" PRIu64 "}\n",
                  traffic->requests, traffic->retries, traffic->exceptions, traffic->timeouts, traffic->bad_frames,
                  traffic->discarded);
}

static void write_head(FILE *file, const struct record *record)
{
    char id[RECORD_ID_TEXT];
    (void)fprintf(file, "record: %s\nas: %s\n", record_id_text(&record->id, id), record_kind_word(record->kind));
    if (record->after_power_cycle)
        (void)fputs("after_power_cycle: yes\n", file);
    write_line(file, "tag", record->tag);
    write_line(file, "service", record->service);
    if (record->serial_number != NULL || record->firmware != NULL) {
        (void)fputs("drive: {", file);
        const char *before = write_part(file, "", "serial_number", record->serial_number);
        (void)write_part(file, before, "firmware", record->firmware);
        (void)fputs("}\n", file);
    }
    (void)fputs("map: {", file);
    (void)write_part(file, "", "name", record->map_name);
    (void)fprintf(file, ", sha256: %s}\nsheet: {sha256: %s}\n", record->map_sha256, record->sheet_sha256);
    write_line(file, "line", record->line);
    (void)fprintf(file, "unit: %u\n", record->unit);
    write_line(file, "who", record->who);
    write_line(file, "host", record->host);
    write_line(file, "tool", record->tool);
    write_moment(file, "began", record->began_ms);
    write_moment(file, "ended", record->ended_ms);
    write_traffic(file, &record->traffic);
}

void record_write(FILE *file, const struct record *record)
{
    write_head(file, record);
    if (record->value_count == 0)
        (void)fputs("values: {}\n", file);
    else
        (void)fputs("values:\n", file);
    for (size_t i = 0; i < record->value_count; i++)
        write_value(file, &record->values[i]);
}
