/* SPDX-License-Identifier: MIT */
/* Strict YAML: a file's text as a tree of nodes that know where they stand. */
#ifndef ASLEFT_FILES_YAML_TREE_H
#define ASLEFT_FILES_YAML_TREE_H

#include "files/faults.h"
#include "files/text_file.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    YAML_DEEPEST = 32,          /* levels of lists and mappings */
    YAML_LONGEST_SCALAR = 4096, /* bytes */
    YAML_MOST_NODES = 250000,   /* keys count too; 4 MiB of a person's text holds fewer */
};

enum node_kind {
    NODE_SCALAR,
    NODE_LIST,
    NODE_MAPPING,
    NODE_BROKEN, /* already complained about (an alias, a duplicate): readers pass over it in silence */
};

/* A list's items and a mapping's values are a chain from `first` over `next`. */
struct node {
    enum node_kind kind;
    struct place place;
    char *text; /* of a scalar; never interpreted. Owned */
    bool plain; /* a scalar without quotes */
    char *key;  /* of a mapping's value; owned, else NULL */
    struct place key_place;
    struct node *first, *last, *next;
    size_t count; /* of items or values */
};

/* The tree of the only document in a checked text (text_file_check), or NULL where it cannot be read to its end or
 * holds nothing; `faults` says why. Anchors, aliases, tags, merge keys, duplicate keys, keys that are no plain words
 * and a second document are told to `faults` and left out of the tree. Free it with node_free. */
struct node *yaml_tree(const struct text_file *file, struct faults *faults);

void node_free(struct node *node); /* NULL is fine */

/* The value of a mapping's key, or NULL. */
const struct node *node_get(const struct node *mapping, const char *key);

#endif
