/* SPDX-License-Identifier: MIT */
/* Reading the command line by a table of options. */
#include "sim/options.h"

#include "files/suggest.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

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
    {"--help", NULL, "show this", take_help},
    {"--version", NULL, "show the version", take_version},
};
enum { ROWS = sizeof rows / sizeof *rows };

void options_help(FILE *file)
{
    (void)fputs("usage: asleft-sim --map MAP [--as SHEET] (--tcp HOST:PORT | --pty LINK) [--unit N]\n"
                "                  [--set PARAMETER=VALUE]...\n"
                "\n"
                "Plays one drive on a Modbus line: registers as the map lays them out, a motor that ramps, slips and\n"
                "draws current. When it is ready it prints one line, such as 'ready tcp 127.0.0.1:40001 unit 1'.\n"
                "\n",
                file);
    for (size_t i = 0; i < ROWS; i++) {
        const char *value = rows[i].value == NULL ? "" : rows[i].value;
        const int width = 24 - (int)strlen(rows[i].name);
        (void)fprintf(file, "  %s %-*s %s\n", rows[i].name, width, value, rows[i].help);
    }
    (void)fputs("\n"
                "Keypad on standard input, one answer a line: start, stop, frequency HZ, set NAME=VALUE, show NAME,\n"
                "trip, reset, help, quit. 'set' reaches every register, as if another hand had been at the drive.\n"
                "It ends on quit, SIGINT or SIGTERM; the end of standard input does not end it.\n"
                "\n"
                "Exit status: 0 ended as asked, 64 wrong use, 65 a file that cannot be used, 69 cannot listen.\n",
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

static bool check_whole(const struct options *options, struct error *error)
{
    if (options->map == NULL)
        return error_set(error, ERROR_USE, "--map MAP is needed");
    if ((options->tcp == NULL) == (options->pty == NULL))
        return error_set(error, ERROR_USE, "expected one of --tcp HOST:PORT and --pty LINK");
    if (options->unit_given && options->pty != NULL && (options->unit < 1 || options->unit > 247))
        return error_set(error, ERROR_USE, "--unit: %u is none of a serial line; expected 1 to 247", options->unit);
    return true;
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
    *options = (struct options){0};
}
