/* SPDX-License-Identifier: MIT */
/* "did you mean": the nearest of some names. */
#include "types/nearest.h"

#include <string.h>

enum { LONGEST = 64, MOST_EDITS = 2 };

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Optimal string alignment distance of two texts of at most LONGEST bytes. */
static size_t edits(const char *a, size_t a_length, const char *b, size_t b_length)
{
    size_t row[3][LONGEST + 1]; /* the row under way, and the two before it */
    for (size_t j = 0; j <= b_length; j++)
        row[0][j] = j;
    for (size_t i = 1; i <= a_length; i++) {
        size_t *now = row[i % 3];
        const size_t *last = row[(i + 2) % 3], *before = row[(i + 1) % 3];
        now[0] = i;
        for (size_t j = 1; j <= b_length; j++) {
            size_t replaced = last[j - 1] + (a[i - 1] != b[j - 1]);
            now[j] = least(replaced, least(last[j], now[j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                now[j] = least(now[j], before[j - 2] + 1);
        }
    }
    return row[a_length % 3][b_length];
}

const char *nearest(const char *given, const char *const *names, size_t count)
{
    const char *best = NULL;
    size_t best_edits = MOST_EDITS + 1, given_length = strlen(given);
    for (size_t i = 0; i < count && given_length <= LONGEST; i++) {
        size_t length = names[i] == NULL ? LONGEST + 1 : strlen(names[i]);
        if (length > LONGEST)
            continue;
        size_t distance = edits(given, given_length, names[i], length);
        size_t longer = length > given_length ? length : given_length;
        if (distance < best_edits && distance * 3 <= longer) {
            best = names[i];
            best_edits = distance;
        }
    }
    return best;
}
