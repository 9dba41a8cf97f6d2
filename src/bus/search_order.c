/* SPDX-License-Identifier: MIT */
/* In which order a search of a serial line tries formats and units, and how long it takes. */
#include "bus/search_order.h"

#include "bus/timing.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

enum {
    PROBE_CHARACTERS = 8 + 7, /* the question, and the answer that is waited for */
    SETTLE_US = 5000,         /* a port that was set anew is given that long */
    FAVOUR = 1000,            /* a guess: after a sign, nearly nothing else is likely */
};

static const unsigned speeds[] = {19200, 9600, 38400, 115200, 57600, 4800, 2400, 1200};
enum { SPEEDS = sizeof speeds / sizeof *speeds };

/* How likely a drive has a format: guesses. The standard's default is 19200 8E1 (MODBUS over Serial Line V1.02, section
 * 3.3), much simple equipment comes with 9600 and no parity (common practice, no source). */
static const struct {
    unsigned baud;
    enum parity parity;
    double likely;
} known_formats[] = {
    {19200, PARITY_EVEN, 0.30}, {9600, PARITY_NONE, 0.30},  {19200, PARITY_NONE, 0.09},
    {9600, PARITY_EVEN, 0.09},  {38400, PARITY_NONE, 0.05}, {115200, PARITY_NONE, 0.04},
};
enum { KNOWN_FORMATS = sizeof known_formats / sizeof *known_formats };
static const double each_other_format = 0.13 / (SEARCH_FORMATS - KNOWN_FORMATS);

/* How likely a drive has a unit number: guesses. The share is that of all units from `first` to `last` together. */
static const struct {
    unsigned first, last;
    double share;
} known_units[] = {{1, 1, 0.70}, {2, 10, 0.14}, {11, 31, 0.08}, {32, SEARCH_LAST_UNIT, 0.08}};

static double format_likely(unsigned baud, enum parity parity)
{
    for (size_t i = 0; i < KNOWN_FORMATS; i++)
        if (known_formats[i].baud == baud && known_formats[i].parity == parity)
            return known_formats[i].likely;
    return each_other_format;
}

static double unit_likely(const struct search_order *order, uint8_t unit)
{
    double likely = 0;
    for (size_t i = 0; i < sizeof known_units / sizeof *known_units; i++)
        if (unit >= known_units[i].first && unit <= known_units[i].last)
            likely = known_units[i].share / (known_units[i].last - known_units[i].first + 1);
    return unit == order->favoured_unit ? likely * FAVOUR : likely;
}

int64_t search_probe_us(const struct serial_format *format, int64_t answers_within_us)
{
    struct timing timing = timing_serial(format->baud, format->parity, format->stop_bits);
    return timing_wire_us(&timing, PROBE_CHARACTERS) + answers_within_us + SEARCH_MARGIN_US;
}

int64_t search_change_us(const struct serial_format *format)
{
    int64_t silence_us = timing_serial(format->baud, format->parity, format->stop_bits).silence_us;
    return silence_us > SETTLE_US ? silence_us : SETTLE_US;
}

static bool listened_at_speed(const struct search_order *order, const struct search_ground *ground, unsigned baud)
{
    for (size_t i = 0; i < order->format_count; i++)
        if (order->formats[i].baud == baud && ground->listened[i])
            return true;
    return false;
}

size_t search_to_listen(const struct search_order *order, const struct search_ground *ground, size_t format)
{
    if (ground->noisy) {
        for (size_t i = 0; i < order->format_count; i++)
            if (!ground->listened[i] && !ground->refused[i])
                return i;
        return SEARCH_FORMATS;
    }
    return listened_at_speed(order, ground, order->formats[format].baud) ? SEARCH_FORMATS : format;
}

/* ---- the best order ----
 *
 * Each speed is a chain: it begins with listening, which finds nothing and takes long. Within a chain the steps go by
 * likelihood for their time; a stretch of steps joins the one before it where it is the better one, and the stretches
 * of all chains go by likelihood for their time. That is the order of least expected time for such chains (W. A. Horn,
 * SIAM Journal on Applied Mathematics 23, 1972; cited from memory, and checked by trying all orders in the test). */

struct stretch {
    size_t first, count;
    double likely, time_s;
};

struct weighed {
    struct search_step step;
    unsigned baud;
    double likely, time_s;
    size_t place; /* decides between equals */
};

static int compare(double a, double b)
{
    return a < b ? -1 : a > b ? 1 : 0;
}

static int by_speed_then_worth(const void *left, const void *right)
{
    const struct weighed *a = left, *b = right;
    if (a->baud != b->baud)
        return a->baud < b->baud ? -1 : 1;
    int worth = compare(b->likely * a->time_s, a->likely * b->time_s);
    return worth != 0 ? worth : a->place < b->place ? -1 : 1;
}

static int by_worth(const void *left, const void *right)
{
    const struct stretch *a = left, *b = right;
    int worth = compare(b->likely * a->time_s, a->likely * b->time_s);
    return worth != 0 ? worth : a->first < b->first ? -1 : 1;
}

static bool better(const struct stretch *a, const struct stretch *b)
{
    return a->likely * b->time_s > b->likely * a->time_s;
}

/* Cuts the steps, sorted by speed and worth, into stretches; returns how many. */
static size_t cut(const struct search_order *order, const struct search_ground *ground, const struct weighed *weighed,
                  size_t count, struct stretch *stretches)
{
    size_t made = 0, chain = 0;
    for (size_t i = 0; i < count; i++) {
        struct stretch next = {.first = i, .count = 1, .likely = weighed[i].likely, .time_s = weighed[i].time_s};
        if (i == 0 || weighed[i].baud != weighed[i - 1].baud) {
            chain = made;
            next.time_s += listened_at_speed(order, ground, weighed[i].baud) ? 0 : SEARCH_LISTEN_US / 1e6;
        }
        while (made > chain && better(&next, &stretches[made - 1])) {
            const struct stretch *before = &stretches[--made];
            next = (struct stretch){.first = before->first,
                                    .count = before->count + next.count,
                                    .likely = before->likely + next.likely,
                                    .time_s = before->time_s + next.time_s};
        }
        stretches[made++] = next;
    }
    return made;
}

/* Puts the steps from `from` on into the best order. */
static void arrange(struct search_order *order, size_t from, const struct search_ground *ground)
{
    size_t count = order->count - from;
    struct weighed *weighed = memory_new(count + 1, sizeof *weighed);
    struct stretch *stretches = memory_new(count + 1, sizeof *stretches);
    for (size_t i = 0; i < count; i++) {
        struct search_step step = order->steps[from + i];
        const struct serial_format *format = &order->formats[step.format];
        weighed[i] = (struct weighed){.step = step,
                                      .baud = format->baud,
                                      .likely = order->likely[step.format] * unit_likely(order, step.unit),
                                      .time_s = (double)search_probe_us(format, order->answers_within_us) / 1e6,
                                      .place = i};
    }
    qsort(weighed, count, sizeof *weighed, by_speed_then_worth);
    size_t made = cut(order, ground, weighed, count, stretches);
    qsort(stretches, made, sizeof *stretches, by_worth);
    size_t at = from;
    for (size_t i = 0; i < made; i++)
        for (size_t j = 0; j < stretches[i].count; j++)
            order->steps[at++] = weighed[stretches[i].first + j].step;
    free(stretches);
    free(weighed);
}

/* ---- what is tried ---- */

static void add_format(struct search_order *order, const struct search_bounds *bounds, unsigned baud,
                       enum parity parity)
{
    if (bounds->parity_given && parity != bounds->parity)
        return;
    unsigned usual_stop_bits = parity == PARITY_NONE ? 2 : 1;
    order->likely[order->format_count] = format_likely(baud, parity);
    order->formats[order->format_count++] = (struct serial_format){
        .baud = baud, .parity = parity, .stop_bits = bounds->stop_bits == 0 ? usual_stop_bits : bounds->stop_bits};
}

static void add_speed(struct search_order *order, const struct search_bounds *bounds, unsigned baud)
{
    add_format(order, bounds, baud, PARITY_NONE);
    add_format(order, bounds, baud, PARITY_EVEN);
    add_format(order, bounds, baud, PARITY_ODD);
}

static void add_steps(struct search_order *order, const struct search_bounds *bounds, size_t format, unsigned last_unit)
{
    unsigned first = bounds->unit_given ? bounds->unit : 1, last = bounds->unit_given ? bounds->unit : last_unit;
    for (unsigned unit = first; unit <= last; unit++) {
        order->steps = memory_grow(order->steps, order->count, sizeof *order->steps);
        order->steps[order->count++] = (struct search_step){.format = (uint8_t)format, .unit = (uint8_t)unit};
    }
}

void search_order_first(const struct search_bounds *bounds, struct search_order *order)
{
    *order = (struct search_order){.answers_within_us = SEARCH_FAST_US};
    if (bounds->baud != 0)
        add_speed(order, bounds, bounds->baud);
    else
        for (size_t i = 0; i < SPEEDS; i++)
            add_speed(order, bounds, speeds[i]);
    for (size_t format = 0; format < order->format_count; format++)
        add_steps(order, bounds, format, SEARCH_LAST_UNIT);
    const struct search_ground ground = {.format = SEARCH_FORMATS};
    arrange(order, 0, &ground);
}

static bool among_likeliest(const struct search_order *order, size_t format)
{
    size_t likelier = 0;
    for (size_t i = 0; i < order->format_count; i++)
        likelier +=
            order->likely[i] > order->likely[format] || (order->likely[i] >= order->likely[format] && i < format);
    return likelier < SEARCH_SLOW_FORMATS;
}

void search_order_second(const struct search_bounds *bounds, const struct search_order *first,
                         struct search_order *order)
{
    *order = *first;
    order->steps = NULL;
    order->count = 0;
    order->answers_within_us = SEARCH_SLOW_US;
    struct search_ground ground = {.format = SEARCH_FORMATS};
    for (size_t format = 0; format < order->format_count; format++) {
        ground.listened[format] = true; /* in the first pass */
        if (among_likeliest(order, format))
            add_steps(order, bounds, format, SEARCH_SLOW_LAST_UNIT);
    }
    arrange(order, 0, &ground);
}

void search_order_free(struct search_order *order)
{
    free(order->steps);
    *order = (struct search_order){0};
}

void search_order_favour(struct search_order *order, size_t from, const struct search_ground *ground, unsigned baud,
                         uint8_t unit)
{
    for (size_t i = 0; i < order->format_count; i++)
        if (order->formats[i].baud == baud)
            order->likely[i] *= FAVOUR;
    order->favoured_unit = unit;
    arrange(order, from, ground);
}

/* ---- how long it takes ---- */

int64_t search_left_us(const struct search_order *order, size_t from, struct search_ground *ground)
{
    int64_t left_us = 0;
    for (size_t i = from; i < order->count; i++) {
        size_t format = order->steps[i].format, listen;
        if (ground->refused[format])
            continue;
        while ((listen = search_to_listen(order, ground, format)) != SEARCH_FORMATS) {
            left_us += SEARCH_LISTEN_US; /* the port settles meanwhile */
            ground->listened[listen] = true;
            ground->format = listen;
        }
        if (ground->format != format)
            left_us += search_change_us(&order->formats[format]);
        ground->format = format;
        left_us += search_probe_us(&order->formats[format], order->answers_within_us);
    }
    return left_us;
}
