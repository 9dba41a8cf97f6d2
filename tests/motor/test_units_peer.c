/* SPDX-License-Identifier: MIT */
/* Conversions against GNU units, which nobody here wrote. Without it these tests fail: apt-get install units. */
#include "sheets.h"

#include "motor/acceleration.h"
#include "motor/nameplate.h"

/* What GNU units makes of `from` in `to`, to 15 digits. */
static double peer(const char *from, const char *to)
{
    char command[160];
    char answer[64] = "";
    (void)snprintf(command, sizeof command, "LC_ALL=C units --digits 15 -t '%s' '%s'", from, to);
    FILE *pipe = popen(command, "r"); // NOLINT(cert-env33-c): fixed commands
    assert_non_null(pipe);
    bool answered = fgets(answer, sizeof answer, pipe) != NULL;
    if (pclose(pipe) != 0 || !answered)
        fail_msg("GNU units does not answer '%s' in '%s' (is it installed?)", from, to);
    answer[strcspn(answer, "\n")] = '\0';
    double value;
    double rounding;
    if (!number_parse(answer, true, &value, &rounding, NULL))
        fail_msg("GNU units answers \"%s\"", answer);
    return value;
}

struct peer_row {
    enum unit unit;
    const char *name, *base; /* as GNU units writes them */
};

/* Left out: % of nothing else and rates, whose units are those of their parts. A degC is a step of temperature. */
static const struct peer_row rows[] = {
    {UNIT_W, "watt", "watt"},
    {UNIT_KW, "kilowatt", "watt"},
    {UNIT_HP, "horsepower", "watt"},
    {UNIT_V, "volt", "volt"},
    {UNIT_A, "ampere", "ampere"},
    {UNIT_MA, "milliampere", "ampere"},
    {UNIT_HZ, "hertz", "hertz"},
    {UNIT_KHZ, "kilohertz", "hertz"},
    {UNIT_RPM, "rpm", "rev/minute"},
    {UNIT_S, "second", "second"},
    {UNIT_MS, "ms", "second"},
    {UNIT_MIN, "minute", "second"},
    {UNIT_H, "hour", "second"},
    {UNIT_PERCENT, "percent", "1"},
    {UNIT_OHM, "ohm", "ohm"},
    {UNIT_NM, "newton meter", "newton meter"},
    {UNIT_LBFT, "lbf ft", "N m"},
    {UNIT_KGM2, "kg m^2", "kg m^2"},
    {UNIT_LBFT2, "lb ft^2", "kg m^2"},
    {UNIT_DEGC, "degC", "K"},
    {UNIT_M, "meter", "meter"},
    {UNIT_FT, "foot", "meter"},
    {UNIT_HZ_PER_S, "Hz/s", "Hz/s"},
    {UNIT_S_PER_HZ, "s/Hz", "s/Hz"},
    {UNIT_RPM_PER_S, "rpm/s", "rev/min/s"},
};

static void unit_sizes_agree(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double expected = peer(rows[i].name, rows[i].base);
        assert_near(unit_to_base(1, rows[i].unit), expected, 1e-14 * expected);
        assert_near(unit_from_base(expected, rows[i].unit), 1, 1e-14);
    }
}

static void shaft_torque_agrees(void **state)
{
    (void)state;
    double metric_nm = peer("7.5 kW / (1440 rpm)", "N m");
    assert_near(shaft_torque_nm(7500, 1440), metric_nm, 1e-13 * metric_nm);
    double imperial_lbft = peer("100 hp / (1176.01 rpm)", "lbf ft");
    double found_nm = shaft_torque_nm(unit_to_base(100, UNIT_HP), 1176.01);
    assert_near(unit_from_base(found_nm, UNIT_LBFT), imperial_lbft, 1e-13 * imperial_lbft);
}

static void stored_energy_agrees(void **state)
{
    (void)state;
    double energy_j = peer("0.5 * 2 kg m^2 * (1750 rpm)^2 / radian^2", "J");
    assert_near(kinetic_energy_j(2, 0, 1750), energy_j, 1e-13 * energy_j);
}

/* Time of a constant torque in the units of either side of the Atlantic. */
static double steady_nm(const void *machine, double speed_rpm)
{
    (void)speed_rpm;
    return *(const double *)machine;
}

static void run_up_time_agrees(void **state)
{
    (void)state;
    double torque_nm = unit_to_base(30, UNIT_LBFT);
    struct run run = {unit_to_base(100, UNIT_LBFT2), 0, 1750, steady_nm, &torque_nm};
    double time_s = peer("100 lb ft^2 * 1750 rpm / radian / (30 lbf ft)", "s");
    assert_near(run_time_s(&run), time_s, 1e-9 * time_s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unit_sizes_agree),
        cmocka_unit_test(shaft_torque_agrees),
        cmocka_unit_test(stored_energy_agrees),
        cmocka_unit_test(run_up_time_agrees),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
