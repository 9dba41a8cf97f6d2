/* SPDX-License-Identifier: MIT */
/* What is looked at anew before each write. */
#include "change/perform_internal.h"

#include "motor/show.h"

#include <stdlib.h>
#include <string.h>

/* What names the drive: all that the map asks for, and its serial number. */
static void want_identity(const struct map *map, struct wanted *wanted)
{
    for (size_t i = 0; i < map->identity_count; i++)
        wanted_add(wanted, map->identity[i].parameter);
    size_t serial_number = map_find_means(map, MEANS_DRIVE_SERIAL_NUMBER, 0);
    if (serial_number != PARAMETER_NOT_FOUND)
        wanted_add(wanted, serial_number);
}

static void want_means(const struct map *map, enum means means, struct wanted *wanted)
{
    for (size_t i = 0; i < map->count; i++)
        if (map->parameters[i].means == means)
            wanted_add(wanted, i);
}

void perform_want_state(const struct performance *performance, bool could_start, struct wanted *wanted)
{
    want_means(performance->map, MEANS_LIVE_STATE, wanted);
    if (could_start) {
        want_means(performance->map, MEANS_LIVE_RUN_COMMAND, wanted);
        want_means(performance->map, MEANS_LIVE_ENABLE, wanted);
    }
    wanted_close(wanted, performance->map);
}

static char *shown(const struct reading *reading)
{
    return show_value(&reading->value, reading->unit, reading->step);
}

static bool is_kept(const struct change *change)
{
    return change->outcome == WRITE_KEPT || change->outcome == WRITE_SET_BY_ITSELF;
}

/* Does it still hold what it held when the list was made, or what the list has given it since? */
static bool is_as_listed(const struct performance *performance, size_t parameter, const struct reading *now)
{
    const struct reading *before = &performance->order->change->readings->items[parameter];
    const struct change_list *list = performance->list;
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].parameter == parameter && is_kept(&list->items[i]))
            return perform_held(performance, &list->items[i], now->raw, now->raw_count) == HELD_NEW;
    return reading_same(now, before);
}

bool perform_is_other_drive(const struct performance *performance, const struct readings *now, char **why)
{
    const struct map *map = performance->map;
    struct wanted identity = {0};
    bool is_other = false;
    want_identity(map, &identity);
    for (size_t i = 0; i < identity.count && !is_other; i++) {
        size_t at = identity.items[i];
        const struct reading *reading = &now->items[at];
        const struct reading *before = &performance->order->change->readings->items[at];
        if (before->raw_count == 0 || reading->raw_count == 0 || is_as_listed(performance, at, reading))
            continue;
        char *was = shown(before), *is = shown(reading);
        is_other = true;
        *why = text_format("another drive answers: %s is %s, not %s", map->parameters[at].name, is, was);
        free(was);
        free(is);
    }
    wanted_free(&identity);
    return is_other;
}

/* Of one parameter that must not have changed. `altered`: it was read, and has. */
static bool is_unchanged(const struct performance *performance, size_t at, bool *altered, char **why)
{
    const struct reading *now = &performance->readings.items[at];
    const struct reading *before = &performance->order->change->readings->items[at];
    const char *name = performance->map->parameters[at].name;
    char symptom[32];
    *altered = now->raw_count > 0;
    if (before->raw_count == 0 || (*altered && is_as_listed(performance, at, now)))
        return true;
    if (!*altered) {
        *why = text_format("%s could not be read before it (%s)", name,
                           symptom_word(now->symptom, symptom, sizeof symptom));
        return false;
    }
    char *was = shown(before), *is = shown(now);
    *why = text_format("what decides its meaning has changed: %s is %s, not %s", name, is, was);
    free(was);
    free(is);
    return false;
}

/* Reads what names the drive, and what decides `parameter`, which may be PARAMETER_NOT_FOUND, and itself. False where
 * any of it is not what it was; `why` is owned by the caller. */
static bool is_same_drive(struct performance *performance, size_t parameter, bool *altered, char **why)
{
    struct wanted wanted = {0};
    want_identity(performance->map, &wanted);
    if (parameter != PARAMETER_NOT_FOUND)
        wanted_add(&wanted, parameter);
    wanted_close(&wanted, performance->map);
    (void)perform_read(performance, &wanted);
    *altered = perform_is_other_drive(performance, &performance->readings, why);
    bool same = !*altered;
    for (size_t i = 0; i < wanted.count && same; i++)
        if (wanted.items[i] != parameter)
            same = is_unchanged(performance, wanted.items[i], altered, why);
    wanted_free(&wanted);
    return same;
}

/* As late as can be: the drive proved stopped, and what could start it cannot. */
static bool is_safe(struct performance *performance, bool could_start, char **why)
{
    struct wanted wanted = {0};
    perform_want_state(performance, could_start, &wanted);
    (void)perform_read(performance, &wanted);
    wanted_free(&wanted);
    char *word = NULL;
    if (!change_is_stopped(performance->map, &performance->readings, &word)) {
        *why = text_format("the drive is not proved stopped: %s", word == NULL ? "" : word);
        free(word);
        return false;
    }
    free(word);
    return !could_start || change_cannot_start(performance->map, &performance->readings, why);
}

/* Of a parameter that is written at another address than it is read at: reading that one proves something only where it
 * held the old value, too. */
static void look_at_lasting(struct performance *performance, const struct change *change)
{
    const struct parameter *parameter = &performance->map->parameters[change->parameter];
    uint16_t words[2];
    performance->lasting_known = parameter->write_at_given && change->words <= 2 &&
                                 perform_read_place(performance, parameter->write_at, (unsigned)change->words, words) &&
                                 memcmp(words, change->now, change->words * sizeof *words) == 0;
}

/* Takes `why`. */
static bool leave(struct change *change, enum write_outcome outcome, char *why)
{
    change->outcome = outcome;
    perform_note(change, "not sent: %s", why == NULL ? "" : why);
    free(why);
    return false;
}

bool perform_may_send(struct performance *performance, struct change *change)
{
    char *why = NULL;
    bool altered = false;
    if (!is_same_drive(performance, change->parameter, &altered, &why))
        return leave(change, altered ? WRITE_ALTERED : WRITE_LEFT_OUT, why);
    const struct reading *reading = &performance->readings.items[change->parameter];
    perform_found(change, reading);
    if (reading->raw_count != change->words) {
        char symptom[32];
        return leave(change, WRITE_LEFT_OUT,
                     text_format("it could not be read before it (%s)",
                                 symptom_word(reading->symptom, symptom, sizeof symptom)));
    }
    if (memcmp(reading->raw, change->to, change->words * sizeof *change->to) == 0) {
        change->outcome = WRITE_SET_BY_ITSELF;
        return false;
    }
    if (memcmp(reading->raw, change->now, change->words * sizeof *change->now) != 0)
        return leave(change, WRITE_ALTERED,
                     text_format("the drive holds %s, not %s", change->found_shown, change->now_shown));
    look_at_lasting(performance, change);
    if (!is_safe(performance, performance->map->parameters[change->parameter].could_start, &why))
        return leave(change, WRITE_OTHER_STATE, why);
    return true;
}

bool perform_may_save(struct performance *performance, char **why)
{
    bool altered = false;
    return is_same_drive(performance, PARAMETER_NOT_FOUND, &altered, why) && is_safe(performance, false, why);
}
