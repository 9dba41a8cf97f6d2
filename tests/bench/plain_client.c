/* SPDX-License-Identifier: MIT */
/* The plain alternative: libmodbus, one request a register, no checks of its own.
 * plain_client LINE UNIT ADDRESS..., where LINE is tcp:PORT on this machine, or a serial port as
 * PATH:BAUD:MILLISECONDS, which is how long it waits for a reply. */
#include <modbus.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ATTEMPTS = 3 };

static modbus_t *open_line(char *line)
{
    if (strncmp(line, "tcp:", 4) == 0)
        return modbus_new_tcp("127.0.0.1", (int)strtol(line + 4, NULL, 10));
    const char *path = strtok(line, ":");
    const char *baud = strtok(NULL, ":");
    const char *patience_ms = strtok(NULL, ":");
    if (path == NULL || baud == NULL || patience_ms == NULL)
        return NULL;
    /* No parity: a pseudo-terminal has none, and refuses it. */
    modbus_t *modbus = modbus_new_rtu(path, (int)strtol(baud, NULL, 10), 'N', 8, 1);
    uint32_t patience_us = (uint32_t)strtoul(patience_ms, NULL, 10) * 1000;
    if (modbus != NULL) {
        modbus_set_response_timeout(modbus, patience_us / 1000000, patience_us % 1000000);
        modbus_set_byte_timeout(modbus, patience_us / 1000000, patience_us % 1000000);
    }
    return modbus;
}

static int read_register(modbus_t *modbus, int address, uint16_t *word)
{
    for (int attempt = 0; attempt < ATTEMPTS; attempt++) {
        modbus_flush(modbus);
        if (modbus_read_registers(modbus, address, 1, word) == 1)
            return 1;
    }
    return 0;
}

int main(int argc, char **argv)
{
    if (argc < 4) {
        fprintf(stderr, "use: plain_client tcp:PORT|PATH:BAUD:MILLISECONDS UNIT ADDRESS...\n");
        return 64;
    }
    modbus_t *modbus = open_line(argv[1]);
    if (modbus == NULL || modbus_set_slave(modbus, (int)strtol(argv[2], NULL, 10)) != 0 ||
        modbus_connect(modbus) != 0) {
        fprintf(stderr, "cannot connect\n");
        return 69;
    }
    int status = 0;
    for (int i = 3; i < argc; i++) {
        uint16_t word;
        if (read_register(modbus, (int)strtol(argv[i], NULL, 0), &word))
            printf("%s %u\n", argv[i], word);
        else
            status = 2;
    }
    modbus_close(modbus);
    modbus_free(modbus);
    return status;
}
