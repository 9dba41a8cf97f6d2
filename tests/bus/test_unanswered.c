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

static struct doubt doubt_of(const struct unanswered *unanswered, uint8_t function, uint16_t address, uint16_t count)
{
    const struct unanswered_read read = read_at(function, address, count);
    return unanswered_doubt(unanswered, &read);
}

static enum confusion confusion_of(const struct unanswered *unanswered, uint8_t function, uint16_t address,
                                   uint16_t count)
{
    return doubt_of(unanswered, function, address, count).confusion;
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
    unanswered_settle(&unanswered, 1, 3, 10);
    assert_int_equal(unanswered.count, 2);
    assert_int_equal(unanswered.reads[0].unit, 2);
    assert_int_equal(unanswered.reads[1].address, 200);
    unanswered_free(&unanswered);
}

static void a_reply_may_come_twice(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    unanswered_settle(&unanswered, 1, 3, 8);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 4), CONFUSION_VALUES);
    assert_true(doubt_of(&unanswered, 3, 200, 4).copies_only);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 5), CONFUSION_NONE); /* values are no exception */
    unanswered_forget_copies(&unanswered, 1);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 4), CONFUSION_NONE);
    unanswered_free(&unanswered);
}

static void a_reply_to_one_of_two_leaves_both(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    add(&unanswered, 1, 3, 100, 4);
    unanswered_settle(&unanswered, 1, 3, 8);
    assert_int_equal(unanswered.count, 2);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 4), CONFUSION_VALUES);
    assert_false(doubt_of(&unanswered, 3, 200, 4).copies_only);
    unanswered_free(&unanswered);
}

static void an_exception_ends_nothing(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 4, 50, 1);
    add(&unanswered, 1, 3, 100, 4);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 5), CONFUSION_EXCEPTION);
    unanswered_refuse(&unanswered, 1, 3);
    assert_int_equal(confusion_of(&unanswered, 3, 200, 5), CONFUSION_NONE);
    /* it may have been another's, and the values still come */
    assert_int_equal(confusion_of(&unanswered, 3, 200, 4), CONFUSION_VALUES);
    assert_false(doubt_of(&unanswered, 3, 200, 4).copies_only);
    unanswered_free(&unanswered);
}

static void a_reply_to_nothing_ends_nothing(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    unanswered_settle(&unanswered, 1, 3, 10);
    unanswered_settle(&unanswered, 2, 3, 8);
    unanswered_refuse(&unanswered, 1, 4);
    assert_int_equal(unanswered.count, 1);
    assert_false(unanswered.reads[0].answered || unanswered.reads[0].refused);
    unanswered_free(&unanswered);
}

static void a_length_is_expected_of_its_unit_and_function_alone(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 3);
    add(&unanswered, 2, 3, 100, 4);
    add(&unanswered, 1, 1, 100, 8);
    assert_true(unanswered_expects(&unanswered, 3, 1, 3, 3));
    assert_false(unanswered_expects(&unanswered, 3, 1, 3, 4));
    assert_false(unanswered_expects(&unanswered, 3, 1, 4, 3));
    assert_true(unanswered_expects(&unanswered, 3, 1, 1, 3)); /* one byte of bits like 8 of them */
    assert_false(unanswered_expects(&unanswered, 3, 1, 1, 9));
    unanswered_free(&unanswered);
}

static void only_what_is_to_be_over_must_not_be_as_long_as_a_barrier(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    add(&unanswered, 1, 3, 10, 2); /* a barrier that was not answered */
    struct doubt doubt = doubt_of(&unanswered, 3, 200, 4);
    assert_int_equal(doubt.among, 2);
    doubt = doubt_of(&unanswered, 3, 10, 4);
    assert_int_equal(doubt.among, 2);
    assert_true(unanswered_expects(&unanswered, 1, 1, 3, 4));
    assert_false(unanswered_expects(&unanswered, 1, 1, 3, 2));
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

/* ---- writes ---- */

static void writes_that_are_acknowledged_alike_confuse(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 6, 100, 4);
    assert_int_equal(confusion_of(&unanswered, 6, 100, 4), CONFUSION_VALUES);
    assert_int_equal(confusion_of(&unanswered, 6, 100, 5), CONFUSION_EXCEPTION);
    assert_int_equal(confusion_of(&unanswered, 6, 101, 4), CONFUSION_EXCEPTION);
    assert_int_equal(confusion_of(&unanswered, 16, 100, 4), CONFUSION_EXCEPTION); /* not over */
    assert_int_equal(confusion_of(&unanswered, 3, 100, 4), CONFUSION_NONE);
    unanswered_settle(&unanswered, 1, 6, reply_mark(6, 100, 5));
    assert_false(unanswered.reads[0].answered);
    unanswered_settle(&unanswered, 1, 6, reply_mark(6, 100, 4));
    assert_true(unanswered.reads[0].answered);
    assert_int_equal(confusion_of(&unanswered, 6, 100, 4), CONFUSION_VALUES); /* it may come twice */
    assert_true(doubt_of(&unanswered, 6, 100, 4).copies_only);
    assert_int_equal(confusion_of(&unanswered, 6, 100, 5), CONFUSION_NONE);
    unanswered_free(&unanswered);
}

static void the_copy_of_a_refusal_confuses_a_write(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 6, 100, 4);
    unanswered_refuse(&unanswered, 1, 6);
    assert_int_equal(confusion_of(&unanswered, 6, 200, 4), CONFUSION_EXCEPTION);
    assert_false(doubt_of(&unanswered, 6, 200, 4).copies_only);
    assert_int_equal(confusion_of(&unanswered, 16, 200, 4), CONFUSION_NONE);
    unanswered_free(&unanswered);
}

static void a_write_waits_for_all_that_is_unanswered(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    add(&unanswered, 2, 4, 100, 4);
    struct doubt doubt = doubt_of(&unanswered, 6, 200, 4);
    assert_int_equal(doubt.confusion, CONFUSION_EXCEPTION);
    assert_int_equal(doubt.among, 1);
    unanswered_settle(&unanswered, 1, 3, 8);
    assert_int_equal(confusion_of(&unanswered, 6, 200, 4), CONFUSION_NONE);
    unanswered_free(&unanswered);
}

static void the_same_question_confuses_where_something_was_written_since(void **state)
{
    (void)state;
    struct unanswered unanswered = {0};
    add(&unanswered, 1, 3, 100, 4);
    add(&unanswered, 2, 6, 100, 1); /* to another unit */
    assert_int_equal(confusion_of(&unanswered, 3, 100, 4), CONFUSION_NONE);
    add(&unanswered, 1, 6, 500, 1);
    assert_int_equal(confusion_of(&unanswered, 3, 100, 4), CONFUSION_VALUES);
    add(&unanswered, 1, 3, 100, 4); /* asked after it */
    struct doubt doubt = doubt_of(&unanswered, 3, 100, 4);
    assert_int_equal(doubt.among, 1);
    assert_false(doubt.copies_only);
    unanswered_free(&unanswered);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_other_addresses_confuse),
        cmocka_unit_test(bits_confuse_by_bytes),
        cmocka_unit_test(a_reply_ends_what_was_sent_before_it),
        cmocka_unit_test(a_reply_may_come_twice),
        cmocka_unit_test(a_reply_to_one_of_two_leaves_both),
        cmocka_unit_test(an_exception_ends_nothing),
        cmocka_unit_test(a_reply_to_nothing_ends_nothing),
        cmocka_unit_test(a_length_is_expected_of_its_unit_and_function_alone),
        cmocka_unit_test(only_what_is_to_be_over_must_not_be_as_long_as_a_barrier),
        cmocka_unit_test(a_late_frame_tells_when_it_was_asked_for),
        cmocka_unit_test(a_minute_is_never_late),
        cmocka_unit_test(writes_that_are_acknowledged_alike_confuse),
        cmocka_unit_test(the_copy_of_a_refusal_confuses_a_write),
        cmocka_unit_test(a_write_waits_for_all_that_is_unanswered),
        cmocka_unit_test(the_same_question_confuses_where_something_was_written_since),
    };
    return cmocka_run_group_tests_name("unanswered", tests, NULL, NULL);
}
