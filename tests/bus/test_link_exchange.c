/* SPDX-License-Identifier: MIT */
/* Device identification and server id over a link, RTU and TCP: exact framing, late replies, and the trace of it all.
 */
#include "bus/line_fake.h"
#include "bus/link_exchange.h"
#include "bus/link_trace.h"

struct talk {
    bool done;
    struct symptom symptom;
    uint8_t pdu[PDU_BYTES];
    size_t pdu_length;
};

static void talk_take(void *user, const struct exchange *exchange, const struct exchange_reply *reply)
{
    struct talk *talk = user;
    assert_false(talk->done);
    assert_int_equal(exchange->unit, 1);
    talk->done = true;
    talk->symptom = reply->symptom;
    talk->pdu_length = reply->pdu_length;
    if (reply->pdu_length > 0)
        memcpy(talk->pdu, reply->pdu, reply->pdu_length);
}

static bool talk_is_done(void *user)
{
    return ((struct talk *)user)->done;
}

static struct talk talk_about(struct line_fake *line, const struct pdu *pdu, unsigned retries)
{
    struct exchange exchange = {.unit = 1, .answers_within_us = 300000, .retries = retries, .pdu_length = pdu->length};
    memcpy(exchange.pdu, pdu->bytes, pdu->length);
    struct talk talk = {0};
    link_exchange(line->link, &exchange, talk_take, &talk);
    assert_true(loop_run(line->loop, talk_is_done, &talk, line->now_us + 60000000));
    return talk;
}

static struct pdu identification(uint8_t code, uint8_t object)
{
    struct pdu pdu;
    assert_true(pdu_device_identification(&pdu, code, object));
    return pdu;
}

static struct pdu server_id(void)
{
    struct pdu pdu;
    assert_true(pdu_report_server_id(&pdu));
    return pdu;
}

static void assert_talk_symptom(const struct talk *talk, const char *word)
{
    char text[32];
    assert_string_equal(symptom_word(talk->symptom, text, sizeof text), word);
}

/* ---- a drive that says who it is: one object, whose text tells the object asked for ---- */

static size_t identity_frame(const struct line_fake *line, const uint8_t *request, uint8_t *reply)
{
    const uint8_t *asked = fake_pdu(line, request);
    uint8_t object = asked[3];
    const uint8_t pdu[] = {0x2b, 0x0e, asked[2], 0x81, 0, 0, 1, object, 4, 'o', 'b', 'j', (uint8_t)('0' + object)};
    return fake_frame(line, request, reply, pdu, sizeof pdu);
}

static void identity_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    uint8_t reply[TCP_BYTES];
    static const uint8_t id[] = {0x11, 6, 0x2a, 0xff, 'p', 'u', 'm', 'p'};
    switch (fake_pdu(line, frame)[0]) {
    case 0x2b:
        fake_say(line, 5000, reply, identity_frame(line, frame, reply));
        break;
    case 0x11:
        fake_say(line, 5000, reply, fake_frame(line, frame, reply, id, sizeof id));
        break;
    default:
        fake_drive_right(line, frame, length);
    }
}

static void identification_comes_back_whole(void **state)
{
    (void)state;
    for (unsigned tcp = 0; tcp <= 1; tcp++) {
        struct line_fake *line = fake_new(tcp == 1);
        line->drive = identity_drive;
        const struct pdu pdu = identification(4, 2);
        struct talk talk = talk_about(line, &pdu, 0);
        assert_talk_symptom(&talk, "");
        static const uint8_t expected[] = {0x2b, 0x0e, 4, 0x81, 0, 0, 1, 2, 4, 'o', 'b', 'j', '2'};
        assert_int_equal(talk.pdu_length, sizeof expected);
        assert_memory_equal(talk.pdu, expected, sizeof expected);
        fake_free(line);
    }
}

static void server_id_comes_back_whole(void **state)
{
    (void)state;
    for (unsigned tcp = 0; tcp <= 1; tcp++) {
        struct line_fake *line = fake_new(tcp == 1);
        line->drive = identity_drive;
        const struct pdu pdu = server_id();
        struct talk talk = talk_about(line, &pdu, 0);
        assert_talk_symptom(&talk, "");
        assert_int_equal(talk.pdu_length, 8);
        assert_memory_equal(talk.pdu + 4, "pump", 4);
        fake_free(line);
    }
}

static void a_byte_at_a_time_is_as_good(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = NULL;
    const struct pdu pdu = identification(4, 1);
    uint8_t request[RTU_BYTES], reply[TCP_BYTES];
    (void)rtu_build(request, 1, &pdu);
    size_t length = identity_frame(line, request, reply);
    for (size_t i = 0; i < length; i++)
        fake_say(line, 20000 + (int64_t)i * 600, reply + i, 1);
    struct talk talk = talk_about(line, &pdu, 0);
    assert_talk_symptom(&talk, "");
    assert_int_equal(talk.pdu[12], '1');
    fake_free(line);
}

static void refusing_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)length;
    uint8_t reply[TCP_BYTES];
    fake_say(line, 5000, reply, fake_exception(line, frame, reply, 1));
}

static void a_drive_without_it_says_so(void **state)
{
    (void)state;
    for (unsigned tcp = 0; tcp <= 1; tcp++) {
        struct line_fake *line = fake_new(tcp == 1);
        line->drive = refusing_drive;
        const struct pdu pdu = identification(1, 0);
        struct talk talk = talk_about(line, &pdu, 2);
        assert_talk_symptom(&talk, "exception-01");
        assert_int_equal(talk.pdu_length, 0);
        fake_free(line);
    }
}

static void silent_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    (void)line, (void)frame, (void)length;
}

static void silence_is_no_reply_after_the_retries(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = silent_drive;
    const struct pdu pdu = server_id();
    struct talk talk = talk_about(line, &pdu, 2);
    assert_talk_symptom(&talk, "no-reply");
    assert_traffic(line->link, TRAFFIC(3, 2, 0, 3, 0, 0));
    fake_free(line);
}

/* The first identification is answered 700 ms late, into whatever is asked then. */
static void late_identity_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    if (line->frames > 1) {
        identity_drive(line, frame, length);
        return;
    }
    uint8_t reply[TCP_BYTES];
    fake_say(line, 700000, reply, identity_frame(line, frame, reply));
}

static void a_late_identification_is_not_taken_for_the_next_objects(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = late_identity_drive;
    const struct pdu first = identification(4, 1), second = identification(4, 2);
    struct talk talk = talk_about(line, &first, 0);
    assert_talk_symptom(&talk, "no-reply");
    talk = talk_about(line, &second, 0);
    assert_talk_symptom(&talk, "");
    assert_int_equal(talk.pdu[12], '2');
    fake_free(line);
}

static void nothing_that_writes_goes_out_as_an_exchange(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    struct pdu pdu;
    assert_true(pdu_write_register(&pdu, 0x10, 1));
    struct talk talk = talk_about(line, &pdu, 2);
    assert_talk_symptom(&talk, "no-reply");
    assert_int_equal(line->frames, 0);
    fake_free(line);
}

static void reads_and_exchanges_take_turns(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = identity_drive;
    const struct pdu pdu = server_id();
    for (uint16_t i = 0; i < 5; i++) {
        struct outcome outcome = fake_ask(line, i, 4, 0);
        assert_right(&outcome, i, 4);
        struct talk talk = talk_about(line, &pdu, 0);
        assert_talk_symptom(&talk, "");
    }
    assert_traffic(line->link, TRAFFIC(10, 0, 0, 0, 0, 0));
    fake_free(line);
}

/* ---- the trace ---- */

struct traced {
    unsigned count;
    struct {
        enum trace_kind kind;
        int64_t wall_us;
        uint8_t bytes[TCP_BYTES];
        size_t length;
    } items[16];
};

static void note(void *user, enum trace_kind kind, int64_t wall_us, const uint8_t *bytes, size_t length)
{
    struct traced *traced = user;
    assert_true(traced->count < 16 && length <= TCP_BYTES);
    traced->items[traced->count].kind = kind;
    traced->items[traced->count].wall_us = wall_us;
    traced->items[traced->count].length = length;
    memcpy(traced->items[traced->count++].bytes, bytes, length);
}

static void assert_kinds(const struct traced *traced, const enum trace_kind *kinds, unsigned count)
{
    assert_int_equal(traced->count, count);
    for (unsigned i = 0; i < count; i++)
        assert_int_equal(traced->items[i].kind, kinds[i]);
}
#define KINDS(...)                                                                                                     \
    (const enum trace_kind[]){__VA_ARGS__}, sizeof((enum trace_kind[]){__VA_ARGS__}) / sizeof(enum trace_kind)

static void a_request_and_its_reply_are_traced_whole_and_in_time(void **state)
{
    (void)state;
    for (unsigned tcp = 0; tcp <= 1; tcp++) {
        struct line_fake *line = fake_new(tcp == 1);
        struct traced traced = {0};
        link_trace(line->link, note, &traced);
        (void)fake_ask(line, 0x20, 3, 0);
        assert_kinds(&traced, KINDS(TRACE_SENT, TRACE_REPLY));
        assert_int_equal(traced.items[0].length, tcp == 1 ? 12 : 8);
        assert_int_equal(traced.items[1].length, tcp == 1 ? 15 : 11);
        uint8_t reply[TCP_BYTES];
        size_t length = fake_reply(line, traced.items[0].bytes, reply);
        assert_int_equal(length, traced.items[1].length);
        assert_memory_equal(reply, traced.items[1].bytes, length);
        assert_int_equal(traced.items[1].wall_us - traced.items[0].wall_us, 5000);
        assert_int_equal(traced.items[1].wall_us, line->now_us); /* the fake's wall clock shows its own time */
        fake_free(line);
    }
}

/* Junk, an echo, another unit's frame, the reply, and a doubled reply behind it. */
static void dirty_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    if (line->frames > 1) {
        fake_drive_right(line, frame, length);
        return;
    }
    uint8_t bytes[400] = {0x00, 0x55};
    size_t used = 2;
    memcpy(bytes + used, frame, length);
    used += length;
    uint8_t other[8];
    memcpy(other, frame, sizeof other);
    other[0] = 9;
    used += fake_reply(line, other, bytes + used);
    used += fake_reply(line, frame, bytes + used);
    used += fake_reply(line, frame, bytes + used);
    fake_say(line, 5000, bytes, used);
}

static void whatever_else_is_on_the_line_is_traced_too(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    line->drive = dirty_drive;
    struct traced traced = {0};
    link_trace(line->link, note, &traced);
    struct outcome outcome = fake_ask(line, 0x20, 3, 0);
    assert_right(&outcome, 0x20, 3);
    outcome = fake_ask(line, 0x30, 4, 0);
    assert_right(&outcome, 0x30, 4);
    assert_kinds(&traced, KINDS(TRACE_SENT, TRACE_JUNK, TRACE_FOREIGN, TRACE_FOREIGN, TRACE_REPLY, TRACE_FOREIGN,
                                TRACE_SENT, TRACE_REPLY));
    assert_int_equal(traced.items[1].length, 2);
    assert_int_equal(traced.items[3].bytes[0], 9);
    fake_free(line);
}

static void stale_tcp_drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    uint8_t reply[TCP_BYTES];
    size_t reply_length = fake_reply(line, frame, reply);
    reply[1] ^= 0x40; /* an older transaction */
    fake_say(line, 3000, reply, reply_length);
    fake_drive_right(line, frame, length);
}

static void a_stale_tcp_frame_is_traced_as_foreign(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(true);
    line->drive = stale_tcp_drive;
    struct traced traced = {0};
    link_trace(line->link, note, &traced);
    struct outcome outcome = fake_ask(line, 0x20, 3, 0);
    assert_right(&outcome, 0x20, 3);
    assert_kinds(&traced, KINDS(TRACE_SENT, TRACE_FOREIGN, TRACE_REPLY));
    assert_int_equal(traced.items[1].length, traced.items[2].length);
    fake_free(line);
}

static void nothing_is_traced_after_the_end_of_it(void **state)
{
    (void)state;
    struct line_fake *line = fake_new(false);
    struct traced traced = {0};
    link_trace(line->link, note, &traced);
    link_trace(line->link, NULL, NULL);
    (void)fake_ask(line, 0x20, 3, 0);
    assert_int_equal(traced.count, 0);
    fake_free(line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(identification_comes_back_whole),
        cmocka_unit_test(server_id_comes_back_whole),
        cmocka_unit_test(a_byte_at_a_time_is_as_good),
        cmocka_unit_test(a_drive_without_it_says_so),
        cmocka_unit_test(silence_is_no_reply_after_the_retries),
        cmocka_unit_test(a_late_identification_is_not_taken_for_the_next_objects),
        cmocka_unit_test(nothing_that_writes_goes_out_as_an_exchange),
        cmocka_unit_test(reads_and_exchanges_take_turns),
        cmocka_unit_test(a_request_and_its_reply_are_traced_whole_and_in_time),
        cmocka_unit_test(whatever_else_is_on_the_line_is_traced_too),
        cmocka_unit_test(a_stale_tcp_frame_is_traced_as_foreign),
        cmocka_unit_test(nothing_is_traced_after_the_end_of_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
