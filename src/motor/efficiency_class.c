/* SPDX-License-Identifier: MIT */
/* Efficiencies that the classes of IEC 60034-30-1 ask of motors. */
#include "motor/efficiency_class.h"

#include "motor/figure.h"
#include "motor/plausibility.h"

#include <math.h>

enum { POLE_PAIRS = 4, TERMS = 4 };

/* Of the third, second, first and zeroth power of log10(kW), by class and pairs of poles. */
static const double coefficients[CLASS_COUNT][POLE_PAIRS][TERMS] = {
    [CLASS_IE2] = {{0.2972, -3.3454, 13.0651, 79.077},
                   {0.0278, -1.9247, 10.4395, 80.9761},
                   {0.0148, -2.4978, 13.247, 77.5603},
                   {2.1311, -12.029, 26.719, 69.735}},
    [CLASS_IE3] = {{0.3569, -3.3076, 11.6108, 82.2503},
                   {0.0773, -1.8951, 9.2984, 83.7025},
                   {0.1252, -2.613, 11.9963, 80.4769},
                   {0.7189, -5.1678, 15.705, 77.074}},
    [CLASS_IE4] = {{0.34, -3.0479, 10.293, 84.8208},
                   {0.2412, -2.3608, 8.446, 86.8321},
                   {0.3598, -3.2107, 10.7933, 84.107},
                   {0.6556, -4.7229, 13.977, 80.247}},
};

double class_efficiency(enum efficiency_class class, unsigned poles, double power_w)
{
    const double least_w = 750, most_w = 200e3;
    unsigned pairs = poles / 2;
    if (pairs < 1 || pairs > POLE_PAIRS || !(power_w >= least_w && power_w <= most_w))
        return NAN;
    const double *terms = coefficients[class][pairs - 1];
    double log_kw = log10(power_w / 1000);
    double percent = ((terms[0] * log_kw + terms[1]) * log_kw + terms[2]) * log_kw + terms[3];
    return round(percent * 10) / 1000;
}

void efficiency_check(const struct installation *installation, struct setpoints *setpoints)
{
    const double least_losses =
        0.6; /* of those of class IE4; 60 Hz has a little less than 50. Common practice, no source */
    const struct nameplate *plate = installation->plate;
    double best = class_efficiency(CLASS_IE4, plate->poles, plate->bands[FIELD_POWER].nominal);
    struct band efficiency = plate->bands[FIELD_EFFICIENCY];
    double most = 1 - least_losses * (1 - best);
    if (!(efficiency.low > most) || efficiency.low >= 1)
        return;
    struct finding *finding = installation_doubt(
        setpoints, "sheet.motor.efficiency", STAKE_EQUIPMENT,
        text_format("efficiency %s of %s with %u poles leaves much less loss than class IE4, whose least efficiency is "
                    "%s %% (IEC 60034-30-1); look whether digits are exchanged",
                    figure_written(&plate->written[FIELD_EFFICIENCY]).text,
                    figure_written(&plate->written[FIELD_POWER]).text, plate->poles, figure(best * 100).text));
    plausibility_figures(finding, (struct band){-INFINITY, NAN, most}, efficiency.nominal,
                         plate->written[FIELD_EFFICIENCY].unit);
}
