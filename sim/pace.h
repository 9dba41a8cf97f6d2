/* SPDX-License-Identifier: MIT */
/* Wire time on a virtual line clock: when a frame that has no wire would have been through one. Pure arithmetic. */
#ifndef ASLEFT_SIM_PACE_H
#define ASLEFT_SIM_PACE_H

#include <stddef.h>
#include <stdint.h>

/* How fast the simulated line is. */
struct pace {
    unsigned baud;           /* 0: as fast as memory */
    unsigned character_bits; /* 10 to 12: start, eight data, parity, stop bits */
    int64_t turnaround_us;   /* from the silence behind a request to the first byte of its reply */
};

/* What `count` characters take, and the silence between frames: 3.5 characters, 1.75 ms above 19200 baud. 0 where
 * `baud` is 0. Source: MODBUS over Serial Line V1.02, section 2.5.1.1. */
int64_t pace_characters_ns(const struct pace *pace, size_t count);
int64_t pace_silence_ns(const struct pace *pace);

/* The line as it would be with wires. Times are monotonic ones of any origin; nothing ever waits here. Each frame's end
 * is computed from the one before it and never from when it was really released, so that errors do not add up. */
struct line_clock {
    struct pace pace;
    int64_t free_ns; /* when the last frame's last bit has left */
};

/* A request on the wire. */
struct line_turn {
    int64_t start_ns; /* its first bit */
    int64_t heard_ns; /* behind its last one */
};

void line_clock_init(struct line_clock *clock, const struct pace *pace);

/* A request of `characters` that was read at `read_ns`: it starts then, or the silence behind the last frame later.
 * The line is its own until it is heard. */
struct line_turn line_clock_request(struct line_clock *clock, int64_t read_ns, size_t characters);

/* When the last bit of a reply of `characters` has left, from a drive that goes to work at `from_ns`: after the
 * silence, which tells it that the request is whole, and the turnaround. */
int64_t line_clock_reply_ns(const struct line_clock *clock, int64_t from_ns, size_t characters);

/* The line is taken until then. */
void line_clock_occupy(struct line_clock *clock, int64_t until_ns);

#endif
