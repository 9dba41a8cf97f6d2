/* SPDX-License-Identifier: MIT */
/* Do the units of a map suit what its parameters mean? */
#include "files/map_reader.h"
#include "motor/quantity.h"

static bool holds_number(enum value_type type)
{
    return type != TYPE_BITS && type != TYPE_TEXT && type != TYPE_BOOL;
}

/* A means that is a quantity, and a parameter that has no unit at all. */
static void check_unit_missing(const struct map_reader *reader, size_t index)
{
    const struct parameter *parameter = &reader->map->parameters[index];
    const struct means_row *row = &means_table[parameter->means];
    if (row->dimension == DIMENSION_NONE || parameter->choices.count > 0)
        return;
    if (!holds_number(parameter->type))
        faults_error(reader->faults, map_place(reader, index, "means"),
                     "means: %s is %s, which bits, bool and text cannot hold; expected a type with numbers", row->name,
                     dimension_name(row->dimension));
    else
        faults_error(reader->faults, map_place(reader, index, "means"),
                     "means: %s is %s, but %s has no unit; expected one such as unit: %s", row->name,
                     dimension_name(row->dimension), parameter->name, unit_name(dimension_unit(row->dimension)));
}

static void check_unit(const struct map_reader *reader, size_t index, const char *key, enum unit unit)
{
    const struct parameter *parameter = &reader->map->parameters[index];
    const struct means_row *row = &means_table[parameter->means];
    if (map_unit_suits(parameter->means, unit, parameter->is_percent))
        return;
    if (row->dimension == DIMENSION_NONE)
        faults_error(reader->faults, map_place(reader, index, key), "%s: %s has no unit; expected none instead of %s",
                     key, row->name, unit_name(unit));
    else
        faults_error(reader->faults, map_place(reader, index, key),
                     "%s: %s is %s; expected one such as %s instead of "
                     "%s%s",
                     key, row->name, dimension_name(row->dimension), unit_name(dimension_unit(row->dimension)),
                     unit_name(unit),
                     unit_dimension(unit) == DIMENSION_RATIO ? ", or percent_of to say of what it is a share" : "");
}

static void check_percent(const struct map_reader *reader, size_t index)
{
    const struct parameter *parameter = &reader->map->parameters[index];
    const struct means_row *base = &means_table[parameter->percent_of];
    const struct means_row *row = &means_table[parameter->means];
    if (!parameter->is_percent)
        return;
    if (map_dimension(parameter) != DIMENSION_RATIO)
        faults_error(reader->faults, map_place(reader, index, parameter->unit_by.given ? "unit_by" : "unit"),
                     "percent_of needs a share; expected unit %%, or no unit");
    bool suits =
        row->dimension == DIMENSION_RATIO || map_unit_suits(parameter->means, dimension_unit(base->dimension), false);
    if (!suits)
        faults_error(reader->faults, map_place(reader, index, "percent_of"),
                     "percent_of: %s is %s, but %s is %s; expected the same kind", base->name,
                     dimension_name(base->dimension), row->name,
                     row->dimension == DIMENSION_NONE ? "none" : dimension_name(row->dimension));
    bool is_read = map_find_means(reader->map, parameter->percent_of, parameter->set) != PARAMETER_NOT_FOUND;
    if (parameter->base == BASE_REGISTER && !is_read)
        faults_error(
            reader->faults, map_place(reader, index, "percent_of"),
            "percent_of: no parameter means %s, so the drive's own base cannot be read; expected one, or base: "
            "sheet",
            base->name);
}

void map_check_units(const struct map_reader *reader)
{
    for (size_t i = 0; i < reader->map->count; i++) {
        const struct parameter *parameter = &reader->map->parameters[i];
        if (!reader->sources[i].sound)
            continue;
        if (parameter->unit_by.given)
            for (size_t row = 0; row < parameter->unit_by.count; row++)
                check_unit(reader, i, "unit_by", parameter->unit_by.rows[row].unit);
        else if (parameter->unit == UNIT_NONE)
            check_unit_missing(reader, i);
        else
            check_unit(reader, i, "unit", parameter->unit);
        check_percent(reader, i);
    }
}
