/* SPDX-License-Identifier: MIT */
/* Reading of a mapping by a table of its keys: unknown keys, missing keys and values of the wrong kind are told to the
 * file's faults, each value goes to its place in a struct. */
#ifndef ASLEFT_FILES_FIELDS_H
#define ASLEFT_FILES_FIELDS_H

#include "files/faults.h"
#include "files/yaml_tree.h"
#include "types/quantity.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A word of the file and the enumerator it stands for. A table of them ends with a NULL word. */
struct word {
    const char *word;
    unsigned value;
};

struct section;
struct field;

/* Puts `value`, which is neither broken nor empty, where the field belongs; false where it told a fault instead. */
typedef bool field_reader(const struct section *section, const struct field *field, const struct node *value);

/* A key. Offsets are those of the section's target; what is there before is the default. */
struct field {
    const char *key;
    field_reader *read;
    size_t offset;
    bool required;
    unsigned phase;      /* 0 unless a table is read in several passes */
    const char *expects; /* "a mapping of raw values to words": needed where the reader is none of those below */
    enum dimension dimension;
    bool may_be_zero;         /* quantities: 0 and */
    bool may_be_negative;     /* less than 0 make sense */
    const struct word *words; /* field_word */
    unsigned low, high;       /* field_count */
};

/* A mapping that is being read. */
struct section {
    struct faults *faults;
    const struct node *node;
    const char *what; /* "modbus", "parameter motor_current": for messages */
    const struct field *fields;
    size_t count;
    void *target;
    void *context; /* for readers of one file kind */
};

/* Tells faults unknown and missing keys; false where the node is no mapping at all. */
bool section_check(const struct section *section);

/* Reads the fields of one phase, in the order of the table. Returns whether all went well. */
bool section_read(const struct section *section, unsigned phase);

/* section_check, then section_read of phase 0. */
bool section_load(const struct section *section);

/* Where a key's value stands, or where the section does if the key is not there. */
struct place section_place(const struct node *mapping, const char *key);

/* Where a value's key stands, or the value itself where it has none. */
struct place node_key_place(const struct node *node);

/* What a value is, for "KEY is ...; expected ...". */
const char *node_describe(const struct node *value);

/* What a field's target is. */
void *field_target(const struct section *section, const struct field *field);

/* Is the value of that kind (and, for field_holds_some, not empty)? If not, tells what field->expects instead. */
bool field_holds(const struct section *section, const struct field *field, const struct node *value,
                 enum node_kind kind);
bool field_holds_some(const struct section *section, const struct field *field, const struct node *value,
                      enum node_kind kind);

/* Readers, with the type that they fill. */
field_reader field_text;     /* char *: one line that is not empty */
field_reader field_lines;    /* char *: text that may have several lines */
field_reader field_number;   /* double */
field_reader field_quantity; /* struct quantity of field->dimension */
field_reader field_seconds;  /* double: a time, in s */
field_reader field_count;    /* unsigned from low to high; decimal or 0x hex */
field_reader field_word;     /* an enumeration without negative values, by field->words */
field_reader field_flag;     /* bool: yes, no, true, false */
field_reader field_answer;   /* enum answer: the same words */

/* The same on single values, for readers of their own; each tells the fault and returns false, or NULL. */
const char *scalar_text(struct faults *faults, const struct node *value, const char *what, const char *expects);
bool scalar_quantity(struct faults *faults, const struct node *value, const char *what, enum dimension dimension,
                     struct quantity *quantity);
bool scalar_number(struct faults *faults, const struct node *value, const char *what, double *number);
bool scalar_raw(struct faults *faults, const struct node *value, const char *what, int64_t low, int64_t high,
                int64_t *raw);
bool scalar_word(struct faults *faults, const struct node *value, const char *what, const struct word *words,
                 unsigned *found);
bool scalar_flag(struct faults *faults, const struct node *value, const char *what, bool *flag);

/* Finds a word in a table; false where it is not there. */
bool word_find(const struct word *words, const char *text, unsigned *value);

/* A whole number, decimal without leading zero or 0x hex, with an optional minus. False where it is none. */
bool raw_parse(const char *text, int64_t *raw);

/* Owned: "a", "a or b", "a, b or c". */
char *words_listed(const struct word *words);

#endif
