/* SPDX-License-Identifier: MIT */
/* The code that confirms a list: of exactly this list, of this drive, for 15 minutes. */
#include "change/list_bench.h"

static const int64_t NOW = 1769846400000; /* 2026-01-31 08:00 UTC, by date(1) */
enum { SECOND = 1000, MINUTE = 60 * SECOND };

#define PARAMETERS                                                                                                     \
    "  p: {at: holding 9, type: u16, settable: always}\n"                                                              \
    "  q: {at: holding 10, type: u32, settable: always}\n"                                                             \
    "  other: {at: holding 12, type: u16, settable: stopped}\n"                                                        \
    "  fixed: {at: holding 13, type: u16}\n"                                                                           \
    "  reference: {at: holding 14, type: u16, settable: always, kind: command}\n"                                      \
    "  speed: {at: input 1, type: u16, unit: rpm, means: live.speed}\n"                                                \
    "  asked: {at: holding 15, type: u16, unit: Hz, means: live.frequency_command, settable: always}\n"

#define SAVES LIST_IDENTITY "keeps: after-save\nsave: {at: holding 90, write: 1}\n"

static void open_coded(struct list_bench *bench)
{
    list_open(bench, LIST_MAP(SAVES, PARAMETERS), LIST_SHEET("settings: {p: 7, q: 70000}\n"));
    expect_changes(bench, "p=7 q=70000");
}

static const char *code_of(struct list_bench *bench)
{
    code_make(&bench->order, "line", &bench->list, NOW);
    return bench->list.code;
}

static void a_code_is_eight_digits_with_a_dash(void **state)
{
    (void)state;
    struct list_bench bench;
    open_coded(&bench);
    const char *code = code_of(&bench);
    assert_int_equal(strlen(code), 9);
    for (size_t i = 0; i < 9; i++)
        if (i == 4)
            assert_int_equal(code[i], '-');
        else
            assert_non_null(strchr("0123456789ABCDEFGHJKMNPQRSTVWXYZ", code[i]));
    assert_true(code_fits(&bench.order, "line", &bench.list, NOW, code));
    list_close(&bench);
}

static void nothing_to_write_has_no_code(void **state)
{
    (void)state;
    struct list_bench bench;
    open_coded(&bench);
    char *code = text_copy(code_of(&bench));
    change_list_refuse(&bench.list, NULL, text_copy("no"));
    assert_string_equal(code_of(&bench), "");
    assert_false(code_fits(&bench.order, "line", &bench.list, NOW, code));
    change_list_free(&bench.list);
    assert_string_equal(code_of(&bench), "");
    assert_false(code_fits(&bench.order, "line", &bench.list, NOW, ""));
    free(code);
    list_close(&bench);
}

static void it_holds_for_fifteen_minutes(void **state)
{
    (void)state;
    struct list_bench bench;
    open_coded(&bench);
    for (int64_t made = NOW; made < NOW + 10 * SECOND; made += 999) {
        code_make(&bench.order, "line", &bench.list, made);
        const char *code = bench.list.code;
        assert_true(code_fits(&bench.order, "line", &bench.list, made + 14 * MINUTE + 49 * SECOND, code));
        assert_false(code_fits(&bench.order, "line", &bench.list, made + 15 * MINUTE + 1 * SECOND, code));
        assert_false(code_fits(&bench.order, "line", &bench.list, made - 11 * SECOND, code)); /* of the future */
    }
    list_close(&bench);
}

/* ---- typed by hand ---- */

static void letters_are_taken_in_either_case_and_the_dash_or_none(void **state)
{
    (void)state;
    struct list_bench bench;
    open_coded(&bench);
    const char *code = code_of(&bench);
    char typed[16] = {0};
    for (size_t i = 0; i < 9; i++)
        typed[i] = (char)(code[i] >= 'A' && code[i] <= 'Z' ? code[i] - 'A' + 'a' : code[i]);
    assert_true(code_fits(&bench.order, "line", &bench.list, NOW, typed));
    memmove(typed + 4, typed + 5, 5);
    assert_true(code_fits(&bench.order, "line", &bench.list, NOW, typed));
    static const char *const wrong[] = {"", "-", "U", "7K4Q-M2X", "7K4Q-M2XDD", "7K4QM-2XD", "\xff\xff\xff\xff\xff"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        assert_false(code_fits(&bench.order, "line", &bench.list, NOW, wrong[i]));
    char longer[16];
    (void)snprintf(longer, sizeof longer, "%s ", code);
    assert_false(code_fits(&bench.order, "line", &bench.list, NOW, longer));
    for (size_t i = 0; i < 9; i++) { /* each digit counts */
        (void)snprintf(typed, sizeof typed, "%s", code);
        typed[i] = typed[i] == '7' ? '8' : '7';
        assert_false(code_fits(&bench.order, "line", &bench.list, NOW, typed));
        typed[i] = 'U';
        assert_false(code_fits(&bench.order, "line", &bench.list, NOW, typed));
    }
    list_close(&bench);
}

/* Source: D. Crockford, Base 32, https://www.crockford.com/base32.html: i and l decode to 1, o to 0. */
static void what_looks_like_one_and_nought_is_taken_for_it(void **state)
{
    (void)state;
    static const char looks[] = {'i', 'I', 'l', 'L', 'o', 'O'};
    struct list_bench bench;
    unsigned tried[sizeof looks] = {0}, all = 0;
    open_coded(&bench);
    for (int64_t made = NOW; all < sizeof looks && made < NOW + 1000 * 10 * SECOND; made += 10 * SECOND) {
        code_make(&bench.order, "line", &bench.list, made);
        for (size_t i = 0; i < sizeof looks; i++) {
            char typed[16];
            (void)snprintf(typed, sizeof typed, "%s", bench.list.code);
            char *digit = strchr(typed, i < 4 ? '1' : '0');
            if (digit == NULL)
                continue;
            *digit = looks[i];
            assert_true(code_fits(&bench.order, "line", &bench.list, made, typed));
            all += tried[i]++ == 0;
        }
    }
    assert_int_equal(all, sizeof looks);
    list_close(&bench);
}

/* ---- whatever changes ---- */

static void set_text(char **text, const char *to)
{
    free(*text);
    *text = text_copy(to);
}

static void other_tag(struct list_bench *bench)
{
    set_text(&bench->sheet.tag, "T-2");
}

static void other_unit(struct list_bench *bench)
{
    bench->order.unit++;
}

static void redecode(struct list_bench *bench)
{
    readings_decode(&bench->map, &bench->setpoints, &bench->readings);
}

static void other_serial_number(struct list_bench *bench)
{
    list_answer_text(bench, "serial", "S-101");
    redecode(bench);
}

static void no_serial_number(struct list_bench *bench)
{
    list_fail(bench, "serial", SYMPTOM_NO_REPLY);
    redecode(bench);
}

static void other_firmware(struct list_bench *bench)
{
    list_answer(bench, "firmware", 103);
    redecode(bench);
}

static void other_map(struct list_bench *bench)
{
    bench->map.sha256[63] ^= 1;
}

static void other_sheet(struct list_bench *bench)
{
    bench->sheet.sha256[0] ^= 1;
}

static void other_present_value(struct list_bench *bench)
{
    list_answer(bench, "other", 1);
    redecode(bench);
}

static void unread_present_value(struct list_bench *bench)
{
    list_fail(bench, "other", SYMPTOM_NO_REPLY);
    redecode(bench);
}

static void other_old_word(struct list_bench *bench)
{
    bench->list.items[0].now[0]++;
}

static void other_new_word(struct list_bench *bench)
{
    bench->list.items[1].to[1]++;
}

static void other_high_byte(struct list_bench *bench)
{
    bench->list.items[0].to[0] ^= 0x100;
}

static void words_exchanged(struct list_bench *bench)
{
    uint16_t *to = bench->list.items[1].to, first = to[0];
    to[0] = to[1];
    to[1] = first;
}

static void other_parameter(struct list_bench *bench)
{
    bench->list.items[0].parameter = list_index(bench, "other");
}

static void other_order(struct list_bench *bench)
{
    struct change first = bench->list.items[0];
    bench->list.items[0] = bench->list.items[1];
    bench->list.items[1] = first;
}

static void one_less(struct list_bench *bench)
{
    change_free(&bench->list.items[--bench->list.count]);
}

static void no_save(struct list_bench *bench)
{
    bench->list.save = SAVE_NONE;
}

static void save_elsewhere(struct list_bench *bench)
{
    bench->map.save.at.at++;
}

static void save_in_another_table(struct list_bench *bench)
{
    bench->map.save.at.table = TABLE_COIL;
}

static void save_by_another_word(struct list_bench *bench)
{
    bench->map.save.write++;
}

static void restores(struct list_bench *bench)
{
    bench->list.restores = true;
}

static void from_a_record(struct list_bench *bench)
{
    bench->list.from.bytes[15] = 1;
}

static void for_a_replacement(struct list_bench *bench)
{
    bench->order.replacement = "S-100";
}

static const struct {
    const char *name;
    void (*change)(struct list_bench *bench);
} changes[] = {
    {"tag", other_tag},
    {"unit", other_unit},
    {"serial number", other_serial_number},
    {"no serial number", no_serial_number},
    {"firmware", other_firmware},
    {"map", other_map},
    {"sheet", other_sheet},
    {"a present value", other_present_value},
    {"a present value that is not read", unread_present_value},
    {"an old word", other_old_word},
    {"a new word", other_new_word},
    {"high byte", other_high_byte},
    {"words exchanged", words_exchanged},
    {"parameter", other_parameter},
    {"order", other_order},
    {"one less", one_less},
    {"no save", no_save},
    {"save address", save_elsewhere},
    {"save table", save_in_another_table},
    {"save word", save_by_another_word},
    {"restore", restores},
    {"record", from_a_record},
    {"replacement", for_a_replacement},
};

static void any_change_makes_another_code(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        struct list_bench bench;
        open_coded(&bench);
        char *before = text_copy(code_of(&bench));
        assert_false(code_fits(&bench.order, "another line", &bench.list, NOW, before));
        changes[i].change(&bench);
        if (strcmp(before, code_of(&bench)) == 0 || code_fits(&bench.order, "line", &bench.list, NOW, before))
            fail_msg("the same code with another %s", changes[i].name);
        free(before);
        list_close(&bench);
    }
}

/* What changes from call to call, or is not set by lists, is not in it. */
static void live_and_fixed_values_and_commands_do_not_count(void **state)
{
    (void)state;
    static const char *const names[] = {"speed", "state", "fixed", "reference", "asked"};
    struct list_bench bench;
    open_coded(&bench);
    char *before = text_copy(code_of(&bench));
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        list_answer(&bench, names[i], 2);
    redecode(&bench);
    assert_string_equal(code_of(&bench), before);
    free(before);
    list_close(&bench);
}

/* Fields side by side do not run into each other: what moves from one to the next is another list. */
static void fields_do_not_run_together(void **state)
{
    (void)state;
    struct list_bench bench;
    open_coded(&bench);
    set_text(&bench.sheet.tag, "T-1l");
    code_make(&bench.order, "ine", &bench.list, NOW);
    char *before = text_copy(bench.list.code);
    set_text(&bench.sheet.tag, "T-1");
    code_make(&bench.order, "line", &bench.list, NOW);
    assert_string_not_equal(bench.list.code, before);
    free(before);
    list_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_code_is_eight_digits_with_a_dash),
        cmocka_unit_test(nothing_to_write_has_no_code),
        cmocka_unit_test(it_holds_for_fifteen_minutes),
        cmocka_unit_test(letters_are_taken_in_either_case_and_the_dash_or_none),
        cmocka_unit_test(what_looks_like_one_and_nought_is_taken_for_it),
        cmocka_unit_test(any_change_makes_another_code),
        cmocka_unit_test(live_and_fixed_values_and_commands_do_not_count),
        cmocka_unit_test(fields_do_not_run_together),
    };
    return cmocka_run_group_tests(tests, bench_open, bench_close);
}
