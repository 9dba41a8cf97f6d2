/* SPDX-License-Identifier: MIT */
/* A TCP connection as a link's transport. */
#ifndef ASLEFT_BUS_TCP_H
#define ASLEFT_BUS_TCP_H

#include "bus/transport.h"
#include "types/error.h"

#include <netdb.h>
#include <stdbool.h>

/* Finds the addresses of `host` (at most 3 s), IPv4 and IPv6; connects when the link asks, trying one after the other.
 * The contact is that of the address that came furthest: refused rather than unreachable. False: ERROR_CONTACT. */
bool tcp_open(const char *host, unsigned port, struct transport *transport, struct error *error);

/* The same for addresses that are already known, at least one; the transport frees them (freeaddrinfo). */
struct transport tcp_to(struct addrinfo *addresses);

#endif
