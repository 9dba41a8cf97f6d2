/* SPDX-License-Identifier: MIT */
/* asleft: proves that a variable-frequency drive agrees with the motor bolted to it. */
#include "command/command.h"

int main(int count, char **arguments)
{
    return command_main(count, arguments);
}
