/* SPDX-License-Identifier: MIT */
/* Writes on a link, case by case: what goes out, what counts as an acknowledgement, and that nothing goes out twice. */
#include "bus/describe.h"
#include "bus/link_internal.h"
#include "bus/writing_bench.h"

/* A drive with a memory. The write with the number `spoil_at` (from 1) befalls something. */
struct bench {
    struct line_fake *line;
    struct memory_drive memory;
    unsigned writes, reads; /* heard */
    size_t (*spoil)(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply);
    unsigned spoil_at;
    bool echoes;
    int64_t late_us;  /* of that write's reply */
    int64_t copy_us;  /* the reply to the next read comes a second time, so much later; 0: once */
    int64_t until_us; /* when its last reply goes out: it answers in order */
    bool deaf;        /* to reads */
};

static size_t wrap(const struct line_fake *line, const uint8_t *frame, const struct pdu *pdu, uint8_t *reply)
{
    return fake_frame(line, frame, reply, pdu->bytes, pdu->length);
}

static void reply_after(struct bench *bench, int64_t after_us, const uint8_t *reply, size_t length)
{
    int64_t at_us = bench->line->now_us + after_us;
    bench->until_us = at_us > bench->until_us ? at_us : bench->until_us;
    fake_deliver(bench->line, bench->until_us, reply, length, false);
}

static void drive(struct line_fake *line, const uint8_t *frame, size_t length)
{
    struct bench *bench = line->user;
    const uint8_t *asked = fake_pdu(line, frame);
    bool writes = asked[0] > 4;
    if (bench->echoes)
        fake_say(line, 4000, frame, length);
    bench->writes += writes ? 1 : 0;
    bench->reads += writes ? 0 : 1;
    if (!writes && bench->deaf)
        return;
    bool spoiled = writes && bench->writes == bench->spoil_at;
    struct pdu answer = memory_answer(&bench->memory, line->tcp ? frame[6] : frame[0], asked);
    if (spoiled && bench->spoil == NULL && bench->late_us == 0)
        return;
    uint8_t reply[TCP_BYTES];
    size_t reply_length = spoiled && bench->spoil != NULL ? bench->spoil(bench, frame, &answer, reply)
                                                          : wrap(line, frame, &answer, reply);
    reply_after(bench, spoiled && bench->late_us > 0 ? bench->late_us : 9000, reply, reply_length);
    if (!writes && bench->copy_us > 0)
        reply_after(bench, bench->copy_us, reply, reply_length);
    if (!writes)
        bench->copy_us = 0;
}

static struct bench *bench_new(bool tcp)
{
    struct bench *bench = test_calloc(1, sizeof *bench);
    bench->line = fake_new(tcp);
    bench->line->drive = drive;
    bench->line->user = bench;
    for (unsigned i = 0; i < MEMORY_WORDS; i++)
        bench->memory.registers[1][i] = fake_value((uint16_t)i);
    return bench;
}

static void bench_free(struct bench *bench)
{
    fake_free(bench->line);
    test_free(bench);
}

static struct write_outcome order(struct bench *bench, const struct write_request *request)
{
    return link_order(bench->line->loop, bench->line->link, request);
}

/* ---- what goes out, and comes back ---- */

static const struct write_request each_function[] = {
    {.unit = 1, .function = 0x05, .address = 17, .count = 1, .words = {1}, .answers_within_us = 300000},
    {.unit = 1, .function = 0x05, .address = 17, .count = 1, .words = {0}, .answers_within_us = 300000},
    {.unit = 1, .function = 0x06, .address = 20, .count = 1, .words = {0xbeef}, .answers_within_us = 300000},
    {.unit = 1, .function = 0x06, .address = 21, .count = 1, .words = {0}, .answers_within_us = 300000},
    {.unit = 1,
     .function = 0x0f,
     .address = 30,
     .count = 9,
     .words = {1, 0, 1, 1, 0, 0, 0, 0, 1},
     .answers_within_us = 300000},
    {.unit = 1, .function = 0x10, .address = 40, .count = 1, .words = {0x1234}, .answers_within_us = 300000},
    {.unit = 2,
     .function = 0x10,
     .address = 40,
     .count = 123,
     .words = {1, 2, 3, [122] = 0xffff},
     .answers_within_us = 300000},
};
enum { EACH_FUNCTION = sizeof each_function / sizeof each_function[0] };

static void a_write_is_carried_out_once_and_acknowledged(void **state)
{
    (void)state;
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        for (unsigned i = 0; i < EACH_FUNCTION; i++) {
            struct write_outcome outcome = order(bench, &each_function[i]);
            assert_written(&outcome, "", true);
            assert_int_equal(bench->memory.carried_out, i + 1);
            assert_true(same_write(&bench->memory.last, &each_function[i]));
        }
        assert_traffic(bench->line->link, TRAFFIC(EACH_FUNCTION, 0, 0, 0, 0, 0));
        bench_free(bench);
    }
}

static void what_must_not_be_written_is_not_sent(void **state)
{
    (void)state;
    const struct write_request rows[] = {
        {0},
        {.unit = 0, .function = 0x06, .count = 1},
        {.unit = 0, .function = 0x10, .count = 2},
        {.unit = 1, .function = 0x03, .count = 1},
        {.unit = 1, .function = 0x08, .count = 1},
        {.unit = 1, .function = 0x16, .count = 1},
        {.unit = 1, .function = 0x17, .count = 1},
        {.unit = 1, .function = 0x86, .count = 1},
        {.unit = 1, .function = 0x06, .count = 0},
        {.unit = 1, .function = 0x06, .count = 2},
        {.unit = 1, .function = 0x05, .count = 2},
        {.unit = 1, .function = 0x05, .count = 1, .words = {2}},
        {.unit = 1, .function = 0x05, .count = 1, .words = {0xff00}},
        {.unit = 1, .function = 0x0f, .count = 0},
        {.unit = 1, .function = 0x0f, .count = 124},
        {.unit = 1, .function = 0x0f, .count = 65535},
        {.unit = 1, .function = 0x0f, .count = 3, .words = {1, 0, 2}},
        {.unit = 1, .function = 0x10, .count = 0},
        {.unit = 1, .function = 0x10, .count = 124},
        {.unit = 1, .function = 0x10, .count = 65535},
        {.unit = 1, .function = 0x10, .address = 65535, .count = 2},
        {.unit = 1, .function = 0x0f, .address = 65535, .count = 2},
    };
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
            struct write_outcome outcome = order(bench, &rows[i]);
            assert_written(&outcome, "no-reply", false);
        }
        assert_int_equal(bench->line->connects, 0);
        assert_traffic(bench->line->link, TRAFFIC(0, 0, 0, 0, 0, 0));
        bench_free(bench);
    }
}

static void a_serial_line_has_247_units_and_tcp_255(void **state)
{
    (void)state;
    struct write_request request = write_of(1, 1);
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        bench->line->drive = NULL;
        request.unit = 248;
        struct write_outcome outcome = order(bench, &request);
        assert_written(&outcome, "no-reply", tcp == 1);
        assert_int_equal(bench->line->frames, tcp);
        request.unit = tcp == 1 ? 255 : 247;
        outcome = order(bench, &request);
        assert_written(&outcome, "no-reply", true);
        bench_free(bench);
    }
}

/* Whatever happens to a request while it waits: it is looked at once more where its bytes are made. */
static void a_request_that_is_spoiled_while_it_waits_is_not_sent(void **state)
{
    (void)state;
    for (int kind = 0; kind < 4; kind++) {
        struct bench *bench = bench_new(false);
        const struct write_request request = write_of(7, 1);
        struct write_outcome outcome = {0};
        link_write(bench->line->link, &request, write_outcome_take, &outcome);
        /* the line rests 2 ms first; by 1 ms the request was taken in hand and found good */
        assert_false(loop_run(bench->line->loop, NULL, NULL, bench->line->now_us + 1000));
        assert_int_equal(bench->line->link->state, LINK_RESTING);
        struct write_request *kept = &bench->line->link->head->write;
        kept->unit = kind == 0 ? 0 : kept->unit;
        kept->function = kind == 1 ? 0x16 : kept->function;
        kept->count = kind == 2 ? 2 : kept->count;
        if (kind == 3)
            *kept = (struct write_request){.function = 0x10, .unit = 1, .count = 200};
        assert_true(loop_run(bench->line->loop, write_outcome_is_done, &outcome, bench->line->now_us + 1000000));
        assert_written(&outcome, "no-reply", false);
        assert_int_equal(bench->line->frames, 0);
        bench_free(bench);
    }
}

/* ---- what is no acknowledgement ---- */

static size_t other_byte(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply,
                         size_t which)
{
    struct pdu other = *answer;
    other.bytes[which] ^= 1U;
    return wrap(bench->line, frame, &other, reply);
}

static size_t other_function(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    struct pdu other = *answer;
    other.bytes[0] = other.bytes[0] == 0x06 ? 0x05 : 0x06;
    return wrap(bench->line, frame, &other, reply);
}

static size_t other_address(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    return other_byte(bench, frame, answer, reply, 2);
}

static size_t other_address_far(const struct bench *bench, const uint8_t *frame, const struct pdu *answer,
                                uint8_t *reply)
{
    return other_byte(bench, frame, answer, reply, 1);
}

static size_t other_value(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    return other_byte(bench, frame, answer, reply, 4);
}

static size_t other_value_far(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    return other_byte(bench, frame, answer, reply, 3);
}

static size_t other_unit(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    uint8_t request[TCP_BYTES];
    memcpy(request, frame, 8);
    request[bench->line->tcp ? 6 : 0]++;
    return wrap(bench->line, request, answer, reply);
}

static size_t bad_end(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    size_t length = wrap(bench->line, frame, answer, reply);
    if (bench->line->tcp)
        return length - 2;
    reply[length - 1] ^= 1U;
    return length;
}

static size_t junk(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    (void)bench, (void)frame, (void)answer;
    memset(reply, 0x55, 9);
    return 9;
}

static size_t exception(const struct bench *bench, const uint8_t *frame, uint8_t *reply, uint8_t code)
{
    return fake_exception(bench->line, frame, reply, code);
}

#define EXCEPTION(code)                                                                                                \
    static size_t exception_##code(const struct bench *bench, const uint8_t *frame, const struct pdu *answer,          \
                                   uint8_t *reply)                                                                     \
    {                                                                                                                  \
        (void)answer;                                                                                                  \
        return exception(bench, frame, reply, 0x##code);                                                               \
    }
EXCEPTION(02)
EXCEPTION(04)
EXCEPTION(05)
EXCEPTION(06)
EXCEPTION(0a)
EXCEPTION(0b)
EXCEPTION(70)

/* NOLINTNEXTLINE(readability-non-const-parameter): one of a kind */
static size_t hangs_up(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    (void)frame, (void)answer, (void)reply;
    fake_hang_up(bench->line, 3000);
    return 0;
}

static void nothing_but_the_whole_acknowledgement_counts_and_nothing_is_sent_again(void **state)
{
    (void)state;
    const struct {
        size_t (*spoil)(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply);
        const char *serial, *tcp;
    } rows[] = {
        {NULL, "no-reply", "no-reply"},
        {other_function, "corrupt", "corrupt"},
        {other_address, "corrupt", "corrupt"},
        {other_address_far, "corrupt", "corrupt"},
        {other_value, "corrupt", "corrupt"},
        {other_value_far, "corrupt", "corrupt"},
        {other_unit, "other-unit", "other-unit"},
        {bad_end, "corrupt", "corrupt"},
        {junk, "corrupt", "corrupt"},
        {exception_02, "exception-02", "exception-02"},
        {exception_04, "exception-04", "exception-04"},
        {exception_05, "exception-05", "exception-05"},
        {exception_06, "exception-06", "exception-06"},
        {exception_0a, "exception-0a", "exception-0a"},
        {exception_0b, "exception-0b", "exception-0b"},
        {exception_70, "exception-70", "exception-70"},
        {hangs_up, "closed", "closed"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (unsigned j = 0; j < 2 * EACH_FUNCTION; j++) {
            struct bench *bench = bench_new(j % 2 == 1);
            bench->spoil = rows[i].spoil;
            bench->spoil_at = 1;
            struct write_outcome outcome = order(bench, &each_function[j / 2]);
            assert_written(&outcome, j % 2 == 1 ? rows[i].tcp : rows[i].serial, true);
            assert_false(loop_run(bench->line->loop, NULL, NULL, bench->line->now_us + 10000000));
            assert_int_equal(bench->writes, 1);
            assert_int_equal(bench->line->frames, 1);
            assert_int_equal(link_traffic(bench->line->link)->retries, 0);
            bench_free(bench);
        }
    }
}

static void counters_are_those_of_reads(void **state)
{
    (void)state;
    const struct {
        size_t (*spoil)(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply);
        uint64_t traffic[6]; /* requests, retries, exceptions, timeouts, bad frames, discarded */
    } rows[] = {
        {NULL, {1, 0, 0, 1, 0, 0}},
        {other_value, {1, 0, 0, 1, 0, 1}},
        {junk, {1, 0, 0, 1, 1, 0}},
        {exception_06, {1, 0, 1, 0, 0, 0}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench *bench = bench_new(false);
        bench->spoil = rows[i].spoil;
        bench->spoil_at = 1;
        (void)fake_order(bench->line, 1, 2);
        assert_traffic(bench->line->link, rows[i].traffic);
        bench_free(bench);
    }
}

/* ---- connections that end ---- */

static void without_a_connection_nothing_was_sent(void **state)
{
    (void)state;
    const struct {
        enum contact contact;
        const char *symptom;
    } rows[] = {{CONTACT_REFUSED, "refused"}, {CONTACT_UNREACHABLE, "unreachable"}, {CONTACT_CLOSED, "closed"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench *bench = bench_new(true);
        bench->line->contact = rows[i].contact;
        struct write_outcome outcome = fake_order(bench->line, 1, 2);
        assert_written(&outcome, rows[i].symptom, false);
        bench->line->contact = CONTACT_OPEN;
        outcome = fake_order(bench->line, 1, 2);
        assert_written(&outcome, "", true);
        assert_int_equal(bench->writes, 1);
        bench_free(bench);
    }
}

/* Closed while nothing was asked, or when not a byte was taken: there is no harm in another connection. */
static void a_connection_that_ends_before_the_write_is_replaced(void **state)
{
    (void)state;
    for (int64_t after_us = 0; after_us < 30000; after_us += 1000) {
        struct bench *bench = bench_new(true);
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        fake_hang_up(bench->line, after_us);
        (void)loop_run(bench->line->loop, NULL, NULL, bench->line->now_us + 20000);
        unsigned before = bench->writes;
        struct write_outcome written = fake_order(bench->line, 1, 2);
        assert_int_equal(written.sent, bench->writes == before + 1);
        assert_true(bench->writes <= before + 1);
        if (after_us <= 20000)
            assert_written(&written, "", true);
        bench_free(bench);
    }
}

static ssize_t broken_write(void *user, const uint8_t *bytes, size_t size)
{
    (void)bytes, (void)size;
    struct line_fake *line = user;
    line->closed = true;
    return -1;
}

static void a_write_of_which_no_byte_was_taken_was_not_sent(void **state)
{
    (void)state;
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        bench->line->link->transport.write = broken_write;
        struct write_outcome outcome = fake_order(bench->line, 1, 2);
        assert_written(&outcome, "closed", false);
        bench->line->link->transport.write = fake_write;
        outcome = fake_order(bench->line, 1, 2);
        assert_written(&outcome, "", true);
        assert_int_equal(bench->writes, 1);
        bench_free(bench);
    }
}

static void a_write_of_which_bytes_were_taken_is_not_sent_again(void **state)
{
    (void)state;
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        bench->line->write_at_most = 3;
        fake_hang_up(bench->line, 5000);
        struct write_outcome outcome = fake_order(bench->line, 1, 2);
        assert_written(&outcome, "closed", true);
        assert_false(loop_run(bench->line->loop, NULL, NULL, bench->line->now_us + 10000000));
        assert_int_equal(bench->line->written_length, 3);
        bench_free(bench);
    }
}

static void a_port_that_takes_no_more_ends_the_write(void **state)
{
    (void)state;
    struct bench *bench = bench_new(false);
    bench->line->write_at_most = 1;
    struct write_outcome outcome = fake_order(bench->line, 1, 2);
    assert_written(&outcome, "no-reply", true);
    assert_true(bench->line->written_length < 8);
    bench_free(bench);
}

/* ---- old replies ---- */

/* Two that are acknowledged alike: the first one late, at any moment while the second one is under way; the drive loses
 * the second one. */
static void assert_late_is_not_taken(bool tcp, const struct write_request *first, const struct write_request *second)
{
    for (int64_t late_us = 330000; late_us < 480000; late_us += 1000) {
        struct bench *bench = bench_new(tcp);
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        bench->spoil_at = 1;
        bench->late_us = late_us;
        struct write_outcome written = order(bench, first);
        if (written.symptom.kind == SYMPTOM_NONE) { /* in time */
            bench_free(bench);
            continue;
        }
        assert_written(&written, "no-reply", true);
        bench->spoil_at = 2;
        bench->late_us = 0;
        unsigned reads = bench->reads;
        written = order(bench, second);
        assert_written(&written, "no-reply", true);
        assert_true(bench->reads > reads); /* it was proved clean by one */
        assert_int_equal(bench->writes, 2);
        bench_free(bench);
    }
}

static void a_late_acknowledgement_is_not_taken_for_a_later_writes(void **state)
{
    (void)state;
    const struct write_request same = write_of(30, 5);
    assert_late_is_not_taken(false, &same, &same);
    assert_late_is_not_taken(true, &same, &same);
    struct write_request first = {
        .unit = 1, .function = 0x10, .address = 30, .count = 2, .words = {1, 2}, .answers_within_us = 300000};
    struct write_request second = first;
    second.words[1] = 3; /* the acknowledgement does not say it */
    assert_late_is_not_taken(false, &first, &second);
    assert_late_is_not_taken(true, &first, &second);
}

static size_t twice(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    size_t length = wrap(bench->line, frame, answer, reply);
    fake_say(bench->line, 40000, reply, length); /* once more, later */
    return length;
}

static void a_doubled_acknowledgement_is_not_taken_for_a_later_writes(void **state)
{
    (void)state;
    struct bench *bench = bench_new(false);
    struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
    assert_right(&outcome, 10, 4);
    outcome = fake_ask(bench->line, 30, 2, 0);
    assert_right(&outcome, 30, 2);
    bench->spoil = twice;
    bench->spoil_at = 1;
    struct write_outcome written = fake_order(bench->line, 1, 2);
    assert_written(&written, "", true);
    bench->spoil = NULL;
    bench->spoil_at = 2; /* lost */
    written = fake_order(bench->line, 1, 2);
    assert_written(&written, "no-reply", true);
    bench_free(bench);
}

static size_t refused_twice(const struct bench *bench, const uint8_t *frame, const struct pdu *answer, uint8_t *reply)
{
    (void)answer;
    size_t length = exception(bench, frame, reply, 2);
    fake_say(bench->line, 14000, reply, length);
    return length;
}

static void a_doubled_exception_is_not_taken_for_a_later_writes(void **state)
{
    (void)state;
    struct bench *bench = bench_new(false);
    struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
    assert_right(&outcome, 10, 4);
    bench->spoil = refused_twice;
    bench->spoil_at = 1;
    struct write_outcome written = fake_order(bench->line, 1, 2);
    assert_written(&written, "exception-02", true);
    written = fake_order(bench->line, 5, 2);
    assert_written(&written, "", true);
    bench_free(bench);
}

/* The value as it was is under way when it is asked for again: read before the write, late or doubled. */
static void what_is_read_after_a_write_is_not_from_before_it(void **state)
{
    (void)state;
    for (int64_t copy_us = 10000; copy_us < 900000; copy_us += 2000) {
        for (unsigned lost = 0; lost < 2; lost++) {
            struct bench *bench = bench_new(false);
            struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
            assert_right(&outcome, 10, 4);
            bench->copy_us = copy_us;
            outcome = fake_ask(bench->line, 50, 1, 0);
            assert_right(&outcome, 50, 1);
            bench->spoil_at = lost; /* its acknowledgement */
            struct write_outcome written = fake_order(bench->line, 50, 4711);
            assert_true(written.sent);
            outcome = fake_ask(bench->line, 50, 1, 3);
            assert_symptom(&outcome, "");
            assert_int_equal(outcome.words[0], 4711);
            bench_free(bench);
        }
    }
}

/* A copy that nothing announces: the write was acknowledged, so all before it seemed over. */
static void a_copy_from_before_an_acknowledged_write_is_not_what_is_read_after_it(void **state)
{
    (void)state;
    for (int64_t copy_us = 2500; copy_us < 30000; copy_us += 500) {
        struct bench *bench = bench_new(false);
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        outcome = fake_ask(bench->line, 50, 1, 0);
        assert_right(&outcome, 50, 1);
        struct write_outcome written = fake_order(bench->line, 50, 4711);
        assert_written(&written, "", true);
        const struct pdu old = {.bytes = {3, 2, (uint8_t)(fake_value(50) >> 8), (uint8_t)fake_value(50)}, .length = 4};
        uint8_t copy[RTU_BYTES];
        fake_say(bench->line, copy_us, copy, rtu_build(copy, 1, &old));
        outcome = fake_ask(bench->line, 50, 1, 0);
        assert_symptom(&outcome, "");
        assert_int_equal(outcome.words[0], 4711);
        bench_free(bench);
    }
}

static void what_a_gateway_gave_up_may_still_be_carried_out(void **state)
{
    (void)state;
    struct bench *bench = bench_new(true);
    struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
    assert_right(&outcome, 10, 4);
    bench->spoil = exception_0b;
    bench->spoil_at = 1;
    struct write_outcome written = fake_order(bench->line, 1, 2);
    assert_written(&written, "exception-0b", true);
    unsigned reads = bench->reads;
    written = order(bench, &each_function[5]); /* of another function */
    assert_written(&written, "", true);
    assert_int_equal(bench->reads, reads + 1);
    bench_free(bench);
}

static void a_write_waits_for_proof_that_what_was_asked_before_is_over(void **state)
{
    (void)state;
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        bench->deaf = true;
        outcome = fake_ask(bench->line, 20, 3, 0);
        assert_symptom(&outcome, "no-reply");
        struct write_outcome written = fake_order(bench->line, 1, 2);
        assert_written(&written, "no-reply", false); /* a drive that does not answer reads is not written to */
        assert_int_equal(bench->writes, 0);
        assert_true(bench->reads > 2 + 1); /* the proof is a read, and may be asked for again */
        bench->deaf = false;
        outcome = fake_ask(bench->line, 10, 5, 0);
        assert_right(&outcome, 10, 5);
        written = fake_order(bench->line, 1, 2);
        assert_written(&written, "", true);
        bench_free(bench);
    }
}

static void where_nothing_can_be_read_silence_is_the_proof_on_a_serial_line_alone(void **state)
{
    (void)state;
    for (int tcp = 0; tcp < 2; tcp++) {
        struct bench *bench = bench_new(tcp == 1);
        bench->spoil_at = 1;
        struct write_outcome written = fake_order(bench->line, 1, 2);
        assert_written(&written, "no-reply", true);
        int64_t start_us = bench->line->now_us;
        written = fake_order(bench->line, 1, 2);
        if (tcp == 1) {
            assert_written(&written, "no-reply", false);
            assert_int_equal(bench->writes, 1);
        } else {
            assert_written(&written, "", true);
            assert_true(bench->line->first_write_us - start_us >= 1600000);
        }
        bench_free(bench);
    }
}

static void after_silence_a_drive_has_to_answer_before_it_is_written_to(void **state)
{
    (void)state;
    struct bench *bench = bench_new(false);
    struct outcome outcome = fake_ask(bench->line, 10, 1, 0);
    assert_right(&outcome, 10, 1); /* the one length that is known: no other one can prove anything */
    for (unsigned deaf = 0; deaf < 2; deaf++) {
        bench->deaf = true;
        outcome = fake_ask(bench->line, 10, 1, 0);
        assert_symptom(&outcome, "no-reply");
        bench->deaf = deaf == 1;
        int64_t start_us = bench->line->now_us;
        struct write_outcome written = fake_order(bench->line, 1, 2);
        assert_written(&written, deaf == 1 ? "no-reply" : "", deaf == 0);
        assert_true(bench->line->now_us - start_us >= 1600000);
    }
    assert_int_equal(bench->writes, 1);
    bench_free(bench);
}

/* ---- adapters that give back what is sent ---- */

static void an_echo_is_no_acknowledgement(void **state)
{
    (void)state;
    for (unsigned i = 0; i < EACH_FUNCTION; i++) {
        struct bench *bench = bench_new(false);
        bench->echoes = true;
        struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
        assert_right(&outcome, 10, 4);
        struct write_outcome written = order(bench, &each_function[i]);
        assert_written(&written, "", true);
        bench->spoil_at = 2; /* lost: nothing but the echo comes */
        written = order(bench, &each_function[i]);
        assert_written(&written, "no-reply", true);
        bench_free(bench);
    }
}

static void an_echo_in_pieces_is_no_spoiled_acknowledgement(void **state)
{
    (void)state;
    const struct write_request *request = &each_function[5];
    const struct asked asked = {.unit = 1, .pdu = {.bytes = {0x10, 0, 40, 0, 1, 2, 0x12, 0x34}, .length = 8}};
    uint8_t frame[RTU_BYTES];
    size_t length = rtu_build(frame, request->unit, &asked.pdu);
    for (size_t part = 1; part < length; part++)
        assert_false(rtu_scan(frame, part, &asked).spoiled);
    frame[length - 1] ^= 1U;
    assert_true(rtu_scan(frame, length, &asked).spoiled);
}

/* ---- watching ---- */

struct seen {
    char *text[4];
    size_t count;
};

static void see(void *user, enum trace_kind kind, int64_t at_us, const uint8_t *bytes, size_t length)
{
    (void)at_us;
    struct seen *seen = user;
    assert_true(seen->count < 4);
    seen->text[seen->count++] = frame_describe(false, kind, bytes, length);
}

static void a_trace_shows_what_is_written(void **state)
{
    (void)state;
    const char *const expected[] = {"unit 1: write multiple registers, 1 from 0x0028, data 12 34",
                                    "unit 1: write multiple registers, 1 from 0x0028",
                                    "unit 1: write single register, 0xbeef to 0x0014",
                                    "unit 1: write single register, 0xbeef to 0x0014"};
    struct bench *bench = bench_new(false);
    struct seen seen = {0};
    link_trace(bench->line->link, see, &seen);
    (void)order(bench, &each_function[5]);
    (void)order(bench, &each_function[2]);
    assert_int_equal(seen.count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_string_equal(seen.text[i], expected[i]);
        free(seen.text[i]);
    }
    bench_free(bench);
}

static void a_slow_write_does_not_lengthen_reads(void **state)
{
    (void)state;
    struct bench *bench = bench_new(false);
    struct write_request request = write_of(1, 2);
    request.answers_within_us = 3000000;
    bench->spoil_at = 1;
    bench->late_us = 2500000;
    struct write_outcome written = order(bench, &request);
    assert_written(&written, "", true);
    bench->deaf = true;
    int64_t start_us = bench->line->now_us;
    struct outcome outcome = fake_ask(bench->line, 10, 4, 0);
    assert_symptom(&outcome, "no-reply");
    assert_true(bench->line->now_us - start_us < 400000);
    bench_free(bench);
    bench = bench_new(false);
    bench->spoil_at = 1;
    bench->late_us = 2500000;
    written = fake_order(bench->line, 0, 0); /* its acknowledgement comes when nobody waits for it */
    assert_written(&written, "no-reply", true);
    assert_false(loop_run(bench->line->loop, NULL, NULL, bench->line->now_us + 3000000));
    assert_int_equal(link_traffic(bench->line->link)->discarded, 1);
    bench->deaf = true;
    start_us = bench->line->now_us;
    outcome = fake_ask(bench->line, 10, 4, 0);
    assert_symptom(&outcome, "no-reply");
    assert_true(bench->line->now_us - start_us < 400000);
    bench_free(bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_write_is_carried_out_once_and_acknowledged),
        cmocka_unit_test(what_must_not_be_written_is_not_sent),
        cmocka_unit_test(a_serial_line_has_247_units_and_tcp_255),
        cmocka_unit_test(a_request_that_is_spoiled_while_it_waits_is_not_sent),
        cmocka_unit_test(nothing_but_the_whole_acknowledgement_counts_and_nothing_is_sent_again),
        cmocka_unit_test(counters_are_those_of_reads),
        cmocka_unit_test(without_a_connection_nothing_was_sent),
        cmocka_unit_test(a_connection_that_ends_before_the_write_is_replaced),
        cmocka_unit_test(a_write_of_which_no_byte_was_taken_was_not_sent),
        cmocka_unit_test(a_write_of_which_bytes_were_taken_is_not_sent_again),
        cmocka_unit_test(a_port_that_takes_no_more_ends_the_write),
        cmocka_unit_test(a_late_acknowledgement_is_not_taken_for_a_later_writes),
        cmocka_unit_test(a_doubled_acknowledgement_is_not_taken_for_a_later_writes),
        cmocka_unit_test(a_doubled_exception_is_not_taken_for_a_later_writes),
        cmocka_unit_test(what_is_read_after_a_write_is_not_from_before_it),
        cmocka_unit_test(a_copy_from_before_an_acknowledged_write_is_not_what_is_read_after_it),
        cmocka_unit_test(what_a_gateway_gave_up_may_still_be_carried_out),
        cmocka_unit_test(a_write_waits_for_proof_that_what_was_asked_before_is_over),
        cmocka_unit_test(where_nothing_can_be_read_silence_is_the_proof_on_a_serial_line_alone),
        cmocka_unit_test(after_silence_a_drive_has_to_answer_before_it_is_written_to),
        cmocka_unit_test(an_echo_is_no_acknowledgement),
        cmocka_unit_test(an_echo_in_pieces_is_no_spoiled_acknowledgement),
        cmocka_unit_test(a_trace_shows_what_is_written),
        cmocka_unit_test(a_slow_write_does_not_lengthen_reads),
    };
    return cmocka_run_group_tests_name("link, writes", tests, NULL, NULL);
}
