/* SPDX-License-Identifier: MIT */
/* Charts in each format: drawn in HTML so that colour is not needed, numbers in JSON, nothing elsewhere. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/chart_look.h"
#include "report/kept.h"

#include <ctype.h>

static const char *const columns[] = {NULL};
static const char hostile[] = "<script>\"&'\033[31m\xff\xef\xbf\xbe</script>";
static const char harmless[] = "&lt;script&gt;&quot;&amp;&#39;\\x1B[31m\\xFF\xEF\xBF\xBD&lt;/script&gt;";

/* What a format writes for a document of that chart, twice. The caller's. */
static char *drawn(const char *format, const char *key, const struct chart *chart)
{
    struct paper paper;
    paper_start(&paper, format, false, 80);
    sink_begin(&paper.sink, "asleft/witness/1", columns);
    sink_chart(&paper.sink, key, chart);
    sink_chart(&paper.sink, NULL, chart);
    sink_end(&paper.sink);
    (void)paper_read(&paper);
    return paper.text;
}

static size_t count(const char *text, const char *word)
{
    size_t found = 0;
    for (; (text = strstr(text, word)) != NULL; text += strlen(word))
        found++;
    return found;
}

static const double times[] = {0, 2, 12, 20}, frequencies[] = {0, 0, 60, 60}, low[] = {0, -1, 58, 58},
                    high[] = {1, 2, 62, 62};
static const struct chart_set ramp_sets[] = {
    {"permitted", CHART_BAND, times, low, high, 4},
    {"asked for", CHART_EXPECTED, times, frequencies, NULL, 4},
    {"output frequency", CHART_MEASURED, times, frequencies, NULL, 4},
    {"tachometer", CHART_POINTS, times, frequencies, NULL, 4},
};
static const struct chart_mark ramp_marks[] = {{2, "start"}, {2.1, "at once"}, {19.9, "stop"}};
static const struct chart ramp = {"Start of P-204", {"time", "s"}, {"frequency", "Hz"}, ramp_sets, 4, ramp_marks, 3};

static void a_chart_says_what_it_shows(void **state)
{
    (void)state;
    char *page = drawn("html", NULL, &ramp);
    static const char *const due[] = {
        "<figcaption><bdi>Start of P-204</bdi></figcaption>\n<svg viewBox=\"0 0 720 ",
        " role=\"img\" aria-labelledby=\"chart-1-title chart-1-desc\"",
        "<title id=\"chart-1-title\">Start of P-204</title>\n",
        "<desc id=\"chart-1-desc\">frequency in Hz over time in s. permitted (band): 4 values from -1 to 62. "
        "asked for (expected): 4 values from 0 to 60. output frequency (measured): 4 values from 0 to 60. "
        "tachometer (points): 4 values from 0 to 60. start at 2. at once at 2.1. stop at 19.9. </desc>\n",
        ">time in s</text>",
        ">frequency in Hz</text>",
        ">60</text>",
        ">20</text>",
        ">start</text>",
        ">at once</text>",
        "text-anchor=\"end\">stop</text>", /* near the right edge it stands before its line */
        "</svg> <bdi>tachometer</bdi></li>\n",
        "id=\"chart-2-title\"",
    };
    for (size_t i = 0; i < sizeof due / sizeof *due; i++)
        assert_non_null(strstr(page, due[i]));
    assert_int_equal(count(page, "<svg"), 2 * (1 + 4));
    assert_int_equal(count(page, "id=\"chart-1-title\""), 1);
    free(page);
}

/* The height at which a mark's label stands. */
static double height_of(const char *page, const char *label)
{
    char *text = text_format(">%s</text>", label);
    const char *end = strstr(page, text), *at = NULL;
    assert_non_null(end);
    for (const char *next = page; (next = strstr(next, " y=\"")) != NULL && next < end; next++)
        at = next;
    assert_non_null(at);
    free(text);
    return strtod(at + 4, NULL);
}

static void labels_of_marks_do_not_cover_each_other(void **state)
{
    (void)state;
    char *page = drawn("html", NULL, &ramp);
    assert_true(fabs(height_of(page, "start") - height_of(page, "at once")) > 12);
    assert_true(height_of(page, "start") == height_of(page, "stop"));
    free(page);
}

static void text_is_never_markup(void **state)
{
    (void)state;
    const struct chart_set set = {hostile, CHART_MEASURED, times, frequencies, NULL, 4};
    const struct chart_mark mark = {3, hostile};
    const struct chart chart = {hostile, {hostile, hostile}, {hostile, NULL}, &set, 1, &mark, 1};
    char *page = drawn("html", NULL, &chart);
    assert_null(strstr(page, "<script"));
    assert_null(strchr(page, '\033'));
    /* title twice, four in desc and one more for the unit, both axes, the mark, the key */
    assert_true(count(page, harmless) >= 2 * (2 + 5 + 4));
    free(page);
}

static void nothing_that_is_no_number_is_written(void **state)
{
    (void)state;
    const double x[] = {0, 1, 2, NAN, 4, 5}, y[] = {1, NAN, INFINITY, 2, -INFINITY, 1e300};
    const struct chart_set sets[] = {{"a", CHART_MEASURED, x, y, NULL, 6},
                                     {"b", CHART_BAND, x, y, y, 6},
                                     {"c", CHART_POINTS, x, y, NULL, 6},
                                     {"d", CHART_EXPECTED, x, y, NULL, 6}};
    const struct chart_mark marks[] = {{0, "start"}};
    const struct chart chart = {"Gaps", {"time", "s"}, {"current", "A"}, sets, 4, marks, 1};
    char *page = drawn("html", NULL, &chart);
    assert_null(strstr(page, "nan"));
    assert_null(strstr(page, "inf"));
    assert_non_null(strstr(page, "a (measured): 1 values from 1 to 1. "));
    free(page);
}

/* The data of the first path behind `word`. */
static const char *path_behind(const char *page, const char *word)
{
    const char *at = strstr(page, word);
    assert_non_null(at);
    at = strstr(at, " d=\"");
    assert_non_null(at);
    return at + 4;
}

static void a_point_between_gaps_shows(void **state)
{
    (void)state;
    const double x[] = {0, 1, 2, 3, 4}, y[] = {1, NAN, 3, NAN, 1};
    const struct chart_set set = {"a", CHART_MEASURED, x, y, NULL, 5};
    const struct chart chart = {"Gaps", {"time", "s"}, {"current", "A"}, &set, 1, NULL, 0};
    char *page = drawn("html", NULL, &chart);
    const char *path = path_behind(page, "stroke-linejoin");
    size_t dots = 0;
    for (; *path != '"'; path++)
        dots += *path == 'h';
    assert_int_equal(dots, 3);
    free(page);
}

static void a_short_line_has_its_shape_too(void **state)
{
    (void)state;
    const double x[] = {0, 0.1}, y[] = {1, 2};
    const struct chart_set sets[] = {{"long", CHART_EXPECTED, times, frequencies, NULL, 4},
                                     {"short", CHART_MEASURED, x, y, NULL, 2}};
    const struct chart chart = {"Short", {"time", "s"}, {"frequency", "Hz"}, sets, 2, NULL, 0};
    char *page = drawn("html", NULL, &chart);
    assert_int_equal(count(page, "h6v6h-6z"), 2 * 2); /* in the drawing and in the key, of two charts */
    free(page);
}

static void without_numbers_there_are_axes(void **state)
{
    (void)state;
    const double none[] = {NAN};
    const struct chart_set set = {"nothing", CHART_MEASURED, none, none, NULL, 1};
    const struct chart_mark mark = {1e308, "never"};
    const struct chart charts[] = {{"Empty", {"time", "s"}, {"current", "A"}, NULL, 0, NULL, 0},
                                   {"Empty", {"time", "s"}, {"current", "A"}, &set, 1, &mark, 1}};
    for (size_t i = 0; i < 2; i++) {
        char *page = drawn("html", NULL, &charts[i]);
        assert_non_null(strstr(page, ">no values</text>"));
        assert_non_null(strstr(page, ">current in A</text>"));
        free(page);
    }
}

static void a_single_value_has_a_stretch(void **state)
{
    (void)state;
    const double x[] = {3}, y[] = {50};
    const struct chart_set set = {"one", CHART_POINTS, x, y, NULL, 1};
    const struct chart chart = {"One", {"time", "s"}, {"frequency", "Hz"}, &set, 1, NULL, 0};
    char *page = drawn("html", NULL, &chart);
    assert_non_null(strstr(page, ">50</text>"));
    assert_non_null(strstr(page, ">3.00</text>"));
    assert_null(strstr(page, "nan"));
    free(page);
}

static void a_long_label_does_not_leave_the_picture(void **state)
{
    (void)state;
    char label[2001];
    memset(label, 'w', 2000);
    label[2000] = '\0';
    const struct chart_mark mark = {10, label};
    const struct chart chart = {"Long", {label, "s"}, {label, "Hz"}, ramp_sets, 4, &mark, 1};
    char *page = drawn("html", NULL, &chart);
    for (const char *at = page; (at = strstr(at, "<text ")) != NULL;) {
        at = strchr(at, '>') + 1;
        assert_in_range(strcspn(at, "<"), 1, 110);
    }
    assert_non_null(strstr(page, "ww\xE2\x80\xA6</text>"));
    free(page);
}

static void a_hundred_thousand_samples_make_a_small_page(void **state)
{
    (void)state;
    enum { SAMPLES = 100000, PEAK = 77777, MOST_BYTES = 1000000 };
    double *x = memory_new(SAMPLES, sizeof *x), *y = memory_new(SAMPLES, sizeof *y);
    srand(5);
    for (size_t i = 0; i < SAMPLES; i++) {
        x[i] = (double)i * 0.001;
        y[i] = (double)(rand() % 1000) / 100;
    }
    y[PEAK] = 100; /* 1 of 100,000: at the top of the scale */
    const struct chart_set sets[] = {{"line", CHART_MEASURED, x, y, NULL, SAMPLES},
                                     {"points", CHART_POINTS, x, y, NULL, SAMPLES}};
    const struct chart chart = {"Long", {"time", "s"}, {"current", "A"}, sets, 2, NULL, 0};
    char *page = drawn("html", NULL, &chart);
    assert_true(strlen(page) < MOST_BYTES);
    double top = height_of(page, "100") - 4; /* text stands a little below its tick */
    char *peak = text_format(" %.1fL", top);
    const char *path = path_behind(page, "stroke-linejoin");
    const char *found = strstr(path, peak);
    assert_true(found != NULL && found < path + strcspn(path, "\""));
    free(peak);
    free(page);
    free(x);
    free(y);
}

/* A sample of the key without its colour. The caller's. */
static char *grey_sample(size_t index, enum chart_style style)
{
    char *text = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&text, &size);
    look_sample(file, index, style);
    (void)fclose(file);
    for (char *at = text; (at = strchr(at, '#')) != NULL;)
        for (at++; isxdigit((unsigned char)*at); at++)
            *at = '-';
    return text;
}

static void no_two_sets_differ_in_colour_alone(void **state)
{
    (void)state;
    enum { SETS = 4, STYLES = 4 };
    for (int a = 0; a < SETS * STYLES; a++)
        for (int b = 0; b < a; b++) {
            char *one = grey_sample((size_t)(a % SETS), (enum chart_style)(a / SETS));
            char *other = grey_sample((size_t)(b % SETS), (enum chart_style)(b / SETS));
            assert_string_not_equal(one, other);
            free(one);
            free(other);
        }
}

/* Red, green and blue of a colour, linear (IEC 61966-2-1). */
static void linear_of(const char *color, double linear[3])
{
    for (size_t i = 0; i < 3; i++) {
        char two[] = {color[1 + 2 * i], color[2 + 2 * i], '\0'};
        double part = (double)strtoul(two, NULL, 16) / 255;
        linear[i] = part <= 0.04045 ? part / 12.92 : pow((part + 0.055) / 1.055, 2.4);
    }
}

/* WCAG 2.1, success criterion 1.4.11: 3 to 1 against what is beside it; relative luminance as defined there. */
static void colours_stand_out_from_paper(void **state)
{
    (void)state;
    for (size_t i = 0; i < LOOK_COLORS; i++) {
        double linear[3];
        linear_of(look_color(i), linear);
        double luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
        assert_true(1.05 / (luminance + 0.05) >= 3);
    }
}

static void json_has_the_numbers_where_it_has_a_key(void **state)
{
    (void)state;
    const double x[] = {0, 1.5}, y[] = {NAN, 60};
    const struct chart_set sets[] = {{"f", CHART_MEASURED, x, y, NULL, 2}, {"b", CHART_BAND, x, y, x, 2}};
    const struct chart_mark marks[] = {{1, "start"}, {NAN, "never"}};
    const struct chart chart = {"Ramp", {"time", "s"}, {"frequency", NULL}, sets, 2, marks, 2};
    char *text = drawn("json", "ramp", &chart);
    json_t *json = json_of(text);
    expect_json(json, "ramp",
                "{\"title\":\"Ramp\",\"x\":{\"label\":\"time\",\"unit\":\"s\"},"
                "\"y\":{\"label\":\"frequency\",\"unit\":null},"
                "\"sets\":[{\"label\":\"f\",\"style\":\"measured\",\"x\":[0.0,1.5],\"y\":[null,60.0]},"
                "{\"label\":\"b\",\"style\":\"band\",\"x\":[0.0,1.5],\"y\":[null,60.0],\"y_high\":[0.0,1.5]}],"
                "\"marks\":[{\"x\":1.0,\"label\":\"start\"},{\"x\":null,\"label\":\"never\"}]}");
    assert_int_equal(json_object_size(json), 2);
    json_decref(json);
    free(text);
}

static void other_formats_show_nothing(void **state)
{
    (void)state;
    char *text = drawn("text", "ramp", &ramp), *csv = drawn("csv", "ramp", &ramp);
    assert_string_equal(text, "");
    assert_string_equal(csv, "\r\n");
    free(text);
    free(csv);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_chart_says_what_it_shows),
        cmocka_unit_test(labels_of_marks_do_not_cover_each_other),
        cmocka_unit_test(text_is_never_markup),
        cmocka_unit_test(nothing_that_is_no_number_is_written),
        cmocka_unit_test(a_point_between_gaps_shows),
        cmocka_unit_test(a_short_line_has_its_shape_too),
        cmocka_unit_test(without_numbers_there_are_axes),
        cmocka_unit_test(a_single_value_has_a_stretch),
        cmocka_unit_test(a_long_label_does_not_leave_the_picture),
        cmocka_unit_test(a_hundred_thousand_samples_make_a_small_page),
        cmocka_unit_test(no_two_sets_differ_in_colour_alone),
        cmocka_unit_test(colours_stand_out_from_paper),
        cmocka_unit_test(json_has_the_numbers_where_it_has_a_key),
        cmocka_unit_test(other_formats_show_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
