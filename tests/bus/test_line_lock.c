/* SPDX-License-Identifier: MIT */
/* The lock of a line: which file it is, who holds it, and what others may have put in its place. */
#include "bus/line_lock.h"
#include "types/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

/* Lines that nobody else has: a host that no resolver knows (RFC 6761), numbered by this process. */
struct bench {
    char host[64];
    char port[128]; /* a file that stands for a device; a lock asks for no more than its path */
    char link[128];
    char folder[64];
    struct line by_host, by_port, by_link;
};

static int setup(void **state)
{
    struct bench *bench = test_calloc(1, sizeof *bench);
    (void)snprintf(bench->host, sizeof bench->host, "Drive-%ld.invalid", (long)getpid());
    (void)snprintf(bench->folder, sizeof bench->folder, "/tmp/asleft-lock-test.XXXXXX");
    assert_non_null(mkdtemp(bench->folder));
    (void)snprintf(bench->port, sizeof bench->port, "%s/tty A", bench->folder);
    (void)snprintf(bench->link, sizeof bench->link, "%s/by-id", bench->folder);
    int file = open(bench->port, O_CREAT | O_WRONLY | O_CLOEXEC, 0600);
    assert_true(file >= 0);
    (void)close(file);
    assert_int_equal(symlink(bench->port, bench->link), 0);
    bench->by_host = (struct line){.host = bench->host, .port = 502};
    bench->by_port = (struct line){.serial = bench->port};
    bench->by_link = (struct line){.serial = bench->link};
    *state = bench;
    return 0;
}

static const char *lock_folder(void)
{
    if (access("/run/lock", W_OK) == 0)
        return "/run/lock";
    const char *own = getenv("XDG_RUNTIME_DIR");
    return own != NULL && access(own, W_OK) == 0 ? own : "/tmp";
}

/* Owned. */
static char *lock_path(const struct line *line)
{
    if (line->serial == NULL)
        return text_format("%s/asleft-host-drive%%2d%ld.invalid:%u", lock_folder(), (long)getpid(), line->port);
    char *end = strrchr(line->serial, '/');
    char *path =
        text_format("%s/asleft-port-tmp-asleft%%2dlock%%2dtest%.7s-tty%%20A", lock_folder(), end - strlen(".XXXXXX"));
    return path;
}

static int teardown(void **state)
{
    struct bench *bench = *state;
    char *paths[] = {lock_path(&bench->by_host), lock_path(&bench->by_port)};
    for (size_t i = 0; i < 2; i++) {
        (void)unlink(paths[i]);
        free(paths[i]);
    }
    (void)unlink(bench->link);
    (void)unlink(bench->port);
    (void)rmdir(bench->folder);
    test_free(bench);
    return 0;
}

/* ---- another run ---- */

struct holder {
    pid_t child;
    int end; /* closing it ends the child */
};

static struct holder hold_elsewhere(const struct line *line)
{
    int ready[2], end[2];
    assert_int_equal(pipe(ready), 0);
    assert_int_equal(pipe(end), 0);
    struct holder holder = {.child = fork(), .end = end[1]};
    assert_true(holder.child >= 0);
    char byte = 0;
    if (holder.child == 0) {
        struct line_lock *lock = NULL;
        (void)close(end[1]);
        byte = line_lock_take(line, &lock, NULL) ? 1 : 0;
        (void)!write(ready[1], &byte, 1);
        (void)!read(end[0], &byte, 1);
        _exit(0); /* holding it still: as a run that is killed does */
    }
    assert_int_equal(read(ready[0], &byte, 1), 1);
    assert_int_equal(byte, 1);
    (void)close(ready[0]);
    (void)close(ready[1]);
    (void)close(end[0]);
    return holder;
}

static void end_holder(const struct holder *holder)
{
    (void)close(holder->end);
    assert_int_equal(waitpid(holder->child, NULL, 0), holder->child);
}

static void take_and_free(const struct line *line)
{
    struct line_lock *lock = NULL;
    struct error error = {0};
    if (!line_lock_take(line, &lock, &error))
        fail_msg("%s", error.text);
    line_lock_free(lock);
}

static void another_run_is_kept_out_and_told_who_is_in(void **state)
{
    const struct bench *bench = *state;
    const struct line *lines[] = {&bench->by_host, &bench->by_port};
    for (size_t i = 0; i < 2; i++) {
        assert_false(line_lock_is_held(lines[i]));
        struct holder holder = hold_elsewhere(lines[i]);
        assert_true(line_lock_is_held(lines[i]));
        struct line_lock *lock = NULL;
        struct error error = {0};
        assert_false(line_lock_take(lines[i], &lock, &error));
        assert_int_equal(error.kind, ERROR_BUSY);
        char number[32];
        (void)snprintf(number, sizeof number, "process %ld,", (long)holder.child);
        assert_non_null(strstr(error.text, number));
        end_holder(&holder); /* without giving it back */
        assert_false(line_lock_is_held(lines[i]));
        take_and_free(lines[i]);
    }
}

static void our_own_lock_is_not_another_runs(void **state)
{
    const struct bench *bench = *state;
    struct line_lock *lock = NULL;
    assert_true(line_lock_take(&bench->by_host, &lock, NULL));
    assert_false(line_lock_is_held(&bench->by_host));
    line_lock_free(lock);
    line_lock_free(NULL);
    take_and_free(&bench->by_host);
}

static void a_line_is_the_same_by_any_name(void **state)
{
    const struct bench *bench = *state;
    struct holder holder = hold_elsewhere(&bench->by_link);
    assert_true(line_lock_is_held(&bench->by_port));
    end_holder(&holder);
    char upper[64];
    (void)snprintf(upper, sizeof upper, "DRIVE-%ld.Invalid", (long)getpid());
    const struct line shouted = {.host = upper, .port = 502}, other = {.host = upper, .port = 503};
    holder = hold_elsewhere(&bench->by_host);
    assert_true(line_lock_is_held(&shouted));
    assert_false(line_lock_is_held(&other));
    end_holder(&holder);
}

static void the_file_stays_and_says_who_and_when_and_all_may_lock_it(void **state)
{
    const struct bench *bench = *state;
    mode_t before = umask(077);
    take_and_free(&bench->by_host);
    take_and_free(&bench->by_port);
    (void)umask(before);
    char *paths[] = {lock_path(&bench->by_host), lock_path(&bench->by_port)};
    for (size_t i = 0; i < 2; i++) {
        struct stat status;
        assert_int_equal(lstat(paths[i], &status), 0);
        assert_true(S_ISREG(status.st_mode));
        assert_int_equal(status.st_mode & 07777, 0666);
        char text[128] = {0};
        int file = open(paths[i], O_RDONLY | O_CLOEXEC);
        assert_true(read(file, text, sizeof text - 1) > 0);
        (void)close(file);
        char *start = text_format("process %ld, since 2", (long)getpid());
        assert_memory_equal(text, start, strlen(start));
        assert_string_equal(text + strlen(text) - 2, "Z\n");
        free(start);
        free(paths[i]);
    }
}

/* ---- what others put there ---- */

static void assert_unusable(const struct line *line, const char *path)
{
    struct line_lock *lock = NULL;
    struct error error = {0};
    assert_false(line_lock_take(line, &lock, &error));
    assert_int_equal(error.kind, ERROR_CONTACT);
    assert_non_null(strstr(error.text, path));
    assert_false(line_lock_is_held(line));
}

static void a_planted_link_is_not_followed(void **state)
{
    const struct bench *bench = *state;
    char *path = lock_path(&bench->by_host);
    char *target = text_format("%s/target", bench->folder);
    assert_int_equal(symlink(target, path), 0);
    assert_unusable(&bench->by_host, path);
    assert_int_equal(access(target, F_OK), -1); /* nothing was made through it */
    assert_int_equal(unlink(path), 0);
    /* To a file of ours, or a second name of it: it would be overwritten. */
    int file = open(target, O_CREAT | O_WRONLY | O_CLOEXEC, 0600);
    assert_int_equal(write(file, "kept", 4), 4);
    assert_int_equal(symlink(target, path), 0);
    assert_unusable(&bench->by_host, path);
    assert_int_equal(unlink(path), 0);
    if (link(target, path) == 0) { /* not across file systems */
        assert_unusable(&bench->by_host, path);
        assert_int_equal(unlink(path), 0);
    }
    struct stat status;
    assert_int_equal(fstat(file, &status), 0);
    assert_int_equal(status.st_size, 4);
    (void)close(file);
    assert_int_equal(unlink(target), 0);
    free(target);
    free(path);
}

static void what_is_no_plain_file_is_no_lock(void **state)
{
    const struct bench *bench = *state;
    char *path = lock_path(&bench->by_host);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_unusable(&bench->by_host, path);
    assert_int_equal(rmdir(path), 0);
    assert_int_equal(mkfifo(path, 0600), 0); /* opening it must not wait for somebody at its other end */
    assert_unusable(&bench->by_host, path);
    assert_int_equal(unlink(path), 0);
    free(path);
}

static void what_stands_in_the_file_is_not_believed(void **state)
{
    const struct bench *bench = *state;
    static const char *const texts[] = {
        "", "process ", "process x", "process 99999999999999999999999999", "process \x1b[2J", "\xff\xff"};
    char *path = lock_path(&bench->by_host);
    struct holder holder = hold_elsewhere(&bench->by_host);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        int file = open(path, O_WRONLY | O_TRUNC | O_CLOEXEC);
        assert_int_equal(write(file, texts[i], strlen(texts[i])), strlen(texts[i]));
        (void)close(file);
        struct line_lock *lock = NULL;
        struct error error = {0};
        assert_false(line_lock_take(&bench->by_host, &lock, &error));
        assert_int_equal(error.kind, ERROR_BUSY);
        assert_null(strchr(error.text, '\x1b'));
        assert_null(strstr(error.text, "process"));
    }
    end_holder(&holder);
    take_and_free(&bench->by_host);
    free(path);
}

static void a_line_without_a_name_has_no_lock(void **state)
{
    const struct bench *bench = *state;
    struct line_lock *lock = NULL;
    struct error error = {0};
    const struct line nowhere = {0};
    assert_false(line_lock_take(&nowhere, &lock, &error));
    assert_int_equal(error.kind, ERROR_USE);
    assert_false(line_lock_is_held(&nowhere));
    char *missing = text_format("%s/none", bench->folder);
    const struct line gone = {.serial = missing};
    assert_false(line_lock_take(&gone, &lock, &error));
    assert_int_equal(error.kind, ERROR_CONTACT);
    assert_int_equal(error.trouble, LINE_PORT_MISSING);
    free(missing);
    char *long_name = memory_new(400, 1);
    memset(long_name, 'a', 399);
    const struct line endless = {.host = long_name, .port = 502};
    assert_false(line_lock_take(&endless, &lock, &error));
    assert_int_equal(error.kind, ERROR_CONTACT);
    free(long_name);
}

static void different_lines_have_different_locks(void **state)
{
    (void)state;
    /* each pair would be one file if signs were just replaced */
    static const char *const pairs[][2] = {{"a-b", "a/b"}, {"a%2db", "a-b"}, {"a b", "a_b"}, {"a:5", "a"}, {"..", "."}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        char *first = text_format("%ld.invalid.%s", (long)getpid(), pairs[i][0]);
        char *second = text_format("%ld.invalid.%s", (long)getpid(), pairs[i][1]);
        const struct line one = {.host = first, .port = 502}, two = {.host = second, .port = 502};
        struct holder holder = hold_elsewhere(&one);
        assert_false(line_lock_is_held(&two));
        take_and_free(&two);
        end_holder(&holder);
        free(first);
        free(second);
    }
    char *clear = text_format("rm -f %s/asleft-host-%ld.invalid.*", lock_folder(), (long)getpid());
    assert_int_equal(system(clear), 0); /* NOLINT(cert-env33-c): our own files, by a name without anything to expand */
    free(clear);
}

/* A look at the lock takes it for an instant; that instant must not turn a writer away. */
static void looking_does_not_keep_a_writer_out(void **state)
{
    const struct bench *bench = *state;
    take_and_free(&bench->by_host);
    int ready[2];
    assert_int_equal(pipe(ready), 0);
    pid_t watcher = fork();
    assert_true(watcher >= 0);
    if (watcher == 0) {
        (void)!write(ready[1], "", 1);
        for (;;)
            (void)line_lock_is_held(&bench->by_host);
    }
    char byte = 0;
    assert_int_equal(read(ready[0], &byte, 1), 1);
    (void)close(ready[0]);
    (void)close(ready[1]);
    for (unsigned i = 0; i < 5000; i++)
        take_and_free(&bench->by_host);
    assert_int_equal(kill(watcher, SIGKILL), 0);
    assert_int_equal(waitpid(watcher, NULL, 0), watcher);
}

#define IN_BENCH(test) cmocka_unit_test_setup_teardown(test, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_BENCH(another_run_is_kept_out_and_told_who_is_in),
        IN_BENCH(our_own_lock_is_not_another_runs),
        IN_BENCH(a_line_is_the_same_by_any_name),
        IN_BENCH(the_file_stays_and_says_who_and_when_and_all_may_lock_it),
        IN_BENCH(a_planted_link_is_not_followed),
        IN_BENCH(what_is_no_plain_file_is_no_lock),
        IN_BENCH(what_stands_in_the_file_is_not_believed),
        IN_BENCH(a_line_without_a_name_has_no_lock),
        IN_BENCH(different_lines_have_different_locks),
        IN_BENCH(looking_does_not_keep_a_writer_out),
    };
    return cmocka_run_group_tests_name("line lock", tests, NULL, NULL);
}
