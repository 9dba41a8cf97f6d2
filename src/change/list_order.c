/* SPDX-License-Identifier: MIT */
/* Ranges that other parameters bound, and the order of writing that keeps every value within its range on the way. */
#include "change/list_parts.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A range's end is a decimal, and so is the value: this much is arithmetic. */
static const double ARITHMETIC = 1e-9;

/* One parameter's value before and after the list; the same where it is not on it. */
struct course {
    bool listed;
    struct measure now, to;
};

struct sorting {
    struct listing *listing;
    struct course *courses; /* one a parameter of the map */
    bool *before;           /* count x count of the list's items: row goes before column */
    size_t count;
};

enum end { LOW, HIGH };

static const struct bound *bound_of(const struct parameter *parameter, enum end end)
{
    return end == LOW ? &parameter->accepts_low : &parameter->accepts_high;
}

/* What is no number (a word such as "off") has no range. */
static bool is_within(const struct measure *value, enum dimension dimension, double limit, enum end end)
{
    if (!value->known)
        return true;
    double number = dimension == value->own_dimension ? value->own : value->whole;
    double slack = ARITHMETIC * fmax(fabs(number), fabs(limit));
    return end == LOW ? number >= limit - slack : number <= limit + slack;
}

/* Within an end that another parameter sets; false where that one is no number now. */
static bool is_within_other(const struct measure *value, const struct measure *limit, enum end end)
{
    return !value->known || (limit->known && is_within(value, limit->whole_dimension, limit->whole, end));
}

/* The parameter that sets an end of a range: of the same set where both are in one, preferably in force. */
static size_t bounding(const struct listing *listing, size_t parameter, enum means means)
{
    const struct map *map = listing->order->map;
    size_t found = PARAMETER_NOT_FOUND;
    for (size_t i = 0; i < map->count; i++) {
        unsigned set = map->parameters[i].set, own_set = map->parameters[parameter].set;
        if (i == parameter || map->parameters[i].means != means || (set != 0 && own_set != 0 && set != own_set))
            continue;
        if (listing->order->readings->items[i].in_force)
            return i;
        if (found == PARAMETER_NOT_FOUND)
            found = i;
    }
    return found;
}

static void measure_all(struct sorting *sorting)
{
    struct listing *listing = sorting->listing;
    const struct readings *readings = listing->order->readings;
    for (size_t i = 0; i < readings->count; i++)
        if (readings->items[i].raw_count > 0 && readings->items[i].symptom.kind == SYMPTOM_NONE) {
            struct course *course = &sorting->courses[i];
            course->now = trial_measure(&listing->trial, i, readings->items[i].raw, readings->items[i].raw_count);
            course->to = course->now;
        }
    for (size_t i = 0; i < listing->list->count; i++) {
        const struct change *item = &listing->list->items[i];
        sorting->courses[item->parameter].listed = true;
        sorting->courses[item->parameter].to = trial_measure(&listing->trial, item->parameter, item->to, item->words);
    }
}

static const char *end_word(enum end end)
{
    return end == LOW ? "begins" : "ends";
}

static void refuse_fixed(struct listing *listing, size_t index, enum end end)
{
    const struct quantity *limit = &bound_of(listing_parameter(listing, index), end)->value;
    char text[64];
    listing_refuse(listing, index,
                   text_format("the new value is outside of what the drive accepts: its range %s at %s", end_word(end),
                               quantity_format(limit, text, sizeof text)));
}

static void refuse_bounded(struct listing *listing, size_t index, size_t other, enum end end)
{
    const char *name = listing_parameter(listing, other)->name;
    listing_refuse(
        listing, index,
        listing_has(listing, index)
            ? text_format("the new value is outside of what the drive accepts: its range %s at %s", end_word(end), name)
            : text_format("it would be left outside of what the drive accepts, since its range %s at %s: ask for both "
                          "in the sheet, or set both at the keypad",
                          end_word(end), name));
}

static size_t place_of(const struct listing *listing, size_t parameter)
{
    size_t place = 0;
    while (listing->list->items[place].parameter != parameter)
        place++;
    return place;
}

static void put_before(struct sorting *sorting, size_t first, size_t second)
{
    sorting->before[place_of(sorting->listing, first) * sorting->count + place_of(sorting->listing, second)] = true;
}

/* One end that another parameter sets. The value must be within at the end. On the way: written before the limit, the
 * new value must be within the old limit; written after it, the old value must not be left outside of the new one. A
 * value that is outside already cannot be left so. */
static void check_bounded(struct sorting *sorting, size_t index, enum end end)
{
    struct listing *listing = sorting->listing;
    enum means means = bound_of(listing_parameter(listing, index), end)->means;
    size_t other = bounding(listing, index, means);
    const struct course *value = &sorting->courses[index];
    const struct course none = {0};
    const struct course *limit = other == PARAMETER_NOT_FOUND ? &none : &sorting->courses[other];
    if (!value->listed && !limit->listed)
        return;
    bool was_within = is_within_other(&value->now, &limit->now, end);
    if (!value->listed && !was_within)
        return;
    if (value->to.known && !limit->to.known)
        listing_refuse(listing, index,
                       text_format("its range %s at %s, which %s: what the drive accepts cannot be told", end_word(end),
                                   other == PARAMETER_NOT_FOUND ? means_table[means].name
                                                                : listing_parameter(listing, other)->name,
                                   other == PARAMETER_NOT_FOUND ? "the map does not have" : "has no number"));
    else if (!is_within_other(&value->to, &limit->to, end))
        refuse_bounded(listing, index, other, end);
    else if (value->listed && limit->listed) {
        if (!is_within_other(&value->to, &limit->now, end))
            put_before(sorting, other, index);
        else if (was_within && !is_within_other(&value->now, &limit->to, end))
            put_before(sorting, index, other);
    }
}

static void check_ranges(struct sorting *sorting)
{
    struct listing *listing = sorting->listing;
    for (size_t i = 0; i < listing->order->map->count; i++) {
        const struct parameter *parameter = listing_parameter(listing, i);
        if (parameter->settable == SETTABLE_NEVER)
            continue;
        for (enum end end = LOW; end <= HIGH; end++) {
            const struct bound *bound = bound_of(parameter, end);
            if (bound->kind == BOUND_MEANS)
                check_bounded(sorting, i, end);
            else if (bound->kind == BOUND_VALUE && sorting->courses[i].listed &&
                     !is_within(&sorting->courses[i].to, unit_dimension(bound->value.unit),
                                quantity_base(&bound->value), end))
                refuse_fixed(listing, i, end);
        }
    }
}

/* What the drive changes by itself is written after what makes it do so. */
static void follow_changes(struct sorting *sorting)
{
    struct listing *listing = sorting->listing;
    for (size_t i = 0; i < listing->list->count; i++) {
        const struct parameter *parameter = listing_parameter(listing, listing->list->items[i].parameter);
        for (size_t k = 0; k < parameter->writing_changes_count; k++) {
            size_t other = parameter->writing_changes[k];
            if (other != listing->list->items[i].parameter && listing_has(listing, other))
                put_before(sorting, listing->list->items[i].parameter, other);
        }
    }
}

/* Is one of the items that are left to go before `place` (or behind it)? */
static bool is_tied(const struct sorting *sorting, const bool *gone, size_t place, bool behind)
{
    for (size_t i = 0; i < sorting->count; i++) {
        size_t edge = behind ? place * sorting->count + i : i * sorting->count + place;
        if (!gone[i] && sorting->before[edge])
            return true;
    }
    return false;
}

/* What is left when everything that comes free has gone goes in circles, or lies between circles. */
static void refuse_circle(struct sorting *sorting, bool *gone)
{
    struct listing *listing = sorting->listing;
    bool found = true;
    while (found) {
        found = false;
        for (size_t i = 0; i < sorting->count; i++)
            if (!gone[i] && !is_tied(sorting, gone, i, true))
                found = gone[i] = true;
    }
    struct texts names = {0};
    for (size_t i = 0; i < sorting->count; i++)
        if (!gone[i])
            texts_add(&names, text_copy(listing_parameter(listing, listing->list->items[i].parameter)->name));
    char *all = texts_join(&names, ", ");
    listing_refuse(listing, PARAMETER_NOT_FOUND,
                   text_format("there is no order in which %s can be written, each within its range and none changed "
                               "again by the next: set one of them at the keypad, then call again",
                               all));
    free(all);
    texts_free(&names);
}

/* Of what may go next, the first by the map. */
static void sort(struct sorting *sorting)
{
    struct change_list *list = sorting->listing->list;
    struct change *sorted = memory_new(list->count, sizeof *sorted);
    bool *gone = memory_new(list->count, sizeof *gone);
    size_t placed = 0;
    while (placed < list->count) {
        size_t next = 0;
        while (next < list->count && (gone[next] || is_tied(sorting, gone, next, false)))
            next++;
        if (next == list->count)
            break;
        gone[next] = true;
        sorted[placed++] = list->items[next];
    }
    if (placed == list->count) {
        memcpy(list->items, sorted, list->count * sizeof *sorted);
    } else {
        refuse_circle(sorting, gone);
    }
    free(sorted);
    free(gone);
}

void listing_sort(struct listing *listing)
{
    struct sorting sorting = {.listing = listing, .count = listing->list->count};
    sorting.courses = memory_new(listing->order->map->count, sizeof *sorting.courses);
    sorting.before = memory_new(sorting.count * sorting.count, sizeof *sorting.before);
    measure_all(&sorting);
    check_ranges(&sorting);
    follow_changes(&sorting);
    sort(&sorting);
    free(sorting.courses);
    free(sorting.before);
}
