/* SPDX-License-Identifier: MIT */
/* asleft-sim: a simulated drive on a Modbus line, with a keypad on standard input. */
#include "sim/program.h"

#include <locale.h>

int main(int argc, char **argv)
{
    (void)setlocale(LC_CTYPE, "");
    return program_run(argc, argv);
}
