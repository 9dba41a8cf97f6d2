/* SPDX-License-Identifier: MIT */
/* asleft, killed by itself at a numbered point: around what it sends to a line, and around what it puts on the disk.
 *
 * A function of this name in the program goes before the library's, also for SQLite. The points are counted from 1 on:
 * each send to a socket, write to a terminal, fdatasync, fsync and pwrite. ASLEFT_POINTS names a file that gets a
 * letter a point, before it is passed; ASLEFT_STRIKE is "NUMBER before", "NUMBER half" (of what has a length) or
 * "NUMBER after". */
#include "command/command.h"

#include <fcntl.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <unistd.h>

enum moment { BEFORE, HALF, AFTER, NEVER };

/* Of the process, as what it counts is. */
static struct {
    bool ready;
    int points; /* -1: not asked for */
    unsigned long count, number;
    enum moment moment;
} strike;

static enum moment moment_of(const char *word)
{
    static const char *const words[] = {[BEFORE] = " before", [HALF] = " half", [AFTER] = " after"};
    for (enum moment moment = BEFORE; moment < NEVER; moment++)
        if (strcmp(word, words[moment]) == 0)
            return moment;
    return NEVER;
}

static void get_ready(void)
{
    const char *points = getenv("ASLEFT_POINTS"), *order = getenv("ASLEFT_STRIKE");
    char *word = NULL;
    strike.ready = true;
    strike.points = points == NULL ? -1 : open(points, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    strike.number = order == NULL ? 0 : strtoul(order, &word, 10);
    strike.moment = order == NULL ? NEVER : moment_of(word);
}

static void die(void)
{
    (void)kill(getpid(), SIGKILL);
    for (;;)
        (void)pause();
}

/* Comes to the next point. Returns how much of `size` is still to be done. */
static size_t come_to(char letter, size_t size)
{
    if (!strike.ready)
        get_ready();
    if (strike.points >= 0)
        (void)syscall(SYS_write, strike.points, &letter, 1);
    bool is_it = ++strike.count == strike.number;
    if (is_it && strike.moment == BEFORE)
        die();
    return is_it && strike.moment == HALF ? size / 2 : size;
}

static long leave(long result)
{
    if (strike.count == strike.number && strike.moment != NEVER)
        die();
    return result;
}

ssize_t send(int socket, const void *bytes, size_t size, int flags)
{
    size = come_to('s', size);
    return leave(syscall(SYS_sendto, socket, bytes, size, flags, NULL, 0));
}

ssize_t write(int file, const void *bytes, size_t size)
{
    if (isatty(file) != 1)
        return syscall(SYS_write, file, bytes, size);
    size = come_to('t', size);
    return leave(syscall(SYS_write, file, bytes, size));
}

int fsync(int file)
{
    (void)come_to('f', 0);
    return (int)leave(syscall(SYS_fsync, file));
}

int fdatasync(int file)
{
    (void)come_to('f', 0);
    return (int)leave(syscall(SYS_fdatasync, file));
}

ssize_t pwrite64(int file, const void *bytes, size_t size, off64_t offset)
{
    size = come_to('p', size);
    return leave(syscall(SYS_pwrite64, file, bytes, size, offset));
}

ssize_t pwrite(int file, const void *bytes, size_t size, off_t offset)
{
    return pwrite64(file, bytes, size, offset);
}

int main(int count, char **arguments)
{
    return command_main(count, arguments);
}
