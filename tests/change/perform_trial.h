/* SPDX-License-Identifier: MIT */
/* A random list, performed on a random drive at a random line: what is told must be what the drive's own log says. */
#ifndef ASLEFT_TESTS_CHANGE_PERFORM_TRIAL_H
#define ASLEFT_TESTS_CHANGE_PERFORM_TRIAL_H

#include "change/perform_scene.h"

#include <stdio.h>

enum { TRIAL_CHANGES = 6 };

/* How often each outcome was told, over many trials. */
struct trial_tally {
    unsigned outcomes[WRITE_OUTCOMES], saves[5], performed[3], own, lists, refused_by_store;
    unsigned lost; /* the drive answers, and could not be read at the end */
};

/* ---- making one ---- */

static inline void trial_habit(struct scene *scene, struct dice *dice, size_t parameter)
{
    static const enum slave_habit_kind kinds[] = {SLAVE_CLAMPS,    SLAVE_IGNORES,  SLAVE_REFUSES,
                                                  SLAVE_GRUMBLES,  SLAVE_IS_SLOW,  SLAVE_IS_SLOW,
                                                  SLAVE_GOES_BACK, SLAVE_MOVES_ON, SLAVE_TAKES_BOTH};
    static const uint8_t exceptions[] = {0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x0a, 0x0b, 0x20};
    static const size_t others[] = {P_BESIDE, P_BESIDE_2, P_SPEED, P_OPTIONS, P_SELECTOR};
    enum slave_habit_kind kind = kinds[roll(dice, sizeof kinds / sizeof kinds[0])];
    if (parameter == P_DELAYED)
        kind = roll(dice, 3) == 0 ? SLAVE_OBEYS : SLAVE_WAITS;
    else if (roll(dice, 4) != 0)
        return;
    bool is_wide = scene->map.parameters[parameter].words == 2;
    struct slave_habit *habit = scene_habit(scene, parameter, kind);
    habit->at = (uint16_t)(habit->at + (is_wide ? roll(dice, 2) : 0));
    habit->word = (uint16_t)(scene_is_coil(scene, parameter) ? roll(dice, 2) : 1 + roll(dice, 9000));
    habit->exception = exceptions[roll(dice, sizeof exceptions)];
    habit->after_us = 20000 + (int64_t)roll(dice, kind == SLAVE_IS_SLOW ? 850000 : 2000000);
    if (kind == SLAVE_GRUMBLES && (habit->exception != 0x0b || roll(dice, 2) == 0))
        habit->after_us = 0;
    habit->other = scene_at(scene, others[roll(dice, sizeof others / sizeof others[0])]);
}

static inline void trial_list(struct scene *scene, struct dice *dice)
{
    bool listed[P_COUNT] = {false};
    for (unsigned left = 1 + roll(dice, TRIAL_CHANGES); left > 0;) {
        size_t parameter = P_CURRENT + roll(dice, P_SETTABLES);
        if (listed[parameter])
            continue;
        listed[parameter] = true;
        left--;
        uint16_t raw = (uint16_t)(10000 + roll(dice, 9000));
        if (scene_is_coil(scene, parameter))
            raw = *scene_words(scene, &scene->slave, parameter) ^ 1U;
        (void)scene_list(scene, parameter, raw);
        trial_habit(scene, dice, parameter);
    }
}

/* A write may bring about just what the list would set later. */
static inline void trial_set_by_itself(struct scene *scene, struct dice *dice)
{
    for (size_t i = 0; i < scene->slave.habit_count; i++) {
        struct slave_habit *habit = &scene->slave.habits[i];
        for (size_t k = 0; k < scene->list.count && habit->kind == SLAVE_TAKES_BOTH; k++)
            if (scene_at(scene, scene->list.items[k].parameter) == habit->other && roll(dice, 2) == 0)
                habit->word = scene->list.items[k].to[0];
    }
}

static inline void trial_event(struct scene *scene, struct dice *dice)
{
    static const enum slave_event events[] = {SLAVE_STARTS, SLAVE_TRIPS,   SLAVE_DIES,       SLAVE_EXCHANGED,
                                              SLAVE_TURNED, SLAVE_SHIFTED, SLAVE_RUN_COMMAND};
    static const size_t turned[] = {P_CURRENT, P_SPEED, P_BESIDE, P_DELAYED, P_OPTIONS};
    if (roll(dice, 3) != 0)
        return;
    struct slave *slave = &scene->slave;
    slave->event = events[roll(dice, sizeof events / sizeof events[0])];
    slave->event_after = roll(dice, 60);
    slave->event_at = scene_at(
        scene, slave->event == SLAVE_SHIFTED ? P_SELECTOR : turned[roll(dice, sizeof turned / sizeof turned[0])]);
    slave->event_word = (uint16_t)(3 + roll(dice, 9000));
    /* Now and then just what the list would set. */
    for (size_t i = 0; i < scene->list.count && slave->event == SLAVE_TURNED; i++)
        if (scene_at(scene, scene->list.items[i].parameter) == slave->event_at && roll(dice, 2) == 0)
            slave->event_word = scene->list.items[i].to[0];
    slave->acknowledges_running = roll(dice, 2) == 0;
}

static inline void trial_start(struct scene *scene, struct dice *dice, struct store *store)
{
    static const enum faulty_line lines[] = {LINE_RTU, LINE_RTU, LINE_TCP, LINE_GATEWAY};
    static const unsigned per_mille[] = {0, 50, 150, 300};
    scene_start(scene, dice, lines[roll(dice, 4)], per_mille[roll(dice, 4)], store);
    trial_list(scene, dice);
    trial_set_by_itself(scene, dice);
    trial_event(scene, dice);
    static const enum keeps keeps[] = {KEEPS_UNSAID, KEEPS_AT_ONCE};
    scene->map.keeps = keeps[roll(dice, 2)];
    if (roll(dice, 2) == 0) {
        scene_saves(scene, roll(dice, 2) == 0);
        scene->slave.save_fails = roll(dice, 4) == 0;
        scene->slave.save_exception = roll(dice, 6) == 0 ? 0x04 : 0;
    }
    scene->stop_every = roll(dice, 3) == 0 ? 1 + roll(dice, 5) : 0;
}

/* ---- judging one ---- */

/* Could the value have changed after it was read for the last time? `looked_ms`: when that reading began; 0: never. */
static inline bool trial_is_excused(const struct scene *scene, size_t parameter, int64_t looked_ms)
{
    int64_t late_us = 0;
    for (unsigned i = 0; i < scene->map.parameters[parameter].words; i++) {
        int64_t at_us = scene->slave.late_us[scene_at(scene, parameter) + i];
        late_us = at_us > late_us ? at_us : late_us;
    }
    return late_us > 0 && late_us / 1000 >= looked_ms;
}

#define TRIAL_FAIL(scene, change, what)                                                                                \
    fail_msg("%s is told as %s (%s), and %s", (scene)->map.parameters[(change)->parameter].name,                       \
             write_outcome_word((change)->outcome), (change)->note == NULL ? "" : (change)->note, what)

static inline bool trial_waits(const struct scene *scene, const struct change *change)
{
    uint16_t at = scene_target(scene, change->parameter);
    return scene->slave.waits[at] && scene->slave.after_power_cycle[at] == change->to[0];
}

static inline bool trial_in_own(const struct scene *scene, size_t parameter)
{
    for (size_t i = 0; i < scene->list.own_count; i++)
        if (scene->list.own[i].parameter == parameter)
            return true;
    return false;
}

/* A drive that was exchanged or is silent cannot be looked at again. */
static inline bool trial_is_gone(const struct scene *scene)
{
    const struct slave *slave = &scene->slave;
    return slave->happened && (slave->event == SLAVE_DIES || slave->event == SLAVE_EXCHANGED);
}

/* The drive may be there, and the line so bad that it cannot be read at the end: that is told. */
static inline bool trial_is_lost(const struct scene *scene)
{
    for (size_t i = 0; i < scene->list.punch.count; i++)
        if (strstr(scene->list.punch.items[i], "could not be read at the end") != NULL) {
            assert_int_equal(scene->performed, PERFORMED_UNKNOWN);
            return true;
        }
    return false;
}

/* What is told of a change of which nothing was sent. */
static inline void trial_judge_unsent(const struct scene *scene, const struct change *change)
{
    if (scene_writes(scene, change->parameter) > 0)
        TRIAL_FAIL(scene, change, "it was written");
    switch (change->outcome) {
    case WRITE_SET_BY_ITSELF:
    case WRITE_NOT_WRITTEN:
    case WRITE_OTHER_STATE:
    case WRITE_ALTERED:
    case WRITE_LEFT_OUT:
    case WRITE_NOT_KEPT: /* both: set by itself, and changed again */
    case WRITE_CLAMPED:
        break;
    case WRITE_PLANNED:
    case WRITE_SENT:
    case WRITE_KEPT:
    case WRITE_REFUSED:
    case WRITE_UNKNOWN:
        TRIAL_FAIL(scene, change, "nothing was sent of it");
        break;
    }
}

static inline void trial_judge_held(const struct scene *scene, const struct change *change, int64_t looked_ms)
{
    if (trial_is_gone(scene) || trial_is_lost(scene) || trial_is_excused(scene, change->parameter, looked_ms))
        return;
    bool new = scene_holds(scene, change->parameter, change->to);
    bool old = scene_holds(scene, change->parameter, change->now);
    switch (change->outcome) {
    case WRITE_KEPT:
        if (!new && !(trial_waits(scene, change) && old && change->note != NULL))
            TRIAL_FAIL(scene, change, "the drive does not hold the new value");
        break;
    case WRITE_SET_BY_ITSELF:
        if (!new)
            TRIAL_FAIL(scene, change, "the drive does not hold the new value");
        break;
    case WRITE_REFUSED:
    case WRITE_NOT_KEPT:
        if (!old)
            TRIAL_FAIL(scene, change, "the drive does not hold the old value");
        break;
    case WRITE_NOT_WRITTEN:
    case WRITE_OTHER_STATE:
    case WRITE_LEFT_OUT:
        if (!old && !(change->began_ms == 0 && (trial_in_own(scene, change->parameter) || looked_ms == 0)))
            TRIAL_FAIL(scene, change, "the drive does not hold the old value");
        break;
    case WRITE_CLAMPED:
        if (change->found == NULL || !scene_holds(scene, change->parameter, change->found))
            TRIAL_FAIL(scene, change, "the drive does not hold what is told");
        break;
    case WRITE_ALTERED:
        break;
    case WRITE_UNKNOWN:
        if (scene->map.parameters[change->parameter].takes_effect != EFFECT_POWER_CYCLE)
            TRIAL_FAIL(scene, change, "the drive answers");
        break;
    case WRITE_PLANNED:
    case WRITE_SENT:
        TRIAL_FAIL(scene, change, "that is no outcome");
        break;
    }
}

/* Nothing is written once the drive has said that it must not be. Where replies get lost, it may have said so in vain.
 */
static inline bool trial_was_warned(const struct scene *scene, const struct slave_write *write)
{
    if (!write->had_told || scene->faulty.faulted_per_mille > 0)
        return false;
    switch (scene->slave.event) {
    case SLAVE_STARTS:
    case SLAVE_TRIPS:
    case SLAVE_EXCHANGED:
        return true;
    case SLAVE_RUN_COMMAND:
        return !write->coil && write->at == scene_target(scene, P_STARTER);
    case SLAVE_SHIFTED:
        return !write->coil && write->at == scene_target(scene, P_SCALED);
    case SLAVE_TURNED: /* which may have gone back to what it was, by another write */
    case SLAVE_NOTHING:
    case SLAVE_DIES:
        break;
    }
    return false;
}

/* Everything that was executed stands on the list, with those words, and once. */
static inline void trial_judge_log(const struct scene *scene)
{
    const struct slave *slave = &scene->slave;
    assert_int_equal(slave->broadcasts, 0);
    assert_int_equal(slave->foreign, 0);
    for (size_t i = 0; i < slave->log_count; i++) {
        const struct slave_write *write = &slave->log[i];
        if (trial_was_warned(scene, write))
            fail_msg("place %u was written although the drive had said that it must not be", write->at);
        for (size_t k = 0; k < i; k++)
            if (slave->log[k].coil == write->coil && slave->log[k].at == write->at)
                fail_msg("place %u was written twice", write->at);
        if (!write->coil && slave->save_at != 0 && write->at == slave->save_at)
            continue;
        bool listed = false;
        for (size_t k = 0; k < scene->list.count; k++) {
            const struct change *change = &scene->list.items[k];
            unsigned offset = write->at - (unsigned)scene_target(scene, change->parameter);
            if (write->coil == scene_is_coil(scene, change->parameter) && offset < change->words)
                listed |= write->count + offset <= change->words && change->began_ms != 0 &&
                          memcmp(write->words, change->to + offset, write->count * sizeof *change->to) == 0;
        }
        if (!listed)
            fail_msg("place %u was written, and is not on the list so", write->at);
    }
}

static inline void trial_judge_save(const struct scene *scene)
{
    unsigned saves = scene->slave.saves;
    assert_in_range(saves, 0, 1);
    switch (scene->list.save) {
    case SAVE_NONE:
        assert_int_equal(saves, 0);
        break;
    case SAVE_PLANNED:
        fail_msg("the save is still planned");
        break;
    case SAVE_DONE:
        assert_int_equal(saves, 1);
        assert_int_equal(scene->slave.save_exception, 0);
        break;
    case SAVE_FAILED:
        assert_true(saves == 0 || scene->slave.save_exception != 0 || scene->slave.save_fails || trial_is_gone(scene));
        break;
    case SAVE_UNKNOWN:
        assert_int_equal(scene->performed, PERFORMED_UNKNOWN);
        break;
    }
}

/* What the drive changed of itself is told, and nothing else. */
static inline void trial_judge_own(const struct scene *scene, int64_t looked_ms)
{
    if (trial_is_gone(scene) || trial_is_lost(scene) || looked_ms == 0)
        return;
    for (size_t i = P_CURRENT; i < P_COUNT; i++) {
        const struct change *change = NULL;
        for (size_t k = 0; k < scene->list.count; k++)
            if (scene->list.items[k].parameter == i)
                change = &scene->list.items[k];
        if (trial_is_excused(scene, i, looked_ms))
            continue;
        bool ours = change != NULL && (change->began_ms != 0 || scene_holds(scene, i, change->to));
        bool differs = !scene_holds(scene, i, scene_words(scene, &scene->before, i));
        if (!ours && differs != trial_in_own(scene, i))
            fail_msg("%s is %stold as changed by the drive", scene->map.parameters[i].name, differs ? "not " : "");
    }
}

static inline void trial_judge_whole(const struct scene *scene)
{
    bool kept = scene->list.save == SAVE_NONE || scene->list.save == SAVE_DONE, unknown = false;
    for (size_t i = 0; i < scene->list.count; i++) {
        enum write_outcome outcome = scene->list.items[i].outcome;
        kept &= outcome == WRITE_KEPT || outcome == WRITE_SET_BY_ITSELF;
        unknown |= outcome == WRITE_UNKNOWN;
    }
    if (unknown)
        assert_int_equal(scene->performed, PERFORMED_UNKNOWN);
    if (scene->performed == PERFORMED_KEPT)
        assert_true(kept);
    if (scene->performed == PERFORMED_UNKNOWN && !unknown && scene->list.save != SAVE_UNKNOWN)
        assert_true(trial_is_gone(scene) || trial_is_lost(scene));
}

/* `looked_ms`: when everything was read for the last time; 0 where it was not. */
static inline void trial_judge(const struct scene *scene, int64_t looked_ms, struct trial_tally *tally)
{
    trial_judge_log(scene);
    trial_judge_save(scene);
    for (size_t i = 0; i < scene->list.count; i++) {
        const struct change *change = &scene->list.items[i];
        tally->outcomes[change->outcome]++;
        if (change->began_ms == 0)
            trial_judge_unsent(scene, change);
        trial_judge_held(scene, change, looked_ms);
    }
    trial_judge_own(scene, looked_ms);
    trial_judge_whole(scene);
    tally->saves[scene->list.save]++;
    tally->performed[scene->performed]++;
    tally->own += (unsigned)scene->list.own_count;
    tally->lost += !trial_is_gone(scene) && trial_is_lost(scene) ? 1 : 0;
    tally->lists++;
}

static inline void trial_print(const char *name, const struct trial_tally *tally)
{
    print_message("%s: %u lists", name, tally->lists);
    for (size_t i = 0; i < WRITE_OUTCOMES; i++)
        if (tally->outcomes[i] > 0)
            print_message(", %u %s", tally->outcomes[i], write_outcome_word((enum write_outcome)i));
    print_message("; %u changed by the drive; saves: %u done, %u failed, %u unknown; %u kept, %u stopped, %u unknown; "
                  "%u without a store; %u not read at the end\n",
                  tally->own, tally->saves[SAVE_DONE], tally->saves[SAVE_FAILED], tally->saves[SAVE_UNKNOWN],
                  tally->performed[PERFORMED_KEPT], tally->performed[PERFORMED_STOPPED],
                  tally->performed[PERFORMED_UNKNOWN], tally->refused_by_store, tally->lost);
}

#endif
