/* SPDX-License-Identifier: MIT */
/* What a parameter of a map accepts, and what it holds when it leaves the maker. */
#include "files/map_reader.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum dimension map_dimension(const struct parameter *parameter)
{
    if (parameter->unit_by.given)
        return unit_dimension(parameter->unit_by.rows[0].unit);
    return unit_dimension(parameter->unit);
}

static bool read_bound(const struct section *section, const struct field *field, const struct node *value, char *text,
                       struct bound *bound)
{
    const struct parameter *parameter = section->target;
    if (*text < 'a' || *text > 'z') {
        bound->kind = BOUND_VALUE;
        struct node part = {.kind = NODE_SCALAR, .text = text, .place = value->place};
        return scalar_quantity(section->faults, &part, field->key, map_dimension(parameter), &bound->value);
    }
    bound->kind = BOUND_MEANS;
    if (!map_means(section->faults, value->place, field->key, text, &bound->means))
        return false;
    enum dimension dimension = means_table[bound->means].dimension;
    bool of_base = parameter->is_percent && dimension == means_table[parameter->percent_of].dimension;
    if (dimension == map_dimension(parameter) || of_base)
        return true;
    faults_error(section->faults, value->place, "%s: %s is %s; expected %s", field->key, text,
                 dimension_name(dimension), dimension_name(map_dimension(parameter)));
    return false;
}

bool map_field_accepts(const struct section *section, const struct field *field, const struct node *value)
{
    struct parameter *parameter = section->target;
    const char *text = scalar_text(section->faults, value, field->key, field->expects);
    const char *to = text == NULL ? NULL : strstr(text, " to ");
    if (text == NULL)
        return false;
    if (to == NULL) {
        faults_error(section->faults, value->place, "%s: \"%s\" is no range; expected %s", field->key,
                     excerpt(text).text, field->expects);
        return false;
    }
    char *low = text_format("%.*s", (int)(to - text), text);
    char *high = text_copy(to + strlen(" to "));
    struct bound *accepts_low = &parameter->accepts_low;
    struct bound *accepts_high = &parameter->accepts_high;
    bool fine = read_bound(section, field, value, low, accepts_low);
    fine = read_bound(section, field, value, high, accepts_high) && fine;
    free(low);
    free(high);
    if (fine && accepts_low->kind == BOUND_VALUE && accepts_high->kind == BOUND_VALUE &&
        quantity_base(&accepts_low->value) > quantity_base(&accepts_high->value)) {
        faults_error(section->faults, value->place,
                     "%s: \"%s\" ends below its beginning; expected the lower bound first", field->key,
                     excerpt(text).text);
        fine = false;
    }
    return fine;
}

/* A word of the choices or specials, or a raw number. */
static bool read_default_choice(const struct section *section, const struct field *field, const struct node *value,
                                const char *text)
{
    struct parameter *parameter = section->target;
    int64_t raw = 0;
    if (map_has_word(parameter, text)) {
        parameter->default_word = text_copy(text);
        return true;
    }
    if (raw_parse(text, &raw)) {
        parameter->default_value = (struct quantity){.given = true, .value = (double)raw};
        return true;
    }
    const char *best = map_word_near(parameter, text);
    if (best != NULL)
        faults_error(section->faults, value->place, "%s: unknown word \"%s\"; did you mean \"%s\"", field->key,
                     excerpt(text).text, best);
    else
        faults_error(section->faults, value->place,
                     "%s: unknown word \"%s\"; expected one of the choices, or a raw value", field->key,
                     excerpt(text).text);
    return false;
}

bool map_accepts(const struct parameter *parameter, const struct quantity *value)
{
    const struct bound *low = &parameter->accepts_low;
    const struct bound *high = &parameter->accepts_high;
    double base = quantity_base(value);
    double slack = 1e-9 * (base < 0 ? -base : base); /* 0.1 A written as 100 mA is not outside */
    return !(low->kind == BOUND_VALUE && base < quantity_base(&low->value) - slack) &&
           !(high->kind == BOUND_VALUE && base > quantity_base(&high->value) + slack);
}

bool map_field_default(const struct section *section, const struct field *field, const struct node *value)
{
    struct parameter *parameter = section->target;
    const char *text = scalar_text(section->faults, value, field->key, field->expects);
    if (text == NULL)
        return false;
    if (parameter->type == TYPE_TEXT) {
        parameter->default_word = text_copy(text);
        return true;
    }
    if (parameter->type == TYPE_BOOL && parameter->choices.count == 0) {
        bool flag = text[0] == '1';
        if ((*text != '0' && *text != '1') || text[1] != '\0')
            if (!scalar_flag(section->faults, value, field->key, &flag))
                return false;
        parameter->default_value = (struct quantity){.given = true, .value = flag};
        return true;
    }
    if (parameter->choices.count > 0 || parameter->type == TYPE_BITS || map_has_word(parameter, text))
        return read_default_choice(section, field, value, text);
    if (!scalar_quantity(section->faults, value, field->key, map_dimension(parameter), &parameter->default_value))
        return false;
    if (map_accepts(parameter, &parameter->default_value))
        return true;
    faults_error(section->faults, value->place,
                 "%s: \"%s\" is outside of what the parameter accepts; expected a value "
                 "within accepts",
                 field->key, excerpt(text).text);
    return false;
}
