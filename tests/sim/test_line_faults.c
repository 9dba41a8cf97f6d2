/* SPDX-License-Identifier: MIT */
/* Fault specifications: how they are read, which requests they strike, and that a seed repeats them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sim/line_faults.h"

#include <string.h>

static void add(struct line_faults *faults, const char *text)
{
    struct error error = {0};
    const bool added = line_faults_add(faults, text, &error);
    if (!added)
        print_error("%s\n", error.text);
    assert_true(added);
}

static void specifications_are_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum fault_kind kind;
        uint64_t least, most;
        uint32_t chance_ppm;
        unsigned long at;
    } rows[] = {
        {"late", FAULT_LATE, 200000, 200000, 1000000, 0},
        {"late=120ms:5%", FAULT_LATE, 120000, 120000, 50000, 0},
        {"late=40ms-1.5s@7", FAULT_LATE, 40000, 1500000, 0, 7},
        {"doubled=300us:0.1%", FAULT_DOUBLED, 300, 300, 1000, 0},
        {"cut@1", FAULT_CUT, 1, 32, 0, 1},
        {"cut=3", FAULT_CUT, 3, 3, 1000000, 0},
        {"noise=2-5:1%", FAULT_NOISE, 2, 5, 10000, 0},
        {"exception=0b:100%", FAULT_EXCEPTION, 0x0b, 0x0b, 1000000, 0},
        {"exception=A1@2", FAULT_EXCEPTION, 0xa1, 0xa1, 0, 2},
        {"foreign-unit", FAULT_FOREIGN_UNIT, 0, 0, 1000000, 0},
        {"foreign-unit=247:1%", FAULT_FOREIGN_UNIT, 247, 247, 10000, 0},
        {"corrupt:1%", FAULT_CORRUPT, 0, 0, 10000, 0},
        {"not-kept@3", FAULT_NOT_KEPT, 0, 0, 0, 3},
        {"clamped", FAULT_CLAMPED, 100, 100, 1000000, 0},
        {"clamped=50%:1%", FAULT_CLAMPED, 50, 50, 10000, 0},
        {"changed-later@2", FAULT_CHANGED_LATER, 1000000, 1000000, 0, 2},
        {"changed-later=20ms-30ms@2", FAULT_CHANGED_LATER, 20000, 30000, 0, 2},
        {"trip@1", FAULT_TRIP, 0, 0, 0, 1},
        {"starts@1", FAULT_STARTS, 0, 0, 0, 1},
        {"gateway=20ms@3", FAULT_GATEWAY, 20000, 20000, 0, 3},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct line_faults faults = {0};
        add(&faults, rows[i].text);
        assert_int_equal(faults.items[0].kind, rows[i].kind);
        assert_int_equal(faults.items[0].least, rows[i].least);
        assert_int_equal(faults.items[0].most, rows[i].most);
        assert_int_equal(faults.items[0].chance_ppm, rows[i].chance_ppm);
        assert_int_equal(faults.items[0].at, rows[i].at);
        line_faults_free(&faults);
    }
}

static void a_serial_number_is_kept_as_it_was_given(void **state)
{
    (void)state;
    struct line_faults faults = {0};
    add(&faults, "exchanged=SN-12-B@3");
    assert_int_equal(faults.items[0].kind, FAULT_EXCHANGED);
    assert_string_equal(faults.items[0].word, "SN-12-B");
    assert_int_equal(faults.items[0].at, 3);
    line_faults_free(&faults);
}

/* The second write is the fourth request. */
static void habits_strike_and_count_writes_only(void **state)
{
    static const char *const texts[] = {"not-kept@2", "clamped@2", "changed-later@2",
                                        "trip@2",     "starts@2",  "exchanged=5@2"};
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct line_faults faults = {0};
        add(&faults, texts[i]);
        line_faults_seed(&faults, 1);
        assert_null(line_faults_draw(&faults, true, false));
        assert_null(line_faults_draw(&faults, false, false));
        assert_null(line_faults_draw(&faults, false, false));
        assert_ptr_equal(line_faults_draw(&faults, true, false), &faults.items[0]);
        assert_null(line_faults_draw(&faults, true, false));
        line_faults_free(&faults);
    }
}

static void wrong_specifications_say_what_was_expected(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        const char *says;
    } rows[] = {
        {"", "no fault ''"},
        {"lat", "did you mean 'late'?"},
        {"fire", "no fault 'fire'; --help lists them"},
        {"late=", "expected a time up to 60s"},
        {"late=120", "'120' is no argument of 'late'; expected a time"},
        {"late=61s", "expected a time up to 60s"},
        {"late=-5ms", "expected a time"},
        {"late=20ms-10ms", "expected a time"},
        {"late=5%", "expected a time"},
        {"late:5", "'5' is no probability; expected one from 0.0001% to 100%"},
        {"late:0%", "is no probability"},
        {"late:101%", "is no probability"},
        {"late:%", "is no probability"},
        {"late@0", "'0' is no request; expected its number, from 1 on"},
        {"late@", "is no request"},
        {"late@5%", "is no request"},
        {"cut=0", "expected a number of bytes from 1 to 32"},
        {"noise=33", "expected a number of bytes"},
        {"exception=4", "hexadecimal"},
        {"exception=00", "expected an exception code"},
        {"exception=0G", "expected an exception code"},
        {"foreign-unit=248", "expected a unit from 1 to 247"},
        {"clamped=50", "expected whole per cent from 1% to 100%"},
        {"clamped=0%", "expected whole per cent"},
        {"clamped=101%", "expected whole per cent"},
        {"clamped=%", "expected whole per cent"},
        {"exchanged", "'' is no argument of 'exchanged'; expected a serial number"},
        {"exchanged=@3", "expected a serial number"},
        {"exchanged=SN-1@0", "is no request"},
        {"echo=1", "'echo' takes no argument, found '1'"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct line_faults faults = {0};
        struct error error = {0};
        assert_false(line_faults_add(&faults, rows[i].text, &error));
        assert_int_equal(error.kind, ERROR_USE);
        if (strstr(error.text, rows[i].says) == NULL)
            print_error("'%s': '%s' lacks '%s'\n", rows[i].text, error.text, rows[i].says);
        assert_non_null(strstr(error.text, rows[i].says));
        assert_int_equal(faults.count, 0);
        line_faults_free(&faults);
    }
}

static void chances_over_100_percent_are_refused(void **state)
{
    (void)state;
    struct line_faults faults = {0};
    struct error error = {0};
    add(&faults, "late:60%");
    add(&faults, "cut@3"); /* takes no share */
    add(&faults, "noise:40%");
    assert_false(line_faults_add(&faults, "echo:0.0001%", &error));
    assert_non_null(strstr(error.text, "more than 100 %"));
    line_faults_free(&faults);
}

static void a_turn_strikes_that_request_alone(void **state)
{
    (void)state;
    struct line_faults faults = {0};
    add(&faults, "cut@3");
    add(&faults, "echo@5");
    for (int i = 1; i <= 8; i++) {
        const struct fault *fault = line_faults_draw(&faults, false, false);
        assert_ptr_equal(fault, i == 3 ? &faults.items[0] : i == 5 ? &faults.items[1] : NULL);
    }
    assert_int_equal(faults.items[0].struck, 1);
    assert_int_equal(faults.items[1].struck, 1);
    line_faults_free(&faults);
}

static void not_kept_counts_and_strikes_writes(void **state)
{
    (void)state;
    struct line_faults faults = {0};
    add(&faults, "not-kept@2");
    assert_null(line_faults_draw(&faults, true, false));
    assert_null(line_faults_draw(&faults, false, false));
    assert_ptr_equal(line_faults_draw(&faults, true, false), faults.items);
    assert_null(line_faults_draw(&faults, false, false));
    line_faults_free(&faults);
    add(&faults, "not-kept");
    assert_null(line_faults_draw(&faults, false, false));
    assert_ptr_equal(line_faults_draw(&faults, true, false), faults.items);
    line_faults_free(&faults);
}

/* 3 % and 1 % of 100,000: each within five standard deviations, for this one seed. */
static void chances_are_kept(void **state)
{
    (void)state;
    struct line_faults faults = {0};
    add(&faults, "late:3%");
    add(&faults, "cut:1%");
    line_faults_seed(&faults, 1);
    for (int i = 0; i < 100000; i++)
        (void)line_faults_draw(&faults, false, false);
    assert_in_range(faults.items[0].struck, 2730, 3270);
    assert_in_range(faults.items[1].struck, 843, 1157);
    line_faults_free(&faults);
}

static void strike(uint64_t seed, uint64_t *trace, size_t count)
{
    struct line_faults faults = {0};
    add(&faults, "late=1ms-60s:30%");
    add(&faults, "noise=1-32:30%");
    line_faults_seed(&faults, seed);
    for (size_t i = 0; i < count; i++) {
        const struct fault *fault = line_faults_draw(&faults, false, false);
        trace[i] = fault == NULL ? 0 : 100000000 * (uint64_t)(fault->kind + 1) + line_faults_argument(&faults, fault);
    }
    line_faults_free(&faults);
}

static void equal_seeds_give_equal_faults(void **state)
{
    (void)state;
    enum { COUNT = 200 };
    uint64_t first[COUNT];
    uint64_t again[COUNT];
    uint64_t other[COUNT];
    strike(42, first, COUNT);
    strike(42, again, COUNT);
    strike(43, other, COUNT);
    assert_memory_equal(first, again, sizeof first);
    assert_memory_not_equal(first, other, sizeof first);
}

static void an_argument_keeps_to_its_range(void **state)
{
    (void)state;
    struct line_faults faults = {0};
    add(&faults, "noise=2-4");
    bool seen[6] = {false};
    for (int i = 0; i < 200; i++) {
        const uint64_t argument = line_faults_argument(&faults, &faults.items[0]);
        assert_in_range(argument, 2, 4);
        seen[argument] = true;
    }
    assert_true(seen[2] && seen[3] && seen[4]);
    line_faults_free(&faults);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(specifications_are_read),
        cmocka_unit_test(a_serial_number_is_kept_as_it_was_given),
        cmocka_unit_test(habits_strike_and_count_writes_only),
        cmocka_unit_test(wrong_specifications_say_what_was_expected),
        cmocka_unit_test(chances_over_100_percent_are_refused),
        cmocka_unit_test(a_turn_strikes_that_request_alone),
        cmocka_unit_test(not_kept_counts_and_strikes_writes),
        cmocka_unit_test(chances_are_kept),
        cmocka_unit_test(equal_seeds_give_equal_faults),
        cmocka_unit_test(an_argument_keeps_to_its_range),
    };
    return cmocka_run_group_tests_name("sim_line_faults", tests, NULL, NULL);
}
