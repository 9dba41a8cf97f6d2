/* SPDX-License-Identifier: MIT */
/* The simulator as a program: files, signals, keypad and line in one loop. */
#include "sim/program.h"

#include "files/files.h"
#include "sim/drive.h"
#include "sim/keypad.h"
#include "sim/options.h"
#include "sim/station.h"
#include "types/memory.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/signalfd.h>
#include <time.h>
#include <unistd.h>

enum { EXIT_FINE = 0, EXIT_USE = 64, EXIT_FILE = 65, EXIT_CONTACT = 69 };

static int64_t monotonic_us(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

static int complain(const struct error *error)
{
    (void)fprintf(stderr, "asleft-sim: %s\n", error->text);
    switch (error->kind) {
    case ERROR_USE:
        return EXIT_USE;
    case ERROR_FILE:
        return EXIT_FILE;
    case ERROR_CONTACT:
    case ERROR_BUSY:
    case ERROR_OUTPUT:
    case ERROR_NONE:
        break;
    }
    return EXIT_CONTACT;
}

/* What the keypad's lines act on. */
struct panel {
    struct drive *drive;
    bool quit;
};

static void press_line(void *user, const char *text)
{
    struct panel *panel = user;
    if (panel->quit)
        return;
    char *answer = keypad_line(panel->drive, text, monotonic_us(), &panel->quit);
    if (answer != NULL) {
        (void)puts(answer);
        (void)fflush(stdout);
    }
    free(answer);
}

/* Ends on a signal or on the keypad's `quit`. */
static void serve(struct drive *drive, struct station *station, int signals)
{
    enum { SIGNALS, KEYPAD, LINE };
    struct pollfd watched[LINE + STATION_MOST_WATCHED] = {
        [SIGNALS] = {.fd = signals, .events = POLLIN},
        [KEYPAD] = {.fd = STDIN_FILENO, .events = POLLIN},
    };
    struct panel panel = {.drive = drive};
    struct keypad_input input = {0};
    while (!panel.quit) {
        const size_t count = station_watch(station, watched + LINE);
        if (poll(watched, LINE + count, -1) < 0) {
            if (errno == EINTR)
                continue;
            return;
        }
        if (watched[SIGNALS].revents != 0)
            return;
        if (watched[KEYPAD].revents != 0) {
            char bytes[256];
            const ssize_t got = read(STDIN_FILENO, bytes, sizeof bytes);
            if (got > 0)
                keypad_feed(&input, bytes, (size_t)got, press_line, &panel);
            else
                watched[KEYPAD].fd = -1; /* nobody is at the keypad any more */
        }
        station_serve(station, watched + LINE, count, monotonic_us());
    }
}

static bool open_station(const struct options *options, struct drive *drive, unsigned unit, struct station **station,
                         struct error *error)
{
    if (options->pty != NULL)
        return station_open_pty(drive, options->pty, unit, station, error);
    return station_open_tcp(drive, options->host, options->port, unit, station, error);
}

/* Signals come over a descriptor, so that the loop ends in its own time and cleans up. */
static int take_signals(void)
{
    sigset_t ending;
    (void)sigemptyset(&ending);
    (void)sigaddset(&ending, SIGINT);
    (void)sigaddset(&ending, SIGTERM);
    (void)sigprocmask(SIG_BLOCK, &ending, NULL);
    (void)signal(SIGPIPE, SIG_IGN);
    return signalfd(-1, &ending, SFD_CLOEXEC);
}

static unsigned unit_of(const struct options *options, const struct sheet *sheet)
{
    if (options->unit_given)
        return options->unit;
    return sheet != NULL && sheet->line.unit_given ? sheet->line.unit : 1;
}

static int run_drive(const struct options *options, const struct map *map, const struct sheet *sheet)
{
    struct error error = {0};
    struct drive drive;
    struct station *station = NULL;
    int status = EXIT_FINE;
    const unsigned unit = unit_of(options, sheet);
    if (options->pty != NULL && (unit < 1 || unit > 247)) {
        (void)error_set(&error, ERROR_USE, "the sheet's unit %u is none of a serial line; say --unit 1 to 247", unit);
        return complain(&error);
    }
    const int signals = take_signals();
    if (drive_init(&drive, map, sheet, options->set, options->set_count, monotonic_us(), &error) &&
        open_station(options, &drive, unit, &station, &error)) {
        (void)printf("ready %s unit %u\n", station_place(station), unit);
        (void)fflush(stdout);
        serve(&drive, station, signals);
    } else {
        status = complain(&error);
    }
    station_free(station);
    drive_free(&drive);
    (void)close(signals);
    return status;
}

static void list_errors(const struct problems *problems)
{
    for (size_t i = 0; i < problems->errors.count; i++)
        (void)fprintf(stderr, "%s\n", problems->errors.items[i]);
}

static int load_and_run(const struct options *options)
{
    struct problems problems = {0};
    struct map map = {0};
    struct map sheet_map = {0}; /* the sheet's own; the drive on the line may be another */
    struct sheet sheet = {0};
    int status = EXIT_FILE;
    const bool has_sheet = options->sheet != NULL;
    if (map_load(options->map, &map, &problems) &&
        (!has_sheet || sheet_load(options->sheet, &sheet, &sheet_map, &problems)))
        status = run_drive(options, &map, has_sheet ? &sheet : NULL);
    else
        list_errors(&problems);
    problems_free(&problems);
    sheet_free(&sheet);
    map_free(&sheet_map);
    map_free(&map);
    return status;
}

int program_run(int argc, char *const *argv)
{
    struct options options;
    struct error error = {0};
    int status = EXIT_FINE;
    if (!options_read(argc - 1, argv + 1, &options, &error)) {
        status = complain(&error);
        (void)fputs("usage: asleft-sim --map MAP [--as SHEET] (--tcp HOST:PORT | --pty LINK); see --help\n", stderr);
    } else if (options.help) {
        options_help(stdout);
    } else if (options.version) {
        (void)puts("asleft-sim " ASLEFT_VERSION);
    } else {
        status = load_and_run(&options);
    }
    options_free(&options);
    return status;
}
