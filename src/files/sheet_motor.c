/* SPDX-License-Identifier: MIT */
/* The `motor` of a sheet: the nameplate, whose columns are put side by side. */
#include "files/plate.h"
#include "files/sheet_reader.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* What a plate stamps once a column, as rows of this order. */
enum { PLATE_VOLTAGE, PLATE_CURRENT, PLATE_POWER, PLATE_SPEED, PLATE_FREQUENCY, PLATE_KEYS };

/* The target of the motor's section. */
struct motor_reading {
    struct motor motor;
    const struct node *plate[PLATE_KEYS]; /* what is put into columns once all of it is there */
    const struct node *connected_for;
    struct quantity efficiency, power_factor;
};

struct plate_key {
    const char *key;
    enum dimension dimension;
    size_t offset; /* in struct plate_column */
};

static const struct plate_key plate_keys[PLATE_KEYS] = {
    [PLATE_VOLTAGE] = {"rated_voltage", DIMENSION_VOLTAGE, offsetof(struct plate_column, voltage_low)},
    [PLATE_CURRENT] = {"rated_current", DIMENSION_CURRENT, offsetof(struct plate_column, current)},
    [PLATE_POWER] = {"rated_power", DIMENSION_POWER, offsetof(struct plate_column, power)},
    [PLATE_SPEED] = {"rated_speed", DIMENSION_SPEED, offsetof(struct plate_column, speed)},
    [PLATE_FREQUENCY] = {"rated_frequency", DIMENSION_FREQUENCY, offsetof(struct plate_column, frequency)},
};

static bool keep_node(const struct section *section, const struct field *field, const struct node *value)
{
    *(const struct node **)field_target(section, field) = value;
    return true;
}

/* A factor is a bare number; as a share it has its unit. */
static bool read_factor(const struct section *section, const struct field *field, const struct node *value)
{
    struct field as_written = *field;
    bool has_unit = value->kind == NODE_SCALAR && strpbrk(value->text, " %") != NULL;
    as_written.dimension = has_unit ? DIMENSION_RATIO : DIMENSION_NONE;
    return field_quantity(section, &as_written, value);
}

static const struct word connection_words[] = {
    {"star", CONNECTION_STAR}, {"wye", CONNECTION_STAR}, {"delta", CONNECTION_DELTA}, {NULL, 0}};

static bool read_voltage(const struct section *section, const struct field *field, const struct node *value)
{
    struct plate_values values;
    struct plate_column *column = section->target;
    if (!plate_values(section->faults, value, field->key, DIMENSION_VOLTAGE, &values))
        return false;
    if (values.count != 1) {
        faults_error(section->faults, value->place, "%s: \"%s\" has %zu values; expected one a column", field->key,
                     excerpt(value->text).text, values.count);
        return false;
    }
    column->voltage_low = values.items[0].low;
    column->voltage_high = values.items[0].high;
    return true;
}

#define COLUMN(member) offsetof(struct plate_column, member)

static const struct field column_fields[] = {
    {.key = "voltage", .read = read_voltage, .required = true, .expects = "a voltage such as 230 V or 380-420 V"},
    {.key = "connection", .read = field_word, .offset = COLUMN(connection), .words = connection_words},
    {.key = "frequency", .read = field_quantity, .offset = COLUMN(frequency), .dimension = DIMENSION_FREQUENCY},
    {.key = "power", .read = field_quantity, .offset = COLUMN(power), .dimension = DIMENSION_POWER},
    {.key = "current", .read = field_quantity, .offset = COLUMN(current), .dimension = DIMENSION_CURRENT},
    {.key = "speed", .read = field_quantity, .offset = COLUMN(speed), .dimension = DIMENSION_SPEED},
    {.key = "power_factor", .read = field_quantity, .offset = COLUMN(power_factor), .dimension = DIMENSION_RATIO},
    {.key = "efficiency", .read = field_quantity, .offset = COLUMN(efficiency), .dimension = DIMENSION_RATIO},
};

static bool read_columns(const struct section *section, const struct field *field, const struct node *value)
{
    struct motor *motor = field_target(section, field);
    if (!field_holds_some(section, field, value, NODE_LIST))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        motor->columns = memory_grow(motor->columns, motor->column_count, sizeof *motor->columns);
        const struct section row = {.faults = section->faults,
                                    .node = item,
                                    .what = "a column",
                                    .fields = column_fields,
                                    .count = sizeof column_fields / sizeof *column_fields,
                                    .target = &motor->columns[motor->column_count++]};
        fine = section_load(&row) && fine;
    }
    return fine;
}

#define AT(member) offsetof(struct motor_reading, motor.member)

static const struct field run_to_fields[] = {
    {.key = "voltage",
     .read = field_quantity,
     .offset = AT(run_to_voltage),
     .dimension = DIMENSION_VOLTAGE,
     .required = true},
    {.key = "frequency",
     .read = field_quantity,
     .offset = AT(run_to_frequency),
     .dimension = DIMENSION_FREQUENCY,
     .required = true},
};

static bool read_run_to(const struct section *section, const struct field *field, const struct node *value)
{
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = run_to_fields,
                                  .count = sizeof run_to_fields / sizeof *run_to_fields,
                                  .target = section->target};
    return section_load(&inner);
}

static const struct word kind_words[] = {{"induction", MOTOR_INDUCTION},
                                         {"permanent-magnet", MOTOR_PERMANENT_MAGNET},
                                         {"synchronous-reluctance", MOTOR_SYNCHRONOUS_RELUCTANCE},
                                         {"single-phase", MOTOR_SINGLE_PHASE},
                                         {NULL, 0}};
static const struct word cooling_words[] = {{"self", COOLING_SELF}, {"separate", COOLING_SEPARATE}, {NULL, 0}};

#define PLATE(row) (offsetof(struct motor_reading, plate) + (row) * sizeof(const struct node *))

static const struct field motor_fields[] = {
    {.key = "kind", .read = field_word, .offset = AT(kind), .words = kind_words},
    {.key = "rated_power", .read = keep_node, .offset = PLATE(PLATE_POWER), .expects = "a power such as 2 hp"},
    {.key = "rated_voltage",
     .read = keep_node,
     .offset = PLATE(PLATE_VOLTAGE),
     .expects = "a voltage such as 230/460 V"},
    {.key = "rated_current",
     .read = keep_node,
     .offset = PLATE(PLATE_CURRENT),
     .expects = "a current such as 6.0/3.0 A"},
    {.key = "connected_for",
     .read = keep_node,
     .offset = offsetof(struct motor_reading, connected_for),
     .expects = "a voltage, or {voltage: 230 V, frequency: 50 Hz}"},
    {.key = "rated_frequency",
     .read = keep_node,
     .offset = PLATE(PLATE_FREQUENCY),
     .expects = "a frequency such as 60 Hz"},
    {.key = "rated_speed", .read = keep_node, .offset = PLATE(PLATE_SPEED), .expects = "a speed such as 1745 rpm"},
    {.key = "columns",
     .read = read_columns,
     .offset = offsetof(struct motor_reading, motor),
     .expects = "a list such as [{voltage: 230 V, frequency: 50 Hz, current: 10.6 A}]"},
    {.key = "run_to", .read = read_run_to, .expects = "{voltage: 400 V, frequency: 86.6 Hz}"},
    {.key = "service_factor", .read = read_factor, .offset = AT(service_factor), .expects = "a number such as 1.15"},
    {.key = "efficiency",
     .read = field_quantity,
     .offset = offsetof(struct motor_reading, efficiency),
     .dimension = DIMENSION_RATIO},
    {.key = "power_factor",
     .read = field_quantity,
     .offset = offsetof(struct motor_reading, power_factor),
     .dimension = DIMENSION_RATIO},
    {.key = "cooling", .read = field_word, .offset = AT(cooling), .words = cooling_words},
    {.key = "constant_torque_turndown", .read = field_quantity, .offset = AT(constant_torque_turndown)},
    {.key = "inertia", .read = field_quantity, .offset = AT(inertia), .dimension = DIMENSION_INERTIA},
    {.key = "no_load_current", .read = field_quantity, .offset = AT(no_load_current), .dimension = DIMENSION_CURRENT},
    {.key = "temperature_rise",
     .read = field_quantity,
     .offset = AT(temperature_rise),
     .dimension = DIMENSION_TEMPERATURE},
    {.key = "breakdown_torque", .read = field_quantity, .offset = AT(breakdown_torque), .dimension = DIMENSION_RATIO},
    {.key = "highest_speed", .read = field_quantity, .offset = AT(highest_speed), .dimension = DIMENSION_SPEED},
    {.key = "thermistor", .read = field_answer, .offset = AT(thermistor)},
};

/* The values of one plate key, one or as many as the plate has columns. */
static bool read_plate_key(struct faults *faults, const struct motor_reading *reading, unsigned row, size_t columns,
                           struct plate_values *values)
{
    const struct plate_key *key = &plate_keys[row];
    const struct node *value = reading->plate[row];
    if (!plate_values(faults, value, key->key, key->dimension, values))
        return false;
    if (row == PLATE_FREQUENCY && values->count > 1) {
        faults_error(faults, value->place,
                     "%s: \"%s\" has %zu values; expected one, or columns for a plate with several frequencies",
                     key->key, excerpt(value->text).text, values->count);
        return false;
    }
    if (row == PLATE_VOLTAGE || values->count == 1 || values->count == columns)
        return true;
    if (columns == 1)
        faults_error(faults, value->place, "%s: \"%s\" has %zu values, but rated_voltage has not; expected one",
                     key->key, excerpt(value->text).text, values->count);
    else
        faults_error(faults, value->place, "%s: \"%s\" has %zu values, rated_voltage has %zu; expected as many, or one",
                     key->key, excerpt(value->text).text, values->count, columns);
    return false;
}

/* Columns from the simple keys: as many as there are voltages; what stands once is repeated. */
static bool build_columns(struct faults *faults, struct motor_reading *reading)
{
    struct motor *motor = &reading->motor;
    bool fine = true;
    motor->column_count = 1;
    for (unsigned row = PLATE_VOLTAGE; row < PLATE_KEYS; row++) {
        struct plate_values values;
        if (row == PLATE_VOLTAGE)
            motor->columns = memory_new(PLATE_COLUMNS_MOST, sizeof *motor->columns);
        if (reading->plate[row] == NULL)
            continue;
        if (!read_plate_key(faults, reading, row, motor->column_count, &values)) {
            fine = false;
            continue;
        }
        if (row == PLATE_VOLTAGE)
            motor->column_count = values.count;
        for (size_t i = 0; i < motor->column_count; i++) {
            const struct plate_value *value = &values.items[values.count == 1 ? 0 : i];
            *(struct quantity *)((char *)&motor->columns[i] + plate_keys[row].offset) = value->low;
            if (row == PLATE_VOLTAGE)
                motor->columns[i].voltage_high = value->high;
        }
    }
    return fine;
}

static void refuse_beside_columns(struct faults *faults, const struct motor_reading *reading)
{
    for (unsigned row = 0; row < PLATE_KEYS; row++)
        if (reading->plate[row] != NULL)
            faults_error(faults, reading->plate[row]->key_place, "%s stands beside columns; expected it within them",
                         plate_keys[row].key);
}

bool sheet_field_motor(const struct section *section, const struct field *field, const struct node *value)
{
    struct motor_reading reading = {0};
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = motor_fields,
                                  .count = sizeof motor_fields / sizeof *motor_fields,
                                  .target = &reading};
    bool fine = section_load(&inner);
    bool has_columns = value->kind == NODE_MAPPING && node_get(value, "columns") != NULL;
    if (has_columns)
        refuse_beside_columns(section->faults, &reading);
    else
        fine = build_columns(section->faults, &reading) && fine;
    struct motor *motor = &reading.motor;
    for (size_t i = 0; i < motor->column_count; i++) {
        if (!motor->columns[i].efficiency.given)
            motor->columns[i].efficiency = reading.efficiency;
        if (!motor->columns[i].power_factor.given)
            motor->columns[i].power_factor = reading.power_factor;
    }
    if (fine)
        plate_connect(section->faults, value, reading.connected_for, motor);
    motor->given = true;
    *(struct motor *)field_target(section, field) = *motor;
    return fine;
}
