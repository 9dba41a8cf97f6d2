/* SPDX-License-Identifier: MIT */
/* Maps, sheets and plants: YAML text to structs, with every error of a file in one run, each with its position. */
#ifndef ASLEFT_FILES_FILES_H
#define ASLEFT_FILES_FILES_H

#include "types/map.h"
#include "types/memory.h"
#include "types/sheet.h"

#include <stdbool.h>

/* What is wrong with files, one owned line each, "file:line:column: what is wrong; what was expected". `errors` make
 * the file unusable, `warnings` do not. Zero it to start; free both with problems_free. */
struct problems {
    struct texts errors;
    struct texts warnings;
};

void problems_free(struct problems *problems);

/* Each reads one file. On failure (false) `problems` says why, and the struct is empty. The caller frees the struct. */
bool map_load(const char *path, struct map *map, struct problems *problems);

/* Reads a sheet and checks it against its map, which is loaded too (its own problems are listed as well) and handed out
 * in `map`. Settings and allowances are resolved against the map. */
bool sheet_load(const char *path, struct sheet *sheet, struct map *map, struct problems *problems);

/* Reads a plant; patterns of sheets are expanded and sorted, and a pattern without a match is an error.
 * The sheets themselves are not read. */
bool plant_load(const char *path, struct plant *plant, struct problems *problems);

enum file_kind { FILE_UNKNOWN, FILE_MAP, FILE_SHEET, FILE_PLANT, FILE_RECORD };

/* Which kind of file it is, by its first top-level key that tells (`map`, `tag`, `plant`, `record`). FILE_UNKNOWN with
 * a problem where none tells or it cannot be read. */
enum file_kind file_kind(const char *path, struct problems *problems);

#endif
