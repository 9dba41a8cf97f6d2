/* SPDX-License-Identifier: MIT */
/* What is set on an open serial port: format, latency, RS-485, counters. A pseudo-terminal has a speed and stop bits
 * that can be seen, and nothing else; what only real ports have is refused, or left alone. */
#include "bus/line_fake.h"
#include "bus/link_line.h"
#include "bus/serial_port.h"
#include "types/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <termios.h>
#include <unistd.h>

struct pair {
    int master, keeper;
    char path[64];
};

static struct pair pair_open(void)
{
    struct pair pair = {.master = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC)};
    assert_true(pair.master >= 0);
    assert_int_equal(grantpt(pair.master), 0);
    assert_int_equal(unlockpt(pair.master), 0);
    assert_int_equal(ptsname_r(pair.master, pair.path, sizeof pair.path), 0);
    pair.keeper = open(pair.path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(pair.keeper >= 0);
    return pair;
}

static void pair_close(const struct pair *pair)
{
    (void)close(pair->keeper);
    (void)close(pair->master);
}

struct client {
    struct loop *loop;
    struct link *link;
    struct error error;
    bool opened;
};

static struct client client_open(const char *path, enum rs485 rs485)
{
    struct clock clock = clock_system();
    struct client client = {.loop = loop_new(&clock)};
    struct line line = {
        .serial = text_copy(path), .baud = 19200, .parity = PARITY_EVEN, .stop_bits = 1, .rs485 = rs485};
    client.opened = link_open(client.loop, &line, &client.link, &client.error);
    line_free(&line);
    return client;
}

static void client_free(const struct client *client)
{
    link_free(client->link);
    loop_free(client->loop);
}

static void the_format_changes_while_the_port_is_open_and_is_restored(void **state)
{
    (void)state;
    struct pair pair = pair_open();
    struct termios before, during, after;
    assert_int_equal(tcgetattr(pair.keeper, &before), 0);
    struct client client = client_open(pair.path, RS485_NONE);
    assert_true(client.opened);
    assert_true(link_set_format(client.link, 9600, PARITY_ODD, 2, &client.error));
    assert_int_equal(tcgetattr(pair.keeper, &during), 0);
    assert_int_equal(cfgetospeed(&during), B9600);
    assert_int_equal(cfgetispeed(&during), B9600);
    assert_true((during.c_cflag & CSTOPB) != 0);
    assert_true(link_set_format(client.link, 115200, PARITY_NONE, 1, &client.error));
    assert_int_equal(tcgetattr(pair.keeper, &during), 0);
    assert_int_equal(cfgetospeed(&during), B115200);
    assert_true((during.c_cflag & CSTOPB) == 0);
    client_free(&client);
    assert_int_equal(tcgetattr(pair.keeper, &after), 0);
    assert_int_equal(after.c_cflag, before.c_cflag);
    pair_close(&pair);
}

static void a_speed_that_cannot_be_set_is_refused_and_changes_nothing(void **state)
{
    (void)state;
    struct pair pair = pair_open();
    struct client client = client_open(pair.path, RS485_NONE);
    assert_false(link_set_format(client.link, 14400, PARITY_NONE, 1, &client.error));
    assert_non_null(strstr(client.error.text, "14400 baud is not a speed"));
    struct termios during;
    assert_int_equal(tcgetattr(pair.keeper, &during), 0);
    assert_int_equal(cfgetospeed(&during), B19200);
    client_free(&client);
    pair_close(&pair);
}

static void a_parity_that_the_port_drops_is_noticed(void **state)
{
    (void)state;
    struct pair pair = pair_open();
    assert_true(port_is_pty(pair.keeper));
    struct termios before, after;
    assert_int_equal(port_set_format(pair.keeper, 9600, PARITY_NONE, 1), 0);
    assert_int_equal(tcgetattr(pair.keeper, &before), 0);
    assert_int_equal(port_set_format(pair.keeper, 38400, PARITY_EVEN, 1), EINVAL);
    assert_int_equal(tcgetattr(pair.keeper, &after), 0);
    assert_int_equal(cfgetospeed(&after), cfgetospeed(&before));
    pair_close(&pair);
}

static void a_pseudo_terminal_has_no_counters_and_nothing_to_remark(void **state)
{
    (void)state;
    struct pair pair = pair_open();
    struct client client = client_open(pair.path, RS485_NONE);
    assert_false(link_line_errors(client.link).counted);
    assert_null(link_remark(client.link));
    client_free(&client);
    pair_close(&pair);
}

static void a_port_without_rs485_refuses_it_with_advice(void **state)
{
    (void)state;
    struct pair pair = pair_open();
    struct client client = client_open(pair.path, RS485_KERNEL);
    assert_false(client.opened);
    assert_int_equal(client.error.kind, ERROR_CONTACT);
    assert_non_null(strstr(client.error.text, "has no RS-485 mode that the system could switch"));
    assert_non_null(strstr(client.error.text, "leave out rs485: kernel"));
    loop_free(client.loop);
    client = client_open(pair.path, RS485_NONE); /* it was let go */
    assert_true(client.opened);
    client_free(&client);
    pair_close(&pair);
}

static void expect_remark(const char *timer_holds, const char *remark)
{
    char path[] = "/tmp/asleft-timer-XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    assert_int_equal(write(file, timer_holds, strlen(timer_holds)), (ssize_t)strlen(timer_holds));
    (void)close(file);
    char *said = port_latency_remark("/dev/ttyUSB7", path);
    (void)unlink(path);
    if (remark == NULL) {
        assert_null(said);
    } else {
        assert_non_null(said);
        assert_non_null(strstr(said, remark));
        assert_non_null(strstr(said, path));
    }
    free(said);
}

static void an_adapter_that_goes_on_holding_back_is_remarked_upon(void **state)
{
    (void)state;
    expect_remark("16\n", "the USB adapter at /dev/ttyUSB7 holds replies back for up to 16 ms");
    expect_remark("2\n", "up to 2 ms");
    expect_remark("1\n", NULL);
    expect_remark("", NULL);
    assert_null(port_latency_remark("/dev/ttyS0", "/sys/no/such/timer"));
    assert_null(port_latency_remark("/dev/ttyS0", NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_format_changes_while_the_port_is_open_and_is_restored),
        cmocka_unit_test(a_speed_that_cannot_be_set_is_refused_and_changes_nothing),
        cmocka_unit_test(a_parity_that_the_port_drops_is_noticed),
        cmocka_unit_test(a_pseudo_terminal_has_no_counters_and_nothing_to_remark),
        cmocka_unit_test(a_port_without_rs485_refuses_it_with_advice),
        cmocka_unit_test(an_adapter_that_goes_on_holding_back_is_remarked_upon),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
