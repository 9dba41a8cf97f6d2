/* SPDX-License-Identifier: MIT */
/* Addresses of a map: table and number, in the map's own counting, to what travels on the wire. */
#include "files/map_reader.h"

#include "files/suggest.h"
#include "types/memory.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* In the order of enum table. */
static const struct word table_words[] = {
    {"coil", TABLE_COIL}, {"discrete", TABLE_DISCRETE}, {"input", TABLE_INPUT}, {"holding", TABLE_HOLDING}, {NULL, 0}};

static const char *const example = "expected coil, discrete, input or holding and a number, such as holding 0x0110";

/* The digit that many manuals print before a register number of a table; 0 for coils, where nothing shows. */
static unsigned leading_digit(enum table table)
{
    switch (table) {
    case TABLE_COIL:
        return 0;
    case TABLE_DISCRETE:
        return 1;
    case TABLE_INPUT:
        return 3;
    case TABLE_HOLDING:
        return 4;
    }
    return 0;
}

/* Splits "holding 0x0110" into table and the text of the number behind it; NULL where the table is wrong. */
static const char *split_table(const struct map_reader *reader, const struct node *value, const char *what,
                               enum table *table)
{
    const char *text = scalar_text(reader->faults, value, what, "an address such as holding 0x0110");
    if (text == NULL)
        return NULL;
    const char *space = strchr(text, ' ');
    if (space == NULL) {
        faults_error(reader->faults, value->place, "%s: \"%s\" is no address; %s", what, excerpt(text).text, example);
        return NULL;
    }
    char *word = text_format("%.*s", (int)(space - text), text);
    unsigned found = 0;
    bool known = word_find(table_words, word, &found);
    struct suggestion near = {0};
    for (const struct word *row = table_words; row->word != NULL; row++)
        suggestion_offer(&near, row->word);
    const char *best = suggestion_take(&near, word);
    if (!known && best != NULL)
        faults_error(reader->faults, value->place, "%s: unknown table \"%s\"; did you mean \"%s\"", what,
                     excerpt(word).text, best);
    else if (!known)
        faults_error(reader->faults, value->place, "%s: unknown table \"%s\"; %s", what, excerpt(word).text, example);
    free(word);
    *table = (enum table)found;
    while (*space == ' ')
        space++;
    return known ? space : NULL;
}

/* One number of an address to its wire address. */
static bool read_number(const struct map_reader *reader, struct place place, const char *what, enum table table,
                        const char *text, uint16_t *wire)
{
    int64_t number = 0;
    int64_t from = reader->counted ? reader->map->modbus.count_from : 0;
    if (!raw_parse(text, &number)) {
        faults_error(reader->faults, place, "%s: \"%s\" is no address; expected a decimal or 0x hexadecimal number",
                     what, excerpt(text).text);
        return false;
    }
    /* Where count_from is missing, 65536 may be right. */
    if (number < from || number > (reader->counted ? 65535 + from : 65536)) {
        unsigned digit = leading_digit(table);
        int64_t printed = (int64_t)digit * 100000;
        if (digit != 0 && number > printed && number <= printed + 65536)
            faults_error(reader->faults, place,
                         "%s: %" PRId64 " is out of range; the word before it stands for the leading %u: expected %s "
                         "%" PRId64,
                         what, number, digit, table_words[table].word, number - printed - (1 - from));
        else
            faults_error(reader->faults, place, "%s: %s is out of range; expected %" PRId64 " to %" PRId64, what,
                         excerpt(text).text, from, 65535 + from);
        return false;
    }
    unsigned digit = leading_digit(table);
    int64_t printed = (int64_t)digit * 10000;
    if (from == 1 && digit != 0 && text[1] != 'x' && number > printed && number < printed + 10000)
        faults_warning(reader->faults, place,
                       "%s: register %" PRId64 " is rare; if the manual prints %" PRId64
                       ", the word before it stands for the leading %u: write %s %" PRId64,
                       what, number, number, digit, table_words[table].word, number - printed);
    number -= from;
    *wire = (uint16_t)(number > 65535 ? 65535 : number);
    return true;
}

bool map_field_address(const struct section *section, const struct field *field, const struct node *value)
{
    const struct map_reader *reader = section->context;
    struct address *address = field_target(section, field);
    const char *number = split_table(reader, value, field->key, &address->table);
    return number != NULL && read_number(reader, value->place, field->key, address->table, number, &address->at);
}

static bool read_range(const struct map_reader *reader, const struct field *field, const struct node *value,
                       struct address_range *range)
{
    const char *text = split_table(reader, value, field->key, &range->table);
    if (text == NULL)
        return false;
    const char *dash = strchr(text, '-');
    if (dash == NULL) {
        bool fine = read_number(reader, value->place, field->key, range->table, text, &range->first);
        range->last = range->first;
        return fine;
    }
    char *first = text_format("%.*s", (int)(dash - text), text);
    bool fine = read_number(reader, value->place, field->key, range->table, first, &range->first) &&
                read_number(reader, value->place, field->key, range->table, dash + 1, &range->last);
    if (fine && range->first > range->last) {
        faults_error(reader->faults, value->place, "%s: %s ends before it begins; expected the lower address first",
                     field->key, excerpt(text).text);
        fine = false;
    }
    free(first);
    return fine;
}

bool map_field_closed(const struct section *section, const struct field *field, const struct node *value)
{
    const struct map_reader *reader = section->context;
    struct modbus_habits *modbus = section->target;
    if (!field_holds(section, field, value, NODE_LIST))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        struct address_range range = {0};
        if (!read_range(reader, field, item, &range)) {
            fine = false;
            continue;
        }
        modbus->closed = memory_grow(modbus->closed, modbus->closed_count, sizeof *modbus->closed);
        modbus->closed[modbus->closed_count++] = range;
    }
    return fine;
}
