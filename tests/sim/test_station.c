/* SPDX-License-Identifier: MIT */
/* The simulator's lines, asked by libmodbus clients over real sockets and pseudo-terminals. */
#include "sim/fixture.h"

#include "sim/station.h"

#include <arpa/inet.h>
#include <errno.h>
#include <modbus/modbus.h>
#include <netinet/in.h>
#include <pthread.h>
#include <sys/socket.h>
#include <sys/stat.h>

#define MAP_HEAD "map: bench-station\n"
#define MAP_PARAMETERS                                                                                                 \
    "parameters:\n"                                                                                                    \
    "  code: {at: holding 0, type: u16, default: 5}\n"                                                                 \
    "  speed: {at: holding 1, type: u16, unit: rpm, settable: stopped, accepts: 300 rpm to 3000 rpm,\n"                \
    "    default: 1440 rpm}\n"                                                                                         \
    "  highest: {at: holding 2, type: f32, unit: Hz, means: limit.maximum_frequency, default: 60 Hz}\n"                \
    "  fan: {at: coil 4, settable: always, default: 1}\n"                                                              \
    "  state: {at: input 0, type: bits, bits: {0: running, 7: tripped}, means: live.state}\n"

static const char map_text[] =
    MAP_HEAD "modbus: {count_from: 0, word_order: high-first, longest_read: 4}\n" MAP_PARAMETERS;
static const char two_connections_map[] =
    MAP_HEAD "modbus: {count_from: 0, word_order: high-first, longest_read: 4, connections: 2}\n" MAP_PARAMETERS;

enum { UNIT = 9 };

/* A drive whose line is served by a thread of its own, on a clock of the test's. */
struct server {
    struct bench bench;
    struct station *station;
    pthread_t thread;
    pthread_mutex_t lock; /* of drive, station and clock */
    int64_t now_us;
    int stop[2]; /* a pipe */
};

static void *serve(void *user)
{
    struct server *server = user;
    struct pollfd watched[1 + STATION_MOST_WATCHED] = {{.fd = server->stop[0], .events = POLLIN}};
    for (;;) {
        const size_t count = station_watch(server->station, watched + 1);
        if (poll(watched, 1 + count, -1) < 0 || watched[0].revents != 0)
            return NULL;
        (void)pthread_mutex_lock(&server->lock);
        station_serve(server->station, watched + 1, count, server->now_us);
        (void)pthread_mutex_unlock(&server->lock);
    }
}

static void server_begin(struct server *server)
{
    assert_int_equal(pipe(server->stop), 0);
    assert_int_equal(pthread_mutex_init(&server->lock, NULL), 0);
    assert_int_equal(pthread_create(&server->thread, NULL, serve, server), 0);
}

static void server_end(struct server *server)
{
    assert_int_equal(write(server->stop[1], "x", 1), 1);
    assert_int_equal(pthread_join(server->thread, NULL), 0);
    (void)pthread_mutex_destroy(&server->lock);
    (void)close(server->stop[0]);
    (void)close(server->stop[1]);
    station_free(server->station);
    bench_close(&server->bench);
}

static void tcp_server(struct server *server, const char *map)
{
    *server = (struct server){0};
    bench_open(&server->bench, map, NULL, NULL);
    struct error error = {0};
    assert_true(station_open_tcp(&server->bench.drive, NULL, "0", UNIT, &server->station, &error));
    server_begin(server);
}

static int port_of(const struct server *server)
{
    const char *place = station_place(server->station);
    static const char begin[] = "tcp 127.0.0.1:";
    assert_memory_equal(place, begin, strlen(begin));
    return (int)strtol(place + strlen(begin), NULL, 10);
}

static modbus_t *tcp_client(const struct server *server)
{
    modbus_t *client = modbus_new_tcp("127.0.0.1", port_of(server));
    assert_non_null(client);
    assert_int_equal(modbus_set_slave(client, UNIT), 0);
    assert_int_equal(modbus_set_response_timeout(client, 5, 0), 0);
    assert_int_equal(modbus_connect(client), 0);
    return client;
}

static void client_end(modbus_t *client)
{
    modbus_close(client);
    modbus_free(client);
}

/* A link name in a folder of the server's own. */
static void pty_server(struct server *server, char *link, size_t size)
{
    *server = (struct server){0};
    bench_open(&server->bench, map_text, NULL, NULL);
    assert_int_equal(mkdir(server->bench.folder, 0700), 0);
    (void)snprintf(link, size, "%s/drive", server->bench.folder);
    struct error error = {0};
    assert_true(station_open_pty(&server->bench.drive, link, UNIT, &server->station, &error));
    server_begin(server);
}

static void pty_end(struct server *server)
{
    char folder[sizeof server->bench.folder];
    memcpy(folder, server->bench.folder, sizeof folder);
    server_end(server);
    assert_int_equal(rmdir(folder), 0); /* fails where the link was left behind */
}

static modbus_t *pty_client(const char *link, int unit)
{
    modbus_t *client = modbus_new_rtu(link, 19200, 'E', 8, 1);
    assert_non_null(client);
    assert_int_equal(modbus_set_slave(client, unit), 0);
    assert_int_equal(modbus_set_response_timeout(client, 5, 0), 0);
    assert_int_equal(modbus_connect(client), 0);
    return client;
}

static void assert_exception(int result, int expected)
{
    const int reason = errno;
    assert_int_equal(result, -1);
    assert_int_equal(reason, expected);
}

static void press_start(struct server *server)
{
    (void)pthread_mutex_lock(&server->lock);
    assert_true(drive_model_start(&server->bench.drive.model));
    (void)pthread_mutex_unlock(&server->lock);
}

static void press_stop_and_wait(struct server *server)
{
    (void)pthread_mutex_lock(&server->lock);
    assert_true(drive_model_stop(&server->bench.drive.model));
    server->now_us += 60 * INT64_C(1000000);
    (void)pthread_mutex_unlock(&server->lock);
}

/* The same conversation on either line. */
static void talk(struct server *server, modbus_t *client)
{
    uint16_t words[8];
    uint8_t bits[1];
    assert_int_equal(modbus_read_registers(client, 0, 4, words), 4);
    assert_int_equal(words[0], 5);
    assert_int_equal(words[1], 1440);
    assert_int_equal(words[2], 0x4270); /* 60.0 */
    assert_int_equal(words[3], 0x0000);
    assert_int_equal(modbus_read_bits(client, 4, 1, bits), 1);
    assert_int_equal(bits[0], 1);
    assert_int_equal(modbus_read_input_registers(client, 0, 1, words), 1);
    assert_int_equal(words[0], 0);

    assert_exception(modbus_read_input_bits(client, 0, 1, bits), EMBXILFUN);
    assert_exception(modbus_read_registers(client, 1, 4, words), EMBXILADD);
    assert_exception(modbus_read_registers(client, 0, 5, words), EMBXILVAL);
    assert_exception(modbus_write_registers(client, 1, 1, words), EMBXILFUN);
    assert_exception(modbus_write_register(client, 1, 299), EMBXILVAL);
    assert_exception(modbus_write_register(client, 0, 1), EMBXILADD);

    press_start(server);
    assert_exception(modbus_write_register(client, 1, 1500), EMBXSFAIL);
    assert_int_equal(modbus_write_bit(client, 4, 0), 1);
    assert_int_equal(modbus_read_input_registers(client, 0, 1, words), 1);
    assert_int_equal(words[0], 1);
    press_stop_and_wait(server);
    assert_int_equal(modbus_write_register(client, 1, 1500), 1);
    assert_int_equal(modbus_read_registers(client, 1, 1, words), 1);
    assert_int_equal(words[0], 1500);
    assert_int_equal(modbus_read_bits(client, 4, 1, bits), 1);
    assert_int_equal(bits[0], 0);
}

static void tcp_serves_reads_writes_and_refusals(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, map_text);
    modbus_t *client = tcp_client(&server);
    talk(&server, client);
    client_end(client);
    server_end(&server);
}

static void pty_serves_reads_writes_and_refusals(void **state)
{
    (void)state;
    struct server server;
    char link[96];
    pty_server(&server, link, sizeof link);
    modbus_t *client = pty_client(link, UNIT);
    talk(&server, client);
    client_end(client);
    pty_end(&server);
}

static void pty_clients_come_and_go(void **state)
{
    (void)state;
    struct server server;
    char link[96];
    pty_server(&server, link, sizeof link);
    for (int i = 0; i < 3; i++) {
        modbus_t *client = pty_client(link, UNIT);
        uint16_t word = 0;
        assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
        assert_int_equal(word, 1440);
        client_end(client);
    }
    pty_end(&server);
}

/* The request behind one to another unit is answered, too. */
static void pty_is_silent_to_other_units(void **state)
{
    (void)state;
    struct server server;
    char link[96];
    pty_server(&server, link, sizeof link);
    modbus_t *other = pty_client(link, UNIT + 1);
    uint16_t word = 0;
    assert_int_equal(modbus_set_response_timeout(other, 0, 100000), 0);
    assert_exception(modbus_read_registers(other, 1, 1, &word), ETIMEDOUT);
    client_end(other);
    modbus_t *client = pty_client(link, UNIT);
    assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
    assert_int_equal(word, 1440);
    client_end(client);
    pty_end(&server);
}

/* Without a silence between them, a broken frame and what follows it are one broken frame. */
static void pty_throws_away_what_comes_with_a_broken_frame(void **state)
{
    (void)state;
    struct server server;
    char link[96];
    pty_server(&server, link, sizeof link);
    modbus_t *client = pty_client(link, UNIT);
    struct pollfd reply = {.fd = modbus_get_socket(client), .events = POLLIN};
    /* The second eight bytes are a right request: register 1 of unit 9. */
    static const char burst[] = "\x09\x03\x00\x01\x00\x01\xff\xff\x09\x03\x00\x01\x00\x01\xd4\x82";
    assert_int_equal(write(reply.fd, burst + 8, 8), 8);
    assert_int_equal(poll(&reply, 1, 5000), 1);
    uint8_t bytes[16];
    assert_int_equal(modbus_receive_confirmation(client, bytes), 7);
    assert_int_equal(write(reply.fd, burst, 16), 16);
    assert_int_equal(poll(&reply, 1, 200), 0);
    uint16_t word = 0;
    assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
    assert_int_equal(word, 1440);
    client_end(client);
    pty_end(&server);
}

static void pty_replaces_a_link_and_nothing_else(void **state)
{
    (void)state;
    struct bench bench;
    bench_open(&bench, map_text, NULL, NULL);
    assert_int_equal(mkdir(bench.folder, 0700), 0);
    char path[96];
    (void)snprintf(path, sizeof path, "%s/drive", bench.folder);
    struct station *station = NULL;
    struct error error = {0};
    bench_write(path, "precious\n");
    assert_false(station_open_pty(&bench.drive, path, UNIT, &station, &error));
    assert_int_equal(error.kind, ERROR_CONTACT);
    assert_non_null(strstr(error.text, "no symbolic link"));
    assert_int_equal(access(path, F_OK), 0);
    assert_int_equal(unlink(path), 0);

    assert_int_equal(symlink("/nowhere", path), 0);
    assert_true(station_open_pty(&bench.drive, path, UNIT, &station, &error));
    assert_int_equal(access(path, R_OK | W_OK), 0);
    station_free(station);
    assert_int_equal(rmdir(bench.folder), 0);
    bench_close(&bench);
}

static void tcp_is_silent_to_other_units(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, map_text);
    modbus_t *client = tcp_client(&server);
    uint16_t word = 0;
    assert_int_equal(modbus_set_slave(client, UNIT + 1), 0);
    assert_int_equal(modbus_set_response_timeout(client, 0, 100000), 0);
    assert_exception(modbus_read_registers(client, 1, 1, &word), ETIMEDOUT);
    client_end(client);
    server_end(&server);
}

static int raw_connection(const struct server *server)
{
    const struct sockaddr_in address = {
        .sin_family = AF_INET, .sin_port = htons((uint16_t)port_of(server)), .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    const int descriptor = socket(AF_INET, SOCK_STREAM, 0);
    const struct timeval patience = {.tv_sec = 5};
    assert_true(descriptor >= 0);
    assert_int_equal(setsockopt(descriptor, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience), 0);
    assert_int_equal(connect(descriptor, (const struct sockaddr *)&address, sizeof address), 0);
    return descriptor;
}

/* Half a request, then nothing; and others are served meanwhile. */
static void a_client_that_stops_half_way_holds_up_nobody(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, map_text);
    const int rude = raw_connection(&server);
    assert_int_equal(send(rude, "\x00\x01\x00\x00\x00\x06\x09", 7, 0), 7);
    modbus_t *clients[3];
    for (int i = 0; i < 3; i++)
        clients[i] = tcp_client(&server);
    for (int i = 0; i < 3; i++) {
        uint16_t word = 0;
        assert_int_equal(modbus_read_registers(clients[i], 1, 1, &word), 1);
        assert_int_equal(word, 1440);
        client_end(clients[i]);
    }
    /* The other half comes after all. */
    uint8_t reply[11];
    assert_int_equal(send(rude, "\x03\x00\x01\x00\x01", 5, 0), 5);
    assert_int_equal(recv(rude, reply, sizeof reply, MSG_WAITALL), 11);
    assert_memory_equal(reply, "\x00\x01\x00\x00\x00\x05\x09\x03\x02\x05\xa0", 11);
    (void)close(rude);
    server_end(&server);
}

static void two_requests_in_one_piece_get_two_replies(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, map_text);
    const int client = raw_connection(&server);
    static const char both[] = "\x00\x01\x00\x00\x00\x06\x09\x03\x00\x00\x00\x01"
                               "\x00\x02\x00\x00\x00\x06\x09\x03\x00\x01\x00\x01";
    uint8_t replies[22];
    assert_int_equal(send(client, both, 24, 0), 24);
    assert_int_equal(recv(client, replies, sizeof replies, MSG_WAITALL), 22);
    assert_memory_equal(replies, "\x00\x01\x00\x00\x00\x05\x09\x03\x02\x00\x05", 11);
    assert_memory_equal(replies + 11, "\x00\x02\x00\x00\x00\x05\x09\x03\x02\x05\xa0", 11);
    (void)close(client);
    server_end(&server);
}

/* Function 43, which libmodbus does not know, takes all of its request with it. */
static void an_unknown_function_is_01_and_the_next_request_is_whole(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, map_text);
    const int client = raw_connection(&server);
    static const char both[] = "\x00\x01\x00\x00\x00\x05\x09\x2b\x0e\x01\x00"
                               "\x00\x02\x00\x00\x00\x06\x09\x03\x00\x01\x00\x01";
    uint8_t replies[20];
    assert_int_equal(send(client, both, 23, 0), 23);
    assert_int_equal(recv(client, replies, sizeof replies, MSG_WAITALL), 20);
    assert_memory_equal(replies, "\x00\x01\x00\x00\x00\x03\x09\xab\x01", 9);
    assert_memory_equal(replies + 9, "\x00\x02\x00\x00\x00\x05\x09\x03\x02\x05\xa0", 11);
    (void)close(client);
    server_end(&server);
}

static void hangs_up_on(const struct server *server, const char *bytes, size_t count)
{
    const int client = raw_connection(server);
    char byte = 0;
    assert_int_equal(send(client, bytes, count, MSG_NOSIGNAL), count);
    assert_true(recv(client, &byte, 1, 0) <= 0);
    assert_true(errno != EAGAIN);
    (void)close(client);
}

static void what_is_no_modbus_is_hung_up_on(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, map_text);
    errno = 0;
    hangs_up_on(&server, "GET / HTTP/1.0\r\n\r\n", 18);
    hangs_up_on(&server, "\x00\x01\x00\x01\x00\x06\x09\x03\x00\x01\x00\x01", 12); /* protocol 1 */
    hangs_up_on(&server, "\x00\x01\x00\x00\x00\x01\x09\x03", 8);                  /* too short to hold a function */
    hangs_up_on(&server, "\x00\x01\x00\x00\x00\xff\x09\x03", 8);                  /* longer than any request */
    modbus_t *next = tcp_client(&server);
    uint16_t word = 0;
    assert_int_equal(modbus_read_registers(next, 1, 1, &word), 1);
    client_end(next);
    server_end(&server);
}

static void a_map_with_two_connections_turns_the_third_away(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, two_connections_map);
    modbus_t *first = tcp_client(&server);
    modbus_t *second = tcp_client(&server);
    uint16_t word = 0;
    assert_int_equal(modbus_read_registers(first, 1, 1, &word), 1);
    assert_int_equal(modbus_read_registers(second, 1, 1, &word), 1);
    const int third = raw_connection(&server);
    char byte = 0;
    assert_int_equal(recv(third, &byte, 1, 0), 0);
    (void)close(third);
    assert_int_equal(modbus_read_registers(first, 1, 1, &word), 1);
    client_end(first);
    client_end(second);
    server_end(&server);
}

/* 70 connections that say nothing do not keep the next one out. */
static void idle_connections_make_room(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, map_text);
    int idle[70];
    for (size_t i = 0; i < sizeof idle / sizeof *idle; i++)
        idle[i] = raw_connection(&server);
    modbus_t *client = tcp_client(&server);
    uint16_t word = 0;
    assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
    assert_int_equal(word, 1440);
    client_end(client);
    for (size_t i = 0; i < sizeof idle / sizeof *idle; i++)
        (void)close(idle[i]);
    server_end(&server);
}

static void a_port_in_use_is_said(void **state)
{
    (void)state;
    struct server server;
    tcp_server(&server, map_text);
    char port[8];
    (void)snprintf(port, sizeof port, "%d", port_of(&server));
    struct station *station = NULL;
    struct error error = {0};
    assert_false(station_open_tcp(&server.bench.drive, NULL, port, UNIT, &station, &error));
    assert_int_equal(error.kind, ERROR_CONTACT);
    assert_non_null(strstr(error.text, port));
    server_end(&server);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tcp_serves_reads_writes_and_refusals),
        cmocka_unit_test(pty_serves_reads_writes_and_refusals),
        cmocka_unit_test(pty_clients_come_and_go),
        cmocka_unit_test(pty_is_silent_to_other_units),
        cmocka_unit_test(pty_throws_away_what_comes_with_a_broken_frame),
        cmocka_unit_test(pty_replaces_a_link_and_nothing_else),
        cmocka_unit_test(tcp_is_silent_to_other_units),
        cmocka_unit_test(a_client_that_stops_half_way_holds_up_nobody),
        cmocka_unit_test(two_requests_in_one_piece_get_two_replies),
        cmocka_unit_test(an_unknown_function_is_01_and_the_next_request_is_whole),
        cmocka_unit_test(what_is_no_modbus_is_hung_up_on),
        cmocka_unit_test(a_map_with_two_connections_turns_the_third_away),
        cmocka_unit_test(idle_connections_make_room),
        cmocka_unit_test(a_port_in_use_is_said),
    };
    return cmocka_run_group_tests_name("sim_station", tests, NULL, NULL);
}
