/* SPDX-License-Identifier: MIT */
/* Reading the command line by a table of options. */
#include "sim/options.h"

#include "files/suggest.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <inttypes.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { SLOWEST_BAUD = 110, FASTEST_BAUD = 4000000, LONGEST_TURNAROUND_MS = 60000 };

struct option_row {
    const char *name;  /* with its dashes */
    const char *value; /* what it takes, or NULL */
    const char *help;
    bool (*take)(struct options *options, const char *value, struct error *error);
};

static bool take_once(const char **slot, const char *value, struct error *error)
{
    if (*slot != NULL)
        return error_set(error, ERROR_USE, "given twice: '%s' and '%s'", *slot, value);
    *slot = value;
    return true;
}

static bool take_map(struct options *options, const char *value, struct error *error)
{
    return take_once(&options->map, value, error);
}

static bool take_sheet(struct options *options, const char *value, struct error *error)
{
    return take_once(&options->sheet, value, error);
}

/* A whole number from 0 to `highest`, in digits only. */
static bool read_whole(const char *text, unsigned highest, unsigned *number)
{
    double value = 0;
    double rounding = 0;
    if (text[strspn(text, "0123456789")] != '\0' || !number_parse(text, false, &value, &rounding, NULL) ||
        value > highest)
        return false;
    *number = (unsigned)value;
    return true;
}

/* HOST:PORT, :PORT or PORT; an IPv6 address in brackets. */
static bool take_tcp(struct options *options, const char *value, struct error *error)
{
    if (options->tcp != NULL)
        return error_set(error, ERROR_USE, "given twice, again as '%s'", value);
    options->tcp = text_copy(value);
    options->port = options->tcp;
    char *colon = strrchr(options->tcp, ':');
    if (colon != NULL) {
        char *host = options->tcp;
        *colon = '\0';
        options->port = colon + 1;
        if (host[0] == '[' && colon[-1] == ']') {
            colon[-1] = '\0';
            host++;
        } else if (strchr(host, ':') != NULL) {
            return error_set(error, ERROR_USE, "'%s': an IPv6 address stands in brackets, such as [::1]:502", value);
        }
        options->host = *host == '\0' ? NULL : host;
    }
    unsigned port = 0;
    return read_whole(options->port, UINT16_MAX, &port) ||
           error_set(error, ERROR_USE, "'%s' is no port; expected HOST:PORT with a port from 0 to 65535",
                     options->port);
}

static bool take_pty(struct options *options, const char *value, struct error *error)
{
    return take_once(&options->pty, value, error);
}

static bool take_unit(struct options *options, const char *value, struct error *error)
{
    if (options->unit_given)
        return error_set(error, ERROR_USE, "given twice");
    if (!read_whole(value, 255, &options->unit))
        return error_set(error, ERROR_USE, "'%s' is no unit number; expected 1 to 247, or 0 to 255 with --tcp", value);
    options->unit_given = true;
    return true;
}

/* A whole number from `lowest` on, once. */
static bool take_number(unsigned *slot, const char *value, unsigned lowest, unsigned highest, struct error *error)
{
    if (*slot != 0)
        return error_set(error, ERROR_USE, "given twice");
    return (read_whole(value, highest, slot) && *slot >= lowest) ||
           error_set(error, ERROR_USE, "'%s' is not expected; expected %u to %u", value, lowest, highest);
}

static bool take_drives(struct options *options, const char *value, struct error *error)
{
    return take_number(&options->drives, value, 1, 247, error);
}

static bool take_baud(struct options *options, const char *value, struct error *error)
{
    return take_number(&options->baud, value, SLOWEST_BAUD, FASTEST_BAUD, error);
}

static bool take_pace(struct options *options, const char *value, struct error *error)
{
    return take_number(&options->pace_baud, value, SLOWEST_BAUD, FASTEST_BAUD, error);
}

static bool take_stop_bits(struct options *options, const char *value, struct error *error)
{
    return take_number(&options->stop_bits, value, 1, 2, error);
}

static bool take_parity(struct options *options, const char *value, struct error *error)
{
    static const char *const words[] = {[PARITY_NONE] = "none", [PARITY_EVEN] = "even", [PARITY_ODD] = "odd"};
    options->parity_given = true;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(value, words[i]) == 0) {
            options->parity = (enum parity)i;
            return true;
        }
    return error_set(error, ERROR_USE, "'%s' is no parity; expected none, even or odd", value);
}

static bool take_turnaround(struct options *options, const char *value, struct error *error)
{
    double turnaround_ms = 0;
    double rounding = 0;
    if (!number_parse(value, false, &turnaround_ms, &rounding, NULL) || turnaround_ms < 0 ||
        turnaround_ms > LONGEST_TURNAROUND_MS)
        return error_set(error, ERROR_USE, "'%s' is no turnaround; expected milliseconds from 0 to %d", value,
                         LONGEST_TURNAROUND_MS);
    options->turnaround_given = true;
    options->turnaround_us = (int64_t)(turnaround_ms * 1000 + 0.5);
    return true;
}

static bool take_log(struct options *options, const char *value, struct error *error)
{
    return take_once(&options->log, value, error);
}

static bool take_writes(struct options *options, const char *value, struct error *error)
{
    return take_once(&options->writes, value, error);
}

static bool take_fault(struct options *options, const char *value, struct error *error)
{
    return line_faults_add(&options->faults, value, error);
}

static bool take_busy(struct options *options, const char *value, struct error *error)
{
    options->busy_given = true;
    options->ignores = strcmp(value, "ignore") == 0;
    return options->ignores || strcmp(value, "queue") == 0 ||
           error_set(error, ERROR_USE, "'%s' is no habit; expected queue or ignore", value);
}

static bool take_seed(struct options *options, const char *value, struct error *error)
{
    options->seed_given = true;
    return read_whole(value, UINT32_MAX, &options->seed) ||
           error_set(error, ERROR_USE, "'%s' is no seed; expected a whole number from 0 to %" PRIu32, value,
                     UINT32_MAX);
}

static bool take_set(struct options *options, const char *value, struct error *error)
{
    (void)error;
    options->set = memory_grow(options->set, options->set_count, sizeof *options->set);
    options->set[options->set_count++] = value;
    return true;
}

static bool take_help(struct options *options, const char *value, struct error *error)
{
    (void)value;
    (void)error;
    options->help = true;
    return true;
}

static bool take_version(struct options *options, const char *value, struct error *error)
{
    (void)value;
    (void)error;
    options->version = true;
    return true;
}

static const struct option_row rows[] = {
    {"--map", "MAP", "the register map of the drive (needed)", take_map},
    {"--as", "SHEET", "hold what this commissioning sheet asks for; without it, factory defaults", take_sheet},
    {"--tcp", "HOST:PORT", "serve Modbus TCP; HOST left out is loopback, port 0 lets the system choose", take_tcp},
    {"--pty", "LINK", "serve Modbus RTU on a pseudo-terminal that the symbolic link LINK leads to", take_pty},
    {"--unit", "N", "the drive's unit number; else the sheet's, else 1", take_unit},
    {"--set", "PARAMETER=VALUE", "hold this instead: 6.0 A, a bare number, a word, or raw 0x0258; repeatable",
     take_set},
    {"--drives", "N", "so many drives, on units one after the other; else one", take_drives},
    {"--baud", "N", "with --pty: hear only masters that have set this speed; else any", take_baud},
    {"--stop-bits", "1|2", "with --pty: hear only masters that have set these; with --pace: how long a character is",
     take_stop_bits},
    {"--parity", "none|even|odd", "with --pace: how long a character is; a pseudo-terminal shows no parity",
     take_parity},
    {"--pace", "BAUD", "answer no sooner than a wire of that speed lets; over TCP, as a gateway before it", take_pace},
    {"--turnaround", "MS", "let the drives think so long before each reply", take_turnaround},
    {"--log", "FILE", "a line for each request: when it came, when its reply was due, when it went", take_log},
    {"--writes", "FILE", "a line for each write that a drive took in, and what became of it", take_writes},
    {"--fault", "SPEC", "let something go wrong on the line, see below; repeatable", take_fault},
    {"--busy", "queue|ignore", "a request to a drive that owes a late reply waits (queue, as usual) or is lost",
     take_busy},
    {"--seed", "N", "of what happens by chance: equal seeds, equal faults; else it is chosen and printed", take_seed},
    {"--help", NULL, "show this", take_help},
    {"--version", NULL, "show the version", take_version},
};
enum { ROWS = sizeof rows / sizeof *rows };

void options_help(FILE *file)
{
    (void)fputs("usage: asleft-sim --map MAP [--as SHEET] (--tcp HOST:PORT | --pty LINK) [--unit N] [--drives N]\n"
                "                  [--set PARAMETER=VALUE]... [--baud N] [--stop-bits 1|2] [--parity none|even|odd]\n"
                "                  [--pace BAUD] [--turnaround MS] [--log FILE] [--fault SPEC]...\n"
                "                  [--busy queue|ignore] [--seed N]\n"
                "\n"
                "Plays drives on a Modbus line: registers as the map lays them out, a motor that ramps, slips and\n"
                "draws current. When it is ready it prints one line, such as 'ready tcp 127.0.0.1:40001 unit 1'.\n"
                "\n",
                file);
    for (size_t i = 0; i < ROWS; i++) {
        const char *value = rows[i].value == NULL ? "" : rows[i].value;
        const int width = 24 - (int)strlen(rows[i].name);
        (void)fprintf(file, "  %s %-*s %s\n", rows[i].name, width, value, rows[i].help);
    }
    (void)fputs(
        "\n"
        "SPEC is KIND[=ARGUMENT], then nothing (every request), :5% (by chance) or @7 (the seventh request):\n"
        "late=120ms:5%, cut@7, late=40ms-160ms:10%, exception=06:1%. One fault strikes a request at most. Kinds:\n",
        file);
    line_faults_help(file);
    (void)fputs(
        "With any of the options from --drives on, the drives know functions 08, 17 and 43/14 too, and at the end\n"
        "standard output shows what was asked, what was answered, and how often each fault struck.\n"
        "\n"
        "Keypad on standard input, one answer a line: start, stop, frequency HZ, set NAME=VALUE, show NAME,\n"
        "trip, reset, help, quit. 'set' reaches every register, as if another hand had been at the drive.\n"
        "Of several drives the first is meant, or the one whose unit begins the line: 5 stop\n"
        "It ends on quit, SIGINT or SIGTERM; the end of standard input does not end it.\n"
        "\n"
        "Exit status: 0 ended as asked, 64 wrong use, 65 a file that cannot be used, 69 cannot listen,\n"
        "74 the log cannot be written.\n",
        file);
}

static const struct option_row *find_row(const char *name, size_t length)
{
    for (size_t i = 0; i < ROWS; i++)
        if (strlen(rows[i].name) == length && strncmp(rows[i].name, name, length) == 0)
            return &rows[i];
    return NULL;
}

static bool unknown(const char *argument, size_t length, struct error *error)
{
    char *name = text_format("%.*s", (int)length, argument);
    struct suggestion near = {0};
    for (size_t i = 0; i < ROWS; i++)
        suggestion_offer(&near, rows[i].name);
    const char *meant = suggestion_take(&near, name);
    if (name[0] != '-')
        error_set(error, ERROR_USE, "'%s' is not expected here; options begin with --", name);
    else if (meant != NULL)
        error_set(error, ERROR_USE, "no option '%s'; did you mean '%s'?", name, meant);
    else
        error_set(error, ERROR_USE, "no option '%s'; options are spelled in full, see --help", name);
    free(name);
    return false;
}

bool options_want_frame_loop(const struct options *options)
{
    return options->drives != 0 || options->baud != 0 || options->stop_bits != 0 || options->pace_baud != 0 ||
           options->turnaround_given || options->log != NULL || options->faults.count > 0;
}

unsigned options_character_bits(const struct options *options)
{
    enum { START_AND_DATA = 9, STANDARD = 11 };
    if (!options->parity_given)
        return STANDARD; /* whose missing parity makes a second stop bit */
    const unsigned parity = options->parity == PARITY_NONE ? 0 : 1;
    const unsigned usual_stop_bits = parity == 0 ? 2 : 1;
    return START_AND_DATA + parity + (options->stop_bits != 0 ? options->stop_bits : usual_stop_bits);
}

/* What is given and does nothing is a mistake. */
static bool check_use(const struct options *options, struct error *error)
{
    const bool serial = options->pty != NULL;
    const bool paced = options->pace_baud != 0;
    const struct {
        bool wrong;
        const char *what;
    } rules[] = {
        {options->baud != 0 && !serial, "--baud is for --pty: a TCP connection has no speed; wire time is --pace"},
        {options->stop_bits != 0 && !serial && !paced, "--stop-bits is for --pty, or for --pace"},
        {options->parity_given && !paced, "--parity is for --pace: a pseudo-terminal shows nobody's parity"},
        {paced && options->baud != 0 && options->baud != options->pace_baud,
         "--pace and --baud differ: a line has one speed"},
        {options->busy_given && !line_faults_have(&options->faults, FAULT_LATE), "--busy is for --fault late"},
        {options->seed_given && options->faults.count == 0, "--seed is for --fault"},
        {serial && line_faults_have(&options->faults, FAULT_GATEWAY), "--fault gateway is for --tcp"},
    };
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++)
        if (rules[i].wrong)
            return error_set(error, ERROR_USE, "%s", rules[i].what);
    return true;
}

static bool check_whole(const struct options *options, struct error *error)
{
    if (options->map == NULL)
        return error_set(error, ERROR_USE, "--map MAP is needed");
    if ((options->tcp == NULL) == (options->pty == NULL))
        return error_set(error, ERROR_USE, "expected one of --tcp HOST:PORT and --pty LINK");
    if (options->unit_given && options->pty != NULL && (options->unit < 1 || options->unit > 247))
        return error_set(error, ERROR_USE, "--unit: %u is none of a serial line; expected 1 to 247", options->unit);
    return check_use(options, error);
}

bool options_read(int count, char *const *arguments, struct options *options, struct error *error)
{
    *options = (struct options){0};
    for (int i = 0; i < count; i++) {
        const char *argument = arguments[i];
        const size_t length = strcspn(argument, "=");
        const struct option_row *row = find_row(argument, length);
        const char *value = argument[length] == '=' ? argument + length + 1 : NULL;
        if (row == NULL)
            return unknown(argument, length, error);
        if (row->value == NULL && value != NULL)
            return error_set(error, ERROR_USE, "%s takes no value, found '%s'", row->name, value);
        if (row->value != NULL && value == NULL) {
            if (i + 1 == count)
                return error_set(error, ERROR_USE, "%s wants a value: %s %s", row->name, row->name, row->value);
            value = arguments[++i];
        }
        if (!row->take(options, value, error))
            return error_context(error, "%s", row->name);
        if (options->help || options->version)
            return true;
    }
    return check_whole(options, error);
}

void options_free(struct options *options)
{
    free(options->tcp);
    free(options->set);
    line_faults_free(&options->faults);
    *options = (struct options){0};
}
