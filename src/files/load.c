/* SPDX-License-Identifier: MIT */
/* Opening of a YAML file, and telling which kind it is. */
#include "files/load.h"

#include "types/memory.h"

#include <string.h>

bool loaded_parse(struct loaded *loaded, struct faults *faults)
{
    if (loaded->file.length == 0)
        faults_error(faults, (struct place){1, 1}, "the file is empty; expected a map, a sheet, a plant or a record");
    else if (text_file_check(&loaded->file, faults))
        loaded->root = yaml_tree(&loaded->file, faults);
    return loaded->root != NULL;
}

bool loaded_open(const char *path, struct loaded *loaded, struct faults *faults)
{
    struct error error;
    *loaded = (struct loaded){0};
    if (text_file_read(path, &loaded->file, &error))
        return loaded_parse(loaded, faults);
    faults_error(faults, (struct place){0, 0}, "%s", error.text);
    return false;
}

void loaded_free(struct loaded *loaded)
{
    node_free(loaded->root);
    text_file_free(&loaded->file);
    *loaded = (struct loaded){0};
}

char *path_beside(const char *file, const char *path)
{
    const char *slash = strrchr(file, '/');
    if (*path == '/' || slash == NULL)
        return text_copy(path);
    return text_format("%.*s%s", (int)(slash - file) + 1, file, path);
}

static const struct word kind_keys[] = {
    {"map", FILE_MAP}, {"tag", FILE_SHEET}, {"plant", FILE_PLANT}, {"record", FILE_RECORD}, {NULL, 0}};

static enum file_kind kind_of(const struct node *root)
{
    unsigned kind = FILE_UNKNOWN;
    for (const struct node *value = root->first; value != NULL; value = value->next)
        if (value->key != NULL && word_find(kind_keys, value->key, &kind))
            break;
    return (enum file_kind)kind;
}

enum file_kind file_kind(const char *path, struct problems *problems)
{
    struct faults faults = {.path = path};
    struct loaded loaded = {0};
    enum file_kind kind = FILE_UNKNOWN;
    if (loaded_open(path, &loaded, &faults)) {
        kind = kind_of(loaded.root);
        /* What else is wrong is told by the reader of that kind. */
        faults_free(&faults);
        if (kind == FILE_UNKNOWN)
            faults_error(
                &faults, loaded.root->place,
                "no key tells what this file is; expected map, tag (of a sheet), plant or record at the top level");
    }
    loaded_free(&loaded);
    (void)faults_hand_out(&faults, problems);
    return kind;
}
