/* SPDX-License-Identifier: MIT */
/* What the parts of the map reader share. */
#ifndef ASLEFT_FILES_MAP_READER_H
#define ASLEFT_FILES_MAP_READER_H

#include "files/faults.h"
#include "files/fields.h"
#include "files/yaml_tree.h"
#include "types/map.h"

#include <stdbool.h>
#include <stdint.h>

/* A parameter's text, and how far it could be read: checks stay silent about what was complained of already. */
struct parameter_source {
    const struct node *node;
    bool placed; /* `at` and `type` are right */
    bool sound;  /* and so are all its other keys */
};

/* The context of a map's sections. */
struct map_reader {
    struct faults *faults;
    struct map *map;
    const struct node *root;          /* the whole file */
    bool counted;                     /* `count_from` is known */
    enum write_words write_words;     /* what `modbus` says for all parameters */
    struct parameter_source *sources; /* one a parameter; owned */
};

/* map_address.c: "holding 0x0110" and "holding 0x0140-0x014F", as the map counts, to wire addresses. */
field_reader map_field_address;
field_reader map_field_closed;

/* map_modbus.c: in which order the halves of a 32-bit value are written. */
extern const struct word map_write_words[];

bool map_read_modbus(struct map_reader *reader, const struct node *value);

/* map_parameter.c: names and types first, so that the second pass can refer to any parameter. */
void map_read_parameters(struct map_reader *reader, const struct node *value);

/* Tells that the map has no such parameter, with the nearest or else what is expected; false. */
bool map_unknown_parameter(struct faults *faults, const struct map *map, struct place place, const char *what,
                           const char *name, const char *expects);

/* The parameter of that name; false where there is none, which it tells. */
bool map_refer(const struct map_reader *reader, struct place place, const char *what, const char *name,
               size_t *parameter);

/* The same for one whose raw value decides something: a text has none. */
bool map_refer_raw(const struct map_reader *reader, struct place place, const char *what, const char *name,
                   size_t *parameter);

/* map_means.c: a means by its name; false where there is none, which it tells with the nearest. */
bool map_means(struct faults *faults, struct place place, const char *what, const char *name, enum means *means);
field_reader map_field_means;

/* map_raws.c: raw values, and mappings from them. */
void map_raw_limits(const struct map_reader *reader, size_t parameter, int64_t *low, int64_t *high);
uint32_t map_raw_masked(const struct parameter *parameter, int64_t raw);
/* Does a list have that word? */
bool map_names(const struct named_raws *list, const char *text);

/* Is it a word of the parameter's choices or specials; the nearest of them, or NULL. */
bool map_has_word(const struct parameter *parameter, const char *text);
const char *map_word_near(const struct parameter *parameter, const char *text);
field_reader map_field_choices;
field_reader map_field_bits;
field_reader map_field_special;
field_reader map_field_no_value;
field_reader map_field_conditions;

/* map_selector.c: rows that another parameter's raw value selects. `row` reads one row's value; `user` is its own. */
typedef bool map_row_reader(const struct map_reader *reader, const char *what, const struct node *value, uint32_t raw,
                            void *user);
bool map_read_rows(const struct map_reader *reader, const struct node *value, const char *what, const char *by,
                   size_t *parameter, map_row_reader *row, void *user);
field_reader map_field_unit_by;
field_reader map_field_scale_by;
field_reader map_field_ramp_span;
field_reader map_field_set_in_force;

/* map_bounds.c */
/* Is the value within the fixed ends of what the parameter accepts? Ends that are a means' are not looked at. */
bool map_accepts(const struct parameter *parameter, const struct quantity *value);
field_reader map_field_accepts;
field_reader map_field_default;

/* The dimension of a parameter's numbers: of its unit, or of the first unit that a selector chooses. */
enum dimension map_dimension(const struct parameter *parameter);

/* A unit by its name; false where there is none, which it tells. */
bool map_unit(struct faults *faults, const struct node *value, const char *what, enum unit *unit);

/* map_check.c and its parts: what no single key shows. */
void map_check(const struct map_reader *reader);
void map_check_addresses(const struct map_reader *reader);
void map_check_units(const struct map_reader *reader);
void map_check_circles(const struct map_reader *reader);

/* Where a key of a parameter stands. */
struct place map_place(const struct map_reader *reader, size_t parameter, const char *key);

/* Does a unit suit a means (files/ alone knows: sheets ask too)? `is_percent`: a percentage of something is fine. */
bool map_unit_suits(enum means means, enum unit unit, bool is_percent);

#endif
