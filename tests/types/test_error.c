/* SPDX-License-Identifier: MIT */
/* Errors: how they are filled, gain context on their way up, and are cut. */
#include "types/error.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void setting_fills_kind_and_text_and_says_no(void **state)
{
    (void)state;
    struct error error = {0};
    assert_false(error_set(&error, ERROR_CONTACT, "port %u is %s", 502, "closed"));
    assert_int_equal(error.kind, ERROR_CONTACT);
    assert_string_equal(error.text, "port 502 is closed");
}

static void setting_anew_replaces(void **state)
{
    (void)state;
    struct error error = {0};
    error_set(&error, ERROR_FILE, "a longer first text");
    error_set(&error, ERROR_BUSY, "second");
    assert_int_equal(error.kind, ERROR_BUSY);
    assert_string_equal(error.text, "second");
}

static void context_stands_in_front_and_keeps_the_kind(void **state)
{
    (void)state;
    struct error error = {0};
    error_set(&error, ERROR_CONTACT, "no such device");
    assert_false(error_context(&error, "%s", "/dev/ttyUSB0"));
    assert_false(error_context(&error, "drive %s", "P-204"));
    assert_string_equal(error.text, "drive P-204: /dev/ttyUSB0: no such device");
    assert_int_equal(error.kind, ERROR_CONTACT);
}

static void a_line_that_does_not_open_says_what_kept_it(void **state)
{
    (void)state;
    struct error error = {0};
    assert_false(error_set_line(&error, ERROR_BUSY, LINE_PORT_IN_USE, "port %d", 3));
    error_context(&error, "P-204");
    assert_int_equal(error.kind, ERROR_BUSY);
    assert_int_equal(error.trouble, LINE_PORT_IN_USE);
    assert_string_equal(error.text, "P-204: port 3");
    error_set(&error, ERROR_CONTACT, "anything else");
    assert_int_equal(error.trouble, LINE_TROUBLE_NONE);
}

static void nobody_to_tell_is_fine(void **state)
{
    (void)state;
    assert_false(error_set(NULL, ERROR_USE, "unheard"));
    assert_false(error_set_line(NULL, ERROR_CONTACT, LINE_PORT_MISSING, "unheard"));
    assert_false(error_context(NULL, "unheard"));
}

static void a_text_too_long_is_cut_at_its_end(void **state)
{
    (void)state;
    struct error error = {0};
    error_set(&error, ERROR_FILE, "head%0600d", 0);
    assert_int_equal(strlen(error.text), sizeof error.text - 1);
    assert_memory_equal(error.text, "head", 4);
}

static void context_cuts_the_end_and_not_itself(void **state)
{
    (void)state;
    struct error error = {0};
    error_set(&error, ERROR_FILE, "%0510d", 0);
    error_context(&error, "front");
    assert_int_equal(strlen(error.text), sizeof error.text - 1);
    assert_memory_equal(error.text, "front: 00", 9);
}

static void a_context_too_long_is_cut_as_well(void **state)
{
    (void)state;
    struct error error = {0};
    error_set(&error, ERROR_FILE, "tail");
    error_context(&error, "%0900d", 1);
    assert_int_equal(strlen(error.text), sizeof error.text - 1);
    assert_null(strstr(error.text, "tail"));
}

static void a_percent_sign_in_the_text_is_only_a_sign(void **state)
{
    (void)state;
    struct error error = {0};
    error_set(&error, ERROR_FILE, "%s", "86.5 %s %n");
    error_context(&error, "%s", "100 %d");
    assert_string_equal(error.text, "100 %d: 86.5 %s %n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(setting_fills_kind_and_text_and_says_no),
        cmocka_unit_test(setting_anew_replaces),
        cmocka_unit_test(context_stands_in_front_and_keeps_the_kind),
        cmocka_unit_test(a_line_that_does_not_open_says_what_kept_it),
        cmocka_unit_test(nobody_to_tell_is_fine),
        cmocka_unit_test(a_text_too_long_is_cut_at_its_end),
        cmocka_unit_test(context_cuts_the_end_and_not_itself),
        cmocka_unit_test(a_context_too_long_is_cut_as_well),
        cmocka_unit_test(a_percent_sign_in_the_text_is_only_a_sign),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
