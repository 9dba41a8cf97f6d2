/* SPDX-License-Identifier: MIT */
/* Writes to a Modbus server that is not ours (libmodbus's modbus_reply), in a process of its own, over a socket and
 * over a pseudo-terminal: what we ask for is what another implementation understands, and what it answers counts. */
#include "bus/writing_bench.h"
#include "types/memory.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <modbus.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PLACES = 200, LONG_US = 5000000 };

/* What the server holds, where both processes see it. */
struct shared {
    uint16_t registers[PLACES];
    uint8_t bits[PLACES];
    atomic_uint writes; /* heard, refused ones too */
};

struct server {
    struct shared *shared;
    pid_t child;
    int listener, master, keeper; /* -1: none */
    char path[64];
    unsigned port;
    struct loop *loop;
    struct link *link;
};

/* ---- the child ---- */

static void serve(modbus_t *modbus, struct shared *shared, size_t header)
{
    modbus_mapping_t map = {
        .nb_bits = PLACES, .tab_bits = shared->bits, .nb_registers = PLACES, .tab_registers = shared->registers};
    if (modbus == NULL)
        _exit(1);
    (void)modbus_set_response_timeout(modbus, 0, 1000); /* it waits that long before some exceptions */
    uint8_t request[MODBUS_TCP_MAX_ADU_LENGTH];
    for (;;) {
        int length = modbus_receive(modbus, request);
        if (length <= 0)
            continue;
        if (request[header] > 4)
            atomic_fetch_add(&shared->writes, 1);
        (void)modbus_reply(modbus, request, length, &map);
    }
}

static void serve_socket(const struct server *server)
{
    int connection = accept(server->listener, NULL, NULL);
    modbus_t *modbus = modbus_new_tcp("127.0.0.1", 0);
    (void)modbus_set_socket(modbus, connection);
    serve(modbus, server->shared, 7);
}

static void serve_port(const struct server *server)
{
    modbus_t *modbus = modbus_new_rtu("/dev/null", 19200, 'N', 8, 1); /* never connected: it gets the master's end */
    (void)modbus_set_slave(modbus, 1);
    (void)modbus_set_socket(modbus, server->master);
    serve(modbus, server->shared, 1);
}

/* ---- starting it, and a link to it ---- */

static void listen_at_any_port(struct server *server)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t size = sizeof address;
    server->listener = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    assert_int_equal(bind(server->listener, (struct sockaddr *)&address, size), 0);
    assert_int_equal(listen(server->listener, 1), 0);
    assert_int_equal(getsockname(server->listener, (struct sockaddr *)&address, &size), 0);
    server->port = ntohs(address.sin_port);
}

static void open_pty(struct server *server)
{
    server->master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(server->master >= 0);
    assert_int_equal(grantpt(server->master), 0);
    assert_int_equal(unlockpt(server->master), 0);
    assert_int_equal(ptsname_r(server->master, server->path, sizeof server->path), 0);
    server->keeper = open(server->path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(server->keeper >= 0);
}

static struct server server_start(bool tcp)
{
    struct server server = {.listener = -1, .master = -1, .keeper = -1};
    server.shared = mmap(NULL, sizeof *server.shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    assert_true(server.shared != MAP_FAILED);
    for (unsigned i = 0; i < PLACES; i++)
        server.shared->registers[i] = fake_value((uint16_t)i);
    if (tcp)
        listen_at_any_port(&server);
    else
        open_pty(&server);
    const struct clock clock = clock_system();
    server.loop = loop_new(&clock);
    struct line line = {.baud = 115200, .parity = PARITY_NONE, .stop_bits = 1, .port = server.port};
    line.host = tcp ? text_copy("127.0.0.1") : NULL;
    line.serial = tcp ? NULL : text_copy(server.path);
    struct error error = {0};
    if (!link_open(server.loop, &line, &server.link, &error)) /* makes a pseudo-terminal raw before anything is said */
        fail_msg("%s", error.text);
    line_free(&line);
    server.child = fork();
    assert_true(server.child >= 0);
    if (server.child == 0) {
        if (tcp)
            serve_socket(&server);
        else
            serve_port(&server);
        _exit(0);
    }
    return server;
}

static void server_stop(struct server *server)
{
    link_free(server->link);
    loop_free(server->loop);
    assert_int_equal(kill(server->child, SIGKILL), 0);
    assert_int_equal(waitpid(server->child, NULL, 0), server->child);
    const int files[] = {server->listener, server->master, server->keeper};
    for (size_t i = 0; i < 3; i++)
        if (files[i] >= 0)
            (void)close(files[i]);
    assert_int_equal(munmap(server->shared, sizeof *server->shared), 0);
}

/* ---- writing ---- */

static void assert_holds(const struct server *server, const struct write_request *request)
{
    bool coils = request->function == 0x05 || request->function == 0x0f;
    for (unsigned i = 0; i < request->count; i++) {
        unsigned at = request->address + i;
        assert_int_equal(coils ? server->shared->bits[at] : server->shared->registers[at], request->words[i]);
    }
}

static struct outcome read_registers(const struct server *server, uint16_t address, uint16_t count)
{
    struct request request = read_of(address, count, 0);
    request.answers_within_us = LONG_US;
    return link_ask(server->loop, server->link, &request);
}

static void assert_writes(bool tcp)
{
    struct server server = server_start(tcp);
    struct outcome outcome = read_registers(&server, 10, 5);
    assert_right(&outcome, 10, 5);
    struct write_request rows[] = {
        {.function = 0x05, .address = 3, .count = 1, .words = {1}},
        {.function = 0x05, .address = 3, .count = 1, .words = {0}},
        {.function = 0x06, .address = 0, .count = 1, .words = {0x00ff}},
        {.function = 0x06, .address = 199, .count = 1, .words = {0xfffe}},
        {.function = 0x0f, .address = 7, .count = 1, .words = {1}},
        {.function = 0x0f, .address = 50, .count = 17, .words = {1, 1, 0, 1, [8] = 1, [15] = 1, [16] = 1}},
        {.function = 0x0f, .address = 77, .count = 123, .words = {[0] = 1, [122] = 1}},
        {.function = 0x10, .address = 60, .count = 1, .words = {0x8001}},
        {.function = 0x10, .address = 62, .count = 2, .words = {0x1234, 0x5678}},
        {.function = 0x10, .address = 77, .count = 123, .words = {7, [1] = 0xffff, [122] = 9}},
    };
    unsigned count = sizeof rows / sizeof rows[0];
    for (unsigned i = 0; i < count; i++) {
        rows[i].unit = 1;
        rows[i].answers_within_us = LONG_US;
        struct write_outcome written = link_order(server.loop, server.link, &rows[i]);
        assert_written(&written, "", true);
        assert_int_equal(atomic_load(&server.shared->writes), i + 1);
        assert_holds(&server, &rows[i]);
    }
    outcome = read_registers(&server, 62, 2);
    assert_symptom(&outcome, "");
    assert_int_equal(outcome.words[0], 0x1234);
    assert_int_equal(outcome.words[1], 0x5678);
    server_stop(&server);
}

static void a_libmodbus_server_on_a_socket_is_written_to(void **state)
{
    (void)state;
    assert_writes(true);
}

static void a_libmodbus_server_on_a_port_is_written_to(void **state)
{
    (void)state;
    assert_writes(false);
}

static void what_a_libmodbus_server_refuses_is_refused_once(void **state)
{
    (void)state;
    for (int tcp = 0; tcp < 2; tcp++) {
        struct server server = server_start(tcp == 1);
        struct outcome outcome = read_registers(&server, 10, 5);
        assert_right(&outcome, 10, 5);
        static const uint8_t functions[] = {0x05, 0x06, 0x0f, 0x10};
        for (unsigned i = 0; i < 4; i++) {
            const struct write_request request = {.unit = 1,
                                                  .function = functions[i],
                                                  .address = PLACES,
                                                  .count = 1,
                                                  .words = {1},
                                                  .answers_within_us = LONG_US};
            struct write_outcome written = link_order(server.loop, server.link, &request);
            assert_written(&written, "exception-02", true);
            assert_int_equal(atomic_load(&server.shared->writes), i + 1);
        }
        server_stop(&server);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_libmodbus_server_on_a_socket_is_written_to),
        cmocka_unit_test(a_libmodbus_server_on_a_port_is_written_to),
        cmocka_unit_test(what_a_libmodbus_server_refuses_is_refused_once),
    };
    return cmocka_run_group_tests_name("writes to libmodbus", tests, NULL, NULL);
}
