/* SPDX-License-Identifier: MIT */
/* What a client has set on its end of a pseudo-terminal. */
#ifndef ASLEFT_SIM_PTY_FORMAT_H
#define ASLEFT_SIM_PTY_FORMAT_H

#include <stdbool.h>

/* The speed and the stop bits, 1 or 2, that were set last; seen from the master's side. Parity cannot be seen: the
 * kernel clears it on a pseudo-terminal. False where the descriptor is no terminal. */
bool pty_format(int master, unsigned *baud, unsigned *stop_bits);

#endif
