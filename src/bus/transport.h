/* SPDX-License-Identifier: MIT */
/* What a link sends and receives its bytes through: a serial port, a TCP connection, or a line in a test's memory. */
#ifndef ASLEFT_BUS_TRANSPORT_H
#define ASLEFT_BUS_TRANSPORT_H

#include "types/error.h"
#include "types/sheet.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

enum contact {
    CONTACT_OPEN,
    CONTACT_PENDING,     /* call connect again when the descriptor is writable, or may have changed */
    CONTACT_REFUSED,     /* the other end is there and does not want us */
    CONTACT_UNREACHABLE, /* no way to the other end */
    CONTACT_CLOSED,      /* the port is gone */
};

/* What a serial port's receiver has counted. `counted` false: the port has no counters (a pseudo-terminal has none). */
struct line_errors {
    bool counted;
    unsigned long frame, parity, overrun, brk;
};

/* None of these blocks. `user` is the transport's own. */
struct transport {
    /* Begins to connect, or goes on with it; CONTACT_OPEN where it is open. After a failure or disconnect it begins
     * anew. */
    enum contact (*connect)(void *user);
    void (*disconnect)(void *user);
    /* Bytes taken; 0: none now; -1: closed or broken, disconnect is to follow. */
    ssize_t (*read)(void *user, uint8_t *bytes, size_t size);
    ssize_t (*write)(void *user, const uint8_t *bytes, size_t size);
    int (*descriptor)(void *user); /* to wait on; -1: none */
    void (*close)(void *user);     /* disconnects and frees `user` */
    void *user;

    /* A serial port's; NULL elsewhere. Changes speed, parity and stop bits of an open port, and drops what is in it;
     * false: the port refuses, and has kept its settings. */
    bool (*set_format)(void *user, unsigned baud, enum parity parity, unsigned stop_bits, struct error *error);
    struct line_errors (*errors)(void *user);
    const char *(*remark)(void *user); /* what its user should know about the port, or NULL; the transport's */
};

#endif
