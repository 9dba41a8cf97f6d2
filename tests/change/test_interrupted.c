/* SPDX-License-Identifier: MIT */
/* What is told of a write that did not come to its end. */
#include "change/interrupted.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct journal journal_of(size_t steps)
{
    struct journal journal = {.tag = text_copy("P-204"),
                              .line = text_copy("/dev/ttyUSB0 19200 8E1"),
                              .unit = 4,
                              .who = text_copy("mira"),
                              .host = text_copy("cart-2"),
                              .process = 4711,
                              .before = {{0x1a, 0x2b, 0x3c, 0x4d}},
                              .began_ms = 1769824805000, /* 2026-01-31 02:00:05 UTC, by date(1) */
                              .steps = memory_new(steps, sizeof(struct journal_step)),
                              .step_count = steps};
    return journal;
}

static void step(struct journal *journal, size_t i, const char *parameter, enum write_outcome outcome)
{
    journal->steps[i] = (struct journal_step){.parameter = text_copy(parameter),
                                              .was_shown = text_copy("6.00 A"),
                                              .to_shown = text_copy("3.00 A"),
                                              .outcome = outcome};
}

static struct texts tell(const struct journal *journal, bool running)
{
    struct texts lines = {0};
    interrupted_tell(journal, "sheets/P-204.yaml", running, &lines);
    return lines;
}

static void expect_lines(const struct journal *journal, bool running, const char *const *expected, size_t count)
{
    struct texts lines = tell(journal, running);
    for (size_t i = 0; i < count && i < lines.count; i++)
        assert_string_equal(lines.items[i], expected[i]);
    assert_int_equal(lines.count, count);
    texts_free(&lines);
}

#define FIRST                                                                                                          \
    "A write of P-204 (/dev/ttyUSB0 19200 8E1, unit 4), begun 2026-01-31 02:00:05 UTC by mira on cart-2, did not "     \
    "come to its end."
#define LAST "To see what is still to be written: asleft write sheets/P-204.yaml"
#define EXPECT(journal, running, ...)                                                                                  \
    expect_lines(journal, running, (const char *const[]){__VA_ARGS__},                                                 \
                 sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

static void in_the_middle(void **state)
{
    (void)state;
    struct journal journal = journal_of(5);
    step(&journal, 0, "motor_voltage", WRITE_KEPT);
    step(&journal, 1, "motor_current", WRITE_SENT);
    step(&journal, 2, "motor_speed", WRITE_PLANNED);
    step(&journal, 3, "stop_method", WRITE_PLANNED);
    step(&journal, 4, NULL, WRITE_PLANNED);
    EXPECT(&journal, false, FIRST,
           "Not known, the request was on its way (read these at the drive): motor_current from 6.00 A to 3.00 A.",
           "Written and read back: motor_voltage from 6.00 A to 3.00 A.",
           "Not begun: motor_speed from 6.00 A to 3.00 A; stop_method from 6.00 A to 3.00 A.",
           "The drive was not told to save: what was written is lost at power off.",
           "Keep the machine stopped until this is settled. To put back what was there: asleft restore "
           "sheets/P-204.yaml 1a2b3c4d",
           LAST);
    journal_free(&journal);
}

static void before_anything_was_sent(void **state)
{
    (void)state;
    struct journal journal = journal_of(2);
    step(&journal, 0, "p", WRITE_PLANNED);
    step(&journal, 1, NULL, WRITE_PLANNED);
    EXPECT(&journal, false, FIRST, "Not begun: p from 6.00 A to 3.00 A.",
           "Nothing was written: the drive holds what it held.", LAST);
    journal_free(&journal);
}

static void while_another_run_holds_the_line(void **state)
{
    (void)state;
    struct journal journal = journal_of(1);
    step(&journal, 0, "p", WRITE_SENT);
    EXPECT(&journal, true, FIRST,
           "The line is in use at this moment: it may still be at work (process 4711 on cart-2). Wait until it has "
           "ended, then call again.",
           "Not known, the request was on its way (read these at the drive): p from 6.00 A to 3.00 A.");
    journal_free(&journal);
}

static void during_the_save(void **state)
{
    (void)state;
    struct journal journal = journal_of(2);
    step(&journal, 0, "p", WRITE_KEPT);
    step(&journal, 1, NULL, WRITE_SENT);
    struct texts lines = tell(&journal, false);
    assert_int_equal(lines.count, 5);
    assert_string_equal(lines.items[2],
                        "Whether the drive saved its values is not known: what was written may be lost at power off.");
    texts_free(&lines);
    journal_free(&journal);
}

static void every_outcome_has_words_and_its_note(void **state)
{
    (void)state;
    for (unsigned outcome = 0; outcome < WRITE_OUTCOMES; outcome++) {
        struct journal journal = journal_of(1);
        step(&journal, 0, "parameter_name", (enum write_outcome)outcome);
        journal.steps[0].note = text_copy("the drive holds 4.00 A instead");
        journal.restores = true;
        struct texts lines = tell(&journal, false);
        char *all = texts_join(&lines, "\n");
        assert_non_null(strstr(all, "A restore of P-204"));
        assert_non_null(strstr(all, "parameter_name from 6.00 A to 3.00 A (the drive holds 4.00 A instead)."));
        bool reached =
            outcome == WRITE_SENT || outcome == WRITE_UNKNOWN || outcome == WRITE_KEPT || outcome == WRITE_CLAMPED;
        assert_int_equal(strstr(all, "Nothing was written") == NULL, reached);
        assert_int_equal(strstr(all, "asleft restore") != NULL, reached);
        free(all);
        texts_free(&lines);
        journal_free(&journal);
    }
}

static void without_a_record_nothing_is_promised(void **state)
{
    (void)state;
    struct journal journal = journal_of(1);
    step(&journal, 0, "p", WRITE_KEPT);
    journal.before = (struct record_id){{0}};
    struct texts lines = tell(&journal, false);
    assert_non_null(strstr(lines.items[2], "There is no record of what was there"));
    texts_free(&lines);
    journal_free(&journal);
}

static void what_has_ended_is_not_told(void **state)
{
    (void)state;
    struct journal journal = journal_of(1);
    step(&journal, 0, "p", WRITE_KEPT);
    journal.ended_ms = journal.began_ms + 1;
    struct texts lines = tell(&journal, false);
    assert_int_equal(lines.count, 0);
    texts_free(&lines);
    journal_free(&journal);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(in_the_middle),
        cmocka_unit_test(before_anything_was_sent),
        cmocka_unit_test(while_another_run_holds_the_line),
        cmocka_unit_test(during_the_save),
        cmocka_unit_test(every_outcome_has_words_and_its_note),
        cmocka_unit_test(without_a_record_nothing_is_promised),
        cmocka_unit_test(what_has_ended_is_not_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
