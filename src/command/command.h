/* SPDX-License-Identifier: MIT */
/* The commands: each reads its options, calls the rooms and chooses the exit status. */
#ifndef ASLEFT_COMMAND_COMMAND_H
#define ASLEFT_COMMAND_COMMAND_H

/* The exit statuses that users and scripts rely on (docs/manual/reading-a-report.md). */
enum status {
    STATUS_AGREES = 0,
    STATUS_DIFFERS = 1,
    STATUS_INCOMPLETE = 2,
    STATUS_USE = 64,
    STATUS_FILE = 65,
    STATUS_CONTACT = 69,
    STATUS_OUTPUT = 74,
    STATUS_BUSY = 75,
};

/* Runs `asleft` with the program's arguments; the result is the process's exit status. */
int command_main(int count, char **arguments);

#endif
