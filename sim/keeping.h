/* SPDX-License-Identifier: MIT */
/* Where a value that is written over the line goes: working memory, lasting memory, and when the motor goes by it. */
#ifndef ASLEFT_SIM_KEEPING_H
#define ASLEFT_SIM_KEEPING_H

#include "sim/drive.h"

/* Stores the words of a parameter as its map says. A parameter with a lasting address: a write there lasts, and is read
 * at both; a write to `at` is in working memory only. Else by `keeps`: at-once (and unsaid) lasts, after-save and never
 * are in working memory. The motor goes by it as `takes_effect` says. `where` is parameter's at or write_at. */
void keeping_store(struct drive *drive, size_t parameter, struct address where, const uint16_t *words);

/* Lets the register of the save command, where there is one, read as it does while nothing is being saved. */
void keeping_init(struct drive *drive);

/* The save command: all of working memory lasts in a quarter of the time that the map promises, half a second at most.
 * Until then its register reads something else than done_when, then that; 0 where the map has none. */
void keeping_save(struct drive *drive);

/* Ends a save whose time has come, gives values back that were to come back, and lets the motor, at rest, go by what
 * takes effect there. By the time that the drive has come to. */
void keeping_refresh(struct drive *drive);

/* The parameter's present words come back after `after_us`. */
void keeping_bring_back(struct drive *drive, size_t parameter, int64_t after_us);

/* Power returns: working memory is lost, what lasts is there again and in effect. A save under way is lost, too. */
void keeping_lose(struct drive *drive);

#endif
