/* SPDX-License-Identifier: MIT */
/* The equivalent circuit at other frequencies, against textbook examples on variable frequency. */
#include "circuits.h"

static double breakdown_nm(const struct circuit *circuit, double voltage_v, double frequency_hz)
{
    return circuit_breakdown(circuit, &(struct terminals){voltage_v, frequency_hz}).torque_nm;
}

/* EQ-10: printed 22.93, 37.44, 45.94, 51.27, 54.88 N.m. Dubey, example 6.9. */
static void breakdown_torque_at_constant_volts_per_hertz(void **state)
{
    (void)state;
    static const double expected_nm[] = {22.93, 37.44, 45.94, 51.27, 54.88};
    for (int i = 0; i < 5; i++)
        assert_near(breakdown_nm(&dubey, 80.0 * (i + 1), 10.0 * (i + 1)), expected_nm[i], 0.01);
}

/* EQ-11: printed 0.549 and 0.331 of the start at 50 Hz. Dubey, example 6.9. */
static void start_at_10_hz(void **state)
{
    (void)state;
    const struct operating_point full = circuit_at_slip(&dubey, &(struct terminals){400, 50}, 1);
    const struct operating_point slow = circuit_at_slip(&dubey, &(struct terminals){80, 10}, 1);
    assert_near(slow.torque_nm / full.torque_nm, 0.549, 0.002);
    assert_near(slow.line_current_a / full.line_current_a, 0.331, 0.002);
}

/* EQ-12: printed 84.3, 123.8, 193.7, 262.3, 331.1, 400 V. Dubey, example 6.10. */
static void voltage_that_keeps_the_breakdown_torque(void **state)
{
    (void)state;
    static const struct {
        double frequency_hz, voltage_v;
    } rows[] = {{5, 84.3}, {10, 123.8}, {20, 193.7}, {30, 262.3}, {40, 331.1}, {50, 400}};
    const double wanted_nm = breakdown_nm(&dubey, 400, 50);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        /* Torque goes with the square of voltage. */
        const double voltage_v = 400 * sqrt(wanted_nm / breakdown_nm(&dubey, 400, rows[i].frequency_hz));
        assert_near(voltage_v, rows[i].voltage_v, 0.1);
        assert_share(breakdown_nm(&dubey, voltage_v, rows[i].frequency_hz), wanted_nm, 1e-9);
    }
}

/* EQ-13: printed 0.727 of the breakdown torque at 50 Hz. Dubey, example 6.13. */
static void breakdown_torque_above_rated_frequency(void **state)
{
    (void)state;
    assert_near(breakdown_nm(&dubey, 400, 60) / breakdown_nm(&dubey, 400, 50), 0.727, 0.001);
}

/* EQ-15: printed 35.23 A and 47.41 N.m; at 10 Hz and a fifth of the voltage 12.17 A and 28.27 N.m. */
static void gupta_start_at_50_and_10_hz(void **state)
{
    (void)state;
    const struct operating_point full = circuit_at_slip(&gupta, &(struct terminals){440, 50}, 1);
    assert_close(full.line_current_a, 35.23);
    assert_close(full.torque_nm, 47.41);
    const struct operating_point slow = circuit_at_slip(&gupta, &(struct terminals){88, 10}, 1);
    assert_close(slow.line_current_a, 12.17);
    assert_close(slow.torque_nm, 28.27);
}

/* A drive that makes up for the stator's resistance holds flux, current and torque of the same slip speed. */
static void same_slip_speed_same_torque_where_resistance_is_made_up_for(void **state)
{
    (void)state;
    const struct operating_point full = circuit_at_speed(&chapman, &chapman_terminals, 1760);
    const struct circuit half = circuit_compensated(&chapman, 0.5);
    const struct terminals terminals = {230, 30};
    const struct operating_point slow = circuit_at_speed(&half, &terminals, 860);
    assert_share(slow.torque_nm, full.torque_nm, 1e-9);
    assert_share(slow.line_current_a, full.line_current_a, 1e-9);
    /* More than half the voltage is needed for it: by about I R cos / 2 a phase. */
    const double voltage_v = circuit_compensated_voltage_v(&chapman, 0.5, &terminals, &slow);
    assert_share(voltage_v, 230 + sqrt(3) * slow.line_current_a * 0.641 / 2 * slow.power_factor, 0.001);
    /* The motor itself, uncompensated, agrees that it is the right one. */
    const struct operating_point fed = circuit_at_speed(&chapman, &(struct terminals){voltage_v, 30}, 860);
    assert_share(fed.line_current_a, slow.line_current_a, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(breakdown_torque_at_constant_volts_per_hertz),
        cmocka_unit_test(start_at_10_hz),
        cmocka_unit_test(voltage_that_keeps_the_breakdown_torque),
        cmocka_unit_test(breakdown_torque_above_rated_frequency),
        cmocka_unit_test(gupta_start_at_50_and_10_hz),
        cmocka_unit_test(same_slip_speed_same_torque_where_resistance_is_made_up_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
