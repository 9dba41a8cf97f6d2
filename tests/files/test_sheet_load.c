/* SPDX-License-Identifier: MIT */
/* Sheets that are right: what each key puts into the struct, and what stands there where a sheet is silent. */
#include "files_bench.h"

#include <sys/stat.h>

/* The sheet of the interface description. */
static const char example[] =
    "tag: P-204\n"
    "service: Brine transfer pump\n"
    "drive:\n"
    "  map: ../maps/quayside-compact.yaml     # relative to this file\n"
    "  rated_current: 4.2 A\n"
    "  overload: 150 % for 60 s\n"
    "  braking_resistor: none                 # or: {resistance: 100 ohm, continuous_power: 200 W}\n"
    "line:\n"
    "  serial: /dev/serial/by-id/usb-adapter\n"
    "  baud: 19200\n"
    "  parity: even                           # none | even | odd\n"
    "  stop_bits: 1\n"
    "  unit: 4\n"
    "supply: {voltage: 480 V, phases: 3, frequency: 60 Hz}\n"
    "motor:                                   # as stamped; both columns of a dual-voltage plate\n"
    "  rated_power: 2 hp\n"
    "  rated_voltage: 230/460 V\n"
    "  rated_current: 6.0/3.0 A\n"
    "  connected_for: 460 V\n"
    "  rated_frequency: 60 Hz\n"
    "  rated_speed: 1745 rpm\n"
    "  service_factor: 1.15\n"
    "  efficiency: 86.5 %\n"
    "  power_factor: 72 %\n"
    "  cooling: self                          # self | separate\n"
    "  constant_torque_turndown: 10\n"
    "  inertia: 0.006 kg.m2\n"
    "load:\n"
    "  torque: square                         # square | constant | constant-power\n"
    "  torque_at_rated_speed: 6.5 N.m\n"
    "  inertia: 0.02 kg.m2                    # seen at the motor shaft\n"
    "settings:                                # what the job asks for, by `means` or by parameter name\n"
    "  limit.minimum_frequency: 20 Hz\n"
    "  limit.maximum_frequency: 60 Hz\n"
    "  ramp.acceleration_time: 10 s\n"
    "  ramp.deceleration_time: 15 s\n"
    "  control.start_source: terminals\n"
    "  energy_saver: 1                        # a parameter of the map that has no `means`\n"
    "allow:                                   # widen a tolerance, with the reason; both show in every report\n"
    "  - {means: motor.rated_speed, within: 10 rpm, because: rewound in 2019}\n";

/* What the example's settings need of its map. */
static const char example_map[] =
    BENCH_MAP "  source: {at: holding 1, type: u16, choices: {0: keypad, 1: terminals, 2: network}, means: "
              "control.start_source}\n"
              "  low: {at: holding 2, type: u16, unit: Hz, means: limit.minimum_frequency}\n"
              "  high: {at: holding 3, type: u16, unit: Hz, means: limit.maximum_frequency}\n"
              "  up: {at: holding 4, type: u16, unit: s, means: ramp.acceleration_time, ramp_span: 60 Hz}\n"
              "  down: {at: holding 5, type: u16, unit: s, means: ramp.deceleration_time, ramp_span: 60 Hz}\n"
              "  speed: {at: holding 6, type: u16, unit: rpm, means: motor.rated_speed}\n"
              "  energy_saver: {at: holding 7, type: u16}\n";

static int open_with_maps(void **state)
{
    int result = bench_open(state);
    if (result != 0 || mkdir("maps", 0700) != 0 || mkdir("sheets", 0700) != 0)
        return -1;
    bench_write("maps/quayside-compact.yaml", example_map);
    bench_write("m.yaml", BENCH_SHEET_MAP);
    bench_write("sheets/P-204.yaml", example);
    return 0;
}

static void assert_quantity(const struct quantity *quantity, double value, enum unit unit)
{
    assert_true(quantity->given);
    assert_true(quantity->value == value);
    assert_int_equal(quantity->unit, unit);
}

static void example_drive_and_line(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    bench_load_sheet("sheets/P-204.yaml", &sheet, &map);
    assert_string_equal(sheet.path, "sheets/P-204.yaml");
    assert_string_equal(sheet.tag, "P-204");
    assert_string_equal(sheet.service, "Brine transfer pump");
    assert_int_equal(strlen(sheet.sha256), 64);
    assert_false(sheet.watchdog_known);
    assert_string_equal(sheet.drive.map_path, "sheets/../maps/quayside-compact.yaml");
    assert_string_equal(map.path, sheet.drive.map_path);
    assert_int_equal(map.count, 7);
    assert_quantity(&sheet.drive.rated_current, 4.2, UNIT_A);
    assert_quantity(&sheet.drive.overload, 150, UNIT_PERCENT);
    assert_quantity(&sheet.drive.overload_time, 60, UNIT_S);
    assert_int_equal(sheet.drive.has_resistor, ANSWER_NO);
    assert_string_equal(sheet.line.serial, "/dev/serial/by-id/usb-adapter");
    assert_null(sheet.line.host);
    assert_int_equal(sheet.line.baud, 19200);
    assert_int_equal(sheet.line.parity, PARITY_EVEN);
    assert_int_equal(sheet.line.stop_bits, 1);
    assert_int_equal(sheet.line.unit, 4);
    assert_true(sheet.line.unit_given);
    assert_false(sheet.line.alone);
    assert_true(sheet.supply.given);
    assert_quantity(&sheet.supply.voltage, 480, UNIT_V);
    assert_int_equal(sheet.supply.phases, 3);
    assert_quantity(&sheet.supply.frequency, 60, UNIT_HZ);
    sheet_free(&sheet);
    map_free(&map);
}

static void example_plate(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    bench_load_sheet("sheets/P-204.yaml", &sheet, &map);
    const struct motor *motor = &sheet.motor;
    assert_true(motor->given);
    assert_int_equal(motor->kind, MOTOR_INDUCTION);
    assert_int_equal(motor->column_count, 2);
    assert_true(motor->connected_given);
    assert_int_equal(motor->connected, 1);
    static const double volts[] = {230, 460};
    static const double amperes[] = {6, 3};
    for (size_t i = 0; i < 2; i++) {
        const struct plate_column *column = &motor->columns[i];
        assert_quantity(&column->voltage_low, volts[i], UNIT_V);
        assert_quantity(&column->voltage_high, volts[i], UNIT_V);
        assert_quantity(&column->current, amperes[i], UNIT_A);
        assert_true(column->current.rounding == 0.05);
        assert_quantity(&column->power, 2, UNIT_HP);
        assert_quantity(&column->frequency, 60, UNIT_HZ);
        assert_quantity(&column->speed, 1745, UNIT_RPM);
        assert_quantity(&column->efficiency, 86.5, UNIT_PERCENT);
        assert_quantity(&column->power_factor, 72, UNIT_PERCENT);
        assert_int_equal(column->connection, CONNECTION_UNSAID);
    }
    assert_quantity(&motor->service_factor, 1.15, UNIT_NONE);
    assert_quantity(&motor->constant_torque_turndown, 10, UNIT_NONE);
    assert_quantity(&motor->inertia, 0.006, UNIT_KGM2);
    assert_int_equal(motor->cooling, COOLING_SELF);
    assert_int_equal(sheet.load.torque, LOAD_SQUARE);
    assert_quantity(&sheet.load.torque_at_rated_speed, 6.5, UNIT_NM);
    assert_quantity(&sheet.load.inertia, 0.02, UNIT_KGM2);
    sheet_free(&sheet);
    map_free(&map);
}

static void example_settings(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    bench_load_sheet("sheets/P-204.yaml", &sheet, &map);
    assert_int_equal(sheet.setting_count, 6);
    const struct setting *low = &sheet.settings[0];
    assert_string_equal(low->name, "limit.minimum_frequency");
    assert_int_equal(low->means, MEANS_LIMIT_MINIMUM_FREQUENCY);
    assert_int_equal(low->line, 33);
    assert_int_equal(low->column, 3);
    assert_int_equal(low->kind, SETTING_QUANTITY);
    assert_quantity(&low->low, 20, UNIT_HZ);
    assert_quantity(&low->high, 20, UNIT_HZ);
    const struct setting *source = sheet_setting(&sheet, MEANS_CONTROL_START_SOURCE);
    assert_int_equal(source->kind, SETTING_WORD);
    assert_string_equal(source->word, "terminals");
    const struct setting *saver = &sheet.settings[5];
    assert_int_equal(saver->means, MEANS_NONE);
    assert_string_equal(saver->name, "energy_saver");
    assert_quantity(&saver->low, 1, UNIT_NONE);
    assert_int_equal(sheet.allow_count, 1);
    assert_int_equal(sheet.allow[0].means, MEANS_MOTOR_RATED_SPEED);
    assert_null(sheet.allow[0].parameter);
    assert_quantity(&sheet.allow[0].within, 10, UNIT_RPM);
    assert_string_equal(sheet.allow[0].because, "rewound in 2019");
    sheet_free(&sheet);
    map_free(&map);
}

static void load_text(const char *text, struct sheet *sheet, struct map *map)
{
    bench_write("s.yaml", text);
    bench_load_sheet("s.yaml", sheet, map);
}

static void least_sheet(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    load_text("tag: 0012\ndrive: {map: m.yaml}\nline: {unit: 0}\n", &sheet, &map);
    assert_string_equal(sheet.tag, "0012");
    assert_null(sheet.service);
    assert_false(sheet.motor.given || sheet.supply.given || sheet.load.given || sheet.motors.given);
    assert_int_equal(sheet.motors.count, 1);
    assert_int_equal(sheet.drive.has_resistor, ANSWER_UNSAID);
    assert_null(sheet.line.serial);
    assert_null(sheet.line.host);
    assert_true(sheet.line.unit_given);
    assert_int_equal(sheet.line.unit, 0);
    assert_int_equal(sheet.line.baud, 19200);
    sheet_free(&sheet);
    map_free(&map);
}

static void lines_and_their_defaults(void **state)
{
    (void)state;
    static const struct {
        const char *line;
        unsigned port, baud, stop_bits, unit;
        enum parity parity;
    } rows[] = {
        {"{serial: s, unit: 247}", 502, 19200, 1, 247, PARITY_EVEN},
        {"{serial: s, unit: 1, parity: none}", 502, 19200, 2, 1, PARITY_NONE},
        {"{serial: s, unit: 1, parity: none, stop_bits: 1}", 502, 19200, 1, 1, PARITY_NONE},
        {"{serial: s, unit: 1, parity: odd, baud: 115200, alone: true}", 502, 115200, 1, 1, PARITY_ODD},
        {"{host: 192.0.2.10, unit: 255}", 502, 19200, 1, 255, PARITY_EVEN},
        {"{host: '2001:db8::1', unit: 0, port: 1502}", 1502, 19200, 1, 0, PARITY_EVEN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sheet sheet = {0};
        struct map map = {0};
        char *text = text_format("tag: T\ndrive: {map: m.yaml}\nline: %s\n", rows[i].line);
        load_text(text, &sheet, &map);
        free(text);
        assert_int_equal(sheet.line.port, rows[i].port);
        assert_int_equal(sheet.line.baud, rows[i].baud);
        assert_int_equal(sheet.line.parity, rows[i].parity);
        assert_int_equal(sheet.line.stop_bits, rows[i].stop_bits);
        assert_int_equal(sheet.line.unit, rows[i].unit);
        assert_int_equal(sheet.line.alone, i == 3);
        sheet_free(&sheet);
        map_free(&map);
    }
}

static void plate_with_columns(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    load_text(BENCH_SHEET
              "motor:\n  kind: permanent-magnet\n  efficiency: 0.88 per unit\n"
              "  columns:\n"
              "  - {voltage: 230 V, connection: delta, frequency: 50 Hz, power: 3 kW, current: 10.6 A,\n"
              "     speed: 1430 rpm, power_factor: 82 %}\n"
              "  - {voltage: 380-420 V, connection: star, frequency: 50 Hz, power: 3 kW, efficiency: 87 %}\n"
              "  - {voltage: 380-420 V, connection: wye, frequency: 60 Hz}\n"
              "  connected_for: {voltage: 400 V, frequency: 60 Hz}\n"
              "  run_to: {voltage: 400 V, frequency: 86.6 Hz}\n",
              &sheet, &map);
    const struct motor *motor = &sheet.motor;
    assert_int_equal(motor->kind, MOTOR_PERMANENT_MAGNET);
    assert_int_equal(motor->column_count, 3);
    assert_int_equal(motor->connected, 2);
    assert_true(motor->connected_given);
    assert_int_equal(motor->columns[0].connection, CONNECTION_DELTA);
    assert_quantity(&motor->columns[0].current, 10.6, UNIT_A);
    assert_quantity(&motor->columns[0].efficiency, 0.88, UNIT_PER_UNIT);
    assert_quantity(&motor->columns[1].efficiency, 87, UNIT_PERCENT);
    assert_quantity(&motor->columns[1].voltage_low, 380, UNIT_V);
    assert_quantity(&motor->columns[1].voltage_high, 420, UNIT_V);
    assert_int_equal(motor->columns[2].connection, CONNECTION_STAR);
    assert_false(motor->columns[2].power_factor.given);
    assert_quantity(&motor->run_to_frequency, 86.6, UNIT_HZ);
    assert_quantity(&motor->run_to_voltage, 400, UNIT_V);
    sheet_free(&sheet);
    map_free(&map);
}

static void plates_as_stamped(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    load_text(BENCH_SHEET
              "motor: {rated_voltage: 220-240 / 380-420 V, rated_current: 6.1/3.5A, rated_power: 1.5/1.6 kW,\n"
              "        rated_speed: 1430/1440 r/min, connected_for: 380-420 V}\n",
              &sheet, &map);
    assert_int_equal(sheet.motor.column_count, 2);
    assert_quantity(&sheet.motor.columns[0].voltage_high, 240, UNIT_V);
    assert_quantity(&sheet.motor.columns[1].voltage_low, 380, UNIT_V);
    assert_quantity(&sheet.motor.columns[1].current, 3.5, UNIT_A);
    assert_quantity(&sheet.motor.columns[1].power, 1.6, UNIT_KW);
    assert_quantity(&sheet.motor.columns[1].speed, 1440, UNIT_RPM);
    assert_int_equal(sheet.motor.connected, 1);
    sheet_free(&sheet);
    map_free(&map);
}

static void plate_without_a_voltage(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    load_text(BENCH_SHEET "motor: {rated_current: 3 A}\n", &sheet, &map);
    assert_int_equal(sheet.motor.column_count, 1);
    assert_true(sheet.motor.connected_given);
    assert_false(sheet.motor.columns[0].voltage_low.given);
    assert_quantity(&sheet.motor.columns[0].current, 3, UNIT_A);
    sheet_free(&sheet);
    map_free(&map);
}

static void further_keys(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    load_text(
        "tag: T\nwatchdog: known\n"
        "drive: {map: m.yaml, braking_resistor: {resistance: 100 ohm, continuous_power: 200 W, thermal_switch: no},\n"
        "  front_end: common-bus, bus_trip: 820 V, chopper: {acts_at: 760 V, lowest_resistance: 80 ohm},\n"
        "  duty: heavy, serial_number: 0817, firmware: 1.10}\n"
        "line: {unit: 1}\n"
        "motor: {temperature_rise: 80 degC, breakdown_torque: 250 %, highest_speed: 3600 rpm, thermistor: yes,\n"
        "  no_load_current: 1.2 A, cooling: separate, service_factor: 115 %, kind: single-phase}\n"
        "motors: {count: 3, own_overloads: yes}\n"
        "load: {highest_speed: 2000 rpm, static_share: 30 %, overhauling: yes, reverse_harmful: no,\n"
        "  torque: constant-power}\n"
        "site: {altitude: -300 m, ambient: 35 °C}\ncable: {length: 40 m, filter: sine}\n"
        "by_hand:\n- {check: rotation, found: correct seen from the drive end, by: A. Hand, at: 2026-01-31 08:00}\n"
        "- {check: emergency stop}\n",
        &sheet, &map);
    assert_true(sheet.watchdog_known);
    const struct sheet_drive *drive = &sheet.drive;
    assert_int_equal(drive->has_resistor, ANSWER_YES);
    assert_quantity(&drive->resistor_resistance, 100, UNIT_OHM);
    assert_quantity(&drive->resistor_power, 200, UNIT_W);
    assert_int_equal(drive->resistor_thermal_switch, ANSWER_NO);
    assert_int_equal(drive->front_end, FRONT_COMMON_BUS);
    assert_quantity(&drive->bus_trip, 820, UNIT_V);
    assert_quantity(&drive->chopper_acts_at, 760, UNIT_V);
    assert_quantity(&drive->chopper_lowest_resistance, 80, UNIT_OHM);
    assert_int_equal(drive->duty, DUTY_HEAVY);
    assert_string_equal(drive->serial_number, "0817");
    assert_string_equal(drive->firmware, "1.10");
    assert_quantity(&sheet.motor.temperature_rise, 80, UNIT_DEGC);
    assert_quantity(&sheet.motor.breakdown_torque, 250, UNIT_PERCENT);
    assert_quantity(&sheet.motor.highest_speed, 3600, UNIT_RPM);
    assert_quantity(&sheet.motor.no_load_current, 1.2, UNIT_A);
    assert_quantity(&sheet.motor.service_factor, 115, UNIT_PERCENT);
    assert_int_equal(sheet.motor.thermistor, ANSWER_YES);
    assert_int_equal(sheet.motor.cooling, COOLING_SEPARATE);
    assert_int_equal(sheet.motor.kind, MOTOR_SINGLE_PHASE);
    assert_true(sheet.motors.given);
    assert_int_equal(sheet.motors.count, 3);
    assert_int_equal(sheet.motors.own_overloads, ANSWER_YES);
    assert_int_equal(sheet.load.torque, LOAD_CONSTANT_POWER);
    assert_int_equal(sheet.load.overhauling, ANSWER_YES);
    assert_int_equal(sheet.load.reverse_harmful, ANSWER_NO);
    assert_quantity(&sheet.load.highest_speed, 2000, UNIT_RPM);
    assert_quantity(&sheet.load.static_share, 30, UNIT_PERCENT);
    assert_quantity(&sheet.site.altitude, -300, UNIT_M);
    assert_quantity(&sheet.site.ambient, 35, UNIT_DEGC);
    assert_quantity(&sheet.site.cable_length, 40, UNIT_M);
    assert_int_equal(sheet.site.cable_filter, FILTER_SINE);
    assert_int_equal(sheet.by_hand_count, 2);
    assert_string_equal(sheet.by_hand[0].found, "correct seen from the drive end");
    assert_string_equal(sheet.by_hand[0].at, "2026-01-31 08:00");
    assert_null(sheet.by_hand[1].found);
    sheet_free(&sheet);
    map_free(&map);
}

static void forms_of_settings(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    load_text(BENCH_SHEET "settings:\n  motor.rated_current: {at_least: 2.9 A}\n  plain: {at_most: 7}\n"
                          "  limit.minimum_frequency: {between: [20 Hz, 25 Hz]}\n"
                          "  ramp.acceleration_time: {time: 10 s, from: 60 Hz, to: 0 Hz}\n"
                          "  saver: yes\n  word: 0x0004\n  name: ABCD\n  boost: off\n  source: 1\n",
              &sheet, &map);
    static const enum setting_kind kinds[] = {SETTING_AT_LEAST, SETTING_AT_MOST,  SETTING_BETWEEN,
                                              SETTING_RAMP,     SETTING_QUANTITY, SETTING_QUANTITY,
                                              SETTING_WORD,     SETTING_WORD,     SETTING_QUANTITY};
    assert_int_equal(sheet.setting_count, 9);
    for (size_t i = 0; i < sheet.setting_count; i++)
        assert_int_equal(sheet.settings[i].kind, kinds[i]);
    assert_quantity(&sheet.settings[0].low, 2.9, UNIT_A);
    assert_false(sheet.settings[0].high.given);
    assert_quantity(&sheet.settings[1].high, 7, UNIT_NONE);
    assert_quantity(&sheet.settings[2].low, 20, UNIT_HZ);
    assert_quantity(&sheet.settings[2].high, 25, UNIT_HZ);
    assert_quantity(&sheet.settings[3].low, 10, UNIT_S);
    assert_quantity(&sheet.settings[3].ramp_from, 60, UNIT_HZ);
    assert_quantity(&sheet.settings[3].ramp_to, 0, UNIT_HZ);
    assert_quantity(&sheet.settings[4].low, 1, UNIT_NONE);
    assert_quantity(&sheet.settings[5].low, 4, UNIT_NONE);
    assert_string_equal(sheet.settings[6].word, "ABCD");
    assert_string_equal(sheet.settings[7].word, "off");
    assert_quantity(&sheet.settings[8].low, 1, UNIT_NONE);
    sheet_free(&sheet);
    map_free(&map);
}

/* limit.minimum_frequency is a percentage in that map: the job may speak in either. */
static void setting_as_a_share(void **state)
{
    (void)state;
    struct sheet sheet = {0};
    struct map map = {0};
    load_text(BENCH_SHEET "settings: {limit.minimum_frequency: {at_most: 150 %}}\n"
                          "allow: [{parameter: low, within: 2 %, because: coarse}]\n",
              &sheet, &map);
    assert_quantity(&sheet.settings[0].high, 150, UNIT_PERCENT);
    assert_string_equal(sheet.allow[0].parameter, "low");
    assert_quantity(&sheet.allow[0].within, 2, UNIT_PERCENT);
    sheet_free(&sheet);
    map_free(&map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(example_drive_and_line),
        cmocka_unit_test(example_plate),
        cmocka_unit_test(example_settings),
        cmocka_unit_test(least_sheet),
        cmocka_unit_test(lines_and_their_defaults),
        cmocka_unit_test(plate_with_columns),
        cmocka_unit_test(plates_as_stamped),
        cmocka_unit_test(plate_without_a_voltage),
        cmocka_unit_test(further_keys),
        cmocka_unit_test(forms_of_settings),
        cmocka_unit_test(setting_as_a_share),
    };
    return cmocka_run_group_tests_name("sheet_load", tests, open_with_maps, bench_close);
}
