/* SPDX-License-Identifier: MIT */
/* Whether a parameter counts now: locks, conditions and sets; and which parameters decide over others. */
#include "bus/codec.h"
#include "bus/decode.h"
#include "bus/decode_parts.h"

#include <stdlib.h>

bool reading_raw(const struct map *map, const struct readings *readings, size_t parameter, uint32_t *raw)
{
    const struct parameter *row = &map->parameters[parameter];
    const struct reading *reading = &readings->items[parameter];
    if (row->type == TYPE_TEXT || reading->raw_count == 0 || reading->raw_count > 2)
        return false;
    *raw = codec_raw(reading->raw, reading->raw_count, map->modbus.word_order);
    return true;
}

enum truth { IS_FALSE, IS_TRUE, IS_UNKNOWN };

static enum truth condition_holds(const struct condition *condition, bool known, uint32_t raw)
{
    if (!known)
        return IS_UNKNOWN;
    for (size_t i = 0; i < condition->raws.count; i++)
        if (condition->raws.items[i] == raw)
            return IS_TRUE;
    return IS_FALSE;
}

typedef bool (*raw_source)(const struct map *map, const struct readings *readings, size_t parameter, uint32_t *raw);

/* The first of the conditions that is `wanted`, or NULL. Locks are told by reading_raw, since what guards a level is
 * not itself guarded; all else by selector_raw. */
static const struct condition *find_condition(const struct map *map, const struct readings *readings,
                                              const struct conditions *list, raw_source raw_of, enum truth wanted)
{
    for (size_t i = 0; i < list->count; i++) {
        uint32_t raw = 0;
        bool known = raw_of(map, readings, list->items[i].parameter, &raw);
        if (condition_holds(&list->items[i], known, raw) == wanted)
            return &list->items[i];
    }
    return NULL;
}

bool selector_raw(const struct map *map, const struct readings *readings, size_t parameter, uint32_t *raw)
{
    const struct conditions *locks = &map->parameters[parameter].locked_by;
    return reading_raw(map, readings, parameter, raw) &&
           find_condition(map, readings, locks, reading_raw, IS_TRUE) == NULL &&
           find_condition(map, readings, locks, reading_raw, IS_UNKNOWN) == NULL;
}

const char *selector_trouble(const struct readings *readings, size_t parameter)
{
    return readings->items[parameter].raw_count == 0 ? "is not read" : "is locked";
}

char *selector_text(const struct map *map, const struct readings *readings, size_t parameter)
{
    const struct parameter *row = &map->parameters[parameter];
    uint32_t raw = 0;
    if (!reading_raw(map, readings, parameter, &raw))
        return text_format("%s is not read", row->name);
    const struct named_raw *choice = codec_find(&row->choices, raw);
    double number = 0;
    if (choice != NULL && choice->word != NULL)
        return text_format("%s is %s (%u)", row->name, choice->word, raw);
    if (row->type == TYPE_F32 || !codec_number(row->type, raw, 1, 0, &number))
        return text_format("%s is 0x%08x", row->name, raw);
    return text_format("%s is %.0f", row->name, number);
}

void reading_remark(struct reading *reading, char *text)
{
    if (reading->remark == NULL) {
        reading->remark = text;
        return;
    }
    char *both = text_format("%s; %s", reading->remark, text);
    free(reading->remark);
    free(text);
    reading->remark = both;
}

void reading_fail(struct reading *reading, enum symptom_kind symptom, char *remark)
{
    reading->symptom = (struct symptom){.kind = symptom};
    reading_remark(reading, remark);
}

/* True where the level hides the parameter, or may hide it. */
static bool fail_locked(const struct map *map, struct readings *readings, size_t parameter)
{
    const struct conditions *locks = &map->parameters[parameter].locked_by;
    struct reading *reading = &readings->items[parameter];
    const struct condition *lock = find_condition(map, readings, locks, reading_raw, IS_TRUE);
    if (lock != NULL) {
        char *level = selector_text(map, readings, lock->parameter);
        reading_fail(reading, SYMPTOM_LOCKED, text_format("raise the level at the keypad (%s)", level));
        free(level);
        return true;
    }
    lock = find_condition(map, readings, locks, reading_raw, IS_UNKNOWN);
    if (lock != NULL)
        reading_fail(
            reading, SYMPTOM_SELECTOR,
            text_format("%s is not read, which tells whether this is locked", map->parameters[lock->parameter].name));
    return lock != NULL;
}

static enum truth set_counts(const struct map *map, const struct readings *readings, unsigned set)
{
    const struct set_in_force *force = &map->set_in_force;
    if (set == 0 || !force->given)
        return IS_TRUE;
    uint32_t raw = 0;
    if (!selector_raw(map, readings, force->parameter, &raw))
        return IS_UNKNOWN;
    for (size_t i = 0; i < force->count; i++)
        if (force->rows[i].raw == raw)
            return force->rows[i].terminal || force->rows[i].set == set ? IS_TRUE : IS_FALSE;
    return raw == set ? IS_TRUE : IS_FALSE;
}

static void put_out_of_force(const struct map *map, struct readings *readings, size_t parameter, size_t selector)
{
    struct reading *reading = &readings->items[parameter];
    char *why = selector_text(map, readings, selector);
    reading->in_force = false;
    reading_remark(reading, text_format("not in force: %s", why));
    free(why);
}

void reading_force(const struct map *map, struct readings *readings, size_t parameter)
{
    const struct parameter *row = &map->parameters[parameter];
    struct reading *reading = &readings->items[parameter];
    reading->in_force = true;

    const struct condition *unmet = find_condition(map, readings, &row->applies_when, selector_raw, IS_FALSE);
    const struct condition *unknown = find_condition(map, readings, &row->applies_when, selector_raw, IS_UNKNOWN);
    enum truth counts = set_counts(map, readings, row->set);
    if (unmet != NULL)
        put_out_of_force(map, readings, parameter, unmet->parameter);
    else if (counts == IS_FALSE)
        put_out_of_force(map, readings, parameter, map->set_in_force.parameter);

    if (reading->raw_count == 0 || reading->symptom.kind != SYMPTOM_NONE || fail_locked(map, readings, parameter))
        return;
    if (reading->in_force && (unknown != NULL || counts == IS_UNKNOWN)) {
        size_t selector = unknown != NULL ? unknown->parameter : map->set_in_force.parameter;
        reading_fail(reading, SYMPTOM_SELECTOR,
                     text_format("%s %s, which tells whether this is in force", map->parameters[selector].name,
                                 selector_trouble(readings, selector)));
    }
}

static bool conditions_name(const struct conditions *list, size_t parameter)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].parameter == parameter)
            return true;
    return false;
}

static bool selector_is(const struct selector *selector, size_t parameter)
{
    return selector->given && selector->parameter == parameter;
}

bool map_is_selector(const struct map *map, size_t parameter)
{
    if (map->set_in_force.given && map->set_in_force.parameter == parameter)
        return true;
    const struct parameter *self = &map->parameters[parameter];
    for (size_t i = 0; i < map->count; i++) {
        const struct parameter *other = &map->parameters[i];
        if (i == parameter)
            continue;
        if (selector_is(&other->unit_by, parameter) || selector_is(&other->scale_by, parameter) ||
            (other->ramp_span.given && selector_is(&other->ramp_span.by, parameter)) ||
            conditions_name(&other->applies_when, parameter) || conditions_name(&other->locked_by, parameter))
            return true;
        bool same_set = other->set == 0 || self->set == 0 || other->set == self->set;
        if (other->is_percent && other->base == BASE_REGISTER && self->means != MEANS_NONE &&
            other->percent_of == self->means && same_set)
            return true;
    }
    return false;
}
