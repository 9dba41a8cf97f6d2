/* SPDX-License-Identifier: MIT */
/* Writes one parameter as its map says: which function, which address, which half of 32 bits first. */
#ifndef ASLEFT_BUS_WRITER_H
#define ASLEFT_BUS_WRITER_H

#include "bus/link_write.h"
#include "types/map.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What came of it. */
struct written {
    struct symptom symptom; /* SYMPTOM_NONE: every request was acknowledged; else that of the one that ended it */
    unsigned requests;      /* of which a byte may have reached the drive; 0: it certainly holds what it held */
    unsigned acknowledged;
};

typedef void (*writer_done)(void *user, const struct written *written);

/* False, with a reason for persons in `reason` (static), where the map leaves open or rules out how this parameter is
 * written: a command, a parameter that cuts the line or is never settable, an input without write_at, 32 bits with
 * longest_write 1 and no write_words. */
bool writer_can(const struct map *map, size_t parameter, const char **reason);

/* The requests for those words, in their order: at most 2 (32 bits in halves). Function 05 or 0F for a coil, 06 or 10
 * for registers, by longest_write and writes_with (`either` and unsaid: 06 for one register, 10 for more). At write_at
 * where the map has one. Returns how many; 0 where writer_can is false or the unit is 0. `words` is in the map's word
 * order. */
size_t writer_requests(const struct map *map, size_t parameter, unsigned unit, const uint16_t *words,
                       struct write_request requests[2]);

/* Sends them one after the other; the second only if the first was acknowledged. Each once. `done` is called from
 * loop_run, exactly once. `map` must outlive it. */
void writer_write(struct link *link, const struct map *map, size_t parameter, unsigned unit, const uint16_t *words,
                  writer_done done, void *user);

/* The same for the map's save command. */
void writer_save(struct link *link, const struct map *map, unsigned unit, writer_done done, void *user);

#endif
