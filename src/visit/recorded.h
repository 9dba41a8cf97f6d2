/* SPDX-License-Identifier: MIT */
/* A visit's readings as a record that can be kept. */
#ifndef ASLEFT_VISIT_RECORDED_H
#define ASLEFT_VISIT_RECORDED_H

#include "types/map.h"
#include "types/readings.h"
#include "types/record.h"
#include "types/sheet.h"

/* Who makes records, for all of a run. Texts are the caller's. */
struct recorder {
    const char *who, *host, *tool;
    const char *line; /* of this drive, in words */
};

/* Fills `record` (without an id) with every parameter that was asked; serial number and firmware where the map has them
 * and they were read. Commands are left out. record_free it. */
void record_readings(const struct map *map, const struct sheet *sheet, unsigned unit, const struct readings *readings,
                     const struct recorder *recorder, enum record_kind kind, struct record *record);

/* What the drive says of that means (serial number, firmware), as a record keeps it, owned; NULL where the map has no
 * such parameter or it was not read. */
char *recorded_means(const struct map *map, const struct readings *readings, enum means means);

#endif
