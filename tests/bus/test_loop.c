/* SPDX-License-Identifier: MIT */
/* The event loop: descriptors of any number, deadlines in order, stopping, freeing from callbacks. */
#include "bus/loop.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/time.h>
#include <unistd.h>

#include <fcntl.h>

#include <cmocka.h>

static struct loop *system_loop(void)
{
    struct clock clock = clock_system();
    return loop_new(&clock);
}

/* ---- a clock that moves only when waited on ---- */

struct hands {
    int64_t now_us;
};

static int64_t hands_now_us(void *user)
{
    return ((struct hands *)user)->now_us;
}

static bool hands_wait(void *user, int64_t until_us)
{
    struct hands *hands = user;
    if (until_us < 0)
        return false;
    hands->now_us = until_us;
    return true;
}

static struct loop *loop_on(struct hands *hands)
{
    const struct clock clock = {.now_us = hands_now_us, .user = hands};
    const struct waiter waiter = {.wait = hands_wait, .user = hands};
    return loop_new_waiting(&clock, &waiter);
}

static bool never(void *user)
{
    (void)user;
    return false;
}

static bool is_set(void *user)
{
    return *(bool *)user;
}

/* ---- deadlines ---- */

struct alarm {
    struct watch *watch;
    int64_t at_us;
    unsigned *order;
    unsigned rank;
};

static void note_order(void *user)
{
    struct alarm *alarm = user;
    alarm->rank = ++*alarm->order;
}

enum { ALARMS = 200 };

static bool all_but_one_rang(void *user)
{
    return *(const unsigned *)user == ALARMS - 1;
}

static void deadlines_are_met_in_their_order(void **state)
{
    (void)state;
    struct loop *loop = system_loop();
    struct alarm alarms[ALARMS];
    unsigned order = 0;
    int64_t start_us = loop_now_us(loop);
    for (unsigned i = 0; i < ALARMS; i++) {
        int64_t at_us = start_us + 1 + (int64_t)(i * 7919 % ALARMS);
        alarms[i] = (struct alarm){.at_us = at_us, .order = &order};
        alarms[i].watch = watch_new(loop, note_order, &alarms[i]);
        watch_deadline(alarms[i].watch, start_us + (int64_t)i);
        watch_deadline(alarms[i].watch, at_us); /* moved */
    }
    watch_deadline(alarms[0].watch, -1); /* taken back */
    assert_true(loop_run(loop, all_but_one_rang, &order, start_us + 5000000));
    (void)loop_run(loop, never, NULL, loop_now_us(loop) + 2000);
    assert_int_equal(order, ALARMS - 1);
    assert_int_equal(alarms[0].rank, 0);
    for (unsigned i = 1; i < ALARMS; i++)
        for (unsigned j = 1; j < ALARMS; j++)
            if (alarms[i].at_us < alarms[j].at_us)
                assert_true(alarms[i].rank < alarms[j].rank);
    for (unsigned i = 0; i < ALARMS; i++)
        watch_free(alarms[i].watch);
    loop_free(loop);
}

static void running_ends_at_the_deadline_and_not_before(void **state)
{
    (void)state;
    struct loop *loop = system_loop();
    int64_t until_us = loop_now_us(loop) + 15000;
    assert_false(loop_run(loop, never, NULL, until_us));
    assert_true(loop_now_us(loop) >= until_us);
    loop_free(loop);
}

static void set_flag(void *user)
{
    *(bool *)user = true;
}

static void what_is_due_ends_the_run_without_a_wait(void **state)
{
    (void)state;
    struct loop *loop = system_loop();
    bool flag = false;
    struct watch *watch = watch_new(loop, set_flag, &flag);
    watch_deadline(watch, 0);
    assert_true(loop_run(loop, is_set, &flag, -1));
    watch_free(watch);
    loop_free(loop);
}

/* ---- descriptors ---- */

struct reading {
    int descriptor;
    char byte;
    bool done;
};

static void read_a_byte(void *user)
{
    struct reading *reading = user;
    if (read(reading->descriptor, &reading->byte, 1) == 1)
        reading->done = true;
}

static bool reading_done(void *user)
{
    return ((struct reading *)user)->done;
}

static void a_descriptor_beyond_1023_is_served(void **state)
{
    (void)state;
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_NOFILE, &limit), 0);
    if (limit.rlim_max <= 1100)
        skip();
    limit.rlim_cur = limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_NOFILE, &limit), 0);
    int ends[2];
    assert_int_equal(pipe2(ends, O_NONBLOCK | O_CLOEXEC), 0);
    struct reading reading = {.descriptor = fcntl(ends[0], F_DUPFD_CLOEXEC, 1050)};
    assert_true(reading.descriptor >= 1050);
    struct loop *loop = system_loop();
    struct watch *watch = watch_new(loop, read_a_byte, &reading);
    watch_descriptor(watch, reading.descriptor, false);
    assert_int_equal(write(ends[1], "x", 1), 1);
    assert_true(loop_run(loop, reading_done, &reading, loop_now_us(loop) + 5000000));
    assert_int_equal(reading.byte, 'x');
    watch_free(watch);
    loop_free(loop);
    (void)close(reading.descriptor);
    (void)close(ends[0]);
    (void)close(ends[1]);
}

static void a_descriptor_taken_back_is_not_served(void **state)
{
    (void)state;
    int ends[2];
    assert_int_equal(pipe2(ends, O_NONBLOCK | O_CLOEXEC), 0);
    struct reading reading = {.descriptor = ends[0]};
    struct loop *loop = system_loop();
    struct watch *watch = watch_new(loop, read_a_byte, &reading);
    watch_descriptor(watch, ends[0], false);
    watch_descriptor(watch, -1, false);
    assert_int_equal(write(ends[1], "x", 1), 1);
    assert_false(loop_run(loop, reading_done, &reading, loop_now_us(loop) + 5000));
    watch_descriptor(watch, ends[0], false);
    assert_true(loop_run(loop, reading_done, &reading, loop_now_us(loop) + 5000000));
    watch_free(watch);
    loop_free(loop);
    (void)close(ends[0]);
    (void)close(ends[1]);
}

/* ---- stopping ---- */

static void a_stop_ends_one_run(void **state)
{
    (void)state;
    struct loop *loop = system_loop();
    bool flag = false;
    loop_stop(loop); /* before it runs: must not be lost */
    assert_false(loop_run(loop, is_set, &flag, -1));
    struct watch *watch = watch_new(loop, set_flag, &flag);
    watch_deadline(watch, loop_now_us(loop) + 2000);
    assert_true(loop_run(loop, is_set, &flag, loop_now_us(loop) + 5000000)); /* the stop was used up */
    watch_free(watch);
    loop_free(loop);
}

static struct loop *loop_of_handler; /* a signal handler has no argument */

static void stop_on_signal(int number)
{
    (void)number;
    loop_stop(loop_of_handler);
}

static void a_signal_handler_may_stop_the_loop(void **state)
{
    (void)state;
    loop_of_handler = system_loop();
    struct sigaction action = {.sa_handler = stop_on_signal}, before;
    assert_int_equal(sigaction(SIGALRM, &action, &before), 0);
    const struct itimerval soon = {.it_value = {.tv_usec = 3000}};
    assert_int_equal(setitimer(ITIMER_REAL, &soon, NULL), 0);
    assert_false(loop_run(loop_of_handler, never, NULL, -1));
    assert_int_equal(sigaction(SIGALRM, &before, NULL), 0);
    loop_free(loop_of_handler);
}

/* ---- freeing ---- */

struct pair {
    struct watch *watches[2];
    unsigned called;
};

static void free_both(void *user)
{
    struct pair *pair = user;
    pair->called++;
    for (int i = 0; i < 2; i++) {
        watch_free(pair->watches[i]);
        pair->watches[i] = NULL;
    }
}

static bool pair_called(void *user)
{
    return ((struct pair *)user)->called > 0;
}

static void a_callback_may_free_watches_that_are_ready_too(void **state)
{
    (void)state;
    int ends[2][2];
    struct pair pair = {0};
    struct loop *loop = system_loop();
    for (int i = 0; i < 2; i++) {
        assert_int_equal(pipe2(ends[i], O_NONBLOCK | O_CLOEXEC), 0);
        assert_int_equal(write(ends[i][1], "x", 1), 1);
        pair.watches[i] = watch_new(loop, free_both, &pair);
        watch_descriptor(pair.watches[i], ends[i][0], false);
    }
    assert_true(loop_run(loop, pair_called, &pair, loop_now_us(loop) + 5000000));
    (void)loop_run(loop, never, NULL, loop_now_us(loop) + 3000);
    assert_int_equal(pair.called, 1);
    loop_free(loop);
    for (int i = 0; i < 2; i++) {
        (void)close(ends[i][0]);
        (void)close(ends[i][1]);
    }
}

static void an_injected_clock_takes_no_time(void **state)
{
    (void)state;
    struct hands hands = {0};
    struct loop *loop = loop_on(&hands);
    bool flag = false;
    struct watch *watch = watch_new(loop, set_flag, &flag);
    watch_deadline(watch, INT64_C(3600000000));
    assert_true(loop_run(loop, is_set, &flag, -1));
    assert_int_equal(hands.now_us, INT64_C(3600000000));
    assert_false(loop_run(loop, never, NULL, -1)); /* nothing can happen any more */
    watch_free(watch);
    loop_free(loop);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(deadlines_are_met_in_their_order),
        cmocka_unit_test(running_ends_at_the_deadline_and_not_before),
        cmocka_unit_test(what_is_due_ends_the_run_without_a_wait),
        cmocka_unit_test(a_descriptor_beyond_1023_is_served),
        cmocka_unit_test(a_descriptor_taken_back_is_not_served),
        cmocka_unit_test(a_stop_ends_one_run),
        cmocka_unit_test(a_signal_handler_may_stop_the_loop),
        cmocka_unit_test(a_callback_may_free_watches_that_are_ready_too),
        cmocka_unit_test(an_injected_clock_takes_no_time),
    };
    return cmocka_run_group_tests_name("loop", tests, NULL, NULL);
}
