/* SPDX-License-Identifier: MIT */
/* The plant: lines, and the sheets of the drives on each. */
#include "files/load.h"
#include "types/memory.h"

#include <glob.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Where a sheet was named first. */
struct named_sheet {
    char *real; /* its path without links and detours; owned */
    const char *line_name;
    struct place place;
};

/* The context of a plant's sections. */
struct plant_reader {
    struct faults *faults;
    struct plant *plant;
    struct named_sheet *named; /* owned */
    size_t named_count;
};

/* Refuses a sheet that stands in the plant already; remembers it otherwise. */
static bool remember(struct plant_reader *reader, const struct node *value, const char *path, const char *line_name)
{
    char *real = realpath(path, NULL);
    if (real == NULL)
        real = text_copy(path);
    for (size_t i = 0; i < reader->named_count; i++) {
        const struct named_sheet *other = &reader->named[i];
        if (strcmp(other->real, real) != 0)
            continue;
        bool same_line = other->line_name != NULL && line_name != NULL && strcmp(other->line_name, line_name) == 0;
        faults_error(reader->faults, value->place,
                     "drives: %s stands at line %d, column %d already%s; expected it once", path, other->place.line,
                     other->place.column, same_line ? "" : ", on another line");
        free(real);
        return false;
    }
    reader->named = memory_grow(reader->named, reader->named_count, sizeof *reader->named);
    reader->named[reader->named_count++] = (struct named_sheet){real, line_name, value->place};
    return true;
}

static void add_sheet(struct plant_reader *reader, struct plant_line *line, const struct node *value, const char *path)
{
    if (!remember(reader, value, path, line->name))
        return;
    line->sheets = memory_grow(line->sheets, line->sheet_count, sizeof *line->sheets);
    line->sheets[line->sheet_count++] = text_copy(path);
}

static int by_text(const void *left, const void *right)
{
    return strcmp(*(char *const *)left, *(char *const *)right);
}

/* One path, or one pattern and all that it fits, in the order of their bytes. */
static bool read_pattern(struct plant_reader *reader, struct plant_line *line, const struct node *value)
{
    const char *text = scalar_text(reader->faults, value, "drives", "a sheet's path, or a pattern");
    if (text == NULL)
        return false;
    char *path = path_beside(reader->plant->path, text);
    bool is_pattern = strpbrk(text, "*?[") != NULL && access(path, F_OK) != 0;
    glob_t found = {0};
    if (!is_pattern && access(path, F_OK) == 0) {
        add_sheet(reader, line, value, path);
    } else if (is_pattern && glob(path, GLOB_NOSORT, NULL, &found) == 0) {
        qsort(found.gl_pathv, found.gl_pathc, sizeof *found.gl_pathv, by_text);
        for (size_t i = 0; i < found.gl_pathc; i++)
            add_sheet(reader, line, value, found.gl_pathv[i]);
    } else {
        faults_error(reader->faults, value->place, "drives: no file %s %s; expected a sheet",
                     is_pattern ? "fits" : "is", path);
    }
    globfree(&found);
    free(path);
    return true;
}

static bool read_drives(const struct section *section, const struct field *field, const struct node *value)
{
    if (!field_holds_some(section, field, value, NODE_LIST))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next)
        fine = read_pattern(section->context, section->target, item) && fine;
    return fine;
}

#define AT(member) offsetof(struct plant_line, member)

static const struct field line_fields[] = {
    {.key = "name", .read = field_text, .offset = AT(name), .required = true, .expects = "the line's name"},
    {.key = "serial", .read = field_text, .offset = AT(line.serial), .expects = "a port such as /dev/ttyUSB0"},
    {.key = "host", .read = field_text, .offset = AT(line.host), .expects = "a host's name or address"},
    {.key = "port", .read = field_count, .offset = AT(line.port), .low = 1, .high = 65535},
    {.key = "baud", .read = line_field_baud, .offset = AT(line.baud), .expects = "a speed such as 19200"},
    {.key = "parity", .read = field_word, .offset = AT(line.parity), .words = line_parity_words},
    {.key = "stop_bits", .read = field_count, .offset = AT(line.stop_bits), .low = 1, .high = 2},
    {.key = "rs485", .read = field_word, .offset = AT(line.rs485), .words = line_rs485_words},
    {.key = "alone", .read = field_flag, .offset = AT(line.alone)},
    {.key = "drives", .read = read_drives, .required = true, .expects = "a list of sheets, such as [sheets/P-*.yaml]"},
};

static void read_line(struct plant_reader *reader, const struct node *item)
{
    struct plant *plant = reader->plant;
    plant->lines = memory_grow(plant->lines, plant->count, sizeof *plant->lines);
    struct plant_line *line = &plant->lines[plant->count++];
    line_defaults(&line->line);
    const struct section section = {.faults = reader->faults,
                                    .node = item,
                                    .what = "a line",
                                    .fields = line_fields,
                                    .count = sizeof line_fields / sizeof *line_fields,
                                    .target = line,
                                    .context = reader};
    (void)section_load(&section);
    if (item->kind != NODE_MAPPING)
        return;
    line_check(reader->faults, item, &line->line, false);
    for (size_t i = 0; i + 1 < plant->count && line->name != NULL; i++)
        if (plant->lines[i].name != NULL && strcmp(plant->lines[i].name, line->name) == 0)
            faults_error(reader->faults, section_place(item, "name"),
                         "name: \"%s\" is a line's name already; expected another one", excerpt(line->name).text);
}

static bool read_lines(const struct section *section, const struct field *field, const struct node *value)
{
    if (!field_holds_some(section, field, value, NODE_LIST))
        return false;
    for (const struct node *item = value->first; item != NULL; item = item->next)
        read_line(section->context, item);
    return true;
}

static const struct field plant_fields[] = {
    {.key = "plant",
     .read = field_text,
     .offset = offsetof(struct plant, name),
     .required = true,
     .expects = "the plant's name"},
    {.key = "lines",
     .read = read_lines,
     .required = true,
     .expects = "a list such as [{name: MCC-1, serial: /dev/ttyUSB0, drives: [sheets/P-204.yaml]}]"},
};

bool plant_load(const char *path, struct plant *plant, struct problems *problems)
{
    struct faults faults = {.path = path};
    struct loaded loaded = {0};
    struct plant_reader reader = {.faults = &faults, .plant = plant};
    *plant = (struct plant){.path = text_copy(path)};
    if (loaded_open(path, &loaded, &faults)) {
        const struct section section = {.faults = &faults,
                                        .node = loaded.root,
                                        .what = "the plant",
                                        .fields = plant_fields,
                                        .count = sizeof plant_fields / sizeof *plant_fields,
                                        .target = plant,
                                        .context = &reader};
        (void)section_load(&section);
    }
    for (size_t i = 0; i < reader.named_count; i++)
        free(reader.named[i].real);
    free(reader.named);
    loaded_free(&loaded);
    if (faults_hand_out(&faults, problems))
        return true;
    plant_free(plant);
    return false;
}
