/* SPDX-License-Identifier: MIT */
/* Links over serial ports, on pseudo-terminals: opening, refusing, restoring, and reading from a Modbus server that is
 * not ours (libmodbus). A pseudo-terminal has no parity and no speed of its own: only what is asked for can be seen. */
#include "bus/line_fake.h"
#include "types/memory.h"

#include <fcntl.h>
#include <modbus.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

/* ---- a pseudo-terminal, and libmodbus's server side at its other end ---- */

struct port {
    int master;
    int keeper; /* holds the slave open, so that the master never sees it hung up */
    char path[64];
    atomic_bool stop;
    pthread_t thread;
};

static void port_open(struct port *port)
{
    *port = (struct port){.master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC)};
    assert_true(port->master >= 0);
    assert_int_equal(grantpt(port->master), 0);
    assert_int_equal(unlockpt(port->master), 0);
    assert_int_equal(ptsname_r(port->master, port->path, sizeof port->path), 0);
    port->keeper = open(port->path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(port->keeper >= 0);
}

static void port_close(struct port *port)
{
    (void)close(port->keeper);
    if (port->master >= 0)
        (void)close(port->master);
}

static void *serve_with_libmodbus(void *user)
{
    struct port *port = user;
    modbus_t *modbus = modbus_new_rtu("/dev/null", 19200, 'N', 8, 1); /* never connected: it gets the master's end */
    modbus_mapping_t *registers = modbus_mapping_new(64, 0, 200, 0);
    if (modbus == NULL || registers == NULL)
        abort();
    for (uint16_t i = 0; i < 200; i++)
        registers->tab_registers[i] = fake_value(i);
    (void)modbus_set_slave(modbus, 1);
    (void)modbus_set_socket(modbus, port->master);
    (void)modbus_set_indication_timeout(modbus, 0, 20000);
    uint8_t request[MODBUS_RTU_MAX_ADU_LENGTH];
    while (!atomic_load(&port->stop)) {
        int length = modbus_receive(modbus, request);
        if (length > 0)
            (void)modbus_reply(modbus, request, length, registers);
    }
    modbus_mapping_free(registers);
    modbus_free(modbus);
    return NULL;
}

static void server_start(struct port *port)
{
    assert_int_equal(pthread_create(&port->thread, NULL, serve_with_libmodbus, port), 0);
}

static void server_stop(struct port *port)
{
    atomic_store(&port->stop, true);
    assert_int_equal(pthread_join(port->thread, NULL), 0);
}

/* ---- the client ---- */

struct client {
    struct loop *loop;
    struct link *link;
    struct error error;
};

static bool client_open(struct client *client, const char *path, unsigned baud, enum parity parity, unsigned stop_bits)
{
    struct clock clock = clock_system();
    *client = (struct client){.loop = loop_new(&clock)};
    struct line line = {.serial = text_copy(path), .baud = baud, .parity = parity, .stop_bits = stop_bits};
    bool opened = link_open(client->loop, &line, &client->link, &client->error);
    line_free(&line);
    return opened;
}

static void client_free(struct client *client)
{
    link_free(client->link);
    loop_free(client->loop);
}

static struct outcome client_ask(const struct client *client, uint16_t address, uint16_t count, int64_t promise_us)
{
    struct request request = read_of(address, count, 0);
    request.answers_within_us = promise_us;
    return link_ask(client->loop, client->link, &request);
}

enum { LONG_US = 5000000, SHORT_US = 20000 };

static void assert_refused(const char *path, unsigned baud, enum error_kind kind, enum line_trouble trouble,
                           const char *text)
{
    struct client client;
    assert_false(client_open(&client, path, baud, PARITY_EVEN, 1));
    assert_int_equal(client.error.kind, kind);
    assert_int_equal(client.error.trouble, trouble);
    if (strstr(client.error.text, text) == NULL)
        fail_msg("\"%s\" lacks \"%s\"", client.error.text, text);
    client_free(&client);
}

/* ---- reading ---- */

static void reads_from_a_libmodbus_server(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    struct client client;
    assert_true(client_open(&client, port.path, 115200, PARITY_EVEN, 1));
    assert_true(link_opened(client.link));
    server_start(&port);
    for (uint16_t address = 0; address < 40; address++) {
        struct outcome outcome = client_ask(&client, address, (uint16_t)(1 + address * 3), LONG_US);
        assert_right(&outcome, address, (uint16_t)(1 + address * 3));
    }
    struct outcome outcome = client_ask(&client, 199, 2, LONG_US);
    assert_symptom(&outcome, "exception-02");
    assert_traffic(client.link, TRAFFIC(41, 0, 1, 0, 0, 0));
    server_stop(&port);
    client_free(&client);
    port_close(&port);
}

static void silence_is_no_reply(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    struct client client;
    assert_true(client_open(&client, port.path, 19200, PARITY_EVEN, 1));
    struct outcome outcome = client_ask(&client, 0, 1, SHORT_US);
    assert_symptom(&outcome, "no-reply");
    uint8_t request[16];
    assert_int_equal(read(port.master, request, sizeof request), 8);
    const uint8_t expected[8] = {0x01, 0x03, 0x00, 0x00, 0x00, 0x01, 0x84, 0x0a}; /* CRC computed */
    assert_memory_equal(request, expected, 8);
    client_free(&client);
    port_close(&port);
}

static void an_unplugged_port_is_closed(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    struct client client;
    assert_true(client_open(&client, port.path, 19200, PARITY_EVEN, 1));
    (void)close(port.master);
    port.master = -1;
    struct outcome outcome = client_ask(&client, 0, 1, LONG_US);
    assert_symptom(&outcome, "closed");
    assert_true(link_opened(client.link));
    client_free(&client);
    port_close(&port);
}

static void a_port_beyond_1023_is_served(void **state)
{
    (void)state;
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_NOFILE, &limit), 0);
    if (limit.rlim_max < 1200)
        skip();
    limit.rlim_cur = limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_NOFILE, &limit), 0);
    struct port port;
    port_open(&port);
    int opened[1100];
    size_t count = 0;
    do
        opened[count] = open("/dev/null", O_RDONLY | O_CLOEXEC);
    while (opened[count++] < 1030);
    struct client client;
    assert_true(client_open(&client, port.path, 115200, PARITY_EVEN, 1));
    server_start(&port);
    struct outcome outcome = client_ask(&client, 40, 4, LONG_US);
    assert_right(&outcome, 40, 4);
    server_stop(&port);
    client_free(&client);
    while (count > 0)
        (void)close(opened[--count]);
    port_close(&port);
}

/* ---- opening and closing ---- */

static void a_pseudo_terminal_opens_with_any_parity_again_and_again(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    const enum parity parities[] = {PARITY_EVEN, PARITY_EVEN, PARITY_ODD, PARITY_NONE, PARITY_EVEN};
    for (size_t i = 0; i < sizeof parities / sizeof parities[0]; i++) {
        for (unsigned stop_bits = 1; stop_bits <= 2; stop_bits++) {
            struct client client;
            assert_true(client_open(&client, port.path, 19200, parities[i], stop_bits));
            client_free(&client);
        }
    }
    port_close(&port);
}

static void a_pseudo_terminal_left_as_it_was_set_opens_again(void **state)
{
    (void)state;
    /* as after a program that was killed: only the parity, which the kernel drops, differs from what is asked for */
    struct port port;
    port_open(&port);
    struct client client;
    assert_true(client_open(&client, port.path, 19200, PARITY_EVEN, 1));
    struct termios settings;
    assert_int_equal(tcgetattr(port.keeper, &settings), 0);
    client_free(&client);
    settings.c_iflag |= INPCK;
    settings.c_cc[VMIN] = 0;
    assert_int_equal(tcsetattr(port.keeper, TCSANOW, &settings), 0);
    assert_true(client_open(&client, port.path, 19200, PARITY_EVEN, 1));
    client_free(&client);
    port_close(&port);
}

static void the_port_is_set_as_asked_and_restored(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    struct termios before, during, after;
    assert_int_equal(tcgetattr(port.keeper, &before), 0);
    struct client client;
    assert_true(client_open(&client, port.path, 57600, PARITY_NONE, 2));
    assert_int_equal(tcgetattr(port.keeper, &during), 0);
    assert_int_equal(cfgetospeed(&during), B57600);
    assert_int_equal(cfgetispeed(&during), B57600);
    assert_int_equal(during.c_cflag & CSIZE, CS8);
    assert_true((during.c_cflag & CSTOPB) != 0);
    assert_int_equal(during.c_lflag & (tcflag_t)(ICANON | ECHO | ISIG), 0);
    assert_int_equal(during.c_iflag & (tcflag_t)(IXON | ICRNL | ISTRIP), 0);
    assert_int_equal(during.c_oflag & (tcflag_t)OPOST, 0);
    client_free(&client);
    assert_int_equal(tcgetattr(port.keeper, &after), 0);
    assert_int_equal(after.c_cflag, before.c_cflag);
    assert_int_equal(after.c_iflag, before.c_iflag);
    assert_int_equal(after.c_oflag, before.c_oflag);
    assert_int_equal(after.c_lflag, before.c_lflag);
    assert_memory_equal(after.c_cc, before.c_cc, sizeof before.c_cc);
    port_close(&port);
}

static void a_port_in_use_is_refused_and_not_disturbed(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    struct client first;
    assert_true(client_open(&first, port.path, 57600, PARITY_EVEN, 1));
    assert_refused(port.path, 9600, ERROR_BUSY, LINE_PORT_IN_USE, "is in use by another program");
    struct termios settings;
    assert_int_equal(tcgetattr(port.keeper, &settings), 0);
    assert_int_equal(cfgetospeed(&settings), B57600);
    client_free(&first);
    struct client second;
    assert_true(client_open(&second, port.path, 9600, PARITY_EVEN, 1));
    client_free(&second);
    port_close(&port);
}

static void a_port_locked_by_another_program_is_refused(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    assert_int_equal(flock(port.keeper, LOCK_EX | LOCK_NB), 0);
    assert_refused(port.path, 19200, ERROR_BUSY, LINE_PORT_IN_USE, "is in use by another program");
    port_close(&port);
}

static void what_is_no_port_is_refused_with_advice(void **state)
{
    (void)state;
    assert_refused("/dev/no-such-port", 19200, ERROR_CONTACT, LINE_PORT_MISSING,
                   "no serial port \"/dev/no-such-port\"; is the adapter");
    assert_refused("/dev/null", 19200, ERROR_CONTACT, LINE_PORT_UNFIT, "\"/dev/null\" is not a serial port");
    assert_refused("/tmp", 19200, ERROR_CONTACT, LINE_PORT_UNFIT, "\"/tmp\" is not a serial port");
}

static void an_odd_speed_is_refused(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    const unsigned bauds[] = {0, 1800, 14400, 28800, 76800, 187500, 250000, 256000, 2000000};
    for (size_t i = 0; i < sizeof bauds / sizeof bauds[0]; i++) {
        char text[64];
        (void)snprintf(text, sizeof text, "%u baud is not a speed", bauds[i]);
        assert_refused(port.path, bauds[i], ERROR_CONTACT, LINE_PORT_UNFIT, text);
    }
    port_close(&port);
}

static void every_speed_offered_is_really_set(void **state)
{
    (void)state;
    struct port port;
    port_open(&port);
    const struct {
        unsigned baud;
        speed_t speed;
    } rows[] = {{110, B110},         {300, B300},         {600, B600},         {1200, B1200},       {2400, B2400},
                {4800, B4800},       {9600, B9600},       {19200, B19200},     {38400, B38400},     {57600, B57600},
                {115200, B115200},   {230400, B230400},   {460800, B460800},   {500000, B500000},   {576000, B576000},
                {921600, B921600},   {1000000, B1000000}, {1152000, B1152000}, {1500000, B1500000}, {2500000, B2500000},
                {3000000, B3000000}, {3500000, B3500000}, {4000000, B4000000}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct client client;
        assert_true(client_open(&client, port.path, rows[i].baud, PARITY_EVEN, 1));
        struct termios settings;
        assert_int_equal(tcgetattr(port.keeper, &settings), 0);
        assert_int_equal(cfgetospeed(&settings), rows[i].speed);
        client_free(&client);
    }
    port_close(&port);
}

static void missing_permission_names_the_group(void **state)
{
    (void)state;
    if (geteuid() != 0)
        skip(); /* only root can become somebody without permission */
    struct port port;
    port_open(&port);
    assert_int_equal(chown(port.path, 0, 20), 0);
    assert_int_equal(chmod(port.path, 0660), 0);
    assert_int_equal(seteuid(65534), 0);
    struct client client;
    bool opened = client_open(&client, port.path, 19200, PARITY_EVEN, 1);
    assert_int_equal(seteuid(0), 0);
    assert_false(opened);
    assert_int_equal(client.error.kind, ERROR_CONTACT);
    assert_int_equal(client.error.trouble, LINE_PORT_NOT_PERMITTED);
    assert_non_null(strstr(client.error.text, "which belongs to group \"dialout\""));
    assert_non_null(strstr(client.error.text, "usermod -aG dialout"));
    client_free(&client);
    port_close(&port);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_from_a_libmodbus_server),
        cmocka_unit_test(silence_is_no_reply),
        cmocka_unit_test(an_unplugged_port_is_closed),
        cmocka_unit_test(a_port_beyond_1023_is_served),
        cmocka_unit_test(a_pseudo_terminal_opens_with_any_parity_again_and_again),
        cmocka_unit_test(a_pseudo_terminal_left_as_it_was_set_opens_again),
        cmocka_unit_test(the_port_is_set_as_asked_and_restored),
        cmocka_unit_test(a_port_in_use_is_refused_and_not_disturbed),
        cmocka_unit_test(a_port_locked_by_another_program_is_refused),
        cmocka_unit_test(what_is_no_port_is_refused_with_advice),
        cmocka_unit_test(an_odd_speed_is_refused),
        cmocka_unit_test(every_speed_offered_is_really_set),
        cmocka_unit_test(missing_permission_names_the_group),
    };
    return cmocka_run_group_tests_name("serial", tests, NULL, NULL);
}
