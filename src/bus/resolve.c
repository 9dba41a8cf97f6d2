/* SPDX-License-Identifier: MIT */
/* Host names to addresses, within a time limit. */
#include "bus/resolve.h"

#include "types/memory.h"

#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* Shared by the thread that asks and the one that waits; the last to leave frees it. */
struct question {
    pthread_mutex_t lock;
    pthread_cond_t answered;
    resolver ask;
    char *host;
    char port[8];
    bool done, abandoned;
    int result;
    struct addrinfo *addresses;
};

static void question_free(struct question *question)
{
    if (question->addresses != NULL)
        freeaddrinfo(question->addresses);
    (void)pthread_mutex_destroy(&question->lock);
    (void)pthread_cond_destroy(&question->answered);
    free(question->host);
    free(question);
}

static struct addrinfo hints(int flags)
{
    return (struct addrinfo){.ai_family = AF_UNSPEC, .ai_socktype = SOCK_STREAM, .ai_flags = flags | AI_NUMERICSERV};
}

static void *ask_in_thread(void *user)
{
    struct question *question = user;
    const struct addrinfo wanted = hints(0);
    struct addrinfo *addresses = NULL;
    int result = question->ask(question->host, question->port, &wanted, &addresses);
    (void)pthread_mutex_lock(&question->lock);
    question->result = result;
    question->addresses = result == 0 ? addresses : NULL;
    question->done = true;
    bool mine = question->abandoned;
    (void)pthread_cond_signal(&question->answered);
    (void)pthread_mutex_unlock(&question->lock);
    if (mine)
        question_free(question);
    return NULL;
}

static struct question *question_new(resolver ask, const char *host, const char *port)
{
    struct question *question = memory_new(1, sizeof *question);
    question->ask = ask;
    question->host = text_copy(host);
    (void)snprintf(question->port, sizeof question->port, "%s", port);
    (void)pthread_mutex_init(&question->lock, NULL);
    pthread_condattr_t attributes;
    (void)pthread_condattr_init(&attributes);
    (void)pthread_condattr_setclock(&attributes, CLOCK_MONOTONIC);
    (void)pthread_cond_init(&question->answered, &attributes);
    (void)pthread_condattr_destroy(&attributes);
    return question;
}

/* True where the answer came in time. */
static bool wait_for_answer(struct question *question, int limit_ms)
{
    struct timespec until;
    (void)clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += limit_ms / 1000;
    until.tv_nsec += (long)(limit_ms % 1000) * 1000000;
    if (until.tv_nsec >= 1000000000) {
        until.tv_sec++;
        until.tv_nsec -= 1000000000;
    }
    int waited = 0;
    while (!question->done && waited != ETIMEDOUT)
        waited = pthread_cond_timedwait(&question->answered, &question->lock, &until);
    return question->done;
}

bool resolve_with(resolver ask, const char *host, unsigned port, int limit_ms, struct addrinfo **addresses,
                  struct error *error)
{
    char service[8];
    (void)snprintf(service, sizeof service, "%u", port % 65536U);
    const struct addrinfo numeric = hints(AI_NUMERICHOST);
    if (getaddrinfo(host, service, &numeric, addresses) == 0)
        return true;

    struct question *question = question_new(ask, host, service);
    pthread_t thread;
    if (pthread_create(&thread, NULL, ask_in_thread, question) != 0) {
        question_free(question);
        return error_set(error, ERROR_CONTACT, "host \"%s\" cannot be looked up: no thread for it; give its address",
                         host);
    }
    (void)pthread_mutex_lock(&question->lock);
    bool in_time = wait_for_answer(question, limit_ms);
    question->abandoned = !in_time;
    (void)pthread_mutex_unlock(&question->lock);
    if (!in_time) {
        (void)pthread_detach(thread);
        return error_set_line(
            error, ERROR_CONTACT, LINE_HOST_UNKNOWN,
            "host \"%s\" was not found within %d ms; give its address, or see why names are slow here", host, limit_ms);
    }
    (void)pthread_join(thread, NULL);
    int result = question->result;
    *addresses = question->addresses;
    question->addresses = NULL;
    question_free(question);
    if (result != 0)
        return error_set_line(error, ERROR_CONTACT, LINE_HOST_UNKNOWN,
                              "host \"%s\" is not known (%s); check its spelling or give its address", host,
                              gai_strerror(result));
    return true;
}

bool resolve(const char *host, unsigned port, int limit_ms, struct addrinfo **addresses, struct error *error)
{
    return resolve_with(getaddrinfo, host, port, limit_ms, addresses, error);
}
