/* SPDX-License-Identifier: MIT */
/* Doing to replies what faults ask for. */
#include "sim/damage.h"

#include <string.h>

/* TCP guards its bytes with a checksum of its own, and Modbus adds none: what damages a reply there is a device that
 * composes the header wrongly, not a bit that fell over among the values. */
static size_t damaged_length(const struct transmission *transmission)
{
    const size_t header = TCP_HEADER + 2; /* function, and byte count or exception code */
    return transmission->wire == WIRE_TCP && transmission->length > header ? header : transmission->length;
}

static void flip_bit(struct transmission *transmission, struct line_faults *faults)
{
    const uint64_t bit = line_faults_below(faults, 8 * damaged_length(transmission));
    transmission->bytes[bit / 8] ^= (uint8_t)(1U << bit % 8);
}

static void put_noise(struct transmission *transmission, struct line_faults *faults, size_t count)
{
    memmove(transmission->bytes + count, transmission->bytes, transmission->length);
    for (size_t i = 0; i < count; i++)
        transmission->bytes[i] = (uint8_t)line_faults_below(faults, 256);
    transmission->length += count;
}

static void cut(struct transmission *transmission, struct line_faults *faults, const struct fault *fault)
{
    /* A range reaches to the last byte but one of this very reply. */
    struct fault within = *fault;
    const uint64_t most = transmission->length - 1;
    within.most = fault->most < most ? fault->most : most;
    within.least = fault->least < within.most ? fault->least : within.most;
    transmission->length = line_faults_argument(faults, &within);
}

static uint8_t other_unit(uint8_t unit, uint64_t asked)
{
    if (asked != 0 && asked != unit)
        return (uint8_t)asked;
    return unit >= 1 && unit < 247 ? (uint8_t)(unit + 1) : 1;
}

static void wrap(struct transmission *transmission, uint8_t unit)
{
    transmission->length = wire_wrap(transmission->wire, transmission->transaction, unit, transmission->pdu,
                                     transmission->pdu_length, transmission->bytes);
}

void damage_wrap(struct transmission *transmission, struct line_faults *faults, const struct fault *fault)
{
    wrap(transmission, transmission->unit);
    if (fault == NULL)
        return;
    const uint64_t argument = fault->kind == FAULT_CUT ? 0 : line_faults_argument(faults, fault);
    switch (fault->kind) {
    case FAULT_LATE:
        transmission->delay_us = (int64_t)argument;
        break;
    case FAULT_CUT:
        cut(transmission, faults, fault);
        break;
    case FAULT_CORRUPT:
        flip_bit(transmission, faults);
        break;
    case FAULT_FOREIGN_UNIT:
        wrap(transmission, other_unit(transmission->unit, argument));
        break;
    case FAULT_DOUBLED:
        transmission->again = true;
        transmission->again_after_us = (int64_t)argument;
        break;
    case FAULT_ECHO:
        transmission->echoes = true;
        break;
    case FAULT_NOISE:
        put_noise(transmission, faults, argument);
        break;
    case FAULT_SLOW:
        transmission->gap_us = (int64_t)argument;
        break;
    case FAULT_DISCONNECT:
        transmission->hangs_up = true;
        transmission->length = 0;
        break;
    case FAULT_GATEWAY:
        transmission->delay_us = (int64_t)argument;
        break;
    case FAULT_SILENT:
    case FAULT_DEAF:
        transmission->length = 0;
        break;
    case FAULT_EXCEPTION:
    case FAULT_NOT_KEPT:
    case FAULT_CLAMPED:
    case FAULT_CHANGED_LATER:
    case FAULT_TRIP:
    case FAULT_STARTS:
    case FAULT_EXCHANGED:
        break;
    }
}
