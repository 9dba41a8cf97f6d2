/* SPDX-License-Identifier: MIT */
/* The frame loop on real sockets and pseudo-terminals, asked by libmodbus clients: several units, formats, hang-ups. */
#include "sim/fixture.h"

#include "sim/pty_format.h"
#include "sim/simulation.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <modbus/modbus.h>
#include <netinet/in.h>
#include <poll.h>
#include <pthread.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <termios.h>

static const char map_text[] =
    "map: bench-loop\n"
    "modbus: {count_from: 0, word_order: high-first, writes_with: either, longest_write: 8}\n"
    "parameters:\n"
    "  code: {at: holding 0, type: u16, settable: always, default: 5}\n"
    "  speed: {at: holding 1, type: u16, unit: rpm, settable: always, default: 1440 rpm}\n"
    "  fan: {at: coil 4, settable: always, default: 1}\n"
    "  lamp: {at: coil 5, settable: always, default: 0}\n"
    "  door: {at: discrete 0, default: 1}\n"
    "  state: {at: input 0, type: bits, bits: {0: running}, means: live.state}\n";

enum { FIRST = 9, DRIVES = 3, ABSENT = FIRST + DRIVES };

/* A simulation that a thread of its own serves. */
struct served {
    struct bench bench; /* its map */
    char link[96];
    struct options options;
    struct simulation simulation;
    pthread_t thread;
    int stop[2]; /* a pipe */
};

static void *serve(void *user)
{
    struct served *served = user;
    struct pollfd watched[1 + STATION_MOST_WATCHED] = {{.fd = served->stop[0], .events = POLLIN}};
    for (;;) {
        const size_t count = station_watch(served->simulation.station, watched + 1);
        const int64_t due_us = server_due_us(served->simulation.server);
        const int64_t left_us = due_us - simulation_clock_us(NULL);
        const int patience_ms = due_us == SERVER_NOTHING_DUE ? -1 : left_us > 0 ? (int)(left_us / 1000 + 1) : 0;
        if (poll(watched, 1 + count, patience_ms) < 0 || watched[0].revents != 0)
            return NULL;
        station_serve(served->simulation.station, watched + 1, count, simulation_clock_us(NULL));
        server_release(served->simulation.server);
    }
}

/* Three drives on a pseudo-terminal, or on TCP where `tcp` says; `more` are options and NULL. */
static void served_begin(struct served *served, bool tcp, char *const *more)
{
    *served = (struct served){0};
    bench_load(&served->bench, map_text, NULL);
    assert_int_equal(mkdir(served->bench.folder, 0700), 0);
    (void)snprintf(served->link, sizeof served->link, "%s/line", served->bench.folder);
    char map[] = "--map=map.yaml";
    char unit[] = "--unit=9";
    char drives[] = "--drives=3";
    char *place = tcp ? text_copy("--tcp=:0") : text_format("--pty=%s", served->link);
    char *arguments[12] = {map, unit, drives, place};
    int count = 4;
    while (more != NULL && *more != NULL)
        arguments[count++] = *more++;
    struct error error = {0};
    const bool begun = options_read(count, arguments, &served->options, &error) &&
                       simulation_begin(&served->simulation, &served->options, &served->bench.map, NULL, &error);
    if (!begun)
        print_error("%s\n", error.text);
    assert_true(begun);
    free(place);
    assert_int_equal(pipe(served->stop), 0);
    assert_int_equal(pthread_create(&served->thread, NULL, serve, served), 0);
}

static void served_end(struct served *served)
{
    assert_int_equal(write(served->stop[1], "x", 1), 1);
    assert_int_equal(pthread_join(served->thread, NULL), 0);
    (void)close(served->stop[0]);
    (void)close(served->stop[1]);
    assert_true(simulation_end(&served->simulation, NULL));
    options_free(&served->options);
    map_free(&served->bench.map);
    assert_int_equal(rmdir(served->bench.folder), 0); /* fails where the link was left behind */
}

static modbus_t *connected(modbus_t *client)
{
    assert_non_null(client);
    assert_int_equal(modbus_set_response_timeout(client, 5, 0), 0);
    assert_int_equal(modbus_connect(client), 0);
    return client;
}

static modbus_t *pty_client(const struct served *served, int baud, int stop_bits)
{
    return connected(modbus_new_rtu(served->link, baud, stop_bits == 2 ? 'N' : 'E', 8, stop_bits));
}

static int port_of(const struct served *served)
{
    const char *place = station_place(served->simulation.station);
    static const char begin[] = "tcp 127.0.0.1:";
    assert_memory_equal(place, begin, strlen(begin));
    return (int)strtol(place + strlen(begin), NULL, 10);
}

static modbus_t *tcp_client(const struct served *served)
{
    return connected(modbus_new_tcp("127.0.0.1", port_of(served)));
}

static void client_end(modbus_t *client)
{
    modbus_close(client);
    modbus_free(client);
}

static void ask_unit(modbus_t *client, int unit)
{
    assert_int_equal(modbus_set_slave(client, unit), 0);
}

static void assert_exception(int result, int expected)
{
    const int reason = errno;
    assert_int_equal(result, -1);
    assert_int_equal(reason, expected);
}

/* Every function that libmodbus has a call for, of one unit. */
static void talk(modbus_t *client, int unit)
{
    uint16_t words[4];
    uint8_t bits[2];
    ask_unit(client, unit);
    assert_int_equal(modbus_read_registers(client, 0, 2, words), 2);
    assert_int_equal(words[0], 5);
    assert_int_equal(words[1], 1440);
    assert_int_equal(modbus_read_input_registers(client, 0, 1, words), 1);
    assert_int_equal(words[0], 0);
    assert_int_equal(modbus_read_bits(client, 4, 2, bits), 2);
    assert_int_equal(bits[0], 1);
    assert_int_equal(bits[1], 0);
    assert_int_equal(modbus_read_input_bits(client, 0, 1, bits), 1);
    assert_int_equal(bits[0], 1);
    assert_int_equal(modbus_write_register(client, 0, (uint16_t)(1000 + unit)), 1);
    assert_int_equal(modbus_write_bit(client, 4, 0), 1);
    words[0] = 1500;
    assert_int_equal(modbus_write_registers(client, 1, 1, words), 1);
    assert_int_equal(modbus_write_bits(client, 4, 2, (const uint8_t *)"\x00\x01"), 2);
    assert_int_equal(modbus_read_registers(client, 1, 1, words), 1);
    assert_int_equal(words[0], 1500);
    assert_int_equal(modbus_read_bits(client, 4, 2, bits), 2);
    assert_int_equal(bits[0], 0);
    assert_int_equal(bits[1], 1);
    uint8_t id[64];
    const int length = modbus_report_slave_id(client, sizeof id, id);
    assert_true(length > 2);
    assert_int_equal(id[0], unit);
    assert_int_equal(id[1], 0);
    assert_memory_equal(id + 2, "asleft bench-loop", strlen("asleft bench-loop"));
    assert_exception(modbus_read_registers(client, 7, 1, words), EMBXILADD);
    assert_exception(modbus_write_register(client, 7, 1), EMBXILADD);
    assert_exception(modbus_mask_write_register(client, 0, 0, 0), EMBXILFUN);
}

/* Each unit kept what it was told, and no other one's. */
static void talk_to_all(modbus_t *client)
{
    for (int unit = FIRST; unit < FIRST + DRIVES; unit++)
        talk(client, unit);
    for (int unit = FIRST; unit < FIRST + DRIVES; unit++) {
        uint16_t word = 0;
        ask_unit(client, unit);
        assert_int_equal(modbus_read_registers(client, 0, 1, &word), 1);
        assert_int_equal(word, 1000 + unit);
    }
}

static void an_absent_unit_is_silent_and_the_next_one_heard(modbus_t *client)
{
    uint16_t word = 0;
    ask_unit(client, ABSENT);
    assert_int_equal(modbus_set_response_timeout(client, 0, 100000), 0);
    assert_exception(modbus_read_registers(client, 0, 1, &word), ETIMEDOUT);
    assert_int_equal(modbus_set_response_timeout(client, 5, 0), 0);
    ask_unit(client, FIRST);
    assert_int_equal(modbus_read_registers(client, 0, 1, &word), 1);
}

static void pty_serves_several_units(void **state)
{
    (void)state;
    struct served served;
    served_begin(&served, false, NULL);
    modbus_t *client = pty_client(&served, 19200, 1);
    talk_to_all(client);
    an_absent_unit_is_silent_and_the_next_one_heard(client);
    client_end(client);
    served_end(&served);
}

static void tcp_serves_several_units(void **state)
{
    (void)state;
    struct served served;
    served_begin(&served, true, NULL);
    modbus_t *client = tcp_client(&served);
    talk_to_all(client);
    an_absent_unit_is_silent_and_the_next_one_heard(client);
    client_end(client);
    served_end(&served);
}

static bool hears(const struct served *served, int baud, int stop_bits)
{
    modbus_t *client = pty_client(served, baud, stop_bits);
    uint16_t word = 0;
    ask_unit(client, FIRST);
    assert_int_equal(modbus_set_response_timeout(client, 0, 300000), 0);
    const bool heard = modbus_read_registers(client, 0, 1, &word) == 1;
    client_end(client);
    return heard;
}

static void pty_hears_its_own_format_alone(void **state)
{
    (void)state;
    struct served served;
    char baud[] = "--baud=19200";
    char stop_bits[] = "--stop-bits=1";
    served_begin(&served, false, (char *const[]){baud, stop_bits, NULL});
    assert_false(hears(&served, 9600, 1));
    assert_true(hears(&served, 19200, 1));
    assert_false(hears(&served, 19200, 2));
    assert_true(hears(&served, 19200, 1));
    assert_int_equal(server_sums(served.simulation.server)->unheard, 2);
    served_end(&served);
}

static void pty_without_a_format_hears_any(void **state)
{
    (void)state;
    struct served served;
    served_begin(&served, false, NULL);
    assert_true(hears(&served, 1200, 2));
    assert_true(hears(&served, 115200, 1));
    served_end(&served);
}

static void formats_are_seen_from_the_masters_side(void **state)
{
    (void)state;
    const int master = posix_openpt(O_RDWR | O_NOCTTY);
    char name[64];
    assert_true(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
    assert_int_equal(ptsname_r(master, name, sizeof name), 0);
    const int slave = open(name, O_RDWR | O_NOCTTY);
    struct termios settings;
    unsigned baud = 0;
    unsigned stop_bits = 0;
    assert_int_equal(tcgetattr(slave, &settings), 0);
    assert_int_equal(cfsetspeed(&settings, B57600), 0);
    settings.c_cflag |= CSTOPB;
    assert_int_equal(tcsetattr(slave, TCSANOW, &settings), 0);
    assert_true(pty_format(master, &baud, &stop_bits));
    assert_int_equal(baud, 57600);
    assert_int_equal(stop_bits, 2);
    assert_false(pty_format(-1, &baud, &stop_bits));
    (void)close(slave);
    (void)close(master);
}

/* Half a request, a pause, a whole one. */
static void pty_forgets_half_a_request_after_a_silence(void **state)
{
    (void)state;
    struct served served;
    served_begin(&served, false, NULL);
    modbus_t *client = pty_client(&served, 19200, 1);
    const int port = modbus_get_socket(client);
    struct pollfd reply = {.fd = port, .events = POLLIN};
    uint16_t word = 0;
    assert_int_equal(write(port, "\x09\x03\x00", 3), 3);
    assert_int_equal(poll(&reply, 1, 100), 0);
    ask_unit(client, FIRST);
    assert_int_equal(modbus_read_registers(client, 0, 1, &word), 1);
    client_end(client);
    served_end(&served);
}

/* An unknown function has no length of its own; its checksum ends it. */
static void pty_refuses_what_it_does_not_know(void **state)
{
    (void)state;
    struct served served;
    served_begin(&served, false, NULL);
    modbus_t *client = pty_client(&served, 19200, 1);
    const int port = modbus_get_socket(client);
    uint8_t frame[FRAME_LONGEST];
    const size_t length = wire_wrap(WIRE_SERIAL, 0, FIRST, (const uint8_t *)"\x2b\x0e\x04\x00", 4, frame);
    struct pollfd reply = {.fd = port, .events = POLLIN};
    assert_int_equal(write(port, frame, length), length);
    uint8_t answer[1 + 15 + 2];
    size_t got = 0;
    while (got < sizeof answer) {
        assert_int_equal(poll(&reply, 1, 5000), 1);
        const ssize_t more = read(port, answer + got, sizeof answer - got);
        assert_true(more > 0);
        got += (size_t)more;
    }
    assert_memory_equal(answer,
                        "\x09\x2b\x0e\x04\x82\x00\x00\x01\x00\x06"
                        "asleft",
                        16);
    assert_int_equal(wire_crc(answer, sizeof answer), 0); /* as of any frame with its checksum */
    client_end(client);
    served_end(&served);
}

static void a_pty_that_hangs_up_comes_back_behind_its_link(void **state)
{
    (void)state;
    struct served served;
    char fault[] = "--fault=disconnect@2";
    served_begin(&served, false, (char *const[]){fault, NULL});
    modbus_t *client = pty_client(&served, 19200, 1);
    uint16_t word = 0;
    ask_unit(client, FIRST);
    assert_int_equal(modbus_read_registers(client, 0, 1, &word), 1);
    assert_int_equal(modbus_read_registers(client, 0, 1, &word), -1);
    client_end(client);
    client = pty_client(&served, 19200, 1);
    ask_unit(client, FIRST);
    assert_int_equal(modbus_read_registers(client, 0, 1, &word), 1);
    assert_int_equal(word, 5);
    client_end(client);
    served_end(&served);
}

static void tcp_hangs_up_and_takes_the_next_connection(void **state)
{
    (void)state;
    struct served served;
    char fault[] = "--fault=disconnect@1";
    served_begin(&served, true, (char *const[]){fault, NULL});
    modbus_t *client = tcp_client(&served);
    uint16_t word = 0;
    ask_unit(client, FIRST);
    assert_exception(modbus_read_registers(client, 0, 1, &word), ECONNRESET);
    client_end(client);
    client = tcp_client(&served);
    ask_unit(client, FIRST);
    assert_int_equal(modbus_read_registers(client, 0, 1, &word), 1);
    client_end(client);
    served_end(&served);
}

/* A late reply, and it is whose connection is gone by then. */
static void a_client_that_left_misses_its_late_reply(void **state)
{
    (void)state;
    struct served served;
    char fault[] = "--fault=late=50ms@1";
    served_begin(&served, true, (char *const[]){fault, NULL});
    modbus_t *client = tcp_client(&served);
    uint16_t word = 0;
    ask_unit(client, FIRST);
    assert_int_equal(modbus_set_response_timeout(client, 0, 1000), 0);
    assert_int_equal(modbus_read_registers(client, 0, 1, &word), -1);
    client_end(client);
    client = tcp_client(&served);
    ask_unit(client, FIRST);
    assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
    assert_int_equal(word, 1440);
    client_end(client);
    served_end(&served);
}

/* No reply is there before its time. How much later it is, is the machine's business. */
static void a_paced_reply_takes_its_time_at_least(void **state)
{
    (void)state;
    struct served served;
    char pace[] = "--pace=9600";
    char turnaround[] = "--turnaround=5";
    served_begin(&served, false, (char *const[]){pace, turnaround, NULL});
    modbus_t *client = pty_client(&served, 9600, 1);
    const int64_t began_us = simulation_clock_us(NULL);
    uint16_t word = 0;
    ask_unit(client, FIRST);
    for (int i = 0; i < 3; i++)
        assert_int_equal(modbus_read_registers(client, 0, 1, &word), 1);
    /* 15 characters of 11 bits, one silence, the turnaround; between two of them one silence more. */
    assert_true(simulation_clock_us(NULL) - began_us >= 3 * (17187 + 4010 + 5000) + 2 * 4010);
    client_end(client);
    served_end(&served);
}

static void keys_go_to_the_unit_that_is_named(void **state)
{
    (void)state;
    struct served served;
    served_begin(&served, true, NULL);
    static const struct {
        const char *line;
        const char *answer;
    } rows[] = {
        {"10 set code=7", "code: 7 (raw 0x0007)"},      {"show code", "code: 5 (raw 0x0005)"},
        {" 9  show code", "code: 5 (raw 0x0005)"},      {"10 show code", "code: 7 (raw 0x0007)"},
        {"11 show code", "code: 5 (raw 0x0005)"},       {"12 stop", "no unit 12 here; they are 9 to 11"},
        {"8 stop", "no unit 8 here; they are 9 to 11"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bool quit = true;
        char *answer = simulation_press(&served.simulation, rows[i].line, &quit);
        assert_string_equal(answer, rows[i].answer);
        assert_false(quit);
        free(answer);
    }
    served_end(&served);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pty_serves_several_units),
        cmocka_unit_test(tcp_serves_several_units),
        cmocka_unit_test(pty_hears_its_own_format_alone),
        cmocka_unit_test(pty_without_a_format_hears_any),
        cmocka_unit_test(formats_are_seen_from_the_masters_side),
        cmocka_unit_test(pty_forgets_half_a_request_after_a_silence),
        cmocka_unit_test(pty_refuses_what_it_does_not_know),
        cmocka_unit_test(a_pty_that_hangs_up_comes_back_behind_its_link),
        cmocka_unit_test(tcp_hangs_up_and_takes_the_next_connection),
        cmocka_unit_test(a_client_that_left_misses_its_late_reply),
        cmocka_unit_test(a_paced_reply_takes_its_time_at_least),
        cmocka_unit_test(keys_go_to_the_unit_that_is_named),
    };
    return cmocka_run_group_tests_name("sim_frame_loop", tests, NULL, NULL);
}
