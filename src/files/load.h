/* SPDX-License-Identifier: MIT */
/* A YAML file that has been opened, and what is read from one. */
#ifndef ASLEFT_FILES_LOAD_H
#define ASLEFT_FILES_LOAD_H

#include "files/faults.h"
#include "files/fields.h"
#include "files/text_file.h"
#include "files/yaml_tree.h"
#include "types/map.h"
#include "types/sheet.h"

#include <stdbool.h>

struct loaded {
    struct text_file file;
    struct node *root;
};

/* Reads, checks and parses a file; false where nothing can be read from it, which `faults` tells. */
bool loaded_open(const char *path, struct loaded *loaded, struct faults *faults);

/* The same for a file that has been read already: checks and parses it. */
bool loaded_parse(struct loaded *loaded, struct faults *faults);
void loaded_free(struct loaded *loaded);

/* map.c: fills the map as far as it can be; the caller frees it whatever `faults` tells. */
void map_read(const struct loaded *loaded, struct map *map, struct faults *faults);

/* A path that stands in a file, seen from that file's folder. Owned. */
char *path_beside(const char *file, const char *path);

/* sheet_line.c: a line with its defaults, and its keys. `has_unit`: a sheet's; without: a plant's, which also has a
 * name and drives, read by the caller. */
void line_defaults(struct line *line);
void line_check(struct faults *faults, const struct node *node, struct line *line, bool has_unit);
field_reader line_field_baud;
extern const struct word line_parity_words[];
extern const struct word line_rs485_words[];

#endif
