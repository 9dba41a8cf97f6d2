/* SPDX-License-Identifier: MIT */
/* Files that are right, damaged at random from a fixed seed: they load, or are refused with a place, and never crash.
 */
#include "files_bench.h"

enum { MUTANTS = 1200, MOST_DAMAGES = 4 };

/* Marsaglia's xorshift: small, the same everywhere, and a failure names the number that leads back to it. */
static uint32_t next_random(uint32_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 17;
    *seed ^= *seed << 5;
    return *seed;
}

struct mutant {
    char *bytes; /* with room for damage; owned */
    size_t length;
};

static void flip(struct mutant *mutant, uint32_t *seed)
{
    mutant->bytes[next_random(seed) % mutant->length] ^= (char)(1U << (next_random(seed) % 8));
}

static void replace(struct mutant *mutant, uint32_t *seed)
{
    static const char telling[] = "{}[]:,#&*!|>'\"%@\t\n -?0x";
    mutant->bytes[next_random(seed) % mutant->length] = telling[next_random(seed) % (sizeof telling - 1)];
}

static void delete_some(struct mutant *mutant, uint32_t *seed)
{
    size_t at = next_random(seed) % mutant->length;
    size_t length = 1 + next_random(seed) % 12;
    if (at + length >= mutant->length)
        return;
    memmove(mutant->bytes + at, mutant->bytes + at + length, mutant->length - at - length);
    mutant->length -= length;
}

/* Writes a line a second time, somewhere else. */
static void double_line(struct mutant *mutant, uint32_t *seed)
{
    size_t begin = next_random(seed) % mutant->length;
    while (begin > 0 && mutant->bytes[begin - 1] != '\n')
        begin--;
    char *end = memchr(mutant->bytes + begin, '\n', mutant->length - begin);
    if (end == NULL)
        return;
    size_t length = (size_t)(end - (mutant->bytes + begin)) + 1;
    char *line = malloc(length);
    assert_non_null(line);
    memcpy(line, mutant->bytes + begin, length);
    size_t to = next_random(seed) % mutant->length;
    while (to > 0 && mutant->bytes[to - 1] != '\n')
        to--;
    memmove(mutant->bytes + to + length, mutant->bytes + to, mutant->length - to);
    memcpy(mutant->bytes + to, line, length);
    mutant->length += length;
    free(line);
}

static void (*const damages[])(struct mutant *, uint32_t *) = {flip, replace, delete_some, double_line};

static struct mutant damaged(const char *bytes, size_t length, uint32_t *seed)
{
    struct mutant mutant = {malloc((MOST_DAMAGES + 1) * length + 1), length};
    assert_non_null(mutant.bytes);
    memcpy(mutant.bytes, bytes, length);
    unsigned count = 1 + next_random(seed) % MOST_DAMAGES;
    for (unsigned i = 0; i < count; i++)
        damages[next_random(seed) % (sizeof damages / sizeof *damages)](&mutant, seed);
    return mutant;
}

/* "FILE:LINE:COLUMN: " in front, nothing that a terminal would obey, and not endless. */
static void check_message(const char *message)
{
    const char *colon = strchr(message, ':');
    assert_non_null(colon);
    char *end = NULL;
    if (strncmp(colon, ": and ", 6) != 0) {
        assert_true(strtol(colon + 1, &end, 10) >= 1);
        assert_int_equal(*end, ':');
        assert_true(strtol(end + 1, &end, 10) >= 1);
        assert_int_equal(*end, ':');
    }
    assert_true(strlen(message) < 1200);
    for (; *message != '\0'; message++)
        assert_true((unsigned char)*message >= 0x20 && *message != 0x7f);
}

static void check_loads_or_tells(bool fine, struct problems *problems)
{
    assert_int_equal(fine, problems->errors.count == 0);
    assert_true(problems->errors.count <= 2 * 51);
    for (size_t i = 0; i < problems->errors.count; i++)
        check_message(problems->errors.items[i]);
    for (size_t i = 0; i < problems->warnings.count; i++)
        check_message(problems->warnings.items[i]);
    problems_free(problems);
}

static bool load_map(struct problems *problems)
{
    struct map map = {0};
    bool fine = map_load("mutant.yaml", &map, problems);
    map_free(&map);
    return fine;
}

static bool load_sheet(struct problems *problems)
{
    struct sheet sheet = {0};
    struct map map = {0};
    bool fine = sheet_load("mutant.yaml", &sheet, &map, problems);
    sheet_free(&sheet);
    map_free(&map);
    return fine;
}

static bool load_plant(struct problems *problems)
{
    struct plant plant = {0};
    bool fine = plant_load("mutant.yaml", &plant, problems);
    plant_free(&plant);
    return fine;
}

/* Damages the text again and again. Both outcomes must come up, or the damage is too rough or too gentle. */
static void try_mutants(const char *text, bool (*load)(struct problems *problems), uint32_t seed)
{
    size_t loaded = 0;
    for (unsigned i = 0; i < MUTANTS; i++) {
        struct problems problems = {0};
        struct mutant mutant = damaged(text, strlen(text), &seed);
        bench_write_bytes("mutant.yaml", mutant.bytes, mutant.length);
        free(mutant.bytes);
        bool fine = load(&problems);
        loaded += fine;
        check_loads_or_tells(fine, &problems);
    }
    assert_in_range(loaded, 1, MUTANTS - 1);
}

static const char map_text[] =
    "map: m\nabout: all that a map may say\n"
    "modbus: {count_from: 1, word_order: low-first, longest_read: 32, longest_write: 4, answers_within: 300 ms,\n"
    "  rest_between: 0 ms, closed: [holding 0x0140-0x014F, input 7], writes_with: multiple, connections: 2}\n"
    "identity:\n  - {parameter: model, equals: 0x5143}\n  - {parameter: name, equals: AB}\n"
    "parameters:\n"
    "  model: {at: holding 1, type: u16}\n  name: {at: holding 2, type: text(4 registers)}\n"
    "  region: {at: holding 10, type: u16, choices: {0: metric, 1: us}, default: metric}\n"
    "  power:\n    at: holding 11\n    type: u32\n    unit_by: {parameter: region, 0: kW, 1: hp}\n"
    "    scale_by: {parameter: region, 0: 0.01, 1: 0.1}\n    means: motor.rated_power\n    set: 1\n"
    "    applies_when: {region: [0, 1]}\n    locked_by: {model: 3}\n    settable: stopped\n"
    "  current: {at: holding 20, type: s16, scale: 0.1, percent_of: motor.rated_current, base: sheet,\n"
    "    means: limit.current, accepts: 0 % to 200 %, default: 150 %, no_value: [-1, 0x7FFF]}\n"
    "  up: {at: holding 21, type: u16, unit: s, means: ramp.acceleration_time, special: {0: off},\n"
    "    ramp_span: {by: region, 0: 50 Hz, 1: limit.maximum_frequency}}\n"
    "  state: {at: input 0x10, type: bits, bits: {0: running, 7: tripped}, means: live.state, obtained: measured}\n"
    "  go: {at: coil 5, kind: command, cuts_line: no, writing_changes: [up, current], tuned: false}\n"
    "set_in_force: {parameter: region, 0: 1, 1: terminal}\n"
    "network_watchdog: {parameter: model, off: 0}\nkeeps: after-save\n"
    "save: {at: holding 0x200, write: 1, done_when: 0, within: 5 s}\n";

static const char sheet_text[] =
    "tag: T\nservice: pump\n"
    "drive: {map: m.yaml, rated_current: 4.2 A, overload: 150 % for 60 s, braking_resistor: {resistance: 100 ohm}}\n"
    "line:\n  serial: /dev/ttyUSB0\n  baud: 19200\n  parity: none\n  unit: 4\n"
    "supply: {voltage: 480 V, phases: 3, frequency: 60 Hz}\n"
    "motor:\n  rated_power: 2 hp\n  rated_voltage: 220-240/460 V\n  rated_current: 6.0/3.0 A\n  connected_for: 460 V\n"
    "  rated_speed: 1745 rpm\n  service_factor: 1.15\n  run_to: {voltage: 400 V, frequency: 86.6 Hz}\n"
    "load: {torque: square, inertia: 0.02 kg.m2, overhauling: no}\n"
    "settings:\n  motor.rated_current: {between: [2 A, 3 A]}\n  ramp.acceleration_time: {time: 10 s, from: 0 Hz, to: "
    "60 Hz}\n"
    "  control.start_source: keypad\n  saver: 1\n  boost: off\n"
    "allow:\n  - {means: motor.rated_current, within: 0.1 A, because: rewound}\n"
    "by_hand: [{check: rotation, found: right, by: me, at: now}]\n";

static const char plant_text[] = "plant: North works\nlines:\n"
                                 "  - {name: MCC-1, serial: /dev/ttyUSB0, baud: 19200, drives: [m.yaml]}\n"
                                 "  - name: hall-3\n    host: 192.0.2.10\n    drives: [mut*.yaml]\n";

static void maps(void **state)
{
    (void)state;
    try_mutants(map_text, load_map, 0x2545f491);
}

static void sheets(void **state)
{
    (void)state;
    bench_write("m.yaml", BENCH_SHEET_MAP);
    try_mutants(sheet_text, load_sheet, 0x9e3779b9);
}

static void plants(void **state)
{
    (void)state;
    bench_write("m.yaml", "");
    try_mutants(plant_text, load_plant, 0x61c88647);
}

static void undamaged(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool (*load)(struct problems *problems);
    } files[] = {{map_text, load_map}, {sheet_text, load_sheet}, {plant_text, load_plant}};
    bench_write("m.yaml", BENCH_SHEET_MAP);
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        struct problems problems = {0};
        bench_write("mutant.yaml", files[i].text);
        bool fine = files[i].load(&problems);
        bench_print("error", &problems.errors);
        assert_true(fine);
        problems_free(&problems);
    }
}

/* The file ends anywhere. */
static void cut_short(void **state)
{
    (void)state;
    for (size_t length = 0; length < strlen(map_text); length += 3) {
        struct problems problems = {0};
        bench_write_bytes("mutant.yaml", map_text, length);
        check_loads_or_tells(load_map(&problems), &problems);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(undamaged), cmocka_unit_test(maps),      cmocka_unit_test(sheets),
        cmocka_unit_test(plants),    cmocka_unit_test(cut_short),
    };
    return cmocka_run_group_tests_name("files_mutation", tests, bench_open, bench_close);
}
