/* SPDX-License-Identifier: MIT */
/* Options: spelled in full, given once, with values that fit; and what they put over a sheet's line. */
#include "command/options.h"

#include "types/memory.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const unsigned every_group = OPTIONS_RESULT | OPTIONS_LINE | OPTIONS_PASSES | OPTIONS_QUIET;
enum { MOST_WORDS = 16 };

/* Reads a command line given as words between single spaces; the words live as long as `line`. */
static bool read_words(char *line, unsigned groups, struct options *options, struct error *error)
{
    char *words[MOST_WORDS];
    int count = 0;
    char *rest = NULL;
    for (char *word = strtok_r(line, " ", &rest); word != NULL; word = strtok_r(NULL, " ", &rest))
        words[count++] = word;
    *error = (struct error){0};
    return options_read(count, words, groups, options, error);
}

static void expect_refused(const char *line, unsigned groups, const char *message)
{
    char *words = text_copy(line);
    struct options options;
    struct error error;
    assert_false(read_words(words, groups, &options, &error));
    assert_int_equal(error.kind, ERROR_USE);
    assert_string_equal(error.text, message);
    options_free(&options);
    free(words);
}

static void nothing_given_is_text_to_standard_output(void **state)
{
    (void)state;
    char line[] = "";
    struct options options;
    struct error error;
    assert_true(read_words(line, every_group, &options, &error));
    assert_string_equal(options.format->name, "text");
    assert_null(options.output);
    assert_int_equal(options.color, COLOR_AUTO);
    assert_false(options.help || options.quiet);
    assert_int_equal(options.passes, 0);
    assert_true(options.every_s == 0);
    assert_int_equal(options.operand_count, 0);
    options_free(&options);
}

static void every_option_is_taken(void **state)
{
    (void)state;
    char line[] = "--format json --output out.json --color never --quiet --every 1.5s --passes 3 --port 5020 "
                  "--unit 7 sheet.yaml";
    struct options options;
    struct error error;
    assert_true(read_words(line, every_group, &options, &error));
    assert_string_equal(options.format->name, "json");
    assert_string_equal(options.output, "out.json");
    assert_int_equal(options.color, COLOR_NEVER);
    assert_true(options.quiet);
    assert_true(options.every_s == 1.5);
    assert_int_equal(options.passes, 3);
    assert_true(options.port_given);
    assert_int_equal(options.line.port, 5020);
    assert_true(options.line.unit_given);
    assert_int_equal(options.line.unit, 7);
    assert_int_equal(options.operand_count, 1);
    assert_string_equal(options.operands[0], "sheet.yaml");
    options_free(&options);
}

static void every_option_of_the_line_is_taken(void **state)
{
    (void)state;
    char line[] = "--serial /dev/ttyUSB0 --baud 9600 --parity odd --stop-bits 2 --trace frames.txt";
    struct options options;
    struct error error;
    assert_true(read_words(line, every_group, &options, &error));
    assert_string_equal(options.line.serial, "/dev/ttyUSB0");
    assert_true(options.baud_given && options.parity_given && options.stop_bits_given);
    assert_int_equal(options.line.baud, 9600);
    assert_int_equal(options.line.parity, PARITY_ODD);
    assert_int_equal(options.line.stop_bits, 2);
    assert_string_equal(options.trace, "frames.txt");
    options_free(&options);
    char host[] = "--host drive-4.example --color always --help";
    assert_true(read_words(host, every_group, &options, &error));
    assert_string_equal(options.line.host, "drive-4.example");
    assert_int_equal(options.color, COLOR_ALWAYS);
    assert_true(options.help);
    options_free(&options);
}

static void a_value_may_follow_an_equals_sign(void **state)
{
    (void)state;
    char line[] = "--format=csv --output=a=b sheet.yaml";
    struct options options;
    struct error error;
    assert_true(read_words(line, every_group, &options, &error));
    assert_string_equal(options.format->name, "csv");
    assert_string_equal(options.output, "a=b");
    options_free(&options);
}

static void options_and_files_mix_in_any_order(void **state)
{
    (void)state;
    char line[] = "a.yaml --quiet b.yaml - --unit 3 c.yaml";
    struct options options;
    struct error error;
    assert_true(read_words(line, every_group, &options, &error));
    assert_int_equal(options.operand_count, 4);
    assert_string_equal(options.operands[0], "a.yaml");
    assert_string_equal(options.operands[2], "-");
    assert_string_equal(options.operands[3], "c.yaml");
    options_free(&options);
}

static void two_dashes_end_the_options(void **state)
{
    (void)state;
    char line[] = "--quiet -- --format -x --";
    struct options options;
    struct error error;
    assert_true(read_words(line, every_group, &options, &error));
    assert_true(options.quiet);
    assert_int_equal(options.operand_count, 3);
    assert_string_equal(options.operands[0], "--format");
    assert_string_equal(options.operands[2], "--");
    options_free(&options);
}

static void a_value_may_begin_with_a_dash(void **state)
{
    (void)state;
    char line[] = "--output --quiet";
    struct options options;
    struct error error;
    assert_true(read_words(line, every_group, &options, &error));
    assert_string_equal(options.output, "--quiet");
    assert_false(options.quiet);
    options_free(&options);
}

static void abbreviations_are_refused(void **state)
{
    (void)state;
    expect_refused("--form json", every_group, "no option '--form'; did you mean --format");
    expect_refused("--out x", every_group, "no option '--out' here; options are spelled in full");
    expect_refused("--q", every_group, "no option '--q' here; options are spelled in full");
    expect_refused("--stop", every_group, "no option '--stop' here; options are spelled in full");
    expect_refused("--f=json", every_group, "no option '--f' here; options are spelled in full");
}

static void unknown_options_suggest_the_nearest(void **state)
{
    (void)state;
    expect_refused("--formt json", every_group, "no option '--formt'; did you mean --format");
    expect_refused("--stop-bit 1", every_group, "no option '--stop-bit'; did you mean --stop-bits");
    expect_refused("--colour never", every_group, "no option '--colour'; did you mean --color");
    expect_refused("-q", every_group, "no option '-q'; options begin with two dashes");
    expect_refused("--=x", every_group, "no option '--' here; options are spelled in full");
}

static void options_of_other_commands_are_unknown(void **state)
{
    (void)state;
    expect_refused("--quiet", OPTIONS_RESULT, "no option '--quiet' here; options are spelled in full");
    expect_refused("--unit 4", OPTIONS_RESULT | OPTIONS_QUIET, "no option '--unit' here; options are spelled in full");
    expect_refused("--formt json", OPTIONS_LINE, "no option '--formt' here; options are spelled in full");
}

static void an_option_given_twice_is_refused(void **state)
{
    (void)state;
    expect_refused("--quiet --quiet", every_group, "--quiet is given twice");
    expect_refused("--unit 4 a --unit=4", every_group, "--unit is given twice");
}

static void options_of_records_are_taken(void **state)
{
    (void)state;
    char line[] = "--store s --as left --after-power-cycle --export e.yaml a.yaml";
    struct options options;
    struct error error;
    assert_true(read_words(line, OPTIONS_STORE | OPTIONS_RECORD, &options, &error));
    assert_string_equal(options.store, "s");
    assert_true(options.as_given && options.after_power_cycle);
    assert_int_equal(options.as, RECORD_LEFT);
    assert_string_equal(options.export_to, "e.yaml");
    options_free(&options);
    char found[] = "--as=found";
    assert_true(read_words(found, OPTIONS_RECORD, &options, &error));
    assert_true(options.as_given && !options.after_power_cycle);
    assert_int_equal(options.as, RECORD_FOUND);
    assert_null(options.store);
    options_free(&options);
    expect_refused("--as before-write", OPTIONS_RECORD, "--as 'before-write': found or left is due");
    expect_refused("--export=", OPTIONS_RECORD, "--export '': a file's name is due");
    expect_refused("--store=", OPTIONS_STORE, "--store '': where records are kept is due");
}

static void options_that_confirm_are_taken_only_where_they_belong(void **state)
{
    (void)state;
    char line[] = "--confirm 7K4Q-M2XD --replacement B2";
    struct options options;
    struct error error;
    assert_true(read_words(line, OPTIONS_CONFIRM | OPTIONS_RESTORE, &options, &error));
    assert_string_equal(options.confirm, "7K4Q-M2XD");
    assert_string_equal(options.replacement, "B2");
    options_free(&options);
    expect_refused("--confirm=", OPTIONS_CONFIRM, "--confirm '': the code that was shown with the list is due");
    expect_refused("--confir 7K4Q", OPTIONS_CONFIRM, "no option '--confir'; did you mean --confirm");
    expect_refused("--confirm 7K4Q", every_group, "no option '--confirm' here; options are spelled in full");
    expect_refused("--replacement B2", OPTIONS_CONFIRM, "no option '--replacement' here; options are spelled in full");
    expect_refused("--confirm A --confirm A", OPTIONS_CONFIRM, "--confirm is given twice");
}

static void options_of_history_are_taken(void **state)
{
    (void)state;
    char line[] = "--parameter motor_current --since 2026-01-31";
    struct options options;
    struct error error;
    assert_true(read_words(line, OPTIONS_HISTORY, &options, &error));
    assert_string_equal(options.parameter, "motor_current");
    assert_int_equal(options.since_ms, 1769817600000);
    options_free(&options);
    expect_refused("--since yesterday", OPTIONS_HISTORY,
                   "--since 'yesterday': a date such as 2026-01-31 or a time in UTC such as 2026-01-31T08:00:00Z is "
                   "due");
}

static void a_search_takes_several_hosts(void **state)
{
    (void)state;
    char line[] = "--host a --host=b --port 503";
    struct options options;
    struct error error;
    assert_true(read_words(line, OPTIONS_FIND, &options, &error));
    assert_int_equal(options.host_count, 2);
    assert_string_equal(options.hosts[0], "a");
    assert_string_equal(options.hosts[1], "b");
    options_free(&options);
    expect_refused("--serial a --host b", OPTIONS_FIND, "--serial and --host exclude each other");
    expect_refused("--host a --host b", OPTIONS_LINE, "--host is given twice");
}

static void missing_and_needless_values_are_refused(void **state)
{
    (void)state;
    expect_refused("--format", every_group, "--format lacks its value: text|json|csv|html");
    expect_refused("a.yaml --output", every_group, "--output lacks its value: FILE");
    expect_refused("--quiet=yes", every_group, "--quiet takes no value");
    expect_refused("--help=", every_group, "--help takes no value");
}

static void values_that_do_not_fit_are_refused(void **state)
{
    (void)state;
    const struct {
        const char *line, *message;
    } rows[] = {
        {"--format xml", "--format 'xml': one of text|json|csv|html is due"},
        {"--format=", "--format '': one of text|json|csv|html is due"},
        {"--output=", "--output '': a file's name is due"},
        {"--color yes", "--color 'yes': auto, always or never is due"},
        {"--every 5", "--every '5': a time from 10 ms to 24 h is due, such as 1s"},
        {"--every 9ms", "--every '9ms': a time from 10 ms to 24 h is due, such as 1s"},
        {"--every 25h", "--every '25h': a time from 10 ms to 24 h is due, such as 1s"},
        {"--every 1Hz", "--every '1Hz': a time from 10 ms to 24 h is due, such as 1s"},
        {"--every -1s", "--every '-1s': a time from 10 ms to 24 h is due, such as 1s"},
        {"--passes 0", "--passes '0': a whole number from 1 is due"},
        {"--passes 1.5", "--passes '1.5': a whole number from 1 is due"},
        {"--serial=", "--serial '': a port such as /dev/ttyUSB0 is due"},
        {"--host=", "--host '': a name or address is due"},
        {"--port 65536", "--port '65536': a number from 1 to 65535 is due"},
        {"--port http", "--port 'http': a number from 1 to 65535 is due"},
        {"--unit 256", "--unit '256': 1 to 247 on a serial line, 0 to 255 on TCP is due"},
        {"--unit 0x4", "--unit '0x4': 1 to 247 on a serial line, 0 to 255 on TCP is due"},
        {"--unit 04", "--unit '04': 1 to 247 on a serial line, 0 to 255 on TCP is due"},
        {"--baud fast", "--baud 'fast': a speed such as 9600 or 19200 is due"},
        {"--parity mark", "--parity 'mark': none, even or odd is due"},
        {"--stop-bits 3", "--stop-bits '3': 1 or 2 is due"},
        {"--trace=", "--trace '': a file's name is due"},
        {"--serial a --host b", "--serial and --host exclude each other"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        expect_refused(rows[i].line, every_group, rows[i].message);
}

static void formats_of_verdicts_are_for_commands_that_give_some(void **state)
{
    (void)state;
    static const char *const names[] = {"junit", "openmetrics", "text", "json", "csv", "html"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char *line = text_format("--format %s --color never --output a.txt", names[i]);
        struct options options;
        struct error error;
        assert_true(read_words(line, OPTIONS_VERDICTS, &options, &error));
        assert_string_equal(options.format->name, names[i]);
        options_free(&options);
        free(line);
    }
    expect_refused("--format junit", OPTIONS_RESULT,
                   "--format junit is of verdicts, and this command gives none; one of text|json|csv|html is due");
    expect_refused("--format openmetrics", OPTIONS_RESULT,
                   "--format openmetrics is of verdicts, and this command gives none; one of text|json|csv|html is "
                   "due");
    expect_refused("--format prom", OPTIONS_VERDICTS,
                   "--format 'prom': one of text|json|csv|html|junit|openmetrics is due");
    char *help = options_help(OPTIONS_VERDICTS);
    /* what is too wide for its column has its help below, where that of the others stands */
    assert_non_null(strstr(help, "  --format text|json|csv|html|junit|openmetrics\n"
                                 "                               how the result is written (text)\n"
                                 "  --output FILE                write"));
    assert_null(strstr(help, "text|json|csv|html "));
    free(help);
}

static void times_are_read_with_and_without_a_space(void **state)
{
    (void)state;
    const struct {
        const char *text;
        double every_s;
    } rows[] = {{"1s", 1}, {"1 s", 1}, {"500ms", 0.5}, {"2min", 120}, {"10 ms", 0.01}, {"24h", 86400}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char option[] = "--every";
        char *value = text_copy(rows[i].text);
        char *words[] = {option, value};
        struct options options;
        assert_true(options_read(2, words, OPTIONS_PASSES, &options, NULL));
        assert_true(options.every_s > rows[i].every_s - 1e-9 && options.every_s < rows[i].every_s + 1e-9);
        options_free(&options);
        free(value);
    }
}

static void help_lists_the_options_of_the_command(void **state)
{
    (void)state;
    char *help = options_help(OPTIONS_RESULT);
    assert_non_null(strstr(help, "  --format text|json|csv|html "));
    assert_non_null(strstr(help, "  --help "));
    assert_null(strstr(help, "--unit"));
    assert_null(strstr(help, "--quiet"));
    free(help);
}

/* The line that results from a sheet's and from options; the caller frees it. */
static struct line line_of(const struct line *of_sheet, const char *given)
{
    char *words = text_copy(given);
    struct sheet sheet = {.path = (char *)"P-204.yaml", .tag = (char *)"P-204", .line = *of_sheet};
    struct options options;
    struct error error;
    struct line line;
    assert_true(read_words(words, OPTIONS_LINE, &options, &error));
    assert_true(options_line(&options, &sheet, &line, &error));
    options_free(&options);
    free(words);
    return line;
}

static void the_sheet_has_the_line_where_nothing_is_given(void **state)
{
    (void)state;
    const struct line of_sheet = {
        .serial = (char *)"/dev/ttyS0", .baud = 9600, .parity = PARITY_ODD, .stop_bits = 2, .unit = 4, .alone = true};
    struct line line = line_of(&of_sheet, "");
    assert_string_equal(line.serial, "/dev/ttyS0");
    assert_ptr_not_equal(line.serial, of_sheet.serial);
    assert_int_equal(line.baud, 9600);
    assert_int_equal(line.parity, PARITY_ODD);
    assert_int_equal(line.stop_bits, 2);
    assert_int_equal(line.unit, 4);
    assert_true(line.alone);
    line_free(&line);
}

static void what_is_given_goes_over_the_sheet(void **state)
{
    (void)state;
    const struct line of_sheet = {
        .serial = (char *)"/dev/ttyS0", .baud = 9600, .parity = PARITY_ODD, .stop_bits = 1, .unit = 4};
    struct line line = line_of(&of_sheet, "--serial /dev/ttyUSB1 --baud 38400 --parity even --stop-bits 2 --unit 9");
    assert_string_equal(line.serial, "/dev/ttyUSB1");
    assert_int_equal(line.baud, 38400);
    assert_int_equal(line.parity, PARITY_EVEN);
    assert_int_equal(line.stop_bits, 2);
    assert_int_equal(line.unit, 9);
    line_free(&line);
}

static void a_host_takes_the_place_of_a_port_and_back(void **state)
{
    (void)state;
    const struct line serial = {.serial = (char *)"/dev/ttyS0", .baud = 9600, .stop_bits = 1, .unit = 4};
    struct line line = line_of(&serial, "--host 192.0.2.10");
    assert_null(line.serial);
    assert_string_equal(line.host, "192.0.2.10");
    assert_int_equal(line.port, 502);
    line_free(&line);
    const struct line host = {.host = (char *)"192.0.2.10", .port = 5020, .unit = 4};
    line = line_of(&host, "--serial /dev/ttyUSB0");
    assert_null(line.host);
    assert_string_equal(line.serial, "/dev/ttyUSB0");
    assert_int_equal(line.baud, 19200);
    assert_int_equal(line.parity, PARITY_EVEN);
    assert_int_equal(line.stop_bits, 1);
    line_free(&line);
    line = line_of(&host, "--port 1502");
    assert_int_equal(line.port, 1502);
    line_free(&line);
}

/* MODBUS over Serial Line V1.02, section 2.5.1: without parity two stop bits. */
static void stop_bits_go_with_the_parity(void **state)
{
    (void)state;
    const struct line host = {.host = (char *)"192.0.2.10", .unit = 4};
    struct line line = line_of(&host, "--serial /dev/ttyUSB0 --parity none");
    assert_int_equal(line.parity, PARITY_NONE);
    assert_int_equal(line.stop_bits, 2);
    line_free(&line);
    const struct line even = {
        .serial = (char *)"/dev/ttyS0", .baud = 9600, .parity = PARITY_EVEN, .stop_bits = 1, .unit = 4};
    line = line_of(&even, "--parity none");
    assert_int_equal(line.stop_bits, 2);
    line_free(&line);
    line = line_of(&even, "--parity none --stop-bits 1");
    assert_int_equal(line.stop_bits, 1);
    line_free(&line);
}

static void expect_no_line(const struct line *of_sheet, const char *message)
{
    struct sheet sheet = {.path = (char *)"P-204.yaml", .tag = (char *)"P-204", .line = *of_sheet};
    struct options options = {0};
    struct error error = {0};
    struct line line;
    assert_false(options_line(&options, &sheet, &line, &error));
    assert_int_equal(error.kind, ERROR_USE);
    assert_string_equal(error.text, message);
    line_free(&line);
}

static void a_line_that_cannot_be_is_refused(void **state)
{
    (void)state;
    expect_no_line(&(struct line){.unit = 4}, "P-204.yaml names no line; give --serial or --host");
    expect_no_line(&(struct line){.serial = (char *)"/dev/ttyS0", .unit = 0},
                   "P-204: unit 0; on a serial line 1 to 247 is due");
    expect_no_line(&(struct line){.serial = (char *)"/dev/ttyS0", .unit = 248},
                   "P-204: unit 248; on a serial line 1 to 247 is due");
}

static void tcp_takes_any_unit(void **state)
{
    (void)state;
    const struct line host = {.host = (char *)"192.0.2.10", .unit = 4};
    struct line line = line_of(&host, "--unit 0");
    assert_int_equal(line.unit, 0);
    assert_true(line.unit_given);
    line_free(&line);
    line = line_of(&host, "--unit 255");
    assert_int_equal(line.unit, 255);
    line_free(&line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_given_is_text_to_standard_output),
        cmocka_unit_test(every_option_is_taken),
        cmocka_unit_test(every_option_of_the_line_is_taken),
        cmocka_unit_test(a_value_may_follow_an_equals_sign),
        cmocka_unit_test(options_and_files_mix_in_any_order),
        cmocka_unit_test(two_dashes_end_the_options),
        cmocka_unit_test(a_value_may_begin_with_a_dash),
        cmocka_unit_test(abbreviations_are_refused),
        cmocka_unit_test(unknown_options_suggest_the_nearest),
        cmocka_unit_test(options_of_other_commands_are_unknown),
        cmocka_unit_test(an_option_given_twice_is_refused),
        cmocka_unit_test(options_of_records_are_taken),
        cmocka_unit_test(options_that_confirm_are_taken_only_where_they_belong),
        cmocka_unit_test(options_of_history_are_taken),
        cmocka_unit_test(a_search_takes_several_hosts),
        cmocka_unit_test(missing_and_needless_values_are_refused),
        cmocka_unit_test(values_that_do_not_fit_are_refused),
        cmocka_unit_test(formats_of_verdicts_are_for_commands_that_give_some),
        cmocka_unit_test(times_are_read_with_and_without_a_space),
        cmocka_unit_test(help_lists_the_options_of_the_command),
        cmocka_unit_test(the_sheet_has_the_line_where_nothing_is_given),
        cmocka_unit_test(what_is_given_goes_over_the_sheet),
        cmocka_unit_test(a_host_takes_the_place_of_a_port_and_back),
        cmocka_unit_test(stop_bits_go_with_the_parity),
        cmocka_unit_test(a_line_that_cannot_be_is_refused),
        cmocka_unit_test(tcp_takes_any_unit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
