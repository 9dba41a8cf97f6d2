/* SPDX-License-Identifier: MIT */
/* Lists performed with the real store behind them, to their end and killed in the middle: what the journal says is what
 * the drive's own log says. The yardstick is that log; there is no published source for it. */
#include "change/perform_trial.h"

#include <signal.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { LISTS = 300, KILLED = 60 };

struct folder {
    char path[64], file[96];
};

/* In memory where there is room for it: a process that is killed leaves the same there, and the disk is spared. */
static int make_folder(void **state)
{
    struct folder *folder = memory_new(1, sizeof *folder);
    (void)snprintf(folder->path, sizeof folder->path, "%s/asleft-perform-XXXXXX",
                   access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
    assert_non_null(mkdtemp(folder->path));
    (void)snprintf(folder->file, sizeof folder->file, "%s/records.sqlite", folder->path);
    *state = folder;
    return 0;
}

static int remove_folder(void **state)
{
    static const char *const ends[] = {"", "-wal", "-shm"};
    struct folder *folder = *state;
    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        char path[128];
        (void)snprintf(path, sizeof path, "%s%s", folder->file, ends[i]);
        (void)unlink(path);
    }
    int removed = rmdir(folder->path);
    free(folder);
    return removed;
}

static struct store *open_store(const struct folder *folder)
{
    struct store *store = NULL;
    struct error error = {0};
    if (!store_open(folder->file, STORE_KEEP, &store, &error))
        fail_msg("%s", error.text);
    return store;
}

static void assert_whole(struct store *store)
{
    struct error error = {0};
    if (!store_check(store, &error))
        fail_msg("%s", error.text);
}

static void name_drive(struct scene *scene, uint64_t number)
{
    free(scene->sheet.tag);
    scene->sheet.tag = text_format("P-%llu", (unsigned long long)number);
}

/* What is kept of it is what is told of it. */
static int64_t judge_kept(const struct scene *scene, struct store *store)
{
    struct journal journal = {0};
    struct record before = {0}, after = {0};
    bool found = false;
    assert_true(store_journal_last(store, scene->sheet.tag, &found, &journal, NULL) && found);
    assert_true(journal.ended_ms > 0);
    assert_string_equal(journal.code, scene->list.code);
    assert_int_equal(journal.step_count, scene->list.count + (scene->map.save.given ? 1 : 0));
    for (size_t i = 0; i < scene->list.count; i++) {
        const struct change *change = &scene->list.items[i];
        assert_string_equal(journal.steps[i].parameter, scene->map.parameters[change->parameter].name);
        assert_int_equal(journal.steps[i].outcome, change->outcome);
        assert_int_equal(journal.steps[i].words, change->words);
        assert_memory_equal(journal.steps[i].to, change->to, change->words * sizeof *change->to);
        assert_memory_equal(journal.steps[i].was, change->now, change->words * sizeof *change->now);
    }
    assert_true(store_last(store, scene->sheet.tag, RECORD_BEFORE_WRITE, &found, &before, NULL) && found);
    assert_true(record_id_equal(&before.id, &scene->list.before) && record_id_equal(&before.id, &journal.before));
    assert_true(store_last(store, scene->sheet.tag, RECORD_AFTER_WRITE, &found, &after, NULL));
    assert_true(record_id_equal(&after.id, &scene->list.after));
    int64_t looked_ms = after.began_ms;
    record_free(&before);
    record_free(&after);
    journal_free(&journal);
    return looked_ms;
}

static void the_store_has_what_is_told(void **state)
{
    const struct folder *folder = *state;
    struct store *store = open_store(folder);
    struct trial_tally tally = {0};
    for (uint64_t i = 0; i < LISTS; i++) {
        struct dice dice = dice_for(77, i);
        struct scene scene;
        trial_start(&scene, &dice, store);
        name_drive(&scene, i);
        scene_perform(&scene);
        assert_true(scene.returned);
        trial_judge(&scene, judge_kept(&scene, store), &tally);
        scene_free(&scene);
    }
    trial_print("with a store", &tally);
    assert_whole(store);
    store_close(store);
}

/* ---- killed in the middle ---- */

/* In memory that outlives the child. */
struct killed {
    struct scene scene;
    unsigned requests_left; /* the child kills itself before it answers the last one */
};

static void count_down(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct scene *scene = line->user;
    struct killed *killed = (struct killed *)scene; /* its first member */
    if (--killed->requests_left == 0)
        (void)raise(SIGKILL);
    scene_hear(line, frame, length);
}

/* As if the power of the computer failed between two writes of the drive, or in one. */
static void kill_in_journal(void *user, const struct slave_write *write)
{
    (void)write;
    struct killed *killed = user;
    if (killed->requests_left == 1)
        (void)raise(SIGKILL);
}

static void perform_killed(struct killed *killed, const struct folder *folder, uint64_t number)
{
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct store *store = open_store(folder);
        struct dice dice = dice_for(78, number);
        trial_start(&killed->scene, &dice, store);
        name_drive(&killed->scene, number);
        killed->scene.line->drive = count_down;
        killed->scene.slave.about_to_write = kill_in_journal;
        killed->scene.slave.user = killed;
        killed->requests_left = 2 + roll(&dice, 40);
        scene_perform(&killed->scene);
        _exit(0);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) ? WTERMSIG(status) == SIGKILL : WEXITSTATUS(status) == 0);
}

/* The journal never says less than the drive's log, and never more. `fresh` is a scene like that of the child. */
static void judge_killed(const struct scene *fresh, const struct slave *slave, struct store *store,
                         unsigned *interrupted)
{
    struct journal journal = {0};
    bool found = false;
    assert_true(store_journal_last(store, fresh->sheet.tag, &found, &journal, NULL));
    if (!found)
        assert_int_equal(slave->log_count, 0);
    for (size_t i = 0; found && i < fresh->list.count; i++) {
        struct scene seen = *fresh;
        seen.slave = *slave;
        unsigned writes = scene_writes(&seen, fresh->list.items[i].parameter);
        switch (journal.steps[i].outcome) {
        case WRITE_PLANNED:
        case WRITE_SET_BY_ITSELF:
        case WRITE_ALTERED:
        case WRITE_LEFT_OUT:
            assert_int_equal(writes, 0);
            break;
        case WRITE_KEPT:
        case WRITE_CLAMPED:
        case WRITE_NOT_KEPT:
            assert_true(writes > 0);
            break;
        case WRITE_SENT:
            (*interrupted)++;
            assert_int_equal(journal.ended_ms, 0);
            break;
        case WRITE_REFUSED:
        case WRITE_NOT_WRITTEN:
        case WRITE_OTHER_STATE:
        case WRITE_UNKNOWN:
            break;
        }
    }
    journal_free(&journal);
}

static void a_killed_run_leaves_a_true_journal(void **state)
{
    const struct folder *folder = *state;
    struct killed *killed = mmap(NULL, sizeof *killed, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    assert_true(killed != MAP_FAILED);
    unsigned interrupted = 0;
    for (uint64_t i = 0; i < KILLED; i++) {
        memset(killed, 0, sizeof *killed);
        perform_killed(killed, folder, i);
        struct store *store = open_store(folder);
        assert_whole(store);
        struct dice dice = dice_for(78, i);
        struct scene fresh;
        trial_start(&fresh, &dice, store);
        name_drive(&fresh, i);
        judge_killed(&fresh, &killed->scene.slave, store, &interrupted);
        scene_free(&fresh);
        store_close(store);
    }
    print_message("%u of %d killed runs were in the middle of a write\n", interrupted, KILLED);
    assert_true(interrupted > 0);
    (void)munmap(killed, sizeof *killed);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_store_has_what_is_told, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(a_killed_run_leaves_a_true_journal, make_folder, remove_folder),
    };
    return cmocka_run_group_tests_name("performing with a store", tests, NULL, NULL);
}
