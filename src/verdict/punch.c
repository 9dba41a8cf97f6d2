/* SPDX-License-Identifier: MIT */
/* The punch list of a drive: what is open before it can be accepted. */
#include "verdict/punch.h"

#include "motor/show.h"

#include <stdlib.h>
#include <string.h>

/* What no register shows: common practice of commissioning, no source; NETA's lists of acceptance tests have the like.
 */
static const struct hand_check usual_checks[] = {
    {.name = "rotation", .weight = STAKE_PEOPLE},        {.name = "emergency stop", .weight = STAKE_PEOPLE},
    {.name = "safe torque off", .weight = STAKE_PEOPLE}, {.name = "restart after power return", .weight = STAKE_PEOPLE},
    {.name = "loss of signal", .weight = STAKE_PEOPLE},  {.name = "clamp-meter current", .weight = STAKE_EQUIPMENT},
    {.name = "insulation", .weight = STAKE_EQUIPMENT},   {.name = "tachometer", .weight = STAKE_PROCESS},
};
enum { USUAL_CHECKS = sizeof usual_checks / sizeof *usual_checks };

static void add(struct acceptance *acceptance, enum stake weight, bool differs, const char *about, char *text)
{
    acceptance->points = memory_grow(acceptance->points, acceptance->point_count, sizeof *acceptance->points);
    struct open_point *point = &acceptance->points[acceptance->point_count++];
    *point = (struct open_point){.weight = weight, .about = text_copy(about), .differs = differs};
    point->text = text;
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
        if (finding->stake == STAKE_PEOPLE && finding->expected.kind == EXPECTED_NOTHING)
            add(acceptance, finding->stake, false, about_of(finding),
                text_format("holds %s, and the sheet does not say what it should be", shown));
        break;
    case VERDICT_AGREES:
        break;
    }
    free(shown);
}

/* ---- records ---- */

static bool same_words(const struct record_value *a, const struct record_value *b)
{
    return a->raw_count == b->raw_count &&
           (a->raw_count == 0 || memcmp(a->raw, b->raw, a->raw_count * sizeof *a->raw) == 0);
}

static void compare_with_left(const struct punch_order *order, struct acceptance *acceptance)
{
    for (size_t i = 0; i < order->map->count; i++) {
        const struct parameter *parameter = &order->map->parameters[i];
        const struct record_value *was = record_value_find(order->left, parameter->name);
        const struct record_value *now = record_value_find(order->now, parameter->name);
        if (!parameter->watch || was == NULL || now == NULL || was->symptom != NULL || now->symptom != NULL ||
            same_words(was, now))
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

static void look_at_run(const struct punch_order *order, struct acceptance *acceptance)
{
    if (order->witnessed == NULL) {
        add(acceptance, STAKE_PROCESS, false, "witnessed run", text_copy("there is none: witness a run of the motor"));
        return;
    }
    for (size_t i = 0; i < order->witnessed->measure_count; i++) {
        const struct measure *measure = &order->witnessed->measures[i];
        if (measure->verdict == VERDICT_DIFFERS)
            add(acceptance, measure->stake, true, measure->name,
                text_format("in the witnessed run: %s", measure->basis == NULL ? "differs" : measure->basis));
    }
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

static void add_check(struct acceptance *acceptance, const char *name, enum stake weight, const struct by_hand *done)
{
    acceptance->checks = memory_grow(acceptance->checks, acceptance->check_count, sizeof *acceptance->checks);
    acceptance->checks[acceptance->check_count++] = (struct hand_check){.name = name, .weight = weight, .done = done};
}

static void look_at_hand_checks(const struct punch_order *order, struct acceptance *acceptance)
{
    const struct sheet *sheet = order->sheet;
    bool *usual = memory_new(sheet->by_hand_count, sizeof *usual);
    for (size_t i = 0; i < USUAL_CHECKS; i++) {
        const struct hand_check *check = &usual_checks[i];
        size_t before = acceptance->check_count;
        for (size_t k = 0; k < sheet->by_hand_count; k++) {
            const struct by_hand *row = &sheet->by_hand[k];
            if (!is_check(row->check, check->name))
                continue;
            usual[k] = true;
            add_check(acceptance, row->check, check->weight, row->found == NULL ? NULL : row);
        }
        bool missing = acceptance->check_count == before;
        if (missing)
            add_check(acceptance, check->name, check->weight, NULL);
        for (size_t k = before; k < acceptance->check_count; k++)
            if (acceptance->checks[k].done == NULL)
                add(acceptance, check->weight, false, acceptance->checks[k].name,
                    text_copy("not checked by hand: do it by the rules of the site, and put into the sheet what was "
                              "found"));
    }
    for (size_t k = 0; k < sheet->by_hand_count; k++)
        if (!usual[k]) {
            add_check(acceptance, sheet->by_hand[k].check, STAKE_PROCESS,
                      sheet->by_hand[k].found == NULL ? NULL : &sheet->by_hand[k]);
            if (sheet->by_hand[k].found == NULL)
                add(acceptance, STAKE_PROCESS, false, sheet->by_hand[k].check,
                    text_copy("the sheet names this check, and does not say what was found"));
        }
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
