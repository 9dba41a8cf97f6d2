/* SPDX-License-Identifier: MIT */
/* Putting drives, line and frame loop together. */
#include "sim/simulation.h"

#include "sim/keypad.h"
#include "sim/power.h"
#include "sim/write_log.h"
#include "types/memory.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <time.h>

int64_t simulation_clock_us(void *user)
{
    struct timespec now;
    (void)user;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

static bool choose_units(struct simulation *simulation, const struct options *options, const struct sheet *sheet,
                         struct error *error)
{
    const bool sheet_says = sheet != NULL && sheet->line.unit_given;
    simulation->first_unit = options->unit_given ? options->unit : sheet_says ? sheet->line.unit : 1;
    simulation->count = options->drives == 0 ? 1 : options->drives;
    const bool serial = options->pty != NULL;
    const unsigned lowest = serial ? 1 : 0;
    const unsigned highest = serial ? 247 : 255;
    const size_t last = simulation->first_unit + simulation->count - 1;
    if (simulation->first_unit < lowest || simulation->first_unit > highest)
        return error_set(error, ERROR_USE, "the sheet's unit %u is none of a serial line; say --unit 1 to 247",
                         simulation->first_unit);
    return last <= highest || error_set(error, ERROR_USE, "%zu drives from unit %u on end at %zu; the last unit is %u",
                                        simulation->count, simulation->first_unit, last, highest);
}

static bool make_drives(struct simulation *simulation, const struct options *options, const struct map *map,
                        const struct sheet *sheet, struct error *error)
{
    const size_t wanted = simulation->count;
    const int64_t now_us = simulation_clock_us(NULL);
    simulation->drives = memory_new(wanted, sizeof *simulation->drives);
    for (simulation->count = 0; simulation->count < wanted;)
        if (!drive_init(&simulation->drives[simulation->count++], map, sheet, options->set, options->set_count, now_us,
                        error))
            return false;
    return true;
}

static uint64_t chosen_seed(const struct options *options)
{
    uint32_t seed = options->seed;
    if (!options->seed_given && getrandom(&seed, sizeof seed, 0) < 0)
        seed = (uint32_t)simulation_clock_us(NULL);
    return seed;
}

/* For writing, a line at a time; a `name` that is NULL opens none. */
static bool open_log(const char *name, FILE **file, struct error *error)
{
    if (name == NULL)
        return true;
    *file = fopen(name, "we");
    if (*file == NULL)
        return error_set(error, ERROR_OUTPUT, "cannot write %s: %s", name, strerror(errno));
    (void)setvbuf(*file, NULL, _IOLBF, 0);
    return true;
}

static bool open_logs(struct simulation *simulation, const struct options *options, struct error *error)
{
    simulation->log_name = options->log;
    simulation->writes_name = options->writes;
    if (!open_log(options->log, &simulation->log, error) || !open_log(options->writes, &simulation->writes, error))
        return false;
    write_log_head(simulation->writes);
    return true;
}

/* Every drive that is to take another's place must fit the map. */
static bool check_exchanges(const struct simulation *simulation, struct error *error)
{
    const struct line_faults *faults = simulation->faults;
    for (size_t i = 0; i < faults->count; i++)
        if (faults->items[i].kind == FAULT_EXCHANGED &&
            !power_can_exchange(simulation->drives, faults->items[i].word, error))
            return error_context(error, "--fault %s", faults->items[i].text);
    return true;
}

static bool open_station(struct simulation *simulation, const struct options *options, struct error *error)
{
    struct drive *first = simulation->drives;
    const unsigned unit = simulation->first_unit;
    return options->pty != NULL
               ? station_open_pty(first, options->pty, unit, &simulation->station, error)
               : station_open_tcp(first, options->host, options->port, unit, &simulation->station, error);
}

static void begin_server(struct simulation *simulation, const struct options *options)
{
    const struct server_setup setup = {
        .wire = options->pty != NULL ? WIRE_SERIAL : WIRE_TCP,
        .drives = simulation->drives,
        .count = simulation->count,
        .first_unit = simulation->first_unit,
        .pace = {.baud = options->pace_baud,
                 .character_bits = options_character_bits(options),
                 .turnaround_us = options->turnaround_us},
        .ignores = options->ignores,
        .faults = simulation->faults,
        .log = simulation->log,
        .writes = simulation->writes,
        .clock_us = simulation_clock_us,
    };
    const struct station_format format = {.baud = options->baud, .stop_bits = options->stop_bits};
    simulation->server = server_new(&setup);
    station_attach(simulation->station, simulation->server, &format);
}

bool simulation_begin(struct simulation *simulation, struct options *options, const struct map *map,
                      const struct sheet *sheet, struct error *error)
{
    *simulation = (struct simulation){.faults = &options->faults};
    line_faults_seed(simulation->faults, chosen_seed(options));
    if (!choose_units(simulation, options, sheet, error) || !make_drives(simulation, options, map, sheet, error) ||
        !check_exchanges(simulation, error) || !open_logs(simulation, options, error) ||
        !open_station(simulation, options, error))
        return false;
    station_log_writes(simulation->station, simulation->writes);
    if (options_want_frame_loop(options))
        begin_server(simulation, options);
    return true;
}

void simulation_show_place(const struct simulation *simulation, FILE *file)
{
    const char *place = station_place(simulation->station);
    const unsigned first = simulation->first_unit;
    if (simulation->count == 1)
        (void)fprintf(file, "%s unit %u", place, first);
    else
        (void)fprintf(file, "%s units %u to %zu", place, first, first + simulation->count - 1);
}

static void show_faults(const struct line_faults *faults, FILE *file)
{
    (void)fprintf(file, "faults by seed %" PRIu64 ":", faults->seed);
    for (size_t i = 0; i < faults->count; i++)
        (void)fprintf(file, "%s %s %lu", i == 0 ? "" : ",", faults->items[i].text, faults->items[i].struck);
    (void)fputc('\n', file);
}

void simulation_show_sums(const struct simulation *simulation, FILE *file)
{
    if (simulation->server == NULL)
        return;
    const struct server_sums *sums = server_sums(simulation->server);
    (void)fprintf(file, "requests %lu, answered %lu, lost %lu, not for us %lu\n", sums->requests, sums->answered,
                  sums->lost, sums->unheard);
    (void)fprintf(file, "from requests to replies: ideal %.6f s, real %.6f s\n", (double)sums->ideal_us / 1e6,
                  (double)sums->real_us / 1e6);
    if (simulation->faults->count > 0)
        show_faults(simulation->faults, file);
}

char *simulation_press(struct simulation *simulation, const char *line, bool *quit)
{
    const char *text = line + strspn(line, " \t");
    const size_t digits = strspn(text, "0123456789");
    size_t unit = 0;
    for (size_t i = 0; i < digits && unit <= UINT8_MAX; i++)
        unit = 10 * unit + (size_t)(text[i] - '0');
    const size_t drive = digits == 0 ? 0 : unit - simulation->first_unit; /* beyond the count for lower units too */
    if (drive < simulation->count)
        return keypad_line(&simulation->drives[drive], text + digits, simulation_clock_us(NULL), quit);
    *quit = false;
    return text_format("no unit %.*s here; they are %u to %zu", (int)digits, text, simulation->first_unit,
                       simulation->first_unit + simulation->count - 1);
}

/* `file` may be NULL. */
static bool close_log(FILE *file, const char *name, struct error *error)
{
    if (file == NULL)
        return true;
    const bool failed = ferror(file) != 0;
    return (fclose(file) == 0 && !failed) || error_set(error, ERROR_OUTPUT, "%s was not written to its end", name);
}

bool simulation_end(struct simulation *simulation, struct error *error)
{
    station_free(simulation->station);
    server_free(simulation->server);
    for (size_t i = 0; simulation->drives != NULL && i < simulation->count; i++)
        drive_free(&simulation->drives[i]);
    free(simulation->drives);
    const bool log_written = close_log(simulation->log, simulation->log_name, error);
    const bool writes_written = close_log(simulation->writes, simulation->writes_name, error);
    *simulation = (struct simulation){0};
    return log_written && writes_written;
}
