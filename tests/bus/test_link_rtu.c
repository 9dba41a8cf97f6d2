/* SPDX-License-Identifier: MIT */
/* The link engine on an RTU line in memory: every malformed reply, deadlines, silences, retries, and what is counted.
 */
#include "bus/line_fake.h"

/* ---- faults: what the drive sends instead of its reply to the first request; later ones are answered right ---- */

typedef size_t (*fault_reply)(struct line_fake *line, const uint8_t *request, uint8_t *reply);

static void faulty_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    const fault_reply *next = line->user;
    if (line->frames > 1 || next == NULL) {
        fake_drive_right(line, frame, length);
        return;
    }
    uint8_t reply[TCP_BYTES * 2];
    size_t reply_length = (*next)(line, frame, reply);
    if (reply_length > 0)
        fake_say(line, 5000, reply, reply_length);
}

static struct line_fake *faulty_line(const fault_reply *fault)
{
    struct line_fake *line = fake_new(false);
    line->drive = faulty_drive;
    line->user = (void *)(uintptr_t)fault;
    return line;
}

static size_t resealed(uint8_t *reply, size_t length)
{
    uint16_t crc = crc16(reply, length - 2);
    reply[length - 2] = (uint8_t)crc;
    reply[length - 1] = (uint8_t)(crc >> 8);
    return length;
}

static size_t nothing(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    (void)line, (void)request, (void)reply;
    return 0;
}

static size_t bad_crc(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[length - 1] ^= 1U;
    return length;
}

static size_t other_unit(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[0] = 9;
    return resealed(reply, length);
}

static size_t other_unit_bad_crc(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[0] = 9;
    return length;
}

static size_t unit_zero(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[0] = 0;
    return resealed(reply, length);
}

static size_t other_function(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[1] = 4;
    return resealed(reply, length);
}

static size_t exception_to_other_function(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_exception(line, request, reply, 2);
    reply[1] = 0x84;
    return resealed(reply, length);
}

static size_t one_register_more(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    uint8_t more[8];
    memcpy(more, request, sizeof more);
    more[5]++;
    return fake_reply(line, more, reply);
}

static size_t odd_count(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[2]++;
    return resealed(reply, length + 1);
}

static size_t cut_off(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    return fake_reply(line, request, reply) - 3;
}

static size_t count_too_big(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[2] = 253;
    return resealed(reply, length);
}

static size_t junk_before(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    reply[0] = 0x55;
    return 1 + fake_reply(line, request, reply + 1);
}

static size_t junk_behind(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[length] = 0x55;
    return length + 1;
}

static size_t echo_before(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    memcpy(reply, request, 8);
    return 8 + fake_reply(line, request, reply + 8);
}

static size_t echo_alone(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    (void)line;
    memcpy(reply, request, 8);
    return 8;
}

static size_t doubled(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    return length + fake_reply(line, request, reply + length);
}

static size_t other_unit_first(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = other_unit(line, request, reply);
    return length + fake_reply(line, request, reply + length);
}

static size_t other_unit_and_junk(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = other_unit(line, request, reply);
    reply[length] = 0x55;
    return length + 1;
}

static size_t unknown_exception(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    return fake_exception(line, request, reply, 0xa5);
}

static size_t exception_zero(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    return fake_exception(line, request, reply, 0);
}

/* One read without retries meets the fault: what comes of it, what is counted once the line is silent again, and the
 * next read of another address is right. */
static void assert_fault(fault_reply fault, const char *symptom, const uint64_t traffic[6])
{
    struct line_fake *line = faulty_line(&fault);
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    if (*symptom == '\0')
        assert_right(&outcome, 100, 4);
    else
        assert_symptom(&outcome, symptom);
    assert_false(loop_run(line->loop, NULL, NULL, line->now_us + 20000));
    assert_traffic(line->link, traffic);
    outcome = fake_ask(line, 200, 3, 0);
    assert_right(&outcome, 200, 3);
    fake_free(line);
}

static void a_fault_has_its_symptom_and_is_counted(void **state)
{
    (void)state;
    const struct {
        fault_reply fault;
        const char *symptom;
        uint64_t traffic[6]; /* requests, retries, exceptions, timeouts, bad frames, discarded */
    } rows[] = {
        {nothing, "no-reply", {1, 0, 0, 1, 0, 0}},
        {bad_crc, "corrupt", {1, 0, 0, 0, 1, 0}},
        {other_unit, "other-unit", {1, 0, 0, 1, 0, 1}},
        {other_unit_bad_crc, "corrupt", {1, 0, 0, 1, 1, 0}},
        {unit_zero, "other-unit", {1, 0, 0, 1, 0, 1}},
        {other_unit_and_junk, "corrupt", {1, 0, 0, 1, 1, 1}},
        {other_function, "corrupt", {1, 0, 0, 1, 0, 1}},
        {exception_to_other_function, "corrupt", {1, 0, 0, 1, 0, 1}},
        {one_register_more, "corrupt", {1, 0, 0, 1, 0, 1}},
        {odd_count, "corrupt", {1, 0, 0, 1, 0, 1}},
        {cut_off, "corrupt", {1, 0, 0, 1, 1, 0}},
        {count_too_big, "corrupt", {1, 0, 0, 1, 1, 0}},
        {echo_alone, "no-reply", {1, 0, 0, 1, 0, 0}},
        {unknown_exception, "exception-a5", {1, 0, 1, 0, 0, 0}},
        {exception_zero, "exception-00", {1, 0, 1, 0, 0, 0}},
        {junk_before, "", {1, 0, 0, 0, 1, 0}},
        {junk_behind, "", {1, 0, 0, 0, 1, 0}},
        {echo_before, "", {1, 0, 0, 0, 0, 0}},
        {doubled, "", {1, 0, 0, 0, 0, 1}},
        {other_unit_first, "", {1, 0, 0, 0, 0, 1}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_fault(rows[i].fault, rows[i].symptom, rows[i].traffic);
}

static void a_retry_asks_the_same_again(void **state)
{
    (void)state;
    static const fault_reply faults[] = {nothing, bad_crc, other_unit, cut_off, count_too_big, echo_alone};
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        struct line_fake *line = faulty_line(&faults[i]);
        struct outcome outcome = fake_ask(line, 100, 4, 1);
        assert_right(&outcome, 100, 4);
        assert_int_equal(link_traffic(line->link)->requests, 2);
        assert_int_equal(link_traffic(line->link)->retries, 1);
        fake_free(line);
    }
}

static void retries_end(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = NULL;
    struct outcome outcome = fake_ask(line, 100, 4, 2);
    assert_symptom(&outcome, "no-reply");
    assert_traffic(line->link, TRAFFIC(3, 2, 0, 3, 0, 0));
    fake_free(line);
}

static void an_exception_is_no_reason_to_retry(void **state)
{
    (void)state;
    const fault_reply fault = unknown_exception;
    struct line_fake *line = faulty_line(&fault);
    struct outcome outcome = fake_ask(line, 100, 4, 5);
    assert_symptom(&outcome, "exception-a5");
    assert_int_equal(line->frames, 1);
    fake_free(line);
}

/* ---- a busy drive ---- */

struct busy {
    unsigned times;
    uint8_t code;
    int64_t sent_us[8];
};

static void busy_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct busy *busy = line->user;
    busy->sent_us[(line->frames - 1) % 8] = line->now_us;
    if (line->frames > busy->times) {
        fake_drive_right(line, frame, length);
        return;
    }
    uint8_t reply[8];
    fake_say(line, 1000, reply, fake_exception(line, frame, reply, busy->code));
}

static void a_busy_drive_is_asked_again_after_pauses(void **state)
{
    (void)state;
    for (uint8_t code = 5; code <= 6; code++) {
        struct busy busy = {.times = 3, .code = code};
        struct line_fake *line = fake_new(false);
        line->drive = busy_drive;
        line->user = &busy;
        struct outcome outcome = fake_ask(line, 100, 4, 0);
        assert_right(&outcome, 100, 4);
        assert_traffic(line->link, TRAFFIC(4, 3, 3, 0, 0, 0));
        assert_int_equal(busy.sent_us[1] - busy.sent_us[0], 1000 + 50000);
        assert_int_equal(busy.sent_us[2] - busy.sent_us[1], 1000 + 100000);
        assert_int_equal(busy.sent_us[3] - busy.sent_us[2], 1000 + 200000);
        fake_free(line);
    }
}

static void a_drive_that_stays_busy_is_given_up(void **state)
{
    (void)state;
    struct busy busy = {.times = 8, .code = 6};
    struct line_fake *line = fake_new(false);
    line->drive = busy_drive;
    line->user = &busy;
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_symptom(&outcome, "exception-06");
    assert_int_equal(line->frames, 4);
    fake_free(line);
}

/* ---- the deadline ---- */

/* 8 and 13 characters of 11 bits at 19200 baud, the promise of 300 ms, and 20 ms. */
enum { DEADLINE_OF_4_US = 12032 + 300000 + 20000 };

static void the_deadline_is_wire_time_promise_and_margin(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = NULL;
    int64_t start_us = line->now_us;
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_symptom(&outcome, "no-reply");
    assert_in_range(line->now_us - start_us, DEADLINE_OF_4_US, DEADLINE_OF_4_US + 2010); /* t3.5 before it */
    fake_free(line);
}

static void dripping_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    const int64_t *every_us = line->user;
    uint8_t reply[TCP_BYTES];
    size_t reply_length = fake_reply(line, frame, reply);
    for (size_t i = 0; i < reply_length; i++)
        fake_say(line, (int64_t)(i + 1) * *every_us, reply + i, 1);
}

static void a_dripped_reply_is_taken_within_the_deadline(void **state)
{
    (void)state;
    int64_t every_us = 20000; /* 13 bytes in 260 ms */
    struct line_fake *line = fake_new(false);
    line->drive = dripping_drive;
    line->user = &every_us;
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_right(&outcome, 100, 4);
    fake_free(line);
}

static void a_dripped_reply_does_not_stretch_the_deadline(void **state)
{
    (void)state;
    int64_t every_us = 100000; /* 13 bytes in 1.3 s, never silent for long */
    struct line_fake *line = fake_new(false);
    line->drive = dripping_drive;
    line->user = &every_us;
    int64_t start_us = line->now_us;
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_symptom(&outcome, "corrupt");
    assert_in_range(line->now_us - start_us, DEADLINE_OF_4_US, DEADLINE_OF_4_US + 2010);
    fake_free(line);
}

/* ---- silence ---- */

static void the_line_rests_between_requests(void **state)
{
    (void)state;
    const int64_t rests_us[] = {0, 7000};
    for (size_t i = 0; i < 2; i++) {
        struct line_fake *line = fake_new(false);
        struct request request = read_of(100, 4, 0);
        request.rest_between_us = rests_us[i];
        (void)link_ask(line->loop, line->link, &request);
        (void)link_ask(line->loop, line->link, &request);
        assert_int_equal(line->first_write_us - line->previous_end_us, 2006 + rests_us[i]);
        fake_free(line);
    }
}

static void a_disturbed_line_is_left_until_silent(void **state)
{
    (void)state;
    const fault_reply fault = bad_crc;
    struct line_fake *line = faulty_line(&fault);
    uint8_t junk = 0x55;
    for (int64_t at_us = 8000; at_us < 60000; at_us += 3000)
        fake_say(line, 2006 + at_us, &junk, 1);
    struct outcome outcome = fake_ask(line, 100, 4, 1);
    assert_right(&outcome, 100, 4);
    assert_int_equal(line->first_write_us - line->previous_end_us, 5000);
    assert_true(line->first_write_us > 1000000 + 60000);
    fake_free(line);
}

static void junk_around_a_reply_makes_the_line_rest(void **state)
{
    (void)state;
    static const fault_reply faults[] = {junk_before, junk_behind, doubled, other_unit_first};
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        struct line_fake *line = faulty_line(&faults[i]);
        (void)fake_ask(line, 100, 4, 0);
        (void)fake_ask(line, 200, 5, 0);
        assert_int_equal(line->first_write_us - line->previous_end_us, 5000);
        (void)fake_ask(line, 300, 6, 0);
        assert_int_equal(line->first_write_us - line->previous_end_us, 2006);
        fake_free(line);
    }
}

static void bytes_before_the_request_are_not_its_reply(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    const uint8_t request[] = {1, 3, 0, 100, 0, 4};
    uint8_t stray[TCP_BYTES];
    size_t length = fake_reply(line, request, stray);
    stray[4] ^= 0xff;
    fake_say(line, 1000, stray, resealed(stray, length));
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_right(&outcome, 100, 4);
    assert_traffic(line->link, TRAFFIC(1, 0, 0, 0, 0, 1));
    fake_free(line);
}

static void a_babbling_line_is_given_up(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    const uint8_t junk[300] = {0x55};
    for (int64_t at_us = 0; at_us < 1100000; at_us += 20000)
        fake_say(line, at_us, junk, 300);
    struct request request = read_of(100, 4, 0);
    request.rest_between_us = 30000; /* more than the pauses of the babble */
    struct outcome outcome = link_ask(line->loop, line->link, &request);
    assert_symptom(&outcome, "corrupt");
    assert_int_equal(line->frames, 0);
    assert_false(loop_run(line->loop, NULL, NULL, line->now_us + 500000));
    outcome = fake_ask(line, 200, 4, 0);
    assert_right(&outcome, 200, 4);
    fake_free(line);
}

/* ---- the rest ---- */

static void partial_writes_are_completed(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->write_at_most = 3;
    /* something has to wake the link, as a writable descriptor would */
    uint8_t none = 0;
    for (int64_t i = 0; i < 8; i++)
        fake_say(line, 2007 + i, &none, 0);
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_right(&outcome, 100, 4);
    assert_int_equal(line->frames, 1);
    fake_free(line);
}

static void a_request_that_cannot_be_sent_times_out(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->write_at_most = 1;
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    assert_symptom(&outcome, "no-reply");
    fake_free(line);
}

static void an_unplugged_port_is_closed(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = NULL;
    fake_hang_up(line, 50000);
    line->contact = CONTACT_OPEN;
    struct request request = read_of(100, 4, 3);
    struct outcome outcome = {0};
    link_submit(line->link, &request, outcome_take, &outcome);
    assert_false(loop_run(line->loop, outcome_is_done, &outcome, line->now_us + 40000));
    line->contact = CONTACT_CLOSED; /* it stays unplugged */
    assert_true(loop_run(line->loop, outcome_is_done, &outcome, line->now_us + 40000));
    assert_symptom(&outcome, "closed");
    assert_true(link_opened(line->link));
    line->contact = CONTACT_OPEN;
    line->drive = fake_drive_right;
    outcome = fake_ask(line, 200, 4, 0);
    assert_right(&outcome, 200, 4);
    fake_free(line);
}

static void bits_are_read_as_words(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    for (uint8_t function = 1; function <= 2; function++) {
        struct request request = read_of(100, 19, 0);
        request.function = function;
        struct outcome outcome = link_ask(line->loop, line->link, &request);
        assert_symptom(&outcome, "");
        assert_int_equal(outcome.count, 19);
        for (uint16_t i = 0; i < 19; i++)
            assert_int_equal(outcome.words[i], fake_value((uint16_t)(100 + i)) & 1U);
    }
    fake_free(line);
}

static void the_longest_reads_are_right(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    struct outcome outcome = fake_ask(line, 65411, 125, 0);
    assert_right(&outcome, 65411, 125);
    struct request request = read_of(0, 2000, 0);
    request.function = 1;
    outcome = link_ask(line->loop, line->link, &request);
    assert_symptom(&outcome, "");
    assert_int_equal(outcome.count, 2000);
    fake_free(line);
}

struct chain {
    struct link *link;
    unsigned left, done;
};

static void submit_the_next(void *user, const struct request *request, const struct reply *reply)
{
    struct chain *chain = user;
    assert_int_equal(reply->words[0], fake_value(request->address));
    chain->done++;
    if (chain->left == 0)
        return;
    chain->left--;
    struct request next = *request;
    next.address++;
    link_submit(chain->link, &next, submit_the_next, chain);
}

static void requests_are_answered_in_order_and_submitted_from_callbacks(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    struct chain chain = {.link = line->link, .left = 10};
    struct request request = read_of(100, 4, 0);
    for (int i = 0; i < 3; i++)
        link_submit(line->link, &request, submit_the_next, &chain);
    assert_false(loop_run(line->loop, NULL, NULL, line->now_us + 5000000));
    assert_int_equal(chain.done, 13);
    fake_free(line);
}

static void free_the_link(void *user, const struct request *request, const struct reply *reply)
{
    (void)request, (void)reply;
    struct line_fake *line = user;
    link_free(line->link);
    line->link = NULL;
}

static void a_callback_may_free_the_link(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    struct request request = read_of(100, 4, 0);
    link_submit(line->link, &request, free_the_link, line);
    link_submit(line->link, &request, free_the_link, line); /* dropped without callback */
    assert_false(loop_run(line->loop, NULL, NULL, line->now_us + 1000000));
    assert_null(line->link);
    assert_int_equal(line->frames, 1);
    fake_free(line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_fault_has_its_symptom_and_is_counted),
        cmocka_unit_test(a_retry_asks_the_same_again),
        cmocka_unit_test(retries_end),
        cmocka_unit_test(an_exception_is_no_reason_to_retry),
        cmocka_unit_test(a_busy_drive_is_asked_again_after_pauses),
        cmocka_unit_test(a_drive_that_stays_busy_is_given_up),
        cmocka_unit_test(the_deadline_is_wire_time_promise_and_margin),
        cmocka_unit_test(a_dripped_reply_is_taken_within_the_deadline),
        cmocka_unit_test(a_dripped_reply_does_not_stretch_the_deadline),
        cmocka_unit_test(the_line_rests_between_requests),
        cmocka_unit_test(a_disturbed_line_is_left_until_silent),
        cmocka_unit_test(junk_around_a_reply_makes_the_line_rest),
        cmocka_unit_test(bytes_before_the_request_are_not_its_reply),
        cmocka_unit_test(a_babbling_line_is_given_up),
        cmocka_unit_test(partial_writes_are_completed),
        cmocka_unit_test(a_request_that_cannot_be_sent_times_out),
        cmocka_unit_test(an_unplugged_port_is_closed),
        cmocka_unit_test(bits_are_read_as_words),
        cmocka_unit_test(the_longest_reads_are_right),
        cmocka_unit_test(requests_are_answered_in_order_and_submitted_from_callbacks),
        cmocka_unit_test(a_callback_may_free_the_link),
    };
    return cmocka_run_group_tests_name("link_rtu", tests, NULL, NULL);
}
