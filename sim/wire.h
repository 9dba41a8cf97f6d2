/* SPDX-License-Identifier: MIT */
/* The simulator's own framing: where a request ends, and how a reply is wrapped. Shares nothing with src/bus. */
#ifndef ASLEFT_SIM_WIRE_H
#define ASLEFT_SIM_WIRE_H

#include <stddef.h>
#include <stdint.h>

/* A PDU is function code and data; a frame is a PDU with what its line puts around it.
 * Source: MODBUS Application Protocol Specification V1.1b3, section 4.1. */
enum {
    PDU_LONGEST = 253,
    SERIAL_AROUND = 3, /* unit before, checksum behind */
    SERIAL_LONGEST = PDU_LONGEST + SERIAL_AROUND,
    TCP_HEADER = 7, /* transaction, protocol, length, unit */
    FRAME_LONGEST = PDU_LONGEST + TCP_HEADER
};

enum wire { WIRE_SERIAL, WIRE_TCP };

/* CRC-16 with polynomial 0xA001 from 0xFFFF on; it travels low byte first. Source: MODBUS over Serial Line V1.02,
 * section 6.2.2. */
uint16_t wire_crc(const uint8_t *bytes, size_t count);

/* How long the serial request at the front of `bytes` is: 0 while more may come, -1 where it is none (a wrong checksum,
 * or longer than any). The length of functions that are not of this list is where the checksum fits. */
int wire_request_length(const uint8_t *bytes, size_t count);

/* Wraps a PDU of 1 to PDU_LONGEST bytes into `frame`, which has room for FRAME_LONGEST, and returns its length.
 * `transaction` is for TCP only. */
size_t wire_wrap(enum wire wire, uint16_t transaction, uint8_t unit, const uint8_t *pdu, size_t length, uint8_t *frame);

#endif
