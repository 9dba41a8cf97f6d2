/* SPDX-License-Identifier: MIT */
/* What the files of the list of writes share. */
#ifndef ASLEFT_CHANGE_LIST_PARTS_H
#define ASLEFT_CHANGE_LIST_PARTS_H

#include "change/list.h"

/* A copy of the readings in which one parameter holds other words: decoding it tells what a value would mean in this
 * drive, by the only conversion there is. */
struct trial {
    const struct change_order *order;
    struct map plain; /* the map without percentages: a register's own number, which its range may be given in */
    struct readings readings;
    size_t changed; /* PARAMETER_NOT_FOUND: all as read */
};

void trial_start(struct trial *trial, const struct change_order *order);
void trial_free(struct trial *trial);

/* The decoded reading as if the drive held these words; all others as they are. Holds until the next call. */
const struct reading *trial_put(struct trial *trial, size_t parameter, const uint16_t *words, size_t count);

/* A value as a range is compared with it, in base units; percentages both as they stand and of their base. */
struct measure {
    bool known; /* it is a number */
    double own, whole;
    enum dimension own_dimension, whole_dimension;
};

struct measure trial_measure(struct trial *trial, size_t parameter, const uint16_t *words, size_t count);

/* One list in the making. */
struct listing {
    const struct change_order *order;
    struct change_list *list;
    struct trial trial;
};

const struct parameter *listing_parameter(const struct listing *listing, size_t parameter);

/* The finding about that parameter, or NULL. */
const struct finding *listing_finding(const struct listing *listing, const char *parameter);

/* Refuses because of one parameter, or with PARAMETER_NOT_FOUND the whole. `reason` becomes the list's. */
void listing_refuse(struct listing *listing, size_t parameter, char *reason);

/* Appends "NAME SENTENCE" to what is left. */
void listing_leave(struct listing *listing, const char *name, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Appends the change of a parameter to these words, which differ from what it holds; `why` becomes the list's. */
void listing_add(struct listing *listing, size_t parameter, const uint16_t *to, size_t count, char *why,
                 enum stake stake);

/* Is that parameter on the list? */
bool listing_has(const struct listing *listing, size_t parameter);

/* The words that hold the setpoint of a parameter, `words` of them. False, and `why` (owned), where the register cannot
 * hold it. */
bool listing_encode(struct listing *listing, size_t parameter, uint16_t *words, char **why);

/* Fill the list, in the map's order. */
void listing_write(struct listing *listing);
void listing_restore(struct listing *listing);

/* Refusals: of the drive as a whole; of what decides others on the list; of a sheet that is in doubt. */
void listing_check_drive(struct listing *listing);
void listing_check_selectors(struct listing *listing);
void listing_check_sheet(struct listing *listing);

/* Refuses what is out of its range at the end, and puts the list in an order that keeps every range on the way. */
void listing_sort(struct listing *listing);

#endif
