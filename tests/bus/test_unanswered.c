/* SPDX-License-Identifier: MIT */
/* Which reads may still be answered, and what their replies could be mistaken for. */
#include "bus/unanswered.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static struct unanswered_read read_at(uint8_t function, uint16_t address, uint16_t count)
{
    return (struct unanswered_read){.unit = 1, .function = function, .address = address, .count = count};
}

static void add(struct unanswered *unanswered, uint8_t unit, uint8_t function, uint16_t address, uint16_t count)
{
    const struct unanswered_read read = {
        .unit = unit, .function = function, .address = address, .count = count, .sent_us = address};
    unanswered_add(unanswered, &read);
}

static enum confusion confusion_of(const struct unanswered *unanswered, uint8_t function, uint16_t address,
                                   uint16_t count)
{
    const struct unanswered_read read = read_at(function, address, count);
    return unanswered_confusion(unanswered, &read);
}

static void only_other_addresses_confuse(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    assert_int_equal(confusion_of(&unanswered, 3, 100, 4), CONFUSION_NONE);
    add(&unanswered, 1, 3, 100, 4);
    assert_int_equal(confusion_of(&unanswered, 3, 100, 4), CONFUSION_NONE);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 4), CONFUSION_VALUES);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 5), CONFUSION_EXCEPTION);
    assert_int_equal(confusion_of(&unanswered, 4, 200, 4), CONFUSION_NONE);
    unanswered_free(&unanswered);
}

static void bits_confuse_by_bytes(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 1, 100, 9);
    assert_int_equal(confusion_of(&unanswered, 1, 200, 16), CONFUSION_VALUES);
    assert_int_equal(confusion_of(&unanswered, 1, 200, 17), CONFUSION_EXCEPTION);
    assert_int_equal(confusion_of(&unanswered, 1, 100, 10), CONFUSION_VALUES);
    unanswered_free(&unanswered);
}

static void a_reply_ends_what_was_sent_before_it(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    add(&unanswered, 2, 3, 100, 4);
    add(&unanswered, 1, 4, 100, 2);
    add(&unanswered, 1, 3, 200, 5);
    unanswered_settle(&unanswered, 1, 3, 5);
    assert_int_equal(unanswered.count, 1);
    assert_int_equal(unanswered.reads[0].unit, 2);
    unanswered_free(&unanswered);
}

static void a_reply_to_one_of_two_leaves_the_later(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    add(&unanswered, 1, 3, 100, 4);
    unanswered_settle(&unanswered, 1, 3, 4);
    assert_int_equal(unanswered.count, 1);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 4), CONFUSION_VALUES);
    unanswered_free(&unanswered);
}

static void an_exception_ends_only_the_first_it_may_answer(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 4, 50, 1);
    add(&unanswered, 1, 3, 100, 4);
    add(&unanswered, 1, 3, 200, 5);
    unanswered_settle_exception(&unanswered, 1, 3);
    assert_int_equal(unanswered.count, 1);
    assert_int_equal(unanswered.reads[0].address, 200);
    unanswered_free(&unanswered);
}

static void a_reply_to_nothing_ends_nothing(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    unanswered_settle(&unanswered, 1, 3, 5);
    unanswered_settle(&unanswered, 2, 3, 4);
    unanswered_settle_exception(&unanswered, 1, 4);
    assert_int_equal(unanswered.count, 1);
    unanswered_free(&unanswered);
}

static void a_length_is_expected_of_its_unit_and_function_alone(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 3);
    add(&unanswered, 2, 3, 100, 4);
    add(&unanswered, 1, 1, 100, 8);
    assert_true(unanswered_expects(&unanswered, 1, 3, 3));
    assert_false(unanswered_expects(&unanswered, 1, 3, 4));
    assert_false(unanswered_expects(&unanswered, 1, 4, 3));
    assert_true(unanswered_expects(&unanswered, 1, 1, 3)); /* one byte of bits like 8 of them */
    assert_false(unanswered_expects(&unanswered, 1, 1, 9));
    unanswered_free(&unanswered);
}

static void a_late_frame_tells_when_it_was_asked_for(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    add(&unanswered, 1, 3, 200, 4);
    assert_int_equal(unanswered_sent_us(&unanswered, 1, 3, 8), 100);
    assert_int_equal(unanswered_sent_us(&unanswered, 1, 3, 4), -1);
    unanswered_forget_unit(&unanswered, 1);
    assert_int_equal(unanswered_sent_us(&unanswered, 1, 3, 8), -1);
    unanswered_free(&unanswered);
}

static void a_minute_is_never_late(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    struct unanswered_read read = read_at(3, 100, 4);
    for (int i = 0; i < 1000; i++) { /* an hour of asking a dead drive */
        read.sent_us += 3600000;
        unanswered_add(&unanswered, &read);
    }
    assert_in_range(unanswered.count, 16, 18);
    assert_int_equal(unanswered.reads[unanswered.count - 1].sent_us, read.sent_us);
    unanswered_free(&unanswered);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_other_addresses_confuse),
        cmocka_unit_test(bits_confuse_by_bytes),
        cmocka_unit_test(a_reply_ends_what_was_sent_before_it),
        cmocka_unit_test(a_reply_to_one_of_two_leaves_the_later),
        cmocka_unit_test(an_exception_ends_only_the_first_it_may_answer),
        cmocka_unit_test(a_reply_to_nothing_ends_nothing),
        cmocka_unit_test(a_length_is_expected_of_its_unit_and_function_alone),
        cmocka_unit_test(a_late_frame_tells_when_it_was_asked_for),
        cmocka_unit_test(a_minute_is_never_late),
    };
    return cmocka_run_group_tests_name("unanswered", tests, NULL, NULL);
}
