/* SPDX-License-Identifier: MIT */
/* The plain alternative to sampling: libmodbus, the same registers again and again, no checks of its own.
 * plain_loop PATH:BAUD UNIT ADDRESS COUNT SECONDS; prints how many reads succeeded, and in how many seconds. */
#include <modbus.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { MOST = 125 };

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

int main(int count, char **arguments)
{
    if (count != 6)
        return 64;
    const char *path = strtok(arguments[1], ":");
    const char *baud = strtok(NULL, ":");
    int address = (int)strtol(arguments[3], NULL, 10), registers = (int)strtol(arguments[4], NULL, 10);
    double for_s = strtod(arguments[5], NULL);
    if (path == NULL || baud == NULL || registers < 1 || registers > MOST)
        return 64;
    /* No parity: a pseudo-terminal has none, and refuses it. */
    modbus_t *modbus = modbus_new_rtu(path, (int)strtol(baud, NULL, 10), 'N', 8, 1);
    if (modbus == NULL || modbus_set_slave(modbus, (int)strtol(arguments[2], NULL, 10)) != 0 ||
        modbus_connect(modbus) != 0)
        return 1;
    uint16_t words[MOST];
    unsigned long reads = 0;
    const double began_s = now_s();
    while (now_s() - began_s < for_s)
        reads += modbus_read_input_registers(modbus, address, registers, words) == registers;
    printf("%lu %.6f\n", reads, now_s() - began_s);
    modbus_close(modbus);
    modbus_free(modbus);
    return reads > 0 ? 0 : 1;
}
