/* SPDX-License-Identifier: MIT */
/* Modbus RTU over a pseudo-terminal, with a symbolic link for its name. */
#include "sim/station_private.h"

#include "types/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

struct pty_line {
    int master;
    int slave;    /* kept open, so that clients may come and go */
    char *link;   /* owned */
    char *device; /* owned */
};

static size_t pty_watch(const void *opaque, struct pollfd *watched)
{
    const struct pty_line *line = opaque;
    watched[0] = (struct pollfd){.fd = line->master, .events = POLLIN};
    return 1;
}

/* After a frame that was none, what came with it is not one either. */
static void discard_input(int master)
{
    uint8_t bytes[MODBUS_RTU_MAX_ADU_LENGTH];
    while (read(master, bytes, sizeof bytes) > 0)
        ;
}

static void pty_serve(void *opaque, struct station *station, const struct pollfd *watched, size_t count, int64_t now_us)
{
    const struct pty_line *line = opaque;
    (void)count;
    if ((watched[0].revents & POLLIN) == 0)
        return;
    uint8_t request[MODBUS_RTU_MAX_ADU_LENGTH];
    const int length = modbus_receive(station->modbus, request);
    if (length > 0)
        (void)station_answer(station, request, (size_t)length, now_us);
    else if (length < 0)
        discard_input(line->master);
    else
        /* A request to another unit: libmodbus now takes the next frame for that unit's reply and throws it away. Let
         * it look for one at once, and find none within its response timeout. */
        (void)modbus_receive(station->modbus, request);
}

static void pty_close(void *opaque)
{
    struct pty_line *line = opaque;
    if (line->link != NULL && line->device != NULL) {
        /* Another simulator may have taken the link over since. */
        char target[PATH_MAX];
        const ssize_t length = readlink(line->link, target, sizeof target - 1);
        if (length > 0) {
            target[length] = '\0';
            if (strcmp(target, line->device) == 0)
                (void)unlink(line->link);
        }
    }
    if (line->slave >= 0)
        (void)close(line->slave);
    if (line->master >= 0)
        (void)close(line->master);
    free(line->link);
    free(line->device);
    free(line);
}

/* Fills in the line as far as it comes; pty_close is due either way. */
static bool open_pair(struct pty_line *line, struct error *error)
{
    char name[PATH_MAX];
    line->master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
    if (line->master < 0 || grantpt(line->master) != 0 || unlockpt(line->master) != 0 ||
        ptsname_r(line->master, name, sizeof name) != 0) {
        error_set(error, ERROR_CONTACT, "cannot make a pseudo-terminal: %s", strerror(errno));
        return false;
    }
    line->device = text_copy(name);
    line->slave = open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    struct termios settings;
    if (line->slave < 0 || tcgetattr(line->slave, &settings) != 0) {
        error_set(error, ERROR_CONTACT, "cannot open %s: %s", name, strerror(errno));
        return false;
    }
    cfmakeraw(&settings);
    if (tcsetattr(line->slave, TCSANOW, &settings) != 0) {
        error_set(error, ERROR_CONTACT, "cannot set %s to raw: %s", name, strerror(errno));
        return false;
    }
    return true;
}

static bool make_link(struct pty_line *line, const char *link, struct error *error)
{
    struct stat status;
    if (lstat(link, &status) == 0) {
        if (!S_ISLNK(status.st_mode))
            return error_set(error, ERROR_CONTACT, "%s is there already and is no symbolic link; choose another name",
                             link);
        if (unlink(link) != 0)
            return error_set(error, ERROR_CONTACT, "cannot replace %s: %s", link, strerror(errno));
    }
    if (symlink(line->device, link) != 0)
        return error_set(error, ERROR_CONTACT, "cannot make the link %s: %s", link, strerror(errno));
    line->link = text_copy(link);
    return true;
}

bool station_open_pty(struct drive *drive, const char *link, unsigned unit, struct station **station,
                      struct error *error)
{
    static const struct station_kind kind = {.watch = pty_watch, .serve = pty_serve, .close = pty_close};
    struct pty_line *line = memory_new(1, sizeof *line);
    *line = (struct pty_line){.master = -1, .slave = -1};
    if (!open_pair(line, error) || !make_link(line, link, error)) {
        pty_close(line);
        return false;
    }
    /* The speed is never set: a pseudo-terminal passes bytes at once. */
    *station = station_new(&kind, drive, modbus_new_rtu(line->device, 19200, 'E', 8, 1), unit);
    (void)modbus_set_slave((*station)->modbus, (int)unit);
    (void)modbus_set_socket((*station)->modbus, line->master);
    (*station)->line = line;
    (*station)->place = text_format("pty %s", link);
    return true;
}
