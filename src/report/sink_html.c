/* SPDX-License-Identifier: MIT */
/* HTML: one page a run, to be printed; whole in itself, without scripts, fonts or pictures. */
#include "report/chart_svg.h"
#include "report/escape.h"
#include "report/formats.h"
#include "report/item.h"

#include <stdlib.h>
#include <string.h>

/* What is open within the document; something else closes it. */
enum block { BLOCK_NONE, BLOCK_FACTS, BLOCK_ITEMS, BLOCK_COPY };

struct html_state {
    size_t documents; /* begun on the page */
    size_t headings;  /* in the document under way */
    unsigned charts;  /* on the page */
    enum block block;
    bool has_column[COLUMNS]; /* of the table that is open */
    struct item item;
    char *verdict; /* owned, shown at the end of the document */
    enum role mood;
};

/* Ends of body and html may be left out of HTML, so a page that is cut between two documents is still one. */
static const char page_begin[] =
    "<!DOCTYPE html>\n"
    "<html lang=\"en\">\n"
    "<head>\n"
    "<meta charset=\"utf-8\">\n"
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
    "<meta name=\"viewport\" content=\"width=device-width\">\n"
    "<style>\n"
    "@page { margin: 15mm }\n"
    "body { max-width: 60rem; margin: 1rem auto; padding: 0 1rem; color: #111; background: #fff; "
    "font: 10pt/1.35 sans-serif; overflow-wrap: anywhere }\n"
    "article + article { margin-top: 2.5rem; border-top: 2px solid #111 }\n"
    "h1 { font-size: 1.5em; break-after: avoid }\n"
    "h2 { font-size: 1.1em; margin: 1.5em 0 .4em; break-after: avoid }\n"
    "a { color: inherit }\n"
    "table { width: 100%; table-layout: fixed; border-collapse: collapse }\n"
    "th, td { padding: .15em .5em; text-align: left; vertical-align: top }\n"
    "table + table { margin-top: .6em }\n"
    "thead { display: table-header-group }\n"
    "thead th { border-bottom: 1px solid #111 }\n"
    "tbody { break-inside: avoid; border-bottom: 1px solid #bbb }\n"
    "tbody th { font-weight: bold }\n"
    ".facts tbody { border: 0 }\n"
    ".facts tr { break-inside: avoid }\n"
    ".facts th { width: 7em; font-weight: normal; color: #444 }\n"
    ".found { width: 26%; text-align: right }\n"
    ".stake { width: 14% }\n"
    ".note { padding-left: 2em; color: #333 }\n"
    "pre { padding: .5em; font-size: 9pt; border: 1px solid #bbb; white-space: pre-wrap; break-inside: avoid }\n"
    /* What is signed comes last, and is written on by hand. */
    ".accept > table:last-of-type :is(th, td), .accept-cover > table:last-of-type :is(th, td) { padding-top: 1.8em }\n"
    ".verdict { margin-top: 1.5em; padding: .5em; border: 2px solid; font-weight: bold; break-inside: avoid }\n"
    "figure { margin: 1em 0; break-inside: avoid }\n"
    "figcaption { font-weight: bold }\n"
    "figure > svg { display: block; width: 100%; height: auto; font-family: sans-serif }\n"
    ".key { margin: .3em 0 0; padding: 0; list-style: none }\n"
    ".key li { display: inline-block; margin: 0 1.5em .1em 0 }\n"
    ".key svg { vertical-align: middle }\n"
    ".good { color: #0a5c1f }\n"
    ".bad { color: #a00 }\n"
    ".open { color: #5c4600 }\n"
    "@media print {\n"
    "body { max-width: none; margin: 0; padding: 0 }\n"
    "article + .setpoints, article + .verify, article + .witness, article + .accept "
    "{ break-before: page; border: 0; margin: 0 }\n"
    "}\n"
    "</style>\n"
    "<title>asleft ";
static const char page_body[] = "</title>\n"
                                "</head>\n"
                                "<body>\n";

static const char *const column_classes[COLUMNS] = {"name", "found", "expected", "stake"};

static struct html_state *state_of(struct sink *sink)
{
    if (sink->state == NULL)
        sink->state = memory_new(1, sizeof(struct html_state));
    return sink->state;
}

static void write_text(FILE *file, const char *text)
{
    char *escaped = escape_markup(text);
    (void)fputs(escaped, file);
    free(escaped);
}

/* A name or value that may be written from right to left, whatever stands around it. */
static void write_isolated(FILE *file, const char *text)
{
    (void)fputs("<bdi>", file);
    write_text(file, text);
    (void)fputs("</bdi>", file);
}

static void write_cell(FILE *file, const struct cell *cell)
{
    char *text = cell_shown(cell);
    write_text(file, text);
    free(text);
}

static const char *mood_class(enum role mood)
{
    return mood == ROLE_BAD ? "bad" : mood == ROLE_GOOD ? "good" : "open";
}

static void leave_block(struct sink *sink)
{
    static const char *const ends[] = {[BLOCK_NONE] = "",
                                       [BLOCK_FACTS] = "</tbody>\n</table>\n",
                                       [BLOCK_ITEMS] = "</table>\n",
                                       [BLOCK_COPY] = "</pre>\n"};
    struct html_state *state = sink->state;
    (void)fputs(ends[state->block], sink->file);
    state->block = BLOCK_NONE;
}

/* Leaves another block, and begins this one with `start` unless it is under way. */
static void enter_block(struct sink *sink, enum block block, const char *start)
{
    struct html_state *state = sink->state;
    if (state->block == block)
        return;
    leave_block(sink);
    (void)fputs(start, sink->file);
    state->block = block;
}

static void begin(struct sink *sink, const char *schema, const char *const *columns)
{
    (void)columns;
    struct html_state *state = state_of(sink);
    char *kind = sink_kind(schema);
    if (state->documents == 0)
        (void)fprintf(sink->file, "%s%s%s", page_begin, kind, page_body);
    state->documents++;
    state->headings = 0;
    (void)fprintf(sink->file, "<article class=\"%s\" id=\"document-%zu\">\n", kind, state->documents);
    free(kind);
}

static void open_group(struct sink *sink, const char *key, enum group_kind kind)
{
    (void)key;
    item_group_opened(&state_of(sink)->item, kind);
}

/* Text indents some labels; a table has no use for that. */
static void write_fact_label(struct sink *sink, const char *label)
{
    enter_block(sink, BLOCK_FACTS, "<table class=\"facts\">\n<tbody>\n");
    (void)fputs("<tr><th scope=\"row\">", sink->file);
    write_text(sink->file, label + strspn(label, " "));
    (void)fputs("</th><td>", sink->file);
}

static void write_fact(struct sink *sink, const char *label, const struct cell *cell)
{
    write_fact_label(sink, label);
    write_cell(sink->file, cell);
    (void)fputs("</td></tr>\n", sink->file);
}

static void link_to(struct sink *sink, const char *label, const char *text, size_t document)
{
    (void)state_of(sink);
    write_fact_label(sink, label);
    (void)fprintf(sink->file, "<a href=\"#document-%zu\">", document);
    write_isolated(sink->file, text);
    (void)fputs("</a></td></tr>\n", sink->file);
}

static void field(struct sink *sink, const char *key, enum role role, const char *label, const struct cell *cell)
{
    (void)key;
    struct html_state *state = state_of(sink);
    switch (role) {
    case ROLE_DATA:
        break;
    case ROLE_TITLE:
        leave_block(sink);
        (void)fputs("<h1><bdi>", sink->file);
        write_cell(sink->file, cell);
        (void)fputs("</bdi></h1>\n", sink->file);
        break;
    case ROLE_FACT:
        write_fact(sink, label, cell);
        break;
    case ROLE_NAME:
    case ROLE_FOUND:
    case ROLE_EXPECTED:
    case ROLE_STAKE:
    case ROLE_NOTE:
        (void)item_take(&state->item, role, label, cell);
        break;
    case ROLE_COPY:
        enter_block(sink, BLOCK_COPY, "<pre>\n"); /* a line break right behind <pre> is none */
        write_cell(sink->file, cell);
        (void)fputc('\n', sink->file);
        break;
    case ROLE_GOOD:
    case ROLE_BAD:
    case ROLE_OPEN:
        free(state->verdict);
        state->verdict = cell_shown(cell);
        state->mood = role;
        break;
    }
}

static void heading(struct sink *sink, enum role mood, const char *text)
{
    struct html_state *state = state_of(sink);
    leave_block(sink);
    (void)fprintf(sink->file, "<h2 class=\"%s\" id=\"document-%zu-%zu\">", mood_class(mood), state->documents,
                  ++state->headings);
    write_text(sink->file, text);
    (void)fputs("</h2>\n", sink->file);
}

/* Begins a table with the columns of the item under way. */
static void write_head(struct sink *sink)
{
    struct html_state *state = sink->state;
    enter_block(sink, BLOCK_ITEMS, "<table>\n<thead>\n<tr>");
    for (enum column column = COLUMN_NAME; column < COLUMNS; column++) {
        state->has_column[column] = state->item.cells[column] != NULL;
        if (!state->has_column[column])
            continue;
        (void)fprintf(sink->file, "<th scope=\"col\" class=\"%s\">", column_classes[column]);
        write_text(sink->file, state->item.labels[column]);
        (void)fputs("</th>", sink->file);
    }
    (void)fputs("</tr>\n</thead>\n", sink->file);
}

static bool fits_table(const struct html_state *state)
{
    for (enum column column = COLUMN_NAME; column < COLUMNS; column++)
        if (state->item.cells[column] != NULL && !state->has_column[column])
            return false;
    return state->block == BLOCK_ITEMS;
}

/* An item is a body of its own, so that a page does not end between it and its notes. */
static void write_item(struct sink *sink)
{
    struct html_state *state = sink->state;
    unsigned columns = 0;
    if (!fits_table(state)) {
        leave_block(sink);
        write_head(sink);
    }
    (void)fputs("<tbody>\n<tr>", sink->file);
    for (enum column column = COLUMN_NAME; column < COLUMNS; column++) {
        if (!state->has_column[column])
            continue;
        const char *element = column == COLUMN_NAME ? "th scope=\"row\"" : "td";
        (void)fprintf(sink->file, "<%s class=\"%s\">", element, column_classes[column]);
        if (state->item.cells[column] != NULL && state->item.cells[column][0] != '\0')
            write_isolated(sink->file, state->item.cells[column]);
        (void)fprintf(sink->file, "</%.2s>", element);
        columns++;
    }
    (void)fputs("</tr>\n", sink->file);
    for (size_t i = 0; i < state->item.notes.count; i++) {
        (void)fprintf(sink->file, "<tr><td class=\"note\" colspan=\"%u\">", columns);
        write_text(sink->file, state->item.notes.items[i]);
        (void)fputs("</td></tr>\n", sink->file);
    }
    (void)fputs("</tbody>\n", sink->file);
    item_clear(&state->item);
}

static void draw_chart(struct sink *sink, const char *key, const struct chart *chart)
{
    (void)key;
    struct html_state *state = state_of(sink);
    leave_block(sink);
    chart_svg(sink->file, chart, ++state->charts);
}

static void close_group(struct sink *sink)
{
    struct html_state *state = state_of(sink);
    if (item_is_whole(&state->item))
        write_item(sink);
    item_group_closed(&state->item);
}

static void end(struct sink *sink)
{
    struct html_state *state = state_of(sink);
    leave_block(sink);
    if (state->verdict != NULL) {
        (void)fprintf(sink->file, "<p class=\"verdict %s\">", mood_class(state->mood));
        write_text(sink->file, state->verdict);
        (void)fputs("</p>\n", sink->file);
    }
    (void)fputs("</article>\n", sink->file);
    free(state->verdict);
    state->verdict = NULL;
}

static void free_state(struct sink *sink)
{
    struct html_state *state = sink->state;
    if (state == NULL)
        return;
    if (state->documents > 0 && sink->file != NULL)
        (void)fputs("</body>\n</html>\n", sink->file);
    item_clear(&state->item);
    free(state->verdict);
    free(state);
}

const struct sink_format sink_html = {.name = "html",
                                      .begin = begin,
                                      .open = open_group,
                                      .field = field,
                                      .heading = heading,
                                      .chart = draw_chart,
                                      .link = link_to,
                                      .close = close_group,
                                      .end = end,
                                      .free = free_state};
