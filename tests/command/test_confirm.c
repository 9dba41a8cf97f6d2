/* SPDX-License-Identifier: MIT */
/* The command line that writes a list: complete, and understood by a shell as it was meant. */
#include "command/confirm.h"

#include "types/memory.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void expect(const char *command, int count, const char *const *words, const char *expected)
{
    char *copies[16];
    struct options options;
    struct error error = {0};
    for (int i = 0; i < count; i++)
        copies[i] = text_copy(words[i]);
    assert_true(options_read(count, copies, ~0U, &options, &error));
    char *line = confirm_command(command, &options, "7K4Q-M2XD");
    assert_string_equal(line, expected);
    free(line);
    options_free(&options);
    for (int i = 0; i < count; i++)
        free(copies[i]);
}

#define EXPECT(command, expected, ...)                                                                                 \
    do {                                                                                                               \
        const char *const words[] = {__VA_ARGS__};                                                                     \
        expect(command, (int)(sizeof words / sizeof *words), words, expected);                                         \
    } while (0)

static void a_plain_call_stays_plain(void **state)
{
    (void)state;
    EXPECT("write", "asleft write sheets/P-204.yaml --confirm 7K4Q-M2XD", "sheets/P-204.yaml");
    EXPECT("restore", "asleft restore P-204.yaml before-write --replacement B2 --confirm 7K4Q-M2XD", "P-204.yaml",
           "before-write", "--replacement", "B2");
}

static void the_line_and_the_store_are_given_again(void **state)
{
    (void)state;
    EXPECT("write",
           "asleft write a.yaml --serial /dev/ttyUSB0 --unit 4 --baud 9600 --parity none --stop-bits 2 --store "
           "/srv/records.sqlite --confirm 7K4Q-M2XD",
           "--store", "/srv/records.sqlite", "a.yaml", "--stop-bits", "2", "--parity", "none", "--baud", "9600",
           "--unit", "4", "--serial", "/dev/ttyUSB0");
    EXPECT("write", "asleft write a.yaml --host ::1 --port 5020 --unit 0 --confirm 7K4Q-M2XD", "a.yaml", "--host",
           "::1", "--port", "5020", "--unit", "0");
}

/* What an old code, a trace or a file for the result would do again is left out. */
static void other_options_are_not_given_again(void **state)
{
    (void)state;
    EXPECT("write", "asleft write a.yaml --confirm 7K4Q-M2XD", "a.yaml", "--confirm", "0000-0000", "--trace", "t",
           "--format", "json", "--output", "o");
}

/* A POSIX shell is asked what it makes of the words. */
static void a_shell_reads_the_words_as_they_were(void **state)
{
    (void)state;
    const char *name = "a b'c\"d$e`f\\g;h&i|j\t*?[k]{l}~#!.yaml";
    char *copy = text_copy(name);
    char *words[] = {copy};
    struct options options;
    struct error error = {0};
    assert_true(options_read(1, words, OPTIONS_CONFIRM, &options, &error));
    char *line = confirm_command("write", &options, "C");
    char *script = text_format("asleft() { printf '%%s\\n' \"$2\"; }; %s", line);
    setenv("ASLEFT_SCRIPT", script, 1);
    FILE *shell = popen("eval \"$ASLEFT_SCRIPT\"", "r");
    char said[256] = {0};
    assert_non_null(shell);
    assert_non_null(fgets(said, sizeof said, shell));
    assert_int_equal(pclose(shell), 0);
    said[strcspn(said, "\n")] = '\0';
    assert_string_equal(said, name);
    free(script);
    free(line);
    options_free(&options);
    free(copy);
}

static void a_name_that_begins_with_a_dash_is_no_option(void **state)
{
    (void)state;
    EXPECT("write", "asleft write ./-a.yaml --confirm 7K4Q-M2XD", "--", "-a.yaml");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plain_call_stays_plain), cmocka_unit_test(the_line_and_the_store_are_given_again),
        cmocka_unit_test(other_options_are_not_given_again), cmocka_unit_test(a_shell_reads_the_words_as_they_were),
        cmocka_unit_test(a_name_that_begins_with_a_dash_is_no_option)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
