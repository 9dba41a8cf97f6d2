/* SPDX-License-Identifier: MIT */
/* One drive's visit, from the first request to a judged reading, as a state machine on the caller's loop. */
#include "visit/visit.h"

#include "bus/decode.h"
#include "bus/reader.h"
#include "verdict/cause.h"
#include "verdict/judge.h"

#include <stdlib.h>
#include <string.h>

/* How often a value that differs is read again until it is the same twice running. */
enum { READ_AGAIN_MOST = 3 };

enum visit_state {
    VISIT_WATCHDOG,
    VISIT_IDENTITY,
    VISIT_SELECTORS,
    VISIT_VALUES,
    VISIT_SELECTORS_AGAIN,
    VISIT_AGAIN,
    VISIT_DONE,
};

struct visit {
    struct visit_order order;
    const struct clock *clock;
    struct reader *reader;
    struct readings readings;
    struct findings findings;
    struct wanted all;       /* what is wanted and what decides it */
    struct wanted selectors; /* of those, what decides others */
    struct wanted values;    /* of those, the rest */
    struct wanted asked;     /* what the read under way is for */
    uint16_t **before;       /* raw words of `asked` before the read under way, owned; NULL where there were none */
    size_t *before_count;
    const char **doubts; /* why a parameter was not believed, NULL where it was */
    unsigned rounds;
    enum visit_state state;
    char *remark;
    visit_done done;
    void *user;
};

static void step(void *user);

/* Remembers what is known of the parameters, and asks for them. */
static void ask(struct visit *visit, enum visit_state state, const struct wanted *wanted)
{
    visit->state = state;
    wanted_free(&visit->asked);
    for (size_t i = 0; i < wanted->count; i++) {
        const struct reading *reading = &visit->readings.items[wanted->items[i]];
        size_t parameter = wanted->items[i];
        wanted_add(&visit->asked, parameter);
        visit->doubts[parameter] = NULL;
        free(visit->before[parameter]);
        visit->before[parameter] = NULL;
        visit->before_count[parameter] = reading->raw_count;
        if (reading->raw_count > 0) {
            visit->before[parameter] = memory_new(reading->raw_count, sizeof **visit->before);
            memcpy(visit->before[parameter], reading->raw, reading->raw_count * sizeof *reading->raw);
        }
    }
    reader_read(visit->reader, visit->asked.items, visit->asked.count, step, visit);
}

static bool same_as_before(const struct visit *visit, size_t parameter)
{
    const struct reading *reading = &visit->readings.items[parameter];
    return reading->raw_count == visit->before_count[parameter] &&
           (reading->raw_count == 0 ||
            memcmp(reading->raw, visit->before[parameter], reading->raw_count * sizeof *reading->raw) == 0);
}

/* Takes back what was read: it is not to be believed. `why` (may be NULL) becomes its remark. */
static void disbelieve(struct visit *visit, size_t parameter, struct symptom symptom, const char *why)
{
    struct reading *reading = &visit->readings.items[parameter];
    reading->asked = true;
    reading->symptom = symptom;
    free(reading->raw);
    reading->raw = NULL;
    reading->raw_count = 0;
    visit->doubts[parameter] = why;
}

/* What was not believed takes its dependents along. */
static void decode(struct visit *visit)
{
    readings_decode(visit->order.map, visit->order.setpoints, &visit->readings);
    for (size_t i = 0; i < visit->readings.count; i++) {
        struct reading *reading = &visit->readings.items[i];
        if (visit->doubts[i] == NULL)
            continue;
        free(reading->remark);
        reading->remark = text_copy(visit->doubts[i]);
    }
}

/* Says why values are wrong, once they are judged for the last time. */
static void explain(struct visit *visit)
{
    const struct visit_order *order = &visit->order;
    char *common = causes_find(order->map, order->sheet, order->setpoints, &visit->readings, &visit->findings);
    if (visit->remark == NULL)
        visit->remark = common;
    else
        free(common);
}

static void finish(struct visit *visit)
{
    visit->state = VISIT_DONE;
    if (visit->order.judge)
        explain(visit);
    if (visit->reader != NULL)
        visit->readings.traffic = *reader_traffic(visit->reader);
    visit->readings.ended_ms = visit->clock->wall_ms(visit->clock->user);
    visit->done(visit->user);
}

static void judge_now(struct visit *visit)
{
    findings_free(&visit->findings);
    if (visit->order.judge)
        judge(visit->order.map, visit->order.setpoints, &visit->readings, &visit->findings);
}

/* "No such function", "no such address", "no such value". Anything else that is no value is silence, or passes. */
static bool refuses(struct symptom symptom)
{
    return symptom.kind == SYMPTOM_EXCEPTION && symptom.exception >= 0x01 && symptom.exception <= 0x03;
}

/* Ends the visit with one symptom for everything; what the drive refused was asked, and keeps its own. */
static void give_up(struct visit *visit, struct symptom symptom, char *remark)
{
    for (size_t i = 0; i < visit->all.count; i++)
        if (!refuses(visit->readings.items[visit->all.items[i]].symptom))
            disbelieve(visit, visit->all.items[i], symptom, NULL);
    readings_forget_values(&visit->readings);
    free(visit->remark);
    visit->remark = remark;
    judge_now(visit);
    finish(visit);
}

/* Nothing else is asked of a drive that would trip when this program stops asking. */
static bool watchdog_is_off(struct visit *visit)
{
    const struct map *map = visit->order.map;
    size_t parameter = map->network_watchdog.parameter;
    const char *name = map->parameters[parameter].name;
    uint32_t raw = 0;
    if (!reading_raw(map, &visit->readings, parameter, &raw)) {
        give_up(visit, visit->readings.items[parameter].symptom,
                text_format("the network watchdog (%s) is read first, and could not be", name));
        return false;
    }
    if (raw != map->network_watchdog.off) {
        give_up(visit, (struct symptom){.kind = SYMPTOM_WATCHDOG_ARMED},
                text_format("the drive's network watchdog is armed (%s is %u): it would trip when reading ends; say "
                            "'watchdog: known' in the sheet where that is wanted",
                            name, raw));
        return false;
    }
    return true;
}

static bool identity_holds(const struct visit *visit, const struct identity *identity)
{
    const struct reading *reading = &visit->readings.items[identity->parameter];
    uint32_t raw = 0;
    if (identity->is_text)
        return reading->value.kind == VALUE_TEXT && strcmp(reading->value.text, identity->text) == 0;
    return reading_raw(visit->order.map, &visit->readings, identity->parameter, &raw) && raw == identity->raw;
}

/* What the drive says instead of the map's identity, in words. */
static char *other_model(const struct visit *visit, const struct identity *identity)
{
    const struct reading *reading = &visit->readings.items[identity->parameter];
    const char *name = visit->order.map->parameters[identity->parameter].name;
    char symptom[32];
    uint32_t raw = 0;
    if (reading->symptom.kind != SYMPTOM_NONE)
        return text_format("the drive does not answer as the map's model: %s is not read (%s)", name,
                           symptom_word(reading->symptom, symptom, sizeof symptom));
    if (identity->is_text)
        return text_format("this is another model than the map's: %s is '%s', not '%s'", name,
                           reading->value.kind == VALUE_TEXT ? reading->value.text : "", identity->text);
    (void)reading_raw(visit->order.map, &visit->readings, identity->parameter, &raw);
    return text_format("this is another model than the map's: %s is 0x%04x, not 0x%04x", name, raw, identity->raw);
}

/* A drive that refuses to name itself is another model; one that does not answer is only silent. */
static bool identity_is_right(struct visit *visit)
{
    const struct map *map = visit->order.map;
    decode(visit);
    for (size_t i = 0; i < map->identity_count; i++) {
        if (identity_holds(visit, &map->identity[i]))
            continue;
        const struct reading *reading = &visit->readings.items[map->identity[i].parameter];
        struct symptom symptom = reading->symptom;
        bool silent = reading->raw_count == 0 && !refuses(symptom);
        char *remark = silent ? NULL : other_model(visit, &map->identity[i]);
        give_up(visit, silent ? symptom : (struct symptom){.kind = SYMPTOM_OTHER_MODEL}, remark);
        return false;
    }
    return true;
}

static void ask_watchdog(struct visit *visit)
{
    struct wanted watchdog = {0};
    wanted_add(&watchdog, visit->order.map->network_watchdog.parameter);
    ask(visit, VISIT_WATCHDOG, &watchdog);
    wanted_free(&watchdog);
}

static void ask_identity(struct visit *visit)
{
    const struct map *map = visit->order.map;
    struct wanted identity = {0};
    for (size_t i = 0; i < map->identity_count; i++)
        wanted_add(&identity, map->identity[i].parameter);
    ask(visit, VISIT_IDENTITY, &identity);
    wanted_free(&identity);
}

/* A selector that is not read leaves its dependents unread, whatever it may be now. */
static void ask_selectors_again(struct visit *visit)
{
    struct wanted known = {0};
    for (size_t i = 0; i < visit->selectors.count; i++)
        if (visit->readings.items[visit->selectors.items[i]].raw_count > 0)
            wanted_add(&known, visit->selectors.items[i]);
    ask(visit, VISIT_SELECTORS_AGAIN, &known);
    wanted_free(&known);
}

/* A selector that changed while the values were read leaves open which meaning they had. */
static void compare_selectors(struct visit *visit)
{
    for (size_t i = 0; i < visit->selectors.count; i++) {
        size_t selector = visit->selectors.items[i];
        if (visit->readings.items[selector].raw_count > 0 && !same_as_before(visit, selector))
            disbelieve(visit, selector, (struct symptom){.kind = SYMPTOM_SELECTOR},
                       "not the same before and after the values were read");
    }
}

static void disbelieve_all(struct visit *visit, const struct wanted *fickle)
{
    for (size_t i = 0; i < fickle->count; i++)
        disbelieve(visit, fickle->items[i], (struct symptom){.kind = SYMPTOM_CORRUPT}, "another value at each reading");
    decode(visit);
    judge_now(visit);
}

/* What differs and has not been read twice alike is read again, with what decides it. */
static void ask_again(struct visit *visit)
{
    struct wanted again = {0};
    size_t finding = 0;
    for (size_t i = 0; i < visit->order.map->count; i++) {
        if (!visit->readings.items[i].asked ||
            !judge_includes(&visit->order.map->parameters[i], visit->order.setpoints))
            continue;
        /* judge() makes one finding for each such parameter, in this order */
        if (visit->findings.items[finding++].verdict == VERDICT_DIFFERS &&
            (visit->rounds == 0 || !same_as_before(visit, i)))
            wanted_add(&again, i);
    }
    if (again.count > 0 && visit->rounds < READ_AGAIN_MOST) {
        visit->rounds++;
        wanted_close(&again, visit->order.map);
        ask(visit, VISIT_AGAIN, &again);
    } else {
        disbelieve_all(visit, &again);
        finish(visit);
    }
    wanted_free(&again);
}

static void evaluate(struct visit *visit)
{
    decode(visit);
    judge_now(visit);
    if (visit->order.judge)
        ask_again(visit);
    else
        finish(visit);
}

static void step(void *user)
{
    struct visit *visit = user;
    switch (visit->state) {
    case VISIT_WATCHDOG:
        if (watchdog_is_off(visit))
            ask_identity(visit);
        break;
    case VISIT_IDENTITY:
        if (identity_is_right(visit))
            ask(visit, VISIT_SELECTORS, &visit->selectors);
        break;
    case VISIT_SELECTORS:
        ask(visit, VISIT_VALUES, &visit->values);
        break;
    case VISIT_VALUES:
        ask_selectors_again(visit);
        break;
    case VISIT_SELECTORS_AGAIN:
    case VISIT_AGAIN:
        compare_selectors(visit);
        evaluate(visit);
        break;
    case VISIT_DONE:
        break;
    }
}

static struct visit *visit_new(const struct clock *clock, const struct visit_order *order)
{
    struct visit *visit = memory_new(1, sizeof *visit);
    visit->order = *order;
    visit->clock = clock;
    visit->before = memory_new(order->map->count, sizeof *visit->before);
    visit->before_count = memory_new(order->map->count, sizeof *visit->before_count);
    visit->doubts = memory_new(order->map->count, sizeof *visit->doubts);
    readings_init(&visit->readings, order->map->count);
    visit->readings.began_ms = clock->wall_ms(clock->user);
    for (size_t i = 0; i < order->wanted->count; i++)
        wanted_add(&visit->all, order->wanted->items[i]);
    wanted_close(&visit->all, order->map);
    return visit;
}

struct visit *visit_start(struct link *link, const struct clock *clock, const struct visit_order *order,
                          visit_done done, void *user)
{
    struct visit *visit = visit_new(clock, order);
    visit->done = done;
    visit->user = user;
    visit->reader = reader_new(link, order->map, (uint8_t)order->unit, &visit->readings);
    for (size_t i = 0; i < visit->all.count; i++) {
        size_t parameter = visit->all.items[i];
        wanted_add(map_is_selector(order->map, parameter) ? &visit->selectors : &visit->values, parameter);
    }
    if (order->map->network_watchdog.given && !order->sheet->watchdog_known)
        ask_watchdog(visit);
    else
        ask_identity(visit);
    return visit;
}

static void nobody_waits(void *user)
{
    (void)user;
}

struct visit *visit_without_line(const struct clock *clock, const struct visit_order *order, struct symptom symptom,
                                 const char *remark)
{
    struct visit *visit = visit_new(clock, order);
    visit->done = nobody_waits;
    give_up(visit, symptom, text_copy(remark));
    return visit;
}

const struct readings *visit_readings(const struct visit *visit)
{
    return &visit->readings;
}

const struct findings *visit_findings(const struct visit *visit)
{
    return &visit->findings;
}

const char *visit_remark(const struct visit *visit)
{
    return visit->remark;
}

void visit_free(struct visit *visit)
{
    if (visit == NULL)
        return;
    for (size_t i = 0; i < visit->readings.count; i++)
        free(visit->before[i]);
    free(visit->before);
    free(visit->before_count);
    free(visit->doubts);
    reader_free(visit->reader);
    readings_free(&visit->readings);
    findings_free(&visit->findings);
    wanted_free(&visit->all);
    wanted_free(&visit->selectors);
    wanted_free(&visit->values);
    wanted_free(&visit->asked);
    free(visit->remark);
    free(visit);
}
