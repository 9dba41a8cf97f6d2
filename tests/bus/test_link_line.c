/* SPDX-License-Identifier: MIT */
/* A link's line: what is heard before anything is sent, changing the format, counters, and what a request costs. */
#include "bus/line_fake.h"
#include "bus/link_line.h"

#include <stdio.h>

/* ---- listening ---- */

struct ear {
    bool done;
    enum line_heard heard;
    int64_t at_us;
    unsigned frames_sent;
    struct line_fake *line;
};

static void hear(void *user, enum line_heard heard)
{
    struct ear *ear = user;
    assert_false(ear->done);
    ear->done = true;
    ear->heard = heard;
    ear->at_us = ear->line->now_us;
    ear->frames_sent = ear->line->frames;
}

static bool ear_is_done(void *user)
{
    return ((struct ear *)user)->done;
}

enum { SECOND_US = 1000000 };

static struct ear listen_to(struct line_fake *line, int64_t for_us)
{
    struct ear ear = {.line = line};
    link_listen(line->link, for_us, hear, &ear);
    assert_true(loop_run(line->loop, ear_is_done, &ear, line->now_us + 60 * (int64_t)SECOND_US));
    return ear;
}

/* A request for unit 9 as another master sends it. */
static void other_master_asks(struct line_fake *line, int64_t after_us)
{
    struct pdu pdu;
    uint8_t frame[RTU_BYTES];
    assert_true(pdu_read(&pdu, 3, 0x0100, 4));
    fake_say(line, after_us, frame, rtu_build(frame, 9, &pdu));
}

static void silence_is_nothing_heard_after_the_whole_time(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    int64_t began_us = line->now_us;
    struct ear ear = listen_to(line, 2 * SECOND_US);
    assert_int_equal(ear.heard, HEARD_NOTHING);
    assert_int_equal(ear.at_us - began_us, 2 * SECOND_US);
    assert_int_equal(ear.frames_sent, 0);
    fake_free(line);
}

static void another_masters_request_is_heard_and_ends_the_listening(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    int64_t began_us = line->now_us;
    other_master_asks(line, SECOND_US);
    struct ear ear = listen_to(line, 2 * SECOND_US);
    assert_int_equal(ear.heard, HEARD_MASTER);
    assert_in_range(ear.at_us - began_us, SECOND_US, SECOND_US + 20000);
    assert_int_equal(ear.frames_sent, 0);
    assert_traffic(line->link, TRAFFIC(0, 0, 0, 0, 0, 1));
    fake_free(line);
}

static void a_frame_in_pieces_is_heard_as_one(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    struct pdu pdu;
    uint8_t frame[RTU_BYTES];
    assert_true(pdu_read(&pdu, 3, 0x0100, 4));
    size_t length = rtu_build(frame, 9, &pdu);
    fake_say(line, 500000, frame, 3);
    fake_say(line, 516000, frame + 3, length - 3); /* as an adapter with a latency of 16 ms hands it on */
    struct ear ear = listen_to(line, 2 * SECOND_US);
    assert_int_equal(ear.heard, HEARD_MASTER);
    fake_free(line);
}

static void bytes_without_a_frame_are_noise(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    const uint8_t noise[] = {0x00, 0xff, 0x80, 0x00, 0x55};
    fake_say(line, SECOND_US, noise, sizeof noise);
    struct ear ear = listen_to(line, 2 * SECOND_US);
    assert_int_equal(ear.heard, HEARD_NOISE);
    assert_traffic(line->link, TRAFFIC(0, 0, 0, 0, 1, 0));
    fake_free(line);
}

static void a_lone_exception_is_noise_and_two_are_a_master(void **state)
{
    (void)state;
    const uint8_t body[] = {9, 0x83, 0x02};
    uint8_t frame[5];
    memcpy(frame, body, sizeof body);
    uint16_t crc = crc16(body, sizeof body);
    frame[3] = (uint8_t)crc;
    frame[4] = (uint8_t)(crc >> 8);
    for (unsigned times = 1; times <= 2; times++) {
        struct line_fake *line = fake_new(false);
        for (unsigned i = 0; i < times; i++)
            fake_say(line, (i + 1) * 300000, frame, sizeof frame);
        struct ear ear = listen_to(line, 2 * SECOND_US);
        assert_int_equal(ear.heard, times == 1 ? HEARD_NOISE : HEARD_MASTER);
        fake_free(line);
    }
}

static void a_babbling_line_is_noise_however_much_comes(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    uint8_t noise[500];
    memset(noise, 0x55, sizeof noise);
    for (int64_t i = 0; i < 20; i++)
        fake_say(line, i * 90000, noise, sizeof noise);
    struct ear ear = listen_to(line, 2 * SECOND_US);
    assert_int_equal(ear.heard, HEARD_NOISE);
    fake_free(line);
}

static void a_request_waits_for_the_listening_before_it(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    struct ear ear = {.line = line};
    int64_t began_us = line->now_us;
    link_listen(line->link, 2 * SECOND_US, hear, &ear);
    struct outcome outcome = fake_ask(line, 0x10, 3, 0);
    assert_true(ear.done);
    assert_int_equal(ear.frames_sent, 0);
    assert_right(&outcome, 0x10, 3);
    assert_true(line->first_write_us - began_us >= 2 * SECOND_US);
    fake_free(line);
}

static void tcp_has_no_other_master_to_hear(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    int64_t began_us = line->now_us;
    struct ear ear = listen_to(line, 2 * SECOND_US);
    assert_int_equal(ear.heard, HEARD_NOTHING);
    assert_int_equal(ear.at_us, began_us);
    assert_int_equal(line->connects, 0);
    fake_free(line);
}

static void a_port_that_is_gone_is_silent(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    fake_hang_up(line, 100000);
    struct ear ear = listen_to(line, 2 * SECOND_US);
    assert_int_equal(ear.heard, HEARD_NOTHING);
    fake_free(line);
}

/* ---- format and counters ---- */

struct port {
    struct line_fake line; /* unused but for its callbacks */
    unsigned baud, stop_bits;
    enum parity parity;
    struct line_errors errors;
    bool refuses;
};

static bool port_format(void *user, unsigned baud, enum parity parity, unsigned stop_bits, struct error *error)
{
    struct port *port = user;
    if (port->refuses)
        return error_set(error, ERROR_CONTACT, "not with me");
    port->baud = baud;
    port->parity = parity;
    port->stop_bits = stop_bits;
    return true;
}

static struct line_errors port_counters(void *user)
{
    return ((struct port *)user)->errors;
}

static struct port *port_new(void)
{
    struct port *port = test_calloc(1, sizeof *port);
    struct line_fake *line = &port->line;
    line->now_us = SECOND_US;
    line->drive = fake_drive_right;
    const struct clock clock = {.now_us = fake_now_us, .wall_ms = fake_wall_ms, .user = line};
    const struct waiter waiter = {.wait = fake_wait, .user = line};
    line->loop = loop_new_waiting(&clock, &waiter);
    const struct transport transport = {.connect = fake_connect,
                                        .disconnect = fake_disconnect,
                                        .read = fake_read,
                                        .write = fake_write,
                                        .descriptor = fake_descriptor,
                                        .close = fake_close,
                                        .user = port, /* its first member is the line */
                                        .set_format = port_format,
                                        .errors = port_counters};
    const struct timing timing = timing_serial(19200, PARITY_EVEN, 1);
    line->link = link_new(line->loop, &transport, &timing);
    return port;
}

static void port_free(struct port *port)
{
    link_free(port->line.link);
    loop_free(port->line.loop);
    test_free(port);
}

static void a_new_format_reaches_the_port_and_the_silences(void **state)
{
    (void)state;
    struct port *port = port_new();
    struct error error = {0};
    assert_true(link_set_format(port->line.link, 1200, PARITY_NONE, 2, &error));
    assert_int_equal(port->baud, 1200);
    assert_int_equal(port->parity, PARITY_NONE);
    assert_int_equal(port->stop_bits, 2);
    (void)fake_ask(&port->line, 0, 2, 0);
    int64_t heard_us = port->line.now_us;
    (void)fake_ask(&port->line, 2, 3, 0);
    /* 3.5 characters of 11 bits at 1200 baud */
    assert_int_equal(port->line.first_write_us - heard_us, 32084);
    port_free(port);
}

/* MODBUS over Serial Line V1.02, 2.5.1.1: 3.5 characters, of 11 bits (2.5.1); above 19200 baud a fixed 1.750 ms. */
static void the_silence_between_frames_is_the_standards_at_every_speed(void **state)
{
    (void)state;
    static const struct {
        unsigned baud;
        int64_t silence_us;
    } rows[] = {{1200, 32084}, {2400, 16042}, {4800, 8021}, {9600, 4011}, {19200, 2006}, {38400, 1750}, {115200, 1750}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct port *port = port_new();
        struct error error = {0};
        assert_true(link_set_format(port->line.link, rows[i].baud, PARITY_EVEN, 1, &error));
        (void)fake_ask(&port->line, 0, 2, 0);
        int64_t heard_us = port->line.now_us;
        (void)fake_ask(&port->line, 2, 3, 0);
        assert_int_equal(port->line.first_write_us - heard_us, rows[i].silence_us);
        port_free(port);
    }
}

static void a_refused_format_changes_nothing(void **state)
{
    (void)state;
    struct port *port = port_new();
    port->refuses = true;
    struct error error = {0};
    assert_false(link_set_format(port->line.link, 1200, PARITY_NONE, 2, &error));
    assert_string_equal(error.text, "not with me");
    (void)fake_ask(&port->line, 0, 2, 0);
    int64_t heard_us = port->line.now_us;
    (void)fake_ask(&port->line, 2, 3, 0);
    assert_int_equal(port->line.first_write_us - heard_us, 2006); /* 3.5 characters at 19200 baud */
    port_free(port);
}

static void a_line_without_a_port_has_no_format_and_no_counters(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    struct error error = {0};
    assert_false(link_set_format(line->link, 9600, PARITY_EVEN, 1, &error));
    assert_non_null(strstr(error.text, "no serial port"));
    assert_false(link_line_errors(line->link).counted);
    fake_free(line);
}

static void the_ports_counters_are_handed_on(void **state)
{
    (void)state;
    struct port *port = port_new();
    port->errors = (struct line_errors){.counted = true, .frame = 3, .parity = 5, .overrun = 7, .brk = 11};
    struct line_errors errors = link_line_errors(port->line.link);
    assert_true(errors.counted);
    assert_int_equal(errors.frame, 3);
    assert_int_equal(errors.parity, 5);
    assert_int_equal(errors.overrun, 7);
    assert_int_equal(errors.brk, 11);
    port_free(port);
}

/* ---- what a request costs ---- */

/* (13 c + 2 silences + T) / 2 c with T = 5 ms unknown; c = 0.573 ms at 19200 8E1: 16.5 ms / 1.146 ms. */
static void a_request_costs_its_fixed_characters_silences_and_turnaround(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    assert_int_equal(link_request_cost(line->link, 1), 14);
    fake_free(line);
}

static int64_t turnaround_us_of_late_drive;

static void late_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    uint8_t reply[TCP_BYTES];
    size_t reply_length = fake_reply(line, frame, reply);
    struct timing timing = timing_serial(19200, PARITY_EVEN, 1);
    int64_t wire_us = line->tcp ? 0 : timing_wire_us(&timing, 8 + reply_length);
    fake_say(line, wire_us + turnaround_us_of_late_drive, reply, reply_length);
}

static void a_slow_unit_makes_its_own_requests_dearer(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = late_drive;
    turnaround_us_of_late_drive = 22000;
    (void)fake_ask(line, 0, 2, 0);
    /* 7.448 ms of characters, one silence of 2.006 ms, 22 ms, by 1.146 ms a register */
    assert_int_equal(link_request_cost(line->link, 1), 27);
    assert_int_equal(link_request_cost(line->link, 2), 14);
    fake_free(line);
}

static void one_slow_reply_does_not_decide_the_cost_for_ever(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = late_drive;
    turnaround_us_of_late_drive = 200000;
    (void)fake_ask(line, 0, 2, 0);
    unsigned at_first = link_request_cost(line->link, 1);
    turnaround_us_of_late_drive = 7000;
    for (uint16_t i = 0; i < 30; i++)
        (void)fake_ask(line, i, 2 + i % 2, 0);
    assert_in_range(at_first, 180, 185);
    assert_in_range(link_request_cost(line->link, 1), 14, 15);
    fake_free(line);
}

static void on_tcp_no_gap_within_a_request_is_ever_dearer(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    line->drive = late_drive;
    assert_true(link_request_cost(line->link, 1) > READ_REGISTERS);
    turnaround_us_of_late_drive = 100;
    (void)fake_ask(line, 0, 2, 0);
    assert_in_range(link_request_cost(line->link, 1), READ_REGISTERS + 1, 1000);
    turnaround_us_of_late_drive = 30000;
    for (uint16_t i = 0; i < 30; i++)
        (void)fake_ask(line, i, 2, 0);
    assert_int_equal(link_request_cost(line->link, 1), 10000);
    fake_free(line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(silence_is_nothing_heard_after_the_whole_time),
        cmocka_unit_test(another_masters_request_is_heard_and_ends_the_listening),
        cmocka_unit_test(a_frame_in_pieces_is_heard_as_one),
        cmocka_unit_test(bytes_without_a_frame_are_noise),
        cmocka_unit_test(a_lone_exception_is_noise_and_two_are_a_master),
        cmocka_unit_test(a_babbling_line_is_noise_however_much_comes),
        cmocka_unit_test(a_request_waits_for_the_listening_before_it),
        cmocka_unit_test(tcp_has_no_other_master_to_hear),
        cmocka_unit_test(a_port_that_is_gone_is_silent),
        cmocka_unit_test(a_new_format_reaches_the_port_and_the_silences),
        cmocka_unit_test(the_silence_between_frames_is_the_standards_at_every_speed),
        cmocka_unit_test(a_refused_format_changes_nothing),
        cmocka_unit_test(a_line_without_a_port_has_no_format_and_no_counters),
        cmocka_unit_test(the_ports_counters_are_handed_on),
        cmocka_unit_test(a_request_costs_its_fixed_characters_silences_and_turnaround),
        cmocka_unit_test(a_slow_unit_makes_its_own_requests_dearer),
        cmocka_unit_test(one_slow_reply_does_not_decide_the_cost_for_ever),
        cmocka_unit_test(on_tcp_no_gap_within_a_request_is_ever_dearer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
