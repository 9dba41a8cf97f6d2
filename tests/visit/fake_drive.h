/* SPDX-License-Identifier: MIT */
/* A drive in memory that stands in for bus/reader: what it answers to each reading of a parameter is scripted. */
#ifndef ASLEFT_TESTS_VISIT_FAKE_DRIVE_H
#define ASLEFT_TESTS_VISIT_FAKE_DRIVE_H

#include "bus/map_builder.h"
#include "bus/reader.h"

#include <stdio.h>

enum { DRIVE_PARAMETERS = 12, DRIVE_ANSWERS = 8 };

struct told {
    struct symptom symptom;
    uint16_t word;
};

/* What it answers to the first, second ... reading of each parameter; the last answer repeats. */
struct drive {
    struct told answers[DRIVE_PARAMETERS][DRIVE_ANSWERS];
    size_t scripted[DRIVE_PARAMETERS];
    size_t reads[DRIVE_PARAMETERS];
    char log[512]; /* "0|1,2|0|" : which parameters each call asked for */
    struct reader *pending;
};

struct reader {
    struct drive *drive;
    const struct map *map;
    struct readings *readings;
    size_t *asked; /* owned */
    size_t asked_count;
    struct traffic traffic;
    reader_done done;
    void *user;
};

static inline void drive_says(struct drive *drive, size_t parameter, uint16_t word)
{
    drive->answers[parameter][drive->scripted[parameter]++] = (struct told){.word = word};
}

static inline void drive_fails(struct drive *drive, size_t parameter, enum symptom_kind kind, uint8_t exception)
{
    drive->answers[parameter][drive->scripted[parameter]++] =
        (struct told){.symptom = {.kind = kind, .exception = exception}};
}

/* A visit takes its link for the reader alone: here it is the drive. */
static inline struct link *drive_link(struct drive *drive)
{
    return (struct link *)drive;
}

struct reader *reader_new(struct link *link, const struct map *map, uint8_t unit, struct readings *readings)
{
    (void)unit;
    struct reader *reader = memory_new(1, sizeof *reader);
    reader->drive = (struct drive *)link;
    reader->map = map;
    reader->readings = readings;
    return reader;
}

void reader_free(struct reader *reader)
{
    if (reader != NULL)
        free(reader->asked);
    free(reader);
}

const struct traffic *reader_traffic(const struct reader *reader)
{
    return &reader->traffic;
}

static inline void drive_log(struct drive *drive, const size_t *parameters, size_t count)
{
    size_t used = strlen(drive->log);
    for (size_t i = 0; i < count; i++)
        used += (size_t)snprintf(drive->log + used, sizeof drive->log - used, "%s%zu", i > 0 ? "," : "", parameters[i]);
    (void)snprintf(drive->log + used, sizeof drive->log - used, "|");
}

void reader_read(struct reader *reader, const size_t *parameters, size_t count, reader_done done, void *user)
{
    if (count == 0) { /* as bus/reader does: nothing to ask is done at once */
        done(user);
        return;
    }
    drive_log(reader->drive, parameters, count);
    free(reader->asked);
    reader->asked = memory_new(count, sizeof *parameters);
    memcpy(reader->asked, parameters, count * sizeof *parameters);
    reader->asked_count = count;
    reader->done = done;
    reader->user = user;
    reader->traffic.requests++;
    reader->drive->pending = reader;
}

static inline void drive_answer(struct drive *drive, struct reader *reader, size_t parameter)
{
    struct reading *reading = &reader->readings->items[parameter];
    size_t last = drive->scripted[parameter] - 1;
    size_t turn = drive->reads[parameter]++;
    const struct told *answer = &drive->answers[parameter][turn < last ? turn : last];
    free(reading->raw);
    reading->raw = NULL;
    reading->raw_count = 0;
    reading->asked = true;
    reading->symptom = answer->symptom;
    if (answer->symptom.kind != SYMPTOM_NONE)
        return;
    reading->raw = memory_new(1, sizeof *reading->raw);
    reading->raw[0] = answer->word;
    reading->raw_count = 1;
}

/* Answers until nothing is asked any more, as the loop would. */
static inline void drive_run(struct drive *drive)
{
    while (drive->pending != NULL) {
        struct reader *reader = drive->pending;
        drive->pending = NULL;
        for (size_t i = 0; i < reader->asked_count; i++)
            drive_answer(drive, reader, reader->asked[i]);
        reader->done(reader->user);
    }
}

#endif
