/* SPDX-License-Identifier: MIT */
/* Means by name, and which units suit them. */
#include "files/map_reader.h"
#include "files/suggest.h"
#include "motor/quantity.h"

#include <string.h>

bool map_means(struct faults *faults, struct place place, const char *what, const char *name, enum means *means)
{
    struct suggestion near = {0};
    for (unsigned i = MEANS_NONE + 1; i < MEANS_COUNT; i++) {
        if (strcmp(means_table[i].name, name) == 0) {
            *means = (enum means)i;
            return true;
        }
    }
    for (unsigned i = MEANS_NONE + 1; i < MEANS_COUNT; i++)
        suggestion_offer(&near, means_table[i].name);
    const char *best = suggestion_take(&near, name);
    if (best != NULL)
        faults_error(faults, place, "%s: unknown means \"%s\"; did you mean \"%s\"", what, excerpt(name).text, best);
    else
        faults_error(faults, place, "%s: unknown means \"%s\"; expected one such as motor.rated_current", what,
                     excerpt(name).text);
    return false;
}

bool map_field_means(const struct section *section, const struct field *field, const struct node *value)
{
    const char *text = scalar_text(section->faults, value, field->key, "a means such as motor.rated_current");
    return text != NULL && map_means(section->faults, value->place, field->key, text, field_target(section, field));
}

/* Dimensions that drives use besides the usual one. Common practice, no source. */
struct further_dimension {
    enum means means;
    enum dimension dimension;
};

static const struct further_dimension further_dimensions[] = {
    {MEANS_MOTOR_RATED_SLIP, DIMENSION_SPEED},
    {MEANS_MOTOR_RATED_SLIP, DIMENSION_RATIO},
    {MEANS_MOTOR_OVERLOAD_CURVE, DIMENSION_TIME},
    {MEANS_OUTPUT_VOLTAGE_BOOST, DIMENSION_VOLTAGE},
    {MEANS_RAMP_ACCELERATION_TIME, DIMENSION_RATE},
    {MEANS_RAMP_ACCELERATION_TIME, DIMENSION_INVERSE_RATE},
    {MEANS_RAMP_ACCELERATION_TIME, DIMENSION_SPEED_RATE},
    {MEANS_RAMP_DECELERATION_TIME, DIMENSION_RATE},
    {MEANS_RAMP_DECELERATION_TIME, DIMENSION_INVERSE_RATE},
    {MEANS_RAMP_DECELERATION_TIME, DIMENSION_SPEED_RATE},
    {MEANS_RAMP_SHAPE_TIME, DIMENSION_RATIO},
    {MEANS_RAMP_STRETCH, DIMENSION_RATIO},
    {MEANS_LIVE_TORQUE, DIMENSION_TORQUE},
    {MEANS_ANALOG_LOW_SIGNAL, DIMENSION_VOLTAGE},
    {MEANS_ANALOG_LOW_SIGNAL, DIMENSION_CURRENT},
    {MEANS_ANALOG_LOW_SIGNAL, DIMENSION_RATIO},
    {MEANS_ANALOG_HIGH_SIGNAL, DIMENSION_VOLTAGE},
    {MEANS_ANALOG_HIGH_SIGNAL, DIMENSION_CURRENT},
    {MEANS_ANALOG_HIGH_SIGNAL, DIMENSION_RATIO},
    {MEANS_PROTECT_EARTH_FAULT, DIMENSION_CURRENT},
    {MEANS_PROTECT_EARTH_FAULT, DIMENSION_RATIO},
    {MEANS_PROTECT_UNDERLOAD, DIMENSION_CURRENT},
    {MEANS_PROTECT_UNDERLOAD, DIMENSION_RATIO},
    {MEANS_PROTECT_UNDERLOAD, DIMENSION_TORQUE},
    {MEANS_PROTECT_UNDERLOAD, DIMENSION_POWER},
    {MEANS_RESTART_AFTER_POWER_RETURN, DIMENSION_TIME},
};

bool map_unit_suits(enum means means, enum unit unit, bool is_percent)
{
    enum dimension dimension = unit_dimension(unit);
    if (means == MEANS_NONE || dimension == means_table[means].dimension)
        return true;
    if (is_percent && dimension == DIMENSION_RATIO)
        return true;
    for (size_t i = 0; i < sizeof further_dimensions / sizeof *further_dimensions; i++)
        if (further_dimensions[i].means == means && further_dimensions[i].dimension == dimension)
            return true;
    return false;
}
