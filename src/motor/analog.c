/* SPDX-License-Identifier: MIT */
/* From a signal at the drive's terminals to a frequency. */
#include "motor/analog.h"

#include "motor/choice_words.h"
#include "motor/figure.h"
#include "motor/job.h"
#include "motor/plausibility.h"
#include "motor/quantity.h"

#include <math.h>

double analog_frequency_hz(const struct analog_scale *scale, double signal)
{
    double share = (signal - scale->low_signal) / (scale->high_signal - scale->low_signal);
    share = fmin(1, fmax(0, share));
    return scale->low_hz + share * (scale->high_hz - scale->low_hz);
}

double analog_signal_for(const struct analog_scale *scale, double frequency_hz)
{
    double share = (frequency_hz - scale->low_hz) / (scale->high_hz - scale->low_hz);
    return scale->low_signal + share * (scale->high_signal - scale->low_signal);
}

double potentiometer_current_a(double supply_v, double track_ohm, double input_ohm)
{
    return supply_v / track_ohm + supply_v / input_ohm;
}

double potentiometer_share(double position, double track_ohm, double input_ohm)
{
    double below_ohm = position * track_ohm;
    double loaded_ohm = below_ohm * input_ohm / (below_ohm + input_ohm);
    return loaded_ohm / (track_ohm - below_ohm + loaded_ohm);
}

double potentiometer_least_ohm(double supply_v, double most_a)
{
    return supply_v / most_a;
}

enum loop_state loop_state_of(double current_a)
{
    const double failed_below_a = 3.6e-3, least_a = 3.8e-3, most_a = 20.5e-3, failed_from_a = 21e-3;
    if (current_a < failed_below_a || current_a >= failed_from_a)
        return LOOP_FAILED;
    return current_a >= least_a && current_a <= most_a ? LOOP_VALUE : LOOP_DOUBTFUL;
}

/* One signal of the job that is asked for as one value. */
struct signal {
    const struct setting *setting;
    double value; /* in the base unit of `unit`'s dimension */
    enum unit unit;
};

static bool signal_of(const struct installation *installation, enum means means, struct signal *signal)
{
    const struct setting *setting = installation_setting(installation, means);
    if (setting == NULL || setting->kind != SETTING_QUANTITY)
        return false;
    *signal = (struct signal){.setting = setting, .value = quantity_base(&setting->low), .unit = setting->low.unit};
    return true;
}

static void refuse(struct setpoints *setpoints, const struct signal *signal, char *basis)
{
    struct finding *finding = setting_refuse(setpoints, signal->setting, STAKE_PROCESS, basis);
    finding->found = (struct value){.kind = VALUE_NUMBER, .number = signal->setting->low.value};
    finding->unit = signal->unit;
}

static bool check_span(const struct signal *low, const struct signal *high, struct setpoints *setpoints)
{
    struct figure low_text = figure_written(&low->setting->low), high_text = figure_written(&high->setting->low);
    if (unit_dimension(low->unit) != unit_dimension(high->unit))
        refuse(setpoints, high,
               text_format("the signal begins at %s and ends at %s, which are of different kinds; look at the input",
                           low_text.text, high_text.text));
    else if (low->value == high->value)
        refuse(setpoints, high,
               text_format("the signal begins and ends at %s, which leaves nothing between", high_text.text));
    else
        return true;
    return false;
}

/* Beyond what signals of the trade have: 0 to 10 V and 0 to 20 mA. Common practice, no source. */
static void check_size(const struct signal *signal, struct setpoints *setpoints)
{
    bool is_current = unit_dimension(signal->unit) == DIMENSION_CURRENT;
    bool is_voltage = unit_dimension(signal->unit) == DIMENSION_VOLTAGE;
    double most = is_current ? 20e-3 : 10;
    if ((!is_current && !is_voltage) || fabs(signal->value) <= most)
        return;
    struct finding *finding =
        setting_doubt(setpoints, signal->setting, STAKE_PROCESS,
                      text_format("signals usually end at %s, not %s; look at the unit (common practice)",
                                  is_current ? "20 mA" : "10 V", figure_written(&signal->setting->low).text));
    plausibility_figures(finding, (struct band){-most, NAN, most}, signal->value, signal->unit);
}

/* "voltage-input" takes no mA. */
static void check_source(const struct installation *installation, const struct signal *signal,
                         struct setpoints *setpoints)
{
    const char *source = installation_word(installation, MEANS_CONTROL_FREQUENCY_SOURCE);
    bool is_current = unit_dimension(signal->unit) == DIMENSION_CURRENT;
    bool is_voltage = unit_dimension(signal->unit) == DIMENSION_VOLTAGE;
    if ((is_current && word_has(source, "voltage")) || (is_voltage && word_has(source, "current")))
        refuse(setpoints, signal,
               text_format("the job follows %s, and scales a signal of %s; look which input is meant", source,
                           figure_written(&signal->setting->low).text));
}

/* A signal that begins at nothing looks the same with a broken wire: then no loss can be seen. */
static void check_live_zero(const struct installation *installation, const struct signal *low,
                            struct setpoints *setpoints)
{
    const struct setting *loss = installation_setting(installation, MEANS_LOSS_SIGNAL_ACTION);
    const char *action = installation_word(installation, MEANS_LOSS_SIGNAL_ACTION);
    if (low->value != 0 || action == NULL || word_lets_pass(action))
        return;
    (void)setting_refuse(
        setpoints, loss, STAKE_PEOPLE,
        text_format("the job asks for %s when the signal is lost, but the signal begins at %s, where a "
                    "broken wire looks like the lowest speed; it takes a live zero such as 4 mA or 2 V",
                    action, figure_written(&low->setting->low).text));
}

static void check_frequencies(const struct installation *installation, const struct signal *low,
                              const struct signal *high, struct setpoints *setpoints)
{
    const struct setting *setting = installation_setting(installation, MEANS_ANALOG_HIGH_FREQUENCY);
    struct band low_hz;
    struct band high_hz;
    double most_hz = job_maximum_frequency_hz(installation->sheet);
    if (!installation_band(installation, MEANS_ANALOG_HIGH_FREQUENCY, &high_hz) || isnan(high_hz.nominal))
        return;
    bool has_low = installation_band(installation, MEANS_ANALOG_LOW_FREQUENCY, &low_hz) && !isnan(low_hz.nominal);
    if (has_low && low_hz.nominal == high_hz.nominal) {
        (void)setting_refuse(setpoints, setting, STAKE_PROCESS,
                             text_format("the signal asks for %s at both its ends; look at the settings analog.*",
                                         figure_in(high_hz.nominal, UNIT_HZ).text));
        return;
    }
    if (!(high_hz.nominal > most_hz))
        return;
    bool is_scaled = has_low && low != NULL && high != NULL;
    struct analog_scale scale = {is_scaled ? low->value : 0, is_scaled ? high->value : 1, has_low ? low_hz.nominal : 0,
                                 high_hz.nominal};
    double reached = analog_signal_for(&scale, most_hz);
    struct finding *finding = setting_doubt(
        setpoints, setting, STAKE_PROCESS,
        text_format(
            "the signal asks for up to %s, and the job's maximum frequency is %s: from %s on it changes nothing",
            figure_in(high_hz.nominal, UNIT_HZ).text, figure_in(most_hz, UNIT_HZ).text,
            figure_in(reached, is_scaled ? high->unit : UNIT_PERCENT).text));
    finding->source = SOURCE_JOB;
    plausibility_figures(finding, (struct band){0, NAN, most_hz}, high_hz.nominal, UNIT_HZ);
}

void analog_check(const struct installation *installation, struct setpoints *setpoints)
{
    struct signal low;
    struct signal high;
    bool has_low = signal_of(installation, MEANS_ANALOG_LOW_SIGNAL, &low);
    bool has_high = signal_of(installation, MEANS_ANALOG_HIGH_SIGNAL, &high);
    bool scaled = has_low && has_high && check_span(&low, &high, setpoints);
    if (has_low)
        check_live_zero(installation, &low, setpoints);
    if (has_high) {
        check_size(&high, setpoints);
        check_source(installation, &high, setpoints);
    }
    check_frequencies(installation, scaled ? &low : NULL, scaled ? &high : NULL, setpoints);
}
