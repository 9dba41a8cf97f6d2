/* SPDX-License-Identifier: MIT */
/* The table of commands, help, and the program's version. */
#include "command/command.h"

#include "command/commands.h"
#include "command/output.h"
#include "command/trouble.h"
#include "types/nearest.h"

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct command_row {
    const char *name;
    const char *operands;
    size_t least_operands;
    unsigned groups;
    int (*run)(const struct options *options);
    const char *summary;
    const char *more;
};

static const struct command_row commands[] = {
    {"proofread", "FILE...", 1, OPTIONS_RESULT, command_proofread, "check maps, sheets and plants without a drive",
     "Lists every error of each file with its line and column, what contradicts itself\n"
     "on a sheet's nameplate, and what a map leaves open. A plant's sheets are checked\n"
     "along.\n"
     "Exit status: 0 usable, 1 a sheet is implausible, 65 a file cannot be used.\n"},
    {"setpoints", "SHEET...", 1, OPTIONS_RESULT, command_setpoints, "what nameplate and job ask of the drive",
     "Computes what the nameplate and the job ask of the drive, without the drive:\n"
     "each setpoint, the band it may lie in, and where it comes from.\n"
     "Exit status: 0, 1 the sheet is implausible, 65 a file cannot be used.\n"},
    {"find", "", 0, OPTIONS_RESULT | OPTIONS_FIND, command_find, "search a line for drives",
     "Searches a serial line (speeds, parities, units) or the units behind a host, the\n"
     "likeliest first, and says what each answer means. It asks for one register and\n"
     "changes nothing; what is given of the line narrows the search. At each speed it\n"
     "listens first, and stops where another master speaks.\n"
     "Before you search a running plant: a drive with an armed network watchdog takes\n"
     "our questions for its master's, and may trip when they end. Ask who owns it.\n"
     "Exit status: 0 found, 2 none, 69 the port or host did not open, 74 the result\n"
     "could not be written, 75 the line is in use or another master speaks.\n"},
    {"read", "SHEET [PARAMETER...]", 1, OPTIONS_RESULT | OPTIONS_LINE | OPTIONS_PASSES | OPTIONS_STORE, command_read,
     "the drive's values now",
     "Reads all parameters of the map, or those that are named, and changes nothing.\n"
     "Exit status: 0 all read, 2 not all, 65 a file cannot be used, 69 no contact,\n"
     "75 the line is in use.\n"},
    {"verify", "SHEET...", 1, OPTIONS_VERDICTS | OPTIONS_LINE | OPTIONS_QUIET | OPTIONS_STORE, command_verify,
     "compare the drive with its setpoints",
     "Reads the drive, compares it with what the nameplate and the job ask for, and\n"
     "changes nothing. What differs is read twice before it is reported.\n"
     "Exit status: 0 agrees, 1 differs, 2 not everything could be read or nothing was\n"
     "compared, 65 a file cannot be used, 69 no contact, 74 the result could not be\n"
     "written, 75 the line is in use.\n"},
    {"record", "SHEET...", 1, OPTIONS_RESULT | OPTIONS_LINE | OPTIONS_STORE | OPTIONS_RECORD, command_record,
     "keep all values, as found or as left",
     "Reads all parameters of the map, keeps them in the store, and says what changed\n"
     "since the last record of that kind. It changes nothing in the drive. After the\n"
     "power was off, --as left --after-power-cycle says whether everything was kept.\n"
     "Exit status: 0 all read and kept, 1 not kept through the power cycle, 2 not all\n"
     "read (what was is kept), 65 a file cannot be used, 69 no contact, or the store\n"
     "cannot be used, 74 the result could not be written, 75 the line is in use.\n"},
    {"write", "SHEET", 1, OPTIONS_RESULT | OPTIONS_LINE | OPTIONS_STORE | OPTIONS_CONFIRM, command_write,
     "show changes; make them if confirmed",
     "Reads the drive and shows each change that its setpoints ask for, and why the\n"
     "list is refused if it is. It writes only with the code that it shows, to a drive\n"
     "that is proved stopped and has not changed since; on a terminal it asks for the\n"
     "drive's tag instead. What is there is kept in the store first. No write is\n"
     "repeated.\n"
     "A stopped drive is not isolated. A changed setting can move a machine later.\n"
     "Exit status: 0 nothing to change, or all was written and kept, 1 changes are\n"
     "pending, refused or not kept, or the code is wrong, 2 not everything could be\n"
     "read, or an outcome is unknown, 65 a file cannot be used, 69 no contact, or the\n"
     "store cannot be used, 74 the result could not be written, 75 the line is in use.\n"},
    {"restore", "SHEET RECORD", 2, OPTIONS_RESULT | OPTIONS_LINE | OPTIONS_STORE | OPTIONS_CONFIRM | OPTIONS_RESTORE,
     command_restore, "the same with the values of a record",
     "As write, with the values of a record instead of setpoints. RECORD is the first\n"
     "8 or more digits of its id; or found, left, before-write or after-write for the\n"
     "last of that kind; or a file that record --export has written.\n"
     "Exit status: as write.\n"},
    {"witness", "SHEET", 1, OPTIONS_VERDICTS | OPTIONS_LINE | OPTIONS_STORE | OPTIONS_WITNESS, command_witness,
     "watch a run that is started at the drive",
     "Samples the drive while somebody starts the motor at the drive and stops it\n"
     "again, and measures ramps, V/f, slip, currents and bus voltage. It starts\n"
     "nothing, and changes nothing. It ends by itself after the stop or a trip, and\n"
     "keeps the samples in the store; --from judges such samples again.\n"
     "Before you start the motor: people and tools clear, guards on, somebody at the\n"
     "emergency stop.\n"
     "Exit status: 0 all agree, 1 differs, 2 not everything could be read, nothing\n"
     "was compared, or no run was seen, 65 a file cannot be used, 69 no contact, or\n"
     "the store cannot be used, 74 the result could not be written, 75 the line is in\n"
     "use.\n"},
    {"accept", "SHEET...", 1, OPTIONS_VERDICTS | OPTIONS_LINE | OPTIONS_STORE | OPTIONS_ACCEPT, command_accept,
     "the document to hand over",
     "Reads the drive, compares it with its setpoints, and writes one document with that,\n"
     "the records as found and as left, the last witnessed run, what is checked by hand,\n"
     "and everything that is open. It changes nothing. HTML unless --format says\n"
     "otherwise; of several sheets one file with a cover. --check FILE tries a document.\n"
     "Exit status: 0 nothing is open, 1 something differs, 2 something is open, 65 a file\n"
     "cannot be used, 69 no contact or no store, 74 the result could not be written,\n"
     "75 the line is in use. --check: 0 whole and known to the store, 1 altered, 2 whole\n"
     "and not known, 65 no such document.\n"},
    {"history", "[TAG]", 0, OPTIONS_RESULT | OPTIONS_STORE | OPTIONS_HISTORY, command_history,
     "which records are kept, and what changed",
     "Lists the records of a drive, or of all, and when which value changed from what\n"
     "to what. What flows or runs just now is told only by --parameter. It asks no\n"
     "drive.\n"
     "Exit status: 0, 64 no such drive, 69 there is no store or it cannot be used, 74\n"
     "the result could not be written.\n"},
};
enum { COMMANDS = sizeof commands / sizeof *commands };

static const struct command_row *find_command(const char *name)
{
    for (size_t i = 0; i < COMMANDS; i++)
        if (strcmp(commands[i].name, name) == 0)
            return &commands[i];
    return NULL;
}

static void print_help(void)
{
    (void)fputs("usage: asleft COMMAND [OPTION...] FILE...\n\n"
                "Proves that a variable-frequency drive agrees with the motor bolted to it.\n\n",
                stdout);
    for (size_t i = 0; i < COMMANDS; i++)
        (void)printf("  %-10s %-21s %s\n", commands[i].name, commands[i].operands, commands[i].summary);
    (void)fputs("\nasleft COMMAND --help tells more; asleft --version tells which one this is.\n"
                "A drive that can be read is not isolated: before touching wires follow the\n"
                "lock-out rules of your site, wait as the drive's label says, and measure.\n",
                stdout);
}

static void print_command_help(const struct command_row *command)
{
    char *options = options_help(command->groups);
    (void)printf("usage: asleft %s [OPTION...]%s%s\n\n%s\n%s", command->name, command->operands[0] == '\0' ? "" : " ",
                 command->operands, command->more, options);
    free(options);
}

static int wrong_use(const char *before, const char *word, const char *after)
{
    struct error error = {0};
    error_set(&error, ERROR_USE, "%s%s%s", before, word, after);
    return (int)trouble(&error);
}

static int unknown_command(const char *name)
{
    const char *names[COMMANDS];
    for (size_t i = 0; i < COMMANDS; i++)
        names[i] = commands[i].name;
    const char *near = nearest(name, names, COMMANDS);
    struct error error = {0};
    if (near != NULL)
        error_set(&error, ERROR_USE, "no command '%s'; did you mean %s", name, near);
    else
        error_set(&error, ERROR_USE, "no command '%s'; asleft --help lists them", name);
    return (int)trouble(&error);
}

/* Help and version go to standard output, and are a result like others. */
static int told(void)
{
    if (fflush(stdout) == 0 && ferror(stdout) == 0)
        return STATUS_AGREES;
    struct error error = {0};
    error_set(&error, ERROR_OUTPUT, "standard output could not be written");
    return (int)trouble(&error);
}

static int run_command(const struct command_row *command, const struct options *options)
{
    if (options->help) {
        print_command_help(command);
        return told();
    }
    if (options->operand_count < command->least_operands)
        return wrong_use("a file is missing; asleft ", command->name, " --help tells which");
    return command->run(options);
}

int command_main(int count, char **arguments)
{
    (void)setlocale(LC_CTYPE, ""); /* and no more: numbers have a decimal point everywhere */
    if (count < 2)
        return wrong_use("a command is missing; asleft --help lists them", "", "");
    if (strcmp(arguments[1], "--help") == 0) {
        print_help();
        return told();
    }
    if (strcmp(arguments[1], "--version") == 0) {
        (void)puts("asleft " ASLEFT_VERSION);
        return told();
    }
    if (arguments[1][0] == '-')
        return wrong_use("no option '", arguments[1], "' before a command; asleft --help lists the commands");

    const struct command_row *command = find_command(arguments[1]);
    if (command == NULL)
        return unknown_command(arguments[1]);
    struct options options;
    struct error error = {0};
    int status = options_read(count - 2, arguments + 2, command->groups, &options, &error)
                     ? run_command(command, &options)
                     : (int)trouble(&error);
    options_free(&options);
    return status;
}
