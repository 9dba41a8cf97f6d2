/* SPDX-License-Identifier: MIT */
/* HTML: one page a run, whole in itself, in which text from a drive stays text. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "report/results.h"

static const char *const columns[] = {NULL};

static void item(struct sink *sink, const char *name, const char *found, const char *note)
{
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, NULL, ROLE_NAME, "parameter", cell_text(name));
    sink_field(sink, NULL, ROLE_FOUND, "found", cell_text(found));
    if (note != NULL)
        sink_field(sink, NULL, ROLE_NOTE, "read as:", cell_text(note));
    sink_close(sink);
}

/* The page from its body on; what stands before is the same for all. */
static const char *body(struct paper *paper)
{
    const char *start = strstr(paper_read(paper), "<body>");
    assert_non_null(start);
    return start;
}

static size_t count(const char *text, const char *word)
{
    size_t found = 0;
    while ((text = strstr(text, word)) != NULL) {
        text += strlen(word);
        found++;
    }
    return found;
}

static void a_small_page(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "html", true, 80);
    struct sink *sink = &paper.sink;
    sink_begin(sink, "asleft/verify/1", columns);
    sink_field(sink, NULL, ROLE_TITLE, NULL, cell_text("P-204: Brine"));
    sink_field(sink, NULL, ROLE_FACT, "  drive", cell_text("unit 4"));
    sink_field(sink, "tag", ROLE_DATA, NULL, cell_text("for machines"));
    sink_open(sink, "findings", GROUP_ROWS);
    sink_heading(sink, ROLE_BAD, "DIFFERS (1)");
    item(sink, "motor_current", "6.00 A", "150 % of 4.00 A");
    item(sink, "motor_speed", "1800 rpm", NULL);
    sink_close(sink);
    sink_heading(sink, ROLE_GOOD, "FOR THE SHEET");
    sink_field(sink, NULL, ROLE_COPY, NULL, cell_text("line:"));
    sink_field(sink, NULL, ROLE_COPY, NULL, cell_text("  unit: 4"));
    sink_field(sink, NULL, ROLE_BAD, NULL, cell_text("P-204 differs"));
    sink_end(sink);
    assert_string_equal(body(&paper), "<body>\n"
                                      "<article class=\"verify\" id=\"document-1\">\n"
                                      "<h1><bdi>P-204: Brine</bdi></h1>\n"
                                      "<table class=\"facts\">\n<tbody>\n"
                                      "<tr><th scope=\"row\">drive</th><td>unit 4</td></tr>\n"
                                      "</tbody>\n</table>\n"
                                      "<h2 class=\"bad\" id=\"document-1-1\">DIFFERS (1)</h2>\n"
                                      "<table>\n<thead>\n"
                                      "<tr><th scope=\"col\" class=\"name\">parameter</th>"
                                      "<th scope=\"col\" class=\"found\">found</th></tr>\n"
                                      "</thead>\n"
                                      "<tbody>\n"
                                      "<tr><th scope=\"row\" class=\"name\"><bdi>motor_current</bdi></th>"
                                      "<td class=\"found\"><bdi>6.00 A</bdi></td></tr>\n"
                                      "<tr><td class=\"note\" colspan=\"2\">read as: 150 % of 4.00 A</td></tr>\n"
                                      "</tbody>\n"
                                      "<tbody>\n"
                                      "<tr><th scope=\"row\" class=\"name\"><bdi>motor_speed</bdi></th>"
                                      "<td class=\"found\"><bdi>1800 rpm</bdi></td></tr>\n"
                                      "</tbody>\n"
                                      "</table>\n"
                                      "<h2 class=\"good\" id=\"document-1-2\">FOR THE SHEET</h2>\n"
                                      "<pre>\nline:\n  unit: 4\n</pre>\n"
                                      "<p class=\"verdict bad\">P-204 differs</p>\n"
                                      "</article>\n"
                                      "</body>\n</html>\n");
    paper_free(&paper);
}

static void text_of_a_drive_is_no_markup(void **state)
{
    (void)state;
    static const char hostile[] = "<script>alert(\"&'\")</script>\033[31m\xff";
    static const char harmless[] = "&lt;script&gt;alert(&quot;&amp;&#39;&quot;)&lt;/script&gt;\\x1B[31m\\xFF";
    struct paper paper;
    paper_start(&paper, "html", false, 80);
    struct sink *sink = &paper.sink;
    sink_begin(sink, "asleft/verify/1", columns);
    sink_field(sink, NULL, ROLE_TITLE, NULL, cell_text(hostile));
    sink_field(sink, NULL, ROLE_FACT, "but", cell_text(hostile));
    sink_open(sink, "findings", GROUP_ROWS);
    sink_heading(sink, ROLE_BAD, hostile);
    item(sink, hostile, hostile, hostile);
    sink_close(sink);
    sink_field(sink, NULL, ROLE_COPY, NULL, cell_text(hostile));
    sink_field(sink, NULL, ROLE_BAD, NULL, cell_text(hostile));
    sink_end(sink);
    const char *page = body(&paper);
    assert_null(strstr(page, "<script"));
    assert_null(strchr(page, '\033'));
    assert_int_equal(count(page, harmless), 8);
    paper_free(&paper);
}

static void several_documents_share_a_page(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "html", false, 80);
    for (int i = 0; i < 2; i++) {
        sink_begin(&paper.sink, "asleft/read/1", columns);
        sink_field(&paper.sink, NULL, ROLE_GOOD, NULL, cell_text("done"));
        sink_end(&paper.sink);
    }
    const char *page = paper_read(&paper);
    assert_int_equal(count(page, "<!DOCTYPE html>"), 1);
    assert_int_equal(count(page, "</html>"), 1);
    assert_non_null(strstr(page, "<article class=\"read\" id=\"document-1\">\n<p class=\"verdict good\">done</p>\n"
                                 "</article>\n<article class=\"read\" id=\"document-2\">\n"));
    assert_non_null(strstr(page, "<title>asleft read</title>"));
    assert_non_null(strstr(page, "<html lang=\"en\">"));
    assert_non_null(strstr(page, "<meta charset=\"utf-8\">"));
    paper_free(&paper);
}

static void a_link_leads_to_a_document_to_come(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "html", false, 80);
    sink_begin(&paper.sink, "asleft/accept/1", columns);
    sink_link(&paper.sink, "2", "P-204 & more", 2);
    sink_end(&paper.sink);
    sink_begin(&paper.sink, "asleft/verify/1", columns);
    sink_end(&paper.sink);
    const char *page = paper_read(&paper);
    assert_non_null(strstr(page, "<tr><th scope=\"row\">2</th><td><a href=\"#document-2\">"
                                 "<bdi>P-204 &amp; more</bdi></a></td></tr>\n"));
    assert_int_equal(count(page, "id=\"document-2\""), 1);
    paper_free(&paper);
}

static void a_dropped_page_is_not_closed(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "html", false, 80);
    sink_begin(&paper.sink, "asleft/read/1", columns);
    sink_end(&paper.sink);
    sink_drop(&paper.sink);
    assert_null(strstr(paper_read(&paper), "</html>"));
    paper_free(&paper);
}

static void without_a_document_there_is_no_page(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "html", false, 80);
    assert_string_equal(paper_read(&paper), "");
    paper_free(&paper);
}

static void nothing_comes_from_elsewhere(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "html", false, 80);
    sink_begin(&paper.sink, "asleft/read/1", columns);
    sink_end(&paper.sink);
    const char *page = paper_read(&paper);
    static const char *const foreign[] = {"http:", "https:", "//", "url(", "@import", "<script", "<link", "<img"};
    for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++)
        assert_null(strstr(page, foreign[i]));
    assert_non_null(strstr(page, "default-src 'none'"));
    paper_free(&paper);
}

static void a_row_with_another_column_begins_a_table(void **state)
{
    (void)state;
    struct paper paper;
    paper_start(&paper, "html", false, 80);
    struct sink *sink = &paper.sink;
    sink_begin(sink, "asleft/read/1", columns);
    sink_open(sink, "rows", GROUP_ROWS);
    item(sink, "a", "1", NULL);
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, NULL, ROLE_NAME, "parameter", cell_text("b"));
    sink_field(sink, NULL, ROLE_STAKE, "at stake", cell_text("people"));
    sink_close(sink);
    sink_close(sink);
    sink_end(sink);
    const char *page = body(&paper);
    assert_int_equal(count(page, "<table>"), 2);
    assert_int_equal(count(page, "</table>"), 2);
    assert_non_null(strstr(page, "<td class=\"stake\"><bdi>people</bdi></td>"));
    paper_free(&paper);
}

/* Takes the element at `at` (behind its "<") onto the names under way or from them. */
static void follow_tag(const char *at, char (*open)[16], size_t *depth)
{
    static const char *const empty[] = {"meta", "!DOCTYPE"};
    bool ends = *at == '/';
    char name[16];
    (void)snprintf(name, sizeof name, "%.*s", (int)strcspn(at + ends, " >"), at + ends);
    for (size_t i = 0; i < sizeof empty / sizeof *empty; i++)
        if (strcmp(name, empty[i]) == 0)
            return;
    if (!ends) {
        assert_true(*depth < 16);
        memcpy(open[(*depth)++], name, sizeof name);
        return;
    }
    assert_true(*depth > 0);
    assert_string_equal(open[--*depth], name);
}

static void tags_balance_in_a_whole_report(void **state)
{
    (void)state;
    struct result result;
    struct paper paper;
    result_start(&result);
    result_findings(&result);
    paper_start(&paper, "html", false, 80);
    doc_verify(&paper.sink, &result.report, false);
    char open[16][16];
    size_t depth = 0, tags = 0;
    for (const char *at = paper_read(&paper); (at = strchr(at, '<')) != NULL; tags++)
        follow_tag(++at, open, &depth);
    assert_int_equal(depth, 0);
    assert_true(tags > 100);
    paper_free(&paper);
    result_free(&result);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_small_page),
        cmocka_unit_test(text_of_a_drive_is_no_markup),
        cmocka_unit_test(several_documents_share_a_page),
        cmocka_unit_test(a_link_leads_to_a_document_to_come),
        cmocka_unit_test(a_dropped_page_is_not_closed),
        cmocka_unit_test(without_a_document_there_is_no_page),
        cmocka_unit_test(nothing_comes_from_elsewhere),
        cmocka_unit_test(a_row_with_another_column_begins_a_table),
        cmocka_unit_test(tags_balance_in_a_whole_report),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
