/* SPDX-License-Identifier: MIT */
/* What the keys of a parameter say together: types, ramps, sets, what may be written, and what proves a standstill. */
#include "files/map_reader.h"
#include "motor/quantity.h"

#include <string.h>

static bool says(const struct map_reader *reader, size_t index, const char *key)
{
    return node_get(reader->sources[index].node, key) != NULL;
}

static bool is_number(enum value_type type)
{
    switch (type) {
    case TYPE_U16:
    case TYPE_S16:
    case TYPE_U32:
    case TYPE_S32:
    case TYPE_F32:
        return true;
    case TYPE_BITS:
    case TYPE_TEXT:
    case TYPE_BOOL:
        return false;
    }
    return false;
}

/* Keys that make sense with some types only. */
static void check_type(const struct map_reader *reader, size_t index)
{
    static const char *const number_keys[] = {"scale",    "offset",  "unit",       "unit_by",
                                              "scale_by", "special", "percent_of", "accepts"};
    const struct parameter *parameter = &reader->map->parameters[index];
    if (!is_number(parameter->type))
        for (size_t i = 0; i < sizeof number_keys / sizeof *number_keys; i++)
            if (says(reader, index, number_keys[i]))
                faults_error(reader->faults, map_place(reader, index, number_keys[i]),
                             "%s needs a number; expected it with u16, s16, u32, s32 or f32 only", number_keys[i]);
    if (parameter->choices.count > 0 &&
        (parameter->type == TYPE_F32 || parameter->type == TYPE_BITS || parameter->type == TYPE_TEXT))
        faults_error(reader->faults, map_place(reader, index, "choices"),
                     "choices need a whole number; expected them with u16, s16, u32, s32 or bool only");
    if (parameter->bits.count > 0 && parameter->type != TYPE_BITS)
        faults_error(reader->faults, map_place(reader, index, "bits"), "bits have no meaning here; expected type bits");
    if (parameter->bits.count == 0 && parameter->type == TYPE_BITS)
        faults_error(reader->faults, map_place(reader, index, "type"),
                     "type bits needs the key bits; expected bit numbers and their names, such as {0: running}");
    if (parameter->no_value.count > 0 && parameter->type == TYPE_TEXT)
        faults_error(reader->faults, map_place(reader, index, "no_value"),
                     "no_value has no meaning for text; expected it with numbers");
    if (says(reader, index, "unit") && says(reader, index, "unit_by"))
        faults_error(reader->faults, map_place(reader, index, "unit_by"),
                     "unit and unit_by stand together; expected one of them");
    if (says(reader, index, "scale") && says(reader, index, "scale_by"))
        faults_error(reader->faults, map_place(reader, index, "scale_by"),
                     "scale and scale_by stand together; expected one of them");
}

static void check_settable(const struct map_reader *reader, size_t index)
{
    const struct parameter *parameter = &reader->map->parameters[index];
    if (parameter->settable == SETTABLE_NEVER)
        return;
    bool is_input = parameter->at.table == TABLE_INPUT || parameter->at.table == TABLE_DISCRETE;
    if (is_input && !parameter->write_at_given)
        faults_error(reader->faults, map_place(reader, index, "settable"),
                     "settable: input registers and discrete inputs cannot be written; expected never, or write_at");
    bool in_halves = parameter->words == 2 && reader->map->modbus.longest_write == 1;
    if (in_halves && parameter->write_words == WRITE_TOGETHER)
        faults_warning(reader->faults, map_place(reader, index, "type"),
                       "%s has two registers and longest_write is 1, but nothing says which goes first; it cannot be "
                       "written without write_words: low-first or high-first",
                       parameter->name);
}

/* What may start the shaft by its means, whatever the map says (interface: could_start). */
static bool implies_start(enum means means)
{
    static const enum means starting[] = {MEANS_CONTROL_START_SOURCE, MEANS_CONTROL_FREQUENCY_SOURCE,
                                          MEANS_CONTROL_DIRECTION_LOCK, MEANS_LIMIT_MINIMUM_FREQUENCY};
    for (size_t i = 0; i < sizeof starting / sizeof *starting; i++)
        if (starting[i] == means)
            return true;
    return strncmp(means_table[means].name, "restart.", 8) == 0;
}

/* Fills in what is implied. */
static void resolve(const struct map_reader *reader, size_t index)
{
    struct parameter *parameter = &reader->map->parameters[index];
    if (!says(reader, index, "watch"))
        parameter->watch = parameter->settable != SETTABLE_NEVER && !means_is_live(parameter->means);
    if (!implies_start(parameter->means))
        return;
    if (says(reader, index, "could_start") && !parameter->could_start)
        faults_error(reader->faults, map_place(reader, index, "could_start"),
                     "could_start: writing %s may start the shaft; expected yes, or nothing",
                     means_table[parameter->means].name);
    parameter->could_start = true;
}

static bool ramp_kind_of(enum dimension dimension, enum ramp_kind *kind)
{
    static const struct {
        enum dimension dimension;
        enum ramp_kind kind;
    } kinds[] = {{DIMENSION_TIME, RAMP_TIME},
                 {DIMENSION_RATE, RAMP_RATE},
                 {DIMENSION_INVERSE_RATE, RAMP_INVERSE_RATE},
                 {DIMENSION_SPEED_RATE, RAMP_SPEED_RATE}};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (kinds[i].dimension == dimension) {
            *kind = kinds[i].kind;
            return true;
        }
    return false;
}

static void check_ramp(const struct map_reader *reader, size_t index)
{
    struct parameter *parameter = &reader->map->parameters[index];
    bool is_ramp = parameter->means == MEANS_RAMP_ACCELERATION_TIME || parameter->means == MEANS_RAMP_DECELERATION_TIME;
    bool has_kind = ramp_kind_of(map_dimension(parameter), &parameter->ramp_kind);
    bool is_time = has_kind && parameter->ramp_kind == RAMP_TIME;
    if (parameter->ramp_span.given && !is_time)
        faults_error(reader->faults, map_place(reader, index, "ramp_span"),
                     "ramp_span belongs to a time; expected unit s, ms or min, or no ramp_span with a rate");
    for (size_t i = 1; i < parameter->unit_by.count; i++)
        if (is_ramp && unit_dimension(parameter->unit_by.rows[i].unit) != map_dimension(parameter)) {
            faults_error(reader->faults, map_place(reader, index, "unit_by"),
                         "unit_by mixes times and rates; expected one kind for a ramp");
            break;
        }
    if (is_ramp && is_time && !says(reader, index, "ramp_span"))
        faults_warning(reader->faults, map_place(reader, index, "means"),
                       "%s has no ramp_span, so its ramp is not compared; expected what the time runs over, such as "
                       "limit.maximum_frequency",
                       parameter->name);
}

static void check_company(const struct map_reader *reader, size_t index)
{
    static const char *const live_keys[] = {"obtained", "refreshed_every", "filtered_over"};
    const struct parameter *parameter = &reader->map->parameters[index];
    bool is_overload = parameter->means == MEANS_MOTOR_OVERLOAD_CURRENT;
    if (parameter->overload_is != OVERLOAD_UNSAID && !is_overload)
        faults_error(reader->faults, map_place(reader, index, "overload_is"),
                     "overload_is has no meaning here; expected it with means motor.overload_current");
    if (parameter->overload_is == OVERLOAD_UNSAID && is_overload)
        faults_warning(reader->faults, map_place(reader, index, "means"),
                       "%s does not say what its current is; expected overload_is: reference or trip-current",
                       parameter->name);
    for (size_t i = 0; i < sizeof live_keys / sizeof *live_keys; i++)
        if (parameter->means != MEANS_NONE && !means_is_live(parameter->means) && says(reader, index, live_keys[i]))
            faults_error(reader->faults, map_place(reader, index, live_keys[i]),
                         "%s tells what a live value is worth; expected it with live.* only", live_keys[i]);
    if (says(reader, index, "base") && !says(reader, index, "percent_of"))
        faults_error(reader->faults, map_place(reader, index, "base"),
                     "base has no meaning here; expected percent_of "
                     "beside it");
    if (parameter->set != 0 && !reader->map->set_in_force.given)
        faults_warning(reader->faults, map_place(reader, index, "set"),
                       "set %u has no set_in_force at the top level, so nothing tells whether it counts; expected "
                       "set_in_force: {parameter: NAME}",
                       parameter->set);
}

/* Writing what is settable at standstill needs a proof of it. */
static void check_state(const struct map_reader *reader)
{
    const struct map *map = reader->map;
    size_t settable = 0;
    while (settable < map->count && map->parameters[settable].settable != SETTABLE_STOPPED)
        settable++;
    if (settable == map->count)
        return;
    size_t state = map_find_means(map, MEANS_LIVE_STATE, 0);
    if (state == PARAMETER_NOT_FOUND) {
        faults_warning(reader->faults, map_place(reader, settable, "settable"),
                       "settable stopped: no parameter means live.state, so nothing proves that the motor stands; "
                       "expected one");
        return;
    }
    const struct parameter *parameter = &map->parameters[state];
    if (!reader->sources[state].sound || map_names(&parameter->bits, "stopped") ||
        map_names(&parameter->bits, "running") || map_names(&parameter->choices, "stopped"))
        return;
    faults_warning(reader->faults, map_place(reader, state, "means"),
                   "%s cannot prove that the motor stands, and %s may be set only then; expected a bit or choice named "
                   "stopped, or a bit named running",
                   parameter->name, map->parameters[settable].name);
}

/* One means once, unless sets or conditions tell which one counts. */
static void check_repeated_means(const struct map_reader *reader, size_t index)
{
    const struct parameter *parameters = reader->map->parameters;
    const struct parameter *parameter = &parameters[index];
    for (size_t i = 0; i < index && parameter->means != MEANS_NONE; i++) {
        bool same_set = parameters[i].set == 0 || parameter->set == 0 || parameters[i].set == parameter->set;
        bool depends = parameters[i].applies_when.count > 0 || parameter->applies_when.count > 0;
        if (parameters[i].means != parameter->means || !same_set || depends)
            continue;
        faults_error(reader->faults, map_place(reader, index, "means"),
                     "means: %s means %s already; expected it once, or set or applies_when with both",
                     parameters[i].name, means_table[parameter->means].name);
        return;
    }
}

void map_check(const struct map_reader *reader)
{
    map_check_addresses(reader);
    for (size_t i = 0; i < reader->map->count; i++) {
        if (!reader->sources[i].sound)
            continue;
        check_type(reader, i);
        check_settable(reader, i);
        resolve(reader, i);
        check_ramp(reader, i);
        check_company(reader, i);
        check_repeated_means(reader, i);
    }
    map_check_units(reader);
    map_check_circles(reader);
    check_state(reader);
    if (reader->map->keeps == KEEPS_AFTER_SAVE && !reader->map->save.given)
        faults_warning(reader->faults, section_place(reader->root, "keeps"),
                       "keeps after-save, but save does not say how: what is written would be lost at power-off; "
                       "expected save: {at: holding ..., write: ...}");
}
