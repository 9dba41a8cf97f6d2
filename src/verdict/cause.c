/* SPDX-License-Identifier: MIT */
/* Why a value is wrong: all hypotheses are asked about each wrong value, and what fits is ranked. */
#include "verdict/cause.h"

#include "verdict/cause_parts.h"

#include <stdlib.h>
#include <string.h>

/* Which findings a hypothesis can say something of. */
enum scope {
    SCOPE_REGISTER, /* a parameter of the drive: it needs the map and what was read */
    SCOPE_VALUE,    /* any value with an expectation */
    SCOPE_SHEET,    /* the sheet's own contradictions */
};

struct hypothesis_row {
    hypothesis *ask;
    enum scope scope;
};

static const struct hypothesis_row hypotheses[] = {
    {cause_identification, SCOPE_REGISTER},
    {cause_default, SCOPE_REGISTER},
    {cause_column, SCOPE_VALUE},
    {cause_power_unit, SCOPE_VALUE},
    {cause_synchronous, SCOPE_VALUE},
    {cause_supply, SCOPE_VALUE},
    {cause_mains, SCOPE_VALUE},
    {cause_limits, SCOPE_REGISTER},
    {cause_decimal, SCOPE_VALUE},
    {cause_star, SCOPE_VALUE},
    {cause_truncated, SCOPE_REGISTER},
    {cause_words, SCOPE_REGISTER},
    {cause_bytes, SCOPE_REGISTER},
    {cause_sign, SCOPE_REGISTER},
    {cause_address, SCOPE_REGISTER},
    {cause_never_set, SCOPE_REGISTER},
    {cause_of_sheet, SCOPE_SHEET},
};

/* A wrong value and what may have made it so. */
struct inquiry {
    struct finding *finding;
    struct question question;
    struct guesses guesses;
};

struct inquiries {
    struct inquiry *items;
    size_t count;
};

static bool is_wrong(const struct finding *finding)
{
    return finding->verdict == VERDICT_DIFFERS || finding->verdict == VERDICT_IMPLAUSIBLE;
}

/* The plate's columns, where it is known which one counts. */
static void read_columns(struct evidence *evidence)
{
    if (evidence->sheet == NULL)
        return;
    const struct motor *motor = &evidence->sheet->motor;
    if (!motor->given || motor->column_count == 0 || (motor->column_count > 1 && !motor->connected_given))
        return;
    evidence->column_count = motor->column_count;
    evidence->connected = motor->column_count == 1 ? 0 : motor->connected;
    evidence->columns = memory_new(motor->column_count, sizeof *evidence->columns);
    for (size_t i = 0; i < motor->column_count; i++)
        nameplate_read_column(motor, i, &evidence->columns[i]);
}

/* The findings of parameters stand in the map's order. */
static size_t next_parameter(const struct map *map, const struct finding *finding, size_t from)
{
    if (finding->parameter == NULL)
        return PARAMETER_NOT_FOUND;
    for (size_t i = from; i < map->count; i++)
        if (strcmp(map->parameters[i].name, finding->parameter) == 0)
            return i;
    return map_find(map, finding->parameter);
}

static void index_findings(struct evidence *evidence, const struct findings *findings)
{
    evidence->of_parameter = memory_new(evidence->map->count, sizeof *evidence->of_parameter);
    size_t from = 0;
    for (size_t i = 0; i < findings->count; i++) {
        size_t parameter = next_parameter(evidence->map, &findings->items[i], from);
        if (parameter == PARAMETER_NOT_FOUND)
            continue;
        evidence->of_parameter[parameter] = &findings->items[i];
        from = parameter + 1;
    }
}

static bool concerns(enum scope scope, const struct question *question)
{
    bool is_setting = question->finding->means != NULL && strncmp(question->finding->means, "sheet.settings.", 15) == 0;
    switch (scope) {
    case SCOPE_REGISTER:
        return question->parameter != PARAMETER_NOT_FOUND;
    case SCOPE_VALUE:
        return question->parameter != PARAMETER_NOT_FOUND || is_setting;
    case SCOPE_SHEET:
        return question->parameter == PARAMETER_NOT_FOUND;
    }
    return false;
}

static void inquire(const struct evidence *evidence, struct findings *findings, struct inquiries *inquiries)
{
    size_t from = 0;
    inquiries->items = memory_new(findings->count, sizeof *inquiries->items);
    for (size_t i = 0; i < findings->count; i++) {
        struct finding *finding = &findings->items[i];
        if (!is_wrong(finding))
            continue;
        size_t parameter = next_parameter(evidence->map, finding, from);
        struct inquiry *inquiry = &inquiries->items[inquiries->count++];
        inquiry->finding = finding;
        inquiry->question = question_start(evidence, finding, parameter);
        from = parameter == PARAMETER_NOT_FOUND ? 0 : parameter + 1;
        for (size_t j = 0; j < sizeof hypotheses / sizeof hypotheses[0]; j++)
            if (concerns(hypotheses[j].scope, &inquiry->question))
                hypotheses[j].ask(&inquiry->question, &inquiry->guesses);
    }
}

static const struct guess *find_guess(const struct inquiry *inquiry, enum cause_kind kind, int key)
{
    for (size_t i = 0; i < inquiry->guesses.count; i++)
        if (inquiry->guesses.items[i].kind == kind && inquiry->guesses.items[i].key == key)
            return &inquiry->guesses.items[i];
    return NULL;
}

/* Mistakes that are made once and show in many values. */
static bool is_made_once(enum cause_kind kind)
{
    return kind == CAUSE_FACTORY_DEFAULT || kind == CAUSE_OTHER_VOLTAGE_COLUMN || kind == CAUSE_OTHER_MAINS_FREQUENCY ||
           kind == CAUSE_WORDS_SWAPPED || kind == CAUSE_BYTES_SWAPPED || kind == CAUSE_ADDRESS_OFF_BY_ONE ||
           kind == CAUSE_NEVER_SET;
}

static void count_shared(struct inquiries *inquiries)
{
    for (size_t i = 0; i < inquiries->count; i++)
        for (size_t j = 0; j < inquiries->items[i].guesses.count; j++) {
            struct guess *guess = &inquiries->items[i].guesses.items[j];
            size_t shared = 0;
            for (size_t k = 0; k < inquiries->count && is_made_once(guess->kind); k++)
                shared += find_guess(&inquiries->items[k], guess->kind, guess->key) != NULL;
            guess->shared = shared == 0 ? 1 : shared;
        }
}

/* A map whose addresses are off shows it everywhere: at least three values that are more than a small number, and half
 * of all that is wrong. One value that equals its neighbour's proves nothing, nor do two neighbours exchanged. */
static bool address_is_believed(const struct inquiries *inquiries, int key)
{
    size_t telling = 0, all = 0;
    for (size_t i = 0; i < inquiries->count; i++) {
        if (find_guess(&inquiries->items[i], CAUSE_ADDRESS_OFF_BY_ONE, key) == NULL)
            continue;
        all++;
        telling += cause_address_is_telling(&inquiries->items[i].question);
    }
    return telling >= 3 && 2 * all >= inquiries->count;
}

static void drop_guess(struct guesses *guesses, size_t index)
{
    free(guesses->items[index].text);
    guesses->items[index] = guesses->items[--guesses->count];
}

static void drop_doubtful_addresses(struct inquiries *inquiries)
{
    const int keys[] = {-1, 1};
    const bool believed[] = {address_is_believed(inquiries, keys[0]), address_is_believed(inquiries, keys[1])};
    for (size_t i = 0; i < inquiries->count; i++) {
        struct guesses *guesses = &inquiries->items[i].guesses;
        for (size_t j = guesses->count; j > 0; j--) {
            const struct guess *guess = &guesses->items[j - 1];
            if (guess->kind == CAUSE_ADDRESS_OFF_BY_ONE && !believed[guess->key == keys[1]])
                drop_guess(guesses, j - 1);
        }
    }
}

/* Better fit first; then what explains more values; then the commoner mistake. */
static int by_likelihood(const void *left, const void *right)
{
    const struct guess *a = left, *b = right;
    if (a->fit != b->fit)
        return a->fit > b->fit ? -1 : 1;
    if (a->shared != b->shared)
        return a->shared > b->shared ? -1 : 1;
    return a->kind != b->kind ? (a->kind < b->kind ? -1 : 1) : a->key - b->key;
}

static bool names_kind(const struct finding *finding, enum cause_kind kind)
{
    if (finding->cause.kind == kind)
        return true;
    for (size_t i = 0; i < finding->also_count; i++)
        if (finding->also[i].kind == kind)
            return true;
    return false;
}

/* The likeliest, and whatever fits as well as that; each kind once. */
static void conclude(struct inquiry *inquiry)
{
    struct guesses *guesses = &inquiry->guesses;
    struct finding *finding = inquiry->finding;
    if (guesses->count == 0)
        return;
    qsort(guesses->items, guesses->count, sizeof *guesses->items, by_likelihood);
    for (size_t i = 0; i < guesses->count && guesses->items[i].fit == guesses->items[0].fit; i++) {
        struct guess *guess = &guesses->items[i];
        struct cause cause = {.kind = guess->kind, .text = guess->text};
        if (names_kind(finding, guess->kind))
            continue;
        guess->text = NULL; /* it moves over */
        if (i == 0) {
            finding->cause = cause;
        } else {
            finding->also = memory_grow(finding->also, finding->also_count, sizeof *finding->also);
            finding->also[finding->also_count++] = cause;
        }
    }
}

/* What many findings with one cause say of the drive as a whole. */
struct common_row {
    enum cause_kind kind;
    size_t least;
    bool mostly; /* and at least half of what is wrong */
    const char *says;
};

static const struct common_row common_rows[] = {
    {CAUSE_ADDRESS_OFF_BY_ONE, 3, true,
     "values stand one address off: the map is off by one; look at its count_from and addresses"},
    {CAUSE_WORDS_SWAPPED, 2, false, "values have their two words exchanged: look at word_order in the map"},
    {CAUSE_BYTES_SWAPPED, 2, false, "values have their bytes exchanged: look at the gateway in between"},
    {CAUSE_FACTORY_DEFAULT, 3, true, "values are factory defaults: the drive was reset, or never set up"},
    {CAUSE_NEVER_SET, 3, true, "values were never set: the drive's memory is empty, or it was never set up"},
    {CAUSE_OTHER_VOLTAGE_COLUMN, 2, false,
     "values are those of another column of the nameplate: look at how the motor is connected"},
    {CAUSE_OTHER_MAINS_FREQUENCY, 2, false, "values are those for the other mains frequency"},
};

static void append(char **sentence, char *more)
{
    char *both = *sentence == NULL ? text_copy(more) : text_format("%s; %s", *sentence, more);
    free(*sentence);
    free(more);
    *sentence = both;
}

static size_t count_cause(const struct inquiries *inquiries, enum cause_kind kind)
{
    size_t count = 0;
    for (size_t i = 0; i < inquiries->count; i++)
        count += inquiries->items[i].question.parameter != PARAMETER_NOT_FOUND &&
                 inquiries->items[i].finding->cause.kind == kind;
    return count;
}

static char *in_common(const struct inquiries *inquiries)
{
    char *sentence = NULL;
    size_t wrong = 0;
    for (size_t i = 0; i < inquiries->count; i++)
        wrong += inquiries->items[i].question.parameter != PARAMETER_NOT_FOUND;
    for (size_t i = 0; i < inquiries->count; i++)
        if (inquiries->items[i].finding->cause.kind == CAUSE_DRIVE_EXCHANGED)
            append(&sentence, text_copy("this is not the drive of the sheet: its serial number differs"));
    for (size_t i = 0; i < sizeof common_rows / sizeof common_rows[0]; i++) {
        const struct common_row *row = &common_rows[i];
        size_t count = count_cause(inquiries, row->kind);
        if (count >= row->least && (!row->mostly || 2 * count >= wrong))
            append(&sentence, text_format("%zu %s", count, row->says));
    }
    return sentence;
}

static void inquiries_free(struct inquiries *inquiries)
{
    for (size_t i = 0; i < inquiries->count; i++) {
        struct guesses *guesses = &inquiries->items[i].guesses;
        for (size_t j = 0; j < guesses->count; j++)
            free(guesses->items[j].text);
        free(guesses->items);
    }
    free(inquiries->items);
}

char *causes_find(const struct map *map, const struct sheet *sheet, const struct setpoints *setpoints,
                  const struct readings *readings, struct findings *findings)
{
    if (findings_overall(findings) != OVERALL_DIFFERS)
        return NULL;
    struct evidence evidence = {.map = map, .sheet = sheet, .setpoints = setpoints, .readings = readings};
    struct inquiries inquiries = {0};
    read_columns(&evidence);
    index_findings(&evidence, findings);
    inquire(&evidence, findings, &inquiries);
    drop_doubtful_addresses(&inquiries);
    count_shared(&inquiries);
    for (size_t i = 0; i < inquiries.count; i++)
        conclude(&inquiries.items[i]);
    char *sentence = in_common(&inquiries);
    inquiries_free(&inquiries);
    free(evidence.columns);
    free(evidence.of_parameter);
    return sentence;
}
