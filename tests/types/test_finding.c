/* SPDX-License-Identifier: MIT */
/* Findings: counting, what they come to together, and the words of the interface. */
#include "types/finding.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static struct findings with(size_t agrees, size_t differs, size_t unread, size_t implausible, size_t unchecked)
{
    const size_t counts[VERDICT_KINDS] = {agrees, differs, unread, implausible, unchecked};
    struct findings findings = {0};
    for (int verdict = 0; verdict < VERDICT_KINDS; verdict++)
        for (size_t i = 0; i < counts[verdict]; i++)
            findings_add(&findings)->verdict = (enum verdict)verdict;
    return findings;
}

static void each_verdict_is_counted_by_itself(void **state)
{
    (void)state;
    struct findings findings = with(5, 4, 3, 2, 1);
    assert_int_equal(findings_count(&findings, VERDICT_AGREES), 5);
    assert_int_equal(findings_count(&findings, VERDICT_DIFFERS), 4);
    assert_int_equal(findings_count(&findings, VERDICT_UNREAD), 3);
    assert_int_equal(findings_count(&findings, VERDICT_IMPLAUSIBLE), 2);
    assert_int_equal(findings_count(&findings, VERDICT_UNCHECKED), 1);
    findings_free(&findings);
    assert_int_equal(findings.count, 0);
}

static void the_overall_verdict_follows_its_table(void **state)
{
    (void)state;
    const struct {
        size_t agrees, differs, unread, implausible, unchecked;
        enum overall overall;
    } rows[] = {
        {0, 0, 0, 0, 0, OVERALL_INCOMPLETE}, /* nothing was compared */
        {0, 0, 0, 0, 3, OVERALL_INCOMPLETE}, {1, 0, 0, 0, 0, OVERALL_AGREES},     {1, 0, 0, 0, 9, OVERALL_AGREES},
        {9, 0, 1, 0, 0, OVERALL_INCOMPLETE}, {0, 0, 1, 0, 0, OVERALL_INCOMPLETE}, {9, 1, 0, 0, 0, OVERALL_DIFFERS},
        {9, 0, 0, 1, 0, OVERALL_DIFFERS},    {0, 1, 9, 0, 0, OVERALL_DIFFERS}, /* a mismatch is not hidden by what is
                                                                                  silent */
        {0, 0, 9, 1, 0, OVERALL_DIFFERS},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct findings findings =
            with(rows[i].agrees, rows[i].differs, rows[i].unread, rows[i].implausible, rows[i].unchecked);
        assert_int_equal(findings_overall(&findings), rows[i].overall);
        findings_free(&findings);
    }
}

static void a_finding_frees_all_it_owns(void **state)
{
    (void)state;
    struct findings findings = {0};
    struct finding *finding = findings_add(&findings);
    finding->parameter = text_copy("motor_current");
    finding->means = text_copy("motor.rated_current");
    texts_add(&finding->expected.one_of, text_copy("terminals"));
    finding->found = (struct value){.kind = VALUE_WORD, .text = text_copy("keypad")};
    finding->raw = memory_new(2, sizeof *finding->raw);
    finding->basis = text_copy("basis");
    finding->remark = text_copy("remark");
    finding->allow_because = text_copy("rewound in 2019");
    finding->cause = (struct cause){.kind = CAUSE_FACTORY_DEFAULT, .text = text_copy("4.00 A is the factory default")};
    finding->also = memory_new(1, sizeof *finding->also);
    finding->also[finding->also_count++] = (struct cause){.kind = CAUSE_DECIMAL_SHIFT, .text = text_copy("a tenth")};
    findings_free(&findings); /* the leak checker looks on */
    assert_null(findings.items);
}

static void the_words_are_those_of_the_interface(void **state)
{
    (void)state;
    assert_string_equal(verdict_word(VERDICT_AGREES), "agrees");
    assert_string_equal(verdict_word(VERDICT_DIFFERS), "differs");
    assert_string_equal(verdict_word(VERDICT_UNREAD), "unread");
    assert_string_equal(verdict_word(VERDICT_IMPLAUSIBLE), "implausible");
    assert_string_equal(verdict_word(VERDICT_UNCHECKED), "unchecked");
    assert_string_equal(stake_word(STAKE_PROCESS), "process");
    assert_string_equal(stake_word(STAKE_EQUIPMENT), "equipment");
    assert_string_equal(stake_word(STAKE_PEOPLE), "people");
    assert_string_equal(source_word(SOURCE_NONE), "");
    assert_string_equal(source_word(SOURCE_NAMEPLATE), "nameplate");
    assert_string_equal(source_word(SOURCE_DERIVED), "derived");
    assert_string_equal(source_word(SOURCE_ESTIMATE), "estimate");
    assert_string_equal(source_word(SOURCE_JOB), "job");
    assert_string_equal(overall_word(OVERALL_AGREES), "agrees");
    assert_string_equal(overall_word(OVERALL_DIFFERS), "differs");
    assert_string_equal(overall_word(OVERALL_INCOMPLETE), "incomplete");
}

static void the_words_of_causes_are_those_of_the_interface(void **state)
{
    (void)state;
    static const char *const words[] = {
        [CAUSE_NONE] = "",
        [CAUSE_OTHER_VOLTAGE_COLUMN] = "other-voltage-column",
        [CAUSE_SUPPLY_VOLTAGE_FOR_MOTOR_VOLTAGE] = "supply-voltage-for-motor-voltage",
        [CAUSE_HORSEPOWER_FOR_KILOWATT] = "horsepower-for-kilowatt",
        [CAUSE_KILOWATT_FOR_HORSEPOWER] = "kilowatt-for-horsepower",
        [CAUSE_SYNCHRONOUS_SPEED] = "synchronous-speed",
        [CAUSE_OTHER_MAINS_FREQUENCY] = "other-mains-frequency",
        [CAUSE_STAR_FOR_DELTA] = "star-for-delta",
        [CAUSE_DECIMAL_SHIFT] = "decimal-shift",
        [CAUSE_WORDS_SWAPPED] = "words-swapped",
        [CAUSE_BYTES_SWAPPED] = "bytes-swapped",
        [CAUSE_SIGN_LOST] = "sign-lost",
        [CAUSE_ADDRESS_OFF_BY_ONE] = "address-off-by-one",
        [CAUSE_FACTORY_DEFAULT] = "factory-default",
        [CAUSE_NEVER_SET] = "never-set",
        [CAUSE_LIMITS_EXCHANGED] = "limits-exchanged",
        [CAUSE_TRUNCATED_TO_RANGE] = "truncated-to-range",
        [CAUSE_DRIVE_EXCHANGED] = "drive-exchanged",
        [CAUSE_FIRMWARE_CHANGED] = "firmware-changed",
        [CAUSE_UNKNOWN] = "unknown",
    };
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        assert_string_equal(cause_word((enum cause_kind)i), words[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_verdict_is_counted_by_itself),
        cmocka_unit_test(the_overall_verdict_follows_its_table),
        cmocka_unit_test(a_finding_frees_all_it_owns),
        cmocka_unit_test(the_words_are_those_of_the_interface),
        cmocka_unit_test(the_words_of_causes_are_those_of_the_interface),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
