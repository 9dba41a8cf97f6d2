/* SPDX-License-Identifier: MIT */
/* No write request is ever on the wire without the right code: thousands of command lines and environments, drawn from
 * a seed, against drives that tell what they were asked. And with the right code, in the same surroundings, the writes
 * arrive. The rule is the manual's (docs/manual/writing.md); there is no published source for it. */
#include "command/command.h"
#include "command/logging_drive.h"
#include "command/unconfirmed_calls.h"

#include <fcntl.h>
#include <ftw.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <time.h>

#include <cmocka.h>

#ifndef ASLEFT_TRIALS
#define ASLEFT_TRIALS 400 /* under sanitizers; CMake sets more for a program without */
#endif

enum { REFRESH_EVERY = 2000, RIGHT_FOR_MS = 15 * 60 * 1000, SLOT_MS = 10000 };

/* ---- the wall clock, which this program can put forward and back ---- */

static int64_t wall_offset_ms;

int clock_gettime(clockid_t clock, struct timespec *now)
{
    int status = (int)syscall(SYS_clock_gettime, clock, now);
    if (clock == CLOCK_REALTIME)
        now->tv_sec += wall_offset_ms / 1000;
    return status;
}

/* ---- calling the program ---- */

/* A file that lies in the folder before each call, whatever the one before has made of it. */
struct laid {
    const char *name;
    char text[8192];
    size_t length;
};

struct world {
    char folder[64];
    struct laid laid[4];
    size_t laid_count;
    struct drives drives;
    struct material with;
    int out, kept_out, kept_err, kept_in; /* what the program writes to, and the test's own streams meanwhile */
    unsigned long asked_drive;            /* calls that reached a drive */
    unsigned long wrong_codes;            /* and were told that the code is not right */
};

static struct world world; /* of this program alone, too large for a stack */

static void become_quiet(void)
{
    int null = open("/dev/null", O_RDWR | O_CLOEXEC);
    (void)fflush(NULL);
    world.kept_in = dup(STDIN_FILENO);
    world.kept_out = dup(STDOUT_FILENO);
    world.kept_err = dup(STDERR_FILENO);
    (void)dup2(null, STDIN_FILENO);
    (void)dup2(world.out, STDOUT_FILENO);
    (void)dup2(null, STDERR_FILENO);
    (void)close(null);
}

static void become_loud(void)
{
    const int kept[] = {world.kept_in, world.kept_out, world.kept_err};
    (void)fflush(NULL);
    for (int stream = 0; stream < 3; stream++) {
        (void)dup2(kept[stream], stream);
        (void)close(kept[stream]);
    }
}

/* Quiet while it lasts. */
static int call(const struct texts *arguments)
{
    char **copies = memory_new(arguments->count + 1, sizeof *copies);
    memcpy(copies, arguments->items, arguments->count * sizeof *copies);
    become_quiet();
    (void)!ftruncate(world.out, 0);
    (void)lseek(world.out, 0, SEEK_SET);
    int status = command_main((int)arguments->count, copies);
    become_loud();
    free(copies);
    return status;
}

static void lay_out(void)
{
    for (size_t i = 0; i < world.laid_count; i++) {
        const struct laid *laid = &world.laid[i];
        int file = open(laid->name, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
        assert_int_equal(write(file, laid->text, laid->length), laid->length);
        assert_int_equal(close(file), 0);
    }
}

/* The code at the end of what was shown; false where there is none. */
static bool shown_code(char code[CODE])
{
    char shown[16384];
    ssize_t length = pread(world.out, shown, sizeof shown - 1, 0);
    shown[length > 0 ? length : 0] = '\0';
    const char *at = strstr(shown, "--confirm ");
    return at != NULL && sscanf(at, "--confirm %9[0-9A-Z-]", code) == 1;
}

static void get_code(const char *command, const char *sheet, const char *record, const char *port, char code[CODE])
{
    struct texts arguments = plain_call(command, sheet, record, port);
    assert_int_equal(call(&arguments), STATUS_DIFFERS);
    assert_true(shown_code(code));
    texts_free(&arguments);
}

static void get_other(const char *sheet, const char *port)
{
    assert_true(world.with.other_count < OTHER_CODES);
    get_code("write", sheet, NULL, port, world.with.others[world.with.other_count++]);
}

/* The right codes of now, and those that are not. */
static void refresh_codes(void)
{
    static const int64_t other_times_ms[] = {-RIGHT_FOR_MS - SLOT_MS, -RIGHT_FOR_MS - 86400000, RIGHT_FOR_MS, 86400000};
    world.with.other_count = 0;
    for (size_t i = 0; i < sizeof other_times_ms / sizeof *other_times_ms; i++) {
        wall_offset_ms = other_times_ms[i];
        get_other(SHEET, world.with.port);
    }
    wall_offset_ms = 0;
    static const struct {
        unsigned place;
        uint16_t word;
    } lists[] = {{DRIVE_CURRENT, 590}, {DRIVE_SPEED, 1745}, {DRIVE_ACCELERATION, 99}, {0x30, 4}};
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        drives_set(&world.drives, 0, lists[i].place, lists[i].word);
        get_other(SHEET, world.with.port);
        drives_reset(&world.drives);
    }
    get_other(OTHER_SHEET, world.with.other_port); /* another drive */
    drives_set(&world.drives, 1, 2, (uint16_t)('-' << 8 | 'A'));
    drives_set(&world.drives, 1, 1, (uint16_t)('S' << 8 | 'N'));
    get_other(SHEET, world.with.other_port); /* the same, seen on another line */
    drives_reset(&world.drives);
    get_code("restore", SHEET, RECORD, world.with.port, world.with.right_restore);
    get_code("write", SHEET, NULL, world.with.port, world.with.right);
}

static unsigned long writes(void)
{
    return drives_count(&world.drives, &world.drives.writes);
}

/* ---- the counter-proof ---- */

static void writes_with(const char *command, const char *record, const char *code, unsigned long expected)
{
    unsigned long before = writes();
    struct texts arguments = plain_call(command, SHEET, record, world.with.port);
    add(&arguments, "--confirm");
    add(&arguments, code);
    assert_int_equal(call(&arguments), STATUS_AGREES);
    assert_int_equal(writes() - before, expected);
    texts_free(&arguments);
    drives_reset(&world.drives);
}

/* Three changes and the save command. */
static void the_right_code_writes(void)
{
    char code[CODE] = "";
    writes_with("write", NULL, world.with.right, 4);
    writes_with("restore", RECORD, world.with.right_restore, 2);
    get_code("write", SHEET, NULL, world.with.port, code);
    for (char *letter = code; *letter != '\0'; letter++)
        *letter = (char)(*letter >= 'A' && *letter <= 'Z' ? *letter - 'A' + 'a' : *letter);
    writes_with("write", NULL, code, 4);
    wall_offset_ms = -RIGHT_FOR_MS + 6 * SLOT_MS; /* old, and not too old */
    get_code("write", SHEET, NULL, world.with.port, code);
    wall_offset_ms = 0;
    writes_with("write", NULL, code, 4);
}

static bool is_status(int status)
{
    static const int statuses[] = {STATUS_AGREES, STATUS_DIFFERS, STATUS_INCOMPLETE, STATUS_USE,
                                   STATUS_FILE,   STATUS_CONTACT, STATUS_OUTPUT,     STATUS_BUSY};
    for (size_t i = 0; i < sizeof statuses / sizeof *statuses; i++)
        if (statuses[i] == status)
            return true;
    return false;
}

static bool says_wrong_code(void)
{
    char shown[16384];
    ssize_t length = pread(world.out, shown, sizeof shown - 1, 0);
    shown[length > 0 ? length : 0] = '\0';
    return strstr(shown, "not that of") != NULL;
}

static void try_once(struct dice *dice, unsigned long number)
{
    struct drives *drives = &world.drives;
    unsigned long unit_0 = drives_count(drives, &drives->unit_0), asked = drives_count(drives, &drives->requests);
    unsigned long writes_before = writes();
    struct trial trial = trial_for(&world.with, dice);
    char *line = texts_join(&trial.arguments, "' '");
    int status = call(&trial.arguments);
    world.asked_drive += drives_count(drives, &drives->requests) > asked;
    world.wrong_codes += says_wrong_code();
    if (writes() != writes_before)
        fail_msg("call %lu has written: '%s'", number, line);
    if (drives_count(drives, &drives->strange) > 0)
        fail_msg("call %lu has used function %u: '%s'", number, drives->last_strange, line);
    if (!trial.reads_unit_0 && drives_count(drives, &drives->unit_0) > unit_0)
        fail_msg("call %lu has asked unit 0: '%s'", number, line);
    if (!is_status(status))
        fail_msg("call %lu has ended with %d: '%s'", number, status, line);
    free(line);
    trial_free(&trial);
    lay_out();
    if (status == STATUS_CONTACT) { /* perhaps the store is none any more */
        (void)unlink(STORE);
        (void)unlink(STORE "-wal");
        (void)unlink(STORE "-shm");
    }
}

static void nothing_but_the_right_code_writes(void **state)
{
    (void)state;
    unsigned long trials = ASLEFT_TRIALS * (getenv("ASLEFT_LONG") != NULL ? 5UL : 1UL);
    for (unsigned long i = 0; i < trials; i++) {
        if (i % REFRESH_EVERY == 0) {
            if (i > 0)
                the_right_code_writes();
            refresh_codes();
        }
        struct dice dice = dice_for(91, i);
        try_once(&dice, i);
    }
    the_right_code_writes();
    print_message("%lu calls, %lu asked the drive, %lu of them with a wrong code\n", trials, world.asked_drive,
                  world.wrong_codes);
    assert_true(world.asked_drive > trials / 4);
    assert_true(world.wrong_codes > trials / 20);
}

/* A broadcast reaches all drives of a line: the list is refused, whatever confirms it. */
static void unit_0_is_never_written_to(void **state)
{
    (void)state;
    char code[CODE] = "";
    unsigned long before = writes();
    struct texts arguments = plain_call("write", SHEET, NULL, world.with.port);
    add(&arguments, "--unit=0");
    assert_int_equal(call(&arguments), STATUS_DIFFERS);
    assert_false(shown_code(code));
    get_code("write", SHEET, NULL, world.with.port, code);
    add(&arguments, "--confirm");
    add(&arguments, code);
    assert_int_equal(call(&arguments), STATUS_DIFFERS);
    assert_int_equal(writes(), before);
    texts_free(&arguments);
}

/* ---- the surroundings ---- */

#define FIXTURES ASLEFT_SOURCE_DIR "/tests/whole/fixtures/"

static void read_laid(const char *path, const char *name)
{
    struct laid *laid = &world.laid[world.laid_count++];
    FILE *file = fopen(path, "re");
    assert_non_null(file);
    laid->name = name;
    laid->length = fread(laid->text, 1, sizeof laid->text, file);
    assert_true(laid->length > 0 && laid->length < sizeof laid->text);
    (void)fclose(file);
}

/* A copy of the sheet for the other drive. */
static void write_other_sheet(void)
{
    char text[4096];
    FILE *from = fopen(FIXTURES SHEET, "re"), *to = fopen(OTHER_SHEET, "we");
    assert_true(from != NULL && to != NULL);
    while (fgets(text, sizeof text, from) != NULL) {
        if (strncmp(text, "tag:", 4) == 0)
            (void)fputs("tag: W-2\n", to);
        else if (strncmp(text, "drive:", 6) == 0)
            (void)fputs("drive: {map: " MAP ", serial_number: SN-B}\n", to);
        else
            (void)fputs(text, to);
    }
    (void)fclose(from);
    assert_int_equal(fclose(to), 0);
}

/* As found: as it is. As left: with another current. */
static void make_record(const char *as)
{
    struct texts arguments = plain_call("record", SHEET, NULL, world.with.port);
    add(&arguments, "--as");
    add(&arguments, as);
    texts_add(&arguments, text_format("--export=%s.yaml", as));
    assert_int_equal(call(&arguments), STATUS_AGREES);
    texts_free(&arguments);
}

static void make_files(void)
{
    write_other_sheet();
    read_laid(FIXTURES SHEET, SHEET);
    read_laid(FIXTURES MAP, MAP);
    read_laid(OTHER_SHEET, OTHER_SHEET);
    lay_out();
    make_record("found");
    drives_set(&world.drives, 0, DRIVE_CURRENT, 500);
    make_record("left");
    drives_reset(&world.drives);
    read_laid(RECORD, RECORD);
}

static int begin(void **state)
{
    (void)state;
    (void)snprintf(world.folder, sizeof world.folder, "%s/asleft-unconfirmed-XXXXXX",
                   access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
    if (mkdtemp(world.folder) == NULL || chdir(world.folder) != 0 || !drives_start(&world.drives))
        return -1;
    (void)snprintf(world.with.port, sizeof world.with.port, "%u", world.drives.ports[0]);
    (void)snprintf(world.with.other_port, sizeof world.with.other_port, "%u", world.drives.ports[1]);
    (void)setenv("XDG_STATE_HOME", world.folder, 1); /* where a mangled call leaves out --store */
    world.out = memfd_create("shown", MFD_CLOEXEC);
    make_files();
    return world.out < 0;
}

static int remove_one(const char *path, const struct stat *found, int kind, struct FTW *place)
{
    (void)found;
    (void)kind;
    (void)place;
    return remove(path);
}

static int end(void **state)
{
    (void)state;
    drives_end(&world.drives);
    (void)close(world.out);
    int removed = chdir("/") == 0 ? nftw(world.folder, remove_one, DRIVE_CLIENTS, FTW_DEPTH | FTW_PHYS) : -1;
    return removed;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_but_the_right_code_writes),
        cmocka_unit_test(unit_0_is_never_written_to),
    };
    return cmocka_run_group_tests_name("unconfirmed", tests, begin, end);
}
