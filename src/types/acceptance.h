/* SPDX-License-Identifier: MIT */
/* What stands between a drive and its acceptance: the points that are open, and the checks that no register shows. */
#ifndef ASLEFT_TYPES_ACCEPTANCE_H
#define ASLEFT_TYPES_ACCEPTANCE_H

#include "types/finding.h"
#include "types/sheet.h"

#include <stdbool.h>
#include <stddef.h>

/* One point of the punch list. */
struct open_point {
    enum stake weight;
    char *about;  /* owned; the parameter, measure or check that it is about */
    char *text;   /* owned; what is open, and what closes it */
    bool differs; /* a proven mismatch; else only something that is missing */
};

/* A check that is made by hand. */
struct hand_check {
    const char *name; /* static, or the sheet's */
    enum stake weight;
    const struct by_hand *done; /* the sheet's; NULL: missing */
};

struct acceptance {
    struct open_point *points; /* the gravest first; owned */
    size_t point_count;
    struct hand_check *checks; /* the usual ones, then what else the sheet has; owned */
    size_t check_count;
};

/* Differs where a point does, else incomplete where one is open, else agrees. */
enum overall acceptance_overall(const struct acceptance *acceptance);

void acceptance_free(struct acceptance *acceptance);

#endif
