/* SPDX-License-Identifier: MIT */
/* Reading of what nameplates stamp, and finding of the connected column. */
#include "files/plate.h"

#include "files/fields.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Where the numbers end and the unit begins: at the last space ("1430 1/min"), else behind the digits ("460V"). */
static size_t numbers_length(const char *text)
{
    const char *space = strrchr(text, ' ');
    if (space != NULL && strspn(space + 1, "0123456789./-") != strlen(space + 1))
        return (size_t)(space - text);
    return strspn(text, "0123456789./- ");
}

/* One number of the plate, with the unit that stands behind the last. */
static bool read_number(struct faults *faults, const struct node *value, const char *what, enum dimension dimension,
                        const char *number, size_t length, const char *unit, struct quantity *quantity)
{
    while (length > 0 && *number == ' ') {
        number++;
        length--;
    }
    while (length > 0 && number[length - 1] == ' ')
        length--;
    struct node part = *value;
    part.text = text_format("%.*s%s%s", (int)length, number, *unit == '\0' ? "" : " ", unit);
    bool fine = scalar_quantity(faults, &part, what, dimension, quantity);
    free(part.text);
    if (!fine || quantity->value > 0)
        return fine;
    faults_error(faults, value->place, "%s: \"%s\" is nothing; expected more than 0", what, excerpt(value->text).text);
    return false;
}

static bool read_value(struct faults *faults, const struct node *value, const char *what, enum dimension dimension,
                       const char *text, size_t length, const char *unit, struct plate_value *read)
{
    const char *dash = memchr(text, '-', length);
    if (dash == NULL || dash == text || dimension != DIMENSION_VOLTAGE) {
        bool fine = read_number(faults, value, what, dimension, text, length, unit, &read->low);
        read->high = read->low;
        return fine;
    }
    size_t first = (size_t)(dash - text);
    if (!read_number(faults, value, what, dimension, text, first, unit, &read->low) ||
        !read_number(faults, value, what, dimension, dash + 1, length - first - 1, unit, &read->high))
        return false;
    if (read->low.value < read->high.value)
        return true;
    faults_error(faults, value->place, "%s: \"%s\" is no range; expected the lower voltage first", what,
                 excerpt(value->text).text);
    return false;
}

bool plate_values(struct faults *faults, const struct node *value, const char *what, enum dimension dimension,
                  struct plate_values *values)
{
    *values = (struct plate_values){0};
    const char *text = scalar_text(faults, value, what, "a value as stamped");
    if (text == NULL)
        return false;
    size_t numbers = numbers_length(text);
    const char *unit = text + numbers;
    while (*unit == ' ')
        unit++;
    if (numbers == 0) /* no number at all: the quantity reader says it best */
        return scalar_quantity(faults, value, what, dimension, &values->items[0].low);
    for (size_t at = 0; at <= numbers;) {
        const char *slash = memchr(text + at, '/', numbers - at);
        size_t length = slash == NULL ? numbers - at : (size_t)(slash - text) - at;
        if (values->count == PLATE_COLUMNS_MOST) {
            faults_error(faults, value->place, "%s: \"%s\" has more than %d values; expected columns", what,
                         excerpt(text).text, PLATE_COLUMNS_MOST);
            return false;
        }
        if (!read_value(faults, value, what, dimension, text + at, length, unit, &values->items[values->count]))
            return false;
        values->count++;
        at += length + 1;
    }
    return true;
}

static bool is_within(const struct quantity *value, const struct quantity *low, const struct quantity *high)
{
    double base = quantity_base(value);
    double slack = 1e-9 * fabs(base);
    return low->given && base >= quantity_base(low) - slack && base <= quantity_base(high) + slack;
}

/* What the motor is said to be connected for. */
struct connected {
    struct plate_value voltage;
    struct quantity frequency;
};

static bool fits(const struct plate_column *column, const struct connected *connected)
{
    if (!is_within(&connected->voltage.low, &column->voltage_low, &column->voltage_high) ||
        !is_within(&connected->voltage.high, &column->voltage_low, &column->voltage_high))
        return false;
    return !connected->frequency.given || is_within(&connected->frequency, &column->frequency, &column->frequency);
}

static bool read_voltage(const struct section *section, const struct field *field, const struct node *value)
{
    struct plate_values values;
    if (!plate_values(section->faults, value, field->key, DIMENSION_VOLTAGE, &values))
        return false;
    if (values.count > 1) {
        faults_error(section->faults, value->place, "%s: \"%s\" has %zu values; expected one of them", field->key,
                     excerpt(value->text).text, values.count);
        return false;
    }
    *(struct plate_value *)field_target(section, field) = values.items[0];
    return true;
}

static const struct field connected_fields[] = {
    {.key = "voltage",
     .read = read_voltage,
     .offset = offsetof(struct connected, voltage),
     .required = true,
     .expects = "a voltage such as 230 V"},
    {.key = "frequency",
     .read = field_quantity,
     .offset = offsetof(struct connected, frequency),
     .dimension = DIMENSION_FREQUENCY},
};

static bool read_connected(struct faults *faults, const struct node *value, struct connected *connected)
{
    const struct section section = {.faults = faults,
                                    .node = value,
                                    .what = "connected_for",
                                    .fields = connected_fields,
                                    .count = sizeof connected_fields / sizeof *connected_fields,
                                    .target = connected};
    const struct field alone = {.key = "connected_for", .offset = offsetof(struct connected, voltage)};
    return value->kind == NODE_SCALAR ? read_voltage(&section, &alone, value) : section_load(&section);
}

/* "230 V at 50 Hz, 460 V": owned. */
static char *columns_listed(const struct motor *motor)
{
    char *list = text_copy("");
    for (size_t i = 0; i < motor->column_count; i++) {
        const struct plate_column *column = &motor->columns[i];
        char low[32];
        char high[32];
        char hertz[32];
        (void)number_format(column->voltage_low.value, 0, low, sizeof low);
        (void)number_format(column->voltage_high.value, 0, high, sizeof high);
        (void)number_format(column->frequency.value, 0, hertz, sizeof hertz);
        bool is_range = column->voltage_low.value < column->voltage_high.value;
        char *longer = text_format("%s%s%s%s%s V%s%s%s", list, i == 0 ? "" : ", ", low, is_range ? "-" : "",
                                   is_range ? high : "", column->frequency.given ? " at " : "",
                                   column->frequency.given ? hertz : "", column->frequency.given ? " Hz" : "");
        free(list);
        list = longer;
    }
    return list;
}

static void find_column(struct faults *faults, const struct node *value, const struct connected *connected,
                        struct motor *motor)
{
    size_t found = 0;
    for (size_t i = 0; i < motor->column_count; i++) {
        if (!fits(&motor->columns[i], connected))
            continue;
        if (found++ == 0)
            motor->connected = i;
    }
    if (found == 1) {
        motor->connected_given = true;
        return;
    }
    char *list = columns_listed(motor);
    if (!motor->columns[0].voltage_low.given)
        faults_error(faults, value->place,
                     "connected_for needs the plate's voltages; expected rated_voltage or columns "
                     "beside it");
    else if (found == 0)
        faults_error(faults, value->place, "connected_for is no column of the plate; expected one of %s", list);
    else
        faults_error(faults, value->place,
                     "connected_for fits %zu columns of the plate; expected {voltage: ..., "
                     "frequency: ...} that fits one of %s",
                     found, list);
    free(list);
}

void plate_connect(struct faults *faults, const struct node *motor_node, const struct node *connected_for,
                   struct motor *motor)
{
    struct connected connected = {0};
    if (connected_for != NULL) {
        if (read_connected(faults, connected_for, &connected))
            find_column(faults, connected_for, &connected, motor);
        return;
    }
    motor->connected_given = motor->column_count == 1;
    if (motor->connected_given)
        return;
    char *list = columns_listed(motor);
    faults_warning(faults, node_key_place(motor_node),
                   "the plate has %zu columns, and connected_for does not say which one counts; expected one of %s",
                   motor->column_count, list);
    free(list);
}
