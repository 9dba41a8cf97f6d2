/* SPDX-License-Identifier: MIT */
/* Writing the log of frames. */
#include "sim/frame_log.h"

#include <inttypes.h>
#include <stdbool.h>

static int32_t word_at(const uint8_t *bytes)
{
    return bytes[0] << 8 | bytes[1];
}

struct frame_row frame_row_of(uint8_t unit, const uint8_t *pdu, size_t length, int64_t read_us)
{
    struct frame_row row = {.read_us = read_us,
                            .ideal_us = FRAME_NEVER,
                            .real_us = FRAME_NEVER,
                            .unit = unit,
                            .function = pdu[0],
                            .address = -1,
                            .count = -1,
                            .remark = ""};
    const bool is_single = pdu[0] == 0x05 || pdu[0] == 0x06;
    const bool is_several = (pdu[0] >= 0x01 && pdu[0] <= 0x04) || pdu[0] == 0x0f || pdu[0] == 0x10;
    if (length < 5 || !(is_single || is_several))
        return row;
    row.address = word_at(pdu + 1);
    row.count = is_single ? 1 : word_at(pdu + 3);
    return row;
}

void frame_log_head(FILE *file)
{
    (void)fputs("read_us,ideal_us,real_us,unit,function,address,count,fault\n", file);
}

static void put_time(FILE *file, int64_t time_us)
{
    if (time_us != FRAME_NEVER)
        (void)fprintf(file, "%" PRId64, time_us);
    (void)fputc(',', file);
}

static void put_number(FILE *file, int32_t number)
{
    if (number >= 0)
        (void)fprintf(file, "%" PRId32, number);
    (void)fputc(',', file);
}

void frame_log_row(FILE *file, const struct frame_row *row)
{
    put_time(file, row->read_us);
    put_time(file, row->ideal_us);
    put_time(file, row->real_us);
    (void)fprintf(file, "%u,%u,", row->unit, row->function);
    put_number(file, row->address);
    put_number(file, row->count);
    (void)fprintf(file, "%s\n", row->remark);
}
