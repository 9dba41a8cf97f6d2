/* SPDX-License-Identifier: MIT */
/* Which changes hang on something in the sheet that contradicts itself. Where that cannot be told, all do. */
#include "change/list_parts.h"

#include <string.h>

static bool starts_with(const char *text, const char *start)
{
    return strncmp(text, start, strlen(start)) == 0;
}

static bool in_group(enum means means, const char *group)
{
    return starts_with(means_table[means].name, group);
}

/* One change, with what asks for it. */
struct asked {
    const struct parameter *parameter;
    const struct setpoint *setpoint; /* never NULL */
};

static bool is_ramp(const struct asked *asked)
{
    return in_group(asked->setpoint->means, "ramp.") || in_group(asked->parameter->means, "ramp.");
}

/* The nameplate's figures, what follows from them, percentages (most are of the motor's), and ramps, whose conversion
 * takes rated frequency and poles. A word or plain number that the job asks for stands by itself. */
static bool hangs_on_plate(const struct asked *asked)
{
    const struct setpoint *setpoint = asked->setpoint;
    if (setpoint->source != SOURCE_JOB)
        return true;
    if (setpoint->kind == SETPOINT_WORD)
        return false;
    return asked->parameter->is_percent || is_ramp(asked) || in_group(setpoint->means, "motor.") ||
           in_group(setpoint->means, "output.");
}

/* The drive's own figures: what it can carry, and what its braking can take. */
static bool hangs_on_drive(const struct asked *asked)
{
    enum means means = asked->setpoint->means;
    return hangs_on_plate(asked) || in_group(means, "limit.") || in_group(means, "drive.") ||
           means == MEANS_CONTROL_BRAKING_RESISTOR || means == MEANS_CONTROL_STOP_METHOD;
}

static bool hangs_on_anything(const struct asked *asked)
{
    (void)asked;
    return true;
}

static const struct {
    const char *group;
    bool (*hangs)(const struct asked *asked);
} parts[] = {
    {"sheet.motor", hangs_on_plate}, /* and sheet.motors */
    {"sheet.drive.", hangs_on_drive},
    {"sheet.", hangs_on_anything},
};

static bool is_of_setting(const struct asked *asked, const char *name)
{
    const struct setpoint *setpoint = asked->setpoint;
    return strcmp(asked->parameter->name, name) == 0 || strcmp(means_table[setpoint->means].name, name) == 0 ||
           strcmp(means_table[asked->parameter->means].name, name) == 0;
}

static enum means means_named(const char *name)
{
    for (unsigned i = MEANS_NONE + 1; i < MEANS_COUNT; i++)
        if (strcmp(means_table[i].name, name) == 0)
            return (enum means)i;
    return MEANS_NONE;
}

/* A setting in doubt takes along what is computed with it: one that contradicts the nameplate all that hangs on that,
 * and a frequency limit the ramps. */
static bool hangs_on_setting(const struct setpoints *setpoints, const struct asked *asked, const char *name)
{
    if (is_of_setting(asked, name))
        return true;
    enum means means = means_named(name);
    const struct setpoint *other = setpoints_find(setpoints, means);
    if (means == MEANS_NONE || (other != NULL && other->kind == SETPOINT_WORD))
        return false;
    if (in_group(means, "motor.") || in_group(means, "output.") || in_group(means, "supply."))
        return hangs_on_plate(asked);
    if (asked->parameter->is_percent && asked->parameter->percent_of == means)
        return true;
    return in_group(means, "limit.") && is_ramp(asked);
}

static bool hangs_on(const struct setpoints *setpoints, const struct asked *asked, const char *means)
{
    static const char settings[] = "sheet.settings.";
    if (starts_with(means, settings))
        return hangs_on_setting(setpoints, asked, means + strlen(settings));
    size_t row = 0;
    while (row + 1 < sizeof parts / sizeof *parts && !starts_with(means, parts[row].group))
        row++;
    return parts[row].hangs(asked);
}

void listing_check_sheet(struct listing *listing)
{
    const struct setpoints *setpoints = listing->order->setpoints;
    if (listing->order->record != NULL)
        return; /* a record's values do not come from the sheet */
    for (size_t i = 0; i < listing->list->count; i++) {
        size_t index = listing->list->items[i].parameter;
        struct asked asked = {.parameter = listing_parameter(listing, index)};
        asked.setpoint = setpoints_find_parameter(setpoints, asked.parameter->name);
        if (asked.setpoint == NULL)
            asked.setpoint = setpoints_find(setpoints, asked.parameter->means);
        for (size_t k = 0; k < setpoints->implausible.count; k++) {
            const struct finding *finding = &setpoints->implausible.items[k];
            if (!hangs_on(setpoints, &asked, finding->means == NULL ? "" : finding->means))
                continue;
            listing_refuse(listing, index,
                           text_format("the sheet cannot be right: %s; correct it first",
                                       finding->basis == NULL ? finding->means : finding->basis));
            break;
        }
    }
}
