/* SPDX-License-Identifier: MIT */
/* The table of symptoms as the manual's chapter shows it. */
#ifndef ASLEFT_TESTS_VERDICT_ADVICE_PAGE_H
#define ASLEFT_TESTS_VERDICT_ADVICE_PAGE_H

#include "types/memory.h"
#include "verdict/advice.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static inline void page_symptoms(FILE *page, const struct advice_row *row)
{
    char first[32], last[32];
    if (row->symptom == SYMPTOM_NONE) {
        (void)fputs("The line does not open", page);
    } else if (row->symptom == SYMPTOM_EXCEPTION && row->exception_last == 0xff) {
        (void)fputs("`exception-XX`, all others", page);
    } else {
        (void)symptom_word((struct symptom){row->symptom, row->exception_first}, first, sizeof first);
        (void)symptom_word((struct symptom){row->symptom, row->exception_last}, last, sizeof last);
        (void)fprintf(page, strcmp(first, last) == 0 ? "`%s`" : "`%s`, `%s`", first, last);
    }
    if (row->lines != ADVICE_BOTH)
        (void)fputs(row->lines == ADVICE_SERIAL ? ", serial line" : ", TCP", page);
}

/* A cell of a table: what Markdown would take for its own is escaped. */
static inline void page_cell(FILE *page, const char *text)
{
    for (; *text != '\0'; text++) {
        if (strchr("|*", *text) != NULL)
            (void)fputc('\\', page);
        (void)fputc(*text, page);
    }
    (void)fputs(" |", page);
}

static inline void page_row(FILE *page, const struct advice_row *row)
{
    (void)fprintf(page, "\n### %c%s\n\n", toupper((unsigned char)row->observation[0]), row->observation + 1);
    page_symptoms(page, row);
    (void)fputs("\n\n| | likely cause | what tells it |\n| --- | --- | --- |\n", page);
    for (unsigned i = 0; i < ADVICE_STEPS && row->steps[i].cause != NULL; i++) {
        (void)fprintf(page, "| %u | ", i + 1);
        page_cell(page, row->steps[i].cause);
        (void)fputc(' ', page);
        page_cell(page, row->steps[i].check);
        (void)fputc('\n', page);
    }
    if (row->caution != NULL)
        (void)fprintf(page, "\nCaution: %s.\n", row->caution);
}

/* All rows as Markdown; the caller frees it. */
static inline char *page_write(void)
{
    char *text = NULL;
    size_t size = 0;
    FILE *page = open_memstream(&text, &size);
    const struct advice_row *row = NULL;
    for (size_t i = 0; (row = advice_row_at(i)) != NULL; i++)
        page_row(page, row);
    (void)fputc('\n', page);
    (void)fclose(page);
    return text;
}

#endif
