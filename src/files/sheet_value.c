/* SPDX-License-Identifier: MIT */
/* What settings and allowances are about, and values that suit them. */
#include "files/map_reader.h"
#include "files/sheet_reader.h"
#include "files/suggest.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum { SUITING_MOST = 4 };

/* The dimensions that a subject may be given in, the usual one first. */
struct suiting {
    enum dimension items[SUITING_MOST];
    size_t count;
};

enum means subject_means(const struct subject *subject)
{
    if (subject->means == MEANS_NONE && subject->parameter != NULL)
        return subject->parameter->means;
    return subject->means;
}

static bool find_means(const struct sheet_reader *reader, struct place place, const char *what, const char *name,
                       struct subject *subject)
{
    if (!map_means(reader->faults, place, what, name, &subject->means))
        return false;
    if (!reader->map_read)
        return true;
    size_t index = map_find_means(reader->map, subject->means, 0);
    if (index == PARAMETER_NOT_FOUND)
        faults_warning(reader->faults, place, "no parameter of the map means %s: not checked", name);
    else
        subject->parameter = &reader->map->parameters[index];
    return true;
}

bool subject_find(const struct sheet_reader *reader, struct place place, const char *what, const char *name,
                  struct subject *subject)
{
    *subject = (struct subject){.name = name};
    if (strchr(name, '.') != NULL)
        return find_means(reader, place, what, name, subject);
    if (!reader->map_read)
        return true; /* what is wrong with the map is told; its names cannot be checked */
    size_t index = map_find(reader->map, name);
    if (index != PARAMETER_NOT_FOUND) {
        subject->parameter = &reader->map->parameters[index];
        return true;
    }
    return map_unknown_parameter(reader->faults, reader->map, place, what, name,
                                 "a means such as limit.maximum_frequency, or a parameter of the map");
}

static void suit(struct suiting *suiting, enum dimension dimension)
{
    for (size_t i = 0; i < suiting->count; i++)
        if (suiting->items[i] == dimension)
            return;
    suiting->items[suiting->count++] = dimension;
}

static struct suiting suiting_of(const struct subject *subject)
{
    struct suiting suiting = {0};
    const struct parameter *parameter = subject->parameter;
    enum means means = subject_means(subject);
    bool is_ramp = means == MEANS_RAMP_ACCELERATION_TIME || means == MEANS_RAMP_DECELERATION_TIME;
    /* The unit of a word or count is the map's alone; all other means are asked for in their own. */
    if (parameter == NULL || (means != MEANS_NONE && means_table[means].dimension != DIMENSION_NONE))
        suit(&suiting, means_table[means].dimension);
    if (parameter == NULL || is_ramp) /* a ramp is a time, whatever the register counts */
        return suiting;
    if (parameter->unit != UNIT_NONE || parameter->unit_by.given || suiting.count == 0)
        suit(&suiting, map_dimension(parameter));
    if (parameter->is_percent)
        suit(&suiting, means_table[parameter->percent_of].dimension);
    return suiting;
}

bool subject_quantity(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                      struct quantity *quantity)
{
    struct suiting suiting = suiting_of(subject);
    const char *text = scalar_text(reader->faults, value, subject->name, "a number and unit");
    if (text == NULL)
        return false;
    for (size_t i = 1; i < suiting.count; i++)
        if (quantity_parse(text, suiting.items[i], quantity, NULL))
            return true;
    return scalar_quantity(reader->faults, value, subject->name, suiting.items[0], quantity);
}

/* "keypad, terminals or network": owned. */
static char *choices_listed(const struct named_raws *list)
{
    char *text = text_copy(list->items[0].word);
    for (size_t i = 1; i < list->count; i++) {
        char *longer = text_format("%s%s%s", text, i + 1 == list->count ? " or " : ", ", list->items[i].word);
        free(text);
        text = longer;
    }
    return text;
}

static bool read_choice(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                        struct quantity *quantity)
{
    int64_t raw = 0;
    if (raw_parse(value->text, &raw)) {
        *quantity = (struct quantity){.given = true, .value = (double)raw};
        return true;
    }
    char *list = choices_listed(&subject->parameter->choices);
    const char *best = map_word_near(subject->parameter, value->text);
    if (best != NULL)
        faults_error(reader->faults, value->place, "%s: unknown word \"%s\"; did you mean \"%s\"", subject->name,
                     excerpt(value->text).text, best);
    else
        faults_error(reader->faults, value->place, "%s: unknown word \"%s\"; expected %s", subject->name,
                     excerpt(value->text).text, list);
    free(list);
    return false;
}

static bool read_bool(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                      struct quantity *quantity)
{
    int64_t raw = 0;
    bool flag = false;
    if (raw_parse(value->text, &raw) && (raw == 0 || raw == 1))
        flag = raw == 1;
    else if (!scalar_flag(reader->faults, value, subject->name, &flag))
        return false;
    *quantity = (struct quantity){.given = true, .value = flag};
    return true;
}

/* A means that the map does not have: a number, a quantity of any kind, or a word; nothing says which. */
static bool read_unknown(const struct node *value, struct quantity *quantity, char **word)
{
    for (int dimension = DIMENSION_NONE; dimension <= DIMENSION_SPEED_RATE; dimension++)
        if (quantity_parse(value->text, (enum dimension)dimension, quantity, NULL))
            return true;
    *word = text_copy(value->text);
    return true;
}

bool subject_value(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                   struct quantity *quantity, char **word)
{
    const struct parameter *parameter = subject->parameter;
    const char *text = scalar_text(reader->faults, value, subject->name, "a value");
    if (text == NULL)
        return false;
    if (parameter == NULL)
        return means_table[subject->means].dimension == DIMENSION_NONE
                   ? read_unknown(value, quantity, word)
                   : subject_quantity(reader, value, subject, quantity);
    if (map_has_word(parameter, text) || parameter->type == TYPE_TEXT) {
        *word = text_copy(text);
        return true;
    }
    if (parameter->choices.count > 0)
        return read_choice(reader, value, subject, quantity);
    if (parameter->type == TYPE_BOOL)
        return read_bool(reader, value, subject, quantity);
    if (parameter->type == TYPE_BITS) {
        int64_t raw = 0;
        if (!scalar_raw(reader->faults, value, subject->name, 0, UINT16_MAX, &raw))
            return false;
        *quantity = (struct quantity){.given = true, .value = (double)raw};
        return true;
    }
    return subject_quantity(reader, value, subject, quantity);
}
