/* SPDX-License-Identifier: MIT */
/* Options of the commands: spelled in full, read by one table. */
#include "command/options.h"

#include "command/since.h"
#include "motor/quantity.h"
#include "types/memory.h"
#include "types/nearest.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef bool (*option_reader)(struct options *options, const char *value, struct error *error);

struct option_row {
    const char *name;
    const char *value; /* what it takes, for the help; NULL: nothing */
    unsigned group;
    option_reader read;
    const char *help;
};

enum { AGAIN = 1 << 30 }; /* in a row's group: it may be given more than once */

static bool whole_number(const char *value, double least, double most, unsigned *number)
{
    double parsed, rounding;
    if (!number_parse(value, false, &parsed, &rounding, NULL) || parsed != floor(parsed) || parsed < least ||
        parsed > most)
        return false;
    *number = (unsigned)parsed;
    return true;
}

static bool read_format(struct options *options, const char *value, struct error *error)
{
    options->format = sink_format_find(value);
    options->format_given = true;
    if (options->format == NULL)
        return error_set(error, ERROR_USE, "--format '%s': one of " SINK_FORMATS " is due", value);
    if (options->format->verdicts_only)
        return error_set(error, ERROR_USE,
                         "--format %s is of verdicts, and this command gives none; one of " SINK_FORMATS " is due",
                         value);
    return true;
}

static bool read_any_format(struct options *options, const char *value, struct error *error)
{
    options->format_given = true;
    options->format = sink_format_find(value);
    return options->format != NULL ||
           error_set(error, ERROR_USE, "--format '%s': one of " SINK_FORMATS_OF_VERDICTS " is due", value);
}

static bool read_output(struct options *options, const char *value, struct error *error)
{
    options->output = value;
    return value[0] != '\0' || error_set(error, ERROR_USE, "--output '': a file's name is due");
}

static bool read_color(struct options *options, const char *value, struct error *error)
{
    static const char *const words[] = {[COLOR_AUTO] = "auto", [COLOR_ALWAYS] = "always", [COLOR_NEVER] = "never"};
    for (enum color color = COLOR_AUTO; color <= COLOR_NEVER; color++)
        if (strcmp(value, words[color]) == 0) {
            options->color = color;
            return true;
        }
    return error_set(error, ERROR_USE, "--color '%s': auto, always or never is due", value);
}

static bool read_quiet(struct options *options, const char *value, struct error *error)
{
    (void)value;
    (void)error;
    options->quiet = true;
    return true;
}

static bool read_check(struct options *options, const char *value, struct error *error)
{
    (void)value;
    (void)error;
    options->check = true;
    return true;
}

static bool read_help(struct options *options, const char *value, struct error *error)
{
    (void)value;
    (void)error;
    options->help = true;
    return true;
}

/* "1s" as well as "1 s": on a command line a space costs quotes. */
static bool take_time(const char *value, double least_s, double most_s, double *time_s)
{
    size_t digits = strspn(value, "0123456789.");
    char *spaced = text_format("%.*s %s", (int)digits, value, value + digits + strspn(value + digits, " "));
    struct quantity quantity;
    bool read = quantity_parse(spaced, DIMENSION_TIME, &quantity, NULL);
    free(spaced);
    *time_s = read ? quantity_base(&quantity) : 0;
    return read && *time_s >= least_s && *time_s <= most_s;
}

static bool read_every(struct options *options, const char *value, struct error *error)
{
    if (take_time(value, 0.01, 86400, &options->every_s))
        return true;
    return error_set(error, ERROR_USE, "--every '%s': a time from 10 ms to 24 h is due, such as 1s", value);
}

static bool read_passes(struct options *options, const char *value, struct error *error)
{
    return whole_number(value, 1, 1e9, &options->passes) ||
           error_set(error, ERROR_USE, "--passes '%s': a whole number from 1 is due", value);
}

static bool read_serial(struct options *options, const char *value, struct error *error)
{
    options->line.serial = (char *)value;
    return value[0] != '\0' || error_set(error, ERROR_USE, "--serial '': a port such as /dev/ttyUSB0 is due");
}

static bool read_host(struct options *options, const char *value, struct error *error)
{
    options->hosts = memory_grow(options->hosts, options->host_count, sizeof *options->hosts);
    options->hosts[options->host_count++] = value;
    options->line.host = (char *)value;
    return value[0] != '\0' || error_set(error, ERROR_USE, "--host '': a name or address is due");
}

static bool read_port(struct options *options, const char *value, struct error *error)
{
    options->port_given = true;
    return whole_number(value, 1, 65535, &options->line.port) ||
           error_set(error, ERROR_USE, "--port '%s': a number from 1 to 65535 is due", value);
}

static bool read_unit(struct options *options, const char *value, struct error *error)
{
    options->line.unit_given = true;
    return whole_number(value, 0, 255, &options->line.unit) ||
           error_set(error, ERROR_USE, "--unit '%s': 1 to 247 on a serial line, 0 to 255 on TCP is due", value);
}

static bool read_baud(struct options *options, const char *value, struct error *error)
{
    options->baud_given = true;
    return whole_number(value, 1, 4e6, &options->line.baud) ||
           error_set(error, ERROR_USE, "--baud '%s': a speed such as 9600 or 19200 is due", value);
}

static bool read_parity(struct options *options, const char *value, struct error *error)
{
    static const char *const words[] = {[PARITY_NONE] = "none", [PARITY_EVEN] = "even", [PARITY_ODD] = "odd"};
    for (enum parity parity = PARITY_NONE; parity <= PARITY_ODD; parity++)
        if (strcmp(value, words[parity]) == 0) {
            options->line.parity = parity;
            options->parity_given = true;
            return true;
        }
    return error_set(error, ERROR_USE, "--parity '%s': none, even or odd is due", value);
}

static bool read_stop_bits(struct options *options, const char *value, struct error *error)
{
    options->stop_bits_given = true;
    return whole_number(value, 1, 2, &options->line.stop_bits) ||
           error_set(error, ERROR_USE, "--stop-bits '%s': 1 or 2 is due", value);
}

static bool read_trace(struct options *options, const char *value, struct error *error)
{
    options->trace = value;
    return value[0] != '\0' || error_set(error, ERROR_USE, "--trace '': a file's name is due");
}

/* A text that may not be empty goes to `place`. */
static bool take_text(const char **place, const char *value, const char *option, const char *due, struct error *error)
{
    *place = value;
    return value[0] != '\0' || error_set(error, ERROR_USE, "--%s '': %s is due", option, due);
}

static bool read_store(struct options *options, const char *value, struct error *error)
{
    return take_text(&options->store, value, "store", "where records are kept", error);
}

static bool read_as(struct options *options, const char *value, struct error *error)
{
    options->as_given =
        record_kind_find(value, &options->as) && (options->as == RECORD_FOUND || options->as == RECORD_LEFT);
    return options->as_given || error_set(error, ERROR_USE, "--as '%s': found or left is due", value);
}

static bool read_after_power_cycle(struct options *options, const char *value, struct error *error)
{
    (void)value;
    (void)error;
    options->after_power_cycle = true;
    return true;
}

static bool read_export(struct options *options, const char *value, struct error *error)
{
    return take_text(&options->export_to, value, "export", "a file's name", error);
}

static bool read_confirm(struct options *options, const char *value, struct error *error)
{
    return take_text(&options->confirm, value, "confirm", "the code that was shown with the list", error);
}

static bool read_replacement(struct options *options, const char *value, struct error *error)
{
    return take_text(&options->replacement, value, "replacement", "the serial number of the drive that is there now",
                     error);
}

static bool read_parameter(struct options *options, const char *value, struct error *error)
{
    return take_text(&options->parameter, value, "parameter", "a parameter's name", error);
}

static bool read_since(struct options *options, const char *value, struct error *error)
{
    return since_parse(value, &options->since_ms) ||
           error_set(error, ERROR_USE,
                     "--since '%s': a date such as 2026-01-31 or a time in UTC such as "
                     "2026-01-31T08:00:00Z is due",
                     value);
}

static bool read_from(struct options *options, const char *value, struct error *error)
{
    return take_text(&options->from, value, "from", "a record's id, or witnessed for the last run", error);
}

static bool read_most(struct options *options, const char *value, struct error *error)
{
    return take_time(value, 1, 86400, &options->most_s) ||
           error_set(error, ERROR_USE, "--most '%s': a time from 1 s to 24 h is due, such as 5min", value);
}

static const struct option_row rows[] = {
    {"format", SINK_FORMATS, OPTIONS_RESULT, read_format, "how the result is written (text)"},
    {"format", SINK_FORMATS_OF_VERDICTS, OPTIONS_VERDICTS, read_any_format, "how the result is written (text)"},
    {"output", "FILE", OPTIONS_RESULT | OPTIONS_VERDICTS, read_output, "write the result there, whole or not at all"},
    {"color", "auto|always|never", OPTIONS_RESULT | OPTIONS_VERDICTS, read_color, "colour of a text result (auto)"},
    {"quiet", NULL, OPTIONS_QUIET, read_quiet, "nothing of drives that agree, one line of others"},
    {"every", "TIME", OPTIONS_PASSES, read_every, "read again at this interval until interrupted"},
    {"passes", "N", OPTIONS_PASSES, read_passes, "read N times"},
    {"serial", "PORT", OPTIONS_LINE, read_serial, "serial port instead of the sheet's line"},
    {"host", "HOST", OPTIONS_LINE, read_host, "Modbus TCP host instead of the sheet's line"},
    {"serial", "PORT", OPTIONS_FIND, read_serial, "serial port to search"},
    {"host", "HOST", OPTIONS_FIND | AGAIN, read_host, "Modbus TCP host to search; may be given again"},
    {"port", "N", OPTIONS_LINE | OPTIONS_FIND, read_port, "TCP port (502)"},
    {"unit", "N", OPTIONS_LINE | OPTIONS_FIND, read_unit, "unit number"},
    {"baud", "N", OPTIONS_LINE | OPTIONS_FIND, read_baud, "speed of the serial line"},
    {"parity", "none|even|odd", OPTIONS_LINE | OPTIONS_FIND, read_parity, "parity of the serial line"},
    {"stop-bits", "1|2", OPTIONS_LINE | OPTIONS_FIND, read_stop_bits, "stop bits of the serial line"},
    {"trace", "FILE", OPTIONS_LINE | OPTIONS_FIND, read_trace, "write every frame there, as it happens"},
    {"store", "PATH", OPTIONS_STORE, read_store, "where records are kept"},
    {"as", "found|left", OPTIONS_RECORD, read_as, "as found, or as left; has to be said"},
    {"after-power-cycle", NULL, OPTIONS_RECORD, read_after_power_cycle, "as left, after its power was off"},
    {"export", "FILE", OPTIONS_RECORD, read_export, "write a copy in YAML there"},
    {"confirm", "CODE", OPTIONS_CONFIRM, read_confirm, "write the list that has this code"},
    {"replacement", "SERIAL", OPTIONS_RESTORE, read_replacement, "the exchanged drive's serial number"},
    {"parameter", "NAME", OPTIONS_HISTORY, read_parameter, "changes of this parameter only"},
    {"since", "DATE", OPTIONS_HISTORY, read_since, "from then on, UTC"},
    {"from", "RECORD", OPTIONS_WITNESS, read_from, "judge samples that are kept; no drive is asked"},
    {"check", NULL, OPTIONS_ACCEPT, read_check, "try a document: is it whole, and known to the store"},
    {"most", "TIME", OPTIONS_WITNESS, read_most, "end after that time, whatever is seen"},
    {"help", NULL, ~0U, read_help, "this text"},
};
enum { ROWS = sizeof rows / sizeof *rows };

static const struct option_row *find_row(const char *name, size_t length, unsigned groups)
{
    for (size_t i = 0; i < ROWS; i++)
        if ((rows[i].group & groups) != 0 && strlen(rows[i].name) == length && strncmp(rows[i].name, name, length) == 0)
            return &rows[i];
    return NULL;
}

static bool unknown_option(const char *name, size_t length, unsigned groups, struct error *error)
{
    const char *names[ROWS];
    size_t count = 0;
    for (size_t i = 0; i < ROWS; i++)
        if ((rows[i].group & groups) != 0)
            names[count++] = rows[i].name;
    char *given = text_format("%.*s", (int)length, name);
    const char *near = nearest(given, names, count);
    if (near != NULL)
        error_set(error, ERROR_USE, "no option '--%s'; did you mean --%s", given, near);
    else
        error_set(error, ERROR_USE, "no option '--%s' here; options are spelled in full", given);
    free(given);
    return false;
}

/* Reads one option at arguments[*at], and moves `at` on where its value is the next argument. */
static bool read_option(int count, char **arguments, int *at, unsigned groups, uint64_t *seen, struct options *options,
                        struct error *error)
{
    const char *name = arguments[*at] + 2;
    size_t length = strcspn(name, "=");
    const struct option_row *row = find_row(name, length, groups);
    if (row == NULL)
        return unknown_option(name, length, groups, error);
    uint64_t bit = UINT64_C(1) << (row - rows);
    if ((*seen & bit) != 0 && (row->group & AGAIN) == 0)
        return error_set(error, ERROR_USE, "--%s is given twice", row->name);
    *seen |= bit;

    const char *value = name[length] == '=' ? name + length + 1 : NULL;
    if (row->value == NULL)
        return value == NULL ? row->read(options, NULL, error)
                             : error_set(error, ERROR_USE, "--%s takes no value", row->name);
    if (value == NULL && *at + 1 < count)
        value = arguments[++*at];
    if (value == NULL)
        return error_set(error, ERROR_USE, "--%s lacks its value: %s", row->name, row->value);
    return row->read(options, value, error);
}

bool options_read(int count, char **arguments, unsigned groups, struct options *options, struct error *error)
{
    *options = (struct options){.format = sink_format_find("text")};
    uint64_t seen = 0;
    bool only_operands = false;
    for (int i = 0; i < count; i++) {
        const char *argument = arguments[i];
        if (only_operands || argument[0] != '-' || argument[1] == '\0') {
            options->operands = memory_grow(options->operands, options->operand_count, sizeof *options->operands);
            options->operands[options->operand_count++] = arguments[i];
        } else if (strcmp(argument, "--") == 0) {
            only_operands = true;
        } else if (argument[1] != '-') {
            return error_set(error, ERROR_USE, "no option '%s'; options begin with two dashes", argument);
        } else if (!read_option(count, arguments, &i, groups, &seen, options, error)) {
            return false;
        }
    }
    if (options->line.serial != NULL && options->line.host != NULL)
        return error_set(error, ERROR_USE, "--serial and --host exclude each other");
    return true;
}

void options_free(struct options *options)
{
    free(options->operands);
    free(options->hosts);
    *options = (struct options){0};
}

char *options_help(unsigned groups)
{
    enum { HELP_COLUMN = 28 };
    char *help = text_copy("");
    for (size_t i = 0; i < ROWS; i++) {
        if ((rows[i].group & groups) == 0)
            continue;
        char *left = rows[i].value == NULL ? text_format("--%s", rows[i].name)
                                           : text_format("--%s %s", rows[i].name, rows[i].value);
        bool is_wide = strlen(left) > HELP_COLUMN;
        char *more = text_format("%s  %-*s%s%*s %s\n", help, HELP_COLUMN, left, is_wide ? "\n  " : "",
                                 is_wide ? HELP_COLUMN : 0, "", rows[i].help);
        free(left);
        free(help);
        help = more;
    }
    return help;
}

static void take_given(const struct options *options, struct line *line)
{
    const struct line *given = &options->line;
    if (given->serial != NULL || given->host != NULL) {
        free(line->serial);
        free(line->host);
        line->serial = text_copy(given->serial);
        line->host = text_copy(given->host);
    }
    if (options->port_given)
        line->port = given->port;
    if (options->baud_given)
        line->baud = given->baud;
    if (options->parity_given && given->parity != line->parity)
        line->stop_bits = 0; /* they go with the parity */
    if (options->parity_given)
        line->parity = given->parity;
    if (options->stop_bits_given)
        line->stop_bits = given->stop_bits;
    if (given->unit_given) {
        line->unit = given->unit;
        line->unit_given = true;
    }
}

/* What a line has where neither sheet nor command line say: MODBUS over Serial Line V1.02 section 2.5.1 and 3.2 (19200
 * baud, even parity; two stop bits without parity), MODBUS Messaging on TCP/IP V1.0b section 3.1.3 (port 502). */
static void take_defaults(struct line *line)
{
    if (line->baud == 0)
        line->baud = 19200;
    if (line->stop_bits == 0)
        line->stop_bits = line->parity == PARITY_NONE ? 2 : 1;
    if (line->port == 0)
        line->port = 502;
}

bool options_line(const struct options *options, const struct sheet *sheet, struct line *line, struct error *error)
{
    *line = line_copy(&sheet->line);
    if (line->baud == 0) /* the sheet says nothing of a serial line */
        line->parity = PARITY_EVEN;
    take_given(options, line);
    take_defaults(line);
    if (line->serial == NULL && line->host == NULL)
        return error_set(error, ERROR_USE, "%s names no line; give --serial or --host", sheet->path);
    if (line->serial != NULL && (line->unit < 1 || line->unit > 247))
        return error_set(error, ERROR_USE, "%s: unit %u; on a serial line 1 to 247 is due", sheet->tag, line->unit);
    return true;
}
