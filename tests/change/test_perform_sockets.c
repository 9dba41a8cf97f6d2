/* SPDX-License-Identifier: MIT */
/* Lists performed through real sockets, against libmodbus's own server side: its acknowledgements are those of another
 * implementation, and the drive's log says what it was made to execute. */
#include "change/perform_trial.h"
#include "change/store_fake.h"

#include <arpa/inet.h>
#include <modbus.h>
#include <pthread.h>
#include <stdatomic.h>
#include <sys/socket.h>
#include <unistd.h>

enum { LISTS = 500, SLOW_EVERY = 250 };

struct server {
    modbus_t *modbus;
    int listener;
    pthread_t thread;
    modbus_mapping_t *places;
    struct slave *_Atomic slave; /* of the list that is performed; set while nobody is connected */
    bool hangs_up;               /* at the first write; set likewise */
    bool obeys_before;           /* and has done it all the same */
};

/* The reply is libmodbus's; what the drive holds and does is the slave's. */
static void answer(struct server *server, struct slave *slave, const uint8_t *request, int length)
{
    struct pdu pdu = slave_answer(slave, request[6], request + 7, (size_t)length - 7);
    for (size_t i = 0; i < SLAVE_PLACES; i++) {
        server->places->tab_registers[i] = slave->holding[i];
        server->places->tab_bits[i] = (uint8_t)slave->coils[i];
    }
    if ((pdu.bytes[0] & EXCEPTION_BIT) != 0)
        (void)modbus_reply_exception(server->modbus, request, pdu.bytes[1]);
    else
        (void)modbus_reply(server->modbus, request, length, server->places);
}

static void serve_one(struct server *server)
{
    uint8_t request[MODBUS_TCP_MAX_ADU_LENGTH];
    for (;;) {
        int length = modbus_receive(server->modbus, request);
        struct slave *slave = atomic_load(&server->slave);
        if (length < 0 || slave == NULL)
            return;
        if (length == 0 || !slave_hears(slave, request[6]))
            continue;
        if (server->hangs_up && request[7] > 4) {
            server->hangs_up = false;
            if (server->obeys_before)
                (void)slave_answer(slave, request[6], request + 7, (size_t)length - 7);
            return;
        }
        answer(server, slave, request, length);
    }
}

static void *serve(void *user)
{
    struct server *server = user;
    while (modbus_tcp_accept(server->modbus, &server->listener) >= 0) {
        serve_one(server);
        modbus_close(server->modbus);
    }
    return NULL;
}

static unsigned start_server(struct server *server)
{
    server->modbus = modbus_new_tcp("127.0.0.1", 0);
    assert_non_null(server->modbus);
    server->listener = modbus_tcp_listen(server->modbus, 4);
    assert_true(server->listener >= 0);
    server->places = modbus_mapping_new(SLAVE_PLACES, 0, SLAVE_PLACES, 0);
    assert_non_null(server->places);
    struct sockaddr_in address = {0};
    socklen_t size = sizeof address;
    assert_int_equal(getsockname(server->listener, (struct sockaddr *)&address, &size), 0);
    assert_int_equal(pthread_create(&server->thread, NULL, serve, server), 0);
    return ntohs(address.sin_port);
}

static void stop_server(struct server *server)
{
    (void)shutdown(server->listener, SHUT_RDWR);
    assert_int_equal(pthread_join(server->thread, NULL), 0);
    (void)close(server->listener);
    modbus_mapping_free(server->places);
    modbus_free(server->modbus);
}

/* Without what takes seconds of real time; now and then with habits that take one or two. */
static void make_quick(struct scene *scene, bool habits_too)
{
    struct slave *slave = &scene->slave;
    for (size_t i = 0; habits_too && i < slave->habit_count; i++) {
        struct slave_habit *habit = &slave->habits[i];
        if (habit->kind == SLAVE_IGNORES || habit->kind == SLAVE_GOES_BACK || habit->kind == SLAVE_MOVES_ON ||
            habit->kind == SLAVE_IS_SLOW || habit->kind == SLAVE_WAITS)
            habit->kind = SLAVE_OBEYS;
        if (habit->exception == 0x05 || habit->exception > 0x06) /* those mean waiting, or libmodbus sends none */
            habit->exception = 0x03;
    }
    if (slave->event == SLAVE_DIES || slave->event == SLAVE_EXCHANGED)
        slave->event = SLAVE_NOTHING;
    slave->save_takes_us = 0;
    slave->acknowledges_running = slave->save_fails = false;
}

/* The same clock as that of the records. */
static int64_t wall_now_us(void *clock)
{
    const struct clock *system = clock;
    return system->wall_ms(system->user) * 1000;
}

static void perform_through(struct server *server, unsigned port, uint64_t number, struct trial_tally *tally)
{
    struct dice dice = dice_for(20260201, number);
    struct clock clock = clock_system();
    struct loop *loop = loop_new(&clock);
    struct line line = {.host = text_copy("127.0.0.1"), .port = port};
    struct link *link = NULL;
    struct store store = {0};
    struct scene scene;
    trial_start(&scene, &dice, &store);
    make_quick(&scene, number % SLOW_EVERY != 0);
    server->hangs_up = number % SLOW_EVERY == 1;
    server->obeys_before = number > SLOW_EVERY;
    scene.map.modbus.answers_within_s = scene.map.modbus.write_answers_within_s = 1; /* a loaded machine is slow */
    scene.slave.now_us = wall_now_us;
    scene.slave.clock = &clock;
    atomic_store(&server->slave, &scene.slave);
    assert_true(link_open(loop, &line, &link, NULL));
    scene.order.loop = loop;
    scene.order.link = link;
    scene.order.clock = loop_clock(loop);
    scene_perform(&scene);
    link_free(link);
    atomic_store(&server->slave, NULL);
    loop_free(loop);
    assert_true(scene.returned);
    trial_judge(&scene, store.looked_ms, tally);
    scene_free(&scene);
    store_fake_free(&store);
    free(line.host);
}

static void what_is_told_is_what_another_server_was_made_to_do(void **state)
{
    (void)state;
    struct server server = {0};
    unsigned port = start_server(&server);
    struct trial_tally tally = {0};
    for (uint64_t i = 0; i < LISTS; i++)
        perform_through(&server, port, i, &tally);
    stop_server(&server);
    trial_print("through sockets", &tally);
    assert_true(tally.outcomes[WRITE_KEPT] > 0 && tally.outcomes[WRITE_CLAMPED] > 0 &&
                tally.outcomes[WRITE_REFUSED] > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_told_is_what_another_server_was_made_to_do),
    };
    return cmocka_run_group_tests_name("performing through sockets", tests, NULL, NULL);
}
