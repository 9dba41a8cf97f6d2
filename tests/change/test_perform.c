/* SPDX-License-Identifier: MIT */
/* What is told of a list that meets each habit of a drive, one at a time. What is right follows from what the drive
 * here is made to do; there is no published source for it. */
#include "change/perform_scene.h"
#include "change/store_fake.h"

static const uint64_t SEED = 5;

/* One list on a good serial line, with what is told of its first change. */
struct case_of {
    const char *name;
    void (*prepare)(struct scene *scene);
    enum write_outcome outcome;
    enum performed performed;
    const char *note;  /* a part of it; NULL: there is none */
    const char *punch; /* a part of one of them; NULL: nothing is said */
};

static bool has_punch(const struct scene *scene, const char *part)
{
    for (size_t i = 0; i < scene->list.punch.count; i++)
        if (strstr(scene->list.punch.items[i], part) != NULL)
            return true;
    return false;
}

static void begin(struct scene *scene, struct store *store)
{
    struct dice dice = {SEED};
    *store = (struct store){0};
    scene_start(scene, &dice, LINE_RTU, 0, store);
    scene->map.keeps = KEEPS_AT_ONCE;
}

static void end(struct scene *scene, struct store *store)
{
    scene_free(scene);
    store_fake_free(store);
}

/* ---- one change each ---- */

static void obeys(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
}

static void obeys_and_needs_tuning(struct scene *scene)
{
    (void)scene_list(scene, P_CURRENT, 700);
}

static void may_be_lost_with_the_power(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->map.keeps = KEEPS_UNSAID;
}

static void clamps_at_its_end(struct scene *scene)
{
    (void)scene_list(scene, P_CURRENT, 1200);
    scene_habit(scene, P_CURRENT, SLAVE_CLAMPS)->word = 990;
}

static void clamps_elsewhere(struct scene *scene)
{
    (void)scene_list(scene, P_CURRENT, 1200);
    scene_habit(scene, P_CURRENT, SLAVE_CLAMPS)->word = 980;
}

static void ignores(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    (void)scene_habit(scene, P_OPTIONS, SLAVE_IGNORES);
}

static void refuses(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene_habit(scene, P_OPTIONS, SLAVE_REFUSES)->exception = 0x03;
}

static void refuses_and_keeps(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene_habit(scene, P_OPTIONS, SLAVE_GRUMBLES)->exception = 0x04;
}

static void is_slow(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene_habit(scene, P_OPTIONS, SLAVE_IS_SLOW)->after_us = 900000;
}

static void is_slower_than_its_map_says(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene_habit(scene, P_OPTIONS, SLAVE_IS_SLOW)->after_us = 1420000;
}

static void goes_back(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene_habit(scene, P_OPTIONS, SLAVE_GOES_BACK)->after_us = 70000;
}

static void waits_for_power(struct scene *scene)
{
    (void)scene_list(scene, P_DELAYED, 700);
    (void)scene_habit(scene, P_DELAYED, SLAVE_WAITS);
}

static void waits_for_power_unheard(struct scene *scene)
{
    waits_for_power(scene);
    scene->lose_reply = true;
}

static void loses_the_request(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->lose_request = true;
}

static void loses_the_reply(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->lose_reply = true;
}

/* As a gateway does that holds the request for a while. */
static void loses_the_reply_and_is_slow(struct scene *scene)
{
    loses_the_reply(scene);
    scene_habit(scene, P_OPTIONS, SLAVE_IS_SLOW)->after_us = 1700000;
}

static void gateway_gives_up_before(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    struct slave_habit *habit = scene_habit(scene, P_OPTIONS, SLAVE_GRUMBLES);
    habit->exception = 0x0b;
    habit->after_us = 1700000;
}

static void takes_one_half(struct scene *scene)
{
    scene->map.modbus.longest_write = 1;
    scene->map.parameters[P_RAMP].write_words = WRITE_HIGH_FIRST;
    (void)scene_list(scene, P_RAMP, 10700);
    unsigned second = scene->map.modbus.word_order == ORDER_HIGH_FIRST ? 1 : 0;
    struct slave_habit *habit = scene_habit(scene, P_RAMP, SLAVE_REFUSES);
    habit->at = (uint16_t)(habit->at + second);
    habit->exception = 0x03;
}

static void forgets(struct scene *scene)
{
    (void)scene_list(scene, P_LASTING, 700);
    (void)scene_habit(scene, P_LASTING, SLAVE_FORGETS);
}

static void remembers(struct scene *scene)
{
    (void)scene_list(scene, P_LASTING, 700);
    (void)scene_habit(scene, P_LASTING, SLAVE_REMEMBERS);
}

static void runs_before(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->slave.event = SLAVE_STARTS;
}

static void trips_before(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->slave.event = SLAVE_TRIPS;
}

static void has_a_run_command(struct scene *scene)
{
    (void)scene_list(scene, P_STARTER, 700);
    scene->slave.event = SLAVE_RUN_COMMAND;
}

static void has_a_run_command_that_does_not_matter(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->slave.event = SLAVE_RUN_COMMAND;
}

static void was_turned(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->slave.holding[scene_at(scene, P_OPTIONS)] = 1;
}

static void was_set_already(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->slave.holding[scene_at(scene, P_OPTIONS)] = 700;
}

static void has_another_selector(struct scene *scene)
{
    (void)scene_list(scene, P_SCALED, 700);
    scene->slave.holding[scene_at(scene, P_SELECTOR)] ^= 3;
}

static void is_another_model(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->slave.holding[scene_at(scene, P_MODEL)] = 0x5144;
}

static void is_another_drive(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->slave.holding[scene_at(scene, P_SERIAL)] ^= 1;
}

static void is_silent(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->slave.event = SLAVE_DIES;
}

static void dies_after_the_write(struct scene *scene)
{
    (void)scene_list(scene, P_OPTIONS, 700);
    scene->dies_once_written = true;
}

static const struct case_of cases[] = {
    {"kept", obeys, WRITE_KEPT, PERFORMED_KEPT, NULL, NULL},
    {"nameplate", obeys_and_needs_tuning, WRITE_KEPT, PERFORMED_KEPT, NULL, "repeat the motor tuning"},
    {"may be lost", may_be_lost_with_the_power, WRITE_KEPT, PERFORMED_KEPT, NULL,
     "power cycle and read again: options"},
    {"end of the range", clamps_at_its_end, WRITE_CLAMPED, PERFORMED_STOPPED,
     "the drive holds 9.90 A; the range ends there", "repeat the motor tuning"},
    {"its own value", clamps_elsewhere, WRITE_CLAMPED, PERFORMED_STOPPED, "the drive holds 9.80 A instead",
     "repeat the motor tuning"},
    {"ignored", ignores, WRITE_NOT_KEPT, PERFORMED_STOPPED, NULL, NULL},
    {"refused", refuses, WRITE_REFUSED, PERFORMED_STOPPED, NULL, NULL},
    {"refused and kept", refuses_and_keeps, WRITE_KEPT, PERFORMED_KEPT, "not acknowledged (exception-04)", NULL},
    {"slow", is_slow, WRITE_KEPT, PERFORMED_KEPT, NULL, NULL},
    {"slower", is_slower_than_its_map_says, WRITE_KEPT, PERFORMED_KEPT, "the drive took it later", NULL},
    {"changed back", goes_back, WRITE_NOT_KEPT, PERFORMED_STOPPED, "changed later", NULL},
    {"power cycle", waits_for_power, WRITE_KEPT, PERFORMED_KEPT, "until the power cycle the old value is read",
     "power cycle and read again: delayed"},
    {"power cycle, unheard", waits_for_power_unheard, WRITE_UNKNOWN, PERFORMED_UNKNOWN,
     "does not tell whether it was taken", "power cycle and read again: delayed"},
    {"request lost", loses_the_request, WRITE_NOT_WRITTEN, PERFORMED_STOPPED, "not acknowledged (no-reply)", NULL},
    {"reply lost", loses_the_reply, WRITE_KEPT, PERFORMED_KEPT, "not acknowledged (no-reply)", NULL},
    {"held on the way", loses_the_reply_and_is_slow, WRITE_KEPT, PERFORMED_KEPT, "not acknowledged (no-reply)", NULL},
    {"given up by the gateway", gateway_gives_up_before, WRITE_KEPT, PERFORMED_KEPT, "not acknowledged (exception-0b)",
     NULL},
    {"one half", takes_one_half, WRITE_CLAMPED, PERFORMED_STOPPED, "only the first was acknowledged", NULL},
    {"not at the address that lasts", forgets, WRITE_NOT_KEPT, PERFORMED_STOPPED,
     "the address that lasts holds the old value", NULL},
    {"only at the address that lasts", remembers, WRITE_NOT_KEPT, PERFORMED_STOPPED,
     "the address that lasts holds the new value", NULL},
    {"running", runs_before, WRITE_OTHER_STATE, PERFORMED_STOPPED, "not proved stopped: running", NULL},
    {"tripped", trips_before, WRITE_OTHER_STATE, PERFORMED_STOPPED, "not proved stopped: tripped", NULL},
    {"run command", has_a_run_command, WRITE_OTHER_STATE, PERFORMED_STOPPED, "live.run_command", NULL},
    {"run command, no matter", has_a_run_command_that_does_not_matter, WRITE_KEPT, PERFORMED_KEPT, NULL, NULL},
    {"turned at the keypad", was_turned, WRITE_ALTERED, PERFORMED_STOPPED, "not sent: the drive holds", NULL},
    {"set already", was_set_already, WRITE_SET_BY_ITSELF, PERFORMED_KEPT, NULL, NULL},
    {"selector", has_another_selector, WRITE_ALTERED, PERFORMED_STOPPED, "what decides its meaning has changed", NULL},
    {"model", is_another_model, WRITE_ALTERED, PERFORMED_STOPPED, "another drive answers: model", NULL},
    {"serial number", is_another_drive, WRITE_ALTERED, PERFORMED_STOPPED, "another drive answers: serial", NULL},
    {"silent", is_silent, WRITE_LEFT_OUT, PERFORMED_STOPPED, "could not be read before it", NULL},
    {"dies", dies_after_the_write, WRITE_UNKNOWN, PERFORMED_UNKNOWN, "it could not be read back",
     "could not be read at the end"},
};

static void check(const struct case_of *row, const struct scene *scene, const struct store *store)
{
    const struct change *change = &scene->list.items[0];
    if (change->outcome != row->outcome || scene->performed != row->performed)
        fail_msg("%s: %s (%s), performed %d", row->name, write_outcome_word(change->outcome),
                 change->note == NULL ? "" : change->note, scene->performed);
    if (row->note == NULL ? change->note != NULL : change->note == NULL || strstr(change->note, row->note) == NULL)
        fail_msg("%s: the note is '%s'", row->name, change->note == NULL ? "" : change->note);
    if (row->punch == NULL ? scene->list.punch.count > 0 : !has_punch(scene, row->punch))
        fail_msg("%s: the first of %zu punch items is '%s'", row->name, scene->list.punch.count,
                 scene->list.punch.count > 0 ? scene->list.punch.items[0] : "");
    assert_int_equal(store->steps[0], row->outcome);
    assert_int_equal(store->records[RECORD_BEFORE_WRITE], 1);
    assert_int_equal(store->ended, 1);
    assert_int_equal(change->exception, row->outcome == WRITE_REFUSED ? 0x03 : 0);
    assert_true(scene->returned && scene->list.performed && record_id_given(&scene->list.before));
}

static void each_habit_has_its_outcome(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct scene scene;
        struct store store;
        begin(&scene, &store);
        cases[i].prepare(&scene);
        scene_perform(&scene);
        check(&cases[i], &scene, &store);
        end(&scene, &store);
    }
}

/* ---- several ---- */

static void the_list_ends_at_the_first_that_is_not_kept(void **state)
{
    (void)state;
    struct scene scene;
    struct store store;
    begin(&scene, &store);
    scene_saves(&scene, false);
    obeys(&scene);
    (void)scene_list(&scene, P_SPEED, 700);
    (void)scene_list(&scene, P_SWITCH, *scene_words(&scene, &scene.slave, P_SWITCH) ^ 1U);
    scene_habit(&scene, P_SPEED, SLAVE_REFUSES)->exception = 0x03;
    scene_perform(&scene);
    assert_int_equal(scene.list.items[0].outcome, WRITE_KEPT);
    assert_int_equal(scene.list.items[1].outcome, WRITE_REFUSED);
    assert_int_equal(scene.list.items[2].outcome, WRITE_LEFT_OUT);
    assert_int_equal(scene.list.items[2].began_ms, 0);
    assert_int_equal(scene.slave.log_count, 2);
    assert_int_equal(scene.list.save, SAVE_NONE);
    assert_int_equal(scene.slave.saves, 0);
    assert_int_equal(store.steps[3], WRITE_LEFT_OUT);
    assert_true(has_punch(&scene, "what was written lasts until power off only"));
    assert_int_equal(scene.performed, PERFORMED_STOPPED);
    end(&scene, &store);
}

static unsigned questions;

static bool is_interrupted_at_the_second(void)
{
    return ++questions >= 2;
}

static void an_interruption_ends_it_between_two_writes(void **state)
{
    (void)state;
    struct scene scene;
    struct store store;
    begin(&scene, &store);
    obeys(&scene);
    (void)scene_list(&scene, P_SPEED, 700);
    questions = 0;
    scene.order.interrupted = is_interrupted_at_the_second;
    scene.stop_every = 1; /* as a signal does, at every request */
    scene_perform(&scene);
    assert_int_equal(scene.list.items[0].outcome, WRITE_KEPT);
    assert_int_equal(scene.list.items[1].outcome, WRITE_LEFT_OUT);
    assert_string_equal(scene.list.items[1].note, "interrupted before it");
    assert_int_equal(store.records[RECORD_AFTER_WRITE], 1);
    end(&scene, &store);
}

/* ---- saving ---- */

struct save_case {
    bool done_given, fails;
    uint8_t exception;
    bool lose_reply;
    enum save_outcome outcome;
    enum performed performed;
    enum write_outcome in_journal;
};

static const struct save_case save_cases[] = {
    {false, false, 0, false, SAVE_DONE, PERFORMED_KEPT, WRITE_KEPT},
    {true, false, 0, false, SAVE_DONE, PERFORMED_KEPT, WRITE_KEPT},
    {true, true, 0, false, SAVE_FAILED, PERFORMED_STOPPED, WRITE_REFUSED},
    {true, false, 0x04, false, SAVE_FAILED, PERFORMED_STOPPED, WRITE_REFUSED},
    {true, false, 0x0b, false, SAVE_UNKNOWN, PERFORMED_UNKNOWN, WRITE_UNKNOWN},
    {true, false, 0, true, SAVE_UNKNOWN, PERFORMED_UNKNOWN, WRITE_UNKNOWN},
};

static void a_save_is_sent_once_and_told(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof save_cases / sizeof save_cases[0]; i++) {
        const struct save_case *row = &save_cases[i];
        struct scene scene;
        struct store store;
        begin(&scene, &store);
        scene_saves(&scene, row->done_given);
        scene.slave.save_fails = row->fails;
        scene.slave.save_exception = row->exception;
        scene.lose_reply = row->lose_reply;
        scene.lose_after = 1;
        obeys(&scene);
        scene_perform(&scene);
        assert_int_equal(scene.list.save, row->outcome);
        assert_int_equal(scene.performed, row->performed);
        assert_int_equal(scene.slave.saves, 1);
        assert_int_equal(store.steps[1], row->in_journal);
        assert_int_equal(has_punch(&scene, "save at the drive, or write again"), row->outcome != SAVE_DONE);
        assert_true(has_punch(&scene, "power cycle and read again: options"));
        end(&scene, &store);
    }
}

/* ---- what the drive changes ---- */

static void what_the_drive_changes_itself_is_told(void **state)
{
    (void)state;
    struct scene scene;
    struct store store;
    begin(&scene, &store);
    (void)scene_list(&scene, P_CURRENT, 700);
    struct slave_habit *habit = scene_habit(&scene, P_CURRENT, SLAVE_TAKES_BOTH);
    habit->other = scene_at(&scene, P_BESIDE_2);
    habit->word = 4321;
    scene.slave.event = SLAVE_TURNED;
    scene.slave.event_at = scene_at(&scene, P_BESIDE);
    scene.slave.event_word = 1234;
    scene_perform(&scene);
    assert_int_equal(scene.performed, PERFORMED_KEPT);
    assert_int_equal(scene.list.own_count, 2);
    assert_int_equal(scene.list.own[0].parameter, P_BESIDE);
    assert_false(scene.list.own[0].announced);
    assert_string_equal(scene.list.own[0].now, "1234");
    assert_int_equal(scene.list.own[1].parameter, P_BESIDE_2);
    assert_true(scene.list.own[1].announced);
    assert_string_equal(scene.list.own[1].now, "4321");
    end(&scene, &store);
}

/* ---- the store ---- */

static void nothing_is_written_without_a_store(void **state)
{
    (void)state;
    for (unsigned call = 1; call <= 3; call++) { /* the record, the journal, its first step */
        struct scene scene;
        struct store store;
        begin(&scene, &store);
        store.fail_from = call;
        obeys(&scene);
        scene_perform(&scene);
        assert_false(scene.returned);
        assert_int_equal(scene.error.kind, ERROR_STORE);
        assert_string_equal(scene.error.text, "nothing was written: the disk is full");
        assert_int_equal(scene.slave.log_count, 0);
        assert_int_equal(scene.list.items[0].outcome, WRITE_LEFT_OUT);
        end(&scene, &store);
    }
}

static void a_store_that_fails_ends_the_list_before_the_next_write(void **state)
{
    (void)state;
    struct scene scene;
    struct store store;
    begin(&scene, &store);
    store.fail_from = 4; /* the outcome of the first */
    obeys(&scene);
    (void)scene_list(&scene, P_SPEED, 700);
    scene_perform(&scene);
    assert_true(scene.returned);
    assert_int_equal(scene.performed, PERFORMED_STOPPED);
    assert_int_equal(scene.list.items[0].outcome, WRITE_KEPT);
    assert_int_equal(scene.list.items[1].outcome, WRITE_LEFT_OUT);
    assert_int_equal(scene.slave.log_count, 1);
    assert_int_equal(store.steps[0], WRITE_SENT);
    assert_int_equal(store.ended, 0); /* the next call tells of it */
    assert_true(has_punch(&scene, "the store failed, and has not all of it (the disk is full)"));
    end(&scene, &store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_habit_has_its_outcome),
        cmocka_unit_test(the_list_ends_at_the_first_that_is_not_kept),
        cmocka_unit_test(an_interruption_ends_it_between_two_writes),
        cmocka_unit_test(a_save_is_sent_once_and_told),
        cmocka_unit_test(what_the_drive_changes_itself_is_told),
        cmocka_unit_test(nothing_is_written_without_a_store),
        cmocka_unit_test(a_store_that_fails_ends_the_list_before_the_next_write),
    };
    return cmocka_run_group_tests_name("performing", tests, NULL, NULL);
}
