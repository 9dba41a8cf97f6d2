/* SPDX-License-Identifier: MIT */
/* What differs from a record, as changes to be written. */
#include "change/list_parts.h"
#include "change/when.h"
#include "motor/quantity.h"
#include "motor/show.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double ARITHMETIC = 1e-9;

static bool same_map(const struct change_order *order)
{
    return strcmp(order->record->map_sha256, order->map->sha256) == 0;
}

static bool same_words(const struct reading *reading, const struct record_value *value)
{
    return reading->raw_count == value->raw_count &&
           memcmp(reading->raw, value->raw, value->raw_count * sizeof *value->raw) == 0;
}

/* The record's number in the unit that the present map gives it; NAN where the two are of different kinds. */
static double number_in(const struct record_value *value, enum unit unit)
{
    enum unit recorded = UNIT_NONE;
    if (value->unit != NULL && !unit_find(value->unit, &recorded))
        return NAN;
    if (unit_dimension(recorded) != unit_dimension(unit))
        return NAN;
    return unit_from_base(unit_to_base(value->number, recorded), unit);
}

/* Do the record's words mean in this drive and by this map what they meant when they were recorded? A scale may have
 * been corrected in the map, a region changed, a percentage may be one of another drive's current. */
static bool means_the_same(const struct record_value *value, const struct reading *reading)
{
    if (reading->symptom.kind != SYMPTOM_NONE)
        return false;
    if (reading->value.kind == VALUE_NUMBER && !isnan(value->number)) {
        double recorded = number_in(value, reading->unit);
        return fabs(recorded - reading->value.number) <= ARITHMETIC * fabs(recorded);
    }
    if (reading->value.kind == VALUE_NUMBER || !isnan(value->number) || value->shown == NULL)
        return false;
    char *shown = show_value(&reading->value, reading->unit, reading->step);
    bool same = strcmp(shown, value->shown) == 0;
    free(shown);
    return same;
}

/* A percentage of a number in the sheet: another number there changes what is shown, not what the drive does. */
static bool hangs_on_sheet(const struct parameter *parameter)
{
    return parameter->is_percent && parameter->base == BASE_SHEET;
}

/* True where the record's words mean the same now; else says what is done instead. */
static bool check_meaning(struct listing *listing, size_t index, const struct record_value *value)
{
    const struct parameter *parameter = listing_parameter(listing, index);
    bool other_map = !same_map(listing->order);
    const struct reading *reading = trial_put(&listing->trial, index, value->raw, value->raw_count);
    bool known = reading->symptom.kind == SYMPTOM_NONE && reading->value.kind != VALUE_NOTHING;
    if (known && (means_the_same(value, reading) || (!other_map && hangs_on_sheet(parameter))))
        return true;
    char *shown = known ? show_value(&reading->value, reading->unit, reading->step) : text_copy("no value");
    const char *was = value->shown == NULL ? "no value" : value->shown;
    if (other_map)
        listing_leave(listing, parameter->name,
                      "is %s in the record; by the map as it is now these words mean %s: set it by hand", was, shown);
    else
        listing_refuse(listing, index,
                       text_format("the record's %s would mean %s in this drive, since what decides it is another "
                                   "here: set that first, or set both at the keypad",
                                   was, shown));
    free(shown);
    return false;
}

/* A parameter that is never put back, with the reason; NULL where it may be. */
static const char *not_restored(const struct parameter *parameter)
{
    if (parameter->kind == KIND_COMMAND)
        return "is a command, which is never written";
    if (parameter->cuts_line)
        return "would cut the line that this program talks over, and is never written: set it at the keypad";
    if (means_is_live(parameter->means))
        return "tells what the drive does, and is not put back";
    if (parameter->settable == SETTABLE_NEVER)
        return "cannot be set by this map";
    return NULL;
}

/* Live values and identification differ at each visit; nobody wants to be told. */
static bool goes_without_saying(const struct parameter *parameter)
{
    return parameter->settable == SETTABLE_NEVER &&
           (means_is_live(parameter->means) || parameter->means == MEANS_DRIVE_SERIAL_NUMBER ||
            parameter->means == MEANS_DRIVE_FIRMWARE || parameter->means == MEANS_DRIVE_MODEL);
}

static void restore_value(struct listing *listing, size_t index, const struct record_value *value)
{
    const struct parameter *parameter = listing_parameter(listing, index);
    const struct reading *reading = &listing->order->readings->items[index];
    const char *stands_against = not_restored(parameter);
    char symptom[32];
    if (goes_without_saying(parameter))
        return;
    if (value->raw_count == 0) {
        if (stands_against == NULL)
            listing_leave(listing, parameter->name, "was not read when the record was made (%s)",
                          value->symptom == NULL ? "no value" : value->symptom);
        return;
    }
    if (reading->raw_count == 0 || reading->symptom.kind == SYMPTOM_LOCKED) {
        if (stands_against == NULL)
            listing_leave(listing, parameter->name, "is not read now (%s), so it is not written",
                          symptom_word(reading->symptom, symptom, sizeof symptom));
        return;
    }
    if (same_words(reading, value))
        return;
    if (stands_against != NULL) {
        listing_leave(listing, parameter->name, "differs from the record (%s) and %s",
                      value->shown == NULL ? "no value" : value->shown, stands_against);
        return;
    }
    if (value->raw_count != parameter->words) {
        listing_leave(listing, parameter->name,
                      "has %zu words in the record and %u in the map as it is now: set it by hand", value->raw_count,
                      parameter->words);
        return;
    }
    const struct finding *finding = listing_finding(listing, parameter->name);
    char id[RECORD_ID_TEXT];
    char *when = when_text(listing->order->record->began_ms);
    (void)record_id_text(&listing->order->record->id, id);
    listing_add(listing, index, value->raw, value->raw_count,
                text_format("record %.*s (%s) of %s", (int)RECORD_ID_SHORT, id,
                            record_kind_word(listing->order->record->kind), when),
                finding != NULL ? finding->stake : means_table[parameter->means].stake);
    free(when);
}

/* What decides a parameter may be on the list itself; then that is the refusal, and the present meaning is none. */
static bool decider_is_listed(const struct listing *listing, size_t parameter)
{
    struct wanted deciders = {0};
    wanted_add(&deciders, parameter);
    wanted_close(&deciders, listing->order->map);
    bool listed = false;
    for (size_t i = 0; i < deciders.count && !listed; i++)
        listed = deciders.items[i] != parameter && listing_has(listing, deciders.items[i]);
    wanted_free(&deciders);
    return listed;
}

/* Takes off the list again what would mean something else. */
static void check_meanings(struct listing *listing)
{
    struct change_list *list = listing->list;
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++) {
        struct change *item = &list->items[i];
        const char *name = listing_parameter(listing, item->parameter)->name;
        const struct record_value *value = record_value_find(listing->order->record, name);
        if (decider_is_listed(listing, item->parameter) || check_meaning(listing, item->parameter, value))
            list->items[kept++] = *item;
        else
            change_free(item);
    }
    list->count = kept;
}

static void leave_unrecorded(struct listing *listing)
{
    struct texts names = {0};
    for (size_t i = 0; i < listing->order->map->count; i++) {
        const struct parameter *parameter = listing_parameter(listing, i);
        if (not_restored(parameter) == NULL && record_value_find(listing->order->record, parameter->name) == NULL)
            texts_add(&names, text_copy(parameter->name));
    }
    if (names.count > 0) {
        char *all = texts_join(&names, ", ");
        listing_leave(listing, all, "%s not in the record", names.count == 1 ? "is" : "are");
        free(all);
    }
    texts_free(&names);
}

void listing_restore(struct listing *listing)
{
    const struct change_order *order = listing->order;
    for (size_t i = 0; i < order->map->count; i++) {
        const struct record_value *value = record_value_find(order->record, listing_parameter(listing, i)->name);
        if (value != NULL)
            restore_value(listing, i, value);
    }
    check_meanings(listing);
    for (size_t i = 0; i < order->record->value_count; i++) {
        const struct record_value *value = &order->record->values[i];
        bool live = value->means != NULL && strncmp(value->means, "live.", strlen("live.")) == 0;
        if (!live && map_find(order->map, value->parameter) == PARAMETER_NOT_FOUND)
            listing_leave(listing, value->parameter, "is in the record (%s), and the map has it no more",
                          value->shown == NULL ? "not read" : value->shown);
    }
    leave_unrecorded(listing);
}
