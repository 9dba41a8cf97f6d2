/* SPDX-License-Identifier: MIT */
/* The cautions before a list: which apply, and that the manual has all of them in the same words. */
#include "bus/map_builder.h"
#include "change/cautions.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

static const char page[] = ASLEFT_SOURCE_DIR "/docs/manual/writing.md";

static void those_that_apply_the_gravest_first(void **state)
{
    (void)state;
    struct map map = map_start(ORDER_HIGH_FIRST);
    struct change_list list = {0};
    (void)map_add(&map, "p", TABLE_HOLDING, 0, TYPE_U16);
    map_add(&map, "q", TABLE_HOLDING, 1, TYPE_U16)->could_start = true;
    cautions_add(&map, &list);
    assert_int_equal(list.cautions.count, 0); /* nothing is changed */
    change_list_add(&list)->parameter = 0;
    cautions_add(&map, &list);
    assert_int_equal(list.cautions.count, 3);
    for (size_t i = 0; i < 3; i++)
        assert_string_equal(list.cautions.items[i], cautions_all[i + 1]);
    texts_free(&list.cautions);
    change_list_add(&list)->parameter = 1;
    cautions_add(&map, &list);
    assert_int_equal(list.cautions.count, 4);
    for (size_t i = 0; i < 4; i++)
        assert_string_equal(list.cautions.items[i], cautions_all[i]);
    assert_null(cautions_all[4]);
    change_list_free(&list);
    map_free(&map);
}

static void the_manual_has_all_of_them(void **state)
{
    (void)state;
    FILE *file = fopen(page, "r");
    assert_non_null(file);
    char *text = memory_new(1, 1 << 20);
    assert_in_range(fread(text, 1, (1 << 20) - 1, file), 1, (1 << 20) - 2);
    (void)fclose(file);
    size_t count = 0;
    for (const char *const *caution = cautions_all; *caution != NULL; caution++, count++) {
        char *line = text_format("\n- %s\n", *caution);
        if (strstr(text, line) == NULL)
            fail_msg("%s does not say: %s", page, *caution);
        free(line);
    }
    assert_true(count > 0);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(those_that_apply_the_gravest_first),
        cmocka_unit_test(the_manual_has_all_of_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
