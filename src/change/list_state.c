/* SPDX-License-Identifier: MIT */
/* Is the drive proved stopped, and can nothing start it? */
#include "change/list.h"
#include "motor/show.h"

#include <stdlib.h>
#include <string.h>

/* The states that live.state may speak; all but STOPPED forbid writing. */
static const char STOPPED[] = "stopped", RUNNING[] = "running";
static const char *const other_states[] = {RUNNING,      "starting", "stopping", "sleeping", "restart_pending",
                                           "dc_braking", "tripped",  "local",    NULL};

/* Words that mean that no run command, or no enable, is given. */
static const char *const absent_words[] = {"off", "no", "none", "absent", "open", "inactive", "false", NULL};

static const char CANNOT_PROVE[] = "the map cannot prove it";

static bool names(const struct named_raws *list, const char *word)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].word != NULL && strcmp(list->items[i].word, word) == 0)
            return true;
    return false;
}

static bool is_read(const struct reading *reading)
{
    return reading->raw_count > 0 && reading->symptom.kind == SYMPTOM_NONE && reading->value.kind != VALUE_NOTHING;
}

/* A drive whose `stopped` bit is set may say besides that it waits to restart, or has tripped: that is not stopped. */
static char *state_of_bits(const struct parameter *parameter, const struct texts *set)
{
    for (const char *const *state = other_states; *state != NULL; state++)
        if (texts_have(set, *state))
            return text_copy(*state);
    if (texts_have(set, STOPPED))
        return NULL;
    if (names(&parameter->bits, STOPPED))
        return text_copy("not stopped");
    return names(&parameter->bits, RUNNING) ? NULL : text_copy(CANNOT_PROVE);
}

/* NULL: stopped. */
static char *state_of(const struct parameter *parameter, const struct reading *reading)
{
    if (!is_read(reading))
        return text_copy("not read");
    if (!reading->in_force)
        return text_copy("not in force");
    bool can_prove = names(&parameter->choices, STOPPED) || names(&parameter->special, STOPPED);
    switch (reading->value.kind) {
    case VALUE_BITS:
        return state_of_bits(parameter, &reading->value.words);
    case VALUE_WORD:
        if (strcmp(reading->value.text, STOPPED) == 0)
            return NULL;
        return text_copy(can_prove || text_is_one_of(reading->value.text, other_states) ? reading->value.text
                                                                                        : CANNOT_PROVE);
    case VALUE_NUMBER:
        return can_prove ? text_format("%.0f, which the map does not name", reading->value.number)
                         : text_copy(CANNOT_PROVE);
    case VALUE_NOTHING:
    case VALUE_TEXT:
    case VALUE_BOOL:
        break;
    }
    return text_copy(CANNOT_PROVE);
}

bool change_is_stopped(const struct map *map, const struct readings *readings, char **word)
{
    bool has_state = false;
    *word = NULL;
    for (size_t i = 0; i < map->count && *word == NULL; i++) {
        if (map->parameters[i].means != MEANS_LIVE_STATE)
            continue;
        has_state = true;
        *word = state_of(&map->parameters[i], &readings->items[i]);
    }
    if (!has_state)
        *word = text_copy(CANNOT_PROVE);
    return *word == NULL;
}

static bool is_absent(const struct value *value)
{
    switch (value->kind) {
    case VALUE_WORD:
        return text_is_one_of(value->text, absent_words);
    case VALUE_BITS:
        return value->words.count == 0;
    case VALUE_BOOL:
        return !value->truth;
    case VALUE_NOTHING:
    case VALUE_NUMBER: /* whether 0 is "no command" or "command 0", the map does not say */
    case VALUE_TEXT:
        break;
    }
    return false;
}

/* Every parameter with that means, and at least one, reads absent. */
static bool all_absent(const struct map *map, const struct readings *readings, enum means means, char **why)
{
    bool found = false;
    for (size_t i = 0; i < map->count; i++) {
        const struct reading *reading = &readings->items[i];
        const char *name = map->parameters[i].name;
        if (map->parameters[i].means != means)
            continue;
        found = true;
        if (is_read(reading) && reading->in_force && is_absent(&reading->value))
            continue;
        if (!is_read(reading)) {
            *why = text_format("%s (%s) is not read", means_table[means].name, name);
            return false;
        }
        char *shown = show_value(&reading->value, reading->unit, reading->step);
        *why = text_format("%s (%s) does not read absent, but %s", means_table[means].name, name, shown);
        free(shown);
        return false;
    }
    if (!found)
        *why = text_format("the map has no %s", means_table[means].name);
    return found;
}

bool change_cannot_start(const struct map *map, const struct readings *readings, char **why)
{
    *why = NULL;
    return all_absent(map, readings, MEANS_LIVE_RUN_COMMAND, why) && all_absent(map, readings, MEANS_LIVE_ENABLE, why);
}
