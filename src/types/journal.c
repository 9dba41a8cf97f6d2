/* SPDX-License-Identifier: MIT */
/* The journal of one call that writes: what it meant to do, and how far it came, wherever it was interrupted. */
#include "types/journal.h"

#include <stdlib.h>

void journal_free(struct journal *journal)
{
    for (size_t i = 0; i < journal->step_count; i++) {
        struct journal_step *step = &journal->steps[i];
        free(step->parameter);
        free(step->was);
        free(step->to);
        free(step->was_shown);
        free(step->to_shown);
        free(step->note);
    }
    free(journal->steps);
    free(journal->tag);
    free(journal->line);
    free(journal->serial_number);
    free(journal->who);
    free(journal->host);
    free(journal->tool);
    *journal = (struct journal){0};
}
