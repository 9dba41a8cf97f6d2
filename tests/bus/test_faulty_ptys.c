/* SPDX-License-Identifier: MIT */
/* Faulted reads in real time, over pseudo-terminals side by side: our client, and libmodbus's own on the same faults,
 * whose wrong values are printed beside ours. ASLEFT_LONG=1 in the environment makes it 20,000 faulted requests. */
#include "bus/line_fake.h"
#include "bus/scattered_visit.h"

#include <fcntl.h>
#include <modbus.h>
#include <pthread.h>
#include <stdio.h>
#include <sys/eventfd.h>
#include <termios.h>
#include <unistd.h>

enum {
    FAULTED = 500,
    FAULTED_LONG = 20000,
    OUR_LINES = 28, /* side by side in a round */
    OUR_LINES_LONG = 120,
    PLAIN_LINES = 8,
    PER_MILLE = 340,
    BAUD = 115200,
    PATIENCE_US = 40000,
    READS_AHEAD = 64,
};

static const uint64_t seed = 20260301;

struct due {
    int64_t at_us;
    uint8_t bytes[RTU_BYTES];
    size_t length;
};

/* A pseudo-terminal: the drive at its master's end, a client at the other. */
struct port {
    struct loop *loop;
    struct watch *watch;
    int master, keeper; /* the keeper holds the other end open, so that the master never sees it hung up */
    char path[64];
    struct faulty_drive drive;
    struct map map;
    uint8_t in[RTU_BYTES];
    size_t in_length;
    struct due due[READS_AHEAD]; /* by time */
    size_t due_count;
    struct tally tally;

    /* one of these clients */
    struct link *link;
    struct visit visit;
    pthread_t thread;
    int over; /* descriptor: the thread has ended */
};

/* ---- the drive's end ---- */

static void port_say(void *user, int64_t at_us, const uint8_t *bytes, size_t length, bool close)
{
    struct port *port = user;
    assert_true(port->due_count < READS_AHEAD && !close);
    size_t at = port->due_count++;
    for (; at > 0 && port->due[at - 1].at_us > at_us; at--)
        port->due[at] = port->due[at - 1];
    port->due[at] = (struct due){.at_us = at_us, .length = length};
    memcpy(port->due[at].bytes, bytes, length);
}

static void port_ready(void *user)
{
    struct port *port = user;
    ssize_t got;
    while ((got = read(port->master, port->in + port->in_length, sizeof port->in - port->in_length)) > 0) {
        port->in_length += (size_t)got;
        for (; port->in_length >= 8; port->in_length -= 8) {
            faulty_hear(&port->drive, loop_now_us(port->loop), port->in, 8);
            memmove(port->in, port->in + 8, port->in_length - 8);
        }
    }
    size_t said = 0;
    for (; said < port->due_count && port->due[said].at_us <= loop_now_us(port->loop); said++)
        assert_int_equal(write(port->master, port->due[said].bytes, port->due[said].length), port->due[said].length);
    port->due_count -= said;
    memmove(port->due, port->due + said, port->due_count * sizeof port->due[0]);
    watch_deadline(port->watch, port->due_count > 0 ? port->due[0].at_us : -1);
}

/* The same number makes the same drive and the same faults. */
static void port_open(struct port *port, struct loop *loop, uint64_t number)
{
    static const unsigned longest[] = {125, 60, 16, 10, 4};
    struct dice dice = dice_for(seed, number);
    *port = (struct port){.loop = loop, .master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK)};
    assert_true(port->master >= 0);
    assert_int_equal(grantpt(port->master), 0);
    assert_int_equal(unlockpt(port->master), 0);
    assert_int_equal(ptsname_r(port->master, port->path, sizeof port->path), 0);
    port->keeper = open(port->path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(port->keeper >= 0);
    struct termios settings; /* raw, or what is said to nobody would be echoed */
    assert_int_equal(tcgetattr(port->keeper, &settings), 0);
    cfmakeraw(&settings);
    assert_int_equal(tcsetattr(port->keeper, TCSANOW, &settings), 0);
    port->drive = (struct faulty_drive){
        .seed = dice_next(&dice),
        .faulted_per_mille = PER_MILLE,
        .line = LINE_RTU,
        .habit = number % 2 == 0 ? HABIT_QUEUES : HABIT_IGNORES,
        .turnaround_us = 1000,
        .character_ns = timing_serial(BAUD, PARITY_NONE, 1).character_ns,
        .deadline_us = PATIENCE_US,
        .latest_us = 120000,
        .say = port_say,
        .user = port,
    };
    port->map = scattered_map(&dice, longest[roll(&dice, sizeof longest / sizeof longest[0])], 0.02);
    scattered_holes(&dice, &port->map, 1, &port->drive);
    port->watch = watch_new(loop, port_ready, port);
    watch_descriptor(port->watch, port->master, false);
}

static void port_close(struct port *port)
{
    watch_free(port->watch);
    map_free(&port->map);
    (void)close(port->keeper);
    (void)close(port->master);
}

/* ---- our client ---- */

static void ours_start(struct port *port)
{
    struct line line = {.serial = text_copy(port->path), .baud = BAUD, .parity = PARITY_NONE, .stop_bits = 1};
    struct error error = {0};
    assert_true(link_open(port->loop, &line, &port->link, &error));
    line_free(&line);
    visit_start(&port->visit, port->link, &port->map, 1, &port->drive, &port->tally);
}

static void ours_end(struct port *port)
{
    visit_free(&port->visit);
    link_free(port->link);
}

/* ---- libmodbus's ---- */

static bool libmodbus_read(void *user, uint8_t unit, uint8_t function, uint16_t address, uint16_t count,
                           uint16_t *words)
{
    modbus_t *modbus = user;
    (void)modbus_set_slave(modbus, unit);
    for (unsigned attempt = 0; attempt < 3; attempt++) {
        (void)modbus_flush(modbus);
        int got = function == 3 ? modbus_read_registers(modbus, address, count, words)
                                : modbus_read_input_registers(modbus, address, count, words);
        if (got == count)
            return true;
    }
    return false;
}

static void *libmodbus_visit(void *user)
{
    struct port *port = user;
    modbus_t *modbus = modbus_new_rtu(port->path, BAUD, 'N', 8, 1);
    if (modbus == NULL || modbus_connect(modbus) != 0)
        abort();
    (void)modbus_set_response_timeout(modbus, 0, PATIENCE_US);
    (void)modbus_set_byte_timeout(modbus, 0, PATIENCE_US);
    plain_visit(&port->drive, &port->map, 1, libmodbus_read, modbus, &port->tally);
    modbus_close(modbus);
    modbus_free(modbus);
    const uint64_t one = 1;
    if (write(port->over, &one, sizeof one) != sizeof one)
        abort();
    return NULL;
}

/* ---- both, side by side ---- */

struct round {
    struct loop *loop;
    size_t our_lines;
    struct port ports[OUR_LINES_LONG + PLAIN_LINES]; /* ours first */
    struct watch *threads;
    int over;
    uint64_t threads_over;
};

static void thread_over(void *user)
{
    struct round *round = user;
    uint64_t more;
    if (read(round->over, &more, sizeof more) == sizeof more)
        round->threads_over += more;
}

static bool round_over(void *user)
{
    const struct round *round = user;
    if (round->threads_over < PLAIN_LINES)
        return false;
    for (size_t i = 0; i < round->our_lines; i++)
        if (!visit_over(&round->ports[i].visit))
            return false;
    return true;
}

struct total {
    struct tally ours, plain;
    uint64_t requests, faulted;
};

static void add_tally(struct tally *sum, const struct tally *more)
{
    sum->right += more->right;
    sum->wrong += more->wrong;
    sum->unread += more->unread;
}

static void run_round(struct round *round, size_t our_lines, uint64_t first_number, struct total *total)
{
    const struct clock clock = clock_system();
    memset(round, 0, sizeof *round); /* it is larger than a stack */
    round->loop = loop_new(&clock);
    round->our_lines = our_lines;
    round->over = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    assert_true(round->over >= 0);
    round->threads = watch_new(round->loop, thread_over, round);
    watch_descriptor(round->threads, round->over, false);
    for (size_t i = 0; i < our_lines + PLAIN_LINES; i++) {
        bool plain = i >= our_lines;
        struct port *port = &round->ports[i];
        port_open(port, round->loop, first_number + (plain ? i - our_lines : i));
        port->over = round->over;
        if (!plain)
            ours_start(port);
        else
            assert_int_equal(pthread_create(&port->thread, NULL, libmodbus_visit, port), 0);
    }
    assert_true(loop_run(round->loop, round_over, round, loop_now_us(round->loop) + 100000000));
    for (size_t i = 0; i < our_lines + PLAIN_LINES; i++) {
        struct port *port = &round->ports[i];
        if (i < our_lines) {
            ours_end(port);
            add_tally(&total->ours, &port->tally);
            total->requests += port->drive.heard;
            total->faulted += port->drive.faulted;
        } else {
            assert_int_equal(pthread_join(port->thread, NULL), 0);
            add_tally(&total->plain, &port->tally);
        }
        port_close(port);
    }
    watch_free(round->threads);
    loop_free(round->loop);
    (void)close(round->over);
}

static void print_tally(const char *who, const struct tally *tally)
{
    print_message("%-21s values right %llu, WRONG %llu\n", who, (unsigned long long)tally->right,
                  (unsigned long long)tally->wrong);
}

static void no_value_is_wrong_over_faulty_ptys(void **state)
{
    (void)state;
    const char *wish = getenv("ASLEFT_LONG");
    bool is_long = wish != NULL && *wish != '\0';
    uint64_t faulted = is_long ? FAULTED_LONG : FAULTED;
    size_t our_lines = is_long ? OUR_LINES_LONG : OUR_LINES;
    struct round *round = test_calloc(1, sizeof *round);
    struct total total = {0};
    for (uint64_t number = 0; total.faulted < faulted; number += our_lines)
        run_round(round, our_lines, number, &total);
    test_free(round);
    print_message("seed %llu, %zu lines side by side: %llu requests, %llu faulted\n", (unsigned long long)seed,
                  our_lines, (unsigned long long)total.requests, (unsigned long long)total.faulted);
    print_tally("asleft, all lines", &total.ours);
    print_tally("libmodbus, 8 of them", &total.plain);
    assert_int_equal(total.ours.wrong, 0);
    assert_true(total.ours.right > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_value_is_wrong_over_faulty_ptys),
    };
    return cmocka_run_group_tests_name("faulty_ptys", tests, NULL, NULL);
}
