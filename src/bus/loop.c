/* SPDX-License-Identifier: MIT */
/* The event loop on epoll: one timer descriptor for the earliest deadline, one eventfd for loop_stop. */
#include "bus/loop.h"

#include "types/memory.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/epoll.h>
#include <sys/eventfd.h>
#include <sys/timerfd.h>
#include <unistd.h>

enum { EVENTS_AT_ONCE = 64 };
static const size_t NOT_IN_HEAP = SIZE_MAX;

struct watch {
    struct loop *loop;
    void (*ready)(void *user);
    void *user;
    int descriptor;
    uint32_t events;
    int64_t deadline_us;
    size_t place; /* in the heap */
    bool freed;   /* freed while callbacks run; its memory goes when they have */
    struct watch *previous, *next;
};

struct loop {
    struct clock clock;
    struct waiter waiter; /* wait == NULL: epoll */
    int epoll, timer, wake;
    volatile sig_atomic_t stopped;
    bool dispatching;
    bool freed_some; /* watches to bury after the callbacks */
    struct watch *watches;
    struct watch **heap; /* earliest deadline first */
    size_t heap_count;
};

/* ---- deadlines: a binary heap, so that ten thousand links cost no more than ten ---- */

static void heap_put(struct loop *loop, size_t place, struct watch *watch)
{
    loop->heap[place] = watch;
    watch->place = place;
}

static void heap_up(struct loop *loop, size_t place)
{
    struct watch *watch = loop->heap[place];
    while (place > 0) {
        size_t parent = (place - 1) / 2;
        if (loop->heap[parent]->deadline_us <= watch->deadline_us)
            break;
        heap_put(loop, place, loop->heap[parent]);
        place = parent;
    }
    heap_put(loop, place, watch);
}

static void heap_down(struct loop *loop, size_t place)
{
    struct watch *watch = loop->heap[place];
    for (;;) {
        size_t child = 2 * place + 1;
        if (child >= loop->heap_count)
            break;
        if (child + 1 < loop->heap_count && loop->heap[child + 1]->deadline_us < loop->heap[child]->deadline_us)
            child++;
        if (watch->deadline_us <= loop->heap[child]->deadline_us)
            break;
        heap_put(loop, place, loop->heap[child]);
        place = child;
    }
    heap_put(loop, place, watch);
}

static void heap_remove(struct loop *loop, struct watch *watch)
{
    size_t place = watch->place;
    if (place == NOT_IN_HEAP)
        return;
    watch->place = NOT_IN_HEAP;
    struct watch *last = loop->heap[--loop->heap_count];
    if (last == watch)
        return;
    heap_put(loop, place, last);
    heap_up(loop, place);
    heap_down(loop, last->place);
}

void watch_deadline(struct watch *watch, int64_t deadline_us)
{
    struct loop *loop = watch->loop;
    if (deadline_us == watch->deadline_us && (deadline_us < 0) == (watch->place == NOT_IN_HEAP))
        return;
    heap_remove(loop, watch);
    watch->deadline_us = deadline_us;
    if (deadline_us < 0)
        return;
    loop->heap = memory_grow(loop->heap, loop->heap_count, sizeof(struct watch *));
    heap_put(loop, loop->heap_count++, watch);
    heap_up(loop, watch->place);
}

/* ---- descriptors ---- */

void watch_descriptor(struct watch *watch, int descriptor, bool to_write)
{
    struct loop *loop = watch->loop;
    uint32_t events = EPOLLIN | (to_write ? (uint32_t)EPOLLOUT : 0);
    if (loop->epoll < 0 || (descriptor == watch->descriptor && (descriptor < 0 || events == watch->events)))
        return;
    struct epoll_event event = {.events = events, .data.ptr = watch};
    if (descriptor == watch->descriptor) {
        if (descriptor >= 0)
            (void)epoll_ctl(loop->epoll, EPOLL_CTL_MOD, descriptor, &event);
    } else {
        if (watch->descriptor >= 0)
            (void)epoll_ctl(loop->epoll, EPOLL_CTL_DEL, watch->descriptor, NULL);
        if (descriptor >= 0)
            (void)epoll_ctl(loop->epoll, EPOLL_CTL_ADD, descriptor, &event);
    }
    watch->descriptor = descriptor;
    watch->events = events;
}

struct watch *watch_new(struct loop *loop, void (*ready)(void *user), void *user)
{
    struct watch *watch = memory_new(1, sizeof *watch);
    *watch = (struct watch){.loop = loop,
                            .ready = ready,
                            .user = user,
                            .descriptor = -1,
                            .deadline_us = -1,
                            .place = NOT_IN_HEAP,
                            .next = loop->watches};
    if (loop->watches != NULL)
        loop->watches->previous = watch;
    loop->watches = watch;
    return watch;
}

static void watch_unlink(struct watch *watch)
{
    if (watch->previous != NULL)
        watch->previous->next = watch->next;
    else
        watch->loop->watches = watch->next;
    if (watch->next != NULL)
        watch->next->previous = watch->previous;
    free(watch);
}

void watch_free(struct watch *watch)
{
    if (watch == NULL)
        return;
    watch_descriptor(watch, -1, false);
    watch_deadline(watch, -1);
    watch->freed = true;
    if (watch->loop->dispatching)
        watch->loop->freed_some = true;
    else
        watch_unlink(watch);
}

static void bury_freed_watches(struct loop *loop)
{
    if (!loop->freed_some)
        return;
    loop->freed_some = false;
    for (struct watch *watch = loop->watches, *next; watch != NULL; watch = next) {
        next = watch->next;
        if (watch->freed)
            watch_unlink(watch);
    }
}

/* ---- the loop ---- */

static int watch_own(int epoll, int descriptor)
{
    struct epoll_event event = {.events = EPOLLIN, .data.ptr = NULL};
    if (descriptor < 0 || epoll_ctl(epoll, EPOLL_CTL_ADD, descriptor, &event) != 0)
        abort(); /* out of descriptors before anything began */
    return descriptor;
}

struct loop *loop_new(const struct clock *clock)
{
    struct loop *loop = memory_new(1, sizeof *loop);
    loop->clock = *clock;
    loop->epoll = epoll_create1(EPOLL_CLOEXEC);
    loop->timer = watch_own(loop->epoll, timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK | TFD_CLOEXEC));
    loop->wake = watch_own(loop->epoll, eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC));
    return loop;
}

struct loop *loop_new_waiting(const struct clock *clock, const struct waiter *waiter)
{
    struct loop *loop = memory_new(1, sizeof *loop);
    loop->clock = *clock;
    loop->waiter = *waiter;
    loop->epoll = loop->timer = loop->wake = -1;
    return loop;
}

void loop_free(struct loop *loop)
{
    if (loop == NULL)
        return;
    for (struct watch *watch = loop->watches, *next; watch != NULL; watch = next) {
        next = watch->next;
        free(watch);
    }
    if (loop->epoll >= 0) {
        (void)close(loop->timer);
        (void)close(loop->wake);
        (void)close(loop->epoll);
    }
    free(loop->heap);
    free(loop);
}

const struct clock *loop_clock(const struct loop *loop)
{
    return &loop->clock;
}

int64_t loop_now_us(const struct loop *loop)
{
    return loop->clock.now_us(loop->clock.user);
}

void loop_stop(struct loop *loop)
{
    int saved = errno;
    loop->stopped = 1;
    if (loop->wake >= 0) {
        uint64_t one = 1;
        ssize_t written = write(loop->wake, &one, sizeof one);
        (void)written; /* it fails only when full, and then it wakes all the same */
    }
    errno = saved;
}

/* Calls the watches whose deadline has passed; true where there was one. */
static bool run_due(struct loop *loop)
{
    int64_t now_us = loop_now_us(loop);
    bool any = false;
    /* A callback may set a deadline that is due at once: it waits for the next round, so that descriptors get a turn.
     */
    for (size_t turns = loop->heap_count; turns > 0 && loop->heap_count > 0; turns--) {
        struct watch *watch = loop->heap[0];
        if (watch->deadline_us > now_us)
            break;
        watch_deadline(watch, -1);
        watch->ready(watch->user);
        any = true;
    }
    return any;
}

static void wait_on_descriptors(struct loop *loop, int64_t until_us)
{
    int timeout = -1;
    if (until_us >= 0) {
        int64_t left_us = until_us - loop_now_us(loop);
        if (left_us <= 0) {
            timeout = 0;
        } else {
            struct itimerspec time = {
                .it_value = {.tv_sec = (time_t)(left_us / 1000000), .tv_nsec = (long)(left_us % 1000000) * 1000}};
            (void)timerfd_settime(loop->timer, 0, &time, NULL);
        }
    }
    struct epoll_event events[EVENTS_AT_ONCE];
    int count = epoll_wait(loop->epoll, events, EVENTS_AT_ONCE, timeout);
    if (until_us >= 0 && timeout != 0) {
        struct itimerspec off = {0};
        (void)timerfd_settime(loop->timer, 0, &off, NULL); /* also takes back that it has fired */
    }
    for (int i = 0; i < count; i++) {
        struct watch *watch = events[i].data.ptr;
        if (watch != NULL && !watch->freed)
            watch->ready(watch->user);
    }
}

/* False where nothing can happen any more. */
static bool wait_injected(struct loop *loop, int64_t until_us)
{
    if (!loop->waiter.wait(loop->waiter.user, until_us))
        return false;
    for (struct watch *watch = loop->watches; watch != NULL; watch = watch->next)
        if (!watch->freed)
            watch->ready(watch->user);
    return true;
}

static bool use_up_stop(struct loop *loop)
{
    if (!loop->stopped)
        return false;
    loop->stopped = 0;
    if (loop->wake >= 0) {
        uint64_t count = 0;
        ssize_t got = read(loop->wake, &count, sizeof count);
        (void)got; /* empty where the flag was seen before the descriptor */
    }
    return true;
}

/* One round: what is due, then what is ready; waits only where nothing was due, since a callback may have brought about
 * what loop_run is to run for. False where nothing can happen any more. */
static bool round_of(struct loop *loop, int64_t deadline_us)
{
    loop->dispatching = true;
    bool any = run_due(loop);
    int64_t until_us = any ? 0 : deadline_us;
    if (loop->heap_count > 0 && (until_us < 0 || loop->heap[0]->deadline_us < until_us))
        until_us = loop->heap[0]->deadline_us;
    bool alive = true;
    if (loop->waiter.wait == NULL)
        wait_on_descriptors(loop, until_us);
    else if (!any)
        alive = wait_injected(loop, until_us);
    loop->dispatching = false;
    bury_freed_watches(loop);
    return alive;
}

bool loop_run(struct loop *loop, bool (*until)(void *user), void *user, int64_t deadline_us)
{
    for (;;) {
        if (until != NULL && until(user))
            return true;
        if (use_up_stop(loop))
            return false;
        if (deadline_us >= 0 && loop_now_us(loop) >= deadline_us)
            return false;
        if (!round_of(loop, deadline_us))
            return until != NULL && until(user);
    }
}
