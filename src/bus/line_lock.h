/* SPDX-License-Identifier: MIT */
/* One writer a line: a lock that other runs of this program see. */
#ifndef ASLEFT_BUS_LINE_LOCK_H
#define ASLEFT_BUS_LINE_LOCK_H

#include "types/error.h"
#include "types/sheet.h"

#include <stdbool.h>

struct line_lock;

/* Takes the lock of that line: of a port its device, whatever link leads to it; of a host its name or address in lower
 * case and its port. A file under /run/lock, else $XDG_RUNTIME_DIR, else /tmp, held by flock, never removed, with
 * process number and time in it for persons. Other users' locks are respected too. False: ERROR_BUSY where another run
 * holds it, with its number; ERROR_CONTACT where no such file can be made. */
bool line_lock_take(const struct line *line, struct line_lock **lock, struct error *error);
void line_lock_free(struct line_lock *lock); /* NULL is fine; gives the line back */

/* Does another run hold it? False also where that cannot be told. */
bool line_lock_is_held(const struct line *line);

#endif
