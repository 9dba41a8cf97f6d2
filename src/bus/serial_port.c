/* SPDX-License-Identifier: MIT */
/* What is set and asked on the descriptor of an open serial port, beyond what libmodbus does. */
#include "bus/serial_port.h"

#include "motor/quantity.h"
#include "types/memory.h"

#include <errno.h>
#include <linux/serial.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <termios.h>

enum { PTY_MAJOR_FIRST = 136, PTY_MAJOR_LAST = 143 }; /* Linux's list of device numbers: Unix98 pseudo-terminals */

static const struct {
    unsigned baud;
    speed_t speed;
} speeds[] = {{110, B110},         {300, B300},         {600, B600},         {1200, B1200},       {2400, B2400},
              {4800, B4800},       {9600, B9600},       {19200, B19200},     {38400, B38400},     {57600, B57600},
              {115200, B115200},   {230400, B230400},   {460800, B460800},   {500000, B500000},   {576000, B576000},
              {921600, B921600},   {1000000, B1000000}, {1152000, B1152000}, {1500000, B1500000}, {2500000, B2500000},
              {3000000, B3000000}, {3500000, B3500000}, {4000000, B4000000}};

bool port_is_pty(int port)
{
    struct stat status;
    return fstat(port, &status) == 0 && S_ISCHR(status.st_mode) && major(status.st_rdev) >= PTY_MAJOR_FIRST &&
           major(status.st_rdev) <= PTY_MAJOR_LAST;
}

/* B0, which hangs up: no such speed. */
static speed_t speed_of(unsigned baud)
{
    for (size_t i = 0; i < sizeof speeds / sizeof speeds[0]; i++)
        if (speeds[i].baud == baud)
            return speeds[i].speed;
    return B0;
}

bool port_speed_known(unsigned baud)
{
    return speed_of(baud) != B0;
}

int port_set_format(int port, unsigned baud, enum parity parity, unsigned stop_bits)
{
    static const tcflag_t parities[] = {
        [PARITY_NONE] = 0, [PARITY_EVEN] = PARENB, [PARITY_ODD] = PARENB | (tcflag_t)PARODD};
    static const tcflag_t decided = (tcflag_t)(CSIZE | PARENB | PARODD | CSTOPB);
    struct termios before, wanted, taken;
    speed_t speed = speed_of(baud);
    if (speed == B0)
        return EINVAL;
    if (tcgetattr(port, &before) != 0)
        return errno;
    wanted = before;
    tcflag_t format = (tcflag_t)CS8 | (stop_bits == 2 ? (tcflag_t)CSTOPB : 0) | parities[parity];
    wanted.c_cflag = (wanted.c_cflag & ~decided) | format;
    wanted.c_iflag = parity == PARITY_NONE ? wanted.c_iflag & ~(tcflag_t)INPCK : wanted.c_iflag | (tcflag_t)INPCK;
    if (cfsetispeed(&wanted, speed) != 0 || cfsetospeed(&wanted, speed) != 0 ||
        tcsetattr(port, TCSANOW, &wanted) != 0 || tcgetattr(port, &taken) != 0)
        return errno;
    /* tcsetattr is content where any one of the changes was made */
    if ((taken.c_cflag & decided) != format || cfgetospeed(&taken) != speed) {
        (void)tcsetattr(port, TCSANOW, &before);
        return EINVAL;
    }
    (void)tcflush(port, TCIOFLUSH);
    return 0;
}

struct line_errors port_errors(int port)
{
    struct serial_icounter_struct counters;
    if (ioctl(port, TIOCGICOUNT, &counters) != 0)
        return (struct line_errors){.counted = false};
    return (struct line_errors){.counted = true,
                                .frame = (unsigned long)counters.frame,
                                .parity = (unsigned long)counters.parity,
                                .overrun = (unsigned long)counters.overrun,
                                .brk = (unsigned long)counters.brk};
}

void port_lower_latency(int port, struct port_changes *changes)
{
    struct serial_struct settings;
    if (ioctl(port, TIOCGSERIAL, &settings) != 0 || ((unsigned)settings.flags & ASYNC_LOW_LATENCY) != 0)
        return;
    changes->flags_before = settings.flags;
    settings.flags = (int)((unsigned)settings.flags | ASYNC_LOW_LATENCY);
    changes->latency = ioctl(port, TIOCSSERIAL, &settings) == 0;
}

int port_switch_rs485(int port, struct port_changes *changes)
{
    struct serial_rs485 settings;
    if (ioctl(port, TIOCGRS485, &settings) != 0)
        return errno;
    if ((settings.flags & SER_RS485_ENABLED) != 0)
        return 0;
    changes->rs485_before = settings.flags;
    settings.flags |= SER_RS485_ENABLED | SER_RS485_RTS_ON_SEND;
    settings.flags &= ~(unsigned)SER_RS485_RX_DURING_TX;
    if (ioctl(port, TIOCSRS485, &settings) != 0)
        return errno;
    changes->rs485 = true;
    return 0;
}

void port_put_back(int port, const struct port_changes *changes)
{
    struct serial_struct settings;
    if (changes->latency && ioctl(port, TIOCGSERIAL, &settings) == 0) {
        settings.flags = changes->flags_before;
        (void)ioctl(port, TIOCSSERIAL, &settings);
    }
    struct serial_rs485 rs485;
    if (changes->rs485 && ioctl(port, TIOCGRS485, &rs485) == 0) {
        rs485.flags = changes->rs485_before;
        (void)ioctl(port, TIOCSRS485, &rs485);
    }
}

char *port_latency_timer(int port)
{
    struct stat status;
    if (fstat(port, &status) != 0)
        return NULL;
    return text_format("/sys/dev/char/%u:%u/device/latency_timer", major(status.st_rdev), minor(status.st_rdev));
}

char *port_latency_remark(const char *path, const char *timer)
{
    char text[16] = "";
    FILE *file = timer == NULL ? NULL : fopen(timer, "re");
    if (file == NULL)
        return NULL;
    size_t length = fread(text, 1, sizeof text - 1, file);
    (void)fclose(file);
    text[length] = '\0';
    text[strcspn(text, "\n")] = '\0';
    double latency_ms, rounding;
    if (!number_parse(text, false, &latency_ms, &rounding, NULL) || latency_ms <= 1)
        return NULL;
    return text_format("the USB adapter at %s holds replies back for up to %.0f ms, which makes reading slow; "
                       "'echo 1 | sudo tee %s' shortens that until it is plugged in anew",
                       path, latency_ms, timer);
}
