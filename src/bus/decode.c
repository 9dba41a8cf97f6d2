/* SPDX-License-Identifier: MIT */
/* From raw words to values: units, scales, percentages and words, by the map and by what selectors say. */
#include "bus/decode.h"

#include "bus/codec.h"
#include "bus/decode_parts.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>

enum progress { NOT_BEGUN, UNDER_WAY, DONE };

/* One pass over all readings. Values that depend on others (a percentage's base, `same_as`) pull these first. */
struct decoding {
    const struct map *map;
    const struct setpoints *setpoints; /* may be NULL */
    struct readings *readings;
    enum progress *progress; /* one a parameter */
};

/* Longest "-4294967295.123456 per unit" and then some. */
enum { NUMBER_SIZE = 64 };

static void decode_reading(struct decoding *decoding, size_t parameter);

/* The other parameter with that means: of the same set where both are in one, preferably in force. */
static size_t find_source(const struct decoding *decoding, size_t parameter, enum means means)
{
    const struct map *map = decoding->map;
    unsigned set = map->parameters[parameter].set;
    size_t found = PARAMETER_NOT_FOUND;
    for (size_t i = 0; i < map->count; i++) {
        const struct parameter *other = &map->parameters[i];
        if (i == parameter || means == MEANS_NONE || other->means != means ||
            (set != 0 && other->set != 0 && other->set != set))
            continue;
        if (decoding->readings->items[i].in_force)
            return i;
        if (found == PARAMETER_NOT_FOUND)
            found = i;
    }
    return found;
}

/* The decoded reading that another one draws on; NULL, and the dependent failed, where there is none. `purpose` reads
 * behind its name: "motor_current ..., of which this is a percentage". */
static const struct reading *draw_on(struct decoding *decoding, size_t parameter, enum means means, const char *purpose)
{
    struct reading *reading = &decoding->readings->items[parameter];
    size_t source = find_source(decoding, parameter, means);
    if (source == PARAMETER_NOT_FOUND) {
        reading_fail(reading, SYMPTOM_SELECTOR,
                     text_format("the map has no other parameter that means %s, %s", means_table[means].name, purpose));
        return NULL;
    }
    const char *name = decoding->map->parameters[source].name;
    if (decoding->progress[source] == UNDER_WAY) {
        reading_fail(reading, SYMPTOM_SELECTOR, text_format("%s, %s, depends on this one: a circle", name, purpose));
        return NULL;
    }
    decode_reading(decoding, source);
    const struct reading *drawn = &decoding->readings->items[source];
    if (drawn->value.kind == VALUE_NOTHING) {
        reading_fail(reading, SYMPTOM_SELECTOR,
                     text_format("%s %s, %s", name, drawn->raw_count == 0 ? "is not read" : "has no value", purpose));
        return NULL;
    }
    return drawn;
}

static void decode_same_as(struct decoding *decoding, size_t parameter, enum means means)
{
    struct reading *reading = &decoding->readings->items[parameter];
    const struct reading *source = draw_on(decoding, parameter, means, "whose value this takes");
    if (source == NULL)
        return;
    reading->value = value_copy(&source->value);
    reading->unit = source->unit;
    reading->step = source->step;
    reading_remark(reading, text_format("the same as %s", means_table[means].name));
}

static void set_word(struct reading *reading, const char *word)
{
    reading->value.kind = VALUE_WORD;
    reading->value.text = text_copy(word);
}

static void set_number(struct reading *reading, double number, enum unit unit, double step)
{
    reading->value.kind = VALUE_NUMBER;
    reading->value.number = number;
    reading->unit = unit;
    reading->step = step;
}

/* The row that a selector chooses; NULL, and the reading failed, where it is not read or lists no such value. */
static const struct choice_row *selected_row(struct decoding *decoding, size_t parameter,
                                             const struct selector *selector, const char *decides)
{
    struct reading *reading = &decoding->readings->items[parameter];
    const char *name = decoding->map->parameters[selector->parameter].name;
    uint32_t raw = 0;
    if (!selector_raw(decoding->map, decoding->readings, selector->parameter, &raw)) {
        reading_fail(reading, SYMPTOM_SELECTOR,
                     text_format("%s %s, which decides %s", name,
                                 selector_trouble(decoding->readings, selector->parameter), decides));
        return NULL;
    }
    for (size_t i = 0; i < selector->count; i++)
        if (selector->rows[i].raw == raw)
            return &selector->rows[i];
    char *what = selector_text(decoding->map, decoding->readings, selector->parameter);
    reading_fail(reading, SYMPTOM_SELECTOR, text_format("%s, for which the map lists no %s", what, decides));
    free(what);
    return NULL;
}

/* A percentage's base: number, unit and step for showing. */
struct base {
    double number;
    enum unit unit;
    double step;
};

static bool base_from_sheet(const struct decoding *decoding, size_t parameter, struct base *base)
{
    enum means means = decoding->map->parameters[parameter].percent_of;
    const struct setpoint *setpoint = decoding->setpoints == NULL ? NULL : setpoints_find(decoding->setpoints, means);
    if (setpoint == NULL || setpoint->kind != SETPOINT_RANGE || !isfinite(setpoint->nominal)) {
        reading_fail(&decoding->readings->items[parameter], SYMPTOM_SELECTOR,
                     text_format("the sheet does not give %s, of which this is a percentage", means_table[means].name));
        return false;
    }
    enum unit unit = setpoint->unit;
    if (unit_dimension(unit) != means_table[means].dimension)
        unit = dimension_unit(means_table[means].dimension);
    *base = (struct base){unit_from_base(setpoint->nominal, unit), unit, 0};
    return true;
}

static bool base_from_register(struct decoding *decoding, size_t parameter, struct base *base)
{
    struct reading *reading = &decoding->readings->items[parameter];
    enum means means = decoding->map->parameters[parameter].percent_of;
    const struct reading *source = draw_on(decoding, parameter, means, "of which this is a percentage");
    if (source == NULL)
        return false;
    if (source->value.kind != VALUE_NUMBER) {
        reading_fail(reading, SYMPTOM_SELECTOR,
                     text_format("%s, of which this is a percentage, is no number", means_table[means].name));
        return false;
    }
    *base = (struct base){source->value.number, source->unit, source->step};
    return true;
}

/* Turns a share that has been decoded into what it is of the base. */
static void decode_percent(struct decoding *decoding, size_t parameter, double share, enum unit unit, double step)
{
    struct reading *reading = &decoding->readings->items[parameter];
    struct base base;
    bool known = decoding->map->parameters[parameter].base == BASE_SHEET
                     ? base_from_sheet(decoding, parameter, &base)
                     : base_from_register(decoding, parameter, &base);
    if (!known)
        return;
    double whole = unit == UNIT_PER_UNIT ? 1 : 100;
    set_number(reading, share * base.number / whole, base.unit, step * fabs(base.number) / whole);
    char share_text[NUMBER_SIZE], base_text[NUMBER_SIZE];
    reading_remark(reading, text_format("%s %s of %s %s", number_format(share, step, share_text, sizeof share_text),
                                        unit_name(unit == UNIT_PER_UNIT ? unit : UNIT_PERCENT),
                                        number_format(base.number, base.step, base_text, sizeof base_text),
                                        unit_name(base.unit)));
}

static void fail_no_number(struct reading *reading, uint32_t raw)
{
    reading_fail(reading, SYMPTOM_NOT_A_NUMBER, text_format("the drive sent 0x%08x, which is no number", raw));
}

static void decode_number(struct decoding *decoding, size_t parameter, uint32_t raw)
{
    const struct parameter *row = &decoding->map->parameters[parameter];
    struct reading *reading = &decoding->readings->items[parameter];
    enum unit unit = row->unit;
    double scale = row->scale;
    const struct choice_row *chosen = NULL;
    if (row->unit_by.given) {
        if ((chosen = selected_row(decoding, parameter, &row->unit_by, "unit")) == NULL)
            return;
        unit = chosen->unit;
    }
    if (row->scale_by.given) {
        if ((chosen = selected_row(decoding, parameter, &row->scale_by, "scale")) == NULL)
            return;
        scale = chosen->scale;
    }
    if (row->ramp_span.given && row->ramp_span.by.given &&
        selected_row(decoding, parameter, &row->ramp_span.by, "ramp span") == NULL)
        return;
    double number = 0;
    if (!codec_number(row->type, raw, scale, row->offset, &number)) {
        fail_no_number(reading, raw);
        return;
    }
    double step = codec_step(row->type, raw, scale);
    if (row->is_percent)
        decode_percent(decoding, parameter, number, unit, step);
    else
        set_number(reading, number, unit, step);
}

static bool raws_contain(const struct raw_list *list, uint32_t raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i] == raw)
            return true;
    return false;
}

static void decode_choice(const struct parameter *row, struct reading *reading, uint32_t raw)
{
    const struct named_raw *choice = codec_find(&row->choices, raw);
    double number = 0;
    if (choice != NULL && choice->word != NULL)
        set_word(reading, choice->word);
    else if (codec_number(row->type, raw, 1, 0, &number))
        set_number(reading, number, row->unit, 1);
    else
        fail_no_number(reading, raw);
}

static void decode_raw(struct decoding *decoding, size_t parameter, uint32_t raw)
{
    const struct parameter *row = &decoding->map->parameters[parameter];
    struct reading *reading = &decoding->readings->items[parameter];
    const struct named_raw *special = codec_find(&row->special, raw);
    if (special != NULL && special->word != NULL) {
        set_word(reading, special->word);
    } else if (special != NULL) {
        decode_same_as(decoding, parameter, special->same_as);
    } else if (raws_contain(&row->no_value, raw)) {
        reading_fail(reading, SYMPTOM_NOT_A_NUMBER,
                     text_format("the drive sent 0x%0*x, which stands for no value", row->words == 2 ? 8 : 4, raw));
    } else if (row->type == TYPE_BITS) {
        reading->value.kind = VALUE_BITS;
        codec_bits(&row->bits, raw, &reading->value.words);
    } else if (row->choices.count > 0) {
        decode_choice(row, reading, raw);
    } else if (row->type == TYPE_BOOL) {
        reading->value.kind = VALUE_BOOL;
        reading->value.truth = raw != 0;
    } else {
        decode_number(decoding, parameter, raw);
    }
}

static void decode_reading(struct decoding *decoding, size_t parameter)
{
    if (decoding->progress[parameter] != NOT_BEGUN)
        return;
    decoding->progress[parameter] = UNDER_WAY;
    struct reading *reading = &decoding->readings->items[parameter];
    uint32_t raw = 0;
    if (reading->raw_count > 0 && reading->symptom.kind == SYMPTOM_NONE) {
        if (decoding->map->parameters[parameter].type == TYPE_TEXT) {
            reading->value.kind = VALUE_TEXT;
            reading->value.text = codec_text(reading->raw, reading->raw_count);
        } else if (reading_raw(decoding->map, decoding->readings, parameter, &raw)) {
            decode_raw(decoding, parameter, raw);
        }
    }
    decoding->progress[parameter] = DONE;
}

/* The symptoms that decoding gives, to readings that have words. */
static bool is_decoded_symptom(enum symptom_kind kind)
{
    return kind == SYMPTOM_NOT_A_NUMBER || kind == SYMPTOM_SELECTOR || kind == SYMPTOM_LOCKED;
}

void readings_decode(const struct map *map, const struct setpoints *setpoints, struct readings *readings)
{
    struct decoding decoding = {.map = map,
                                .setpoints = setpoints,
                                .readings = readings,
                                .progress = memory_new(map->count, sizeof *decoding.progress)};
    readings_forget_values(readings);
    for (size_t i = 0; i < map->count; i++) {
        struct reading *reading = &readings->items[i];
        if (reading->raw_count > 0 && is_decoded_symptom(reading->symptom.kind))
            reading->symptom = (struct symptom){0};
    }
    for (size_t i = 0; i < map->count; i++)
        reading_force(map, readings, i);
    for (size_t i = 0; i < map->count; i++)
        decode_reading(&decoding, i);
    free(decoding.progress);
}
