/* SPDX-License-Identifier: MIT */
/* The punch list of a drive: what is open before it can be accepted. */
#include "verdict/punch.h"

#include "motor/show.h"

#include <stdlib.h>
#include <string.h>

static void add(struct acceptance *acceptance, enum stake weight, bool differs, const char *about, char *text)
{
    acceptance->points = memory_grow(acceptance->points, acceptance->point_count, sizeof *acceptance->points);
    struct open_point *point = &acceptance->points[acceptance->point_count++];
    point->weight = weight;
    point->about = text_copy(about);
    point->text = text;
    point->differs = differs;
}

static const char *about_of(const struct finding *finding)
{
    return finding->parameter != NULL ? finding->parameter : finding->means != NULL ? finding->means : "sheet";
}

static const char *basis_of(const struct finding *finding)
{
    return finding->basis == NULL ? "" : finding->basis;
}

static void add_finding(struct acceptance *acceptance, const struct finding *finding)
{
    char symptom[32];
    char *shown = show_value(&finding->found, finding->unit, finding->step);
    switch (finding->verdict) {
    case VERDICT_DIFFERS:
        add(acceptance, finding->stake, true, about_of(finding),
            text_format("holds %s, which differs: %s", shown, basis_of(finding)));
        break;
    case VERDICT_IMPLAUSIBLE:
        add(acceptance, finding->stake, true, about_of(finding),
            text_format("the sheet contradicts itself: %s", basis_of(finding)));
        break;
    case VERDICT_UNREAD:
        add(acceptance, finding->stake, false, about_of(finding),
            text_format("was not read (%s)", symptom_word(finding->symptom, symptom, sizeof symptom)));
        break;
    case VERDICT_UNCHECKED:
        if (finding->parameter == NULL)
            add(acceptance, finding->stake, false, about_of(finding),
                text_format("in doubt, look at it: %s", basis_of(finding)));
        else if (finding->stake == STAKE_PEOPLE && finding->expected.kind == EXPECTED_NOTHING)
            add(acceptance, finding->stake, false, about_of(finding),
                text_format("holds %s, and the sheet does not say what it should be", shown));
        break;
    case VERDICT_AGREES:
        break;
    }
    free(shown);
}

/* ---- records ---- */

static void compare_with_left(const struct punch_order *order, struct acceptance *acceptance)
{
    for (size_t i = 0; i < order->map->count; i++) {
        const struct parameter *parameter = &order->map->parameters[i];
        const struct record_value *was = record_value_find(order->left, parameter->name);
        const struct record_value *now = record_value_find(order->now, parameter->name);
        if (!parameter->watch || was == NULL || now == NULL || was->symptom != NULL || now->symptom != NULL ||
            record_value_same(was, now))
            continue;
        add(acceptance, means_table[parameter->means].stake, true, parameter->name,
            text_format("was left at %s, and holds %s now", was->shown, now->shown));
    }
    const char *was = order->left->serial_number, *now = order->now->serial_number;
    if (was != NULL && now != NULL && strcmp(was, now) != 0)
        add(acceptance, STAKE_EQUIPMENT, true, "serial number",
            text_format("the drive was exchanged since it was recorded as left: %s then, %s now", was, now));
}

/* Does anything that is set here last, or count, only after the power was off? */
static bool needs_power_cycle(const struct map *map)
{
    if (map->keeps != KEEPS_AT_ONCE)
        return true;
    for (size_t i = 0; i < map->count; i++)
        if (map->parameters[i].settable != SETTABLE_NEVER && map->parameters[i].takes_effect == EFFECT_POWER_CYCLE &&
            map->parameters[i].kind != KIND_COMMAND && !map->parameters[i].cuts_line)
            return true;
    return false;
}

static void look_at_records(const struct punch_order *order, struct acceptance *acceptance)
{
    if (order->interrupted != NULL)
        add(acceptance, STAKE_PEOPLE, false, "interrupted write",
            text_copy("a write did not come to its end: verify, then write or restore, before anything else"));
    if (order->left == NULL) {
        add(acceptance, STAKE_PROCESS, false, "record as left",
            text_copy("there is none: record the drive with --as left when all is set"));
        return;
    }
    compare_with_left(order, acceptance);
    if (!order->left->after_power_cycle && needs_power_cycle(order->map))
        add(acceptance, STAKE_EQUIPMENT, false, "power cycle",
            text_copy("power cycle and read again: record it with --as left --after-power-cycle"));
}

/* ---- the run, and what is done by hand ---- */

/* What is set otherwise now than when the run was witnessed; owned, NULL: nothing. */
static char *changed_since(const struct punch_order *order)
{
    struct texts names = {0};
    for (size_t i = 0; i < order->map->count; i++) {
        const struct parameter *parameter = &order->map->parameters[i];
        const struct record_value *then = record_value_find(order->run, parameter->name);
        const struct record_value *now = record_value_find(order->now, parameter->name);
        if (parameter->watch && then != NULL && now != NULL && then->symptom == NULL && now->symptom == NULL &&
            !record_value_same(then, now))
            texts_add(&names, text_copy(parameter->name));
    }
    const char *then = order->run->serial_number, *now = order->now->serial_number;
    if (then != NULL && now != NULL && strcmp(then, now) != 0)
        texts_add(&names, text_copy("the drive itself"));
    char *all = names.count == 0 ? NULL : texts_join(&names, ", ");
    texts_free(&names);
    return all;
}

static void look_at_run(const struct punch_order *order, struct acceptance *acceptance)
{
    static const char about[] = "witnessed run";
    size_t agreeing = 0;
    if (order->witnessed == NULL) {
        add(acceptance, STAKE_PROCESS, false, about, text_copy("there is none: witness a run of the motor"));
        return;
    }
    for (size_t i = 0; i < order->witnessed->measure_count; i++) {
        const struct measure *measure = &order->witnessed->measures[i];
        agreeing += measure->verdict == VERDICT_AGREES;
        if (measure->verdict == VERDICT_DIFFERS || measure->verdict == VERDICT_IMPLAUSIBLE)
            add(acceptance, measure->stake, true, measure->name,
                text_format("in the witnessed run: %s", measure->basis == NULL ? "differs" : measure->basis));
        if (measure->verdict == VERDICT_UNREAD)
            add(acceptance, measure->stake, false, measure->name, text_copy("was not read in the witnessed run"));
    }
    if (agreeing == 0)
        add(acceptance, STAKE_PROCESS, false, about,
            text_copy("nothing in it could be compared: witness one from rest to rest, with a steady part"));
    char *changed = order->run == NULL ? NULL : changed_since(order);
    if (changed != NULL)
        add(acceptance, STAKE_PROCESS, false, about,
            text_format("changed since it was witnessed: %s; witness another", changed));
    free(changed);
}

/* The same for either case, and for what stands between words. */
static unsigned folded(char letter)
{
    unsigned code = (unsigned char)letter;
    if (code >= 'A' && code <= 'Z')
        return code - 'A' + 'a';
    return code == '-' || code == '_' ? ' ' : code;
}

/* "Emergency-stop, both doors" is that check too; "rotational play" is not the check of rotation. */
static bool is_check(const char *written, const char *name)
{
    for (; *name != '\0'; written++, name++)
        if (folded(*written) != folded(*name))
            return false;
    unsigned next = folded(*written);
    return !((next >= 'a' && next <= 'z') || (next >= '0' && next <= '9'));
}

/* Was a nameplate value changed between found and left? What the drive has found out of its motor is then no good. */
static bool needs_tuning(const struct punch_order *order)
{
    for (size_t i = 0; order->found != NULL && order->left != NULL && i < order->map->count; i++) {
        const struct record_value *was = record_value_find(order->found, order->map->parameters[i].name);
        const struct record_value *left = record_value_find(order->left, order->map->parameters[i].name);
        if (means_is_nameplate(order->map->parameters[i].means) && was != NULL && left != NULL &&
            was->symptom == NULL && left->symptom == NULL && !record_value_same(was, left))
            return true;
    }
    return false;
}

static bool has_motor(const struct punch_order *order)
{
    return order->sheet->motor.given;
}

/* What no register shows; `applies` NULL: always. Common practice of commissioning, no source. */
static const struct usual_check {
    const char *name;
    enum stake weight;
    bool (*applies)(const struct punch_order *order);
} usual_checks[] = {
    {"rotation", STAKE_PEOPLE, has_motor},         {"emergency stop", STAKE_PEOPLE, NULL},
    {"safe torque off", STAKE_PEOPLE, NULL},       {"restart after power return", STAKE_PEOPLE, NULL},
    {"loss of signal", STAKE_PEOPLE, NULL},        {"clamp-meter current", STAKE_EQUIPMENT, has_motor},
    {"insulation", STAKE_EQUIPMENT, has_motor},    {"tachometer", STAKE_PROCESS, has_motor},
    {"motor tuning", STAKE_PROCESS, needs_tuning},
};
enum { USUAL_CHECKS = sizeof usual_checks / sizeof *usual_checks };

/* A check of the sheet, or one that is missing (`row` NULL). It is done where it says what was found, by whom and when.
 */
static void add_check(struct acceptance *acceptance, const char *name, enum stake weight, const struct by_hand *row)
{
    bool done = row != NULL && row->found != NULL && row->by != NULL && row->at != NULL;
    acceptance->checks = memory_grow(acceptance->checks, acceptance->check_count, sizeof *acceptance->checks);
    struct hand_check *check = &acceptance->checks[acceptance->check_count++];
    check->name = name;
    check->weight = weight;
    check->done = done ? row : NULL;
    if (!done)
        add(acceptance, weight, false, name,
            text_copy(row == NULL
                          ? "not checked by hand: do it by the rules of the site, and put into the sheet what was "
                            "found, by whom and when"
                          : "the sheet names this check, and does not say all of what was found, by whom and when"));
}

static void look_at_hand_checks(const struct punch_order *order, struct acceptance *acceptance)
{
    const struct sheet *sheet = order->sheet;
    bool *usual = memory_new(sheet->by_hand_count, sizeof *usual);
    for (size_t i = 0; i < USUAL_CHECKS; i++) {
        const struct usual_check *check = &usual_checks[i];
        bool named = false;
        for (size_t k = 0; k < sheet->by_hand_count; k++) {
            const struct by_hand *row = &sheet->by_hand[k];
            if (!is_check(row->check, check->name))
                continue;
            named = usual[k] = true;
            add_check(acceptance, row->check, check->weight, row);
        }
        if (!named && (check->applies == NULL || check->applies(order)))
            add_check(acceptance, check->name, check->weight, NULL);
    }
    for (size_t k = 0; k < sheet->by_hand_count; k++)
        if (!usual[k])
            add_check(acceptance, sheet->by_hand[k].check, STAKE_PROCESS, &sheet->by_hand[k]);
    free(usual);
}

/* The gravest first; of equal weight as they were found. */
static void sort_points(struct acceptance *acceptance)
{
    struct open_point *sorted = memory_new(acceptance->point_count, sizeof *sorted);
    size_t count = 0;
    for (int weight = STAKE_PEOPLE; weight >= STAKE_PROCESS; weight--)
        for (size_t i = 0; i < acceptance->point_count; i++)
            if ((int)acceptance->points[i].weight == weight)
                sorted[count++] = acceptance->points[i];
    free(acceptance->points);
    acceptance->points = sorted;
}

void punch_make(const struct punch_order *order, struct acceptance *acceptance)
{
    for (size_t i = 0; i < order->findings->count; i++)
        add_finding(acceptance, &order->findings->items[i]);
    look_at_records(order, acceptance);
    look_at_run(order, acceptance);
    look_at_hand_checks(order, acceptance);
    if (acceptance->point_count > 0)
        sort_points(acceptance);
}
