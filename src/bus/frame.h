/* SPDX-License-Identifier: MIT */
/* Modbus frames, RTU and TCP, as pure bounded functions: building requests, and finding what answers one of them in the
 * bytes that came. Section numbers are of the MODBUS Application Protocol Specification V1.1b3. */
#ifndef ASLEFT_BUS_FRAME_H
#define ASLEFT_BUS_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Sizes and quantities: sections 4.1, 6.1 to 6.12. */
enum {
    PDU_BYTES = 253,
    RTU_BYTES = 256,
    TCP_BYTES = 260,
    READ_REGISTERS = 125,
    READ_BITS = 2000,
    WRITE_REGISTERS = 123,
    WRITE_BITS = 1968,
};

enum function {
    FUNCTION_READ_COILS = 0x01,
    FUNCTION_READ_DISCRETE_INPUTS = 0x02,
    FUNCTION_READ_HOLDING_REGISTERS = 0x03,
    FUNCTION_READ_INPUT_REGISTERS = 0x04,
    FUNCTION_WRITE_COIL = 0x05,
    FUNCTION_WRITE_REGISTER = 0x06,
    FUNCTION_DIAGNOSTICS = 0x08,
    FUNCTION_WRITE_COILS = 0x0f,
    FUNCTION_WRITE_REGISTERS = 0x10,
    FUNCTION_REPORT_SERVER_ID = 0x11,
    FUNCTION_DEVICE_IDENTIFICATION = 0x2b, /* with MEI type 0x0e */
};

enum { EXCEPTION_BIT = 0x80 };

/* CRC-16/MODBUS (MODBUS over Serial Line V1.02, section 6.2.2); sent low byte first. */
uint16_t crc16(const uint8_t *bytes, size_t length);

/* Function code and data: what RTU and TCP frames have in common. */
struct pdu {
    uint8_t bytes[PDU_BYTES];
    size_t length;
};

/* Requests. False, and nothing built, where the function or a quantity is not one the specification allows, or
 * address + count is beyond 65536. */
bool pdu_read(struct pdu *pdu, uint8_t function, uint16_t address, uint16_t count); /* functions 01 to 04 */
bool pdu_write_coil(struct pdu *pdu, uint16_t address, bool on);                    /* 05 */
bool pdu_write_register(struct pdu *pdu, uint16_t address, uint16_t value);         /* 06 */
bool pdu_echo(struct pdu *pdu, uint16_t data);                                      /* 08, sub-function 0 */
/* 0F; `bits` holds a bool a coil */
bool pdu_write_coils(struct pdu *pdu, uint16_t address, const bool *bits, uint16_t count);
bool pdu_write_registers(struct pdu *pdu, uint16_t address, const uint16_t *words, uint16_t count); /* 10 */
bool pdu_report_server_id(struct pdu *pdu);                                                         /* 11 */
/* 2B/0E; code 1 basic, 2 regular, 3 extended, 4 one object */
bool pdu_device_identification(struct pdu *pdu, uint8_t code, uint8_t object);

/* The frame of a PDU; `frame` holds RTU_BYTES or TCP_BYTES. Return its length. */
size_t rtu_build(uint8_t *frame, uint8_t unit, const struct pdu *pdu);
size_t tcp_build(uint8_t *frame, uint16_t transaction, uint8_t unit, const struct pdu *pdu);

/* The data bytes in the reply to a read of `count` registers or bits. */
size_t read_reply_bytes(uint8_t function, uint16_t count);

/* Does it change something: 05, 06, 0F, 10? */
bool function_writes(uint8_t function);

/* A request on its way: what a reply must match, in all parts. */
struct asked {
    uint8_t unit;
    uint16_t transaction; /* TCP */
    struct pdu pdu;
    bool echoed; /* RTU: this line gives back what is sent on it; so the first copy of a request is no reply, even where
                    the reply has the same bytes (05 and 06) */
};

enum found {
    FOUND_NOTHING,   /* so far */
    FOUND_REPLY,     /* unit, function, length and CRC or transaction are those asked for */
    FOUND_EXCEPTION, /* the same, with the exception bit and one byte of code */
    FOUND_BROKEN,    /* TCP: the stream cannot be followed any further; the connection is to be closed */
};

/* What was found in received bytes. */
struct scan {
    enum found found;
    const uint8_t *pdu; /* of a reply or exception; points into the bytes */
    size_t pdu_length;
    size_t used;         /* bytes up to the end of what is described here */
    unsigned foreign;    /* whole frames, CRC good, that answer nothing asked */
    unsigned other_unit; /* those of `foreign` that came from another unit */
    uint8_t last[3];     /* unit, function and byte count (of a read's reply) of the last foreign frame */
    unsigned junk;       /* runs of bytes that belong to no frame */
    bool echo;           /* the request itself came back first, as from an adapter that hears itself */
    bool spoiled;        /* a frame of the right unit, function and length came with a wrong CRC */
};

/* Looks for the reply anywhere in the bytes of an RTU line. `asked` may be NULL: then nothing answers. FOUND_NOTHING
 * means that it may still come: all bytes are to be kept and given again with those that follow, and the counts are
 * those of the moment. */
struct scan rtu_scan(const uint8_t *bytes, size_t length, const struct asked *asked);

/* Looks for the reply among the frames of a TCP stream, which starts at a frame's start. The `used` bytes are to be
 * dropped, found or not. */
struct scan tcp_scan(const uint8_t *bytes, size_t length, const struct asked *asked);

/* What received bytes consist of, piece by piece, as the scans see them. */
enum piece {
    PIECE_ANSWER,  /* the reply or exception; nothing behind it is looked at */
    PIECE_FOREIGN, /* a whole frame that answers nothing asked */
    PIECE_ECHO,    /* the request itself, RTU only */
    PIECE_JUNK,    /* a run of bytes that belong to no frame */
};
typedef void (*piece_seen)(void *user, enum piece piece, const uint8_t *bytes, size_t length);
void rtu_pieces(const uint8_t *bytes, size_t length, const struct asked *asked, piece_seen seen, void *user);
void tcp_pieces(const uint8_t *bytes, size_t length, const struct asked *asked, piece_seen seen, void *user);

/* Words out of a read's reply (FOUND_REPLY): registers, or bits as 0 or 1. `words` holds `count`. */
void reply_words(const uint8_t *pdu, uint8_t function, uint16_t count, uint16_t *words);

#endif
