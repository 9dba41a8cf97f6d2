/* SPDX-License-Identifier: MIT */
/* A chart as a figure of HTML with inline SVG, to be read on a screen and on grey paper. */
#include "report/chart_svg.h"

#include "report/chart_look.h"
#include "report/chart_thin.h"
#include "report/escape.h"
#include "types/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Units of the drawing. It fills the page's width: on A4 and Letter a unit is a quarter of a millimetre. */
enum {
    WIDTH = 720,
    PLOT_HEIGHT = 280,
    RIGHT = 16,
    LINE = 17,    /* from one line of text to the next */
    LETTER = 7,   /* a column of text, about */
    UP_TO = 6,    /* space between text and what it belongs to */
    MARK_ROWS = 6 /* at most so many lines of marks' labels */
};

struct plot {
    FILE *file;
    const struct chart *chart;
    struct scale x, y;
    double left, right, top, bottom;
    bool empty; /* nothing can be drawn */
};

static void write_text(FILE *file, const char *text)
{
    char *escaped = escape_markup(text);
    (void)fputs(escaped, file);
    free(escaped);
}

static double place_x(const struct plot *plot, double x)
{
    return plot->left + (x - plot->x.low) / (plot->x.high - plot->x.low) * (plot->right - plot->left);
}

static double place_y(const struct plot *plot, double y)
{
    return plot->bottom - (y - plot->y.low) / (plot->y.high - plot->y.low) * (plot->bottom - plot->top);
}

static void take_in(double value, double *low, double *high)
{
    *low = fmin(*low, value);
    *high = fmax(*high, value);
}

/* The stretches that sets and marks need. False where there is nothing to draw. */
static bool find_stretch(const struct chart *chart, double x[2], double y[2])
{
    x[0] = y[0] = INFINITY;
    x[1] = y[1] = -INFINITY;
    for (size_t i = 0; i < chart->set_count; i++) {
        const struct chart_set *set = &chart->sets[i];
        for (size_t k = 0; k < set->count; k++) {
            if (!scale_can_show_sample(set, k))
                continue;
            take_in(set->x[k], &x[0], &x[1]);
            take_in(set->y[k], &y[0], &y[1]);
            if (set->y_high != NULL)
                take_in(set->y_high[k], &y[0], &y[1]);
        }
    }
    bool any = x[0] <= x[1];
    for (size_t i = 0; any && i < chart->mark_count; i++)
        if (scale_can_show(chart->marks[i].x))
            take_in(chart->marks[i].x, &x[0], &x[1]);
    return any;
}

/* "output frequency in Hz", owned. */
static char *axis_text(const struct chart_axis *axis)
{
    return axis->unit == NULL ? text_copy(axis->label) : text_format("%s in %s", axis->label, axis->unit);
}

/* The line on which the label of each mark stands, so that none covers another; -1 where the mark is not drawn or no
 * line is left. Returns how many lines there are. */
static unsigned mark_rows(const struct plot *plot, int *rows)
{
    double ends[MARK_ROWS];
    unsigned used = 0;
    for (size_t i = 0; i < plot->chart->mark_count; i++) {
        const struct chart_mark *mark = &plot->chart->marks[i];
        rows[i] = -1;
        if (!scale_can_show(mark->x))
            continue;
        double start = place_x(plot, mark->x);
        unsigned row = 0;
        while (row < used && ends[row] > start)
            row++;
        if (row == MARK_ROWS)
            continue;
        used = row == used ? used + 1 : used;
        ends[row] = start + (double)(text_columns(mark->label) + 2) * LETTER;
        rows[i] = (int)row;
    }
    return used;
}

static size_t widest_tick(const struct scale *scale)
{
    double at[SCALE_MOST_TICKS];
    char text[SCALE_TICK_TEXT];
    size_t widest = 0;
    for (size_t i = 0, count = scale_ticks(scale, at); i < count; i++) {
        size_t columns = strlen(scale_tick_text(scale, at[i], text));
        widest = columns > widest ? columns : widest;
    }
    return widest;
}

static void write_desc_set(FILE *file, const struct chart_set *set)
{
    size_t shown = 0;
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < set->count; i++) {
        if (!scale_can_show_sample(set, i))
            continue;
        shown++;
        take_in(set->y[i], &low, &high);
        take_in(set->y_high == NULL ? set->y[i] : set->y_high[i], &low, &high);
    }
    write_text(file, set->label);
    (void)fprintf(file, " (%s): ", chart_style_word(set->style));
    if (shown == 0)
        (void)fputs("no values. ", file);
    else
        (void)fprintf(file, "%zu values from %.6g to %.6g. ", shown, low, high);
}

/* What the picture shows, for who does not see it. */
static void write_desc(const struct plot *plot, unsigned number)
{
    const struct chart *chart = plot->chart;
    char *x = axis_text(&chart->x), *y = axis_text(&chart->y);
    (void)fprintf(plot->file, "<title id=\"chart-%u-title\">", number);
    write_text(plot->file, chart->title);
    (void)fprintf(plot->file, "</title>\n<desc id=\"chart-%u-desc\">", number);
    write_text(plot->file, y);
    (void)fputs(" over ", plot->file);
    write_text(plot->file, x);
    (void)fputs(". ", plot->file);
    for (size_t i = 0; i < chart->set_count; i++)
        write_desc_set(plot->file, &chart->sets[i]);
    for (size_t i = 0; i < chart->mark_count; i++) {
        write_text(plot->file, chart->marks[i].label);
        (void)fprintf(plot->file, " at %.6g. ", chart->marks[i].x);
    }
    (void)fputs("</desc>\n", plot->file);
    free(x);
    free(y);
}

static void write_label(const struct plot *plot, double x, double y, const char *anchor, const char *text)
{
    (void)fprintf(plot->file, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\">", x, y, anchor);
    write_text(plot->file, text);
    (void)fputs("</text>\n", plot->file);
}

/* A text that has `space` units; what is too long is shortened. */
static void write_short_label(const struct plot *plot, double x, double y, const char *anchor, const char *text,
                              double space)
{
    char *shorter = text_shortened(text, (size_t)fmax(space / LETTER, 1));
    write_label(plot, x, y, anchor, shorter);
    free(shorter);
}

static void write_axes(const struct plot *plot)
{
    double at[SCALE_MOST_TICKS];
    char text[SCALE_TICK_TEXT];
    (void)fputs("<path fill=\"none\" stroke=\"" LOOK_GRID "\" d=\"", plot->file);
    for (size_t i = 0, count = scale_ticks(&plot->y, at); i < count; i++)
        (void)fprintf(plot->file, "M%.1f %.1fH%.1f", plot->left, place_y(plot, at[i]), plot->right);
    for (size_t i = 0, count = scale_ticks(&plot->x, at); i < count; i++)
        (void)fprintf(plot->file, "M%.1f %.1fV%.1f", place_x(plot, at[i]), plot->top, plot->bottom);
    (void)fprintf(plot->file, "\"/>\n<path fill=\"none\" stroke=\"" LOOK_AXIS "\" d=\"M%.1f %.1fV%.1fH%.1f\"/>\n",
                  plot->left, plot->top, plot->bottom, plot->right);
    for (size_t i = 0, count = scale_ticks(&plot->y, at); i < count; i++)
        write_label(plot, plot->left - UP_TO, place_y(plot, at[i]) + 4, "end", scale_tick_text(&plot->y, at[i], text));
    for (size_t i = 0, count = scale_ticks(&plot->x, at); i < count; i++)
        write_label(plot, place_x(plot, at[i]), plot->bottom + LINE, "middle", scale_tick_text(&plot->x, at[i], text));
    char *x = axis_text(&plot->chart->x), *y = axis_text(&plot->chart->y);
    write_short_label(plot, (plot->left + plot->right) / 2, plot->bottom + 2 * LINE + 2, "middle", x,
                      plot->right - plot->left);
    write_short_label(plot, 0, LINE - 3, "start", y, WIDTH);
    free(x);
    free(y);
}

static void write_marks(const struct plot *plot, const int *rows)
{
    for (size_t i = 0; i < plot->chart->mark_count; i++) {
        const struct chart_mark *mark = &plot->chart->marks[i];
        if (!scale_can_show(mark->x))
            continue;
        double x = place_x(plot, mark->x), y = rows[i] < 0 ? plot->top : plot->top - UP_TO - rows[i] * LINE;
        (void)fprintf(plot->file,
                      "<path fill=\"none\" stroke=\"" LOOK_AXIS "\" stroke-dasharray=\"" LOOK_MARK_DASH
                      "\" d=\"M%.1f %.1fV%.1f\"/>\n",
                      x, y - (rows[i] < 0 ? 0 : LINE - UP_TO), plot->bottom);
        bool at_the_edge = x + (double)text_columns(mark->label) * LETTER > WIDTH;
        if (rows[i] >= 0)
            write_short_label(plot, at_the_edge ? x - 3 : x + 3, y, at_the_edge ? "end" : "start", mark->label,
                              at_the_edge ? x : WIDTH - x);
    }
}

static void write_points(const struct plot *plot, const struct thin_points *points)
{
    for (size_t i = 0; i < points->count; i++)
        (void)fprintf(plot->file, "%c%.1f %.1f", points->items[i].joined ? 'L' : 'M', place_x(plot, points->items[i].x),
                      place_y(plot, points->items[i].y));
}

/* A stretch between two gaps that is a single point would not show without its own length. */
static void write_lone_points(const struct plot *plot, const struct thin_points *points)
{
    for (size_t i = 0; i < points->count; i++)
        if (!points->items[i].joined && (i + 1 == points->count || !points->items[i + 1].joined))
            (void)fprintf(plot->file, "M%.1f %.1fh2", place_x(plot, points->items[i].x) - 1,
                          place_y(plot, points->items[i].y));
}

/* Shapes along a line, so that a grey print still tells one line from another. */
static void write_signs(const struct plot *plot, size_t index, const struct thin_points *points)
{
    static const double apart = 96, shift = 24;
    double next = plot->left + (0.5 + (double)(index % 4)) * shift;
    bool any = false;
    look_signs_begin(plot->file, index, false);
    for (size_t i = 0; i < points->count; i++) {
        double x = place_x(plot, points->items[i].x);
        bool last_chance = !any && i + 1 == points->count; /* of a short line */
        if (x < next && !last_chance)
            continue;
        look_sign(plot->file, index, x, place_y(plot, points->items[i].y));
        next = x + apart;
        any = true;
    }
    look_signs_end(plot->file);
}

static void write_line(const struct plot *plot, size_t index)
{
    const struct chart_set *set = &plot->chart->sets[index];
    struct thin_points points = {0};
    thin_line(set, EDGE_LINE, &plot->x, (size_t)(plot->right - plot->left), &points);
    look_line_begin(plot->file, index, set->style);
    write_points(plot, &points);
    write_lone_points(plot, &points);
    look_line_end(plot->file);
    if (set->style == CHART_MEASURED)
        write_signs(plot, index, &points);
    thin_points_free(&points);
}

static void write_scattered(const struct plot *plot, size_t index)
{
    enum { CELL = 4 }; /* less than a sign is wide */
    struct thin_points points = {0};
    thin_scattered(&plot->chart->sets[index], &plot->x, &plot->y, (size_t)(plot->right - plot->left) / CELL,
                   PLOT_HEIGHT / CELL, &points);
    look_signs_begin(plot->file, index, true);
    for (size_t i = 0; i < points.count; i++)
        look_sign(plot->file, index, place_x(plot, points.items[i].x), place_y(plot, points.items[i].y));
    look_signs_end(plot->file);
    thin_points_free(&points);
}

/* The end of the piece without a gap that begins at `start`. */
static size_t piece_end(const struct thin_points *points, size_t start)
{
    size_t end = start + 1;
    while (end < points->count && points->items[end].joined)
        end++;
    return end;
}

/* Each piece: along the upper edge, and back along the lower one. */
static void write_band(const struct plot *plot, size_t index)
{
    const struct chart_set *set = &plot->chart->sets[index];
    struct thin_points low = {0}, high = {0};
    size_t columns = (size_t)(plot->right - plot->left);
    thin_line(set, EDGE_LINE, &plot->x, columns, &low);
    thin_line(set, EDGE_HIGH, &plot->x, columns, &high);
    look_line_begin(plot->file, index, CHART_BAND);
    for (size_t l = 0, h = 0; h < high.count;) {
        size_t low_end = piece_end(&low, l), high_end = piece_end(&high, h);
        for (size_t i = h; i < high_end; i++)
            (void)fprintf(plot->file, "%c%.1f %.1f", i == h ? 'M' : 'L', place_x(plot, high.items[i].x),
                          place_y(plot, high.items[i].y));
        for (size_t i = low_end; i > l; i--)
            (void)fprintf(plot->file, "L%.1f %.1f", place_x(plot, low.items[i - 1].x),
                          place_y(plot, low.items[i - 1].y));
        (void)fputc('Z', plot->file);
        l = low_end;
        h = high_end;
    }
    look_line_end(plot->file);
    thin_points_free(&low);
    thin_points_free(&high);
}

/* Bands lie below lines, and those below points. */
static void write_sets(const struct plot *plot)
{
    static void (*const draw[])(const struct plot *plot, size_t index) = {[CHART_BAND] = write_band,
                                                                          [CHART_EXPECTED] = write_line,
                                                                          [CHART_MEASURED] = write_line,
                                                                          [CHART_POINTS] = write_scattered};
    static const enum chart_style layers[] = {CHART_BAND, CHART_EXPECTED, CHART_MEASURED, CHART_POINTS};
    for (size_t k = 0; k < sizeof layers / sizeof *layers; k++)
        for (size_t i = 0; i < plot->chart->set_count; i++)
            if (plot->chart->sets[i].style == layers[k])
                draw[layers[k]](plot, i);
}

static void write_key(const struct plot *plot)
{
    (void)fputs("<ul class=\"key\">\n", plot->file);
    for (size_t i = 0; i < plot->chart->set_count; i++) {
        (void)fputs("<li><svg viewBox=\"0 0 36 12\" width=\"36\" height=\"12\" aria-hidden=\"true\">", plot->file);
        look_sample(plot->file, i, plot->chart->sets[i].style);
        (void)fputs("</svg> <bdi>", plot->file);
        write_text(plot->file, plot->chart->sets[i].label);
        (void)fputs("</bdi></li>\n", plot->file);
    }
    (void)fputs("</ul>\n", plot->file);
}

static struct plot lay_out(FILE *file, const struct chart *chart)
{
    struct plot plot = {.file = file, .chart = chart};
    double x[2], y[2];
    plot.empty = !find_stretch(chart, x, y);
    plot.x = plot.empty ? scale_for(0, 1, 8, false) : scale_for(x[0], x[1], 8, false);
    plot.y = plot.empty ? scale_for(0, 1, 6, true) : scale_for(y[0], y[1], 6, true);
    plot.left = (double)widest_tick(&plot.y) * LETTER + 2 * UP_TO;
    plot.right = WIDTH - RIGHT;
    return plot;
}

void chart_svg(FILE *file, const struct chart *chart, unsigned number)
{
    struct plot plot = lay_out(file, chart);
    int *rows = memory_new(chart->mark_count, sizeof *rows);
    plot.top = LINE + UP_TO + mark_rows(&plot, rows) * LINE;
    plot.bottom = plot.top + PLOT_HEIGHT;
    (void)fputs("<figure>\n<figcaption><bdi>", file);
    write_text(file, chart->title);
    (void)fprintf(file,
                  "</bdi></figcaption>\n<svg viewBox=\"0 0 %d %.0f\" role=\"img\" "
                  "aria-labelledby=\"chart-%u-title chart-%u-desc\" font-size=\"13\" fill=\"" LOOK_TEXT "\">\n",
                  WIDTH, plot.bottom + 2 * LINE + UP_TO + 2, number, number);
    write_desc(&plot, number);
    write_axes(&plot);
    write_marks(&plot, rows);
    write_sets(&plot);
    if (plot.empty)
        write_label(&plot, (plot.left + plot.right) / 2, (plot.top + plot.bottom) / 2, "middle", "no values");
    (void)fputs("</svg>\n", file);
    write_key(&plot);
    (void)fputs("</figure>\n", file);
    free(rows);
}
