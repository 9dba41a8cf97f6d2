/* SPDX-License-Identifier: MIT */
/* Where a store in a file lies: what is at that path, and making what is not. */
#include "store/place.h"

#include "types/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

char *store_default(struct error *error)
{
    const char *state = getenv("XDG_STATE_HOME");
    if (state != NULL && state[0] == '/') /* the XDG base directory specification: relative paths count as not set */
        return text_format("%s/asleft/records.sqlite", state);
    const char *home = getenv("HOME");
    if (home != NULL && home[0] == '/')
        return text_format("%s/.local/state/asleft/records.sqlite", home);
    if (geteuid() == 0)
        return text_copy("/var/lib/asleft/records.sqlite");
    (void)error_set(error, ERROR_STORE,
                    "no place for the store of records: neither XDG_STATE_HOME nor HOME is set; set XDG_STATE_HOME to "
                    "a folder, or name the store with --store");
    return NULL;
}

char *place_folder(const char *path)
{
    const char *last = strrchr(path, '/');
    if (last == NULL)
        return text_copy(".");
    if (last == path)
        return text_copy("/");
    return text_format("%.*s", (int)(last - path), path);
}

bool place_look(const char *path, enum place *place, struct error *error)
{
    struct stat found;
    *place = PLACE_NOTHING;
    if (path[0] == '\0')
        return error_set(error, ERROR_STORE, "the path of the store is empty; name a file");
    if (stat(path, &found) != 0) {
        if (errno == ENOENT)
            return true;
        if (errno == EACCES)
            return error_set(error, ERROR_STORE,
                             "%s: no permission to look into its folder; call as a user who may, or name another store "
                             "with --store",
                             path);
        return error_set(error, ERROR_STORE, "%s: %s; name another store with --store", path, strerror(errno));
    }
    if (S_ISDIR(found.st_mode))
        return error_set(error, ERROR_STORE, "%s is a folder; name a file in it", path);
    if (!S_ISREG(found.st_mode))
        return error_set(error, ERROR_STORE, "%s is no file; name another one with --store", path);
    if (found.st_size > 0)
        *place = PLACE_FILE;
    return true;
}

/* A name is on the disk only when its folder is. */
static bool sync_folder(const char *folder)
{
    int descriptor = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0)
        return false;
    /* Some file systems cannot sync a folder and say so; there is nothing better to do there. */
    bool synced = fsync(descriptor) == 0 || errno == EINVAL;
    int reason = errno;
    (void)close(descriptor);
    errno = reason;
    return synced;
}

/* What to do about a failed open or mkdir. */
static const char *advice_for(int reason)
{
    if (reason == EACCES || reason == EPERM)
        return "call as a user who may, or name another store with --store";
    if (reason == ENOSPC || reason == EDQUOT)
        return "make room, or name another store with --store";
    return "name another store with --store";
}

static bool make_folder(const char *folder, struct error *error)
{
    struct stat found;
    if (stat(folder, &found) == 0 && S_ISDIR(found.st_mode))
        return true;
    if (mkdir(folder, 0700) != 0) {
        if (errno == EEXIST && stat(folder, &found) == 0 && S_ISDIR(found.st_mode))
            return true; /* another run was quicker */
        return error_set(error, ERROR_STORE, "the folder %s cannot be made: %s; %s", folder, strerror(errno),
                         advice_for(errno));
    }
    char *above = place_folder(folder);
    bool synced = sync_folder(above);
    if (!synced)
        (void)error_set(error, ERROR_STORE, "the folder %s cannot be put on the disk: %s; %s", folder, strerror(errno),
                        advice_for(errno));
    free(above);
    return synced;
}

static bool make_folders(const char *path, struct error *error)
{
    for (const char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        char *folder = text_format("%.*s", (int)(slash - path), path);
        bool made = make_folder(folder, error);
        free(folder);
        if (!made)
            return false;
    }
    return true;
}

bool place_make(const char *path, struct error *error)
{
    if (!make_folders(path, error))
        return false;
    /* A file that is there is not opened: closing it again would drop the locks that this process may have on it. */
    int descriptor = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (descriptor < 0) {
        if (errno == EEXIST)
            return true;
        return error_set(error, ERROR_STORE, "%s cannot be made: %s; %s", path, strerror(errno), advice_for(errno));
    }
    (void)close(descriptor);
    char *folder = place_folder(path);
    bool synced = sync_folder(folder);
    if (!synced)
        (void)error_set(error, ERROR_STORE, "%s cannot be put on the disk: %s; %s", path, strerror(errno),
                        advice_for(errno));
    free(folder);
    return synced;
}

bool place_may_write(const char *path, const char *real, struct error *error)
{
    char *folder = place_folder(real);
    bool file = faccessat(AT_FDCWD, real, R_OK | W_OK, AT_EACCESS) == 0;
    bool may = file && faccessat(AT_FDCWD, folder, W_OK | X_OK, AT_EACCESS) == 0;
    int reason = errno;
    if (!may && reason == EROFS)
        (void)error_set(error, ERROR_STORE,
                        "%s is on a read-only file system; mount it for writing, or name another store with --store",
                        path);
    else if (!may && reason == EACCES)
        (void)error_set(error, ERROR_STORE,
                        "%s: no permission to write to %s; call as a user who may, or name another store with --store",
                        path, file ? "its folder" : "it");
    else if (!may)
        (void)error_set(error, ERROR_STORE, "%s cannot be written to: %s; name another store with --store", path,
                        strerror(reason));
    free(folder);
    return may;
}
