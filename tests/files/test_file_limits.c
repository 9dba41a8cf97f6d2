/* SPDX-License-Identifier: MIT */
/* Files that are no files, too large, too deep or made to hurt; many errors in one run, their order and their cap. */
#include "files_bench.h"

#include <sys/stat.h>

static void expect(enum bad_kind kind, const char *path, const char *const *messages, size_t count)
{
    struct problems problems = {0};
    struct sheet sheet = {0};
    struct map map = {0};
    bool fine = kind == BAD_MAP ? map_load(path, &map, &problems) : sheet_load(path, &sheet, &map, &problems);
    if (problems.errors.count != count)
        bench_print("error", &problems.errors);
    assert_int_equal(problems.errors.count, count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(problems.errors.items[i], messages[i]);
    assert_false(fine);
    assert_null(map.path);
    assert_null(sheet.path);
    problems_free(&problems);
}

static void expect_one(const char *path, const char *message)
{
    expect(BAD_MAP, path, &message, 1);
}

static void nothing_there(void **state)
{
    (void)state;
    expect_one("none.yaml", "none.yaml: cannot be opened: No such file or directory");
}

static void folder_for_a_file(void **state)
{
    (void)state;
    assert_int_equal(mkdir("folder", 0700), 0);
    expect_one("folder", "folder: is a directory; expected a file");
}

static void file_without_leave(void **state)
{
    (void)state;
    bench_write("secret.yaml", "map: m\n");
    assert_int_equal(chmod("secret.yaml", 0), 0);
    assert_int_equal(chmod(".", 0755), 0);
    bool is_root = geteuid() == 0; /* whom nothing is forbidden */
    if (is_root)
        assert_int_equal(seteuid(65534), 0);
    struct problems problems = {0};
    struct map map = {0};
    bool fine = map_load("secret.yaml", &map, &problems);
    if (is_root)
        assert_int_equal(seteuid(0), 0);
    assert_false(fine);
    assert_int_equal(problems.errors.count, 1);
    assert_string_equal(problems.errors.items[0], "secret.yaml: cannot be opened: Permission denied");
    problems_free(&problems);
}

static void empty_file(void **state)
{
    (void)state;
    bench_write("empty.yaml", "");
    expect_one("empty.yaml", "empty.yaml:1:1: the file is empty; expected a map, a sheet, a plant or a record");
}

static char *repeated(const char *head, const char *piece, size_t times, const char *tail)
{
    size_t length = strlen(piece);
    char *text = malloc(strlen(head) + length * times + strlen(tail) + 1);
    assert_non_null(text);
    char *end = stpcpy(text, head);
    for (size_t i = 0; i < times; i++)
        end = stpcpy(end, piece);
    (void)strcpy(end, tail);
    return text;
}

static void larger_than_allowed(void **state)
{
    (void)state;
    enum { MOST = 4 * 1024 * 1024 };
    char *text = repeated("map: m\nmodbus: {count_from: 0}\nparameters: {p: {at: coil 1}}\n#", "x", MOST, "\n");
    bench_write("large.yaml", text);
    expect_one("large.yaml", "large.yaml: is larger than 4 MiB; expected a file that a person wrote");
    bench_write_bytes("large.yaml", text, MOST); /* to the byte */
    free(text);
    struct map map = {0};
    bench_load_map("large.yaml", &map);
    map_free(&map);
}

static void deeper_than_allowed(void **state)
{
    (void)state;
    char *text = repeated("about: ", "[", 32, "");
    bench_write("deep.yaml", text);
    free(text);
    expect_one("deep.yaml", "deep.yaml:1:39: nested deeper than 32 levels; expected a few");
}

/* The library's time grows with the square of the depth; we must not wait for it. */
static void very_deep(void **state)
{
    (void)state;
    char *text = repeated("about: ", "[", 1000000, "");
    bench_write("deep.yaml", text);
    free(text);
    expect_one("deep.yaml", "deep.yaml:1:39: nested deeper than 32 levels; expected a few");
}

static void more_values_than_allowed(void **state)
{
    (void)state;
    char *text = repeated("about: [", "1,", 250001, "]\n");
    bench_write("many.yaml", text);
    free(text);
    expect_one("many.yaml",
               "many.yaml:1:500003: more than 250000 keys and values in one file; expected a file that a person "
               "wrote");
}

static void longer_than_allowed(void **state)
{
    (void)state;
    char *text = repeated("map: m\nmodbus: {count_from: 0}\nparameters: {p: {at: coil 1}}\nabout: ", "x", 4097, "\n");
    bench_write("long.yaml", text);
    free(text);
    expect_one("long.yaml", "long.yaml:4:8: text of 4097 bytes; expected at most 4096");
}

static void aliases_that_multiply(void **state)
{
    (void)state;
    static const char *const messages[] = {
        "bomb.yaml:1:4: anchors (&) are not used here; write the value out where it is needed",
        "bomb.yaml:2:4: anchors (&) are not used here; write the value out where it is needed",
        "bomb.yaml:2:8: aliases (*) are not used here; write the value out",
        "bomb.yaml:2:12: aliases (*) are not used here; write the value out",
    };
    struct problems problems = {0};
    struct map map = {0};
    bench_write("bomb.yaml", "a: &a [x, x]\nb: &b [*a, *a]\n");
    assert_false(map_load("bomb.yaml", &map, &problems));
    size_t found = 0;
    for (size_t i = 0; i < problems.errors.count && found < 4; i++)
        found += strcmp(problems.errors.items[i], messages[found]) == 0;
    assert_int_equal(found, 4);
    problems_free(&problems);
}

#define SHARED                                                                                                         \
    "order.yaml:5:11: at: q shares registers with p at line 4; expected registers of its own, or all of them shared"

static void errors_in_the_order_of_the_file(void **state)
{
    (void)state;
    static const char *const messages[] = {
        "order.yaml:2:1: modbus lacks word_order, and q has two registers; expected high-first or low-first",
        "order.yaml:2:39: longest_read: 0 is out of range; expected 1 to 125",
        "order.yaml:4:33: unknown key \"scael\" in parameter p; did you mean \"scale\"",
        "order.yaml:4:49: unit: unknown unit \"amps\"; did you mean \"A\"",
        SHARED,
        "order.yaml:6:24: parameter: unknown parameter \"pq\"; expected the name of a parameter of this map",
        "order.yaml:7:1: unknown key \"kepes\" in the map; did you mean \"keeps\"",
    };
    bench_write("order.yaml",
                "map: m\nmodbus: {count_from: 0, longest_read: 0}\nparameters:\n"
                "  p: {at: holding 2, type: u16, scael: 1, unit: amps}\n"
                "  q: {at: holding 1, type: u32}\nidentity: [{parameter: pq, equals: 1}]\nkepes: never\n");
    expect(BAD_MAP, "order.yaml", messages, sizeof messages / sizeof *messages);
}

static void errors_of_the_map_behind_those_of_the_sheet(void **state)
{
    (void)state;
    static const char *const messages[] = {
        "s.yaml:3:23: unit: 256 is out of range; expected 0 to 255",
        "s.yaml:4:22: rated_power: \"2\" has no unit; expected a power in W, kW or hp",
        "bad.yaml:4:40: scale: a scale of 0 makes every value 0; expected another number",
    };
    bench_write("bad.yaml", BENCH_MAP "  p: {at: holding 1, type: u16, scale: 0}\n");
    bench_write("s.yaml", "tag: T\ndrive: {map: bad.yaml}\nline: {host: h, unit: 256}\nmotor: {rated_power: 2}\n"
                          "settings: {no_such_parameter: 1}\n");
    expect(BAD_SHEET, "s.yaml", messages, 3);
}

static void bad_map_of_a_good_sheet(void **state)
{
    (void)state;
    static const char *const message =
        "bad.yaml:4:40: scale: a scale of 0 makes every value 0; expected another number";
    bench_write("bad.yaml", BENCH_MAP "  p: {at: holding 1, type: u16, scale: 0}\n");
    bench_write("s.yaml", "tag: T\ndrive: {map: bad.yaml}\nline: {host: h, unit: 1}\n");
    expect(BAD_SHEET, "s.yaml", &message, 1);
}

static void long_text_over_two_others(void **state)
{
    (void)state;
    static const char *const messages[] = {
        "wide.yaml:5:11: at: q shares registers with p at line 4; expected registers of its own, or all of them shared",
        "wide.yaml:6:11: at: r shares registers with p at line 4; expected registers of its own, or all of them shared",
    };
    bench_write("wide.yaml", BENCH_MAP "  p: {at: holding 0, type: text(8)}\n  q: {at: holding 2, type: u16}\n"
                                       "  r: {at: holding 5, type: u16}\n");
    expect(BAD_MAP, "wide.yaml", messages, 2);
}

static void fifty_errors_and_how_many_more(void **state)
{
    (void)state;
    char *text = repeated("map: m\nmodbus: {count_from: 0}\nparameters: {p: {at: coil 1}}\nclosed:\n", "\tx\n", 60, "");
    bench_write("many.yaml", text);
    free(text);
    struct problems problems = {0};
    struct map map = {0};
    assert_false(map_load("many.yaml", &map, &problems));
    assert_int_equal(problems.errors.count, 51);
    assert_string_equal(problems.errors.items[0], "many.yaml:5:1: tab used for indentation; expected spaces");
    assert_string_equal(problems.errors.items[49], "many.yaml:54:1: tab used for indentation; expected spaces");
    assert_string_equal(problems.errors.items[50], "many.yaml: and 10 more errors");
    problems_free(&problems);
}

/* Five thousand names that are all wrong, each near many right ones, must not cost their square. */
static void many_wrong_names(void **state)
{
    (void)state;
    FILE *file = fopen("names.yaml", "w");
    assert_non_null(file);
    (void)fputs(BENCH_MAP, file);
    for (unsigned i = 0; i < 5000; i++)
        (void)fprintf(file, "  parameter_%04u: {at: holding %u, type: u16, applies_when: {perameter_%04u: 1}}\n", i, i,
                      i);
    assert_int_equal(fclose(file), 0);
    struct problems problems = {0};
    struct map map = {0};
    assert_false(map_load("names.yaml", &map, &problems));
    assert_string_equal(problems.errors.items[50], "names.yaml: and 4950 more errors");
    problems_free(&problems);
}

static void kinds_of_files(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum file_kind kind;
        const char *message;
    } rows[] = {
        {"about: x\nmap: m\ntag: T\n", FILE_MAP, NULL},
        {"tag: T\nmap: m\n", FILE_SHEET, NULL},
        {"lines: []\nplant: P\n", FILE_PLANT, NULL},
        {"record: 00\nas: left\ntag: T\nmap: {}\n", FILE_RECORD, NULL},
        {"tag: T\ntag: T\n", FILE_SHEET, NULL},
        {"name: x\n", FILE_UNKNOWN,
         "k.yaml:1:1: no key tells what this file is; expected map, tag (of a sheet), plant or record at the top "
         "level"},
        {"- map\n", FILE_UNKNOWN,
         "k.yaml:1:1: no key tells what this file is; expected map, tag (of a sheet), plant or record at the top "
         "level"},
        {"tag: [\n", FILE_UNKNOWN, "k.yaml:2:1: a value is missing here"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct problems problems = {0};
        bench_write("k.yaml", rows[i].text);
        assert_int_equal(file_kind("k.yaml", &problems), rows[i].kind);
        assert_int_equal(problems.errors.count, rows[i].message != NULL);
        if (rows[i].message != NULL)
            assert_string_equal(problems.errors.items[0], rows[i].message);
        problems_free(&problems);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_there),
        cmocka_unit_test(folder_for_a_file),
        cmocka_unit_test(file_without_leave),
        cmocka_unit_test(empty_file),
        cmocka_unit_test(larger_than_allowed),
        cmocka_unit_test(deeper_than_allowed),
        cmocka_unit_test(very_deep),
        cmocka_unit_test(more_values_than_allowed),
        cmocka_unit_test(longer_than_allowed),
        cmocka_unit_test(aliases_that_multiply),
        cmocka_unit_test(errors_in_the_order_of_the_file),
        cmocka_unit_test(errors_of_the_map_behind_those_of_the_sheet),
        cmocka_unit_test(bad_map_of_a_good_sheet),
        cmocka_unit_test(long_text_over_two_others),
        cmocka_unit_test(fifty_errors_and_how_many_more),
        cmocka_unit_test(many_wrong_names),
        cmocka_unit_test(kinds_of_files),
    };
    return cmocka_run_group_tests_name("file_limits", tests, bench_open, bench_close);
}
