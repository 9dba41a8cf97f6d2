/* SPDX-License-Identifier: MIT */
/* The simulator as a whole, in a process of its own: its ready line, its keypad, how it ends and what it leaves. */
#include "sim/fixture.h"

#include "sim/program.h"

#include <modbus/modbus.h>
#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>

static const char map_text[] = "map: bench-program\n"
                               "modbus: {count_from: 0}\n"
                               "parameters:\n"
                               "  speed: {at: holding 1, type: u16, unit: rpm, settable: stopped, default: 1440 rpm}\n"
                               "  state: {at: input 0, type: bits, bits: {0: running}, means: live.state}\n";

/* A simulator under way, and the other ends of its standard streams. */
struct process {
    char folder[64];
    char map[96];
    char link[96];
    pid_t pid;
    int keys;
    FILE *says;
    FILE *complains;
};

enum { MOST = 12 };

/* "MAP" and "LINK" among the arguments stand for the files in the process's folder. */
static void begin(struct process *process, const char *const *arguments)
{
    *process = (struct process){.folder = "/tmp/asleft-sim-test.XXXXXX"};
    assert_non_null(mkdtemp(process->folder));
    (void)snprintf(process->map, sizeof process->map, "%s/map.yaml", process->folder);
    (void)snprintf(process->link, sizeof process->link, "%s/drive", process->folder);
    bench_write(process->map, map_text);

    char name[] = "asleft-sim";
    char *argv[MOST] = {name};
    int argc = 1;
    for (; arguments[argc - 1] != NULL; argc++) {
        const char *argument = arguments[argc - 1];
        const char *file = strcmp(argument, "MAP") == 0 ? process->map : process->link;
        argv[argc] = text_copy(strcmp(argument, "MAP") == 0 || strcmp(argument, "LINK") == 0 ? file : argument);
    }
    int in[2];
    int out[2];
    int errors[2];
    assert_int_equal(pipe(in) | pipe(out) | pipe(errors), 0);
    process->pid = fork();
    assert_true(process->pid >= 0);
    if (process->pid == 0) {
        (void)dup2(in[0], STDIN_FILENO);
        (void)dup2(out[1], STDOUT_FILENO);
        (void)dup2(errors[1], STDERR_FILENO);
        (void)close(in[1]);
        const int status = program_run(argc, argv);
        (void)fflush(stdout);
        _exit(status);
    }
    for (int i = 1; i < argc; i++)
        free(argv[i]);
    (void)close(in[0]);
    (void)close(out[1]);
    (void)close(errors[1]);
    process->keys = in[1];
    process->says = fdopen(out[0], "r");
    process->complains = fdopen(errors[0], "r");
}

/* Waits for its end; nothing may be left in its folder but the map. */
static void ends_with(struct process *process, int expected)
{
    int status = 0;
    (void)close(process->keys);
    assert_int_equal(waitpid(process->pid, &status, 0), process->pid);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), expected);
    (void)fclose(process->says);
    (void)fclose(process->complains);
    assert_int_equal(unlink(process->map), 0);
    assert_int_equal(rmdir(process->folder), 0);
}

static void line_is(FILE *file, const char *expected)
{
    char line[512] = "";
    assert_non_null(fgets(line, sizeof line, file));
    line[strcspn(line, "\n")] = '\0';
    assert_string_equal(line, expected);
}

static void line_has(FILE *file, const char *expected)
{
    char line[512] = "";
    assert_non_null(fgets(line, sizeof line, file));
    if (strstr(line, expected) == NULL)
        print_error("'%s' lacks '%s'\n", line, expected);
    assert_non_null(strstr(line, expected));
}

static void press(const struct process *process, const char *line)
{
    assert_int_equal(write(process->keys, line, strlen(line)), strlen(line));
}

/* The port of "ready tcp 127.0.0.1:PORT unit N", which must be that. */
static int ready_port(struct process *process, int unit)
{
    char line[128] = "";
    char expected[128];
    static const char start[] = "ready tcp 127.0.0.1:";
    assert_non_null(fgets(line, sizeof line, process->says));
    assert_memory_equal(line, start, strlen(start));
    const int port = (int)strtol(line + strlen(start), NULL, 10);
    (void)snprintf(expected, sizeof expected, "%s%d unit %d\n", start, port, unit);
    assert_string_equal(line, expected);
    return port;
}

static void tcp_is_ready_serves_and_quits(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP",   "--tcp",      "127.0.0.1:0", "--unit",
                                     "7",     "--set", "speed=1500", NULL};
    begin(&process, arguments);
    modbus_t *client = modbus_new_tcp("127.0.0.1", ready_port(&process, 7));
    uint16_t word = 0;
    assert_int_equal(modbus_set_slave(client, 7), 0);
    assert_int_equal(modbus_set_response_timeout(client, 5, 0), 0);
    assert_int_equal(modbus_connect(client), 0);
    assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
    assert_int_equal(word, 1500);
    press(&process, "start\n");
    line_is(process.says, "starting, towards 50.00 Hz");
    assert_int_equal(modbus_write_register(client, 1, 1400), -1);
    modbus_close(client);
    modbus_free(client);
    press(&process, "quit\nshow speed\n");
    line_is(process.says, "switched off");
    assert_int_equal(fgetc(process.says), EOF);
    ends_with(&process, 0);
}

static void pty_link_goes_with_sigterm(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", "--pty", "LINK", NULL};
    begin(&process, arguments);
    char expected[128];
    (void)snprintf(expected, sizeof expected, "ready pty %s unit 1", process.link);
    line_is(process.says, expected);
    struct stat status;
    assert_int_equal(lstat(process.link, &status), 0);
    assert_true(S_ISLNK(status.st_mode));
    assert_int_equal(kill(process.pid, SIGTERM), 0);
    ends_with(&process, 0);
}

/* A keypad that is gone is no reason to stop. */
static void end_of_input_does_not_end_it(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", "--tcp", ":0", NULL};
    begin(&process, arguments);
    const int port = ready_port(&process, 1);
    assert_int_equal(close(process.keys), 0);
    for (int i = 0; i < 3; i++) {
        modbus_t *client = modbus_new_tcp("127.0.0.1", port);
        uint16_t word = 0;
        assert_int_equal(modbus_set_slave(client, 1), 0);
        assert_int_equal(modbus_set_response_timeout(client, 5, 0), 0);
        assert_int_equal(modbus_connect(client), 0);
        assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
        modbus_close(client);
        modbus_free(client);
    }
    process.keys = -1;
    assert_int_equal(kill(process.pid, SIGINT), 0);
    ends_with(&process, 0);
}

static void wrong_use_is_64(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", NULL};
    begin(&process, arguments);
    line_is(process.complains, "asleft-sim: expected one of --tcp HOST:PORT and --pty LINK");
    line_has(process.complains, "usage: asleft-sim --map MAP");
    ends_with(&process, 64);
}

static void a_wrong_setting_is_64(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", "--tcp", ":0", "--set", "sped=3", NULL};
    begin(&process, arguments);
    line_is(process.complains, "asleft-sim: --set: the map has no parameter 'sped'; did you mean 'speed'?");
    ends_with(&process, 64);
}

static void a_file_that_is_not_there_is_65(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "/nonexistent/map.yaml", "--tcp", ":0", NULL};
    begin(&process, arguments);
    line_has(process.complains, "/nonexistent/map.yaml");
    ends_with(&process, 65);
}

static void what_cannot_be_listened_on_is_69(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", "--pty", "/nonexistent/drive", NULL};
    begin(&process, arguments);
    line_has(process.complains, "asleft-sim: cannot make the link /nonexistent/drive");
    ends_with(&process, 69);
}

static void several_drives_name_their_units(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", "--pty", "LINK", "--unit", "4", "--drives", "3", NULL};
    begin(&process, arguments);
    char expected[128];
    (void)snprintf(expected, sizeof expected, "ready pty %s units 4 to 6", process.link);
    line_is(process.says, expected);
    press(&process, "5 set speed=1500\nshow speed\n5 show speed\nquit\n");
    line_is(process.says, "speed: 1500 rpm (raw 0x05DC)");
    line_is(process.says, "speed: 1440 rpm (raw 0x05A0)");
    line_is(process.says, "speed: 1500 rpm (raw 0x05DC)");
    line_is(process.says, "switched off");
    line_is(process.says, "requests 0, answered 0, lost 0, not for us 0");
    ends_with(&process, 0);
}

static void too_many_drives_are_64(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", "--pty", "LINK", "--unit", "246", "--drives", "3", NULL};
    begin(&process, arguments);
    line_is(process.complains, "asleft-sim: 3 drives from unit 246 on end at 248; the last unit is 247");
    ends_with(&process, 64);
}

static void sums_and_faults_are_shown_at_the_end(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map",          "MAP",     "--tcp",        ":0", "--seed", "5", "--fault",
                                     "exception=06@2", "--fault", "late:0.0001%", NULL};
    begin(&process, arguments);
    line_is(process.complains, "asleft-sim: faults by seed 5");
    modbus_t *client = modbus_new_tcp("127.0.0.1", ready_port(&process, 1));
    uint16_t word = 0;
    assert_int_equal(modbus_set_slave(client, 1), 0);
    assert_int_equal(modbus_set_response_timeout(client, 5, 0), 0);
    assert_int_equal(modbus_connect(client), 0);
    assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
    assert_int_equal(modbus_read_registers(client, 1, 1, &word), -1);
    assert_int_equal(modbus_read_registers(client, 1, 1, &word), 1);
    modbus_close(client);
    modbus_free(client);
    assert_int_equal(kill(process.pid, SIGTERM), 0);
    line_is(process.says, "requests 3, answered 3, lost 0, not for us 0");
    line_has(process.says, "from requests to replies: ideal 0.000000 s, real 0.0");
    line_is(process.says, "faults by seed 5: exception=06@2 1, late:0.0001% 0");
    assert_int_equal(fgetc(process.says), EOF);
    ends_with(&process, 0);
}

/* Without one of the user's, each run has another, and says which. */
static void a_seed_of_its_own_is_said(void **state)
{
    (void)state;
    char seeds[2][128] = {"", ""};
    for (size_t i = 0; i < 2; i++) {
        struct process process;
        const char *const arguments[] = {"--map", "MAP", "--tcp", ":0", "--fault", "late:1%", NULL};
        begin(&process, arguments);
        assert_non_null(fgets(seeds[i], sizeof seeds[i], process.complains));
        press(&process, "quit\n");
        ends_with(&process, 0);
    }
    assert_non_null(strstr(seeds[0], "faults by seed "));
    assert_string_not_equal(seeds[0], seeds[1]);
}

static void a_log_that_cannot_be_written_is_74(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", "--tcp", ":0", "--log", "/nonexistent/frames.csv", NULL};
    begin(&process, arguments);
    line_has(process.complains, "asleft-sim: cannot write /nonexistent/frames.csv");
    ends_with(&process, 74);
}

/* The disk that is full when there is something to write. */
static void a_log_that_breaks_off_is_74(void **state)
{
    (void)state;
    struct process process;
    const char *const arguments[] = {"--map", "MAP", "--tcp", ":0", "--log", "/dev/full", NULL};
    begin(&process, arguments);
    (void)ready_port(&process, 1);
    press(&process, "quit\n");
    line_is(process.complains, "asleft-sim: /dev/full was not written to its end");
    ends_with(&process, 74);
}

static void version_and_help_go_to_standard_output(void **state)
{
    (void)state;
    struct process process;
    const char *const version[] = {"--version", NULL};
    begin(&process, version);
    line_is(process.says, "asleft-sim " ASLEFT_VERSION);
    ends_with(&process, 0);
    const char *const help[] = {"--help", NULL};
    begin(&process, help);
    line_has(process.says, "usage: asleft-sim --map MAP [--as SHEET]");
    ends_with(&process, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tcp_is_ready_serves_and_quits),
        cmocka_unit_test(pty_link_goes_with_sigterm),
        cmocka_unit_test(end_of_input_does_not_end_it),
        cmocka_unit_test(wrong_use_is_64),
        cmocka_unit_test(a_wrong_setting_is_64),
        cmocka_unit_test(a_file_that_is_not_there_is_65),
        cmocka_unit_test(what_cannot_be_listened_on_is_69),
        cmocka_unit_test(several_drives_name_their_units),
        cmocka_unit_test(too_many_drives_are_64),
        cmocka_unit_test(sums_and_faults_are_shown_at_the_end),
        cmocka_unit_test(a_seed_of_its_own_is_said),
        cmocka_unit_test(a_log_that_cannot_be_written_is_74),
        cmocka_unit_test(a_log_that_breaks_off_is_74),
        cmocka_unit_test(version_and_help_go_to_standard_output),
    };
    return cmocka_run_group_tests_name("sim_program", tests, NULL, NULL);
}
