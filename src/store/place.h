/* SPDX-License-Identifier: MIT */
/* Where a store in a file lies: what is at that path, and making what is not. */
#ifndef ASLEFT_STORE_PLACE_H
#define ASLEFT_STORE_PLACE_H

#include "store/store.h"

enum place {
    PLACE_NOTHING, /* nothing there, or an empty file */
    PLACE_FILE,
};

/* What is there. False, ERROR_STORE, where that cannot be told or it can be no store: a folder, a device. */
bool place_look(const char *path, enum place *place, struct error *error);

/* Makes an empty file (0600) and the folders above it (0700), all of it on the disk. A file that is there stays. */
bool place_make(const char *path, struct error *error);

/* May this user write to the file and make others beside it? ERROR_STORE says why not. `real` is the file itself where
 * `path` is a link. */
bool place_may_write(const char *path, const char *real, struct error *error);

/* The folder that a path is in; owned. */
char *place_folder(const char *path);

#endif
