/* SPDX-License-Identifier: MIT */
/* Cells: what travels between the store and its engine. */
#include "store/engine.h"

#include "types/memory.h"

#include <math.h>
#include <string.h>

struct cell cell_of_integer(int64_t integer)
{
    return (struct cell){.kind = CELL_INTEGER, .integer = integer};
}

struct cell cell_of_real(double real)
{
    return isnan(real) ? (struct cell){.kind = CELL_NULL} : (struct cell){.kind = CELL_REAL, .real = real};
}

struct cell cell_of_text(const char *text)
{
    if (text == NULL)
        return (struct cell){.kind = CELL_NULL};
    return (struct cell){.kind = CELL_TEXT, .bytes = text, .length = strlen(text)};
}

struct cell cell_of_blob(const void *bytes, size_t length)
{
    if (bytes == NULL)
        return (struct cell){.kind = CELL_NULL};
    return (struct cell){.kind = CELL_BLOB, .bytes = bytes, .length = length};
}

int64_t cell_to_integer(const struct cell *cell)
{
    return cell->kind == CELL_INTEGER ? cell->integer : 0;
}

double cell_to_real(const struct cell *cell)
{
    return cell->kind == CELL_REAL ? cell->real : (double)NAN;
}

char *cell_to_text(const struct cell *cell)
{
    return cell->kind == CELL_TEXT ? text_copy(cell->bytes) : NULL;
}

char *cell_to_text_or_empty(const struct cell *cell)
{
    return text_copy(cell->kind == CELL_TEXT ? cell->bytes : "");
}

void cell_to_array(const struct cell *cell, char *text, size_t size)
{
    size_t length = cell->kind != CELL_TEXT ? 0 : cell->length < size ? cell->length : size - 1;
    if (length > 0)
        memcpy(text, cell->bytes, length);
    text[length] = '\0';
}
