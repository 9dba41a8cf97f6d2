/* SPDX-License-Identifier: MIT */
/* Modbus RTU over a pseudo-terminal, with a symbolic link for its name. */
#include "sim/station_private.h"

#include "sim/pty_format.h"
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
    /* For the frame loop: a request that has not come in whole. */
    uint8_t bytes[SERIAL_LONGEST];
    size_t count;
    int64_t last_read_us;
};

/* Bytes that are further apart belong to different frames: more than a scheduler's delay within one write, and less
 * than any master waits before it asks again. */
enum { SILENCE_US = 10000 };

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

static void hand_to_server(struct server *server, const uint8_t *frame, size_t length)
{
    server_take(server, &(struct arrival){
                            .frame = frame,
                            .frame_length = length,
                            .unit = frame[0],
                            .pdu = frame + 1,
                            .pdu_length = length - SERIAL_AROUND,
                        });
}

/* Takes the whole requests off the front. After a frame that was none, what came with it is not one either. */
static void take_requests(struct pty_line *line, struct server *server)
{
    for (;;) {
        const int length = wire_request_length(line->bytes, line->count);
        if (length == 0)
            return;
        if (length < 0) {
            server_unheard(server);
            line->count = 0;
            return;
        }
        hand_to_server(server, line->bytes, (size_t)length);
        line->count -= (size_t)length;
        memmove(line->bytes, line->bytes + length, line->count);
    }
}

static bool is_heard(const struct pty_line *line, const struct station_format *format)
{
    unsigned baud = 0;
    unsigned stop_bits = 0;
    if ((format->baud == 0 && format->stop_bits == 0) || !pty_format(line->master, &baud, &stop_bits))
        return true;
    return (format->baud == 0 || format->baud == baud) && (format->stop_bits == 0 || format->stop_bits == stop_bits);
}

static void serve_frames(struct pty_line *line, struct station *station, int64_t now_us)
{
    if (line->count > 0 && now_us - line->last_read_us > SILENCE_US) {
        server_unheard(station->server);
        line->count = 0;
    }
    line->last_read_us = now_us;
    for (;;) {
        const ssize_t got = read(line->master, line->bytes + line->count, sizeof line->bytes - line->count);
        if (got <= 0)
            return;
        if (!is_heard(line, &station->format)) {
            server_unheard(station->server);
            discard_input(line->master);
            line->count = 0;
            return;
        }
        line->count += (size_t)got;
        take_requests(line, station->server);
    }
}

static void pty_serve(void *opaque, struct station *station, const struct pollfd *watched, size_t count, int64_t now_us)
{
    struct pty_line *line = opaque;
    (void)count;
    if ((watched[0].revents & POLLIN) == 0)
        return;
    if (station->server != NULL) {
        serve_frames(line, station, now_us);
        return;
    }
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

/* Where it is still its own: another simulator may have taken the link over since. */
static void remove_link(const struct pty_line *line)
{
    char target[PATH_MAX];
    const ssize_t length = line->device == NULL ? -1 : readlink(line->link, target, sizeof target - 1);
    if (length <= 0)
        return;
    target[length] = '\0';
    if (strcmp(target, line->device) == 0)
        (void)unlink(line->link);
}

static void close_pair(struct pty_line *line)
{
    if (line->slave >= 0)
        (void)close(line->slave);
    if (line->master >= 0)
        (void)close(line->master);
    free(line->device);
    line->master = -1;
    line->slave = -1;
    line->device = NULL;
}

static void pty_close(void *opaque)
{
    struct pty_line *line = opaque;
    remove_link(line);
    close_pair(line);
    free(line->link);
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

static bool make_link(const struct pty_line *line, struct error *error)
{
    const char *link = line->link;
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
    return true;
}

/* What a master does not take is lost, as on a wire. */
static void pty_send(void *opaque, uint64_t client, const uint8_t *bytes, size_t length)
{
    const struct pty_line *line = opaque;
    (void)client;
    if (write(line->master, bytes, length) < 0)
        return;
}

/* As when an adapter is pulled out and put back: whoever had it open has nothing, and the link leads to a new one by
 * the time that he knows. */
static void pty_hang_up(void *opaque, uint64_t client)
{
    struct pty_line *line = opaque;
    struct pty_line fresh = {.master = -1, .slave = -1, .link = line->link};
    (void)client;
    if (open_pair(&fresh, NULL))
        (void)make_link(&fresh, NULL);
    close_pair(line);
    *line = fresh;
}

bool station_open_pty(struct drive *drive, const char *link, unsigned unit, struct station **station,
                      struct error *error)
{
    static const struct station_kind kind = {.watch = pty_watch,
                                             .serve = pty_serve,
                                             .close = pty_close,
                                             .server_line = {.send = pty_send, .hang_up = pty_hang_up}};
    struct pty_line *line = memory_new(1, sizeof *line);
    *line = (struct pty_line){.master = -1, .slave = -1, .link = text_copy(link)};
    if (!open_pair(line, error) || !make_link(line, error)) {
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
