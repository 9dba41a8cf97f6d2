/* SPDX-License-Identifier: MIT */
/* The words of the symptoms are those of the interface. */
#include "types/symptom.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void each_symptom_has_its_word(void **state)
{
    (void)state;
    const struct {
        struct symptom symptom;
        const char *word;
    } rows[] = {
        {{.kind = SYMPTOM_NONE}, ""},
        {{.kind = SYMPTOM_NO_REPLY}, "no-reply"},
        {{.kind = SYMPTOM_CORRUPT}, "corrupt"},
        {{.kind = SYMPTOM_OTHER_UNIT}, "other-unit"},
        {{.kind = SYMPTOM_REFUSED}, "refused"},
        {{.kind = SYMPTOM_UNREACHABLE}, "unreachable"},
        {{.kind = SYMPTOM_CLOSED}, "closed"},
        {{.kind = SYMPTOM_NOT_A_NUMBER}, "not-a-number"},
        {{.kind = SYMPTOM_SELECTOR}, "selector"},
        {{.kind = SYMPTOM_LOCKED}, "locked"},
        {{.kind = SYMPTOM_WATCHDOG_ARMED}, "watchdog-armed"},
        {{.kind = SYMPTOM_OTHER_MODEL}, "other-model"},
        {{.kind = SYMPTOM_EXCEPTION, .exception = 0x01}, "exception-01"},
        {{.kind = SYMPTOM_EXCEPTION, .exception = 0x0b}, "exception-0b"},
        {{.kind = SYMPTOM_EXCEPTION, .exception = 0xfe}, "exception-fe"},
    };
    char text[32];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_string_equal(symptom_word(rows[i].symptom, text, sizeof text), rows[i].word);
}

static void a_buffer_too_small_cuts_the_word(void **state)
{
    (void)state;
    char text[4];
    assert_string_equal(symptom_word((struct symptom){.kind = SYMPTOM_LOCKED}, text, sizeof text), "loc");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_symptom_has_its_word),
        cmocka_unit_test(a_buffer_too_small_cuts_the_word),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
