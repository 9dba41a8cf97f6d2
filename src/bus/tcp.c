/* SPDX-License-Identifier: MIT */
/* A TCP connection as a link's transport: non-blocking, address by address, the true reason of a failure kept. */
#include "bus/tcp.h"

#include "bus/clock.h"
#include "bus/resolve.h"
#include "types/memory.h"

#include <errno.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <unistd.h>

enum { LOOK_UP_WITHIN_MS = 3000, CONNECT_WITHIN_US = 3000000 };

static int64_t now_us(void)
{
    struct clock clock = clock_system();
    return clock.now_us(clock.user);
}

struct tcp {
    struct addrinfo *addresses;
    const struct addrinfo *next; /* to try */
    int socket;                  /* -1: none */
    bool connected;
    enum contact failure; /* the best of the addresses that failed */
    int64_t give_up_us;   /* on the address being tried, where there is another one */
    int64_t share_us;
};

static void drop_socket(struct tcp *tcp)
{
    if (tcp->socket >= 0)
        (void)close(tcp->socket);
    tcp->socket = -1;
    tcp->connected = false;
}

/* Begins with the next address. 0 or EINPROGRESS: under way; another errno: it failed. */
static int try_next(struct tcp *tcp)
{
    const struct addrinfo *address = tcp->next;
    tcp->next = address->ai_next;
    tcp->give_up_us = now_us() + tcp->share_us;
    tcp->socket = socket(address->ai_family, address->ai_socktype | SOCK_NONBLOCK | SOCK_CLOEXEC, address->ai_protocol);
    if (tcp->socket < 0)
        return errno;
    int on = 1;
    (void)setsockopt(tcp->socket, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    return connect(tcp->socket, address->ai_addr, address->ai_addrlen) == 0 ? 0 : errno;
}

/* What became of the connect under way: 0, EINPROGRESS, or why it failed. */
static int progress(const struct tcp *tcp)
{
    struct pollfd ready = {.fd = tcp->socket, .events = POLLOUT};
    if (poll(&ready, 1, 0) <= 0)
        return EINPROGRESS;
    int failure = 0;
    socklen_t size = sizeof failure;
    return getsockopt(tcp->socket, SOL_SOCKET, SO_ERROR, &failure, &size) == 0 ? failure : errno;
}

static enum contact tcp_connect(void *user)
{
    struct tcp *tcp = user;
    if (tcp->connected)
        return CONTACT_OPEN;
    if (tcp->socket < 0) {
        tcp->next = tcp->addresses;
        tcp->failure = CONTACT_UNREACHABLE;
    }
    for (;;) {
        int outcome = tcp->socket >= 0 ? progress(tcp) : try_next(tcp);
        if (outcome == 0) {
            tcp->connected = true;
            return CONTACT_OPEN;
        }
        bool under_way = outcome == EINPROGRESS || outcome == EINTR;
        if (under_way && (tcp->next == NULL || now_us() < tcp->give_up_us))
            return CONTACT_PENDING;
        if (outcome == ECONNREFUSED || outcome == ECONNRESET)
            tcp->failure = CONTACT_REFUSED;
        drop_socket(tcp);
        if (tcp->next == NULL)
            return tcp->failure;
    }
}

static void tcp_disconnect(void *user)
{
    struct tcp *tcp = user;
    /* Bytes left unread would make the close a reset. */
    uint8_t rest[512];
    if (tcp->connected)
        while (recv(tcp->socket, rest, sizeof rest, MSG_DONTWAIT) == (ssize_t)sizeof rest)
            ;
    drop_socket(tcp);
}

static ssize_t outcome_of(ssize_t moved)
{
    if (moved >= 0)
        return moved;
    return errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR ? 0 : -1;
}

static ssize_t tcp_read(void *user, uint8_t *bytes, size_t size)
{
    const struct tcp *tcp = user;
    ssize_t got = recv(tcp->socket, bytes, size, MSG_DONTWAIT);
    return got == 0 ? -1 : outcome_of(got);
}

static ssize_t tcp_write(void *user, const uint8_t *bytes, size_t size)
{
    const struct tcp *tcp = user;
    return outcome_of(send(tcp->socket, bytes, size, MSG_DONTWAIT | MSG_NOSIGNAL));
}

static int tcp_descriptor(void *user)
{
    return ((const struct tcp *)user)->socket;
}

static void tcp_close(void *user)
{
    struct tcp *tcp = user;
    tcp_disconnect(tcp);
    freeaddrinfo(tcp->addresses);
    free(tcp);
}

struct transport tcp_to(struct addrinfo *addresses)
{
    struct tcp *tcp = memory_new(1, sizeof *tcp);
    tcp->addresses = addresses;
    tcp->socket = -1;
    int64_t count = 1;
    for (const struct addrinfo *address = addresses->ai_next; address != NULL; address = address->ai_next)
        count++;
    tcp->share_us = CONNECT_WITHIN_US / count;
    return (struct transport){.connect = tcp_connect,
                              .disconnect = tcp_disconnect,
                              .read = tcp_read,
                              .write = tcp_write,
                              .descriptor = tcp_descriptor,
                              .close = tcp_close,
                              .user = tcp};
}

bool tcp_open(const char *host, unsigned port, struct transport *transport, struct error *error)
{
    struct addrinfo *addresses = NULL;
    if (!resolve(host, port, LOOK_UP_WITHIN_MS, &addresses, error))
        return false;
    *transport = tcp_to(addresses);
    return true;
}
