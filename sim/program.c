/* SPDX-License-Identifier: MIT */
/* The simulator as a program: files, signals, keypad and line in one loop. */
#include "sim/program.h"

#include "files/files.h"
#include "sim/keypad.h"
#include "sim/options.h"
#include "sim/simulation.h"

#include <errno.h>
#include <inttypes.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/prctl.h>
#include <sys/signalfd.h>
#include <time.h>
#include <unistd.h>

enum { EXIT_FINE = 0, EXIT_USE = 64, EXIT_FILE = 65, EXIT_CONTACT = 69, EXIT_OUTPUT = 74 };

static int complain(const struct error *error)
{
    (void)fprintf(stderr, "asleft-sim: %s\n", error->text);
    switch (error->kind) {
    case ERROR_USE:
        return EXIT_USE;
    case ERROR_FILE:
        return EXIT_FILE;
    case ERROR_OUTPUT:
        return EXIT_OUTPUT;
    case ERROR_CONTACT:
    case ERROR_BUSY:
    case ERROR_STORE:
    case ERROR_NONE:
        break;
    }
    return EXIT_CONTACT;
}

/* What the keypad's lines act on. */
struct panel {
    struct simulation *simulation;
    bool quit;
};

static void press_line(void *user, const char *text)
{
    struct panel *panel = user;
    if (panel->quit)
        return;
    char *answer = simulation_press(panel->simulation, text, &panel->quit);
    if (answer != NULL) {
        (void)puts(answer);
        (void)fflush(stdout);
    }
    free(answer);
}

/* Waits until there is something to read, or to send. */
static bool wait_for(const struct simulation *simulation, struct pollfd *watched, size_t count)
{
    const int64_t due_us = simulation->server == NULL ? SERVER_NOTHING_DUE : server_due_us(simulation->server);
    const int64_t left_us = due_us - simulation_clock_us(NULL);
    const struct timespec patience = {.tv_sec = left_us > 0 ? left_us / 1000000 : 0,
                                      .tv_nsec = left_us > 0 ? left_us % 1000000 * 1000 : 0};
    return ppoll(watched, count, due_us == SERVER_NOTHING_DUE ? NULL : &patience, NULL) >= 0;
}

/* Ends on a signal or on the keypad's `quit`. */
static void serve(struct simulation *simulation, int signals)
{
    enum { SIGNALS, KEYPAD, LINE };
    struct pollfd watched[LINE + STATION_MOST_WATCHED] = {
        [SIGNALS] = {.fd = signals, .events = POLLIN},
        [KEYPAD] = {.fd = STDIN_FILENO, .events = POLLIN},
    };
    struct panel panel = {.simulation = simulation};
    struct keypad_input input = {0};
    while (!panel.quit) {
        const size_t count = station_watch(simulation->station, watched + LINE);
        if (!wait_for(simulation, watched, LINE + count)) {
            if (errno == EINTR)
                continue;
            return;
        }
        if (watched[SIGNALS].revents != 0)
            return;
        station_serve(simulation->station, watched + LINE, count, simulation_clock_us(NULL));
        if (simulation->server != NULL)
            server_release(simulation->server);
        if (watched[KEYPAD].revents != 0) {
            char bytes[256];
            const ssize_t got = read(STDIN_FILENO, bytes, sizeof bytes);
            if (got > 0)
                keypad_feed(&input, bytes, (size_t)got, press_line, &panel);
            else
                watched[KEYPAD].fd = -1; /* nobody is at the keypad any more */
        }
    }
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

static void serve_until_told(struct simulation *simulation, int signals)
{
    if (simulation->server != NULL)
        (void)prctl(PR_SET_TIMERSLACK, 1UL, 0UL, 0UL, 0UL); /* the kernel rounds waiting up by 50 us otherwise */
    if (simulation->faults->count > 0)
        (void)fprintf(stderr, "asleft-sim: faults by seed %" PRIu64 "\n", simulation->faults->seed);
    (void)fputs("ready ", stdout);
    simulation_show_place(simulation, stdout);
    (void)putchar('\n');
    (void)fflush(stdout);
    serve(simulation, signals);
    simulation_show_sums(simulation, stdout);
    (void)fflush(stdout);
}

static int run_drives(struct options *options, const struct map *map, const struct sheet *sheet)
{
    struct error error = {0};
    struct simulation simulation;
    int status = EXIT_FINE;
    const int signals = take_signals();
    if (simulation_begin(&simulation, options, map, sheet, &error))
        serve_until_told(&simulation, signals);
    else
        status = complain(&error);
    if (!simulation_end(&simulation, &error) && status == EXIT_FINE)
        status = complain(&error);
    (void)close(signals);
    return status;
}

static void list_errors(const struct problems *problems)
{
    for (size_t i = 0; i < problems->errors.count; i++)
        (void)fprintf(stderr, "%s\n", problems->errors.items[i]);
}

static int load_and_run(struct options *options)
{
    struct problems problems = {0};
    struct map map = {0};
    struct map sheet_map = {0}; /* the sheet's own; the drive on the line may be another */
    struct sheet sheet = {0};
    int status = EXIT_FILE;
    const bool has_sheet = options->sheet != NULL;
    if (map_load(options->map, &map, &problems) &&
        (!has_sheet || sheet_load(options->sheet, &sheet, &sheet_map, &problems)))
        status = run_drives(options, &map, has_sheet ? &sheet : NULL);
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
