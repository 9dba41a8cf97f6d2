/* SPDX-License-Identifier: MIT */
/* Host names to addresses, within a time limit. */
#ifndef ASLEFT_BUS_RESOLVE_H
#define ASLEFT_BUS_RESOLVE_H

#include "types/error.h"

#include <netdb.h>
#include <stdbool.h>
#include <stdint.h>

/* The TCP addresses of `host` (a name, or an IPv4 or IPv6 address) with `port`; freeaddrinfo() them. A numeric address
 * is taken as it is; a name is looked up in a thread of its own, which is left to itself after `limit_ms`, since the
 * system's resolver cannot be told when to give up. False: ERROR_CONTACT. */
bool resolve(const char *host, unsigned port, int limit_ms, struct addrinfo **addresses, struct error *error);

/* Asks the system, as long as it takes: 0 or a getaddrinfo error. Replaced in tests. */
typedef int (*resolver)(const char *host, const char *port, const struct addrinfo *hints, struct addrinfo **addresses);
bool resolve_with(resolver ask, const char *host, unsigned port, int limit_ms, struct addrinfo **addresses,
                  struct error *error);

#endif
