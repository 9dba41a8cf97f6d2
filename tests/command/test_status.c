/* SPDX-License-Identifier: MIT */
/* The exit status of several drives together, and of each kind of error. */
#include "command/run.h"
#include "command/trouble.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <unistd.h>

#include <cmocka.h>

enum {
    AGREES = STATUS_AGREES,
    DIFFERS = STATUS_DIFFERS,
    OPEN = STATUS_INCOMPLETE,
    GONE = STATUS_CONTACT,
    BUSY = STATUS_BUSY
};

static void the_statuses_are_those_of_the_interface(void **state)
{
    (void)state;
    assert_int_equal(STATUS_AGREES, 0);
    assert_int_equal(STATUS_DIFFERS, 1);
    assert_int_equal(STATUS_INCOMPLETE, 2);
    assert_int_equal(STATUS_USE, 64);
    assert_int_equal(STATUS_FILE, 65);
    assert_int_equal(STATUS_CONTACT, 69);
    assert_int_equal(STATUS_OUTPUT, 74);
    assert_int_equal(STATUS_BUSY, 75);
}

static void several_drives_come_to_one_status(void **state)
{
    (void)state;
    const struct {
        int drives[3];
        size_t count;
        int expected;
    } rows[] = {
        {{AGREES}, 1, AGREES},
        {{DIFFERS}, 1, DIFFERS},
        {{OPEN}, 1, OPEN},
        {{GONE}, 1, GONE},
        {{BUSY}, 1, BUSY},
        {{AGREES, AGREES, AGREES}, 3, AGREES},
        {{OPEN, DIFFERS, AGREES}, 3, DIFFERS}, /* a proven mismatch is not hidden by a silent drive */
        {{GONE, GONE, DIFFERS}, 3, DIFFERS},
        {{BUSY, DIFFERS, AGREES}, 3, DIFFERS},
        {{AGREES, OPEN, AGREES}, 3, OPEN},
        {{AGREES, GONE, AGREES}, 3, OPEN}, /* not one that could not be contacted, but not all */
        {{GONE, OPEN, GONE}, 3, OPEN},
        {{GONE, GONE, GONE}, 3, GONE},
        {{AGREES, BUSY, OPEN}, 3, BUSY},
        {{GONE, BUSY, GONE}, 3, BUSY},
        {{0}, 0, AGREES},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(run_status(rows[i].drives, rows[i].count), rows[i].expected);
}

/* Standard error goes into a file while `act` runs; the caller frees what was said. */
static char *said_by(void (*act)(void *user), void *user)
{
    FILE *file = tmpfile();
    assert_non_null(file);
    (void)fflush(stderr);
    int kept = dup(STDERR_FILENO);
    assert_int_equal(dup2(fileno(file), STDERR_FILENO), STDERR_FILENO);
    act(user);
    (void)fflush(stderr);
    assert_int_equal(dup2(kept, STDERR_FILENO), STDERR_FILENO);
    (void)close(kept);
    char *text = memory_new(1024, 1);
    rewind(file);
    (void)fread(text, 1, 1023, file);
    (void)fclose(file);
    return text;
}

struct telling {
    struct error error;
    enum status status;
};

static void tell(void *user)
{
    struct telling *telling = user;
    telling->status = trouble(&telling->error);
}

static void each_kind_of_error_has_its_status(void **state)
{
    (void)state;
    const struct {
        enum error_kind kind;
        enum status status;
    } rows[] = {{ERROR_USE, STATUS_USE},
                {ERROR_FILE, STATUS_FILE},
                {ERROR_CONTACT, STATUS_CONTACT},
                {ERROR_OUTPUT, STATUS_OUTPUT},
                {ERROR_BUSY, STATUS_BUSY}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct telling telling = {.error = {.kind = rows[i].kind, .text = "what is wrong"}};
        char *said = said_by(tell, &telling);
        assert_string_equal(said, "asleft: what is wrong\n");
        assert_int_equal(telling.status, rows[i].status);
        free(said);
    }
}

static void trouble_is_harmless_for_a_terminal(void **state)
{
    (void)state;
    struct telling telling = {.error = {.kind = ERROR_FILE, .text = "tag '\033[2J\n'"}};
    char *said = said_by(tell, &telling);
    assert_string_equal(said, "asleft: tag '\\x1B[2J\\x0A'\n");
    free(said);
}

static void tell_files(void *user)
{
    trouble_files(user);
}

static void problems_of_files_are_told_a_line_each(void **state)
{
    (void)state;
    struct problems problems = {0};
    texts_add(&problems.warnings, text_copy("a.yaml:3:1: later"));
    texts_add(&problems.errors, text_copy("a.yaml:1:2: first"));
    texts_add(&problems.errors, text_copy("a.yaml:2:2: \033second"));
    char *said = said_by(tell_files, &problems);
    assert_string_equal(said, "a.yaml:1:2: first\na.yaml:2:2: \\x1Bsecond\nwarning: a.yaml:3:1: later\n");
    free(said);
    texts_free(&problems.errors);
    texts_free(&problems.warnings);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_statuses_are_those_of_the_interface), cmocka_unit_test(several_drives_come_to_one_status),
        cmocka_unit_test(each_kind_of_error_has_its_status),       cmocka_unit_test(trouble_is_harmless_for_a_terminal),
        cmocka_unit_test(problems_of_files_are_told_a_line_each),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
