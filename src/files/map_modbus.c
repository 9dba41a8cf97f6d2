/* SPDX-License-Identifier: MIT */
/* The `modbus` section of a map: how the drive wants to be spoken to. */
#include "files/map_reader.h"

static const struct word order_words[] = {{"high-first", ORDER_HIGH_FIRST}, {"low-first", ORDER_LOW_FIRST}, {NULL, 0}};
static const struct word writes_words[] = {
    {"single", WRITES_SINGLE}, {"multiple", WRITES_MULTIPLE}, {"either", WRITES_EITHER}, {NULL, 0}};
const struct word map_write_words[] = {
    {"together", WRITE_TOGETHER}, {"low-first", WRITE_LOW_FIRST}, {"high-first", WRITE_HIGH_FIRST}, {NULL, 0}};

static bool read_count_from(const struct section *section, const struct field *field, const struct node *value)
{
    struct map_reader *reader = section->context;
    reader->counted = field_count(section, field, value);
    return reader->counted;
}

static bool read_write_words(const struct section *section, const struct field *field, const struct node *value)
{
    struct map_reader *reader = section->context;
    unsigned found = 0;
    if (!scalar_word(section->faults, value, field->key, field->words, &found))
        return false;
    reader->write_words = (enum write_words)found;
    return true;
}

#define AT(member) offsetof(struct modbus_habits, member)

/* count_from stands first, because addresses need it. 125 and 123 registers: MODBUS Application Protocol Specification
 * V1.1b3, functions 03 and 16. */
static const struct field modbus_fields[] = {
    {.key = "count_from",
     .read = read_count_from,
     .offset = AT(count_from),
     .high = 1,
     .required = true,
     .expects = "0 (addresses as they travel) or 1 (register numbers as manuals print them)"},
    {.key = "word_order", .read = field_word, .offset = AT(word_order), .words = order_words},
    {.key = "longest_read", .read = field_count, .offset = AT(longest_read), .low = 1, .high = 125},
    {.key = "longest_write", .read = field_count, .offset = AT(longest_write), .low = 1, .high = 123},
    {.key = "answers_within", .read = field_seconds, .offset = AT(answers_within_s)},
    {.key = "rest_between", .read = field_seconds, .offset = AT(rest_between_s), .may_be_zero = true},
    {.key = "write_answers_within", .read = field_seconds, .offset = AT(write_answers_within_s)},
    {.key = "writes_with", .read = field_word, .offset = AT(writes_with), .words = writes_words},
    {.key = "write_words",
     .read = read_write_words,
     .words = map_write_words,
     .expects = "together, low-first or high-first"},
    {.key = "connections", .read = field_count, .offset = AT(connections), .low = 1, .high = 1000},
    {.key = "closed", .read = map_field_closed, .expects = "a list such as [holding 0x0140-0x014F]"},
};

bool map_read_modbus(struct map_reader *reader, const struct node *value)
{
    struct modbus_habits *modbus = &reader->map->modbus;
    const struct section section = {.faults = reader->faults,
                                    .node = value,
                                    .what = "modbus",
                                    .fields = modbus_fields,
                                    .count = sizeof modbus_fields / sizeof *modbus_fields,
                                    .target = modbus,
                                    .context = reader};
    bool fine = section_load(&section);
    if (modbus->write_answers_within_s <= 0)
        modbus->write_answers_within_s = modbus->answers_within_s;
    if (modbus->writes_with == WRITES_SINGLE && modbus->longest_write > 1)
        faults_error(reader->faults, section_place(value, "writes_with"),
                     "writes_with single (function 06) writes one register; expected longest_write 1, or multiple");
    return fine;
}
