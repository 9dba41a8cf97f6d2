/* SPDX-License-Identifier: MIT */
/* A hundred thousand plausible drives from a seed: how the times of their ramps must move with what they follow from.
 */
#include "sheets.h"

#include "motor/dynamics.h"

/* The whole number is run without sanitizers: see tests/CMakeLists.txt. */
#ifndef ASLEFT_TRIALS
#define ASLEFT_TRIALS 10000
#endif
enum { DRIVES = ASLEFT_TRIALS, DEFAULT_SEED = 20260204 };

/* xorshift64*: the same drives on every machine. */
static uint64_t next_random(uint64_t *random)
{
    *random ^= *random >> 12;
    *random ^= *random << 25;
    *random ^= *random >> 27;
    return *random * UINT64_C(2685821657736338717);
}

static double between(uint64_t *random, double low, double high)
{
    return low + (high - low) * ((double)(next_random(random) >> 11) / 9007199254740992.0);
}

static size_t choose(uint64_t *random, size_t count)
{
    return (size_t)(next_random(random) % count);
}

/* A motor with its machine and drive, of figures as they go together. Common practice, no source. */
static void invent(uint64_t *random, struct drivetrain *drivetrain)
{
    static const enum load_torque shapes[] = {LOAD_SQUARE, LOAD_CONSTANT, LOAD_CONSTANT_POWER};
    double power_w = pow(10, between(random, 2, 5.5));
    double rated_hz = choose(random, 2) == 0 ? 50 : 60;
    double speed_rpm = 60 * rated_hz / (double)(1 + choose(random, 4)) * between(random, 0.93, 0.995);
    double torque_nm = shaft_torque_nm(power_w, speed_rpm);
    double current_a = power_w / 500 * between(random, 0.8, 1.5);
    double own_inertia = 1e-7 * pow(power_w, 1.3) * between(random, 0.5, 2) + 1e-4;
    double efficiency = between(random, 0.7, 0.96);
    *drivetrain = (struct drivetrain){
        .motors = 1,
        .motor_inertia_kgm2 = own_inertia,
        .load_inertia_kgm2 = own_inertia * pow(10, between(random, -1, 2)),
        .load = {shapes[choose(random, 3)], torque_nm * between(random, 0, 0.95), speed_rpm, between(random, 0, 0.5)},
        .motor = {torque_nm,
                  current_a,
                  current_a * between(random, 0.2, 0.6),
                  speed_rpm,
                  {between(random, 1.6, 3), INFINITY}},
        .rpm_per_hz = speed_rpm / rated_hz,
        .rated_a = current_a * between(random, 1, 1.3),
        .overload_s = 60,
        .rated_loss_w = power_w / efficiency - power_w,
        .resistance_ohm = NAN,
    };
    double most_a = drivetrain->rated_a * between(random, 1.1, 2);
    drivetrain->speeding_up = drivetrain->slowing_down = (struct most_current){most_a, MEANS_NONE};
    drivetrain->feeds_back = choose(random, 3) == 0;
    if (!drivetrain->feeds_back && choose(random, 2) == 0) {
        drivetrain->resistance_ohm = 100;
        drivetrain->resistor_w[DOUBT_SAFE] = power_w * between(random, 0.2, 1.5);
        drivetrain->resistor_w[DOUBT_FAVOURABLE] = drivetrain->resistor_w[DOUBT_SAFE] * between(random, 1, 1.4);
    }
}

static struct ramp_times times_of(const struct drivetrain *drivetrain, enum direction direction, double to_hz)
{
    struct ramp_times times;
    ramp_times_compute(drivetrain, direction, 0, to_hz, &times);
    return times;
}

/* Not later than, up to what integration may be off; never is after everything. */
static bool not_after(double a, double b)
{
    return a <= b * (1 + 3e-6) || isinf(b);
}

#define CHECK(condition)                                                                                               \
    do {                                                                                                               \
        if (!(condition))                                                                                              \
            fail_msg("drive %d, direction %d: %s", number, (int)direction, #condition);                                \
    } while (0)

static void check_inertia(const struct drivetrain *drivetrain, enum direction direction, double to_hz, int number)
{
    struct ramp_times once = times_of(drivetrain, direction, to_hz);
    struct drivetrain heavy = *drivetrain;
    heavy.motor_inertia_kgm2 *= 2;
    heavy.load_inertia_kgm2 *= 2;
    heavy.overload_s = INFINITY;
    struct drivetrain light = *drivetrain;
    light.overload_s = INFINITY;
    struct ramp_times twice = times_of(&heavy, direction, to_hz);
    once = times_of(&light, direction, to_hz);
    CHECK(isinf(once.shortest_s) ? isinf(twice.shortest_s)
                                 : fabs(twice.shortest_s - 2 * once.shortest_s) <= 1e-6 * twice.shortest_s);
    CHECK(isinf(once.straight_s) ? isinf(twice.straight_s)
                                 : fabs(twice.straight_s - 2 * once.straight_s) <= 1e-9 * twice.straight_s);
}

static void check_order(const struct ramp_times *times, enum direction direction, int number)
{
    CHECK(times->shortest_s > 0 && times->possible_s > 0);
    CHECK(not_after(times->shortest_s, times->straight_s));
    CHECK(not_after(times->possible_s, times->straight_s));
    CHECK(not_after(times->straight_s, times->unhurried_s));
}

static void check_drive(uint64_t *random, int number)
{
    struct drivetrain drivetrain;
    invent(random, &drivetrain);
    enum direction direction = choose(random, 2) == 0 ? SPEEDING_UP : SLOWING_DOWN;
    double to_hz = drivetrain.load.rated_speed_rpm / drivetrain.rpm_per_hz * between(random, 0.5, 1.3);
    struct ramp_times plain = times_of(&drivetrain, direction, to_hz);
    check_order(&plain, direction, number);
    check_inertia(&drivetrain, direction, to_hz, number);

    struct drivetrain stronger = drivetrain;
    stronger.speeding_up.ampere *= 1.2;
    stronger.slowing_down.ampere *= 1.2;
    struct ramp_times quicker = times_of(&stronger, direction, to_hz);
    CHECK(not_after(quicker.shortest_s, plain.shortest_s) && not_after(quicker.possible_s, plain.possible_s));

    struct drivetrain loaded = drivetrain;
    loaded.load.rated_torque_nm *= 1.1;
    struct ramp_times burdened = times_of(&loaded, direction, to_hz);
    CHECK(direction == SPEEDING_UP ? not_after(plain.shortest_s, burdened.shortest_s)
                                   : not_after(burdened.shortest_s, plain.shortest_s));

    struct ramp_times further = times_of(&drivetrain, direction, to_hz * 1.1);
    CHECK(not_after(plain.shortest_s, further.shortest_s) && not_after(plain.straight_s, further.straight_s));

    if (direction == SLOWING_DOWN) {
        struct drivetrain hoist = drivetrain;
        hoist.is_overhauling = true;
        struct ramp_times falling = times_of(&hoist, direction, to_hz);
        CHECK(not_after(plain.shortest_s, falling.shortest_s));
    }
}

static void times_move_with_what_they_follow_from(void **state)
{
    (void)state;
    const char *given = getenv("ASLEFT_SEED");
    uint64_t random = given == NULL ? DEFAULT_SEED : strtoull(given, NULL, 10);
    print_message("seed %llu (set ASLEFT_SEED for another)\n", (unsigned long long)random);
    for (int i = 0; i < DRIVES; i++)
        check_drive(&random, i);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(times_move_with_what_they_follow_from),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
