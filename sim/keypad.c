/* SPDX-License-Identifier: MIT */
/* The keypad's commands. */
#include "sim/keypad.h"

#include "files/suggest.h"
#include "motor/quantity.h"
#include "sim/assign.h"
#include "sim/keypad_drive.h"
#include "sim/live.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

struct key {
    const char *word;
    const char *wants; /* what comes behind the word, in brackets where it may be missing, or NULL */
    char *(*press)(struct drive *drive, const char *rest);
};

static char *in_hz(double frequency_hz)
{
    char number[64];
    return text_format("%s Hz", number_format(frequency_hz, 0.01, number, sizeof number));
}

static char *answer_hz(const char *what, double frequency_hz)
{
    char *hz = in_hz(frequency_hz);
    char *answer = text_format("%s %s", what, hz);
    free(hz);
    return answer;
}

static char *press_start(struct drive *drive, const char *rest)
{
    (void)rest;
    if (drive_is_off(drive, drive->model.last_us))
        return text_copy("not started: it has no power");
    if (drive_model_start(&drive->model)) {
        const struct drive_settings settings = live_settings(drive);
        return answer_hz("starting, towards", drive_model_target_hz(&drive->model, &settings));
    }
    return text_copy(drive->model.state == MOTOR_TRIPPED ? "not started: the drive is tripped; reset it first"
                                                         : "not started: it runs already");
}

static char *press_stop(struct drive *drive, const char *rest)
{
    (void)rest;
    return text_format(drive_model_stop(&drive->model) ? "stopping" : "nothing to stop: the drive is %s",
                       motor_state_word(drive->model.state));
}

static char *press_trip(struct drive *drive, const char *rest)
{
    (void)rest;
    return text_copy(drive_model_trip(&drive->model) ? "tripped" : "tripped already");
}

static char *press_reset(struct drive *drive, const char *rest)
{
    (void)rest;
    return text_copy(drive_model_reset(&drive->model) ? "reset, stopped"
                                                      : "nothing to reset: the drive is not tripped");
}

static char *press_frequency(struct drive *drive, const char *rest)
{
    struct quantity quantity = {0};
    struct error error = {0};
    if (!quantity_parse(rest, DIMENSION_FREQUENCY, &quantity, NULL) &&
        !quantity_parse(rest, DIMENSION_NONE, &quantity, &error))
        return text_format("%s", error.text);
    const double frequency_hz = quantity.unit == UNIT_NONE ? quantity.value : quantity_base(&quantity);
    if (frequency_hz < 0)
        return text_format("'%s' is below 0 Hz; the simulated motor turns forward only", rest);
    drive->model.command_hz = frequency_hz;
    return answer_hz("frequency command", frequency_hz);
}

static char *press_set(struct drive *drive, const char *rest)
{
    struct error error = {0};
    size_t parameter = 0;
    return assign(drive, rest, &parameter, &error) ? assign_show(drive, parameter) : text_copy(error.text);
}

static char *press_show(struct drive *drive, const char *rest)
{
    struct error error = {0};
    const size_t parameter = assign_find(drive->map, rest, &error);
    return parameter == PARAMETER_NOT_FOUND ? text_copy(error.text) : assign_show(drive, parameter);
}

static char *press_help(struct drive *drive, const char *rest);
static char *press_quit(struct drive *drive, const char *rest);

static const struct key keys[] = {
    {"start", NULL, press_start},
    {"stop", NULL, press_stop},
    {"frequency", "HZ", press_frequency},
    {"run-command", "on|off", keypad_run_command},
    {"enable", "on|off", keypad_enable},
    {"set", "NAME=VALUE", press_set},
    {"show", "NAME", press_show},
    {"wear", NULL, keypad_wear},
    {"trip", NULL, press_trip},
    {"reset", NULL, press_reset},
    {"state", "WORD", keypad_state},
    {"power-cycle", "[TIME]", keypad_power_cycle},
    {"factory-reset", NULL, keypad_factory_reset},
    {"exchange", "SERIAL", keypad_exchange},
    {"help", NULL, press_help},
    {"quit", NULL, press_quit},
};
enum { KEYS = sizeof keys / sizeof *keys };

static char *press_help(struct drive *drive, const char *rest)
{
    (void)drive;
    (void)rest;
    char *all = text_copy("keys:");
    for (size_t i = 0; i < KEYS; i++) {
        char *longer = text_format("%s%s %s%s%s", all, i == 0 ? "" : ",", keys[i].word,
                                   keys[i].wants == NULL ? "" : " ", keys[i].wants == NULL ? "" : keys[i].wants);
        free(all);
        all = longer;
    }
    return all;
}

static char *press_quit(struct drive *drive, const char *rest)
{
    (void)drive;
    (void)rest;
    return text_copy("switched off");
}

static const struct key *find_key(const char *word)
{
    for (size_t i = 0; i < KEYS; i++)
        if (strcmp(keys[i].word, word) == 0)
            return &keys[i];
    return NULL;
}

static char *no_key(const char *word)
{
    struct suggestion near = {0};
    for (size_t i = 0; i < KEYS; i++)
        suggestion_offer(&near, keys[i].word);
    const char *meant = suggestion_take(&near, word);
    return meant != NULL ? text_format("no key '%s'; did you mean '%s'?", word, meant)
                         : text_format("no key '%s'; 'help' lists them", word);
}

static char *press(struct drive *drive, const char *word, const char *rest, bool *quit)
{
    const struct key *key = find_key(word);
    if (key == NULL)
        return no_key(word);
    if (key->wants == NULL && *rest != '\0')
        return text_format("'%s' takes nothing behind it, found '%s'", word, rest);
    if (key->wants != NULL && key->wants[0] != '[' && *rest == '\0')
        return text_format("'%s' wants something behind it: %s %s", word, word, key->wants);
    *quit = key->press == press_quit;
    return key->press(drive, rest);
}

char *keypad_line(struct drive *drive, const char *line, int64_t now_us, bool *quit)
{
    static const char spaces[] = " \t\r";
    *quit = false;
    line += strspn(line, spaces);
    const size_t word_length = strcspn(line, spaces);
    if (word_length == 0)
        return NULL;
    char *word = text_format("%.*s", (int)word_length, line);
    char *rest = text_copy(line + word_length + strspn(line + word_length, spaces));
    for (size_t end = strlen(rest); end > 0 && strchr(spaces, rest[end - 1]) != NULL; end--)
        rest[end - 1] = '\0';
    drive_refresh(drive, now_us);
    char *answer = press(drive, word, rest, quit);
    drive_refresh(drive, now_us);
    free(word);
    free(rest);
    return answer;
}

void keypad_feed(struct keypad_input *input, const char *bytes, size_t count,
                 void (*line)(void *user, const char *text), void *user)
{
    for (size_t i = 0; i < count; i++) {
        if (bytes[i] == '\n') {
            input->text[input->count] = '\0';
            input->count = 0;
            line(user, input->text);
        } else if (input->count + 1 < sizeof input->text) {
            input->text[input->count++] = bytes[i];
        }
    }
}
