/* SPDX-License-Identifier: MIT */
/* Links over real sockets: against a Modbus server that is not ours (libmodbus), and against servers that misbehave. */
#include "bus/line_fake.h"
#include "bus/resolve.h"
#include "bus/tcp.h"
#include "types/memory.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <modbus.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <pthread.h>
#include <semaphore.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

/* ---- a server in a thread: one connection after the other ---- */

struct server {
    int listener;
    unsigned port;
    pthread_t thread;
    void (*serve)(struct server *server, int connection); /* until the connection ends */
    unsigned connections;
};

static void *accept_all(void *user)
{
    struct server *server = user;
    for (;;) {
        int connection = accept(server->listener, NULL, NULL);
        if (connection < 0)
            return NULL;
        server->connections++;
        server->serve(server, connection);
        (void)close(connection);
    }
}

/* A listener at a port that the kernel chooses; -1 where there is no such address here. */
static int listen_at(int family, unsigned *port, bool refuse)
{
    struct sockaddr_storage address = {.ss_family = (sa_family_t)family};
    socklen_t size = family == AF_INET6 ? sizeof(struct sockaddr_in6) : sizeof(struct sockaddr_in);
    if (family == AF_INET6)
        ((struct sockaddr_in6 *)&address)->sin6_addr = in6addr_loopback;
    else
        ((struct sockaddr_in *)&address)->sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int listener = socket(family, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (listener < 0)
        return -1;
    if (bind(listener, (struct sockaddr *)&address, size) != 0 || (!refuse && listen(listener, 4) != 0) ||
        getsockname(listener, (struct sockaddr *)&address, &size) != 0) {
        (void)close(listener);
        return -1;
    }
    *port = ntohs(family == AF_INET6 ? ((struct sockaddr_in6 *)&address)->sin6_port
                                     : ((struct sockaddr_in *)&address)->sin_port);
    return listener;
}

static bool server_start(struct server *server, int family, void (*serve)(struct server *, int))
{
    *server = (struct server){.serve = serve};
    server->listener = listen_at(family, &server->port, false);
    if (server->listener < 0)
        return false;
    assert_int_equal(pthread_create(&server->thread, NULL, accept_all, server), 0);
    return true;
}

static void server_stop(struct server *server)
{
    (void)shutdown(server->listener, SHUT_RDWR);
    assert_int_equal(pthread_join(server->thread, NULL), 0);
    (void)close(server->listener);
}

/* ---- the peer: libmodbus's own server side ---- */

static void serve_with_libmodbus(struct server *server, int connection)
{
    (void)server;
    modbus_t *modbus = modbus_new_tcp("127.0.0.1", 0);
    modbus_mapping_t *registers = modbus_mapping_new(64, 64, 200, 200);
    if (modbus == NULL || registers == NULL)
        abort();
    for (uint16_t i = 0; i < 200; i++) {
        registers->tab_registers[i] = fake_value(i);
        registers->tab_input_registers[i] = (uint16_t)~fake_value(i);
        if (i < 64)
            registers->tab_bits[i] = fake_value(i) & 1U;
    }
    (void)modbus_set_socket(modbus, connection);
    (void)modbus_set_response_timeout(modbus, 0, 1000); /* it sleeps that long before exceptions 01 and 03 */
    uint8_t request[MODBUS_TCP_MAX_ADU_LENGTH];
    for (;;) {
        int length = modbus_receive(modbus, request);
        if (length < 0)
            break;
        if (length > 0)
            (void)modbus_reply(modbus, request, length, registers);
    }
    modbus_mapping_free(registers);
    modbus_free(modbus);
}

/* ---- the client ---- */

struct client {
    struct loop *loop;
    struct link *link;
};

static struct client client_at(const char *host, unsigned port)
{
    struct clock clock = clock_system();
    struct client client = {.loop = loop_new(&clock)};
    struct line line = {.host = text_copy(host), .port = port};
    struct error error = {0};
    assert_true(link_open(client.loop, &line, &client.link, &error));
    free(line.host);
    return client;
}

static void client_free(struct client *client)
{
    link_free(client->link);
    loop_free(client->loop);
}

static struct outcome client_ask(const struct client *client, uint8_t function, uint16_t address, uint16_t count,
                                 int64_t promise_us, unsigned retries)
{
    const struct request request = {.unit = 1,
                                    .function = function,
                                    .address = address,
                                    .count = count,
                                    .answers_within_us = promise_us,
                                    .retries = retries};
    return link_ask(client->loop, client->link, &request);
}

enum { LONG_US = 5000000, SHORT_US = 100000 };

static void assert_reads_from(int family, const char *host)
{
    struct server server;
    if (!server_start(&server, family, serve_with_libmodbus))
        skip();
    struct client client = client_at(host, server.port);
    assert_false(link_opened(client.link));
    for (uint16_t address = 0; address < 60; address++) {
        struct outcome outcome = client_ask(&client, 3, address, (uint16_t)(1 + address * 2), LONG_US, 0);
        assert_right(&outcome, address, (uint16_t)(1 + address * 2));
    }
    assert_true(link_opened(client.link));
    assert_traffic(client.link, TRAFFIC(60, 0, 0, 0, 0, 0));
    client_free(&client);
    server_stop(&server);
    assert_int_equal(server.connections, 1);
}

static void reads_from_a_libmodbus_server(void **state)
{
    (void)state;
    assert_reads_from(AF_INET, "127.0.0.1");
}

static void reads_over_ipv6(void **state)
{
    (void)state;
    assert_reads_from(AF_INET6, "::1");
}

static void reads_from_a_named_host(void **state)
{
    (void)state;
    assert_reads_from(AF_INET, "localhost"); /* ::1 may come first, and refuse */
}

static void reads_every_kind_of_register(void **state)
{
    (void)state;
    struct server server;
    assert_true(server_start(&server, AF_INET, serve_with_libmodbus));
    struct client client = client_at("127.0.0.1", server.port);
    struct outcome outcome = client_ask(&client, 4, 10, 5, LONG_US, 0);
    assert_symptom(&outcome, "");
    for (uint16_t i = 0; i < 5; i++)
        assert_int_equal(outcome.words[i], (uint16_t)~fake_value((uint16_t)(10 + i)));
    outcome = client_ask(&client, 1, 3, 21, LONG_US, 0);
    assert_symptom(&outcome, "");
    for (uint16_t i = 0; i < 21; i++)
        assert_int_equal(outcome.words[i], fake_value((uint16_t)(3 + i)) & 1U);
    outcome = client_ask(&client, 2, 3, 21, LONG_US, 0);
    assert_symptom(&outcome, "");
    for (uint16_t i = 0; i < 21; i++)
        assert_int_equal(outcome.words[i], 0);
    outcome = client_ask(&client, 3, 199, 2, LONG_US, 0);
    assert_symptom(&outcome, "exception-02");
    assert_traffic(client.link, TRAFFIC(4, 0, 1, 0, 0, 0));
    client_free(&client);
    server_stop(&server);
}

static void closes_cleanly(void **state)
{
    (void)state;
    unsigned port = 0;
    int listener = listen_at(AF_INET, &port, false);
    struct client client = client_at("127.0.0.1", port);
    struct outcome outcome = client_ask(&client, 3, 0, 1, SHORT_US, 0); /* connects; nobody answers, and it hangs up */
    assert_symptom(&outcome, "no-reply");
    int connection = accept(listener, NULL, NULL);
    uint8_t bytes[64];
    assert_int_equal(recv(connection, bytes, 12, MSG_WAITALL), 12);
    assert_int_equal(recv(connection, bytes, sizeof bytes, 0), 0); /* a reset would be -1 */
    client_free(&client);
    (void)close(connection);
    (void)close(listener);
}

/* ---- failing contact ---- */

static void a_closed_port_is_refused(void **state)
{
    (void)state;
    unsigned port = 0;
    int bound = listen_at(AF_INET, &port, true); /* ours, and nobody listens */
    struct client client = client_at("127.0.0.1", port);
    struct outcome outcome = client_ask(&client, 3, 0, 1, LONG_US, 2);
    assert_symptom(&outcome, "refused");
    assert_false(link_opened(client.link));
    client_free(&client);
    (void)close(bound);
}

static void no_way_is_unreachable(void **state)
{
    (void)state;
    struct client client = client_at("255.255.255.255", 502); /* refused by the kernel itself: nothing is sent */
    struct outcome outcome = client_ask(&client, 3, 0, 1, LONG_US, 0);
    assert_symptom(&outcome, "unreachable");
    client_free(&client);
}

/* The addresses of numeric hosts, in this order. */
static struct addrinfo *addresses_of(const char *const *hosts, const unsigned *ports, size_t count)
{
    struct addrinfo *first = NULL, **end = &first;
    for (size_t i = 0; i < count; i++) {
        assert_true(resolve(hosts[i], ports[i], 1000, end, NULL));
        while (*end != NULL)
            end = &(*end)->ai_next;
    }
    return first;
}

static struct client client_to(struct addrinfo *addresses)
{
    struct clock clock = clock_system();
    struct client client = {.loop = loop_new(&clock)};
    struct transport transport = tcp_to(addresses);
    struct timing timing = timing_tcp();
    client.link = link_new(client.loop, &transport, &timing);
    return client;
}

static void addresses_are_tried_in_turn(void **state)
{
    (void)state;
    struct server server;
    assert_true(server_start(&server, AF_INET, serve_with_libmodbus));
    unsigned refusing = 0;
    int bound = listen_at(AF_INET, &refusing, true);
    const char *hosts[] = {"255.255.255.255", "127.0.0.1", "127.0.0.1"};
    const unsigned ports[] = {502, refusing, server.port};
    struct client client = client_to(addresses_of(hosts, ports, 3));
    struct outcome outcome = client_ask(&client, 3, 10, 4, LONG_US, 0);
    assert_right(&outcome, 10, 4);
    client_free(&client);
    (void)close(bound);
    server_stop(&server);
}

static void of_several_failures_refusal_is_told(void **state)
{
    (void)state;
    unsigned refusing = 0;
    int bound = listen_at(AF_INET, &refusing, true);
    const char *hosts[] = {"127.0.0.1", "255.255.255.255"};
    const unsigned ports[] = {refusing, 502};
    struct client client = client_to(addresses_of(hosts, ports, 2));
    struct outcome outcome = client_ask(&client, 3, 10, 4, LONG_US, 0);
    assert_symptom(&outcome, "refused");
    client_free(&client);
    (void)close(bound);
}

static void an_unknown_host_is_an_error_with_advice(void **state)
{
    (void)state;
    struct clock clock = clock_system();
    struct loop *loop = loop_new(&clock);
    struct line line = {.host = text_copy("no such host"), .port = 502};
    struct link *link = NULL;
    struct error error = {0};
    assert_false(link_open(loop, &line, &link, &error));
    assert_int_equal(error.kind, ERROR_CONTACT);
    assert_int_equal(error.trouble, LINE_HOST_UNKNOWN);
    assert_non_null(strstr(error.text, "host \"no such host\" is not known"));
    free(line.host);
    loop_free(loop);
}

static sem_t resolver_may_go_on, resolver_gone;

static int slow_resolver(const char *host, const char *port, const struct addrinfo *hints, struct addrinfo **addresses)
{
    (void)host, (void)port, (void)hints, (void)addresses;
    (void)sem_wait(&resolver_may_go_on);
    (void)sem_post(&resolver_gone);
    return EAI_AGAIN;
}

static void a_slow_name_is_given_up_in_time(void **state)
{
    (void)state;
    (void)sem_init(&resolver_may_go_on, 0, 0);
    (void)sem_init(&resolver_gone, 0, 0);
    struct addrinfo *addresses = NULL;
    struct error error = {0};
    assert_false(resolve_with(slow_resolver, "drive-7", 502, 10, &addresses, &error));
    assert_int_equal(error.kind, ERROR_CONTACT);
    assert_int_equal(error.trouble, LINE_HOST_UNKNOWN);
    assert_non_null(strstr(error.text, "host \"drive-7\" was not found within 10 ms"));
    (void)sem_post(&resolver_may_go_on);
    (void)sem_wait(&resolver_gone);
}

static void an_address_needs_no_resolver(void **state)
{
    (void)state;
    struct addrinfo *addresses = NULL;
    assert_true(resolve_with(NULL, "::1", 502, 10, &addresses, NULL));
    assert_int_equal(addresses->ai_family, AF_INET6);
    freeaddrinfo(addresses);
}

/* ---- servers that misbehave: the first request of the first connection; all later ones are answered right ---- */

static bool receive_request(int connection, uint8_t *request)
{
    return recv(connection, request, 12, MSG_WAITALL) == 12;
}

static void send_bytes(int connection, const uint8_t *bytes, size_t length)
{
    if (send(connection, bytes, length, MSG_NOSIGNAL) != (ssize_t)length)
        abort();
}

static size_t right_reply(const uint8_t *request, uint8_t *reply)
{
    const struct line_fake tcp = {.tcp = true};
    return fake_reply(&tcp, request, reply);
}

static void serve_right(int connection)
{
    uint8_t request[12], reply[TCP_BYTES];
    while (receive_request(connection, request))
        send_bytes(connection, reply, right_reply(request, reply));
}

static void serve_byte_by_byte(struct server *server, int connection)
{
    (void)server;
    int on = 1;
    (void)setsockopt(connection, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    uint8_t request[12], reply[TCP_BYTES];
    while (receive_request(connection, request)) {
        size_t length = right_reply(request, reply);
        for (size_t i = 0; i < length; i++)
            send_bytes(connection, reply + i, 1);
    }
}

static void serve_spoiled(const struct server *server, int connection, size_t at, uint8_t flip)
{
    uint8_t request[12], reply[TCP_BYTES];
    if (server->connections == 1 && receive_request(connection, request)) {
        size_t length = right_reply(request, reply);
        reply[at] ^= flip;
        send_bytes(connection, reply, length);
    }
    serve_right(connection);
}

static void serve_wrong_transaction(struct server *server, int connection)
{
    serve_spoiled(server, connection, 1, 1);
}

static void serve_wrong_protocol(struct server *server, int connection)
{
    serve_spoiled(server, connection, 3, 1);
}

static void serve_wrong_length(struct server *server, int connection)
{
    serve_spoiled(server, connection, 5, 0x20);
}

static void serve_wrong_unit(struct server *server, int connection)
{
    serve_spoiled(server, connection, 6, 0x10);
}

static void serve_silence(struct server *server, int connection)
{
    uint8_t request[12];
    if (server->connections == 1)
        (void)receive_request(connection, request);
    serve_right(connection);
}

static void serve_close(struct server *server, int connection)
{
    uint8_t request[12];
    if (server->connections == 1)
        (void)receive_request(connection, request);
    else
        serve_right(connection);
}

static void serve_reset(struct server *server, int connection)
{
    const struct linger at_once = {.l_onoff = 1, .l_linger = 0};
    uint8_t request[12];
    if (server->connections == 1 && receive_request(connection, request))
        (void)setsockopt(connection, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
    else
        serve_right(connection);
}

static void a_split_reply_is_put_together(void **state)
{
    (void)state;
    struct server server;
    assert_true(server_start(&server, AF_INET, serve_byte_by_byte));
    struct client client = client_at("127.0.0.1", server.port);
    struct outcome outcome = client_ask(&client, 3, 40, 60, LONG_US, 0);
    assert_right(&outcome, 40, 60);
    assert_traffic(client.link, TRAFFIC(1, 0, 0, 0, 0, 0));
    client_free(&client);
    server_stop(&server);
}

static void misbehaviour_is_told_and_survived(void **state)
{
    (void)state;
    const struct {
        void (*serve)(struct server *, int);
        const char *symptom;
    } rows[] = {
        {serve_wrong_transaction, "corrupt"},
        {serve_wrong_protocol, "corrupt"},
        {serve_wrong_length, "corrupt"},
        {serve_wrong_unit, "other-unit"},
        {serve_silence, "no-reply"},
        {serve_close, "closed"},
        {serve_reset, "closed"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (unsigned retries = 0; retries < 2; retries++) {
            struct server server;
            assert_true(server_start(&server, AF_INET, rows[i].serve));
            struct client client = client_at("127.0.0.1", server.port);
            struct outcome outcome = client_ask(&client, 3, 40, 4, SHORT_US, retries);
            if (retries == 0)
                assert_symptom(&outcome, rows[i].symptom);
            else
                assert_right(&outcome, 40, 4);
            outcome = client_ask(&client, 3, 70, 5, LONG_US, 0);
            assert_right(&outcome, 70, 5);
            client_free(&client);
            server_stop(&server);
            assert_int_equal(server.connections, 2);
        }
    }
}

/* ---- descriptors ---- */

static void a_socket_beyond_1023_is_served(void **state)
{
    (void)state;
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_NOFILE, &limit), 0);
    if (limit.rlim_max < 1200)
        skip();
    struct server server;
    assert_true(server_start(&server, AF_INET, serve_byte_by_byte)); /* libmodbus could not serve it */
    limit.rlim_cur = limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_NOFILE, &limit), 0);
    int opened[1100];
    size_t count = 0;
    do
        opened[count] = open("/dev/null", O_RDONLY | O_CLOEXEC);
    while (opened[count++] < 1030);
    struct client client = client_at("127.0.0.1", server.port);
    struct outcome outcome = client_ask(&client, 3, 40, 4, LONG_US, 0);
    assert_right(&outcome, 40, 4);
    client_free(&client);
    while (count > 0)
        (void)close(opened[--count]);
    server_stop(&server);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_from_a_libmodbus_server),
        cmocka_unit_test(reads_over_ipv6),
        cmocka_unit_test(reads_from_a_named_host),
        cmocka_unit_test(reads_every_kind_of_register),
        cmocka_unit_test(closes_cleanly),
        cmocka_unit_test(a_closed_port_is_refused),
        cmocka_unit_test(no_way_is_unreachable),
        cmocka_unit_test(addresses_are_tried_in_turn),
        cmocka_unit_test(of_several_failures_refusal_is_told),
        cmocka_unit_test(an_unknown_host_is_an_error_with_advice),
        cmocka_unit_test(a_slow_name_is_given_up_in_time),
        cmocka_unit_test(an_address_needs_no_resolver),
        cmocka_unit_test(a_split_reply_is_put_together),
        cmocka_unit_test(misbehaviour_is_told_and_survived),
        cmocka_unit_test(a_socket_beyond_1023_is_served),
    };
    return cmocka_run_group_tests_name("tcp", tests, NULL, NULL);
}
