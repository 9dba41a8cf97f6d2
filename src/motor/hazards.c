/* SPDX-License-Identifier: MIT */
/* Settings that hurt people together, though each may be right alone. All of it is common practice, no source. */
#include "motor/hazards.h"

#include "motor/choice_words.h"
#include "motor/quantity.h"

#include <math.h>
#include <stdlib.h>

static void refuse(const struct installation *installation, struct setpoints *setpoints, enum means means, char *basis)
{
    const struct setting *setting = installation_setting(installation, means);
    struct finding *finding = setting_refuse(setpoints, setting, STAKE_PEOPLE, basis);
    finding->found = (struct value){.kind = VALUE_WORD, .text = text_copy(installation_word(installation, means))};
}

static void say_open(const struct installation *installation, struct setpoints *setpoints, enum means means,
                     char *reason)
{
    if (!installation_leaves_open(installation, means)) {
        free(reason);
        return;
    }
    setpoints->items = memory_grow(setpoints->items, setpoints->count, sizeof *setpoints->items);
    setpoints->items[setpoints->count++] = (struct setpoint){.means = means,
                                                             .kind = SETPOINT_MISSING,
                                                             .low = NAN,
                                                             .nominal = NAN,
                                                             .high = NAN,
                                                             .basis = reason,
                                                             .source = SOURCE_NONE,
                                                             .stake = STAKE_PEOPLE};
}

/* A load that drives its motor runs away when the drive lets go. */
static void check_stop(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_CONTROL_STOP_METHOD;
    const struct sheet_drive *drive = &installation->sheet->drive;
    const char *method = installation_word(installation, means);
    if (installation->sheet->load.overhauling != ANSWER_YES)
        return;
    if (word_coasts(method))
        refuse(installation, setpoints, means,
               text_format("the job asks for %s as the way to stop, and the load is overhauling: it would run away; "
                           "look whether a brake holds it, and stop by ramp",
                           method));
    say_open(installation, setpoints, means,
             text_copy("the load is overhauling, and the job does not say how it stops"));
    bool takes_back =
        drive->has_resistor == ANSWER_YES || drive->front_end == FRONT_ACTIVE || drive->front_end == FRONT_COMMON_BUS;
    if (!takes_back && drive->has_resistor == ANSWER_NO)
        (void)installation_doubt(setpoints, "sheet.drive.braking_resistor", STAKE_PEOPLE,
                                 text_copy("the load is overhauling, and the drive has nowhere to put what it feeds "
                                           "back: it would trip on bus voltage and let go (common practice)"));
}

static void check_direction(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_CONTROL_DIRECTION_LOCK;
    const char *lock = installation_word(installation, means);
    if (installation->sheet->load.reverse_harmful == ANSWER_YES && word_lets_reverse(lock))
        refuse(installation, setpoints, means,
               text_format("turning backwards does harm (load.reverse_harmful), and the job asks for %s", lock));
}

/* Restarts by itself meet a load that must not be met so. */
static void check_restart(const struct installation *installation, enum means means, const char *when,
                          struct setpoints *setpoints)
{
    const struct load *load = &installation->sheet->load;
    struct band times;
    const char *word = installation_word(installation, means);
    bool counts = word == NULL && installation_band(installation, means, &times) && times.nominal > 0;
    const char *catching = installation_word(installation, MEANS_RESTART_CATCH_SPINNING);
    bool catches = catching != NULL && !word_refuses(catching);
    if (!counts && !word_starts(word))
        return;
    if (counts)
        word = "restarts";
    if (load->overhauling == ANSWER_YES)
        refuse(installation, setpoints, means,
               text_format("the job asks for %s %s, and the load is overhauling: it would move by itself, with nobody "
                           "there",
                           word, when));
    if (load->reverse_harmful == ANSWER_YES && !catches)
        refuse(installation, setpoints, means,
               text_format("the job asks for %s %s, and turning backwards does harm: a load that is driven back "
                           "meanwhile would be started against its turning; look at restart.catch_spinning",
                           word, when));
}

static void check_power_return(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_RESTART_AFTER_POWER_RETURN;
    const char *word = installation_word(installation, means);
    const char *held = installation_word(installation, MEANS_RESTART_RUN_HELD_AT_POWER_UP);
    const char *source = installation_word(installation, MEANS_CONTROL_START_SOURCE);
    if (word == NULL || held == NULL || !word_has(source, "terminals"))
        return;
    if ((word_starts(word) && word_refuses(held)) || (word_refuses(word) && word_starts(held)))
        refuse(installation, setpoints, means,
               text_format("the job asks for %s after power returns and for %s while run is held at power-up, started "
                           "from terminals: one of them lets it start by itself and the other does not; look which is "
                           "meant",
                           word, held));
}

static void check_network(const struct installation *installation, struct setpoints *setpoints)
{
    const char *source = installation_word(installation, MEANS_CONTROL_START_SOURCE);
    const char *action = installation_word(installation, MEANS_LOSS_NETWORK_ACTION);
    const char *time = installation_word(installation, MEANS_LOSS_NETWORK_TIME);
    if (!word_has(source, "network"))
        return;
    if (word_lets_pass(action))
        refuse(
            installation, setpoints, MEANS_LOSS_NETWORK_ACTION,
            text_format("the drive is started and stopped over the network, and the job asks for %s when it is lost: "
                        "then nobody there can stop it",
                        action));
    if (word_lets_pass(time))
        refuse(
            installation, setpoints, MEANS_LOSS_NETWORK_TIME,
            text_format("the drive is started and stopped over the network, and the job has its supervision %s: with "
                        "the line lost nobody there can stop it",
                        time));
}

static void check_signal(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_LOSS_SIGNAL_ACTION;
    const char *action = installation_word(installation, means);
    if (installation->sheet->load.overhauling == ANSWER_YES && word_lets_pass(action))
        refuse(installation, setpoints, means,
               text_format("the load is overhauling, and the job asks for %s when the speed signal is lost", action));
}

static void check_thermistor(const struct installation *installation, struct setpoints *setpoints)
{
    const enum means means = MEANS_PROTECT_MOTOR_THERMISTOR;
    const char *action = installation_word(installation, means);
    if (installation->sheet->motor.thermistor == ANSWER_YES && word_lets_pass(action))
        refuse(installation, setpoints, means,
               text_format("the motor has a thermistor, and the job asks for %s: the motor could burn unnoticed; look "
                           "whether it is wired elsewhere",
                           action));
}

void hazards_check(const struct installation *installation, struct setpoints *setpoints)
{
    check_stop(installation, setpoints);
    check_direction(installation, setpoints);
    check_restart(installation, MEANS_RESTART_AFTER_POWER_RETURN, "after power returns", setpoints);
    check_restart(installation, MEANS_RESTART_AFTER_TRIP, "after a trip", setpoints);
    check_power_return(installation, setpoints);
    check_network(installation, setpoints);
    check_signal(installation, setpoints);
    check_thermistor(installation, setpoints);
}
