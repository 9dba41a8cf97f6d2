/* SPDX-License-Identifier: MIT */
/* From libyaml's events to a tree, refusing on the way what YAML offers and nobody here needs. */
#include "files/yaml_tree.h"

#include "files/yaml_words.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>
#include <yaml.h>

struct builder {
    yaml_parser_t parser;
    struct faults *faults;
    size_t nodes;
    bool stopped; /* the rest of the file cannot be read */
};

void node_free(struct node *node)
{
    if (node == NULL)
        return;
    for (struct node *item = node->first; item != NULL;) {
        struct node *next = item->next;
        node_free(item);
        item = next;
    }
    free(node->text);
    free(node->key);
    free(node);
}

const struct node *node_get(const struct node *mapping, const char *key)
{
    for (const struct node *value = mapping->first; value != NULL; value = value->next)
        if (value->key != NULL && strcmp(value->key, key) == 0)
            return value;
    return NULL;
}

static void stop(struct builder *builder, struct place place, const char *why)
{
    if (!builder->stopped)
        faults_error(builder->faults, place, "%s", why);
    builder->stopped = true;
}

/* The next event, which the caller deletes; false where there is none. */
static bool next_event(struct builder *builder, yaml_event_t *event)
{
    if (builder->stopped)
        return false;
    if (yaml_parser_parse(&builder->parser, event) != 0)
        return true;
    builder->stopped = true;
    yaml_words(&builder->parser, builder->faults);
    return false;
}

static void refuse_anchor_and_tag(struct builder *builder, struct place place, const yaml_char_t *anchor,
                                  const yaml_char_t *tag)
{
    if (anchor != NULL)
        faults_error(builder->faults, place, "anchors (&) are not used here; write the value out where it is needed");
    if (tag != NULL)
        faults_error(builder->faults, place, "tags (!) are not used here; put the value in quotes if it begins with !");
}

static void fill_scalar(struct builder *builder, struct node *node, const yaml_event_t *event)
{
    const char *text = (const char *)event->data.scalar.value;
    size_t length = event->data.scalar.length;
    refuse_anchor_and_tag(builder, node->place, event->data.scalar.anchor, event->data.scalar.tag);
    if (length > YAML_LONGEST_SCALAR) {
        faults_error(builder->faults, node->place, "text of %zu bytes; expected at most %d", length,
                     YAML_LONGEST_SCALAR);
        node->kind = NODE_BROKEN;
        return;
    }
    for (size_t i = 0; i < length; i++) {
        unsigned char byte = (unsigned char)text[i];
        if ((byte < 0x20 && byte != '\n') || byte == 0x7f) {
            faults_error(builder->faults, node->place, "control character in a value; expected text");
            node->kind = NODE_BROKEN;
            return;
        }
    }
    node->kind = NODE_SCALAR;
    node->text = text_copy(text);
    node->plain = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
}

static void append(struct node *parent, struct node *child)
{
    if (parent->last == NULL)
        parent->first = child;
    else
        parent->last->next = child;
    parent->last = child;
    parent->count++;
}

static struct node *read_node(struct builder *builder, const yaml_event_t *event, unsigned depth);

static void fill_list(struct builder *builder, struct node *node, unsigned depth)
{
    yaml_event_t event;
    while (next_event(builder, &event)) {
        bool ends = event.type == YAML_SEQUENCE_END_EVENT;
        if (!ends)
            append(node, read_node(builder, &event, depth));
        yaml_event_delete(&event);
        if (ends)
            return;
    }
}

/* Makes `value` the value of `key`, or drops both where the key is none. Takes both over. */
static void append_value(struct builder *builder, struct node *mapping, struct node *key, struct node *value)
{
    if (key->kind == NODE_LIST || key->kind == NODE_MAPPING)
        faults_error(builder->faults, key->place, "a list or mapping cannot be a key; expected 'key: value'");
    else if (key->kind == NODE_SCALAR && strcmp(key->text, "<<") == 0)
        faults_error(builder->faults, key->place, "merge keys (<<) are not used here; write the keys out");
    else if (key->kind == NODE_SCALAR && *key->text == '\0')
        faults_error(builder->faults, key->place, "a key is missing before ':'; expected 'key: value'");
    else if (key->kind == NODE_SCALAR) {
        value->key = key->text;
        value->key_place = key->place;
        key->text = NULL;
        append(mapping, value);
        value = NULL;
    }
    node_free(key);
    node_free(value);
}

static int by_key(const void *left_item, const void *right_item)
{
    const struct node *left = *(struct node *const *)left_item;
    const struct node *right = *(struct node *const *)right_item;
    int order = strcmp(left->key, right->key);
    if (order != 0)
        return order;
    if (left->key_place.line != right->key_place.line)
        return left->key_place.line < right->key_place.line ? -1 : 1;
    return left->key_place.column < right->key_place.column ? -1 : 1;
}

/* Sorting keeps a hostile file of very many keys from costing its square. */
static void refuse_duplicates(struct builder *builder, struct node *mapping)
{
    if (mapping->count < 2)
        return;
    struct node **values = memory_new(mapping->count, sizeof(struct node *));
    size_t count = 0;
    for (struct node *value = mapping->first; value != NULL; value = value->next)
        values[count++] = value;
    qsort(values, count, sizeof(struct node *), by_key);
    const struct node *first = values[0];
    for (size_t i = 1; i < count; i++) {
        if (strcmp(values[i]->key, first->key) != 0) {
            first = values[i];
            continue;
        }
        faults_error(builder->faults, values[i]->key_place,
                     "duplicate key \"%s\"; it stands at line %d, column %d already", excerpt(first->key).text,
                     first->key_place.line, first->key_place.column);
        values[i]->kind = NODE_BROKEN;
    }
    free(values);
}

static void fill_mapping(struct builder *builder, struct node *node, unsigned depth)
{
    struct node *key = NULL;
    yaml_event_t event;
    while (next_event(builder, &event)) {
        bool ends = event.type == YAML_MAPPING_END_EVENT;
        if (!ends) {
            struct node *part = read_node(builder, &event, depth);
            if (key == NULL) {
                key = part;
            } else {
                append_value(builder, node, key, part);
                key = NULL;
            }
        }
        yaml_event_delete(&event);
        if (ends)
            break;
    }
    node_free(key);
    refuse_duplicates(builder, node);
}

/* The node that `event` begins, with all below it. `depth` counts the collections around it. */
static struct node *read_node(struct builder *builder, const yaml_event_t *event, unsigned depth)
{
    struct node *node = memory_new(1, sizeof *node);
    node->place = yaml_place(&event->start_mark);
    node->kind = NODE_BROKEN;
    if (++builder->nodes > YAML_MOST_NODES) {
        stop(builder, node->place, "more than 250000 keys and values in one file; expected a file that a person wrote");
        return node;
    }
    bool is_list = event->type == YAML_SEQUENCE_START_EVENT;
    bool is_mapping = event->type == YAML_MAPPING_START_EVENT;
    if ((is_list || is_mapping) && depth >= YAML_DEEPEST) {
        stop(builder, node->place, "nested deeper than 32 levels; expected a few");
    } else if (is_list) {
        node->kind = NODE_LIST;
        refuse_anchor_and_tag(builder, node->place, event->data.sequence_start.anchor, event->data.sequence_start.tag);
        fill_list(builder, node, depth + 1);
    } else if (is_mapping) {
        node->kind = NODE_MAPPING;
        refuse_anchor_and_tag(builder, node->place, event->data.mapping_start.anchor, event->data.mapping_start.tag);
        fill_mapping(builder, node, depth + 1);
    } else if (event->type == YAML_ALIAS_EVENT) {
        faults_error(builder->faults, node->place, "aliases (*) are not used here; write the value out");
    } else {
        fill_scalar(builder, node, event);
    }
    return node;
}

static struct node *read_document(struct builder *builder)
{
    struct node *root = NULL;
    yaml_event_t event;
    bool ends = false;
    while (!ends && next_event(builder, &event)) {
        ends = event.type == YAML_STREAM_END_EVENT;
        bool is_document = event.type == YAML_DOCUMENT_START_EVENT;
        if (is_document && root != NULL)
            stop(builder, yaml_place(&event.start_mark), "a second document begins here; expected one document a file");
        else if (!ends && !is_document && event.type != YAML_STREAM_START_EVENT &&
                 event.type != YAML_DOCUMENT_END_EVENT)
            root = read_node(builder, &event, 0);
        yaml_event_delete(&event);
    }
    return root;
}

struct node *yaml_tree(const struct text_file *file, struct faults *faults)
{
    struct builder builder = {.faults = faults};
    if (yaml_parser_initialize(&builder.parser) == 0) {
        faults_error(faults, (struct place){0, 0}, "cannot be read: out of memory");
        return NULL;
    }
    size_t mark = file->length >= 3 && memcmp(file->text, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    yaml_parser_set_encoding(&builder.parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&builder.parser, (const unsigned char *)file->text + mark, file->length - mark);
    struct node *root = read_document(&builder);
    yaml_parser_delete(&builder.parser);
    if (builder.stopped) {
        node_free(root);
        return NULL;
    }
    bool empty = root == NULL || (root->kind == NODE_SCALAR && *root->text == '\0');
    if (empty) {
        faults_error(faults, (struct place){1, 1},
                     "the file holds nothing; expected a map, a sheet, a plant or a record");
        node_free(root);
        return NULL;
    }
    return root;
}
