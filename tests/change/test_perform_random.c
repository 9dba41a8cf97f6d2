/* SPDX-License-Identifier: MIT */
/* Thousands of random lists on drives of every habit, behind lines of every fault: each outcome that is told is what
 * the drive's own log and registers say. The yardstick is that log; there is no published source for it. */
#include "change/perform_trial.h"
#include "change/store_fake.h"

/* How many lists; the build says how many where it can afford them. */
#ifndef ASLEFT_TRIALS
#define ASLEFT_TRIALS 2000
#endif

/* Asked between two writes: true from a certain question on. */
static unsigned questions_left;

/* The one that is performed: said where the test fails, to be looked into by itself. */
static uint64_t current;

static int say_which(void **state)
{
    (void)state;
    print_message("the last list was ASLEFT_TRIAL=%llu\n", (unsigned long long)current);
    return 0;
}

static bool is_interrupted(void)
{
    if (questions_left > 0)
        questions_left--;
    return questions_left == 0;
}

/* Nothing is executed of which the journal does not say that it was sent. */
static void look_into_journal(void *user, const struct slave_write *write)
{
    struct scene *scene = user;
    const struct store *store = scene->order.store;
    assert_int_equal(store->records[RECORD_BEFORE_WRITE], 1);
    assert_int_equal(store->journals, 1);
    if (!write->coil && scene->slave.save_at != 0 && write->at == scene->slave.save_at) {
        assert_int_equal(store->steps[store->step_count - 1], WRITE_SENT);
        return;
    }
    for (size_t i = 0; i < scene->list.count; i++) {
        const struct change *change = &scene->list.items[i];
        unsigned offset = write->at - (unsigned)scene_target(scene, change->parameter);
        if (write->coil == scene_is_coil(scene, change->parameter) && offset < change->words) {
            assert_int_equal(store->steps[i], WRITE_SENT);
            return;
        }
    }
    fail_msg("place %u is written without being on the list", write->at);
}

/* In the end the journal tells what is told. */
static void judge_journal(const struct scene *scene, const struct store *store)
{
    assert_int_equal(store->ended, 1);
    assert_int_equal(store->step_count, scene->list.count + (scene->map.save.given ? 1 : 0));
    for (size_t i = 0; i < scene->list.count; i++) {
        const struct change *change = &scene->list.items[i];
        assert_int_equal(store->steps[i], change->outcome);
        if (change->note != NULL)
            assert_string_equal(store->notes[i], change->note);
    }
}

static void judge_store(const struct scene *scene, const struct store *store, struct trial_tally *tally)
{
    bool failed = store->fail_from > 0 && store->calls >= store->fail_from;
    if (!scene->returned) {
        assert_true(failed);
        assert_int_equal(scene->slave.log_count, 0);
        assert_int_equal(scene->error.kind, ERROR_STORE);
        tally->refused_by_store++;
    } else if (failed) {
        assert_int_not_equal(scene->performed, PERFORMED_KEPT);
        assert_non_null(strstr(scene->list.punch.items[scene->list.punch.count - 1], "the store failed"));
    } else {
        judge_journal(scene, store);
    }
}

static void perform_random(uint64_t number, struct trial_tally *tally)
{
    struct dice dice = dice_for(20260131, number);
    struct store store = {.fail_from = roll(&dice, 20) == 0 ? 1 + roll(&dice, 16) : 0};
    struct scene scene;
    trial_start(&scene, &dice, &store);
    scene.slave.about_to_write = look_into_journal;
    scene.slave.user = &scene;
    questions_left = roll(&dice, 10) == 0 ? 1 + roll(&dice, 5) : 1000;
    scene.order.interrupted = is_interrupted;
    scene_perform(&scene);
    trial_judge(&scene, store.looked_ms, tally);
    judge_store(&scene, &store, tally);
    scene_free(&scene);
    store_fake_free(&store);
}

static void what_is_told_is_what_the_drive_holds(void **state)
{
    (void)state;
    struct trial_tally tally = {0};
    const char *only = getenv("ASLEFT_TRIAL"); /* one of them, to look into */
    for (uint64_t i = 0; i < ASLEFT_TRIALS; i++) {
        if (only != NULL && strtoull(only, NULL, 10) != i)
            continue;
        current = i;
        perform_random(i, &tally);
    }
    trial_print("random lists", &tally);
    if (only != NULL)
        return;
    for (unsigned outcome = WRITE_KEPT; outcome < WRITE_OUTCOMES; outcome++)
        assert_true(tally.outcomes[outcome] > 0);
    assert_true(200 * tally.lost <= tally.lists);
    assert_true(tally.saves[SAVE_DONE] > 0 && tally.saves[SAVE_FAILED] > 0 && tally.own > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(what_is_told_is_what_the_drive_holds, say_which),
    };
    return cmocka_run_group_tests_name("performing at random", tests, NULL, NULL);
}
