/* SPDX-License-Identifier: MIT */
/* A result's file appears whole or not at all, and nothing else is ever replaced. */
#include "command/output.h"

#include "types/memory.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

/* A folder of the test's own, and a file's name in it. */
struct place {
    char folder[32];
    char *path;
};

static int place_start(void **state)
{
    struct place *place = memory_new(1, sizeof *place);
    (void)strncpy(place->folder, "/tmp/asleft-output-XXXXXX", sizeof place->folder - 1);
    assert_non_null(mkdtemp(place->folder));
    place->path = text_format("%s/result.txt", place->folder);
    *state = place;
    return 0;
}

/* How many files are in the folder; with `and_remove` they are gone afterwards. */
static size_t files_in(const char *folder, bool and_remove)
{
    size_t count = 0;
    DIR *listing = opendir(folder);
    assert_non_null(listing);
    for (const struct dirent *entry; (entry = readdir(listing)) != NULL;) {
        if (entry->d_name[0] == '.')
            continue;
        count++;
        if (and_remove)
            (void)unlinkat(dirfd(listing), entry->d_name, 0);
    }
    (void)closedir(listing);
    return count;
}

static int place_end(void **state)
{
    struct place *place = *state;
    (void)files_in(place->folder, true);
    (void)rmdir(place->folder);
    free(place->path);
    free(place);
    return 0;
}

static struct options options_for(const char *path)
{
    return (struct options){.format = sink_format_find("text"), .output = path};
}

static void put(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    (void)fputs(text, file);
    (void)fclose(file);
}

static void expect_content(const char *path, const char *expected)
{
    char text[64] = "";
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    (void)fclose(file);
    assert_string_equal(text, expected);
}

static void a_file_appears_when_it_is_whole(void **state)
{
    struct place *place = *state;
    struct options options = options_for(place->path);
    struct output output;
    struct error error = {0};
    assert_true(output_open(&output, &options, &error));
    (void)fputs("half", output.file);
    assert_true(output_flush(&output, &error));
    assert_int_equal(access(place->path, F_OK), -1);
    (void)fputs(" and half", output.file);
    assert_true(output_finish(&output, &error));
    expect_content(place->path, "half and half");
    assert_int_equal(files_in(place->folder, false), 1);
}

/* A collector that reads every *.prom of a folder must not see half a file. */
static void what_is_under_way_has_another_ending(void **state)
{
    struct place *place = *state;
    char *path = text_format("%s/drives.prom", place->folder);
    struct options options = options_for(path);
    struct output output;
    assert_true(output_open(&output, &options, NULL));
    assert_int_equal(files_in(place->folder, false), 1);
    assert_int_equal(access(output.beside, F_OK), 0);
    assert_int_not_equal(strcmp(output.beside + strlen(output.beside) - strlen(".prom"), ".prom"), 0);
    assert_true(output_finish(&output, NULL));
    assert_int_equal(access(path, F_OK), 0);
    free(path);
}

static void an_older_file_stays_until_then(void **state)
{
    struct place *place = *state;
    put(place->path, "older");
    struct options options = options_for(place->path);
    struct output output;
    assert_true(output_open(&output, &options, NULL));
    (void)fputs("newer", output.file);
    (void)fflush(output.file);
    expect_content(place->path, "older");
    assert_true(output_finish(&output, NULL));
    expect_content(place->path, "newer");
}

/* On standard output nothing can be taken back, but what was cut off must not look whole. */
static void a_discarded_result_is_not_ended(void **state)
{
    (void)state;
    char *text = NULL;
    size_t size = 0;
    struct output output = {.file = open_memstream(&text, &size)};
    FILE *file = output.file;
    sink_init(&output.sink, sink_format_find("openmetrics"), file, (struct sink_options){0});
    output_discard(&output);
    (void)fclose(file);
    assert_string_equal(text, "");
    free(text);
}

static void a_discarded_result_leaves_nothing(void **state)
{
    struct place *place = *state;
    put(place->path, "older");
    struct options options = options_for(place->path);
    struct output output;
    assert_true(output_open(&output, &options, NULL));
    (void)fputs("half", output.file);
    output_discard(&output);
    output_discard(&output);
    expect_content(place->path, "older");
    assert_int_equal(files_in(place->folder, false), 1);
}

static void a_file_has_the_rights_of_any_other(void **state)
{
    struct place *place = *state;
    mode_t before = umask(027);
    struct options options = options_for(place->path);
    struct output output;
    bool written = output_open(&output, &options, NULL) && output_finish(&output, NULL);
    (void)umask(before);
    assert_true(written);
    struct stat there;
    assert_int_equal(stat(place->path, &there), 0);
    assert_int_equal(there.st_mode & 07777, 0640);
}

static void a_link_is_followed_and_stays_a_link(void **state)
{
    struct place *place = *state;
    char *link = text_format("%s/link", place->folder);
    put(place->path, "older");
    assert_int_equal(symlink(place->path, link), 0);
    struct options options = options_for(link);
    struct output output;
    assert_true(output_open(&output, &options, NULL));
    (void)fputs("newer", output.file);
    assert_true(output_finish(&output, NULL));
    struct stat there;
    assert_int_equal(lstat(link, &there), 0);
    assert_true(S_ISLNK(there.st_mode));
    expect_content(place->path, "newer");
    free(link);
}

static void a_folder_that_is_not_there_is_an_error(void **state)
{
    struct place *place = *state;
    char *path = text_format("%s/none/result.txt", place->folder);
    char *message = text_format("%s cannot be written: No such file or directory", path);
    struct options options = options_for(path);
    struct output output;
    struct error error = {0};
    assert_false(output_open(&output, &options, &error));
    assert_int_equal(error.kind, ERROR_OUTPUT);
    assert_string_equal(error.text, message);
    free(message);
    free(path);
}

static void a_folder_is_not_replaced(void **state)
{
    struct place *place = *state;
    struct options options = options_for(place->folder);
    struct output output;
    struct error error = {0};
    assert_false(output_open(&output, &options, &error));
    assert_int_equal(error.kind, ERROR_OUTPUT);
    assert_non_null(strstr(error.text, "cannot be written: Is a directory"));
    assert_int_equal(files_in(place->folder, false), 0);
}

/* A device like /dev/full; who could replace that one gets another, for if the program is wrong, it is gone. */
static const char *full_device(const struct place *place)
{
    if (geteuid() != 0)
        return "/dev/full";
    if (mknod(place->path, S_IFCHR | 0600, makedev(1, 7)) != 0)
        skip();
    return place->path;
}

static void a_full_disk_is_an_error_and_the_device_stays(void **state)
{
    const char *path = full_device(*state);
    char *message = text_format("%s could not be written: No space left on device", path);
    struct options options = options_for(path);
    struct output output;
    struct error error = {0};
    assert_true(output_open(&output, &options, &error));
    (void)fputs("text", output.file);
    assert_false(output_flush(&output, NULL)); /* a report of several drives is flushed after each */
    errno = EAGAIN;
    assert_false(output_finish(&output, &error));
    assert_int_equal(error.kind, ERROR_OUTPUT);
    assert_string_equal(error.text, message);
    struct stat there;
    assert_int_equal(stat(path, &there), 0);
    assert_true(S_ISCHR(there.st_mode));
    free(message);
}

static void a_pipe_is_written_to(void **state)
{
    struct place *place = *state;
    assert_int_equal(mkfifo(place->path, 0600), 0);
    int reader = open(place->path, O_RDONLY | O_NONBLOCK);
    struct options options = options_for(place->path);
    struct output output;
    assert_true(output_open(&output, &options, NULL));
    (void)fputs("through", output.file);
    assert_true(output_finish(&output, NULL));
    char text[16] = "";
    assert_int_equal(read(reader, text, sizeof text - 1), 7);
    assert_string_equal(text, "through");
    (void)close(reader);
    assert_int_equal(files_in(place->folder, false), 1);
}

/* In a process of its own, whose standard output is full. */
static void standard_output_that_is_full_is_an_error(void **state)
{
    (void)state;
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct options options = options_for(NULL);
        struct output output;
        struct error error = {0};
        bool right = freopen("/dev/full", "w", stdout) != NULL && output_open(&output, &options, &error);
        (void)fputs("text", stdout);
        right = right && !output_finish(&output, &error) && error.kind == ERROR_OUTPUT &&
                strcmp(error.text, "standard output could not be written: No space left on device") == 0;
        _exit(right ? 0 : 1);
    }
    int status = -1;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
}

static void a_file_is_as_wide_as_every_other_and_colourless(void **state)
{
    struct place *place = *state;
    struct options options = options_for(place->path);
    struct output output;
    assert_true(output_open(&output, &options, NULL));
    assert_int_equal(output.sink.options.width, 80);
    assert_false(output.sink.options.color);
    output_discard(&output);
    options.color = COLOR_ALWAYS;
    assert_true(output_open(&output, &options, NULL));
    assert_true(output.sink.options.color);
    output_discard(&output);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_file_appears_when_it_is_whole, place_start, place_end),
        cmocka_unit_test_setup_teardown(what_is_under_way_has_another_ending, place_start, place_end),
        cmocka_unit_test_setup_teardown(an_older_file_stays_until_then, place_start, place_end),
        cmocka_unit_test(a_discarded_result_is_not_ended),
        cmocka_unit_test_setup_teardown(a_discarded_result_leaves_nothing, place_start, place_end),
        cmocka_unit_test_setup_teardown(a_file_has_the_rights_of_any_other, place_start, place_end),
        cmocka_unit_test_setup_teardown(a_link_is_followed_and_stays_a_link, place_start, place_end),
        cmocka_unit_test_setup_teardown(a_folder_that_is_not_there_is_an_error, place_start, place_end),
        cmocka_unit_test_setup_teardown(a_folder_is_not_replaced, place_start, place_end),
        cmocka_unit_test_setup_teardown(a_full_disk_is_an_error_and_the_device_stays, place_start, place_end),
        cmocka_unit_test_setup_teardown(a_pipe_is_written_to, place_start, place_end),
        cmocka_unit_test(standard_output_that_is_full_is_an_error),
        cmocka_unit_test_setup_teardown(a_file_is_as_wide_as_every_other_and_colourless, place_start, place_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
