/* SPDX-License-Identifier: MIT */
/* A serial port as a link's transport: libmodbus opens, configures and restores it; the bytes are ours. */
#include "bus/serial.h"

#include "bus/serial_port.h"
#include "types/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <modbus.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

struct serial {
    struct line line;
    int lock;         /* a descriptor of our own that holds the lock; -1: closed */
    modbus_t *modbus; /* NULL: closed */
    int port;         /* libmodbus's descriptor */
    struct port_changes changes;
    char *remark;  /* owned, or NULL */
    bool no_rs485; /* why it did not open */
};

static bool refuse_permission(const char *path, struct error *error)
{
    struct stat status;
    struct group group, *found = NULL;
    char text[1024];
    if (stat(path, &status) != 0 || getgrgid_r(status.st_gid, &group, text, sizeof text, &found) != 0 || found == NULL)
        return error_set_line(error, ERROR_CONTACT, LINE_PORT_NOT_PERMITTED,
                              "no permission to use serial port \"%s\"; ask who runs this machine", path);
    return error_set_line(error, ERROR_CONTACT, LINE_PORT_NOT_PERMITTED,
                          "no permission to use serial port \"%s\", which belongs to group \"%s\"; become a member "
                          "(sudo usermod -aG %s \"$USER\") and log in again",
                          path, found->gr_name, found->gr_name);
}

static bool refuse_busy(const char *path, struct error *error)
{
    return error_set_line(error, ERROR_BUSY, LINE_PORT_IN_USE,
                          "serial port \"%s\" is in use by another program; end that one first (fuser \"%s\" shows it)",
                          path, path);
}

/* Says why the port cannot be opened, from errno. */
static bool refuse(const char *path, int reason, struct error *error)
{
    switch (reason) {
    case EACCES:
    case EPERM:
        return refuse_permission(path, error);
    case EBUSY:
        return refuse_busy(path, error);
    case ENOENT:
    case ENODEV:
    case ENXIO:
        return error_set_line(
            error, ERROR_CONTACT, LINE_PORT_MISSING,
            "no serial port \"%s\"; is the adapter plugged in? ls /dev/serial/by-id shows those that are", path);
    case ENOTTY:
    case EISDIR:
        return error_set_line(error, ERROR_CONTACT, LINE_PORT_UNFIT, "\"%s\" is not a serial port", path);
    default:
        return error_set_line(error, ERROR_CONTACT, LINE_PORT_UNFIT, "serial port \"%s\" does not open: %s", path,
                              strerror(reason));
    }
}

/* The kernel drops the parity of a pseudo-terminal, and glibc then reports EINVAL, depending on what else was changed.
 */
static enum parity parity_on(int port, enum parity parity)
{
    return port_is_pty(port) ? PARITY_NONE : parity;
}

static bool refuse_rs485(const char *path, int reason, struct error *error)
{
    return error_set(
        error, ERROR_CONTACT,
        "serial port \"%s\" has no RS-485 mode that the system could switch (%s); leave out rs485: kernel, "
        "as USB adapters and most converters switch by themselves",
        path, strerror(reason));
}

static bool refuse_speed(const char *path, unsigned baud, struct error *error)
{
    return error_set_line(
        error, ERROR_CONTACT, LINE_PORT_UNFIT,
        "serial port \"%s\": %u baud is not a speed that can be set here; 1200, 2400, 4800, 9600, 19200, "
        "38400, 57600 and 115200 are usual",
        path, baud);
}

static char parity_letter(enum parity parity)
{
    switch (parity) {
    case PARITY_NONE:
        return 'N';
    case PARITY_EVEN:
        return 'E';
    case PARITY_ODD:
        return 'O';
    }
    return 'N';
}

/* libmodbus leaves reads that return 0 both for "nothing yet" and for "unplugged": ask for at least one byte, so that
 * the former becomes EAGAIN. */
static bool tell_silence_from_end(int port)
{
    struct termios settings;
    if (tcgetattr(port, &settings) != 0)
        return false;
    settings.c_cc[VMIN] = 1;
    settings.c_cc[VTIME] = 0;
    return tcsetattr(port, TCSANOW, &settings) == 0;
}

static void serial_disconnect(void *user)
{
    struct serial *serial = user;
    if (serial->modbus != NULL) {
        port_put_back(serial->port, &serial->changes);
        (void)ioctl(serial->port, TIOCNXCL);
        modbus_close(serial->modbus); /* restores the settings */
        modbus_free(serial->modbus);
        serial->modbus = NULL;
        serial->port = -1;
    }
    if (serial->lock >= 0)
        (void)close(serial->lock);
    serial->lock = -1;
}

/* What drivers offer beyond speed and format. 0 or errno. */
static int adapt(struct serial *serial)
{
    serial->changes = (struct port_changes){0};
    port_lower_latency(serial->port, &serial->changes);
    free(serial->remark);
    char *timer = port_latency_timer(serial->port);
    serial->remark = port_latency_remark(serial->line.serial, timer);
    free(timer);
    int reason = serial->line.rs485 == RS485_KERNEL ? port_switch_rs485(serial->port, &serial->changes) : 0;
    serial->no_rs485 = reason != 0;
    return reason;
}

/* 0 or errno. */
static int configure(struct serial *serial)
{
    const struct line *line = &serial->line;
    char parity = parity_letter(parity_on(serial->lock, line->parity));
    serial->modbus = modbus_new_rtu(line->serial, (int)line->baud, parity, 8, (int)line->stop_bits);
    if (serial->modbus == NULL)
        return errno;
    if (modbus_connect(serial->modbus) != 0) {
        int reason = errno;
        modbus_free(serial->modbus);
        serial->modbus = NULL;
        return reason;
    }
    serial->port = modbus_get_socket(serial->modbus);
    if (!tell_silence_from_end(serial->port) || ioctl(serial->port, TIOCEXCL) != 0)
        return errno;
    (void)tcflush(serial->port, TCIFLUSH);
    return adapt(serial);
}

/* 0 or errno; EBUSY where another program holds the port. */
static int open_port(struct serial *serial)
{
    /* Locked before it is configured: a port in use must not be disturbed. */
    serial->lock = open(serial->line.serial, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (serial->lock < 0)
        return errno;
    int reason = 0;
    if (!isatty(serial->lock))
        reason = ENOTTY;
    else if (flock(serial->lock, LOCK_EX | LOCK_NB) != 0)
        reason = errno == EWOULDBLOCK ? EBUSY : errno;
    else
        reason = configure(serial);
    if (reason != 0)
        serial_disconnect(serial);
    return reason;
}

static enum contact serial_connect(void *user)
{
    struct serial *serial = user;
    if (serial->modbus != NULL)
        return CONTACT_OPEN;
    return open_port(serial) == 0 ? CONTACT_OPEN : CONTACT_CLOSED;
}

static ssize_t serial_read(void *user, uint8_t *bytes, size_t size)
{
    const struct serial *serial = user;
    ssize_t got = read(serial->port, bytes, size);
    if (got > 0)
        return got;
    return got < 0 && (errno == EAGAIN || errno == EINTR) ? 0 : -1;
}

static ssize_t serial_write(void *user, const uint8_t *bytes, size_t size)
{
    const struct serial *serial = user;
    ssize_t written = write(serial->port, bytes, size);
    if (written >= 0)
        return written;
    return errno == EAGAIN || errno == EINTR ? 0 : -1;
}

static int serial_descriptor(void *user)
{
    return ((const struct serial *)user)->port;
}

static bool serial_set_format(void *user, unsigned baud, enum parity parity, unsigned stop_bits, struct error *error)
{
    struct serial *serial = user;
    const char *path = serial->line.serial;
    if (serial->modbus == NULL)
        return error_set(error, ERROR_CONTACT, "serial port \"%s\" is gone; was the adapter unplugged?", path);
    if (!port_speed_known(baud))
        return refuse_speed(path, baud, error);
    int reason = port_set_format(serial->port, baud, parity_on(serial->port, parity), stop_bits);
    if (reason != 0)
        return error_set(error, ERROR_CONTACT, "serial port \"%s\" does not take %u baud 8%c%u: %s", path, baud,
                         parity_letter(parity), stop_bits, strerror(reason));
    serial->line.baud = baud;
    serial->line.parity = parity;
    serial->line.stop_bits = stop_bits;
    return true;
}

static struct line_errors serial_errors(void *user)
{
    const struct serial *serial = user;
    return serial->modbus == NULL ? (struct line_errors){.counted = false} : port_errors(serial->port);
}

static const char *serial_remark(void *user)
{
    return ((const struct serial *)user)->remark;
}

static void serial_close(void *user)
{
    struct serial *serial = user;
    serial_disconnect(serial);
    line_free(&serial->line);
    free(serial->remark);
    free(serial);
}

bool serial_open(const struct line *line, struct transport *transport, struct error *error)
{
    if (!port_speed_known(line->baud))
        return refuse_speed(line->serial, line->baud, error);
    struct serial *serial = memory_new(1, sizeof *serial);
    serial->line = line_copy(line);
    serial->lock = serial->port = -1;
    int reason = open_port(serial);
    if (reason != 0) {
        bool no_rs485 = serial->no_rs485;
        serial_close(serial);
        return no_rs485 ? refuse_rs485(line->serial, reason, error) : refuse(line->serial, reason, error);
    }
    *transport = (struct transport){.connect = serial_connect,
                                    .disconnect = serial_disconnect,
                                    .read = serial_read,
                                    .write = serial_write,
                                    .descriptor = serial_descriptor,
                                    .close = serial_close,
                                    .user = serial,
                                    .set_format = serial_set_format,
                                    .errors = serial_errors,
                                    .remark = serial_remark};
    return true;
}
