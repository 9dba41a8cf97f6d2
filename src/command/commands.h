/* SPDX-License-Identifier: MIT */
/* What each command offers to the table of commands: its options are read, and it returns the exit status. */
#ifndef ASLEFT_COMMAND_COMMANDS_H
#define ASLEFT_COMMAND_COMMANDS_H

#include "command/options.h"

int command_proofread(const struct options *options);
int command_setpoints(const struct options *options);
int command_find(const struct options *options);
int command_read(const struct options *options);
int command_verify(const struct options *options);
int command_record(const struct options *options);
int command_write(const struct options *options);
int command_restore(const struct options *options);
int command_witness(const struct options *options);
int command_accept(const struct options *options);
int command_history(const struct options *options);

#endif
