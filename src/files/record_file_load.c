/* SPDX-License-Identifier: MIT */
/* Reading of a record from the YAML file that record_write made of it. */
#include "files/load.h"
#include "files/record_file.h"
#include "types/memory.h"
#include "types/moment.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(fields) (sizeof(fields) / sizeof *(fields))

static int hex_digit(char digit)
{
    if (digit >= '0' && digit <= '9')
        return digit - '0';
    if (digit >= 'a' && digit <= 'f')
        return digit - 'a' + 10;
    if (digit >= 'A' && digit <= 'F')
        return digit - 'A' + 10;
    return -1;
}

/* One byte of a text as it was escaped; 0 where a backslash has nothing behind it that it may have. */
static char unescaped_byte(const char **text)
{
    const char *at = *text;
    if (at[0] != '\\') {
        *text = at + 1;
        return at[0];
    }
    if (at[1] == '\\') {
        *text = at + 2;
        return '\\';
    }
    int high = at[1] == 'x' ? hex_digit(at[2]) : -1;
    int low = high < 0 ? -1 : hex_digit(at[3]);
    if (low < 0)
        return '\0';
    *text = at + 4;
    return (char)(high * 16 + low);
}

/* Owned; NULL with a fault where the escapes are wrong. */
static char *unescaped(struct faults *faults, struct place place, const char *what, const char *text)
{
    char *copy = memory_new(strlen(text) + 1, 1);
    char *end = copy;
    while (*text != '\0') {
        *end = unescaped_byte(&text);
        if (*end++ == '\0') {
            faults_error(faults, place, "%s: wrong escape; expected \\xNN with two digits that are not 00, or \\\\",
                         excerpt(what).text);
            free(copy);
            return NULL;
        }
    }
    return copy;
}

static bool read_text(const struct section *section, const struct field *field, const struct node *value)
{
    const char *text = scalar_text(section->faults, value, field->key, "text");
    char *copy = text == NULL ? NULL : unescaped(section->faults, value->place, field->key, text);
    *(char **)field_target(section, field) = copy;
    return copy != NULL;
}

/* `digits` lower-case hex digits, and nothing else. */
static const char *hex_text(const struct section *section, const struct field *field, const struct node *value,
                            size_t digits)
{
    const char *text = scalar_text(section->faults, value, field->key, field->expects);
    if (text == NULL)
        return NULL;
    if (strlen(text) == digits && strspn(text, "0123456789abcdef") == digits)
        return text;
    faults_error(section->faults, value->place, "%s: \"%s\" is none; expected %s", field->key, excerpt(text).text,
                 field->expects);
    return NULL;
}

static bool read_id(const struct section *section, const struct field *field, const struct node *value)
{
    const char *text = hex_text(section, field, value, RECORD_ID_TEXT - 1);
    struct record_id *id = field_target(section, field);
    for (size_t i = 0; text != NULL && i < sizeof id->bytes; i++)
        id->bytes[i] = (uint8_t)(hex_digit(text[2 * i]) * 16 + hex_digit(text[2 * i + 1]));
    return text != NULL;
}

static bool read_digest(const struct section *section, const struct field *field, const struct node *value)
{
    enum { DIGITS = 64 };
    const char *text = hex_text(section, field, value, DIGITS);
    if (text != NULL)
        memcpy(field_target(section, field), text, DIGITS + 1);
    return text != NULL;
}

static bool read_moment(const struct section *section, const struct field *field, const struct node *value)
{
    const char *text = scalar_text(section->faults, value, field->key, field->expects);
    if (text == NULL)
        return false;
    if (moment_parse(text, field_target(section, field)))
        return true;
    faults_error(section->faults, value->place, "%s: \"%s\" is none; expected %s", field->key, excerpt(text).text,
                 field->expects);
    return false;
}

static bool read_tally(const struct section *section, const struct field *field, const struct node *value)
{
    const int64_t most = INT64_C(999999999999); /* as many digits as a whole number of a file may have */
    int64_t count = 0;
    if (!scalar_raw(section->faults, value, field->key, 0, most, &count))
        return false;
    *(uint64_t *)field_target(section, field) = (uint64_t)count;
    return true;
}

/* A mapping within the record; all its fields lie in the target of `section`. */
static bool read_inner(const struct section *section, const struct field *field, const struct node *value,
                       const struct field *fields, size_t count)
{
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = fields,
                                  .count = count,
                                  .target = section->target};
    return section_load(&inner);
}

#define AT(member) offsetof(struct record, member)
#define DIGEST     "a SHA-256 digest of 64 lower-case hex digits"

static bool read_drive(const struct section *section, const struct field *field, const struct node *value)
{
    static const struct field fields[] = {
        {.key = "serial_number", .read = read_text, .offset = AT(serial_number)},
        {.key = "firmware", .read = read_text, .offset = AT(firmware)},
    };
    return read_inner(section, field, value, fields, COUNT(fields));
}

static bool read_map(const struct section *section, const struct field *field, const struct node *value)
{
    static const struct field fields[] = {
        {.key = "name", .read = read_text, .offset = AT(map_name), .required = true},
        {.key = "sha256", .read = read_digest, .offset = AT(map_sha256), .required = true, .expects = DIGEST},
    };
    return read_inner(section, field, value, fields, COUNT(fields));
}

static bool read_sheet(const struct section *section, const struct field *field, const struct node *value)
{
    static const struct field fields[] = {
        {.key = "sha256", .read = read_digest, .offset = AT(sheet_sha256), .required = true, .expects = DIGEST},
    };
    return read_inner(section, field, value, fields, COUNT(fields));
}

static bool read_traffic(const struct section *section, const struct field *field, const struct node *value)
{
    static const struct field fields[] = {
        {.key = "requests", .read = read_tally, .offset = AT(traffic.requests), .required = true},
        {.key = "retries", .read = read_tally, .offset = AT(traffic.retries), .required = true},
        {.key = "exceptions", .read = read_tally, .offset = AT(traffic.exceptions), .required = true},
        {.key = "timeouts", .read = read_tally, .offset = AT(traffic.timeouts), .required = true},
        {.key = "bad_frames", .read = read_tally, .offset = AT(traffic.bad_frames), .required = true},
        {.key = "discarded", .read = read_tally, .offset = AT(traffic.discarded), .required = true},
    };
    return read_inner(section, field, value, fields, COUNT(fields));
}

/* ---- values ---- */

static bool read_raw(const struct section *section, const struct field *field, const struct node *value)
{
    struct record_value *target = section->target;
    if (!field_holds_some(section, field, value, NODE_LIST))
        return false;
    if (value->count > field->high) {
        faults_error(section->faults, value->place, "%s: %zu words; expected at most %u", field->key, value->count,
                     field->high);
        return false;
    }
    target->raw = memory_new(value->count, sizeof *target->raw);
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        int64_t raw = 0;
        if (!scalar_raw(section->faults, item, field->key, 0, UINT16_MAX, &raw))
            return false;
        target->raw[target->raw_count++] = (uint16_t)raw;
    }
    return true;
}

#define VALUE_AT(member) offsetof(struct record_value, member)

static const struct field value_fields[] = {
    {.key = "raw",
     .read = read_raw,
     .high = 125, /* what one request may ask for: MODBUS Application Protocol Specification V1.1b3, section 6.3 */
     .expects = "a list of words such as [600]"},
    {.key = "symptom", .read = read_text, .offset = VALUE_AT(symptom)},
    {.key = "value", .read = read_text, .offset = VALUE_AT(shown)},
    {.key = "number", .read = field_number, .offset = VALUE_AT(number)},
    {.key = "unit", .read = read_text, .offset = VALUE_AT(unit)},
    {.key = "means", .read = read_text, .offset = VALUE_AT(means)},
};

static bool read_value(const struct section *section, const struct node *item)
{
    struct record *record = section->target;
    char *parameter = unescaped(section->faults, item->key_place, "the parameter's name", item->key);
    if (parameter == NULL)
        return false;
    record->values = memory_grow(record->values, record->value_count, sizeof *record->values);
    struct record_value *value = &record->values[record->value_count++];
    *value = (struct record_value){.parameter = parameter, .number = NAN};
    char *what = text_format("parameter %s", excerpt(item->key).text);
    const struct section inner = {.faults = section->faults,
                                  .node = item,
                                  .what = what,
                                  .fields = value_fields,
                                  .count = COUNT(value_fields),
                                  .target = value};
    bool fine = section_load(&inner);
    if (fine && value->raw == NULL && value->symptom == NULL) {
        faults_error(section->faults, node_key_place(item),
                     "%s has neither raw nor symptom; expected the words that were read, or why there are none", what);
        fine = false;
    }
    free(what);
    return fine;
}

static bool read_values(const struct section *section, const struct field *field, const struct node *value)
{
    if (!field_holds(section, field, value, NODE_MAPPING))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next)
        fine = read_value(section, item) && fine;
    return fine;
}

static const struct word kind_words[] = {{"found", RECORD_FOUND},
                                         {"left", RECORD_LEFT},
                                         {"before-write", RECORD_BEFORE_WRITE},
                                         {"after-write", RECORD_AFTER_WRITE},
                                         {"swept", RECORD_SWEPT},
                                         {"witnessed", RECORD_WITNESSED},
                                         {NULL, 0}};

#define MOMENT "a time in UTC such as 2026-01-31T08:00:00.000Z"

static const struct field record_fields[] = {
    {.key = "record",
     .read = read_id,
     .offset = AT(id),
     .required = true,
     .expects = "an id of 32 lower-case hex digits"},
    {.key = "as", .read = field_word, .offset = AT(kind), .required = true, .words = kind_words},
    {.key = "after_power_cycle", .read = field_flag, .offset = AT(after_power_cycle)},
    {.key = "tag", .read = read_text, .offset = AT(tag), .required = true, .expects = "the drive's tag, such as P-204"},
    {.key = "service", .read = read_text, .offset = AT(service)},
    {.key = "drive", .read = read_drive, .expects = "a mapping with serial_number and firmware"},
    {.key = "map", .read = read_map, .required = true, .expects = "a mapping with name and sha256"},
    {.key = "sheet", .read = read_sheet, .required = true, .expects = "a mapping with sha256"},
    {.key = "line", .read = read_text, .offset = AT(line), .required = true},
    {.key = "unit", .read = field_count, .offset = AT(unit), .required = true, .high = 255},
    {.key = "who", .read = read_text, .offset = AT(who), .required = true},
    {.key = "host", .read = read_text, .offset = AT(host), .required = true},
    {.key = "tool", .read = read_text, .offset = AT(tool), .required = true},
    {.key = "began", .read = read_moment, .offset = AT(began_ms), .required = true, .expects = MOMENT},
    {.key = "ended", .read = read_moment, .offset = AT(ended_ms), .required = true, .expects = MOMENT},
    {.key = "traffic", .read = read_traffic, .required = true, .expects = "a mapping of counts"},
    {.key = "values", .read = read_values, .required = true, .expects = "a mapping of parameters to what they held"},
};

bool record_load(const char *path, struct record *record, struct problems *problems)
{
    struct faults faults = {.path = path};
    struct loaded loaded = {0};
    *record = (struct record){0};
    if (loaded_open(path, &loaded, &faults)) {
        const struct section section = {.faults = &faults,
                                        .node = loaded.root,
                                        .what = "the record",
                                        .fields = record_fields,
                                        .count = COUNT(record_fields),
                                        .target = record};
        (void)section_load(&section);
    }
    loaded_free(&loaded);
    if (faults_hand_out(&faults, problems))
        return true;
    record_free(record);
    return false;
}
