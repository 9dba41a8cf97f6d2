/* SPDX-License-Identifier: MIT */
/* A run that is killed at any moment: the store is whole, and everything that it was told was kept is there. */
#include "store/store_bench.h"

#include <signal.h>
#include <sys/wait.h>

enum { KILLS = 40, STEPS = 5 };

/* What the child says after each call that returned true: rounds begin at 0. */
struct told {
    int64_t round;
    int step; /* -1: the record of the round; 0: its journal; 1 to STEPS: that step; STEPS + 1: its end */
};

static struct record record_of(int64_t round)
{
    struct record record = plain_record("P-1", RECORD_BEFORE_WRITE, round);
    record.id = (struct record_id){{1}};
    memcpy(record.id.bytes + 8, &round, sizeof round);
    add_value(&record, "rated_current", (uint16_t)round);
    add_value(&record, "ramp", (uint16_t)(round / 7));
    return record;
}

static struct journal journal_of(int64_t round)
{
    struct journal journal = plain_journal("P-1", round, STEPS);
    journal.id = (struct record_id){{2}};
    memcpy(journal.id.bytes + 8, &round, sizeof round);
    memset(&journal.before, 0, sizeof journal.before);
    return journal;
}

/* A step's outcome is known from its number. */
static void do_step(struct journal *journal, int64_t round, int step)
{
    journal->steps[step].outcome = (round + step) % 2 == 0 ? WRITE_KEPT : WRITE_CLAMPED;
    journal->steps[step].at_ms = round + step + 1;
}

static bool tell(int line, int64_t round, int step)
{
    struct told told;
    memset(&told, 0, sizeof told);
    told.round = round;
    told.step = step;
    return write(line, &told, sizeof told) == sizeof told;
}

static bool write_round(struct store *store, int line, int64_t round)
{
    struct record record = record_of(round);
    struct journal journal = journal_of(round);
    bool done = store_put(store, &record, NULL) && tell(line, round, -1) &&
                store_journal_begin(store, &journal, NULL) && tell(line, round, 0);
    for (int i = 0; done && i < STEPS; i++) {
        do_step(&journal, round, i);
        done = store_journal_step(store, &journal, (size_t)i, NULL) && tell(line, round, i + 1);
    }
    journal.ended_ms = round + 100;
    done = done && store_journal_end(store, &journal, NULL) && tell(line, round, STEPS + 1);
    record_free(&record);
    journal_free(&journal);
    return done;
}

static void write_until_killed(const struct bench *bench, int line, int64_t round)
{
    struct store *store = NULL;
    if (store_open(bench->path, STORE_KEEP, &store, NULL))
        while (write_round(store, line, round))
            round++;
    _exit(1);
}

/* Everything up to the last thing told is there; of what was under way then, all or nothing. */
static int64_t compare(struct store *store, struct told last, int64_t first)
{
    struct error error = {0};
    for (int64_t round = first; round <= last.round; round++) {
        struct record record = record_of(round);
        assert_kept(store, &record);
        record_free(&record);
    }
    struct journal back;
    bool found;
    assert_done(store_journal_last(store, "P-1", &found, &back, &error), &error);
    int64_t round = found ? back.began_ms : -1;
    bool next = last.step == -1 && round == last.round; /* begun, and not told any more */
    assert_true(round == last.round || (last.step == -1 && round == last.round - 1));
    if (found && (last.step >= 0 || next)) {
        struct journal expected = journal_of(round);
        int done = next ? 0 : last.step <= STEPS ? last.step : STEPS;
        for (int i = 0; i < done; i++)
            do_step(&expected, round, i);
        /* one step more may be there, or the end */
        if (done < STEPS && back.steps[done].at_ms != 0)
            do_step(&expected, round, done++);
        expected.ended_ms = last.step == STEPS + 1 || (done == STEPS && back.ended_ms != 0) ? round + 100 : 0;
        assert_journals_equal(&back, &expected);
        journal_free(&expected);
    }
    journal_free(&back);
    return last.round + 2;
}

static void nothing_that_was_told_is_lost(void **state)
{
    const struct bench *bench = *state;
    struct error error = {0};
    uint64_t seed = 88172645463325252;
    int64_t round = 1;
    for (int kill_number = 0; kill_number < KILLS; kill_number++) {
        int line[2];
        assert_int_equal(pipe(line), 0);
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            (void)close(line[0]);
            write_until_killed(bench, line[1], round);
        }
        (void)close(line[1]);
        /* After so many told things, and a little later: anywhere in the call that follows. */
        seed = seed * 6364136223846793005U + 1442695040888963407U;
        unsigned count = 1 + (unsigned)(seed >> 33) % 40;
        unsigned spin = (unsigned)(seed >> 13) % 60000;
        struct told told = {0};
        struct told last = {0};
        for (unsigned i = 0; i < count; i++) {
            assert_int_equal(read(line[0], &told, sizeof told), sizeof told);
            last = told;
        }
        for (volatile unsigned i = 0; i < spin; i++)
            continue;
        assert_int_equal(kill(child, SIGKILL), 0);
        while (read(line[0], &told, sizeof told) == sizeof told)
            last = told;
        (void)close(line[0]);
        int status;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status)); /* it did not end by itself */

        struct store *look = open_store(bench, STORE_LOOK);
        int64_t next = compare(look, last, round);
        store_close(look);
        struct store *store = open_store(bench, STORE_KEEP);
        assert_done(store_check(store, &error), &error);
        assert_int_equal(compare(store, last, round), next);
        store_close(store);
        round = next;
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(nothing_that_was_told_is_lost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
