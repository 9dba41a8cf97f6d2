/* SPDX-License-Identifier: MIT */
/* The link engine on a TCP connection in memory: transactions, broken streams, connecting and connecting again. */
#include "bus/line_fake.h"

typedef size_t (*fault_reply)(struct line_fake *line, const uint8_t *request, uint8_t *reply);

static void faulty_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    const fault_reply *next = line->user;
    if (line->frames > 1) {
        fake_drive_right(line, frame, length);
        return;
    }
    uint8_t reply[TCP_BYTES * 2];
    size_t reply_length = (*next)(line, frame, reply);
    if (reply_length > 0)
        fake_say(line, 5000, reply, reply_length);
}

static size_t nothing(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    (void)line, (void)request, (void)reply;
    return 0;
}

static size_t other_transaction(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[1] ^= 1U;
    return length;
}

static size_t other_unit(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[6] ^= 1U;
    return length;
}

static size_t other_function(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[7] = 4;
    return length;
}

static size_t other_protocol(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[3] = 1;
    return length;
}

static size_t length_too_long(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[5] = (uint8_t)(reply[5] + 40);
    return length;
}

static size_t length_too_short(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    reply[5] = (uint8_t)(reply[5] - 2);
    return length;
}

static size_t cut_off(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    return fake_reply(line, request, reply) - 3;
}

static size_t bytes_behind(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = fake_reply(line, request, reply);
    memset(reply + length, 0x55, 7);
    return length + 7;
}

static size_t stale_first(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    size_t length = other_transaction(line, request, reply);
    reply[10] ^= 0xff;
    return length + fake_reply(line, request, reply + length);
}

static size_t exception_02(struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    return fake_exception(line, request, reply, 2);
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
        {other_transaction, "corrupt", {1, 0, 0, 1, 0, 1}},
        {other_unit, "other-unit", {1, 0, 0, 1, 0, 1}},
        {other_function, "corrupt", {1, 0, 0, 1, 0, 1}},
        {other_protocol, "corrupt", {1, 0, 0, 0, 1, 0}},
        {length_too_long, "corrupt", {1, 0, 0, 0, 1, 0}},
        {length_too_short, "corrupt", {1, 0, 0, 0, 1, 0}},
        {cut_off, "corrupt", {1, 0, 0, 1, 1, 0}},
        {exception_02, "exception-02", {1, 0, 1, 0, 0, 0}},
        {bytes_behind, "", {1, 0, 0, 0, 1, 0}},
        {stale_first, "", {1, 0, 0, 0, 0, 1}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct line_fake *line = fake_new(true);
        line->drive = faulty_drive;
        line->user = (void *)(uintptr_t)&rows[i].fault;
        struct outcome outcome = fake_ask(line, 100, 4, 0);
        if (*rows[i].symptom == '\0')
            assert_right(&outcome, 100, 4);
        else
            assert_symptom(&outcome, rows[i].symptom);
        assert_false(loop_run(line->loop, NULL, NULL, line->now_us + 20000));
        assert_traffic(line->link, rows[i].traffic);
        outcome = fake_ask(line, 200, 3, 0);
        assert_right(&outcome, 200, 3);
        fake_free(line);
    }
}

static void a_timeout_leads_to_a_new_connection(void **state)
{
    (void)state;
    const fault_reply fault = nothing;
    struct line_fake *line = fake_new(true);
    line->drive = faulty_drive;
    line->user = (void *)(uintptr_t)&fault;
    struct outcome outcome = fake_ask(line, 100, 4, 1);
    assert_right(&outcome, 100, 4);
    assert_int_equal(line->connects, 2);
    assert_int_equal(line->disconnects, 1);
    fake_free(line);
}

static void healthy_reads_share_one_connection(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    for (uint16_t i = 0; i < 100; i++) {
        uint16_t count = (uint16_t)(4 + i % 2);
        struct outcome outcome = fake_ask(line, i, count, 0);
        assert_right(&outcome, i, count);
    }
    assert_int_equal(line->connects, 1);
    assert_traffic(line->link, TRAFFIC(100, 0, 0, 0, 0, 0));
    fake_free(line);
}

static void a_stream_that_goes_on_with_nonsense_is_replaced(void **state)
{
    (void)state;
    const fault_reply fault = bytes_behind;
    struct line_fake *line = fake_new(true);
    line->drive = faulty_drive;
    line->user = (void *)(uintptr_t)&fault;
    struct outcome outcomes[2] = {0};
    struct request requests[2] = {read_of(100, 4, 0), read_of(200, 4, 0)};
    for (size_t i = 0; i < 2; i++)
        link_submit(line->link, &requests[i], outcome_take, &outcomes[i]);
    assert_true(loop_run(line->loop, outcome_is_done, &outcomes[1], -1));
    assert_right(&outcomes[0], 100, 4);
    assert_right(&outcomes[1], 200, 4);
    assert_int_equal(line->connects, 2);
    fake_free(line);
}

static void a_flood_while_resting_is_drained(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    uint8_t flood[700];
    for (size_t i = 0; i < 700; i += 10)
        memcpy(flood + i, (const uint8_t[10]){0x77, 0x77, 0, 0, 0, 4, 1, 0x83, 2, 0}, 10);
    for (int64_t at_us = 1000; at_us < 6000; at_us += 1000)
        fake_say(line, at_us, flood, sizeof flood);
    struct request request = read_of(200, 4, 0);
    request.rest_between_us = 20000;
    outcome = link_ask(line->loop, line->link, &request);
    assert_right(&outcome, 200, 4);
    assert_int_equal(link_traffic(line->link)->discarded, 5 * 70);
    fake_free(line);
}

static void failing_contact_has_its_symptom(void **state)
{
    (void)state;
    const struct {
        enum contact contact;
        const char *symptom;
    } rows[] = {{CONTACT_REFUSED, "refused"}, {CONTACT_UNREACHABLE, "unreachable"}, {CONTACT_CLOSED, "closed"}};
    for (size_t i = 0; i < 3; i++) {
        struct line_fake *line = fake_new(true);
        line->contact = rows[i].contact;
        struct outcome outcome = fake_ask(line, 100, 4, 2);
        assert_symptom(&outcome, rows[i].symptom);
        assert_int_equal(line->connects, 1);
        assert_false(link_opened(line->link));
        assert_traffic(line->link, TRAFFIC(0, 0, 0, 0, 0, 0));
        line->contact = CONTACT_OPEN; /* the next request tries anew */
        outcome = fake_ask(line, 100, 4, 0);
        assert_right(&outcome, 100, 4);
        assert_true(link_opened(line->link));
        fake_free(line);
    }
}

static void connecting_ends_after_three_seconds(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    line->pending_connects = 1000000;
    int64_t start_us = line->now_us;
    struct outcome outcome = fake_ask(line, 100, 4, 2);
    assert_symptom(&outcome, "unreachable");
    assert_int_equal(line->now_us - start_us, 3000000);
    assert_int_equal(line->disconnects, 1);
    fake_free(line);
}

static void closing_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    const unsigned *closes = line->user;
    if (line->frames > *closes)
        fake_drive_right(line, frame, length);
    else
        fake_hang_up(line, 1000);
}

static void a_closed_connection_is_opened_once_a_retry(void **state)
{
    (void)state;
    for (unsigned closes = 1; closes <= 3; closes++) {
        struct line_fake *line = fake_new(true);
        line->drive = closing_drive;
        line->user = &closes;
        struct outcome outcome = fake_ask(line, 100, 4, 2);
        if (closes < 3)
            assert_right(&outcome, 100, 4);
        else
            assert_symptom(&outcome, "closed");
        assert_int_equal(line->connects, closes < 3 ? closes + 1 : 3);
        assert_int_equal(link_traffic(line->link)->timeouts, 0);
        fake_free(line);
    }
}

static void a_connection_closed_while_idle_costs_nothing(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    struct outcome outcome = fake_ask(line, 100, 4, 0);
    fake_hang_up(line, 1000);
    assert_false(loop_run(line->loop, NULL, NULL, line->now_us + 10000));
    outcome = fake_ask(line, 200, 5, 0);
    assert_right(&outcome, 200, 5);
    assert_traffic(line->link, TRAFFIC(2, 0, 0, 0, 0, 0));
    fake_free(line);
}

static void replying_and_closing_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    fake_drive_right(line, frame, length);
    fake_hang_up(line, 5000);
}

static void a_reply_before_the_close_counts(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    line->drive = replying_and_closing_drive;
    for (uint16_t i = 0; i < 3; i++) {
        uint16_t count = (uint16_t)(4 + i % 2);
        struct outcome outcome = fake_ask(line, i, count, 0);
        assert_right(&outcome, i, count);
    }
    assert_traffic(line->link, TRAFFIC(3, 0, 0, 0, 0, 0));
    fake_free(line);
}

static void doubling_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    uint8_t reply[TCP_BYTES];
    size_t reply_length = fake_reply(line, frame, reply);
    fake_say(line, 1000, reply, reply_length);
    fake_say(line, 1500, reply, reply_length); /* when the next request is out */
}

static void a_doubled_reply_is_of_an_old_transaction(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    line->drive = doubling_drive;
    for (uint16_t i = 0; i < 100; i++) {
        uint16_t count = (uint16_t)(4 + i % 2);
        struct outcome outcome = fake_ask(line, i, count, 0);
        assert_right(&outcome, i, count);
    }
    assert_traffic(line->link, TRAFFIC(100, 0, 0, 0, 0, 99));
    fake_free(line);
}

/* ---- a gateway that hands a late reply from its serial side to the next transaction ---- */

struct gateway {
    uint8_t late[TCP_BYTES];
    size_t late_length;
    bool holds;
};

static void bad_gateway(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct gateway *gateway = line->user;
    uint8_t reply[TCP_BYTES];
    if (line->frames == 3) {
        gateway->late_length = fake_reply(line, frame, gateway->late);
        gateway->holds = true;
        fake_say(line, 20000, reply, fake_exception(line, frame, reply, 0x0b));
        return;
    }
    if (gateway->holds) {
        gateway->holds = false;
        memcpy(gateway->late, frame, 2); /* the transaction of the moment */
        fake_say(line, 1000, gateway->late, gateway->late_length);
        return;
    }
    fake_drive_right(line, frame, length);
}

static void a_late_reply_through_a_gateway_is_not_taken_for_another(void **state)
{
    (void)state;
    struct gateway gateway = {0};
    struct line_fake *line = fake_new(true);
    line->drive = bad_gateway;
    line->user = &gateway;
    struct outcome outcome = fake_ask(line, 10, 8, 1);
    assert_right(&outcome, 10, 8);
    outcome = fake_ask(line, 20, 4, 1);
    assert_right(&outcome, 20, 4);
    outcome = fake_ask(line, 30, 5, 0);
    assert_symptom(&outcome, "exception-0b");
    outcome = fake_ask(line, 40, 5, 1); /* same length as the late one */
    assert_right(&outcome, 40, 5);
    fake_free(line);
}

static void what_a_gateway_gives_up_is_asked_again(void **state)
{
    (void)state;
    struct gateway gateway = {0};
    struct line_fake *line = fake_new(true);
    line->drive = bad_gateway;
    line->user = &gateway;
    (void)fake_ask(line, 10, 8, 1);
    (void)fake_ask(line, 20, 4, 1);
    struct outcome outcome = fake_ask(line, 30, 5, 1); /* the late reply answers the same question */
    assert_right(&outcome, 30, 5);
    assert_int_equal(line->frames, 4);
    fake_free(line);
}

/* Doubles what comes from its serial side, and gives the second to the next transaction. */
static void doubling_gateway(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    struct gateway *gateway = line->user;
    uint8_t reply[TCP_BYTES];
    if (gateway->holds) {
        memcpy(gateway->late, frame, 2);
        fake_say(line, 1000, gateway->late, gateway->late_length);
    } else {
        fake_say(line, 5000, reply, fake_reply(line, frame, reply));
    }
    gateway->late_length = fake_reply(line, frame, gateway->late);
    gateway->holds = line->frames == 1;
}

static void a_doubled_reply_through_a_gateway_is_not_taken_for_another(void **state)
{
    (void)state;
    struct gateway gateway = {0};
    struct line_fake *line = fake_new(true);
    line->drive = doubling_gateway;
    line->user = &gateway;
    struct outcome outcome = fake_ask(line, 10, 4, 1);
    assert_right(&outcome, 10, 4);
    outcome = fake_ask(line, 20, 4, 1);
    assert_right(&outcome, 20, 4);
    fake_free(line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_fault_has_its_symptom_and_is_counted),
        cmocka_unit_test(a_timeout_leads_to_a_new_connection),
        cmocka_unit_test(healthy_reads_share_one_connection),
        cmocka_unit_test(a_stream_that_goes_on_with_nonsense_is_replaced),
        cmocka_unit_test(a_flood_while_resting_is_drained),
        cmocka_unit_test(failing_contact_has_its_symptom),
        cmocka_unit_test(connecting_ends_after_three_seconds),
        cmocka_unit_test(a_closed_connection_is_opened_once_a_retry),
        cmocka_unit_test(a_connection_closed_while_idle_costs_nothing),
        cmocka_unit_test(a_reply_before_the_close_counts),
        cmocka_unit_test(a_doubled_reply_is_of_an_old_transaction),
        cmocka_unit_test(a_late_reply_through_a_gateway_is_not_taken_for_another),
        cmocka_unit_test(what_a_gateway_gives_up_is_asked_again),
        cmocka_unit_test(a_doubled_reply_through_a_gateway_is_not_taken_for_another),
    };
    return cmocka_run_group_tests_name("link_tcp", tests, NULL, NULL);
}
