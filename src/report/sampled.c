/* SPDX-License-Identifier: MIT */
/* How the samples of a run are put for machines. */
#include "report/sampled.h"

#include "motor/quantity.h"

char *samples_column(const struct series *series)
{
    const char *unit = unit_name(dimension_unit(means_table[series->means].dimension));
    return unit[0] == '\0' ? text_copy(series->parameter) : text_format("%s (%s)", series->parameter, unit);
}

struct cell cell_sample(const struct series *series, const struct sample *sample, struct texts *words)
{
    if (series->means != MEANS_LIVE_STATE)
        return cell_number(sample->value);
    for (size_t i = 0; i < RUN_STATES; i++)
        if (((unsigned)sample->value & 1U << i) != 0)
            texts_add(words, text_copy(run_state_words[i]));
    return cell_words(words);
}
