/* SPDX-License-Identifier: MIT */
/* Growing arrays, owned strings, and copies that share nothing. */
#include "types/memory.h"

#include "types/readings.h"
#include "types/value.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void new_memory_is_zeroed(void **state)
{
    (void)state;
    int *numbers = memory_new(100, sizeof *numbers);
    for (size_t i = 0; i < 100; i++)
        assert_int_equal(numbers[i], 0);
    free(numbers);
}

static void none_of_something_can_be_freed(void **state)
{
    (void)state;
    void *nothing = memory_new(0, 8);
    assert_non_null(nothing);
    free(nothing);
}

static void growing_keeps_what_is_there_and_zeroes_the_next(void **state)
{
    (void)state;
    size_t *items = NULL;
    for (size_t count = 0; count < 70; count++) {
        items = memory_grow(items, count, sizeof *items);
        assert_int_equal(items[count], 0);
        items[count] = count + 1;
    }
    for (size_t i = 0; i < 70; i++)
        assert_int_equal(items[i], i + 1);
    free(items);
}

static void growing_after_removal_zeroes_what_was_left(void **state)
{
    (void)state;
    int *items = NULL;
    for (size_t count = 0; count < 3; count++) {
        items = memory_grow(items, count, sizeof *items);
        items[count] = 7;
    }
    items = memory_grow(items, 2, sizeof *items);
    assert_int_equal(items[1], 7);
    assert_int_equal(items[2], 0);
    free(items);
}

static void a_text_is_copied_and_nothing_stays_nothing(void **state)
{
    (void)state;
    char original[] = "brine";
    char *copy = text_copy(original);
    original[0] = 'B';
    assert_string_equal(copy, "brine");
    free(copy);
    assert_null(text_copy(NULL));
}

static void a_formatted_text_is_as_long_as_it_must(void **state)
{
    (void)state;
    char *text = text_format("%0*d", 5000, 1);
    assert_int_equal(strlen(text), 5000);
    assert_int_equal(text[4999], '1');
    free(text);
}

static void a_list_of_texts_owns_them_in_order(void **state)
{
    (void)state;
    struct texts texts = {0};
    for (size_t i = 0; i < 5; i++)
        texts_add(&texts, text_format("%zu", i));
    assert_int_equal(texts.count, 5);
    assert_string_equal(texts.items[0], "0");
    assert_string_equal(texts.items[4], "4");
    assert_true(texts_have(&texts, "3"));
    assert_false(texts_have(&texts, "5"));
    texts_free(&texts);
    assert_int_equal(texts.count, 0);
    assert_null(texts.items);
    texts_free(&texts);
}

static void a_copied_value_shares_nothing(void **state)
{
    (void)state;
    struct value value = {.kind = VALUE_BITS, .number = 2.5, .truth = true, .text = text_copy("text")};
    texts_add(&value.words, text_copy("running"));
    texts_add(&value.words, text_copy("reverse"));
    struct value copy = value_copy(&value);
    value_free(&value);
    assert_int_equal(value.kind, VALUE_NOTHING);
    assert_int_equal(copy.kind, VALUE_BITS);
    assert_true(copy.truth);
    assert_true(copy.number == 2.5);
    assert_string_equal(copy.text, "text");
    assert_int_equal(copy.words.count, 2);
    assert_string_equal(copy.words.items[1], "reverse");
    value_free(&copy);
}

static void forgetting_values_keeps_the_words(void **state)
{
    (void)state;
    struct readings readings;
    readings_init(&readings, 2);
    struct reading *reading = &readings.items[1];
    reading->asked = reading->in_force = true;
    reading->raw = memory_new(1, sizeof *reading->raw);
    reading->raw[0] = 300;
    reading->raw_count = 1;
    reading->value = (struct value){.kind = VALUE_WORD, .text = text_copy("on")};
    reading->unit = UNIT_A;
    reading->step = 0.01;
    reading->remark = text_copy("a remark");
    readings_forget_values(&readings);
    assert_int_equal(reading->value.kind, VALUE_NOTHING);
    assert_int_equal(reading->unit, UNIT_NONE);
    assert_true(reading->step == 0);
    assert_false(reading->in_force);
    assert_null(reading->remark);
    assert_true(reading->asked);
    assert_int_equal(reading->raw_count, 1);
    assert_int_equal(reading->raw[0], 300);
    readings_free(&readings);
    assert_int_equal(readings.count, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(new_memory_is_zeroed),
        cmocka_unit_test(none_of_something_can_be_freed),
        cmocka_unit_test(growing_keeps_what_is_there_and_zeroes_the_next),
        cmocka_unit_test(growing_after_removal_zeroes_what_was_left),
        cmocka_unit_test(a_text_is_copied_and_nothing_stays_nothing),
        cmocka_unit_test(a_formatted_text_is_as_long_as_it_must),
        cmocka_unit_test(a_list_of_texts_owns_them_in_order),
        cmocka_unit_test(a_copied_value_shares_nothing),
        cmocka_unit_test(forgetting_values_keeps_the_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
