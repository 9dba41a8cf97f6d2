/* SPDX-License-Identifier: MIT */
/* Which readings prove that a drive is stopped, and that nothing can start it. */
#include "change/list_bench.h"

static struct readings *started(struct readings *readings, const struct map *map)
{
    readings_free(readings);
    readings_init(readings, map->count);
    return readings;
}

/* The word that stands against it, or "" where the drive is proved stopped; owned. */
static char *word_of(const struct map *map, struct readings *readings)
{
    char *word = NULL;
    readings_decode(map, NULL, readings);
    bool stopped = change_is_stopped(map, readings, &word);
    assert_int_equal(stopped, word == NULL);
    return stopped ? text_copy("") : word;
}

static void expect_word(const struct map *map, struct readings *readings, unsigned raw, const char *expected)
{
    reading_put_word(started(readings, map), 0, raw);
    char *word = word_of(map, readings);
    assert_string_equal(word, expected);
    free(word);
}

static struct map map_of_bits(const char *const *names, size_t count)
{
    struct map map = map_start(ORDER_HIGH_FIRST);
    struct parameter *state = map_add(&map, "state", TABLE_INPUT, 0, TYPE_BITS);
    state->means = MEANS_LIVE_STATE;
    for (size_t i = 0; i < count; i++)
        names_add(&state->bits, (uint32_t)i, names[i]);
    return map;
}

static void bits_that_name_stopped(void **state)
{
    (void)state;
    static const char *const names[] = {"stopped", "running", "at_speed", "tripped", "restart_pending"};
    struct map map = map_of_bits(names, 5);
    struct readings readings = {0};
    expect_word(&map, &readings, 0x01, "");
    expect_word(&map, &readings, 0x05, "");   /* `at_speed` is a free name */
    expect_word(&map, &readings, 0xffe1, ""); /* bits without names */
    expect_word(&map, &readings, 0x00, "not stopped");
    expect_word(&map, &readings, 0x02, "running");
    expect_word(&map, &readings, 0x03, "running"); /* both: it is not proved */
    expect_word(&map, &readings, 0x09, "tripped");
    expect_word(&map, &readings, 0x11, "restart_pending");
    expect_word(&map, &readings, 0xffff, "running");
    readings_free(&readings);
    map_free(&map);
}

static void bits_that_name_running_only(void **state)
{
    (void)state;
    static const char *const names[] = {"running",         "starting",   "stopping", "sleeping",
                                        "restart_pending", "dc_braking", "tripped",  "local"};
    struct map map = map_of_bits(names, 8);
    struct readings readings = {0};
    expect_word(&map, &readings, 0, "");
    for (unsigned i = 0; i < 8; i++)
        expect_word(&map, &readings, 1U << i, names[i]);
    readings_free(&readings);
    map_free(&map);
}

static void bits_that_name_neither_prove_nothing(void **state)
{
    (void)state;
    static const char *const names[] = {"at_speed", "tripped"};
    struct map map = map_of_bits(names, 2);
    struct readings readings = {0};
    expect_word(&map, &readings, 0, "the map cannot prove it");
    expect_word(&map, &readings, 2, "tripped");
    readings_free(&readings);
    map_free(&map);
}

static void choices_speak_for_themselves(void **state)
{
    (void)state;
    struct readings readings = {0};
    struct map map = map_start(ORDER_HIGH_FIRST);
    struct parameter *row = map_add(&map, "state", TABLE_INPUT, 0, TYPE_U16);
    row->means = MEANS_LIVE_STATE;
    names_add(&row->choices, 0, "ready");
    names_add(&row->choices, 1, "running");
    expect_word(&map, &readings, 0, "the map cannot prove it");
    expect_word(&map, &readings, 1, "running");
    names_add(&map.parameters[0].choices, 2, "stopped");
    expect_word(&map, &readings, 2, "");
    expect_word(&map, &readings, 0, "ready");
    expect_word(&map, &readings, 1, "running");
    expect_word(&map, &readings, 7, "7, which the map does not name");
    readings_free(&readings);
    map_free(&map);
}

static void what_is_not_read_proves_nothing(void **state)
{
    (void)state;
    static const char *const names[] = {"running"};
    struct map map = map_of_bits(names, 1), none = map_start(ORDER_HIGH_FIRST);
    struct readings readings = {0};
    char *word = word_of(&map, started(&readings, &map));
    assert_string_equal(word, "not read");
    free(word);
    (void)map_add(&none, "p", TABLE_HOLDING, 0, TYPE_U16);
    expect_word(&none, &readings, 0, "the map cannot prove it");
    condition_add(&map.parameters[0].applies_when, 0, 0x100); /* it holds only where it does not count */
    expect_word(&map, &readings, 0, "not in force");
    readings_free(&readings);
    map_free(&map);
    map_free(&none);
}

/* ---- run command and enable ---- */

struct absence {
    const char *name;
    enum value_type type;
    const char *word; /* of raw 1; NULL: no choices */
    unsigned raw;
    bool absent;
};

static const struct absence absences[] = {
    {"a bool that is false", TYPE_BOOL, NULL, 0, true},
    {"a bool that is true", TYPE_BOOL, NULL, 1, false},
    {"off", TYPE_U16, "off", 1, true},
    {"no", TYPE_U16, "no", 1, true},
    {"none", TYPE_U16, "none", 1, true},
    {"absent", TYPE_U16, "absent", 1, true},
    {"open", TYPE_U16, "open", 1, true},
    {"inactive", TYPE_BOOL, "inactive", 1, true},
    {"closed", TYPE_U16, "closed", 1, false},
    {"another word that nobody agreed on", TYPE_U16, "idle", 1, false},
    {"a choice that is not named", TYPE_U16, "off", 0, false},
    {"bits, none set", TYPE_BITS, "forward", 0, true},
    {"bits, one without a name set", TYPE_BITS, "forward", 1, true},
    {"bits, one set", TYPE_BITS, "forward", 2, false},
    {"a number", TYPE_U16, NULL, 0, false},
};

static void add_input(struct map *map, const char *name, enum means means, const struct absence *row)
{
    struct parameter *parameter = map_add(map, name, TABLE_INPUT, (unsigned)map->count, row->type);
    parameter->means = means;
    if (row->word != NULL)
        names_add(row->type == TYPE_BITS ? &parameter->bits : &parameter->choices, 1, row->word);
}

/* Each as the run command beside an absent enable, and the other way round. */
static void how_absence_reads(void **state)
{
    const struct absence *row = *state;
    for (int turned = 0; turned < 2; turned++) {
        struct map map = map_start(ORDER_HIGH_FIRST);
        struct readings readings = {0};
        char *why = NULL;
        add_input(&map, "this", turned ? MEANS_LIVE_ENABLE : MEANS_LIVE_RUN_COMMAND, row);
        add_input(&map, "other", turned ? MEANS_LIVE_RUN_COMMAND : MEANS_LIVE_ENABLE, &absences[0]);
        readings_init(&readings, map.count);
        reading_put_word(&readings, 0, row->raw);
        reading_put_word(&readings, 1, 0);
        readings_decode(&map, NULL, &readings);
        assert_int_equal(change_cannot_start(&map, &readings, &why), row->absent);
        assert_int_equal(why == NULL, row->absent);
        free(why);
        readings_free(&readings);
        map_free(&map);
    }
}

static void both_have_to_be_there_and_read(void **state)
{
    (void)state;
    struct map map = map_start(ORDER_HIGH_FIRST);
    struct readings readings = {0};
    char *why = NULL;
    add_input(&map, "run", MEANS_LIVE_RUN_COMMAND, &absences[0]);
    reading_put_word(started(&readings, &map), 0, 0);
    readings_decode(&map, NULL, &readings);
    assert_false(change_cannot_start(&map, &readings, &why));
    assert_string_equal(why, "the map has no live.enable");
    free(why);
    add_input(&map, "enable", MEANS_LIVE_ENABLE, &absences[0]);
    reading_put_word(started(&readings, &map), 0, 0);
    readings_decode(&map, NULL, &readings);
    assert_false(change_cannot_start(&map, &readings, &why));
    assert_string_equal(why, "live.enable (enable) is not read");
    free(why);
    /* a second one that is given counts as well */
    add_input(&map, "enable_2", MEANS_LIVE_ENABLE, &absences[0]);
    (void)started(&readings, &map);
    for (size_t i = 0; i < 3; i++)
        reading_put_word(&readings, i, i == 2);
    readings_decode(&map, NULL, &readings);
    assert_false(change_cannot_start(&map, &readings, &why));
    assert_string_equal(why, "live.enable (enable_2) does not read absent, but true");
    free(why);
    readings_free(&readings);
    map_free(&map);
}

int main(void)
{
    enum { ABSENCES = sizeof absences / sizeof *absences };
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bits_that_name_stopped),
        cmocka_unit_test(bits_that_name_running_only),
        cmocka_unit_test(bits_that_name_neither_prove_nothing),
        cmocka_unit_test(choices_speak_for_themselves),
        cmocka_unit_test(what_is_not_read_proves_nothing),
        cmocka_unit_test(both_have_to_be_there_and_read),
    };
    struct CMUnitTest rows[ABSENCES];
    for (size_t i = 0; i < ABSENCES; i++)
        rows[i] = (struct CMUnitTest){
            .name = absences[i].name, .test_func = how_absence_reads, .initial_state = (void *)(uintptr_t)&absences[i]};
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    return failed + cmocka_run_group_tests(rows, NULL, NULL);
}
