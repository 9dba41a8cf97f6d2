/* SPDX-License-Identifier: MIT */
/* Command lines and environments that come near to a confirmation, and are none; drawn by dice. */
#ifndef ASLEFT_TESTS_COMMAND_UNCONFIRMED_CALLS_H
#define ASLEFT_TESTS_COMMAND_UNCONFIRMED_CALLS_H

#include "bus/faulty_drive.h"
#include "types/memory.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CODE = 10, OTHER_CODES = 16 };

/* All names are relative: a mangled call takes any of them, or its beginning, for a file to write to, and that must not
 * lie anywhere but in the test's own folder. */
#define SHEET       "W-1.yaml"
#define OTHER_SHEET "W-2.yaml"
#define MAP         "writable.yaml"
#define RECORD      "left.yaml"
#define STORE       "records.sqlite"

/* What they are made of. */
struct material {
    char port[8], other_port[8];
    char right[CODE], right_restore[CODE]; /* the codes that count at this moment */
    char others[OTHER_CODES][CODE];        /* of other lists, drives, lines and times */
    size_t other_count;
};

static inline void add(struct texts *arguments, const char *word)
{
    texts_add(arguments, text_copy(word));
}

/* asleft COMMAND SHEET [RECORD] --port P --store S [OPTION VALUE] */
static inline struct texts plain_call(const char *command, const char *sheet, const char *record, const char *port)
{
    struct texts arguments = {0};
    add(&arguments, "asleft");
    add(&arguments, command);
    add(&arguments, sheet);
    if (record != NULL)
        add(&arguments, record);
    add(&arguments, "--port");
    add(&arguments, port);
    add(&arguments, "--store");
    add(&arguments, STORE);
    return arguments;
}

#define PICK(dice, words) (words)[roll(dice, sizeof(words) / sizeof *(words))]

/* Never the right one, nor another spelling of it. */
static inline char *wrong_code(const struct material *with, struct dice *dice)
{
    static const char letters[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    static const char *const words[] = {"yes", "YES",       "y",    "1",  "true",   "W-1",     "all",
                                        "0",   "confirm",   "*",    "-",  "--",     " ",       "",
                                        "0x1", "0000-0000", "null", "on", "latest", "........"};
    const char *right = roll(dice, 2) ? with->right : with->right_restore;
    size_t at = roll(dice, CODE - 2);
    at += at >= 4; /* not the dash */
    char code[2 * CODE];
    (void)snprintf(code, sizeof code, "%s", right);
    switch (roll(dice, 9)) {
    case 0:
        return text_copy(PICK(dice, words));
    case 1: /* one digit is another */
        code[at] = letters[(strchr(letters, code[at]) - letters + 1 + (ptrdiff_t)roll(dice, 31)) % 32];
        return text_copy(code);
    case 2: /* too short */
        code[at] = '\0';
        return text_copy(code);
    case 3:
        return text_format("%s%c", right, letters[roll(dice, 32)]);
    case 4:
        return text_format(roll(dice, 2) ? " %s" : "%s ", right);
    case 5: /* the dash elsewhere */
        return text_format("%.3s-%c%s", right, right[3], right + 5);
    case 6:
        return text_format("%s%s", right, right);
    case 7:
        return text_copy(with->others[roll(dice, (unsigned)with->other_count)]);
    default:
        for (size_t i = 0; i < CODE - 1; i++)
            code[i] = i == 4 ? '-' : letters[roll(dice, 32)];
        return text_copy(code);
    }
}

/* An option that is not --confirm but looks as if it might be taken for it. */
static const char *near_miss(struct dice *dice)
{
    static const char *const names[] = {
        "--confir",    "--conf",       "--c",         "--Confirm",    "--CONFIRM",         "-confirm",
        "--confirm ",  " --confirm",   "--confirmed", "--confirms",   "--confirm-",        "---confirm",
        "--comfirm",   "--no-confirm", "--yes",       "-y",           "--force",           "-f",
        "--apply",     "--write",      "--code",      "--assume-yes", "--non-interactive", "--batch",
        "--really",    "--i-know",     "-c",          "--tag",        "confirm",           "\342\200\224confirm",
        "--confirm\t", "--answer",     "--auto",      "--dry-run",    "confirm:"};
    return PICK(dice, names);
}

/* The right code, where it must not count. True where the call reads unit 0. */
static inline bool add_right_code_in_vain(const struct material *with, struct dice *dice, struct texts *arguments)
{
    const char *code = strcmp(arguments->items[1], "restore") == 0 ? with->right_restore : with->right;
    switch (roll(dice, 10)) {
    case 0: /* another option's name */
        texts_add(arguments, text_format("%s=%s", near_miss(dice), code));
        return false;
    case 1:
        add(arguments, near_miss(dice));
        add(arguments, code);
        return false;
    case 2: /* behind the end of options */
        add(arguments, "--");
        add(arguments, "--confirm");
        add(arguments, code);
        return false;
    case 3: /* twice */
        for (int i = 0; i < 2; i++)
            texts_add(arguments, text_format("--confirm=%s", code));
        return false;
    case 4: /* with help */
        texts_add(arguments, text_format("--confirm=%s", code));
        add(arguments, "--help");
        return false;
    case 5: /* for another unit, 0 among them: it answers all the same */
    {
        unsigned unit = roll(dice, 6);
        unit += unit >= 4;
        texts_add(arguments, text_format("--unit=%u", unit));
        texts_add(arguments, text_format("--confirm=%s", code));
        return unit == 0;
    }
    case 6: /* the same drive by another name */
        add(arguments, "--host=localhost");
        texts_add(arguments, text_format("--confirm=%s", code));
        return false;
    case 7: /* a result that cannot be kept */
        add(arguments, "--output=missing/result");
        texts_add(arguments, text_format("--confirm=%s", code));
        return false;
    case 8: /* one file too many */
        add(arguments, SHEET);
        add(arguments, "left");
        texts_add(arguments, text_format("--confirm=%s", code));
        return false;
    default: /* not where the option's value is expected */
        add(arguments, code);
        return false;
    }
}

/* No interval stands behind --every: with one, a reading would go on for ever. */
static inline void add_anything(struct dice *dice, struct texts *arguments)
{
    static const char *const words[] = {"--format=json",
                                        "--format",
                                        "json",
                                        "--color=always",
                                        "--quiet",
                                        "--help",
                                        "--version",
                                        "--as",
                                        "found",
                                        "--as=left",
                                        "--passes=2",
                                        "--every",
                                        "--export",
                                        "--replacement",
                                        "SN-A",
                                        "--trace",
                                        "null",
                                        "--since",
                                        "2026-01-31",
                                        "--parameter",
                                        "motor_current",
                                        "--unit=4",
                                        "--unit=5",
                                        "--baud=9600",
                                        "--parity=odd",
                                        "--stop-bits=2",
                                        "--after-power-cycle",
                                        "--",
                                        "-",
                                        "",
                                        "W-1",
                                        "--format=html",
                                        "--store=",
                                        "--port=1",
                                        "yes"};
    add(arguments, PICK(dice, words));
}

/* Words left out, doubled, exchanged or cut. */
static inline void mangle(const struct material *with, struct dice *dice, struct texts *arguments)
{
    size_t at = 1 + roll(dice, (unsigned)arguments->count - 1), other = 1 + roll(dice, (unsigned)arguments->count - 1);
    char *word = arguments->items[at];
    switch (roll(dice, 4)) {
    case 0: /* the last one takes its place */
        arguments->items[at] = arguments->items[--arguments->count];
        free(word);
        break;
    case 1:
        add(arguments, word);
        break;
    case 2:
        arguments->items[at] = arguments->items[other];
        arguments->items[other] = word;
        break;
    default: /* too long a code must not become right */
        if (strstr(word, with->right) == NULL && strstr(word, with->right_restore) == NULL)
            word[roll(dice, (unsigned)strlen(word) + 1)] = '\0';
        break;
    }
}

struct trial {
    struct texts arguments;
    char *variables[3]; /* of the environment, set for this call */
    bool reads_unit_0;
    bool has_right_code; /* not to be mangled, which could make a call that counts */
};

static inline void choose_variables(const struct material *with, struct dice *dice, struct trial *trial)
{
    static const char *const names[] = {"ASLEFT_CONFIRM",
                                        "ASLEFT_YES",
                                        "ASLEFT_CODE",
                                        "ASLEFT_FORCE",
                                        "ASLEFT_WRITE",
                                        "ASLEFT_OPTIONS",
                                        "ASLEFT",
                                        "ASLEFT_TAG",
                                        "ASLEFT_ASSUME",
                                        "CONFIRM",
                                        "YES",
                                        "FORCE",
                                        "CODE",
                                        "ASSUME_YES",
                                        "CI",
                                        "DEBIAN_FRONTEND",
                                        "BATCH",
                                        "NONINTERACTIVE",
                                        "AUTO_APPROVE",
                                        "confirm",
                                        "POSIXLY_CORRECT",
                                        "TERM",
                                        "NO_COLOR",
                                        "COLUMNS"};
    for (size_t i = 0; i < sizeof trial->variables / sizeof *trial->variables; i++) {
        const char *const values[] = {with->right, with->right_restore, "yes", "1", "W-1", "true", "--confirm", "all"};
        if (roll(dice, 2)) {
            trial->variables[i] = text_copy(PICK(dice, names));
            (void)setenv(trial->variables[i], PICK(dice, values), 1);
        }
    }
}

/* What stands for a confirmation, and is none. */
static inline void add_confirmation(const struct material *with, struct dice *dice, struct trial *trial)
{
    struct texts *arguments = &trial->arguments;
    unsigned kind = roll(dice, 10);
    if (kind < 6) {
        char *code = wrong_code(with, dice);
        if (roll(dice, 2)) {
            add(arguments, "--confirm");
            add(arguments, code);
        } else {
            texts_add(arguments, text_format("--confirm=%s", code));
        }
        free(code);
    } else if (kind < 8) {
        trial->reads_unit_0 = add_right_code_in_vain(with, dice, arguments);
        trial->has_right_code = true;
    } else if (kind < 9) {
        add(arguments, roll(dice, 2) ? near_miss(dice) : "--confirm");
    }
}

static inline struct trial trial_for(const struct material *with, struct dice *dice)
{
    static const char *const commands[] = {"write",     "write",     "write",   "write",     "write",  "write",
                                           "restore",   "restore",   "restore", "restore",   "verify", "read",
                                           "record",    "history",   "Write",   "writ",      "WRITE",  "writes",
                                           "proofread", "setpoints", "--write", "commission"};
    static const char *const records[] = {"left",     "found",       "before-write", "after-write",
                                          "00000000", "./left.yaml", "W-1"};
    struct trial trial = {0};
    const char *command = commands[roll(dice, roll(dice, 3) ? 10 : sizeof commands / sizeof *commands)];
    const char *record = roll(dice, 3) ? RECORD : PICK(dice, records);
    const char *sheet = roll(dice, 20) == 0 ? OTHER_SHEET : SHEET;
    const char *port = roll(dice, 20) == 0 ? with->other_port : with->port;
    trial.arguments = plain_call(command, sheet, strcmp(command, "restore") == 0 ? record : NULL, port);
    add_confirmation(with, dice, &trial);
    if (!trial.has_right_code && roll(dice, 4) == 0)
        add_anything(dice, &trial.arguments);
    if (!trial.has_right_code && roll(dice, 5) == 0)
        mangle(with, dice, &trial.arguments);
    choose_variables(with, dice, &trial);
    return trial;
}

static inline void trial_free(struct trial *trial)
{
    for (size_t i = 0; i < sizeof trial->variables / sizeof *trial->variables; i++) {
        if (trial->variables[i] != NULL)
            (void)unsetenv(trial->variables[i]);
        free(trial->variables[i]);
    }
    texts_free(&trial->arguments);
}

#endif
