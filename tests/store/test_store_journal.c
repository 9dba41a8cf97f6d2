/* SPDX-License-Identifier: MIT */
/* The journal of writes: kept before the first, told step by step, ended or found open. */
#include "store/store_bench.h"

static struct journal full_journal(void)
{
    struct journal journal = plain_journal("P-1 'x'", 5000, 4);
    journal.serial_number = text_copy("SN 'é' 1");
    journal.restores = true;
    journal.process = INT64_MAX;
    for (size_t i = 0; i < journal.step_count; i++)
        journal.steps[i].outcome = WRITE_PLANNED;
    struct journal_step *save = &journal.steps[3];
    free(save->parameter);
    free(save->was);
    free(save->to);
    free(save->was_shown);
    free(save->to_shown);
    *save = (struct journal_step){.outcome = WRITE_PLANNED};
    struct journal_step *wide = &journal.steps[1];
    free(wide->was);
    free(wide->to);
    wide->words = 2;
    wide->was = memory_new(2, sizeof *wide->was);
    wide->to = memory_new(2, sizeof *wide->to);
    wide->was[1] = 0x1234;
    wide->to[0] = 0xff01;
    return journal;
}

/* The open journal and the last one of that tag, each compared with one, or with none. */
static void assert_journals(struct store *store, const char *tag, const struct journal *open,
                            const struct journal *last)
{
    struct error error = {0};
    const struct journal *expected[] = {open, last};
    for (int i = 0; i < 2; i++) {
        struct journal back;
        bool found;
        assert_done((i == 0 ? store_journal_open : store_journal_last)(store, tag, &found, &back, &error), &error);
        assert_int_equal(found, expected[i] != NULL);
        if (found)
            assert_journals_equal(&back, expected[i]);
        journal_free(&back);
    }
}

static void set_step(struct store *store, struct journal *journal, size_t step, enum write_outcome outcome,
                     const char *note, int64_t at_ms)
{
    struct error error = {0};
    journal->steps[step].outcome = outcome;
    free(journal->steps[step].note);
    journal->steps[step].note = text_copy(note);
    journal->steps[step].at_ms = at_ms;
    assert_done(store_journal_step(store, journal, step, &error), &error);
}

static void a_journal_lives_and_ends(void **state)
{
    const struct bench *bench = *state;
    struct store *store = open_store(bench, STORE_KEEP);
    struct error error = {0};
    struct journal journal = full_journal();
    assert_journals(store, journal.tag, NULL, NULL);
    assert_done(store_journal_begin(store, &journal, &error), &error);
    assert_true(record_id_given(&journal.id));
    assert_journals(store, journal.tag, &journal, &journal);
    for (int outcome = 0; outcome < WRITE_OUTCOMES; outcome++) {
        set_step(store, &journal, 1, (enum write_outcome)outcome, outcome % 2 == 0 ? "it said \"no\"" : NULL, outcome);
        assert_journals(store, journal.tag, &journal, &journal);
    }
    set_step(store, &journal, 3, WRITE_KEPT, NULL, INT64_MAX);
    store_close(store);

    store = open_store(bench, STORE_LOOK);
    assert_journals(store, journal.tag, &journal, &journal);
    store_close(store);

    store = open_store(bench, STORE_KEEP);
    journal.ended_ms = 7000;
    assert_done(store_journal_end(store, &journal, &error), &error);
    assert_journals(store, journal.tag, NULL, &journal);
    assert_journals(store, "P-2", NULL, NULL);
    store_close(store);
    journal_free(&journal);
}

static void the_latest_open_one_is_found_and_all_are_settled(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct journal early = plain_journal("P-1", 1000, 1);
    struct journal open = plain_journal("P-1", 2000, 2);
    struct journal ended = plain_journal("P-1", 3000, 0);
    struct journal other = plain_journal("P-2", 4000, 1);
    struct journal *all[] = {&open, &ended, &other, &early};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        assert_done(store_journal_begin(store, all[i], &error), &error);
    ended.ended_ms = 3500;
    assert_done(store_journal_end(store, &ended, &error), &error);
    assert_journals(store, "P-1", &open, &ended);
    assert_done(store_journal_settle(store, "P-1", 8000, &error), &error);
    assert_journals(store, "P-1", NULL, &ended);
    assert_journals(store, "P-2", &other, &other);
    assert_done(store_journal_settle(store, "nobody", 8000, &error), &error);
    /* one that had ended keeps its time */
    struct journal again = plain_journal("P-1", 2500, 1);
    assert_done(store_journal_begin(store, &again, &error), &error);
    assert_journals(store, "P-1", &again, &ended);
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
        journal_free(all[i]);
    journal_free(&again);
    store_close(store);
}

static void what_is_not_there_is_not_taken_for_kept(void **state)
{
    struct store *store = open_store(*state, STORE_KEEP);
    struct error error = {0};
    struct journal journal = plain_journal("P-1", 1000, 2);
    journal.id = store_new_id();
    assert_false(store_journal_step(store, &journal, 0, &error));
    assert_says(&error, ERROR_STORE, "no such step of the journal", "records.sqlite");
    assert_false(store_journal_end(store, &journal, &error));
    assert_int_equal(error.kind, ERROR_STORE);
    assert_done(store_journal_begin(store, &journal, &error), &error);
    assert_done(store_journal_step(store, &journal, 1, &error), &error);
    /* the same once more would be two truths */
    assert_false(store_journal_begin(store, &journal, &error));
    journal_free(&journal);
    store_close(store);
}

static void an_outcome_that_makes_no_sense_is_told(void **state)
{
    const struct bench *bench = *state;
    struct store *store = open_store(bench, STORE_KEEP);
    struct error error = {0};
    struct journal journal = plain_journal("P-1", 1000, 2);
    assert_done(store_journal_begin(store, &journal, &error), &error);
    store_close(store);
    by_hand(bench, "UPDATE journal_step SET outcome = 'perhaps' WHERE place = 1");
    store = open_store(bench, STORE_LOOK);
    struct journal back;
    bool found;
    assert_false(store_journal_open(store, "P-1", &found, &back, &error));
    assert_false(found);
    assert_says(&error, ERROR_STORE, "makes no sense", "P-1");
    journal_free(&back);
    journal_free(&journal);
    store_close(store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH_TEST(a_journal_lives_and_ends),
        BENCH_TEST(the_latest_open_one_is_found_and_all_are_settled),
        BENCH_TEST(what_is_not_there_is_not_taken_for_kept),
        BENCH_TEST(an_outcome_that_makes_no_sense_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
