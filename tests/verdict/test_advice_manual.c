/* SPDX-License-Identifier: MIT */
/* The manual's chapter shows the rows of the table of symptoms, word for word. With ASLEFT_UPDATE_EXPECTED=1 in the
 * environment the chapter is written anew. */
#include "verdict/advice_page.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static const char chapter[] = ASLEFT_SOURCE_DIR "/docs/manual/when-nothing-answers.md";
static const char begin_mark[] = "<!-- rows of the table of symptoms: begin -->\n";
static const char end_mark[] = "<!-- rows of the table of symptoms: end -->\n";

static char *file_read(const char *path)
{
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    char *text = memory_new(1, 1 << 20);
    assert_in_range(fread(text, 1, (1 << 20) - 1, file), 1, (1 << 20) - 2);
    (void)fclose(file);
    return text;
}

static void file_write(const char *path, const char *before, int before_length, const char *rows, const char *after)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    (void)fprintf(file, "%.*s%s%s", before_length, before, rows, after);
    assert_int_equal(fclose(file), 0);
}

static void the_chapter_shows_the_table(void **state)
{
    (void)state;
    char *text = file_read(chapter), *rows = page_write();
    char *first = strstr(text, begin_mark), *end = strstr(text, end_mark);
    assert_non_null(first);
    assert_non_null(end);
    first += strlen(begin_mark);
    bool alike = (size_t)(end - first) == strlen(rows) && strncmp(first, rows, strlen(rows)) == 0;
    if (!alike && getenv("ASLEFT_UPDATE_EXPECTED") != NULL) {
        file_write(chapter, text, (int)(first - text), rows, end);
        alike = true;
    }
    if (!alike)
        (void)fprintf(stderr, "%s does not show the table; between its two marks this is due:\n%s", chapter, rows);
    free(rows);
    free(text);
    assert_true(alike);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_chapter_shows_the_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
