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
        cmocka_unit_test(unit_0_is_fine_on_tcp),
        cmocka_unit_test(help_and_version_need_nothing_else),
    };
    return cmocka_run_group_tests_name("sim_options", tests, NULL, NULL);
}
