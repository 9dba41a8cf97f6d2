/* SPDX-License-Identifier: MIT */
/* The line of a sheet or plant: a serial port or a TCP host, and what only one of them has. */
#include "files/sheet_reader.h"

#include <stdio.h>
#include <string.h>

const struct word line_rs485_words[] = {{"none", RS485_NONE}, {"kernel", RS485_KERNEL}, {NULL, 0}};
const struct word line_parity_words[] = {{"none", PARITY_NONE}, {"even", PARITY_EVEN}, {"odd", PARITY_ODD}, {NULL, 0}};

/* Speeds that libmodbus 3.1.6 sets; it opens the port at 9600 for any other without a word (measured on a
 * pseudo-terminal, 2000000 included). */
static const unsigned speeds[] = {110,     300,     600,     1200,    2400,    4800,    9600,   19200,
                                  38400,   57600,   115200,  230400,  460800,  500000,  576000, 921600,
                                  1000000, 1152000, 1500000, 2500000, 3000000, 3500000, 4000000};

/* 19200 bit/s, even parity, one stop bit: MODBUS over Serial Line V1.02, 2.5.1 and 3.2. Port 502: MODBUS Messaging on
 * TCP/IP V1.0b, 4.2. */
void line_defaults(struct line *line)
{
    *line = (struct line){.port = 502, .baud = 19200, .parity = PARITY_EVEN, .stop_bits = 1};
}

bool line_field_baud(const struct section *section, const struct field *field, const struct node *value)
{
    int64_t baud = 0;
    if (!scalar_raw(section->faults, value, field->key, 110, 4000000, &baud))
        return false;
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++) {
        if (speeds[i] != baud)
            continue;
        *(unsigned *)field_target(section, field) = (unsigned)baud;
        return true;
    }
    faults_error(section->faults, value->place,
                 "%s: %s is a speed that ports are not set to; expected a usual one such as 9600, 19200, 38400, 57600 "
                 "or 115200",
                 field->key, excerpt(value->text).text);
    return false;
}

static void refuse(struct faults *faults, const struct node *node, const char *key, const char *why)
{
    const struct node *value = node_get(node, key);
    if (value != NULL)
        faults_error(faults, value->key_place, "%s %s", key, why);
}

/* "192.0.2.10:502" and the like; an IPv6 address has more colons. */
static void check_host(struct faults *faults, const struct node *node, const char *host)
{
    const char *colon = strchr(host, ':');
    if (strpbrk(host, " /") != NULL)
        faults_error(faults, section_place(node, "host"), "host: \"%s\" is no host; expected a name or an address",
                     excerpt(host).text);
    else if (colon != NULL && strchr(colon + 1, ':') == NULL)
        faults_error(faults, section_place(node, "host"),
                     "host: \"%s\" holds a port; expected the host alone, and the port behind the key port",
                     excerpt(host).text);
}

void line_check(struct faults *faults, const struct node *node, struct line *line, bool has_unit)
{
    static const char *const serial_keys[] = {"baud", "parity", "stop_bits", "rs485", "alone"};
    bool has_serial = node_get(node, "serial") != NULL;
    bool has_host = node_get(node, "host") != NULL;
    if (has_serial && has_host)
        refuse(faults, node, "host", "and serial stand together; expected one of them");
    if (!has_serial && !has_host && !has_unit)
        faults_error(faults, node_key_place(node), "the line lacks serial and host; expected one of them");
    if (!has_host)
        refuse(faults, node, "port", "belongs to a TCP host; expected it beside host only");
    for (size_t i = 0; i < sizeof serial_keys / sizeof *serial_keys && !has_serial; i++)
        refuse(faults, node, serial_keys[i], "belongs to a serial line; expected it beside serial only");
    if (line->host != NULL)
        check_host(faults, node, line->host);
    if (has_serial && line->unit_given && (line->unit < 1 || line->unit > 247))
        faults_error(faults, section_place(node, "unit"),
                     "unit: %u is out of range on a serial line; expected 1 to 247", line->unit);
    /* Without a parity bit a second stop bit keeps the character at 11 bits: MODBUS over Serial Line V1.02, 2.5.1. */
    if (has_serial && line->parity == PARITY_NONE && node_get(node, "stop_bits") == NULL)
        line->stop_bits = 2;
}

static bool read_unit(const struct section *section, const struct field *field, const struct node *value)
{
    struct line *line = section->target;
    line->unit_given = field_count(section, field, value);
    return line->unit_given;
}

#define AT(member) offsetof(struct line, member)

static const struct field line_fields[] = {
    {.key = "serial", .read = field_text, .offset = AT(serial), .expects = "a port such as /dev/ttyUSB0"},
    {.key = "host", .read = field_text, .offset = AT(host), .expects = "a host's name or address"},
    {.key = "port", .read = field_count, .offset = AT(port), .low = 1, .high = 65535},
    {.key = "baud", .read = line_field_baud, .offset = AT(baud), .expects = "a speed such as 19200"},
    {.key = "parity", .read = field_word, .offset = AT(parity), .words = line_parity_words},
    {.key = "stop_bits", .read = field_count, .offset = AT(stop_bits), .low = 1, .high = 2},
    {.key = "unit",
     .read = read_unit,
     .offset = AT(unit),
     .high = 255,
     .required = true,
     .expects = "1 to 247 on a serial line, 0 to 255 on TCP"},
    {.key = "rs485", .read = field_word, .offset = AT(rs485), .words = line_rs485_words},
    {.key = "alone", .read = field_flag, .offset = AT(alone)},
};

bool sheet_field_line(const struct section *section, const struct field *field, const struct node *value)
{
    struct line *line = field_target(section, field);
    line_defaults(line);
    const struct section inner = {.faults = section->faults,
                                  .node = value,
                                  .what = field->key,
                                  .fields = line_fields,
                                  .count = sizeof line_fields / sizeof *line_fields,
                                  .target = line};
    bool fine = section_load(&inner);
    if (value->kind == NODE_MAPPING)
        line_check(section->faults, value, line, true);
    return fine;
}
