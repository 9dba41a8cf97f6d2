/* SPDX-License-Identifier: MIT */
/* Plants: lines, patterns of sheets, and what is refused. */
#include "files_bench.h"

#include <sys/stat.h>

static int open_with_sheets(void **state)
{
    int result = bench_open(state);
    if (result != 0 || mkdir("p", 0700) != 0 || mkdir("p/sheets", 0700) != 0)
        return -1;
    static const char *const names[] = {"p/sheets/G-7.yaml",   "p/sheets/G-1.yaml",  "p/sheets/G-5.yaml",
                                        "p/sheets/G-3.yaml",   "p/sheets/G-6.yaml",  "p/sheets/G-2.yaml",
                                        "p/sheets/G-4.yaml",   "p/sheets/F-2.yaml",  "p/sheets/F-10.yaml",
                                        "p/sheets/P-204.yaml", "p/sheets/[odd].yaml"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        bench_write(names[i], "");
    return 0;
}

static bool load(const char *text, struct plant *plant, struct problems *problems)
{
    bench_write("p/plant.yaml", text);
    return plant_load("p/plant.yaml", plant, problems);
}

static void two_lines(void **state)
{
    (void)state;
    struct plant plant = {0};
    struct problems problems = {0};
    assert_true(load("plant: North works\nlines:\n"
                     "  - {name: MCC-1, serial: /dev/serial/by-id/usb-a, baud: 9600, parity: none, stop_bits: 1,\n"
                     "     alone: yes, rs485: kernel, drives: [sheets/P-204.yaml, 'sheets/[odd].yaml']}\n"
                     "  - {name: hall-3, host: 192.0.2.10, drives: [sheets/F-*.yaml]}\n",
                     &plant, &problems));
    assert_int_equal(problems.errors.count + problems.warnings.count, 0);
    assert_string_equal(plant.path, "p/plant.yaml");
    assert_string_equal(plant.name, "North works");
    assert_int_equal(plant.count, 2);
    const struct plant_line *mcc = &plant.lines[0];
    assert_string_equal(mcc->name, "MCC-1");
    assert_string_equal(mcc->line.serial, "/dev/serial/by-id/usb-a");
    assert_int_equal(mcc->line.baud, 9600);
    assert_int_equal(mcc->line.parity, PARITY_NONE);
    assert_int_equal(mcc->line.stop_bits, 1);
    assert_true(mcc->line.alone);
    assert_int_equal(mcc->line.rs485, RS485_KERNEL);
    assert_false(mcc->line.unit_given);
    assert_int_equal(mcc->sheet_count, 2);
    assert_string_equal(mcc->sheets[0], "p/sheets/P-204.yaml");
    assert_string_equal(mcc->sheets[1], "p/sheets/[odd].yaml");
    const struct plant_line *hall = &plant.lines[1];
    assert_string_equal(hall->line.host, "192.0.2.10");
    assert_int_equal(hall->line.port, 502);
    assert_int_equal(hall->sheet_count, 2);
    assert_string_equal(hall->sheets[0], "p/sheets/F-10.yaml");
    assert_string_equal(hall->sheets[1], "p/sheets/F-2.yaml");
    plant_free(&plant);
}

static void patterns_are_sorted(void **state)
{
    (void)state;
    struct plant plant = {0};
    struct problems problems = {0};
    assert_true(load("plant: N\nlines: [{name: a, host: h, drives: [sheets/G-?.yaml]}]\n", &plant, &problems));
    assert_int_equal(plant.lines[0].sheet_count, 7);
    for (size_t i = 1; i < plant.lines[0].sheet_count; i++)
        assert_true(strcmp(plant.lines[0].sheets[i - 1], plant.lines[0].sheets[i]) < 0);
    plant_free(&plant);
}

struct bad_plant {
    const char *name, *text, *message;
};

#define LINES "plant: N\nlines:\n"

static const struct bad_plant bad_plants[] = {
    {"name_missing", "lines: [{name: a, host: h, drives: [sheets/P-204.yaml]}]\n",
     "p/plant.yaml:1:1: the plant lacks plant; expected the plant's name"},
    {"lines_missing", "plant: N\n",
     "p/plant.yaml:1:1: the plant lacks lines; expected a list such as [{name: MCC-1, serial: /dev/ttyUSB0, drives: "
     "[sheets/P-204.yaml]}]"},
    {"lines_empty", "plant: N\nlines: []\n",
     "p/plant.yaml:2:8: lines is an empty list; expected a list such as [{name: MCC-1, serial: /dev/ttyUSB0, drives: "
     "[sheets/P-204.yaml]}]"},
    {"no_port", LINES "- {name: a, drives: [sheets/P-204.yaml]}\n",
     "p/plant.yaml:3:3: the line lacks serial and host; expected one of them"},
    {"both_ports", LINES "- {name: a, serial: s, host: h, drives: [sheets/P-204.yaml]}\n",
     "p/plant.yaml:3:24: host and serial stand together; expected one of them"},
    {"unit_of_a_line", LINES "- {name: a, host: h, unit: 3, drives: [sheets/P-204.yaml]}\n",
     "p/plant.yaml:3:22: unknown key \"unit\" in a line; expected one of name, serial, host, port, baud, parity, "
     "stop_bits, rs485, alone, drives"},
    {"same_name",
     LINES "- {name: a, host: h, drives: [sheets/P-204.yaml]}\n- {name: a, host: i, drives: "
           "[sheets/F-2.yaml]}\n",
     "p/plant.yaml:4:10: name: \"a\" is a line's name already; expected another one"},
    {"no_drives", LINES "- {name: a, host: h, drives: []}\n",
     "p/plant.yaml:3:30: drives is an empty list; expected a list of sheets, such as [sheets/P-*.yaml]"},
    {"no_file", LINES "- {name: a, host: h, drives: [sheets/X.yaml]}\n",
     "p/plant.yaml:3:31: drives: no file is p/sheets/X.yaml; expected a sheet"},
    {"no_match", LINES "- {name: a, host: h, drives: [sheets/X-*.yaml]}\n",
     "p/plant.yaml:3:31: drives: no file fits p/sheets/X-*.yaml; expected a sheet"},
    {"twice_on_a_line", LINES "- {name: a, host: h, drives: [sheets/P-204.yaml, sheets/P-*.yaml]}\n",
     "p/plant.yaml:3:50: drives: p/sheets/P-204.yaml stands at line 3, column 31 already; expected it once"},
    {"on_two_lines",
     LINES "- {name: a, host: h, drives: [sheets/P-204.yaml]}\n- {name: b, host: i, drives: "
           "[sheets/../sheets/P-204.yaml]}\n",
     "p/plant.yaml:4:31: drives: p/sheets/../sheets/P-204.yaml stands at line 3, column 31 already, on another line; "
     "expected it once"},
};

static void is_refused(void **state)
{
    const struct bad_plant *row = *state;
    struct plant plant = {0};
    struct problems problems = {0};
    bool fine = load(row->text, &plant, &problems);
    bool same = problems.errors.count == 1 && strcmp(problems.errors.items[0], row->message) == 0;
    if (!same)
        bench_print("error", &problems.errors);
    problems_free(&problems);
    assert_true(same);
    assert_false(fine);
    assert_null(plant.path);
}

int main(void)
{
    const struct CMUnitTest good[] = {cmocka_unit_test(two_lines), cmocka_unit_test(patterns_are_sorted)};
    BAD_TESTS(bad_plants, is_refused);
    return cmocka_run_group_tests_name("plant_load", good, open_with_sheets, bench_close) +
           cmocka_run_group_tests_name("plant_errors", tests, open_with_sheets, bench_close);
}
