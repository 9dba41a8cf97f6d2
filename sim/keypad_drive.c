/* SPDX-License-Identifier: MIT */
/* Power, terminals, exchange, state and wear at the keypad. */
#include "sim/keypad_drive.h"

#include "files/suggest.h"
#include "motor/quantity.h"
#include "sim/power.h"
#include "sim/terminals.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* "2 s", "2s", "500 ms". */
static bool read_time_us(const char *text, int64_t *time_us)
{
    static const double longest_s = 3600;
    const size_t digits = strspn(text, "0123456789.");
    char *spaced = text_format("%.*s %s", (int)digits, text, text + digits + strspn(text + digits, " "));
    struct quantity time = {0};
    const bool good = quantity_parse(spaced, DIMENSION_TIME, &time, NULL) && quantity_base(&time) >= 0 &&
                      quantity_base(&time) <= longest_s;
    free(spaced);
    *time_us = good ? (int64_t)(quantity_base(&time) * 1e6 + 0.5) : 0;
    return good;
}

char *keypad_power_cycle(struct drive *drive, const char *rest)
{
    int64_t off_us = 0;
    if (*rest != '\0' && !read_time_us(rest, &off_us))
        return text_format("'%s' is no time without power; expected one up to 1 h, such as 2 s", rest);
    power_cycle(drive, off_us);
    return *rest == '\0' ? text_copy("power off and on again") : text_format("power off for %s", rest);
}

char *keypad_factory_reset(struct drive *drive, const char *rest)
{
    (void)rest;
    return text_copy(power_factory_reset(drive) ? "factory settings" : "not reset: it runs; stop it first");
}

char *keypad_exchange(struct drive *drive, const char *rest)
{
    struct error error = {0};
    return power_exchange(drive, rest, &error)
               ? text_format("another drive, serial number %s, with factory settings", rest)
               : text_copy(error.text);
}

static char *switch_wire(struct drive *drive, const char *rest, const char *what,
                         void (*wire)(struct drive *drive, bool on))
{
    const bool on = strcmp(rest, "on") == 0;
    if (!on && strcmp(rest, "off") != 0)
        return text_format("'%s' is neither on nor off", rest);
    wire(drive, on);
    return text_format("%s %s, %s", what, rest, motor_state_word(drive->model.state));
}

char *keypad_run_command(struct drive *drive, const char *rest)
{
    return switch_wire(drive, rest, "run command", terminals_run_command);
}

char *keypad_enable(struct drive *drive, const char *rest)
{
    return switch_wire(drive, rest, "enable", terminals_enable);
}

/* The map's own copy of the word, or NULL; offers all that it has. */
static const char *find_state(const struct map *map, const char *word, struct suggestion *near)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct parameter *row = &map->parameters[i];
        const struct named_raws *list = row->type == TYPE_BITS ? &row->bits : &row->choices;
        for (size_t j = 0; row->means == MEANS_LIVE_STATE && j < list->count; j++) {
            if (strcmp(list->items[j].word, word) == 0)
                return list->items[j].word;
            suggestion_offer(near, list->items[j].word);
        }
    }
    return NULL;
}

char *keypad_state(struct drive *drive, const char *rest)
{
    struct suggestion near = {0};
    const bool own = strcmp(rest, "own") == 0;
    const char *word = own ? NULL : find_state(drive->map, rest, &near);
    const char *meant = suggestion_take(&near, rest);
    if (!own && word == NULL)
        return meant != NULL ? text_format("the map has no state '%s'; did you mean '%s'?", rest, meant)
                             : text_format("the map has no state '%s'", rest);
    drive->shown_state = word;
    return own ? text_format("shows its own state, %s", motor_state_word(drive->model.state))
               : text_format("shows itself as %s", word);
}

char *keypad_wear(struct drive *drive, const char *rest)
{
    (void)rest;
    const struct wear *wear = &drive->wear;
    return text_format("values put into lasting memory %lu, save commands %lu, writes of what was there already %lu",
                       wear->values, wear->saves, wear->equal);
}
