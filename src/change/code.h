/* SPDX-License-Identifier: MIT */
/* The code that confirms a list of writes. */
#ifndef ASLEFT_CHANGE_CODE_H
#define ASLEFT_CHANGE_CODE_H

#include "change/list.h"

#include <stdbool.h>
#include <stdint.h>

/* Fills list->code: eight digits of a digest (SHA-256) over tag, line, unit, serial number, firmware, map and sheet
 * digests, raw words of every settable parameter as read, every change with its old and new words in its order, the
 * save command, and the time. "" where the list is empty or refused. Digits and capital letters without I, L, O and U,
 * a dash in the middle. */
void code_make(const struct change_order *order, const char *line, struct change_list *list, int64_t now_ms);

/* Was `given` made for exactly this list within the last 15 minutes? Letters in either case, the dash or none. Takes as
 * long whatever is given. */
bool code_fits(const struct change_order *order, const char *line, const struct change_list *list, int64_t now_ms,
               const char *given);

#endif
