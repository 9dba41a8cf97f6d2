/* SPDX-License-Identifier: MIT */
/* The simulator's command line. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sim/options.h"

#include <string.h>

enum { MOST = 10 };

static int count_of(char *const *arguments)
{
    int count = 0;
    while (arguments[count] != NULL)
        count++;
    return count;
}

static bool reads(char *const *arguments, struct options *options, struct error *error)
{
    return options_read(count_of(arguments), arguments, options, error);
}

static void a_whole_line_is_read(void **state)
{
    (void)state;
    char *arguments[] = {"--map", "m.yaml", "--as=s.yaml", "--tcp",     "127.0.0.1:0", "--unit",
                         "7",     "--set",  "a=1",         "--set=b=2", NULL};
    struct options options;
    assert_true(reads(arguments, &options, NULL));
    assert_string_equal(options.map, "m.yaml");
    assert_string_equal(options.sheet, "s.yaml");
    assert_string_equal(options.host, "127.0.0.1");
    assert_string_equal(options.port, "0");
    assert_int_equal(options.unit, 7);
    assert_int_equal(options.set_count, 2);
    assert_string_equal(options.set[0], "a=1");
    assert_string_equal(options.set[1], "b=2");
    options_free(&options);
}

static void a_host_left_out_is_loopback(void **state)
{
    (void)state;
    static const struct {
        char *tcp;
        const char *host;
        const char *port;
    } rows[] = {
        {"502", NULL, "502"},
        {":502", NULL, "502"},
        {"[::1]:1502", "::1", "1502"},
        {"plant.example:65535", "plant.example", "65535"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *arguments[] = {"--map", "m", "--tcp", rows[i].tcp, NULL};
        struct options options;
        assert_true(reads(arguments, &options, NULL));
        if (rows[i].host == NULL)
            assert_null(options.host);
        else
            assert_string_equal(options.host, rows[i].host);
        assert_string_equal(options.port, rows[i].port);
        options_free(&options);
    }
}

static void wrong_lines_say_what_was_expected(void **state)
{
    (void)state;
    static const struct {
        char *arguments[MOST];
        const char *says;
    } rows[] = {
        {{NULL}, "--map MAP is needed"},
        {{"--map", "m", NULL}, "expected one of --tcp HOST:PORT and --pty LINK"},
        {{"--map", "m", "--tcp", ":1", "--pty", "x", NULL}, "expected one of"},
        {{"--ma", "m", NULL}, "no option '--ma'"},
        {{"--mpa", "m", NULL}, "did you mean '--map'?"},
        {{"-m", "m", NULL}, "no option '-m'"},
        {{"m.yaml", NULL}, "'m.yaml' is not expected here"},
        {{"--map", NULL}, "--map wants a value: --map MAP"},
        {{"--map", "m", "--map", "n", NULL}, "--map: given twice"},
        {{"--help=yes", NULL}, "--help takes no value"},
        {{"--map", "m", "--tcp", "127.0.0.1", NULL}, "is no port"},
        {{"--map", "m", "--tcp", "127.0.0.1:65536", NULL}, "'65536' is no port"},
        {{"--map", "m", "--tcp", "127.0.0.1:", NULL}, "is no port"},
        {{"--map", "m", "--tcp", "::1:502", NULL}, "stands in brackets"},
        {{"--map", "m", "--tcp", ":1", "--unit", "256", NULL}, "'256' is no unit number"},
        {{"--map", "m", "--tcp", ":1", "--unit", "two", NULL}, "'two' is no unit number"},
        {{"--map", "m", "--pty", "x", "--unit", "0", NULL}, "expected 1 to 247"},
        {{"--map", "m", "--pty", "x", "--unit", "248", NULL}, "expected 1 to 247"},
        {{"--map", "m", "--tcp", ":1", "--drives", "0", NULL}, "--drives: '0' is not expected; expected 1 to 247"},
        {{"--map", "m", "--tcp", ":1", "--drives", "1", "--drives", "2", NULL}, "--drives: given twice"},
        {{"--map", "m", "--pty", "x", "--baud", "109", NULL}, "expected 110 to 4000000"},
        {{"--map", "m", "--pty", "x", "--stop-bits", "3", NULL}, "expected 1 to 2"},
        {{"--map", "m", "--pty", "x", "--parity", "mark", NULL}, "'mark' is no parity"},
        {{"--map", "m", "--pty", "x", "--pace", "fast", NULL}, "--pace: 'fast' is not expected"},
        {{"--map", "m", "--pty", "x", "--turnaround", "-1", NULL}, "expected milliseconds from 0 to 60000"},
        {{"--map", "m", "--pty", "x", "--fault", "lat", NULL}, "--fault: 'lat': no fault 'lat'; did you mean 'late'?"},
        {{"--map", "m", "--pty", "x", "--busy", "wait", NULL}, "'wait' is no habit; expected queue or ignore"},
        {{"--map", "m", "--pty", "x", "--seed", "4294967296", NULL}, "is no seed"},
        /* What would do nothing. */
        {{"--map", "m", "--tcp", ":1", "--baud", "9600", NULL}, "--baud is for --pty"},
        {{"--map", "m", "--tcp", ":1", "--stop-bits", "1", NULL}, "--stop-bits is for --pty, or for --pace"},
        {{"--map", "m", "--pty", "x", "--parity", "even", NULL}, "--parity is for --pace"},
        {{"--map", "m", "--pty", "x", "--pace", "9600", "--baud", "19200", NULL}, "--pace and --baud differ"},
        {{"--map", "m", "--pty", "x", "--busy", "ignore", "--fault", "cut", NULL}, "--busy is for --fault late"},
        {{"--map", "m", "--pty", "x", "--seed", "1", NULL}, "--seed is for --fault"},
        {{"--map", "m", "--pty", "x", "--fault", "gateway", NULL}, "--fault gateway is for --tcp"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct options options;
        struct error error = {0};
        assert_false(reads(rows[i].arguments, &options, &error));
        assert_int_equal(error.kind, ERROR_USE);
        if (strstr(error.text, rows[i].says) == NULL)
            print_error("row %zu: '%s' lacks '%s'\n", i, error.text, rows[i].says);
        assert_non_null(strstr(error.text, rows[i].says));
        options_free(&options);
    }
}

static void the_frame_loop_is_wanted_where_an_option_of_its_is_given(void **state)
{
    (void)state;
    static const struct {
        char *arguments[MOST];
        bool wanted;
    } rows[] = {
        {{"--map", "m", "--pty", "x", "--unit", "3", "--set", "a=1", NULL}, false},
        {{"--map", "m", "--pty", "x", "--drives", "1", NULL}, true},
        {{"--map", "m", "--pty", "x", "--baud", "9600", NULL}, true},
        {{"--map", "m", "--pty", "x", "--stop-bits", "2", NULL}, true},
        {{"--map", "m", "--pty", "x", "--pace", "9600", NULL}, true},
        {{"--map", "m", "--pty", "x", "--turnaround", "0", NULL}, true},
        {{"--map", "m", "--pty", "x", "--log", "f", NULL}, true},
        {{"--map", "m", "--pty", "x", "--fault", "cut@1", NULL}, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct options options;
        assert_true(reads(rows[i].arguments, &options, NULL));
        assert_int_equal(options_want_frame_loop(&options), rows[i].wanted);
        options_free(&options);
    }
}

static void options_of_the_line_are_read(void **state)
{
    (void)state;
    char *arguments[] = {"--map=m",      "--tcp=:1",      "--drives=3", "--pace=9600",      "--turnaround=2.5",
                         "--fault=late", "--busy=ignore", "--seed=7",   "--log=frames.csv", NULL};
    struct options options;
    assert_true(reads(arguments, &options, NULL));
    assert_int_equal(options.drives, 3);
    assert_int_equal(options.pace_baud, 9600);
    assert_int_equal(options.turnaround_us, 2500);
    assert_int_equal(options.faults.count, 1);
    assert_true(options.ignores);
    assert_int_equal(options.seed, 7);
    assert_string_equal(options.log, "frames.csv");
    options_free(&options);
}

/* Source: MODBUS over Serial Line V1.02, section 2.5.1: 11 bits, a second stop bit where there is no parity. */
static void a_character_has_the_bits_that_are_asked_for(void **state)
{
    (void)state;
    static const struct {
        char *parity;
        char *stop_bits;
        unsigned bits;
    } rows[] = {
        {NULL, NULL, 11},
        {"--parity=even", NULL, 11},
        {"--parity=none", NULL, 11},
        {"--parity=none", "--stop-bits=1", 10},
        {NULL, "--stop-bits=2", 11},
        {"--parity=odd", "--stop-bits=2", 12},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *arguments[MOST] = {"--map=m", "--pty=x", "--pace=9600"};
        int count = 3;
        if (rows[i].parity != NULL)
            arguments[count++] = rows[i].parity;
        if (rows[i].stop_bits != NULL)
            arguments[count++] = rows[i].stop_bits;
        struct options options;
        assert_true(options_read(count, arguments, &options, NULL));
        assert_int_equal(options_character_bits(&options), rows[i].bits);
        options_free(&options);
    }
}

static void unit_0_is_fine_on_tcp(void **state)
{
    (void)state;
    char *arguments[] = {"--map", "m", "--tcp", ":1", "--unit", "0", NULL};
    struct options options;
    assert_true(reads(arguments, &options, NULL));
    assert_true(options.unit_given);
    assert_int_equal(options.unit, 0);
    options_free(&options);
}

static void help_and_version_need_nothing_else(void **state)
{
    (void)state;
    char *help[] = {"--help", NULL};
    char *version[] = {"--version", NULL};
    struct options options;
    assert_true(reads(help, &options, NULL));
    assert_true(options.help);
    options_free(&options);
    assert_true(reads(version, &options, NULL));
    assert_true(options.version);
    options_free(&options);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_line_is_read),
        cmocka_unit_test(a_host_left_out_is_loopback),
        cmocka_unit_test(wrong_lines_say_what_was_expected),
        cmocka_unit_test(the_frame_loop_is_wanted_where_an_option_of_its_is_given),
        cmocka_unit_test(options_of_the_line_are_read),
        cmocka_unit_test(a_character_has_the_bits_that_are_asked_for),
        cmocka_unit_test(unit_0_is_fine_on_tcp),
        cmocka_unit_test(help_and_version_need_nothing_else),
    };
    return cmocka_run_group_tests_name("sim_options", tests, NULL, NULL);
}
