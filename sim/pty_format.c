/* SPDX-License-Identifier: MIT */
/* Asking the kernel for a terminal's speed as a number, odd ones too; its header excludes <termios.h>. */
#include "sim/pty_format.h"

#include <asm/ioctls.h>
#include <asm/termbits.h>
#include <sys/ioctl.h>

bool pty_format(int master, unsigned *baud, unsigned *stop_bits)
{
    struct termios2 settings;
    if (ioctl(master, TCGETS2, &settings) != 0)
        return false;
    *baud = settings.c_ospeed;
    *stop_bits = (settings.c_cflag & CSTOPB) != 0 ? 2 : 1;
    return true;
}
