/* SPDX-License-Identifier: MIT */
/* The simulator as a program, apart from main() so that tests can run it in a process of their own. */
#ifndef ASLEFT_SIM_PROGRAM_H
#define ASLEFT_SIM_PROGRAM_H

/* Does what the command line says and returns the exit status: 0, 64 wrong use, 65 a file that cannot be used, 69
 * cannot listen, 74 the log cannot be written. Blocks SIGINT and SIGTERM for the whole process, and ends its loop on
 * them. */
int program_run(int argc, char *const *argv);

#endif
