/* SPDX-License-Identifier: MIT */
/* The engine that reads a mapping by its table of fields, and the readers of common kinds of value. */
#include "files/fields.h"

#include "files/suggest.h"
#include "motor/quantity.h"
#include "types/memory.h"
#include "types/sheet.h"

#include <stdlib.h>
#include <string.h>

_Static_assert(sizeof(enum parity) == sizeof(unsigned), "field_word fills enumerations as unsigned");

static bool is_empty(const struct node *value)
{
    return value->kind == NODE_SCALAR && value->plain && *value->text == '\0';
}

const char *node_describe(const struct node *value)
{
    switch (value->kind) {
    case NODE_SCALAR:
        return is_empty(value) ? "empty" : "a single value";
    case NODE_LIST:
        return value->count == 0 ? "an empty list" : "a list";
    case NODE_MAPPING:
        return value->count == 0 ? "an empty mapping" : "a mapping";
    case NODE_BROKEN:
        break;
    }
    return "broken";
}

struct place node_key_place(const struct node *node)
{
    return node->key == NULL ? node->place : node->key_place;
}

struct place section_place(const struct node *mapping, const char *key)
{
    const struct node *value = node_get(mapping, key);
    return value == NULL ? node_key_place(mapping) : value->place;
}

static bool unexpected(const struct section *section, const struct field *field, const struct node *value)
{
    faults_error(section->faults, value->place, "%s is %s; expected %s", field->key, node_describe(value),
                 field->expects);
    return false;
}

bool field_holds(const struct section *section, const struct field *field, const struct node *value,
                 enum node_kind kind)
{
    return value->kind == kind || unexpected(section, field, value);
}

bool field_holds_some(const struct section *section, const struct field *field, const struct node *value,
                      enum node_kind kind)
{
    return (value->kind == kind && value->count > 0) || unexpected(section, field, value);
}

void *field_target(const struct section *section, const struct field *field)
{
    return (char *)section->target + field->offset;
}

static const struct field *find_field(const struct section *section, const char *key)
{
    for (size_t i = 0; i < section->count; i++)
        if (strcmp(section->fields[i].key, key) == 0)
            return &section->fields[i];
    return NULL;
}

/* What a field wants, for messages; owned. */
static char *expectation(const struct field *field)
{
    if (field->expects != NULL)
        return text_copy(field->expects);
    if (field->read == field_word)
        return words_listed(field->words);
    if (field->read == field_flag || field->read == field_answer)
        return text_copy("yes or no");
    if (field->read == field_count)
        return text_format("a whole number from %u to %u", field->low, field->high);
    if (field->read == field_number)
        return text_copy("a number");
    if (field->read == field_seconds)
        return text_copy("a time such as 1 s");
    if (field->read != field_quantity)
        return text_copy("text");
    if (field->dimension == DIMENSION_NONE)
        return text_copy("a number");
    return text_format("%s in %s", dimension_name(field->dimension), unit_name(dimension_unit(field->dimension)));
}

static char *keys_listed(const struct section *section)
{
    char *list = text_copy(section->fields[0].key);
    for (size_t i = 1; i < section->count; i++) {
        char *longer = text_format("%s, %s", list, section->fields[i].key);
        free(list);
        list = longer;
    }
    return list;
}

/* The key of the section that was meant, or NULL. */
static const char *meant_key(const struct section *section, const char *key)
{
    struct suggestion near = {0};
    for (size_t i = 0; i < section->count; i++)
        suggestion_offer(&near, section->fields[i].key);
    return suggestion_take(&near, key);
}

static void refuse_unknown(const struct section *section, const struct node *value)
{
    if (!faults_are_few(section->faults)) {
        faults_error(section->faults, value->key_place, "unknown key \"%s\" in %s", excerpt(value->key).text,
                     section->what);
        return;
    }
    const char *best = meant_key(section, value->key);
    if (best != NULL) {
        faults_error(section->faults, value->key_place, "unknown key \"%s\" in %s; did you mean \"%s\"",
                     excerpt(value->key).text, section->what, best);
        return;
    }
    char *list = keys_listed(section);
    faults_error(section->faults, value->key_place, "unknown key \"%s\" in %s; expected one of %s",
                 excerpt(value->key).text, section->what, list);
    free(list);
}

/* A required key that is there, but misspelled, is told as unknown only. */
static bool is_misspelled(const struct section *section, const char *key)
{
    for (const struct node *value = section->node->first; value != NULL && faults_are_few(section->faults);
         value = value->next) {
        const char *best = find_field(section, value->key) == NULL ? meant_key(section, value->key) : NULL;
        if (best != NULL && strcmp(best, key) == 0)
            return true;
    }
    return false;
}

static void check_required(const struct section *section, const struct field *field)
{
    if (!field->required || node_get(section->node, field->key) != NULL || is_misspelled(section, field->key))
        return;
    char *expects = expectation(field);
    faults_error(section->faults, node_key_place(section->node), "%s lacks %s; expected %s", section->what, field->key,
                 expects);
    free(expects);
}

bool section_check(const struct section *section)
{
    if (section->node->kind == NODE_BROKEN)
        return false;
    if (section->node->kind != NODE_MAPPING) {
        char *list = keys_listed(section);
        faults_error(section->faults, section->node->place, "%s is %s; expected a mapping with the keys %s",
                     section->what, node_describe(section->node), list);
        free(list);
        return false;
    }
    for (const struct node *value = section->node->first; value != NULL; value = value->next)
        if (find_field(section, value->key) == NULL)
            refuse_unknown(section, value);
    for (size_t i = 0; i < section->count; i++)
        check_required(section, &section->fields[i]);
    return true;
}

static bool read_field(const struct section *section, const struct field *field)
{
    const struct node *value = node_get(section->node, field->key);
    if (value == NULL)
        return true;
    if (value->kind == NODE_BROKEN)
        return false;
    if (!is_empty(value))
        return field->read(section, field, value);
    char *expects = expectation(field);
    faults_error(section->faults, value->key_place, "%s has no value; expected %s", field->key, expects);
    free(expects);
    return false;
}

bool section_read(const struct section *section, unsigned phase)
{
    bool fine = true;
    for (size_t i = 0; i < section->count; i++)
        if (section->fields[i].phase == phase)
            fine = read_field(section, &section->fields[i]) && fine;
    return fine;
}

bool section_load(const struct section *section)
{
    return section_check(section) && section_read(section, 0);
}

bool field_text(const struct section *section, const struct field *field, const struct node *value)
{
    const char *text = scalar_text(section->faults, value, field->key, "text");
    if (text == NULL)
        return false;
    if (*text == '\0' || strchr(text, '\n') != NULL) {
        faults_error(section->faults, value->place, "%s is %s; expected one line of text", field->key,
                     *text == '\0' ? "empty" : "several lines");
        return false;
    }
    *(char **)field_target(section, field) = text_copy(text);
    return true;
}

bool field_lines(const struct section *section, const struct field *field, const struct node *value)
{
    const char *text = scalar_text(section->faults, value, field->key, "text");
    if (text == NULL)
        return false;
    *(char **)field_target(section, field) = text_copy(text);
    return true;
}

bool field_number(const struct section *section, const struct field *field, const struct node *value)
{
    return scalar_number(section->faults, value, field->key, field_target(section, field));
}

bool field_quantity(const struct section *section, const struct field *field, const struct node *value)
{
    struct quantity quantity = {0};
    if (!scalar_quantity(section->faults, value, field->key, field->dimension, &quantity))
        return false;
    bool too_low = quantity.value < 0 ? !field->may_be_negative : quantity.value == 0 && !field->may_be_zero;
    if (too_low) {
        faults_error(section->faults, value->place, "%s: \"%s\" is %s; expected %s", field->key,
                     excerpt(value->text).text, quantity.value < 0 ? "less than nothing" : "nothing",
                     field->may_be_zero ? "0 or more" : "more than 0");
        return false;
    }
    *(struct quantity *)field_target(section, field) = quantity;
    return true;
}

bool field_seconds(const struct section *section, const struct field *field, const struct node *value)
{
    struct quantity quantity = {0};
    struct section here = *section;
    struct field time = *field;
    here.target = &quantity;
    time.offset = 0;
    time.dimension = DIMENSION_TIME;
    if (!field_quantity(&here, &time, value))
        return false;
    *(double *)field_target(section, field) = quantity_base(&quantity);
    return true;
}

bool field_count(const struct section *section, const struct field *field, const struct node *value)
{
    int64_t raw = 0;
    if (!scalar_raw(section->faults, value, field->key, field->low, field->high, &raw))
        return false;
    *(unsigned *)field_target(section, field) = (unsigned)raw;
    return true;
}

bool field_word(const struct section *section, const struct field *field, const struct node *value)
{
    return scalar_word(section->faults, value, field->key, field->words, field_target(section, field));
}

bool field_flag(const struct section *section, const struct field *field, const struct node *value)
{
    return scalar_flag(section->faults, value, field->key, field_target(section, field));
}

bool field_answer(const struct section *section, const struct field *field, const struct node *value)
{
    bool flag = false;
    if (!scalar_flag(section->faults, value, field->key, &flag))
        return false;
    *(enum answer *)field_target(section, field) = flag ? ANSWER_YES : ANSWER_NO;
    return true;
}

const char *scalar_text(struct faults *faults, const struct node *value, const char *what, const char *expects)
{
    if (value->kind == NODE_SCALAR && !is_empty(value))
        return value->text;
    if (value->kind != NODE_BROKEN)
        faults_error(faults, value->place, "%s is %s; expected %s", what, node_describe(value), expects);
    return NULL;
}
