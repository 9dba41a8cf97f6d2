/* SPDX-License-Identifier: MIT */
/* Modbus TCP: a listening socket and its clients. Requests are collected by the length in their own header, so that a
 * client that stops in the middle of one holds up nobody; libmodbus or the frame loop gets the whole one and replies.
 */
#include "sim/station_private.h"

#include "types/memory.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

/* The header counts from its unit on: at least unit and function, at most unit and the longest PDU. */
enum { MOST_CLIENTS = 64, LENGTH_ENDS_AT = 6, SHORTEST_LENGTH = 2, LONGEST_LENGTH = 1 + MODBUS_MAX_PDU_LENGTH };

struct client {
    int descriptor;
    uint64_t number; /* never that of another one */
    uint8_t bytes[MODBUS_TCP_MAX_ADU_LENGTH];
    size_t count;
    uint64_t heard; /* when it last said something, in accepted and heard events */
};

struct tcp_line {
    int listener;
    size_t limit; /* clients at a time */
    bool evicts;  /* beyond the limit, the longest silent one goes; else the newcomer */
    struct client clients[MOST_CLIENTS];
    size_t count;
    uint64_t events;
    uint64_t numbers; /* given out */
};

static void drop_client(struct tcp_line *line, size_t index)
{
    (void)close(line->clients[index].descriptor);
    line->clients[index] = line->clients[--line->count];
}

static size_t longest_silent(const struct tcp_line *line)
{
    size_t longest = 0;
    for (size_t i = 1; i < line->count; i++)
        if (line->clients[i].heard < line->clients[longest].heard)
            longest = i;
    return longest;
}

static void accept_client(struct tcp_line *line)
{
    const int descriptor = accept4(line->listener, NULL, NULL, SOCK_NONBLOCK | SOCK_CLOEXEC);
    if (descriptor < 0)
        return;
    if (line->count == line->limit) {
        if (!line->evicts) {
            (void)close(descriptor);
            return;
        }
        drop_client(line, longest_silent(line));
    }
    const int on = 1;
    (void)setsockopt(descriptor, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    line->clients[line->count++] =
        (struct client){.descriptor = descriptor, .number = ++line->numbers, .heard = ++line->events};
}

/* How long the request at the front is: 0 while that is not known, -1 where it cannot be Modbus. */
static int request_length(const struct client *client)
{
    if (client->count < LENGTH_ENDS_AT)
        return 0;
    const unsigned protocol = (unsigned)client->bytes[2] << 8 | client->bytes[3];
    const unsigned length = (unsigned)client->bytes[4] << 8 | client->bytes[5];
    if (protocol != 0 || length < SHORTEST_LENGTH || length > LONGEST_LENGTH)
        return -1;
    return LENGTH_ENDS_AT + (int)length;
}

static bool answer_request(const struct client *client, struct station *station, size_t length, int64_t now_us)
{
    if (station->server == NULL) {
        (void)modbus_set_socket(station->modbus, client->descriptor);
        return station_answer(station, client->bytes, length, now_us);
    }
    server_take(station->server, &(struct arrival){
                                     .client = client->number,
                                     .frame = client->bytes,
                                     .frame_length = length,
                                     .transaction = (uint16_t)(client->bytes[0] << 8 | client->bytes[1]),
                                     .unit = client->bytes[TCP_HEADER - 1],
                                     .pdu = client->bytes + TCP_HEADER,
                                     .pdu_length = length - TCP_HEADER,
                                 });
    return true;
}

/* Reads what there is and answers each whole request. False where the client is to be dropped. */
static bool serve_client(struct client *client, struct station *station, int64_t now_us)
{
    const ssize_t got =
        recv(client->descriptor, client->bytes + client->count, sizeof client->bytes - client->count, 0);
    if (got < 0)
        return errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR;
    if (got == 0)
        return false;
    client->count += (size_t)got;
    for (;;) {
        const int length = request_length(client);
        if (length < 0)
            return false;
        if (length == 0 || client->count < (size_t)length)
            return true;
        if (!answer_request(client, station, (size_t)length, now_us))
            return false;
        client->count -= (size_t)length;
        memmove(client->bytes, client->bytes + length, client->count);
    }
}

static size_t find_client(const struct tcp_line *line, uint64_t number)
{
    size_t index = 0;
    while (index < line->count && line->clients[index].number != number)
        index++;
    return index;
}

/* A client that is gone by now, or takes no more, gets nothing. */
static void tcp_send(void *opaque, uint64_t number, const uint8_t *bytes, size_t length)
{
    struct tcp_line *line = opaque;
    const size_t index = find_client(line, number);
    if (index < line->count)
        (void)send(line->clients[index].descriptor, bytes, length, MSG_NOSIGNAL | MSG_DONTWAIT);
}

static void tcp_hang_up(void *opaque, uint64_t number)
{
    struct tcp_line *line = opaque;
    const size_t index = find_client(line, number);
    if (index < line->count)
        drop_client(line, index);
}

static size_t tcp_watch(const void *opaque, struct pollfd *watched)
{
    const struct tcp_line *line = opaque;
    watched[0] = (struct pollfd){.fd = line->listener, .events = POLLIN};
    for (size_t i = 0; i < line->count; i++)
        watched[1 + i] = (struct pollfd){.fd = line->clients[i].descriptor, .events = POLLIN};
    return 1 + line->count;
}

static void tcp_serve(void *opaque, struct station *station, const struct pollfd *watched, size_t count, int64_t now_us)
{
    struct tcp_line *line = opaque;
    /* From the last to the first: dropping one moves the last into its place. Accepting changes places, so it is last.
     */
    for (size_t i = count - 1; i >= 1; i--) {
        if (watched[i].revents == 0)
            continue;
        struct client *client = &line->clients[i - 1];
        client->heard = ++line->events;
        if (!serve_client(client, station, now_us))
            drop_client(line, i - 1);
    }
    if (watched[0].revents != 0)
        accept_client(line);
}

static void tcp_close(void *opaque)
{
    struct tcp_line *line = opaque;
    while (line->count > 0)
        drop_client(line, 0);
    (void)close(line->listener);
    free(line);
}

static int listen_at(const struct addrinfo *address)
{
    const int listener = socket(address->ai_family, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    if (listener < 0)
        return -1;
    const int on = 1;
    (void)setsockopt(listener, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
    if (bind(listener, address->ai_addr, address->ai_addrlen) == 0 && listen(listener, SOMAXCONN) == 0)
        return listener;
    const int reason = errno;
    (void)close(listener);
    errno = reason;
    return -1;
}

static int open_listener(const char *host, const char *port, struct error *error)
{
    const struct addrinfo hints = {.ai_socktype = SOCK_STREAM};
    struct addrinfo *found = NULL;
    const int reason = getaddrinfo(host, port, &hints, &found);
    if (reason != 0) {
        error_set(error, ERROR_CONTACT, "cannot listen on '%s': %s", host, gai_strerror(reason));
        return -1;
    }
    int listener = -1;
    for (const struct addrinfo *address = found; address != NULL && listener < 0; address = address->ai_next)
        listener = listen_at(address);
    if (listener < 0)
        error_set(error, ERROR_CONTACT, "cannot listen on %s port %s: %s", host, port, strerror(errno));
    freeaddrinfo(found);
    return listener;
}

/* "tcp 127.0.0.1:40001", "tcp [::1]:40001" */
static char *place_of(int listener)
{
    struct sockaddr_storage name = {0};
    socklen_t size = sizeof name;
    char host[NI_MAXHOST];
    char port[8];
    if (getsockname(listener, (struct sockaddr *)&name, &size) != 0 ||
        getnameinfo((struct sockaddr *)&name, size, host, sizeof host, port, sizeof port,
                    NI_NUMERICHOST | NI_NUMERICSERV) != 0)
        return text_copy("tcp");
    return text_format(name.ss_family == AF_INET6 ? "tcp [%s]:%s" : "tcp %s:%s", host, port);
}

bool station_open_tcp(struct drive *drive, const char *host, const char *port, unsigned unit, struct station **station,
                      struct error *error)
{
    static const struct station_kind kind = {.watch = tcp_watch,
                                             .serve = tcp_serve,
                                             .close = tcp_close,
                                             .server_line = {.send = tcp_send, .hang_up = tcp_hang_up}};
    const int listener = open_listener(host != NULL ? host : "127.0.0.1", port, error);
    if (listener < 0)
        return false;
    struct tcp_line *line = memory_new(1, sizeof *line);
    const unsigned connections = drive->map->modbus.connections;
    line->listener = listener;
    line->limit = connections > 0 && connections < MOST_CLIENTS ? connections : MOST_CLIENTS;
    line->evicts = connections == 0;
    *station = station_new(&kind, drive, modbus_new_tcp("127.0.0.1", 0), unit);
    (*station)->line = line;
    (*station)->place = place_of(listener);
    return true;
}
