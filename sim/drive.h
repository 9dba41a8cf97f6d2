/* SPDX-License-Identifier: MIT */
/* One simulated drive: a map's registers, the values in them, and the motor behind. */
#ifndef ASLEFT_SIM_DRIVE_H
#define ASLEFT_SIM_DRIVE_H

#include "sim/drive_model.h"
#include "sim/memory.h"
#include "types/error.h"
#include "types/map.h"
#include "types/setpoints.h"
#include "types/sheet.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A 32-bit value that comes in two writes: what came first waits for the other half. */
struct half_written {
    bool given;
    uint16_t word;
};

/* What is unusual about the write that is being carried out. */
struct habit {
    bool forgets;             /* confirms it and does not do it */
    unsigned clamps_percent;  /* of the way from the old value to the new one, and no further than its range; 0: none */
    int64_t returns_after_us; /* the old value comes back so much later; 0: never */
};

/* A value that is to come back. */
struct coming_back {
    size_t parameter;
    uint16_t *words; /* owned */
    int64_t due_us;
};

/* What writes over the line did to the memory that wears out. */
struct wear {
    unsigned long values; /* put into lasting memory */
    unsigned long saves;  /* save commands carried out */
    unsigned long equal;  /* writes of the value that was there already */
};

/* The wires on the drive's terminals. */
struct wiring {
    bool run_command, enable;
    bool asked; /* they asked for a run when it was last looked at: a start takes a new asking */
};

struct drive {
    const struct map *map;
    const struct sheet *sheet;  /* NULL: the drive as it left the factory */
    struct setpoints setpoints; /* of sheet and map; empty without a sheet */
    struct memory memory;
    bool *pinned;              /* by parameter: somebody set it, and neither sheet nor motor changes it any more */
    struct half_written *half; /* by parameter */
    struct habit habit;        /* of this write */
    struct coming_back *coming_back;
    size_t coming_back_count;
    bool saves; /* a save command is at work until saved_us */
    int64_t saved_us;
    struct wear wear;
    struct wiring terminals;
    const char *shown_state; /* the map's word that live.state shows; NULL: as the motor has it */
    int64_t off_until_us;    /* it has no power, and hears nothing */
    struct drive_model model;
    double run_before_s; /* what the hour counter held when the simulator began */
};

/* A drive with that map, commissioned by `sheet` (which may be NULL: factory defaults), then with each of `texts`
 * ("motor_current=6.0 A") set on top. `map` and `sheet` must outlive it. `now_us` is any monotonic time. False with
 * ERROR_USE where a text names no parameter or gives a value that it cannot hold; drive_free is due either way. */
bool drive_init(struct drive *drive, const struct map *map, const struct sheet *sheet, const char *const *texts,
                size_t text_count, int64_t now_us, struct error *error);
void drive_free(struct drive *drive);

/* Lets the motor run on to `now_us`, does what is due by then, and brings the live registers up to date. */
void drive_refresh(struct drive *drive, int64_t now_us);

/* Where `parameter` is the frequency command: the motor takes over what its register holds now. */
void drive_take_command(struct drive *drive, size_t parameter);

/* The raw value of a parameter that is not a text; and storing one for good: in working and lasting memory, at its
 * lasting address too, and at once in force. */
uint32_t drive_raw(const struct drive *drive, size_t parameter);
void drive_put_raw(struct drive *drive, size_t parameter, uint32_t raw);

/* The stored words of any parameter; and storing them. */
const uint16_t *drive_words(const struct drive *drive, size_t parameter);
void drive_put_words(struct drive *drive, size_t parameter, const uint16_t *words);

/* The drive as its motor sees it: with the values that are in effect. A view, valid while `drive` is unchanged; it is
 * read, and never freed. */
struct drive drive_acting(const struct drive *drive);

/* Without power at `now_us`? Stopped, as its keypad and its registers have it? */
bool drive_is_off(const struct drive *drive, int64_t now_us);
bool drive_is_stopped(const struct drive *drive);

/* Locked: any row of its locked_by holds. In force: every row of its applies_when holds, and its set is the active
 * one. */
bool drive_is_locked(const struct drive *drive, size_t parameter);
bool drive_is_in_force(const struct drive *drive, size_t parameter);

/* The parameter that this drive itself goes by for a means: one in force before one that is not, and, where `set` is
 * not 0, one of that set before one of another. PARAMETER_NOT_FOUND where there is none. */
size_t drive_find(const struct drive *drive, enum means means, unsigned set);

/* Does raw value `raw` stand in the list? */
bool raw_listed(const struct raw_list *list, uint32_t raw);

/* Is it a live value (its means begins with "live.")? */
bool parameter_is_live(const struct parameter *parameter);

#endif
