/* SPDX-License-Identifier: MIT */
/* The DC bus idle and loaded, and the levels of chopper and trip. */
#include "motor/dc_bus.h"
#include "sheets.h"

static struct supply supply_of(const char *volts, unsigned phases)
{
    return (struct supply){.given = true, .voltage = quantity_of(volts), .phases = phases};
}

/* Idle: sqrt(2) V. 208 294.2, 230 325.3, 240 339.4, 380 537.4, 400 565.7, 415 586.9, 460 650.5, 480 678.8, 575 813.2,
 * 600 848.5, 690 975.8 V. Loaded, 3 sqrt(2) / pi V: 400 540.2, 460 621.2, 480 648.2 V. Theory of the rectifier. */
static void idle_and_loaded_bus(void **state)
{
    (void)state;
    static const struct {
        const char *supply;
        double idle, loaded;
    } rows[] = {
        {"208 V", 294.2, NAN}, {"230 V", 325.3, NAN},   {"240 V", 339.4, NAN},   {"380 V", 537.4, NAN},
        {"415 V", 586.9, NAN}, {"400 V", 565.7, 540.2}, {"460 V", 650.5, 621.2}, {"480 V", 678.8, 648.2},
        {"575 V", 813.2, NAN}, {"600 V", 848.5, NAN},   {"690 V", 975.8, NAN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct supply supply = supply_of(rows[i].supply, 3);
        assert_near(dc_bus_voltage_v(&supply, FRONT_RECTIFIER), rows[i].idle, 0.051);
        if (!isnan(rows[i].loaded))
            assert_near(dc_bus_loaded_v(&supply, FRONT_RECTIFIER), rows[i].loaded, 0.051);
        struct band range = dc_bus_range_v(&supply, FRONT_RECTIFIER);
        assert_true(range.low < dc_bus_loaded_v(&supply, FRONT_RECTIFIER) && range.high > range.nominal);
    }
}

static void one_phase_and_doubler_sag_more(void **state)
{
    (void)state;
    struct supply supply = supply_of("230 V", 1);
    assert_near(dc_bus_loaded_v(&supply, FRONT_RECTIFIER), 207.07, 0.01);
    supply = supply_of("115 V", 1);
    assert_near(dc_bus_loaded_v(&supply, FRONT_DOUBLER), 207.07, 0.01);
    assert_true(isnan(dc_bus_loaded_v(&supply, FRONT_ACTIVE)));
    assert_true(isnan(dc_bus_loaded_v(&supply, FRONT_COMMON_BUS)));
}

/* 650 V may be 460 V idle or 481 V loaded. Arithmetic. */
static void what_supply_a_bus_comes_from(void **state)
{
    (void)state;
    struct band supply = supply_of_dc_bus_v(650);
    assert_near(supply.low, 459.6, 0.1);
    assert_near(supply.high, 481.3, 0.1);
}

static struct job *bus_job(const char *chopper, const char *trip)
{
    struct job *job = pump_job();
    job->sheet.supply = supply_of("480 V", 3);
    job->sheet.drive.chopper_acts_at = quantity_of(chopper);
    job->sheet.drive.bus_trip = quantity_of(trip);
    job_compute(job);
    return job;
}

/* 480 V: up to 1.1 x 678.8 = 746.7 V without braking. */
static void levels_that_fit(void **state)
{
    (void)state;
    struct job *job = bus_job("760 V", "820 V");
    assert_plausible(job);
    assert_near(job->setpoints.derived.dc_bus_loaded_v, 648.2, 0.1);
    job_free(job);
    job = bus_job(NULL, NULL);
    assert_plausible(job);
    job_free(job);
}

static void a_chopper_that_burns_all_the_time(void **state)
{
    (void)state;
    struct job *job = bus_job("700 V", "820 V");
    const struct finding *finding = assert_one_finding(job, "sheet.drive.chopper", "1.1 x 678.8 V = 746.7 V");
    assert_near(finding->expected.low, 746.7, 0.1);
    assert_near(finding->expected.high, 820, 0);
    job->sheet.drive.front_end = FRONT_ACTIVE;
    job_compute(job);
    assert_int_equal(job->setpoints.implausible.count, 1);
    job->sheet.drive.front_end = FRONT_COMMON_BUS;
    job_compute(job);
    assert_plausible(job);
    job_free(job);
}

static void a_chopper_that_never_acts(void **state)
{
    (void)state;
    struct job *job = bus_job("830 V", "820 V");
    (void)assert_one_finding(job, "sheet.drive.chopper", "the drive trips at 820 V already");
    job_free(job);
}

static void a_trip_below_the_bus(void **state)
{
    (void)state;
    struct job *job = bus_job(NULL, "400 V");
    (void)assert_one_finding(job, "sheet.drive.bus_trip", "look at the drive's voltage class");
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(idle_and_loaded_bus),
        cmocka_unit_test(one_phase_and_doubler_sag_more),
        cmocka_unit_test(what_supply_a_bus_comes_from),
        cmocka_unit_test(levels_that_fit),
        cmocka_unit_test(a_chopper_that_burns_all_the_time),
        cmocka_unit_test(a_chopper_that_never_acts),
        cmocka_unit_test(a_trip_below_the_bus),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
