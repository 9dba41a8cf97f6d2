/* SPDX-License-Identifier: MIT */
/* One write, and what became of it. */
#include "bus/decode.h"
#include "change/perform_internal.h"
#include "motor/quantity.h"
#include "motor/show.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    SETTLES_WITHIN_US = 1000000, /* at least, before an acknowledged value counts as not kept */
    HELD_WITHIN_US = 2000000,    /* at least, where nothing was answered: a gateway may hold the request so long */
};

/* How the drive took the request itself. */
enum taken {
    TAKEN_ACKNOWLEDGED,
    TAKEN_REFUSED, /* an exception that says it was not done */
    TAKEN_UNSAID,  /* silence, a bad frame, or an exception that leaves it open: the write may still be under way */
};

/* What came of it, in all. */
struct sequel {
    enum taken taken;
    enum held held;
    bool lasting_is_old; /* read as new, but its lasting address is not */
    bool lasting_is_new; /* read as old, but its lasting address is new */
    char *moved;         /* owned; what the drive does now instead of standing still, or NULL */
};

/* 05 says that it is still being done, 0a and 0b come from a gateway that has given up waiting (MODBUS Application
 * Protocol V1.1b3, section 7). */
static bool leaves_open(uint8_t exception)
{
    return exception == 0x05 || exception == 0x0a || exception == 0x0b;
}

static enum taken taken_of(const struct written *written)
{
    if (written->symptom.kind == SYMPTOM_NONE)
        return TAKEN_ACKNOWLEDGED;
    bool is_said = written->symptom.kind == SYMPTOM_EXCEPTION && !leaves_open(written->symptom.exception);
    return is_said ? TAKEN_REFUSED : TAKEN_UNSAID;
}

static void take_written(void *user, const struct written *written)
{
    struct performance *performance = user;
    performance->written = *written;
    performance->done = true;
}

/* ---- reading back ---- */

/* The address that lasts counts as well, where it is known to be readable. */
static void look_at_lasting(struct performance *performance, struct change *change, struct sequel *sequel)
{
    uint16_t words[2];
    const struct parameter *parameter = &performance->map->parameters[change->parameter];
    sequel->lasting_is_old = sequel->lasting_is_new = false;
    if (!performance->lasting_known ||
        !perform_read_place(performance, parameter->write_at, (unsigned)change->words, words))
        return;
    enum held lasting = perform_held(performance, change, words, change->words);
    sequel->lasting_is_new = sequel->held == HELD_OLD && lasting == HELD_NEW;
    sequel->lasting_is_old = sequel->held == HELD_NEW && lasting != HELD_NEW;
    if (sequel->lasting_is_old) {
        sequel->held = lasting;
        memcpy(change->found, words, change->words * sizeof *words);
    }
}

static void look(struct performance *performance, struct change *change, struct sequel *sequel)
{
    struct wanted wanted = {0};
    wanted_add(&wanted, change->parameter);
    perform_want_state(performance, false, &wanted);
    (void)perform_read(performance, &wanted);
    wanted_free(&wanted);
    const struct reading *reading = &performance->readings.items[change->parameter];
    perform_found(change, reading);
    sequel->held = perform_held(performance, change, reading->raw, reading->raw_count);
    free(sequel->moved);
    sequel->moved = NULL;
    (void)change_is_stopped(performance->map, &performance->readings, &sequel->moved);
    if (sequel->held == HELD_NEW || sequel->held == HELD_OLD)
        look_at_lasting(performance, change, sequel);
}

/* Looks again while the old value is still there, or one that may be on its way. */
static void look_until(struct performance *performance, struct change *change, int64_t within_us, struct sequel *sequel)
{
    struct loop *loop = performance->order->loop;
    int64_t until_us = loop_now_us(loop) + within_us;
    uint16_t *seen = NULL;
    unsigned last_looks = within_us > 0 ? LAST_LOOKS : 1;
    for (bool settled = false; !settled;) {
        settled = loop_now_us(loop) >= until_us && --last_looks == 0;
        look(performance, change, sequel);
        settled |= sequel->held == HELD_NEW || sequel->held == HELD_UNREAD;
        settled |= sequel->held == HELD_OTHER && seen != NULL &&
                   memcmp(seen, change->found, change->words * sizeof *seen) == 0;
        free(seen);
        seen = NULL;
        if (sequel->held == HELD_OTHER) {
            seen = memory_new(change->words, sizeof *seen);
            memcpy(seen, change->found, change->words * sizeof *seen);
        }
        if (!settled)
            perform_wait(performance, LOOK_EVERY_US);
    }
    free(seen);
}

static void read_back(struct performance *performance, struct change *change, struct sequel *sequel)
{
    int64_t promise_us = llround(performance->map->modbus.write_answers_within_s * 1e6);
    int64_t least_us = sequel->taken == TAKEN_ACKNOWLEDGED ? SETTLES_WITHIN_US : HELD_WITHIN_US;
    int64_t within_us = promise_us > least_us ? promise_us : least_us;
    look_until(performance, change, sequel->taken == TAKEN_REFUSED ? 0 : within_us, sequel);
}

/* ---- what is told ---- */

/* The number of a means: as the list has set it, else as it was read. */
static double number_of(const struct performance *performance, enum means means, unsigned set)
{
    size_t at = map_find_means(performance->map, means, set);
    if (at == PARAMETER_NOT_FOUND)
        return NAN;
    for (size_t i = 0; i < performance->list->count; i++) {
        const struct change *change = &performance->list->items[i];
        if (change->parameter == at && (change->outcome == WRITE_KEPT || change->outcome == WRITE_SET_BY_ITSELF))
            return unit_to_base(change->to_number, change->unit);
    }
    const struct reading *reading = &performance->order->change->readings->items[at];
    return reading->value.kind == VALUE_NUMBER ? unit_to_base(reading->value.number, reading->unit) : NAN;
}

static bool is_at_bound(const struct performance *performance, const struct parameter *parameter,
                        const struct bound *bound, const struct reading *reading)
{
    double end = NAN;
    switch (bound->kind) {
    case BOUND_NONE:
        return false;
    case BOUND_VALUE:
        end = quantity_base(&bound->value);
        break;
    case BOUND_MEANS:
        end = number_of(performance, bound->means, parameter->set);
        break;
    }
    double half_step = fabs(unit_to_base(reading->step, reading->unit)) / 2;
    return fabs(unit_to_base(reading->value.number, reading->unit) - end) <= half_step * (1 + 1e-9);
}

static void note_other_value(const struct performance *performance, struct change *change, bool lasting)
{
    const struct parameter *parameter = &performance->map->parameters[change->parameter];
    const struct reading *reading = &performance->readings.items[change->parameter];
    const struct written *written = &performance->written;
    if (lasting) {
        perform_note(change, "it reads as written, but the address that lasts holds another value");
        return;
    }
    bool is_end =
        reading->value.kind == VALUE_NUMBER && (is_at_bound(performance, parameter, &parameter->accepts_low, reading) ||
                                                is_at_bound(performance, parameter, &parameter->accepts_high, reading));
    perform_note(change, is_end ? "the drive holds %s; the range ends there" : "the drive holds %s instead",
                 change->found_shown);
    if (written->symptom.kind != SYMPTOM_NONE && written->acknowledged > 0)
        perform_note(change, "of its two halves only the first was acknowledged");
}

/* What the drive said to it, where it was no acknowledgement. */
static void note_answer(struct change *change, const struct written *written, enum taken taken)
{
    char symptom[32];
    if (taken != TAKEN_ACKNOWLEDGED)
        perform_note(change, "not acknowledged (%s)", symptom_word(written->symptom, symptom, sizeof symptom));
}

static void tell_old(struct performance *performance, struct change *change, struct attempt *attempt,
                     const struct sequel *sequel)
{
    bool late = performance->map->parameters[change->parameter].takes_effect == EFFECT_POWER_CYCLE;
    switch (sequel->taken) {
    case TAKEN_ACKNOWLEDGED:
        change->outcome = WRITE_NOT_KEPT;
        if (late && sequel->moved != NULL) {
            change->outcome = WRITE_UNKNOWN;
            perform_note(change, "acknowledged; what is read until the power cycle does not tell whether it was taken");
        } else if (late) {
            change->outcome = WRITE_KEPT;
            attempt->pending = true;
            perform_note(change, "acknowledged; until the power cycle the old value is read");
        } else if (sequel->moved != NULL) {
            change->outcome = WRITE_OTHER_STATE;
            perform_note(change, "not kept, and the drive is not proved stopped any more: %s", sequel->moved);
        }
        break;
    case TAKEN_REFUSED:
        change->outcome = WRITE_REFUSED;
        change->exception = performance->written.symptom.exception;
        break;
    case TAKEN_UNSAID:
        change->outcome = late ? WRITE_UNKNOWN : WRITE_NOT_WRITTEN;
        if (late)
            perform_note(change, "what is read until the power cycle does not tell whether it was taken");
        break;
    }
    if (sequel->lasting_is_old)
        perform_note(change, "it reads as written, but the address that lasts holds the old value");
    if (sequel->lasting_is_new)
        perform_note(change, "it reads as before, but the address that lasts holds the new value");
    if (sequel->moved != NULL && change->outcome != WRITE_OTHER_STATE)
        perform_note(change, "the drive is not proved stopped any more: %s", sequel->moved);
}

static void tell(struct performance *performance, struct change *change, struct attempt *attempt,
                 const struct sequel *sequel)
{
    const struct reading *reading = &performance->readings.items[change->parameter];
    char symptom[32];
    if (sequel->held != HELD_OLD || sequel->taken == TAKEN_UNSAID)
        note_answer(change, &performance->written, sequel->taken);
    switch (sequel->held) {
    case HELD_NEW:
        change->outcome = WRITE_KEPT;
        if (sequel->moved != NULL)
            perform_note(change, "the drive is not proved stopped any more: %s", sequel->moved);
        break;
    case HELD_OLD:
        tell_old(performance, change, attempt, sequel);
        break;
    case HELD_OTHER:
        change->outcome = WRITE_CLAMPED;
        note_other_value(performance, change, sequel->lasting_is_old);
        break;
    case HELD_UNREAD:
        change->outcome = WRITE_UNKNOWN;
        perform_note(change, "it could not be read back (%s)", symptom_word(reading->symptom, symptom, sizeof symptom));
        break;
    }
}

void perform_send(struct performance *performance, size_t index)
{
    const struct perform_order *order = performance->order;
    struct change *change = &performance->list->items[index];
    struct attempt *attempt = &performance->attempts[index];
    change->began_ms = perform_wall_ms(performance);
    performance->done = false;
    writer_write(order->link, performance->map, change->parameter, order->change->unit, change->to, take_written,
                 performance);
    perform_run_loop(performance);
    const struct written *written = &performance->written;
    if (written->requests == 0) {
        char symptom[32];
        change->began_ms = 0;
        change->outcome = WRITE_NOT_WRITTEN;
        perform_note(change, "not sent: the line could not be used (%s)",
                     symptom_word(written->symptom, symptom, sizeof symptom));
        return;
    }
    performance->sent = true;
    struct sequel sequel = {.taken = taken_of(written)};
    attempt->acknowledged = sequel.taken == TAKEN_ACKNOWLEDGED;
    read_back(performance, change, &sequel);
    attempt->fleeting = sequel.lasting_is_old;
    tell(performance, change, attempt, &sequel);
    free(sequel.moved);
}
