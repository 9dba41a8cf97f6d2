/* SPDX-License-Identifier: MIT */
/* The two halves of the table of symptoms, for advice.c alone. A row with no observation ends each. */
#ifndef ASLEFT_VERDICT_ADVICE_ROWS_H
#define ASLEFT_VERDICT_ADVICE_ROWS_H

#include "types/advice.h"

extern const struct advice_row advice_line_rows[];  /* ports, hosts, wires: nothing or nothing whole came back */
extern const struct advice_row advice_drive_rows[]; /* the drive answered, and gave no value */

#endif
