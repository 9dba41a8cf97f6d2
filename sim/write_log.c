/* SPDX-License-Identifier: MIT */
/* Writing the log of writes. */
#include "sim/write_log.h"

#include <modbus/modbus.h>

static bool is_single(const uint8_t *pdu)
{
    return pdu[0] == MODBUS_FC_WRITE_SINGLE_COIL || pdu[0] == MODBUS_FC_WRITE_SINGLE_REGISTER;
}

bool write_log_is_write(const uint8_t *pdu)
{
    return is_single(pdu) || pdu[0] == MODBUS_FC_WRITE_MULTIPLE_COILS || pdu[0] == MODBUS_FC_WRITE_MULTIPLE_REGISTERS;
}

void write_log_head(FILE *file)
{
    if (file != NULL)
        (void)fputs("unit,function,address,words,outcome,fault\n", file);
}

static void put_words(FILE *file, const uint8_t *pdu, size_t length)
{
    enum { SINGLE_AT = 3, MULTIPLE_AT = 6 };
    const size_t first = is_single(pdu) ? SINGLE_AT : MULTIPLE_AT;
    const size_t bytes = pdu[0] == MODBUS_FC_WRITE_MULTIPLE_COILS ? 1 : 2;
    for (size_t at = first; at + bytes <= length; at += bytes) {
        if (at > first)
            (void)fputc(' ', file);
        for (size_t i = 0; i < bytes; i++)
            (void)fprintf(file, "%02x", pdu[at + i]);
    }
}

void write_log_row(FILE *file, unsigned unit, const uint8_t *pdu, size_t length, uint8_t exception, const char *fault)
{
    if (file == NULL || !write_log_is_write(pdu))
        return;
    (void)fprintf(file, "%u,%u,", unit, pdu[0]);
    if (length >= 3)
        (void)fprintf(file, "%u", (unsigned)pdu[1] << 8 | pdu[2]);
    (void)fputc(',', file);
    put_words(file, pdu, length);
    if (exception == 0)
        (void)fprintf(file, ",done,%s\n", fault);
    else
        (void)fprintf(file, ",exception-%02x,%s\n", exception, fault);
}
