/* SPDX-License-Identifier: MIT */
/* What the formats of verdicts gather of a document and of its row under way, before they can write anything. */
#ifndef ASLEFT_REPORT_GATHERED_H
#define ASLEFT_REPORT_GATHERED_H

#include "report/item.h"
#include "report/path.h"

struct fact {
    char *path;    /* dotted; owned */
    char *text;    /* harmless for a terminal; owned */
    double number; /* NAN where it is none */
};

struct facts {
    struct fact *items;
    size_t count;
};

/* Zero it to start. */
struct gathered {
    struct path path; /* rows are those of GROUP_ROWS and GROUP_SIDE_ROWS */
    struct item item; /* what persons see of the row */
    struct facts document, row;
    char *last_line; /* the document's verdict for persons, or NULL; owned */
};

/* The events. Before the group closes that is a row (path_at_row), the row is to be used and forgotten. */
void gathered_open(struct gathered *gathered, const char *key, enum group_kind kind);
void gathered_field(struct gathered *gathered, const char *key, enum role role, const char *label,
                    const struct cell *cell);
void gathered_close(struct gathered *gathered);

/* The fact of that path, or NULL where there is none or it is null. */
const struct fact *facts_find(const struct facts *facts, const char *path);

/* Its text, or `otherwise`. */
const char *facts_text(const struct facts *facts, const char *path, const char *otherwise);

/* Its number, NAN where there is none. */
double facts_number(const struct facts *facts, const char *path);

/* A moment such as "began" in seconds since 1970; NAN where there is none. */
double facts_moment_s(const struct facts *facts, const char *path);

/* From "began" to "ended" in seconds, to the millisecond; NAN where either is missing. */
double facts_took_s(const struct facts *facts);

/* What names the row: its parameter, its name, or its means. "" where none does. */
const char *gathered_row_name(const struct gathered *gathered);

void gathered_forget_row(struct gathered *gathered);

/* Frees all that was gathered. */
void gathered_free(struct gathered *gathered);

#endif
