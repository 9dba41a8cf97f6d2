/* SPDX-License-Identifier: MIT */
/* The event loop: descriptors and deadlines, one thread. command/ creates it and owns signals. */
#ifndef ASLEFT_BUS_LOOP_H
#define ASLEFT_BUS_LOOP_H

#include "bus/clock.h"

#include <stdbool.h>
#include <stdint.h>

struct loop;

/* Lets time pass until `until_us` on the loop's clock (< 0: no deadline) or until something happened before; false:
 * nothing can ever happen any more, and loop_run returns. Tests supply one that moves a virtual clock and a line in
 * memory; no descriptor is then looked at, and each watch is called after each wait. */
struct waiter {
    bool (*wait)(void *user, int64_t until_us);
    void *user;
};

/* `clock` is copied; what its `user` points to must outlive the loop. */
struct loop *loop_new(const struct clock *clock);
struct loop *loop_new_waiting(const struct clock *clock, const struct waiter *waiter);
void loop_free(struct loop *loop); /* NULL is fine; links must be freed before */

const struct clock *loop_clock(const struct loop *loop);
int64_t loop_now_us(const struct loop *loop);

/* Runs until `until(user)` is true (then true) or the deadline on the loop's clock has passed or loop_stop was called
 * (then false). deadline_us < 0: none. Never called from a callback. */
bool loop_run(struct loop *loop, bool (*until)(void *user), void *user, int64_t deadline_us);

/* Makes loop_run return soon, or the next one at once if none runs now; that loop_run uses the wish up.
 * Safe in a signal handler (it only sets a flag and writes an eventfd). */
void loop_stop(struct loop *loop);

/* A watch is one party's interest in a descriptor, a deadline, or both. `ready` is called from loop_run when the
 * descriptor has something to read (or to write, if asked), has failed, or the deadline has passed: it must find out
 * by itself what there is to do, and never block. It may free any watch, its own too. */
struct watch;
struct watch *watch_new(struct loop *loop, void (*ready)(void *user), void *user);
void watch_free(struct watch *watch); /* NULL is fine; before its descriptor is closed */

/* Replaces the watched descriptor, any number; -1: none. To be called with -1 before the descriptor is closed. */
void watch_descriptor(struct watch *watch, int descriptor, bool to_write);

/* Replaces the deadline, on the loop's clock; < 0: none. One that has passed is due in the next round of the loop. */
void watch_deadline(struct watch *watch, int64_t deadline_us);

#endif
