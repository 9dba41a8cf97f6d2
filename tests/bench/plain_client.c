/* SPDX-License-Identifier: MIT */
/* The plain alternative: libmodbus, one request a register, no checks; plain_client PORT UNIT ADDRESS... */
#include <modbus.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv)
{
    if (argc < 4) {
        fprintf(stderr, "use: plain_client PORT UNIT ADDRESS...\n");
        return 64;
    }
    modbus_t *line = modbus_new_tcp("127.0.0.1", (int)strtol(argv[1], NULL, 10));
    if (line == NULL || modbus_set_slave(line, (int)strtol(argv[2], NULL, 10)) != 0 || modbus_connect(line) != 0) {
        fprintf(stderr, "cannot connect\n");
        return 69;
    }
    int status = 0;
    for (int i = 3; i < argc; i++) {
        uint16_t word;
        if (modbus_read_registers(line, (int)strtol(argv[i], NULL, 0), 1, &word) != 1)
            status = 2;
        else
            printf("%s %u\n", argv[i], word);
    }
    modbus_close(line);
    modbus_free(line);
    return status;
}
