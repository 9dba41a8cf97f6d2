/* SPDX-License-Identifier: MIT */
/* One writer a line: a lock that other runs of this program see.
 *
 * The folders are open to all, so whatever stands there may have been put there by anybody. No link is followed,
 * nothing but a plain file with one name is written to, and what stands in it is only shown as a number. An existing
 * file is opened without O_CREAT: where fs.protected_regular is set, the system refuses the other with somebody else's
 * file. */
#include "bus/line_lock.h"

#include "types/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum {
    FILE_MODE = 0666, /* other users' runs lock it, too, and write their number into it */
    CREATE_TRIES = 3,
    LOCK_TRIES = 50, /* line_lock_is_held holds the lock for an instant, to try it */
    LOCK_PAUSE_NS = 2000000,
    MOST_PROCESS = 4194304, /* PID_MAX_LIMIT of Linux on 64 bits */
};

struct line_lock {
    int file;
};

/* ---- which file ---- */

/* Appends text so that different texts give different names: a hyphen for each slash, and all but letters, digits and
 * . _ : as % and two digits. */
static void add_encoded(char **name, const char *text, bool lower_case)
{
    for (; *text != '\0'; text++) {
        unsigned char byte = (unsigned char)*text;
        bool upper = byte >= 'A' && byte <= 'Z', lower = byte >= 'a' && byte <= 'z', digit = byte >= '0' && byte <= '9';
        char piece[4];
        if (upper && lower_case)
            (void)snprintf(piece, sizeof piece, "%c", byte - 'A' + 'a');
        else if (upper || lower || digit || byte == '.' || byte == '_' || byte == ':')
            (void)snprintf(piece, sizeof piece, "%c", byte);
        else if (byte == '/')
            (void)snprintf(piece, sizeof piece, "-");
        else
            (void)snprintf(piece, sizeof piece, "%%%02x", byte);
        char *longer = text_format("%s%s", *name, piece);
        free(*name);
        *name = longer;
    }
}

/* Owned; NULL and `error` where the line has none. */
static char *name_of(const struct line *line, struct error *error)
{
    if (line->serial == NULL && line->host == NULL) {
        (void)error_set(error, ERROR_USE, "no line to lock: give a serial port or a host");
        return NULL;
    }
    char *name = text_copy(line->serial != NULL ? "asleft-port" : "asleft-host-");
    if (line->serial == NULL) {
        add_encoded(&name, line->host, true);
        char *with_port = text_format("%s:%u", name, line->port);
        free(name);
        return with_port;
    }
    char *device = realpath(line->serial, NULL);
    if (device == NULL) {
        (void)error_set_line(error, ERROR_CONTACT, errno == ENOENT ? LINE_PORT_MISSING : LINE_PORT_UNFIT,
                             "serial port \"%s\" cannot be locked: %s", line->serial, strerror(errno));
        free(name);
        return NULL;
    }
    add_encoded(&name, device, false);
    free(device);
    return name;
}

/* Those that can be searched; -1: not this one. */
static int open_folder(const char *path)
{
    if (path == NULL || path[0] != '/')
        return -1;
    int folder = open(path, O_PATH | O_DIRECTORY | O_CLOEXEC);
    if (folder >= 0 && faccessat(folder, ".", X_OK, AT_EACCESS) != 0) {
        (void)close(folder);
        return -1;
    }
    return folder;
}

static const char *folder_path(size_t number)
{
    switch (number) {
    case 0:
        return "/run/lock";
    case 1:
        return getenv("XDG_RUNTIME_DIR");
    default:
        return "/tmp";
    }
}

enum { FOLDERS = 3 };

/* Opens what stands there. -1 and errno; ELOOP for a symbolic link, EINVAL for what is no plain file of one name. */
static int open_existing(int folder, const char *name)
{
    const int flags = O_NOFOLLOW | O_CLOEXEC | O_NONBLOCK | O_NOCTTY;
    int file = openat(folder, name, O_RDWR | flags);
    if (file < 0 && errno == EACCES)
        file = openat(folder, name, O_RDONLY | flags); /* enough for the lock */
    if (file < 0)
        return -1;
    struct stat status;
    if (fstat(file, &status) == 0 && S_ISREG(status.st_mode) && status.st_nlink == 1)
        return file;
    (void)close(file);
    errno = EINVAL;
    return -1;
}

static int create(int folder, const char *name)
{
    int file = openat(folder, name, O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, FILE_MODE);
    if (file >= 0)
        (void)fchmod(file, FILE_MODE); /* whatever the umask */
    return file;
}

/* What became of looking for the file in one folder. */
enum place { PLACE_FOUND, PLACE_BAD, PLACE_NOT_HERE };

static enum place look_in(int folder, const char *name, bool may_create, int *file)
{
    for (unsigned tries = 0; tries < CREATE_TRIES; tries++) {
        *file = open_existing(folder, name);
        if (*file >= 0)
            return PLACE_FOUND;
        if (errno != ENOENT)
            return PLACE_BAD;
        if (!may_create)
            return PLACE_NOT_HERE;
        *file = create(folder, name);
        if (*file >= 0)
            return PLACE_FOUND;
        if (errno != EEXIST)
            return errno == ENAMETOOLONG ? PLACE_BAD : PLACE_NOT_HERE;
    }
    return PLACE_BAD;
}

/* The lock's file, or -1. A file that stands in a folder and cannot be used is not passed over for the next folder: two
 * runs would each have a lock of their own. */
static int open_file(const char *name, bool may_create, struct error *error)
{
    int reason = ENOENT;
    for (size_t i = 0; i < FOLDERS; i++) {
        int folder = open_folder(folder_path(i)), file = -1;
        if (folder < 0)
            continue;
        enum place place = look_in(folder, name, may_create, &file);
        reason = errno;
        (void)close(folder);
        if (place == PLACE_FOUND)
            return file;
        if (place == PLACE_BAD) {
            (void)error_set(error, ERROR_CONTACT,
                            "the lock \"%s/%s\" cannot be used: %s; it has to be a plain file that all may write to",
                            folder_path(i), name, strerror(reason));
            return -1;
        }
    }
    (void)error_set(error, ERROR_CONTACT,
                    "the lock \"%s\" cannot be made in /run/lock, $XDG_RUNTIME_DIR or /tmp: %s; make one of these "
                    "folders writable",
                    name, strerror(reason));
    return -1;
}

/* ---- the lock ---- */

/* The number that the holder wrote; 0: none, or none that a process can have. */
static long holder_of(int file)
{
    static const char before[] = "process ";
    char text[32] = {0};
    ssize_t got = pread(file, text, sizeof text - 1, 0);
    if (got <= 0 || strncmp(text, before, strlen(before)) != 0)
        return 0;
    long number = 0;
    for (const char *digit = text + strlen(before); *digit >= '0' && *digit <= '9'; digit++) {
        number = number * 10 + (*digit - '0');
        if (number > MOST_PROCESS)
            return 0;
    }
    return number;
}

/* For persons; the lock holds without it. */
static void sign(int file)
{
    struct tm utc;
    char when[32];
    time_t now = time(NULL);
    if (gmtime_r(&now, &utc) == NULL || strftime(when, sizeof when, "%Y-%m-%dT%H:%M:%SZ", &utc) == 0)
        return;
    char *text = text_format("process %ld, since %s\n", (long)getpid(), when);
    if (ftruncate(file, 0) == 0)
        (void)!pwrite(file, text, strlen(text), 0);
    free(text);
}

/* 0 or errno. */
static int lock_file(int file)
{
    for (unsigned tries = 0;; tries++) {
        if (flock(file, LOCK_EX | LOCK_NB) == 0)
            return 0;
        if (errno != EWOULDBLOCK || tries == LOCK_TRIES)
            return errno;
        (void)nanosleep(&(struct timespec){.tv_nsec = LOCK_PAUSE_NS}, NULL);
    }
}

static bool refuse(const struct line *line, int file, int reason, struct error *error)
{
    const char *place = line->serial != NULL ? line->serial : line->host;
    if (reason != EWOULDBLOCK)
        return error_set(error, ERROR_CONTACT, "the lock of \"%s\" cannot be taken: %s", place, strerror(reason));
    long holder = holder_of(file);
    if (holder == 0)
        return error_set(error, ERROR_BUSY, "another run of this program holds \"%s\"; wait until it ends", place);
    return error_set(error, ERROR_BUSY, "another run of this program, process %ld, holds \"%s\"; wait until it ends",
                     holder, place);
}

bool line_lock_take(const struct line *line, struct line_lock **lock, struct error *error)
{
    char *name = name_of(line, error);
    if (name == NULL)
        return false;
    int file = open_file(name, true, error);
    free(name);
    if (file < 0)
        return false;
    int reason = lock_file(file);
    if (reason != 0) {
        (void)refuse(line, file, reason, error);
        (void)close(file);
        return false;
    }
    sign(file);
    *lock = memory_new(1, sizeof **lock);
    (*lock)->file = file;
    return true;
}

void line_lock_free(struct line_lock *lock)
{
    if (lock == NULL)
        return;
    (void)flock(lock->file, LOCK_UN); /* at once, even where a child still has the descriptor */
    (void)close(lock->file);
    free(lock);
}

bool line_lock_is_held(const struct line *line)
{
    char *name = name_of(line, NULL);
    if (name == NULL)
        return false;
    int file = open_file(name, false, NULL);
    free(name);
    if (file < 0)
        return false;
    bool held = flock(file, LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK && holder_of(file) != (long)getpid();
    (void)close(file);
    return held;
}
