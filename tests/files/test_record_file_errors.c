/* SPDX-License-Identifier: MIT */
/* Files of records that are not right: each is refused with its place, and nothing is kept of it. */
#include "files_bench.h"

#include "files/record_file.h"

#define DIGEST "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"
#define TOP                                                                                                            \
    "record: 000102030405060708090a0b0c0d0e0f\nas: found\ntag: T\nmap: {name: m, sha256: " DIGEST                      \
    "}\nsheet: {sha256: " DIGEST "}\nline: l\nunit: 1\nwho: w\nhost: h\ntool: t\n"
#define HEAD                                                                                                           \
    TOP "began: 2026-01-31T08:00:00.000Z\nended: 2026-01-31T08:00:00.000Z\n"                                           \
        "traffic: {requests: 1, retries: 0, exceptions: 0, timeouts: 0, bad_frames: 0, discarded: 0}\n"

static const struct {
    const char *text;
    const char *message;
} rows[] = {
    {HEAD "values:\n  p: {raw: [1], value: a, valeu: b}\n",
     "r.yaml:15:27: unknown key \"valeu\" in parameter p; did you mean \"value\""},
    {HEAD "values:\n  p: {raw: [1]}\n  p: {raw: [1]}\n",
     "r.yaml:16:3: duplicate key \"p\"; it stands at line 15, column 3 already"},
    {HEAD "values:\n  p: {raw: [65536]}\n", "r.yaml:15:13: raw: 65536 is out of range; expected 0 to 65535"},
    {HEAD "values:\n  p: {raw: 600}\n", "r.yaml:15:12: raw is a single value; expected a list of words such as [600]"},
    {HEAD "values:\n  p: {raw: []}\n", "r.yaml:15:12: raw is an empty list; expected a list of words such as [600]"},
    {HEAD "values:\n  p: {value: 6.00 A}\n", "r.yaml:15:3: parameter p has neither raw nor symptom; expected the words "
                                             "that were read, or why there are none"},
    {HEAD "values:\n  p: {raw: [1], number: 010}\n",
     "r.yaml:15:25: number: \"010\" begins with a needless zero; write it without"},
    {HEAD "values:\n  p: {raw: [1], value: a\\n}\n",
     "r.yaml:15:24: value: wrong escape; expected \\xNN with two digits that are not 00, or \\\\"},
    {HEAD "values:\n  p: {raw: [1], value: 'a\\x0'}\n",
     "r.yaml:15:24: value: wrong escape; expected \\xNN with two digits that are not 00, or \\\\"},
    {HEAD "values:\n  p: {raw: [1], value: 'a\\x00b'}\n",
     "r.yaml:15:24: value: wrong escape; expected \\xNN with two digits that are not 00, or \\\\"},
    {HEAD "values: [p]\n", "r.yaml:14:9: values is a list; expected a mapping of parameters to what they held"},
    {HEAD, "r.yaml:1:1: the record lacks values; expected a mapping of parameters to what they held"},
    {TOP "began: 2026-02-30T08:00:00.000Z\nended: 2026-01-31T08:00:00.000Z\nvalues: {}\n"
         "traffic: {requests: 1, retries: 0, exceptions: 0, timeouts: 0, bad_frames: 0, discarded: 0}\n",
     "r.yaml:11:8: began: \"2026-02-30T08:00:00.000Z\" is none; expected a time in UTC such as "
     "2026-01-31T08:00:00.000Z"},
    {TOP "began: 2026-01-31T08:00:00.000Z\nended: 2026-01-31 08:00\nvalues: {}\n"
         "traffic: {requests: 1, retries: 0, exceptions: 0, timeouts: 0, bad_frames: 0, discarded: 0}\n",
     "r.yaml:12:8: ended: \"2026-01-31 08:00\" is none; expected a time in UTC such as 2026-01-31T08:00:00.000Z"},
    {HEAD "values: {}\nrecord: 00\n", "r.yaml:15:1: duplicate key \"record\"; it stands at line 1, column 1 already"},
    {"", "r.yaml:1:1: the file is empty; expected a map, a sheet, a plant or a record"},
};

static void each_is_refused_with_its_place(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct record record = {0};
        struct problems problems = {0};
        bench_write("r.yaml", rows[i].text);
        assert_false(record_load("r.yaml", &record, &problems));
        if (problems.errors.count != 1)
            bench_print("error", &problems.errors);
        assert_int_equal(problems.errors.count, 1);
        assert_string_equal(problems.errors.items[0], rows[i].message);
        assert_null(record.tag);
        assert_int_equal(record.value_count, 0);
        problems_free(&problems);
    }
}

static void all_errors_are_told_at_once(void **state)
{
    (void)state;
    struct record record = {0};
    struct problems problems = {0};
    bench_write("r.yaml", "record: 00\nas: lost\ntag: T\nmap: {name: m, sha256: x}\nsheet: 1\nline: l\nunit: 256\n"
                          "who: w\nhost: h\ntool: t\nbegan: 0\nended: 0\ntraffic: {}\nvalues: {}\n");
    assert_false(record_load("r.yaml", &record, &problems));
    static const char *const messages[] = {
        "r.yaml:1:9: record: \"00\" is none; expected an id of 32 lower-case hex digits",
        "r.yaml:2:5: as: unknown word \"lost\"; expected found, left, before-write, after-write, swept or witnessed",
        "r.yaml:4:24: sha256: \"x\" is none; expected a SHA-256 digest of 64 lower-case hex digits",
        "r.yaml:5:8: sheet is a single value; expected a mapping with the keys sha256",
        "r.yaml:7:7: unit: 256 is out of range; expected 0 to 255",
    };
    assert_true(problems.errors.count > sizeof messages / sizeof *messages);
    for (size_t i = 0; i < sizeof messages / sizeof *messages; i++)
        assert_string_equal(problems.errors.items[i], messages[i]);
    problems_free(&problems);
}

static void the_head_alone_is_right(void **state)
{
    (void)state;
    struct record record = {0};
    struct problems problems = {0};
    bench_write("r.yaml", HEAD "values: {}\n");
    assert_true(record_load("r.yaml", &record, &problems));
    assert_int_equal(problems.errors.count, 0);
    assert_true(record.began_ms == 1769846400000); /* date -u -d 2026-01-31T08:00:00Z +%s */
    record_free(&record);
    problems_free(&problems);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_is_refused_with_its_place),
        cmocka_unit_test(all_errors_are_told_at_once),
        cmocka_unit_test(the_head_alone_is_right),
    };
    return cmocka_run_group_tests(tests, bench_open, bench_close);
}
