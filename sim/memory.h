/* SPDX-License-Identifier: MIT */
/* The four register tables of one simulated drive: which addresses exist, what they hold, what a reader is shown. */
#ifndef ASLEFT_SIM_MEMORY_H
#define ASLEFT_SIM_MEMORY_H

#include "types/map.h"

#include <modbus/modbus.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { TABLES = 4 };

/* One table, from its first address that exists to its last, and its words as often as they may differ. A coil or
 * discrete input holds 0 or 1. */
struct memory_table {
    uint16_t first;
    size_t count;      /* 0: the drive has no such table */
    uint16_t *stored;  /* working memory: what is read */
    uint16_t *acting;  /* what the motor goes by: older where a value takes effect later */
    uint16_t *lasting; /* what is there again after a power-off */
    bool *exists;
};

struct memory {
    struct memory_table tables[TABLES]; /* by enum table */
    modbus_mapping_t *shown;            /* what libmodbus replies from: filled by memory_show */
};

/* Exactly the addresses of the map's parameters and of its save command exist (what it closes has none, files/ sees to
 * that); all hold 0. */
void memory_init(struct memory *memory, const struct map *map);
void memory_free(struct memory *memory);

/* Do all `count` addresses exist? */
bool memory_has(const struct memory *memory, struct address address, size_t count);

/* The stored words at an address that exists. */
uint16_t *memory_at(const struct memory *memory, struct address address);

/* Lets `count` stored words, which all exist, act; and lets them last. */
void memory_act(struct memory *memory, struct address address, size_t count);
void memory_keep(struct memory *memory, struct address address, size_t count);

/* Do all of them last? */
bool memory_is_kept(const struct memory *memory, struct address address, size_t count);

/* Power returns: what lasts is stored again, and acts. */
void memory_recall(struct memory *memory);

/* Copies `count` words, which all exist, to where libmodbus replies from. */
void memory_show(struct memory *memory, struct address address, const uint16_t *words, size_t count);

/* The word that a reader was last shown `offset` behind an address that exists; 0 or 1 for a bit. */
uint16_t memory_shown(const struct memory *memory, struct address address, size_t offset);

#endif
