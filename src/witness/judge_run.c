/* SPDX-License-Identifier: MIT */
/* Judges a run: what was measured against what nameplate, job and drive ask for. */
#include "witness/judge_run.h"

#include "witness/measures.h"
#include "witness/phases.h"

/* What was not read, and what cannot be told without it. */
struct lack {
    enum means means;
    const char *remark;
};

static const struct lack lacks[] = {
    {MEANS_LIVE_OUTPUT_FREQUENCY, "output frequency was not read: neither phases nor ramps can be told"},
    {MEANS_LIVE_FREQUENCY_COMMAND, "the frequency command was not read: a command that was turned slowly looks like a "
                                   "ramp, so that only straight ramps between rest and a steady run are judged"},
    {MEANS_LIVE_STATE, "the state was not read: trips and braking are told by frequency and current alone"},
    {MEANS_LIVE_OUTPUT_CURRENT, "output current was not read: neither load nor a current limit can be told"},
    {MEANS_LIVE_OUTPUT_VOLTAGE, "output voltage was not read: base voltage and base frequency are not shown"},
    {MEANS_LIVE_DC_BUS_VOLTAGE, "bus voltage was not read: neither supply nor a voltage limit can be told"},
};

static void remark_on_lacks(const struct judging *judging)
{
    for (size_t i = 0; i < sizeof lacks / sizeof lacks[0]; i++) {
        const struct series *series = samples_find(judging->samples, lacks[i].means);
        if (series == NULL || series->count == 0)
            remark_add(judging->witnessed, text_copy(lacks[i].remark));
    }
}

static void remark_on_frequency(const struct judging *judging)
{
    const struct series *frequency = samples_find(judging->samples, MEANS_LIVE_OUTPUT_FREQUENCY);
    if (frequency == NULL || frequency->count == 0)
        return;
    switch (frequency->obtained) {
    case OBTAINED_COMMANDED:
        remark_add(judging->witnessed, text_copy("output frequency is the drive's own reference behind its ramp: it "
                                                 "shows the drive's ramps and proves nothing of the shaft"));
        break;
    case OBTAINED_UNSAID:
    case OBTAINED_MEASURED:
    case OBTAINED_COMPUTED:
        break;
    }
    if (!(frequency->refreshed_every_s > 0))
        remark_add(judging->witnessed, text_copy("the map does not say how often the drive refreshes its output "
                                                 "frequency: the samples themselves have to show it"));
}

static void remark_on_phases(const struct judging *judging)
{
    for (size_t i = 0; i < judging->witnessed->phase_count; i++) {
        if (judging->witnessed->phases[i].kind == PHASE_GAP)
            remark_add(judging->witnessed, text_copy("nothing was read for a while: what happened in the gaps is not "
                                                     "known"));
        if (judging->witnessed->phases[i].kind == PHASE_TRIPPED)
            remark_add(judging->witnessed, text_copy("the drive tripped during the run"));
        if (judging->witnessed->phases[i].kind == PHASE_COASTING)
            remark_add(judging->witnessed, text_copy("the motor coasted to rest: that shows no deceleration time"));
    }
}

void judge_run(const struct sheet *sheet, const struct setpoints *setpoints, const struct samples *samples,
               struct witnessed *witnessed)
{
    const struct judging judging = {sheet, setpoints, samples, witnessed};
    phases_find(samples, witnessed);
    judge_ramps(&judging);
    judge_voltage(&judging);
    judge_slip(&judging);
    judge_current(&judging);
    judge_bus(&judging);
    remark_on_lacks(&judging);
    remark_on_frequency(&judging);
    remark_on_phases(&judging);
    /* Source: the difference between what an inspection looks at and what a register holds. */
    remark_add(witnessed,
               text_copy("registers show neither the direction in which the shaft turns, nor noise, vibration "
                         "or heat, nor that a trip acts: a person has to witness these"));
}
