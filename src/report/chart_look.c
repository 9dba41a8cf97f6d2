/* SPDX-License-Identifier: MIT */
/* How the sets of a chart look: a colour, a dash and a shape each, so that no two differ in colour alone. */
#include "report/chart_look.h"

/* Of the palette that Okabe and Ito proposed for all kinds of colour vision ("Color Universal Design", 2008), those
 * that stand out from white paper by 3 to 1 or more. */
static const char *const colors[LOOK_COLORS] = {"#0072b2", "#d55e00", "#009e73", "#000000", "#cc79a7"};

/* From the shape's middle; each is drawn on from there. */
static const char *const shapes[LOOK_SHAPES] = {
    "m-3.5 0a3.5 3.5 0 1 0 7 0a3.5 3.5 0 1 0-7 0", /* circle */
    "m-3-3h6v6h-6z",                               /* square */
    "m0-4l4 7h-8z",                                /* triangle */
    "m-3-3l6 6m0-6l-6 6",                          /* cross */
    "m0-4.5l4 4.5-4 4.5-4-4.5z",                   /* diamond */
    "m-4 0h8m-4-4v8",                              /* plus */
};

static const char *const dashes[LOOK_DASHES] = {"8 4", "3 3", "12 3 3 3", "14 6"};

/* The edge of a band is finer than any line. */
static const char *const band_dashes[LOOK_DASHES] = {"1 2", "4 2", "2 4", "6 2 1 2"};

const char *look_color(size_t index)
{
    return colors[index % LOOK_COLORS];
}

void look_line_begin(FILE *file, size_t index, enum chart_style style)
{
    const char *color = look_color(index);
    switch (style) {
    case CHART_MEASURED:
    case CHART_POINTS:
        (void)fprintf(file, "<path fill=\"none\" stroke=\"%s\" stroke-width=\"1.5\" stroke-linejoin=\"round\" d=\"",
                      color);
        break;
    case CHART_EXPECTED:
        (void)fprintf(file, "<path fill=\"none\" stroke=\"%s\" stroke-width=\"2\" stroke-dasharray=\"%s\" d=\"", color,
                      dashes[index % LOOK_DASHES]);
        break;
    case CHART_BAND:
        (void)fprintf(file, "<path fill=\"%s\" fill-opacity=\".15\" stroke=\"%s\" stroke-dasharray=\"%s\" d=\"", color,
                      color, band_dashes[index % LOOK_DASHES]);
        break;
    }
}

void look_line_end(FILE *file)
{
    (void)fputs("\"/>\n", file);
}

void look_signs_begin(FILE *file, size_t index, bool hollow)
{
    const char *color = look_color(index);
    (void)fprintf(file, "<path fill=\"%s\" stroke=\"%s\" d=\"", hollow ? "#fff" : color, color);
}

void look_sign(FILE *file, size_t index, double x, double y)
{
    (void)fprintf(file, "M%.1f %.1f%s", x, y, shapes[index % LOOK_SHAPES]);
}

void look_signs_end(FILE *file)
{
    (void)fputs("\"/>\n", file);
}

void look_sample(FILE *file, size_t index, enum chart_style style)
{
    if (style != CHART_POINTS) {
        look_line_begin(file, index, style);
        (void)fputs(style == CHART_BAND ? "M1 1h34v10h-34z" : "M1 6h34", file);
        look_line_end(file);
    }
    if (style == CHART_MEASURED || style == CHART_POINTS) {
        look_signs_begin(file, index, style == CHART_POINTS);
        look_sign(file, index, 18, 6);
        look_signs_end(file);
    }
}
