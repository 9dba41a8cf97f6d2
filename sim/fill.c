/* SPDX-License-Identifier: MIT */
/* Filling a simulated drive with defaults and with what its sheet asks for. */
#include "sim/fill.h"

#include "motor/quantity.h"
#include "motor/ramp.h"
#include "sim/live.h"
#include "sim/registers.h"
#include "sim/scaling.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool find_word(const struct named_raws *list, const char *word, uint32_t *raw)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].word != NULL && strcmp(list->items[i].word, word) == 0) {
            *raw = list->items[i].raw;
            return true;
        }
    return false;
}

static void put_text(struct drive *drive, size_t parameter, const char *text)
{
    const size_t count = drive->map->parameters[parameter].words;
    uint16_t *words = memory_new(count, sizeof *words);
    registers_from_text(text, words, count);
    drive_put_words(drive, parameter, words);
    free(words);
}

/* The setpoint's number for a register of choices: the word that is that number, else the raw value itself. */
static bool choice_of_number(const struct parameter *parameter, double number, uint32_t *raw)
{
    for (size_t i = 0; i < parameter->choices.count; i++) {
        double value = 0;
        double rounding = 0;
        if (number_parse(parameter->choices.items[i].word, false, &value, &rounding, NULL) && value == number) {
            *raw = parameter->choices.items[i].raw;
            return true;
        }
    }
    return registers_nearest_raw(parameter, number, raw);
}

bool fill_default_raw(const struct drive *drive, size_t parameter, uint32_t *raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (row->type == TYPE_TEXT)
        return false;
    if (row->default_word != NULL)
        return find_word(&row->choices, row->default_word, raw) || find_word(&row->special, row->default_word, raw);
    if (!row->default_value.given)
        return false;
    if (row->choices.count > 0 || row->type == TYPE_BOOL || row->type == TYPE_BITS)
        return registers_nearest_raw(row, row->default_value.value, raw);
    return scaling_raw_of_quantity(drive, parameter, &row->default_value, raw);
}

static bool is_number_of_drive(enum means means)
{
    return means == MEANS_DRIVE_SERIAL_NUMBER || means == MEANS_DRIVE_FIRMWARE;
}

/* Something harmless for a parameter of which nobody says anything. */
static uint32_t sane_raw(const struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    uint32_t raw = 0;
    if (row->choices.count > 0) {
        for (size_t i = 0; i < row->choices.count; i++)
            if (row->choices.items[i].raw == 0)
                return 0;
        return row->choices.items[0].raw;
    }
    if (is_number_of_drive(row->means))
        (void)scaling_raw_of_number(drive, parameter, 1, &raw);
    else if (row->accepts_low.kind == BOUND_VALUE && quantity_base(&row->accepts_low.value) > 0)
        (void)scaling_raw_of_quantity(drive, parameter, &row->accepts_low.value, &raw);
    return raw;
}

static const char *sane_text(const struct parameter *parameter)
{
    if (parameter->means == MEANS_DRIVE_SERIAL_NUMBER)
        return "SIM-0001";
    return parameter->means == MEANS_DRIVE_FIRMWARE ? "1.0" : "";
}

static const struct identity *identity_of(const struct map *map, size_t parameter)
{
    for (size_t i = 0; i < map->identity_count; i++)
        if (map->identity[i].parameter == parameter)
            return &map->identity[i];
    return NULL;
}

static void fill_one(struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const struct identity *identity = identity_of(drive->map, parameter);
    uint32_t raw = 0;
    if (row->type == TYPE_TEXT) {
        const char *text = row->default_word != NULL ? row->default_word : sane_text(row);
        put_text(drive, parameter, identity != NULL ? identity->text : text);
        return;
    }
    if (identity != NULL)
        raw = identity->raw;
    else if (!fill_default_raw(drive, parameter, &raw))
        raw = sane_raw(drive, parameter);
    drive_put_raw(drive, parameter, raw);
}

/* Units, scales and bases that other parameters select settle after as many rounds as selectors follow each other. */
static void fill_settled(struct drive *drive, void (*fill)(struct drive *drive, size_t parameter))
{
    enum { ROUNDS = 8 };
    for (int round = 0; round < ROUNDS; round++) {
        /* Where two share a register, the one in force has the last word. */
        for (int in_force = 0; in_force <= 1; in_force++)
            for (size_t i = 0; i < drive->map->count; i++)
                if (!drive->pinned[i] && drive_is_in_force(drive, i) == (in_force == 1))
                    fill(drive, i);
    }
}

void fill_factory(struct drive *drive)
{
    fill_settled(drive, fill_one);
}

static bool is_setting(const struct parameter *parameter)
{
    return parameter->settable != SETTABLE_NEVER && parameter->kind != KIND_COMMAND;
}

static void fill_setting(struct drive *drive, size_t parameter)
{
    if (is_setting(&drive->map->parameters[parameter]))
        fill_one(drive, parameter);
}

void fill_settable(struct drive *drive)
{
    for (size_t i = 0; i < drive->map->count; i++)
        if (is_setting(&drive->map->parameters[i]))
            drive->pinned[i] = false;
    fill_settled(drive, fill_setting);
}

/* The ramp as the register counts it, in the register's unit. Spans are the sheet's, as the client has them. */
static double ramp_number(const struct drive *drive, size_t parameter, const struct setpoint *setpoint, double time_s)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const struct ramp_span *span = &row->ramp_span;
    const struct derived *derived = &drive->setpoints.derived;
    double span_hz = setpoint->ramp_to_hz - setpoint->ramp_from_hz;
    if (row->ramp_kind == RAMP_TIME && span->given) {
        const uint32_t raw = span->by.given ? drive_raw(drive, span->by.parameter) : 0;
        span_hz = ramp_span_hz(span, &drive->setpoints, span->by.given, raw);
    }
    const double number = ramp_register_value(row->ramp_kind, time_s, setpoint->ramp_from_hz, setpoint->ramp_to_hz,
                                              span_hz, derived->synchronous_speed_rpm / derived->rated_frequency_hz);
    return unit_from_base(number, scaling_unit(drive, parameter));
}

/* What is asked for; where only bounds are, their middle, or the one that is given. */
static double right_number(const struct setpoint *setpoint)
{
    if (isfinite(setpoint->nominal))
        return setpoint->nominal;
    if (isfinite(setpoint->low) && isfinite(setpoint->high))
        return (setpoint->low + setpoint->high) / 2;
    return isfinite(setpoint->low) ? setpoint->low : setpoint->high;
}

/* Slip comes in Hz; a register may want it as a speed or as a share of synchronous speed. */
static double in_dimension(const struct drive *drive, double value, enum dimension from, enum dimension to)
{
    const struct derived *derived = &drive->setpoints.derived;
    if (from == DIMENSION_FREQUENCY && to == DIMENSION_SPEED)
        return value * derived->synchronous_speed_rpm / derived->rated_frequency_hz;
    if (from == DIMENSION_FREQUENCY && to == DIMENSION_RATIO)
        return value / derived->rated_frequency_hz;
    return value;
}

static bool raw_of_range(const struct drive *drive, size_t parameter, const struct setpoint *setpoint, uint32_t *raw)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const double number = right_number(setpoint);
    if (row->choices.count > 0)
        return choice_of_number(row, number, raw);
    if (setpoint->means == MEANS_RAMP_ACCELERATION_TIME || setpoint->means == MEANS_RAMP_DECELERATION_TIME)
        return scaling_raw_of_number(drive, parameter, ramp_number(drive, parameter, setpoint, number), raw);
    if (setpoint->means == MEANS_NONE) {
        const struct quantity quantity = {.given = true, .value = number, .unit = setpoint->unit};
        return scaling_raw_of_quantity(drive, parameter, &quantity, raw);
    }
    const enum dimension from = means_table[setpoint->means].dimension;
    if (!row->is_percent)
        return scaling_raw_of_value(drive, parameter,
                                    in_dimension(drive, number, from, scaling_dimension(drive, parameter)), raw);
    return scaling_raw_of_value(drive, parameter, number, raw);
}

static bool raw_of_word(const struct parameter *parameter, const char *word, uint32_t *raw)
{
    if (find_word(&parameter->choices, word, raw) || find_word(&parameter->special, word, raw))
        return true;
    if (parameter->type != TYPE_BOOL)
        return false;
    *raw = strcmp(word, "true") == 0 || strcmp(word, "yes") == 0 || strcmp(word, "on") == 0;
    return true;
}

/* A serial number or firmware that the sheet has as a text, for a register that holds a number. */
static bool raw_of_digits(const struct drive *drive, size_t parameter, const char *text, uint32_t *raw)
{
    double number = 0;
    double rounding = 0;
    return text != NULL && number_parse(text, false, &number, &rounding, NULL) &&
           scaling_raw_of_number(drive, parameter, number, raw);
}

/* What the sheet says of drive, supply and motor, where no setpoint does. */
static bool raw_of_nameplate(const struct drive *drive, size_t parameter, uint32_t *raw)
{
    const struct sheet *sheet = drive->sheet;
    const struct quantity *quantity = NULL;
    struct motor_data motor;
    switch ((int)drive->map->parameters[parameter].means) {
    case MEANS_DRIVE_RATED_CURRENT:
        quantity = &sheet->drive.rated_current;
        break;
    case MEANS_SUPPLY_VOLTAGE:
        quantity = &sheet->supply.voltage;
        break;
    case MEANS_DRIVE_RATED_POWER:
        return scaling_raw_of_value(drive, parameter, drive->setpoints.derived.rated_power_w, raw);
    case MEANS_SUPPLY_PHASES:
        return sheet->supply.phases > 0 && scaling_raw_of_number(drive, parameter, sheet->supply.phases, raw);
    case MEANS_DRIVE_SERIAL_NUMBER:
        return raw_of_digits(drive, parameter, sheet->drive.serial_number, raw);
    case MEANS_DRIVE_FIRMWARE:
        return raw_of_digits(drive, parameter, sheet->drive.firmware, raw);
    case MEANS_MOTOR_NO_LOAD_CURRENT: /* a tuning run has found it */
        motor = live_motor(drive);
        return sheet->motor.given && scaling_raw_of_value(drive, parameter, motor_no_load_a(&motor), raw);
    default:
        break;
    }
    return quantity != NULL && quantity->given && scaling_raw_of_quantity(drive, parameter, quantity, raw);
}

static void fill_right_text(struct drive *drive, size_t parameter, const struct setpoint *setpoint)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    const struct sheet_drive *sheet = &drive->sheet->drive;
    const char *text = setpoint != NULL && setpoint->kind == SETPOINT_WORD ? setpoint->word : NULL;
    if (text == NULL && row->means == MEANS_DRIVE_SERIAL_NUMBER)
        text = sheet->serial_number;
    if (text == NULL && row->means == MEANS_DRIVE_FIRMWARE)
        text = sheet->firmware;
    if (text != NULL)
        put_text(drive, parameter, text);
}

static void fill_right_one(struct drive *drive, size_t parameter)
{
    const struct parameter *row = &drive->map->parameters[parameter];
    if (parameter_is_live(row) || identity_of(drive->map, parameter) != NULL)
        return;
    const struct setpoint *setpoint = setpoints_find_parameter(&drive->setpoints, row->name);
    if (setpoint == NULL)
        setpoint = setpoints_find(&drive->setpoints, row->means);
    if (row->type == TYPE_TEXT) {
        fill_right_text(drive, parameter, setpoint);
        return;
    }
    uint32_t raw = 0;
    bool known = false;
    if (setpoint != NULL && setpoint->kind == SETPOINT_RANGE && setpoint->source != SOURCE_ESTIMATE)
        known = raw_of_range(drive, parameter, setpoint, &raw);
    else if (setpoint != NULL && setpoint->kind == SETPOINT_WORD)
        known = raw_of_word(row, setpoint->word, &raw);
    if (!known)
        known = raw_of_nameplate(drive, parameter, &raw);
    /* A default in another unit follows the selector, too. */
    if (!known)
        known = fill_default_raw(drive, parameter, &raw);
    if (known)
        drive_put_raw(drive, parameter, raw);
}

/* The first raw value, by preference one of its choices, that is not in the list. */
static uint32_t value_outside(const struct parameter *parameter, const struct raw_list *list)
{
    for (size_t i = 0; i < parameter->choices.count; i++)
        if (!raw_listed(list, parameter->choices.items[i].raw))
            return parameter->choices.items[i].raw;
    uint32_t raw = 0;
    while (raw_listed(list, raw))
        raw++;
    return raw;
}

/* A commissioned drive shows what it holds: the technician has raised its access level. */
static void unlock(struct drive *drive)
{
    for (size_t i = 0; i < drive->map->count; i++) {
        const struct conditions *locks = &drive->map->parameters[i].locked_by;
        for (size_t j = 0; j < locks->count; j++) {
            const struct condition *lock = &locks->items[j];
            if (!drive->pinned[lock->parameter] && raw_listed(&lock->raws, drive_raw(drive, lock->parameter)))
                drive_put_raw(drive, lock->parameter,
                              value_outside(&drive->map->parameters[lock->parameter], &lock->raws));
        }
    }
}

void fill_right(struct drive *drive)
{
    fill_settled(drive, fill_right_one);
    const struct network_watchdog *watchdog = &drive->map->network_watchdog;
    if (watchdog->given && !drive->pinned[watchdog->parameter])
        drive_put_raw(drive, watchdog->parameter, watchdog->off);
    unlock(drive);
}
