/* SPDX-License-Identifier: MIT */
/* Two drives on Modbus TCP in a thread of the test, which tell what they were asked: the drive of
 * tests/whole/fixtures/writable.yaml. They answer for every unit and encode registers by themselves. */
#ifndef ASLEFT_TESTS_COMMAND_LOGGING_DRIVE_H
#define ASLEFT_TESTS_COMMAND_LOGGING_DRIVE_H

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { DRIVES = 2, DRIVE_PLACES = 0x80, DRIVE_CLIENTS = 32, DRIVE_FRAME = 260, DRIVE_HEADER = 7 };
enum { DRIVE_CURRENT = 0x10, DRIVE_SPEED = 0x11, DRIVE_ACCELERATION = 0x22, DRIVE_SAVER = 0x24, DRIVE_SAVE = 0x60 };

struct drive_client {
    int socket, drive;
    uint8_t frame[DRIVE_FRAME];
    size_t length;
};

struct drives {
    pthread_mutex_t mutex; /* over all that follows */
    uint16_t holding[DRIVES][DRIVE_PLACES];
    unsigned long requests, writes;
    unsigned long strange; /* functions that neither read nor write a value */
    unsigned long unit_0;  /* requests to it */
    uint8_t last_write[5], last_strange;
    /* of the thread */
    int listeners[DRIVES], stop[2];
    unsigned ports[DRIVES];
    struct drive_client clients[DRIVE_CLIENTS];
    size_t client_count;
    pthread_t thread;
};

/* ---- what they hold ---- */

/* Stopped, with a current, a speed and an energy saver that the sheet does not ask for. */
static inline void drives_reset(struct drives *drives)
{
    static const char serials[DRIVES][9] = {"SN-A", "SN-B"};
    (void)pthread_mutex_lock(&drives->mutex);
    memset(drives->holding, 0, sizeof drives->holding);
    for (int i = 0; i < DRIVES; i++) {
        uint16_t *holding = drives->holding[i];
        holding[0] = 0x5157;
        for (int word = 0; word < 4; word++)
            holding[1 + word] = (uint16_t)((uint8_t)serials[i][2 * word] << 8 | (uint8_t)serials[i][2 * word + 1]);
        holding[5] = 100;
        holding[DRIVE_CURRENT] = 600;
        holding[DRIVE_SPEED] = 1800;
        holding[0x12] = 600;
        holding[0x20] = 1;
        holding[DRIVE_ACCELERATION] = 100;
        holding[0x30] = 3;
    }
    (void)pthread_mutex_unlock(&drives->mutex);
}

static inline void drives_set(struct drives *drives, int drive, unsigned place, uint16_t word)
{
    (void)pthread_mutex_lock(&drives->mutex);
    drives->holding[drive][place] = word;
    (void)pthread_mutex_unlock(&drives->mutex);
}

/* ---- what they answer: the PDU goes in and out; returns its length ---- */

static inline size_t drive_refuse(uint8_t *pdu, uint8_t exception)
{
    pdu[0] |= 0x80;
    pdu[1] = exception;
    return 2;
}

static inline size_t drive_read(const uint16_t *holding, uint8_t *pdu, unsigned at, unsigned count)
{
    bool bits = pdu[0] <= 2;
    if (count == 0 || at + count > DRIVE_PLACES || count > 125)
        return drive_refuse(pdu, 2);
    size_t bytes = bits ? (count + 7) / 8 : 2 * (size_t)count;
    uint8_t function = pdu[0];
    pdu[1] = (uint8_t)bytes;
    memset(pdu + 2, 0, bytes); /* neither run command nor enable */
    for (unsigned i = 0; i < count && !bits; i++) {
        uint16_t word = function == 3 ? holding[at + i] : (uint16_t)(at + i == 0 ? 1U << 1 : 0); /* stopped */
        pdu[2 + 2 * i] = (uint8_t)(word >> 8);
        pdu[3 + 2 * i] = (uint8_t)word;
    }
    return 2 + bytes;
}

static inline size_t drive_answer(struct drives *drives, int drive, uint8_t unit, uint8_t *pdu)
{
    unsigned at = (unsigned)pdu[1] << 8 | pdu[2], word = (unsigned)pdu[3] << 8 | pdu[4];
    drives->requests++;
    drives->unit_0 += unit == 0;
    switch (pdu[0]) {
    case 1:
    case 2:
    case 3:
    case 4:
        return drive_read(drives->holding[drive], pdu, at, word);
    case 17:
    case 43:
        return drive_refuse(pdu, 1);
    case 5:
    case 6:
    case 15:
    case 16:
        drives->writes++;
        memcpy(drives->last_write, pdu, sizeof drives->last_write);
        if (pdu[0] != 6 || at >= DRIVE_PLACES)
            return drive_refuse(pdu, 1);
        drives->holding[drive][at] = (uint16_t)(at == DRIVE_SAVE ? 0 : word);
        return 5;
    default:
        drives->strange++;
        drives->last_strange = pdu[0];
        return drive_refuse(pdu, 1);
    }
}

/* ---- the thread ---- */

/* Answers one whole frame at the front of what was received; false where there is none yet. */
static inline bool drive_take(struct drives *drives, struct drive_client *client)
{
    if (client->length < DRIVE_HEADER + 1)
        return false;
    size_t whole = 6 + ((size_t)client->frame[4] << 8 | client->frame[5]);
    if (whole > DRIVE_FRAME || client->length < whole)
        return false;
    uint8_t reply[2 * DRIVE_FRAME] = {0};
    memcpy(reply, client->frame, whole);
    (void)pthread_mutex_lock(&drives->mutex);
    size_t length = 1 + drive_answer(drives, client->drive, reply[6], reply + DRIVE_HEADER);
    (void)pthread_mutex_unlock(&drives->mutex);
    reply[4] = (uint8_t)(length >> 8);
    reply[5] = (uint8_t)length;
    (void)!send(client->socket, reply, 6 + length, MSG_NOSIGNAL);
    client->length -= whole;
    memmove(client->frame, client->frame + whole, client->length);
    return true;
}

/* False where the client has gone. */
static inline bool drive_hear(struct drives *drives, struct drive_client *client)
{
    ssize_t got = recv(client->socket, client->frame + client->length, sizeof client->frame - client->length, 0);
    if (got <= 0)
        return false;
    client->length += (size_t)got;
    while (drive_take(drives, client))
        continue;
    return true;
}

static inline void drives_accept(struct drives *drives, int drive)
{
    int accepted = accept(drives->listeners[drive], NULL, NULL);
    if (accepted >= 0 && drives->client_count == DRIVE_CLIENTS) {
        (void)close(accepted);
    } else if (accepted >= 0) {
        drives->clients[drives->client_count++] = (struct drive_client){.socket = accepted, .drive = drive};
    }
}

static inline void *drives_serve(void *user)
{
    struct drives *drives = user;
    for (;;) {
        struct pollfd watched[1 + DRIVES + DRIVE_CLIENTS] = {{.fd = drives->stop[0], .events = POLLIN}};
        for (int i = 0; i < DRIVES; i++)
            watched[1 + i] = (struct pollfd){.fd = drives->listeners[i], .events = POLLIN};
        size_t count = drives->client_count;
        for (size_t i = 0; i < count; i++)
            watched[1 + DRIVES + i] = (struct pollfd){.fd = drives->clients[i].socket, .events = POLLIN};
        if (poll(watched, 1 + DRIVES + count, -1) < 0)
            continue;
        if (watched[0].revents != 0)
            return NULL;
        for (size_t i = count; i > 0; i--) {
            struct drive_client *client = &drives->clients[i - 1];
            if (watched[DRIVES + i].revents == 0 || drive_hear(drives, client))
                continue;
            (void)close(client->socket);
            *client = drives->clients[--drives->client_count];
        }
        for (int i = 0; i < DRIVES; i++)
            if (watched[1 + i].revents != 0)
                drives_accept(drives, i);
    }
}

static inline bool drive_listen(struct drives *drives, int drive)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t length = sizeof address;
    int listener = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    drives->listeners[drive] = listener;
    if (bind(listener, (struct sockaddr *)&address, sizeof address) != 0 || listen(listener, DRIVE_CLIENTS) != 0 ||
        getsockname(listener, (struct sockaddr *)&address, &length) != 0)
        return false;
    drives->ports[drive] = ntohs(address.sin_port);
    return true;
}

/* On ports of the kernel's choice. */
static inline bool drives_start(struct drives *drives)
{
    *drives = (struct drives){0};
    if (pthread_mutex_init(&drives->mutex, NULL) != 0 || pipe(drives->stop) != 0)
        return false;
    drives_reset(drives);
    for (int i = 0; i < DRIVES; i++)
        if (!drive_listen(drives, i))
            return false;
    return pthread_create(&drives->thread, NULL, drives_serve, drives) == 0;
}

static inline void drives_end(struct drives *drives)
{
    (void)!write(drives->stop[1], "x", 1);
    (void)pthread_join(drives->thread, NULL);
    for (size_t i = 0; i < drives->client_count; i++)
        (void)close(drives->clients[i].socket);
    for (int i = 0; i < DRIVES; i++)
        (void)close(drives->listeners[i]);
    (void)close(drives->stop[0]);
    (void)close(drives->stop[1]);
    (void)pthread_mutex_destroy(&drives->mutex);
}

/* One of the counts above. A request that nobody waited for may be missing for a moment. */
static inline unsigned long drives_count(struct drives *drives, const unsigned long *counter)
{
    (void)pthread_mutex_lock(&drives->mutex);
    unsigned long count = *counter;
    (void)pthread_mutex_unlock(&drives->mutex);
    return count;
}

#endif
