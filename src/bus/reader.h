/* SPDX-License-Identifier: MIT */
/* Reads a set of a drive's parameters: plans blocks, asks the link, splits what the drive refuses, fills readings. */
#ifndef ASLEFT_BUS_READER_H
#define ASLEFT_BUS_READER_H

#include "bus/link.h"
#include "types/map.h"
#include "types/readings.h"

struct reader;

/* One drive on a link. `link`, `map` and `readings` (readings_init with map->count) are the caller's and outlive it. */
struct reader *reader_new(struct link *link, const struct map *map, uint8_t unit, struct readings *readings);
void reader_free(struct reader *reader); /* NULL is fine; not while reading */

typedef void (*reader_done)(void *user);

/* Reads `count` parameters (indexes into the map; duplicates are fine) into readings: raw words and symptom; `asked` is
 * set. Values are not decoded: see bus/decode.h. `done` is called from loop_run when all have words or a symptom; at
 * once where nothing has to be asked. It may call reader_read again.
 * After two requests in a row without any reply (or with a gateway's "nobody answers", 0a or 0b) the remaining ones of
 * this call are given that symptom unasked, so that a silent drive costs seconds; a line that is refused, unreachable
 * or closed gives them its symptom at once. Words of an earlier read that is not repeated with success are dropped.
 * Closed addresses are never on the wire: a parameter on them, or one that is wider than the map's longest_read, gets
 * SYMPTOM_CLOSED unasked. Parameters of kind command are passed over, and stay unasked. What is learned about refused
 * blocks holds for later calls, and so does a length from which on the drive refuses or stays silent; one parameter
 * that is refused is asked a second time before that is believed. What gap is read along follows link_request_cost;
 * what the quantities of requests are for stands in bus/plan_tags.h. */
void reader_read(struct reader *reader, const size_t *parameters, size_t count, reader_done done, void *user);

/* False where the map itself keeps it off the wire: closed addresses, or wider than its longest_read. */
bool reader_may_ask(const struct map *map, const struct parameter *parameter);

/* traffic of this drive alone, summed over its reads. */
const struct traffic *reader_traffic(const struct reader *reader);

#endif
