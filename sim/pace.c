/* SPDX-License-Identifier: MIT */
/* The arithmetic of wire time. */
#include "sim/pace.h"

enum { NS_PER_US = 1000, NS_PER_S = 1000000000, FASTEST_BY_CHARACTERS = 19200, SHORTEST_SILENCE_NS = 1750000 };

int64_t pace_characters_ns(const struct pace *pace, size_t count)
{
    return pace->baud == 0 ? 0 : (int64_t)count * pace->character_bits * NS_PER_S / pace->baud;
}

int64_t pace_silence_ns(const struct pace *pace)
{
    return pace->baud > FASTEST_BY_CHARACTERS ? SHORTEST_SILENCE_NS : pace_characters_ns(pace, 7) / 2;
}

void line_clock_init(struct line_clock *clock, const struct pace *pace)
{
    *clock = (struct line_clock){.pace = *pace, .free_ns = INT64_MIN / 2};
}

struct line_turn line_clock_request(struct line_clock *clock, int64_t read_ns, size_t characters)
{
    const int64_t earliest_ns = clock->free_ns + pace_silence_ns(&clock->pace);
    const int64_t start_ns = read_ns > earliest_ns ? read_ns : earliest_ns;
    clock->free_ns = start_ns + pace_characters_ns(&clock->pace, characters);
    return (struct line_turn){.start_ns = start_ns, .heard_ns = clock->free_ns};
}

int64_t line_clock_reply_ns(const struct line_clock *clock, int64_t from_ns, size_t characters)
{
    const struct pace *pace = &clock->pace;
    return from_ns + pace_silence_ns(pace) + pace->turnaround_us * NS_PER_US + pace_characters_ns(pace, characters);
}

void line_clock_occupy(struct line_clock *clock, int64_t until_ns)
{
    if (until_ns > clock->free_ns)
        clock->free_ns = until_ns;
}
