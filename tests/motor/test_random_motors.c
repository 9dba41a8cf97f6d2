/* SPDX-License-Identifier: MIT */
/* Twenty thousand plausible motors from a seed: none is doubted, and every band holds its nominal value. */
#include "random_plates.h"

enum { MOTORS = 20000, DEFAULT_SEED = 20260131 };

static void check_motor(uint64_t *random)
{
    struct random_plate plate;
    invent(random, &plate);
    struct plate_text text = {plate.power, plate.voltage,    plate.current,     plate.frequency,
                              plate.speed, plate.efficiency, plate.power_factor};
    size_t said = choose(random, 4);
    if (said % 2 == 0)
        text.efficiency = NULL;
    if (said / 2 == 0)
        text.power_factor = NULL;

    struct job job = {0};
    sheet_add_column(&job.sheet, &text);
    map_add_all(&job.map);
    map_parameter(&job.map, MEANS_MOTOR_OVERLOAD_CURRENT)->overload_is = OVERLOAD_REFERENCE;
    setpoints_compute(&job.sheet, &job.map, &job.setpoints);
    if (job.setpoints.implausible.count > 0)
        fail_msg("%s %s %s %s %s %s %s: %s", plate.power, plate.voltage, plate.current, plate.frequency, plate.speed,
                 plate.efficiency, plate.power_factor, job.setpoints.implausible.items[0].basis);
    assert_int_equal(job_setpoint(&job, MEANS_MOTOR_RATED_SLIP)->kind, SETPOINT_RANGE);
    for (size_t i = 0; i < job.setpoints.count; i++) {
        const struct setpoint *setpoint = &job.setpoints.items[i];
        bool holds = isnan(setpoint->nominal)
                         ? setpoint->low < setpoint->high
                         : setpoint->low <= setpoint->nominal && setpoint->nominal <= setpoint->high;
        if (setpoint->kind == SETPOINT_RANGE && !holds)
            fail_msg("%s: %g to %g does not hold %g", setpoint->basis, setpoint->low, setpoint->high,
                     setpoint->nominal);
    }
    setpoints_free(&job.setpoints);
    map_free(&job.map);
    sheet_free(&job.sheet);
}

static void plausible_motors_are_not_doubted(void **state)
{
    (void)state;
    uint64_t random = seed_or(DEFAULT_SEED);
    for (int i = 0; i < MOTORS; i++)
        check_motor(&random);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plausible_motors_are_not_doubted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
