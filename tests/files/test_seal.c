/* SPDX-License-Identifier: MIT */
/* The digest that a document bears of itself: what was sealed is whole, and any other byte in it shows. */
#include "files/seal.h"

#include "types/memory.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static const char page[] = "motor_current 3.00 A\n" SEAL_OPEN "\nP-1 agrees\n";
enum { LENGTH = sizeof page - 1, BEFORE = sizeof "motor_current 3.00 A\n" - 1, MARK = sizeof SEAL_MARK - 1 };

/* By `sha256sum` of coreutils over the page as it stands above. */
static const char known[] = "4f28d6b5fedc2737ef0eea5bb1420ed7f6e99b507ded2eb17ed38b40f97a9005";

static void seal(char text[LENGTH + 1], char digest[SEAL_DIGEST])
{
    memcpy(text, page, sizeof page);
    assert_true(seal_apply(text, LENGTH, digest));
}

static void assert_tried(enum seal expected, const char *text, size_t length)
{
    char digest[SEAL_DIGEST];
    assert_int_equal(seal_try(text, length, digest), expected);
    assert_int_equal(strlen(digest), expected == SEAL_NONE ? 0 : SEAL_DIGEST - 1);
}

static void the_digest_is_that_of_the_open_document(void **state)
{
    (void)state;
    char text[LENGTH + 1], digest[SEAL_DIGEST], borne[SEAL_DIGEST];
    seal(text, digest);
    assert_string_equal(digest, known);
    assert_memory_equal(text + BEFORE + MARK, known, SEAL_DIGEST - 1);
    assert_memory_equal(text, page, BEFORE + MARK);
    assert_string_equal(text + BEFORE + MARK + SEAL_DIGEST - 1, "\nP-1 agrees\n");
    assert_int_equal(seal_try(text, LENGTH, borne), SEAL_WHOLE);
    assert_string_equal(borne, digest);
}

/* Every bit of every byte. In the mark it is no mark any more, in the digits perhaps no digit. */
static void one_changed_bit_anywhere_shows(void **state)
{
    (void)state;
    char text[LENGTH + 1], digest[SEAL_DIGEST];
    seal(text, digest);
    for (size_t i = 0; i < LENGTH; i++)
        for (unsigned bit = 0; bit < 8; bit++) {
            text[i] = (char)((unsigned char)text[i] ^ (1U << bit));
            bool in_mark = i >= BEFORE && i < BEFORE + MARK;
            bool in_digits = i >= BEFORE + MARK && i < BEFORE + MARK + SEAL_DIGEST - 1;
            bool no_digit = in_digits && (text[i] == '\0' || strchr("0123456789abcdef", text[i]) == NULL);
            assert_tried(in_mark || no_digit ? SEAL_NONE : SEAL_ALTERED, text, LENGTH);
            text[i] = (char)((unsigned char)text[i] ^ (1U << bit));
        }
    assert_tried(SEAL_WHOLE, text, LENGTH);
}

static void cut_short_or_longer_it_is_not_whole(void **state)
{
    (void)state;
    char text[LENGTH + 1], digest[SEAL_DIGEST];
    seal(text, digest);
    for (size_t length = 0; length < LENGTH; length++)
        assert_tried(length < BEFORE + MARK + SEAL_DIGEST - 1 ? SEAL_NONE : SEAL_ALTERED, text, length);
    assert_tried(SEAL_ALTERED, text, LENGTH + 1); /* the NUL is one byte more */
    assert_tried(SEAL_ALTERED, text + 1, LENGTH - 1);
}

static void digits_of_other_letters_are_none(void **state)
{
    (void)state;
    static const char others[] = "ABCDEFgG:/ \n";
    char text[LENGTH + 1], digest[SEAL_DIGEST];
    for (size_t place = 0; place < SEAL_DIGEST - 1; place += SEAL_DIGEST - 2)
        for (size_t i = 0; i < sizeof others; i++) {
            seal(text, digest);
            text[BEFORE + MARK + place] = others[i];
            assert_tried(SEAL_NONE, text, LENGTH);
        }
}

static void without_the_mark_nothing_is_sealed(void **state)
{
    (void)state;
    char text[] = "motor_current 3.00 A\n", digest[SEAL_DIGEST] = "x";
    assert_false(seal_apply(text, sizeof text - 1, digest));
    assert_string_equal(digest, "");
    assert_string_equal(text, "motor_current 3.00 A\n");
    assert_tried(SEAL_NONE, text, sizeof text - 1);
    assert_tried(SEAL_NONE, text, 0);
}

static void with_the_mark_twice_nothing_is_sealed(void **state)
{
    (void)state;
    static const char *const twice[] = {
        SEAL_MARK " in a service\n" SEAL_OPEN "\n",
        SEAL_OPEN "\n" SEAL_MARK,
        SEAL_OPEN SEAL_OPEN,
        SEAL_MARK SEAL_OPEN,
    };
    for (size_t i = 0; i < sizeof twice / sizeof *twice; i++) {
        char *text = text_copy(twice[i]), digest[SEAL_DIGEST];
        assert_false(seal_apply(text, strlen(text), digest));
        assert_string_equal(digest, "");
        assert_string_equal(text, twice[i]);
        assert_tried(SEAL_NONE, text, strlen(text));
        free(text);
    }
}

static void a_document_that_is_sealed_is_not_sealed_again(void **state)
{
    (void)state;
    char text[LENGTH + 1], digest[SEAL_DIGEST], second[SEAL_DIGEST];
    seal(text, digest);
    assert_false(seal_apply(text, LENGTH, second));
    assert_tried(SEAL_WHOLE, text, LENGTH);
}

static void a_mark_with_too_little_room_is_none(void **state)
{
    (void)state;
    char text[] = SEAL_OPEN, digest[SEAL_DIGEST];
    assert_false(seal_apply(text, sizeof text - 2, digest));
    assert_true(seal_apply(text, sizeof text - 1, digest)); /* and nothing behind it is needed */
    assert_tried(SEAL_WHOLE, text, sizeof text - 1);
}

/* ---- files ---- */

static void put_file(char path[32], const char *text, size_t length, size_t stuffing)
{
    (void)snprintf(path, 32, "/tmp/asleft-seal-XXXXXX");
    int descriptor = mkstemp(path);
    assert_true(descriptor >= 0);
    FILE *file = fdopen(descriptor, "w");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, length, file), length);
    for (size_t i = 0; i < stuffing; i++)
        assert_int_equal(fputc('x', file), 'x');
    assert_int_equal(fclose(file), 0);
}

static void a_file_is_tried_whatever_its_length(void **state)
{
    (void)state;
    static const size_t stuffings[] = {0, 1, 65536 - LENGTH, 65537 - LENGTH, 131072, 300000};
    for (size_t i = 0; i < sizeof stuffings / sizeof *stuffings; i++) {
        char path[32], digest[SEAL_DIGEST], borne[SEAL_DIGEST];
        size_t length = LENGTH + stuffings[i];
        char *text = memory_new(length + 1, 1);
        struct error error = {0};
        enum seal is = SEAL_NONE;
        memcpy(text, page, LENGTH);
        memset(text + LENGTH, 'x', stuffings[i]);
        assert_true(seal_apply(text, length, digest));
        put_file(path, text, LENGTH, stuffings[i]);
        assert_true(seal_try_file(path, &is, borne, &error));
        assert_int_equal(is, SEAL_WHOLE);
        assert_string_equal(borne, digest);
        assert_int_equal(unlink(path), 0);
        put_file(path, text, LENGTH, stuffings[i] + 1);
        assert_true(seal_try_file(path, &is, borne, &error));
        assert_int_equal(is, SEAL_ALTERED);
        assert_int_equal(unlink(path), 0);
        free(text);
    }
}

static void assert_unreadable(const char *path, const char *why)
{
    struct error error = {0};
    enum seal is = SEAL_WHOLE;
    char digest[SEAL_DIGEST];
    assert_false(seal_try_file(path, &is, digest, &error));
    assert_int_equal(error.kind, ERROR_FILE);
    if (strstr(error.text, why) == NULL)
        fail_msg("'%s' does not say '%s'", error.text, why);
}

static void files_that_cannot_be_read_are_told(void **state)
{
    (void)state;
    assert_unreadable("/nowhere/at/all.html", "/nowhere/at/all.html cannot be read: No such file");
    assert_unreadable("/tmp", "/tmp cannot be read: Is a directory");
    char path[32];
    put_file(path, page, LENGTH, 0);
    assert_int_equal(truncate(path, (64 << 20) + 1), 0);
    assert_unreadable(path, "more than 64 MiB");
    assert_int_equal(unlink(path), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_digest_is_that_of_the_open_document),
        cmocka_unit_test(one_changed_bit_anywhere_shows),
        cmocka_unit_test(cut_short_or_longer_it_is_not_whole),
        cmocka_unit_test(digits_of_other_letters_are_none),
        cmocka_unit_test(without_the_mark_nothing_is_sealed),
        cmocka_unit_test(with_the_mark_twice_nothing_is_sealed),
        cmocka_unit_test(a_document_that_is_sealed_is_not_sealed_again),
        cmocka_unit_test(a_mark_with_too_little_room_is_none),
        cmocka_unit_test(a_file_is_tried_whatever_its_length),
        cmocka_unit_test(files_that_cannot_be_read_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
