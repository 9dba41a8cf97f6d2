/* SPDX-License-Identifier: MIT */
/* What the files of cause share: the question (what was due, what was found) and the guesses to it. */
#ifndef ASLEFT_VERDICT_CAUSE_PARTS_H
#define ASLEFT_VERDICT_CAUSE_PARTS_H

#include "motor/band.h"
#include "motor/figure.h"
#include "motor/nameplate.h"
#include "types/finding.h"
#include "types/map.h"
#include "types/readings.h"
#include "types/setpoints.h"
#include "types/sheet.h"

/* All that is known of the drive. */
struct evidence {
    const struct map *map;
    const struct sheet *sheet; /* may be NULL */
    const struct setpoints *setpoints;
    const struct readings *readings;
    const struct finding **of_parameter; /* one a parameter of the map; NULL where nothing was judged */
    struct nameplate *columns;           /* one a column of the plate; NULL where the connected one is not known */
    size_t column_count, connected;
};

/* How well a mistake reproduces a value: the register's nearest value to it, or one within the plate's rounding. */
enum fit { FIT_NONE, FIT_ROUNDED, FIT_EXACT };

/* One finding that is to be explained. */
struct question {
    const struct evidence *evidence;
    const struct finding *finding;
    size_t parameter; /* index in the map, or PARAMETER_NOT_FOUND for the sheet's own */
    enum means means;
    /* In the finding's unit, without half a step and allowance: what was to be typed in. Of a range that is open the
     * bound. Unknown ends where no number is due; nominal NAN where only a range is. */
    struct band expected;
    double found; /* in the finding's unit; NAN where it is no number */
    double step;  /* of the register, in the finding's unit */
};

struct guess {
    enum cause_kind kind;
    int key; /* findings with the same kind and key may come of one and the same mistake */
    enum fit fit;
    size_t shared; /* how many findings that mistake explains */
    char *text;    /* owned */
};

struct guesses {
    struct guess *items;
    size_t count;
};

struct question question_start(const struct evidence *evidence, const struct finding *finding, size_t parameter);

/* Is a number due that is known from both sides? */
bool question_has_band(const struct question *question);

/* Would that mistake, which gives `candidate` in the finding's unit, show as the found value? */
enum fit question_fit(const struct question *question, struct band candidate);

/* Is the expected band so wide that scaling it by `factor` (> 1) says little? */
bool question_is_vague(const struct question *question, double factor);

/* The expected band, each end times `factor` (which may be negative). */
struct band question_scaled(const struct question *question, double factor);

/* A value as the report shows the found one: "6.00 A". */
struct figure question_shown(const struct question *question, double value);
struct figure question_found(const struct question *question);

/* What was due, for sentences; the bound where only one is given. */
struct figure question_due(const struct question *question);

/* Would these raw words be right in that register? By the reading's own scale and unit. */
enum fit question_fit_raw(const struct question *question, uint32_t raw);

/* The same, read as another type of the same width. */
enum fit question_fit_raw_as(const struct question *question, enum value_type type, uint32_t raw);

/* A number of the parameter's own unit (a default, a bound) in the finding's unit; NAN where that is not known. */
double question_of_parameter(const struct question *question, const struct quantity *quantity);

/* What one count and no count of the register are in the finding's unit. False where they are not known. */
bool question_line(const struct question *question, double *scale, double *offset);

/* Takes `text` over. An guess of the same kind and key is kept once, as the better fit. */
void guesses_add(struct guesses *guesses, enum cause_kind kind, int key, enum fit fit, char *text);

typedef void hypothesis(const struct question *question, struct guesses *guesses);

/* Of the nameplate and the supply. */
hypothesis cause_column;
hypothesis cause_supply;
hypothesis cause_power_unit;
hypothesis cause_synchronous;
hypothesis cause_mains;
hypothesis cause_star;

/* Of who entered the value, or did not. */
hypothesis cause_identification;
hypothesis cause_default;
hypothesis cause_never_set;
hypothesis cause_limits;
hypothesis cause_decimal;
hypothesis cause_truncated;

/* Of how the words travelled. */
hypothesis cause_words;
hypothesis cause_bytes;
hypothesis cause_sign;
hypothesis cause_address;

/* Of the sheet's own contradictions. */
hypothesis cause_of_sheet;

/* Is the found value, or the one that stands in its place, so small that it could be anything? */
bool cause_address_is_telling(const struct question *question);

/* "230 V", "380 V to 420 V", "400 V 50 Hz" where the columns differ in frequency too. */
struct figure column_label(const struct evidence *evidence, size_t column, size_t versus);

#endif
