/* SPDX-License-Identifier: MIT */
/* OpenMetrics for monitoring: gauges a drive, held until the end, for the samples of a metric have to stand together.
 * Kept to what the older Prometheus text format takes too: gauges only, no time stamps. */
#include "report/escape.h"
#include "report/formats.h"
#include "report/gathered.h"

#include "motor/quantity.h"
#include "types/finding.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum metric {
    METRIC_INFO,
    METRIC_VERDICT,
    METRIC_FINDINGS,
    METRIC_LAST_RUN,
    METRIC_DURATION,
    METRIC_TRAFFIC,
    METRIC_DEVIATION,
    METRIC_FOUND,    /* one a dimension, whose unit its name ends with */
    METRIC_EXPECTED, /* likewise */
};

struct metric_row {
    const char *name; /* without the unit */
    const char *unit; /* NULL: none, or as the dimension */
    const char *help;
};

static const struct metric_row metrics[] = {
    [METRIC_INFO] = {"asleft_drive_info", NULL, "Which drive it is; the value is always 1."},
    [METRIC_VERDICT] = {"asleft_drive_verdict", NULL, "1 for the verdict of the last run, 0 for the others."},
    [METRIC_FINDINGS] = {"asleft_findings", NULL, "How many findings the last run has, by verdict."},
    [METRIC_LAST_RUN] = {"asleft_last_run_timestamp", "seconds", "When the last run ended, since 1970 UTC."},
    [METRIC_DURATION] = {"asleft_read_duration", "seconds", "How long reading the drive took."},
    [METRIC_TRAFFIC] = {"asleft_traffic", NULL, "What the last run did on the line, by kind."},
    [METRIC_DEVIATION] = {"asleft_deviation", NULL, "1 for each parameter that differs."},
    [METRIC_FOUND] = {"asleft_found", NULL, "Value found in a parameter that differs."},
    [METRIC_EXPECTED] = {"asleft_expected", NULL, "Value that a parameter that differs should have."},
};

/* The base unit of each dimension, as metrics are named. */
static const char *const unit_words[] = {
    [DIMENSION_NONE] = NULL,
    [DIMENSION_POWER] = "watts",
    [DIMENSION_VOLTAGE] = "volts",
    [DIMENSION_CURRENT] = "amperes",
    [DIMENSION_FREQUENCY] = "hertz",
    [DIMENSION_SPEED] = "rpm",
    [DIMENSION_TIME] = "seconds",
    [DIMENSION_RATIO] = "ratio",
    [DIMENSION_RESISTANCE] = "ohms",
    [DIMENSION_TORQUE] = "newton_meters",
    [DIMENSION_INERTIA] = "kilogram_square_meters",
    [DIMENSION_TEMPERATURE] = "celsius",
    [DIMENSION_LENGTH] = "meters",
    [DIMENSION_RATE] = "hertz_per_second",
    [DIMENSION_INVERSE_RATE] = "seconds_per_hertz",
    [DIMENSION_SPEED_RATE] = "rpm_per_second",
};

struct sample {
    enum metric metric;
    enum dimension dimension; /* of METRIC_FOUND and METRIC_EXPECTED, else DIMENSION_NONE */
    size_t document;          /* index of its tag */
    char *labels;             /* owned, escaped, without the braces */
    double value;
};

struct openmetrics_state {
    struct gathered gathered;
    struct texts tags; /* of the documents, in their order */
    struct sample *samples;
    size_t count;
};

static struct openmetrics_state *state_of(struct sink *sink)
{
    if (sink->state == NULL)
        sink->state = memory_new(1, sizeof(struct openmetrics_state));
    return sink->state;
}

static void begin(struct sink *sink, const char *schema, const char *const *columns)
{
    (void)schema;
    (void)columns;
    (void)state_of(sink);
}

static void open_group(struct sink *sink, const char *key, enum group_kind kind)
{
    struct openmetrics_state *state = sink->state;
    gathered_open(&state->gathered, key, kind);
}

static void field(struct sink *sink, const char *key, enum role role, const char *label, const struct cell *cell)
{
    struct openmetrics_state *state = sink->state;
    gathered_field(&state->gathered, key, role, label, cell);
}

/* Appends `,name="text"`, without the comma where `labels` is empty. Frees `labels`. The text is harmless for a
 * terminal, so what is left to escape is the quote and the backslash. */
static char *with_label(char *labels, const char *name, const char *text)
{
    char *escaped = memory_new(strlen(text) * 2 + 1, 1), *out = escaped;
    for (; *text != '\0'; text++) {
        if (*text == '"' || *text == '\\')
            *out++ = '\\';
        *out++ = *text;
    }
    char *longer = text_format("%s%s%s=\"%s\"", labels, labels[0] == '\0' ? "" : ",", name, escaped);
    free(escaped);
    free(labels);
    return longer;
}

/* Takes `labels`. What is not a number is no sample. */
static void add_measured(struct openmetrics_state *state, enum metric metric, enum dimension dimension, char *labels,
                         double value)
{
    if (isnan(value)) {
        free(labels);
        return;
    }
    state->samples = memory_grow(state->samples, state->count, sizeof *state->samples);
    state->samples[state->count++] = (struct sample){metric, dimension, state->tags.count, labels, value};
}

static void add_sample(struct openmetrics_state *state, enum metric metric, char *labels, double value)
{
    add_measured(state, metric, DIMENSION_NONE, labels, value);
}

static char *tag_label(const struct openmetrics_state *state)
{
    return with_label(text_copy(""), "tag", facts_text(&state->gathered.document, "tag", ""));
}

/* The labels of a row: drive, parameter, means. */
static char *row_labels(const struct openmetrics_state *state)
{
    char *labels = with_label(tag_label(state), "parameter", gathered_row_name(&state->gathered));
    return with_label(labels, "means", facts_text(&state->gathered.row, "means", ""));
}

static void take_row(struct openmetrics_state *state)
{
    const struct facts *row = &state->gathered.row;
    if (strcmp(facts_text(row, "verdict", ""), verdict_word(VERDICT_DIFFERS)) != 0)
        return;
    enum unit unit = UNIT_NONE;
    if (!unit_find(facts_text(row, "unit", ""), &unit))
        unit = UNIT_NONE;
    enum dimension dimension = unit_dimension(unit);
    add_sample(state, METRIC_DEVIATION, with_label(row_labels(state), "at_stake", facts_text(row, "at_stake", "")), 1);
    add_measured(state, METRIC_FOUND, dimension, row_labels(state), unit_to_base(facts_number(row, "found"), unit));
    add_measured(state, METRIC_EXPECTED, dimension, row_labels(state),
                 unit_to_base(facts_number(row, "expected.nominal"), unit));
}

static void close_group(struct sink *sink)
{
    struct openmetrics_state *state = sink->state;
    if (path_at_row(&state->gathered.path)) {
        take_row(state);
        gathered_forget_row(&state->gathered);
    }
    gathered_close(&state->gathered);
}

static void take_info(struct openmetrics_state *state)
{
    static const struct {
        const char *label, *path;
    } rows[] = {{"service", "service"}, {"line", "line"}, {"unit", "unit"}, {"map", "map.name"}};
    char *labels = tag_label(state);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        labels = with_label(labels, rows[i].label, facts_text(&state->gathered.document, rows[i].path, ""));
    add_sample(state, METRIC_INFO, labels, 1);
}

static void take_verdicts(struct openmetrics_state *state)
{
    static const enum overall overalls[] = {OVERALL_AGREES, OVERALL_DIFFERS, OVERALL_INCOMPLETE};
    static const enum verdict verdicts[VERDICT_KINDS] = {VERDICT_AGREES, VERDICT_DIFFERS, VERDICT_UNREAD,
                                                         VERDICT_IMPLAUSIBLE, VERDICT_UNCHECKED};
    const struct facts *document = &state->gathered.document;
    const char *verdict = facts_text(document, "verdict", "");
    for (size_t i = 0; i < sizeof overalls / sizeof *overalls; i++)
        add_sample(state, METRIC_VERDICT, with_label(tag_label(state), "verdict", overall_word(overalls[i])),
                   strcmp(verdict, overall_word(overalls[i])) == 0);
    for (size_t i = 0; i < VERDICT_KINDS; i++) {
        char *path = text_format("counts.%s", verdict_word(verdicts[i]));
        add_sample(state, METRIC_FINDINGS, with_label(tag_label(state), "verdict", verdict_word(verdicts[i])),
                   facts_number(document, path));
        free(path);
    }
}

static void take_traffic(struct openmetrics_state *state)
{
    static const char *const kinds[] = {"requests", "retries", "exceptions", "timeouts", "bad_frames", "discarded"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        char *path = text_format("traffic.%s", kinds[i]);
        add_sample(state, METRIC_TRAFFIC, with_label(tag_label(state), "kind", kinds[i]),
                   facts_number(&state->gathered.document, path));
        free(path);
    }
}

static void end(struct sink *sink)
{
    struct openmetrics_state *state = sink->state;
    const struct facts *document = &state->gathered.document;
    take_info(state);
    take_verdicts(state);
    take_traffic(state);
    add_sample(state, METRIC_LAST_RUN, tag_label(state), facts_moment_s(document, "ended"));
    add_sample(state, METRIC_DURATION, tag_label(state), facts_took_s(document));
    texts_add(&state->tags, text_copy(facts_text(document, "tag", "")));
    gathered_free(&state->gathered);
}

static int order_of(size_t a, size_t b)
{
    return a < b ? -1 : a > b;
}

static int by_metric_and_labels(const void *left, const void *right)
{
    const struct sample *a = left, *b = right;
    int order = order_of(a->metric, b->metric);
    order = order == 0 ? order_of(a->dimension, b->dimension) : order;
    order = order == 0 ? strcmp(a->labels, b->labels) : order;
    return order == 0 ? order_of(a->document, b->document) : order;
}

static bool same_metric(const struct sample *a, const struct sample *b)
{
    return a->metric == b->metric && a->dimension == b->dimension;
}

static char *metric_name(const struct sample *sample, const char **unit)
{
    const struct metric_row *row = &metrics[sample->metric];
    *unit = row->unit == NULL ? unit_words[sample->dimension] : row->unit;
    return text_format("%s%s%s", row->name, *unit == NULL ? "" : "_", *unit == NULL ? "" : *unit);
}

static void write_sample(FILE *file, const struct sample *sample, bool begins_metric)
{
    const char *unit = NULL;
    char *name = metric_name(sample, &unit);
    if (begins_metric) {
        (void)fprintf(file, "# HELP %s %s\n# TYPE %s gauge\n", name, metrics[sample->metric].help, name);
        if (unit != NULL)
            (void)fprintf(file, "# UNIT %s %s\n", name, unit);
    }
    (void)fprintf(file, "%s{%s} %.13g\n", name, sample->labels, sample->value);
    free(name);
}

/* Where one drive was visited twice, what it was the last time: a series may stand only once. */
static bool *find_overtaken(const struct texts *tags)
{
    bool *overtaken = memory_new(tags->count, sizeof *overtaken);
    for (size_t i = 0; i < tags->count; i++)
        for (size_t k = i + 1; k < tags->count && !overtaken[i]; k++)
            overtaken[i] = strcmp(tags->items[i], tags->items[k]) == 0;
    return overtaken;
}

static void write_all(FILE *file, struct openmetrics_state *state)
{
    bool *overtaken = find_overtaken(&state->tags);
    const struct sample *before = NULL;
    if (state->count > 0)
        qsort(state->samples, state->count, sizeof *state->samples, by_metric_and_labels);
    for (size_t i = 0; i < state->count; i++) {
        const struct sample *sample = &state->samples[i];
        bool same = before != NULL && same_metric(before, sample);
        if (sample->document >= state->tags.count || overtaken[sample->document] ||
            (same && strcmp(before->labels, sample->labels) == 0))
            continue;
        write_sample(file, sample, !same);
        before = sample;
    }
    (void)fputs("# EOF\n", file);
    free(overtaken);
}

static void free_state(struct sink *sink)
{
    struct openmetrics_state *state = state_of(sink);
    if (sink->file != NULL)
        write_all(sink->file, state);
    for (size_t i = 0; i < state->count; i++)
        free(state->samples[i].labels);
    free(state->samples);
    texts_free(&state->tags);
    gathered_free(&state->gathered);
    free(state);
}

const struct sink_format sink_openmetrics = {.name = "openmetrics",
                                             .verdicts_only = true,
                                             .rows_only = true,
                                             .begin = begin,
                                             .open = open_group,
                                             .field = field,
                                             .close = close_group,
                                             .end = end,
                                             .free = free_state};
