/* SPDX-License-Identifier: MIT */
/* Numbers are read and shown the same in a locale whose decimal separator is a comma. The locale is built for the test
 * in a folder of its own; where the system cannot build one, the tests are skipped. */
#include "sheets.h"

#include <locale.h>
#include <unistd.h>

static char folder[] = "/tmp/asleft-locale-XXXXXX";

static int use_comma_locale(void **state)
{
    char command[160];
    if (mkdtemp(folder) == NULL)
        return -1;
    (void)snprintf(command, sizeof command, "localedef -i de_DE -f UTF-8 %s/de_DE.UTF-8 >%s/log 2>&1", folder, folder);
    int status = system(command); // NOLINT(cert-env33-c): a fixed command
    (void)setenv("LOCPATH", folder, 1);
    bool made = status == 0 && setlocale(LC_ALL, "de_DE.UTF-8") != NULL;
    char *half = text_format("%.1f", 0.5);
    bool comma = strcmp(half, "0,5") == 0; /* the C library's own printing has changed */
    free(half);
    *state = made && comma ? folder : NULL;
    return 0;
}

static int leave_comma_locale(void **state)
{
    (void)state;
    char command[80];
    (void)setlocale(LC_ALL, "C");
    (void)snprintf(command, sizeof command, "rm -r %s", folder);
    return system(command) == 0 ? 0 : -1; // NOLINT(cert-env33-c): a fixed command
}

static void numbers_are_read_with_a_point(void **state)
{
    if (*state == NULL)
        skip();
    double value;
    double rounding;
    assert_true(number_parse("1745.25", false, &value, &rounding, NULL));
    assert_true(value == 1745.25);
    assert_true(rounding == 0.005);
    assert_false(number_parse("1745,25", false, &value, &rounding, NULL));
}

static void numbers_are_shown_with_a_point(void **state)
{
    if (*state == NULL)
        skip();
    char text[32];
    assert_string_equal(number_format(1745.25, 0.01, text, sizeof text), "1745.25");
    assert_string_equal(number_format(0.5, 0, text, sizeof text), "0.5");
    char *after = text_format("%.1f", 0.5); /* and the caller's locale is left as it was */
    assert_string_equal(after, "0,5");
    free(after);
}

static void sentences_have_points(void **state)
{
    if (*state == NULL)
        skip();
    struct job *job = pump_job();
    job_compute(job);
    assert_string_equal(job_setpoint(job, MEANS_MOTOR_RATED_SLIP)->basis,
                        "slip = 60 Hz - 1745 rpm x 4 poles / 120 = 1.833 Hz");
    job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_read_with_a_point),
        cmocka_unit_test(numbers_are_shown_with_a_point),
        cmocka_unit_test(sentences_have_points),
    };
    return cmocka_run_group_tests(tests, use_comma_locale, leave_comma_locale);
}
