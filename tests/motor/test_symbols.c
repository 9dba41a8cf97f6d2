/* SPDX-License-Identifier: MIT */
/* Every quantity that is computed has a symbol, and no two share one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "motor/symbols.h"

#include <ctype.h>
#include <string.h>

static void every_quantity_has_a_symbol(void **state)
{
    (void)state;
    for (enum means means = MEANS_NONE + 1; means < MEANS_COUNT; means++)
        if (means_table[means].dimension != DIMENSION_NONE && symbol_of(means) == NULL)
            fail_msg("%s has no symbol", means_table[means].name);
    assert_string_equal(symbol_of(MEANS_MOTOR_POLES), "p");
    assert_string_equal(symbol_of(MEANS_SUPPLY_PHASES), "m");
}

static void words_have_none(void **state)
{
    (void)state;
    assert_null(symbol_of(MEANS_NONE));
    assert_null(symbol_of(MEANS_CONTROL_START_SOURCE));
    assert_null(symbol_of(MEANS_DRIVE_SERIAL_NUMBER));
}

static void symbols_differ(void **state)
{
    (void)state;
    for (enum means a = MEANS_NONE; a < MEANS_COUNT; a++)
        for (enum means b = a + 1; b < MEANS_COUNT; b++)
            if (symbol_of(a) != NULL && symbol_of(b) != NULL && strcmp(symbol_of(a), symbol_of(b)) == 0)
                fail_msg("%s and %s share %s", means_table[a].name, means_table[b].name, symbol_of(a));
}

static void symbols_are_plain_ascii(void **state)
{
    (void)state;
    for (enum means means = MEANS_NONE; means < MEANS_COUNT; means++)
        for (const char *at = symbol_of(means); at != NULL && *at != '\0'; at++)
            assert_true(isalnum((unsigned char)*at) || *at == '_' || *at == ' ');
}

static void a_symbol_is_found_by_name(void **state)
{
    (void)state;
    assert_string_equal(symbol_named("motor.rated_current"), "I_N");
    assert_null(symbol_named("motor.rated_curren"));
    assert_null(symbol_named("control.start_source"));
    assert_null(symbol_named(""));
    assert_null(symbol_named(NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_quantity_has_a_symbol),
        cmocka_unit_test(words_have_none),
        cmocka_unit_test(symbols_differ),
        cmocka_unit_test(symbols_are_plain_ascii),
        cmocka_unit_test(a_symbol_is_found_by_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
