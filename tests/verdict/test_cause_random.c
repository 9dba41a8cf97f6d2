/* SPDX-License-Identifier: MIT */
/* Ten thousand motors and register scales from a seed: one mistake of each kind is made in each, and the cause that is
 * named first is that mistake wherever the value itself can tell; a drive without mistakes never differs.
 *
 * A mistake is distinguishable where it leaves a value that differs, and no mistake of another kind comes as near to
 * it: leaves the same raw value in that register, or is meant within half a step of it. All mistakes are computed here,
 * without the code under test. */
#include "verdict/cause_bench.h"

/* The whole number is run without sanitizers: see tests/CMakeLists.txt. */
#ifndef ASLEFT_TRIALS
#define ASLEFT_TRIALS 1000
#endif
enum { MOTORS = ASLEFT_TRIALS, DEFAULT_SEED = 20260131, KINDS = CAUSE_UNKNOWN + 1, MOST_SEEDS = 400 };

/* xorshift64*: the same motors on every machine. */
static uint64_t next_random(uint64_t *random)
{
    *random ^= *random >> 12;
    *random ^= *random << 25;
    *random ^= *random >> 27;
    return *random * UINT64_C(2685821657736338717);
}

static size_t choose(uint64_t *random, size_t count)
{
    return (size_t)((next_random(random) >> 16) % count);
}

static double between(uint64_t *random, double low, double high)
{
    return low + (high - low) * ((double)(next_random(random) >> 11) / 9007199254740992.0);
}

static double pick(uint64_t *random, const double *values, size_t count)
{
    return values[choose(random, count)];
}
#define PICK(random, ...)                                                                                              \
    pick(random, (const double[]){__VA_ARGS__}, sizeof((const double[]){__VA_ARGS__}) / sizeof(double))

/* The registers of every drive here, in the order of their addresses. */
enum {
    VOLTAGE,
    CURRENT,
    FREQUENCY,
    SPEED,
    POWER,
    BASE_VOLTAGE,
    LOWEST,
    HIGHEST,
    SIGNAL,
    RAMP,
    LIMIT,
    SERIAL,
    FIRMWARE,
    REGISTERS,
};

/* A value that somebody may have left in one register, or in a pair. */
struct seed {
    enum cause_kind kind;
    size_t parameter;
    uint32_t raw;
    double value; /* as it was typed in, or NAN */
    bool paired;  /* with `other_raw` in the other limit */
    size_t other;
    uint32_t other_raw;
};

struct drive {
    struct bench bench;
    uint32_t right[REGISTERS]; /* raw */
    double due[REGISTERS];     /* in the register's unit */
    bool no_default[REGISTERS];
    double factory[REGISTERS];
    double most[REGISTERS]; /* what the register accepts; INFINITY */
    /* the plate: connected and other column */
    double other_v, other_a, supply_v, partner_power, exact_power, poles, mains_hz;
    struct seed seeds[MOST_SEEDS];
    size_t seed_count;
};

static struct quantity rounded(double value, int decimals, enum unit unit)
{
    double ten = pow(10, decimals);
    return (struct quantity){.given = true, .value = round(value * ten) / ten, .unit = unit, .rounding = 0.5 / ten};
}

/* Three significant digits, as plates have them. */
static struct quantity stamped(double value, enum unit unit)
{
    return rounded(value, value < 1 ? 3 : value < 10 ? 2 : value < 100 ? 1 : 0, unit);
}

/* NEMA: hp, 230/460 V at 60 Hz. IEC: kW, 230/400 or 400/690 V at 50 Hz. Currents, speeds and slip as catalogues have
 * them; common practice, no source. */
static void invent_plate(uint64_t *random, struct drive *drive)
{
    struct sheet *sheet = &drive->bench.sheet;
    static const double ratings[][2] = {{0.5, 0.37}, {0.75, 0.55}, {1, 0.75}, {1.5, 1.1}, {2, 1.5}, {3, 2.2},
                                        {5, 3.7},    {7.5, 5.5},   {10, 7.5}, {15, 11},   {20, 15}, {30, 22}};
    const double *rating = ratings[choose(random, sizeof ratings / sizeof ratings[0])];
    bool nema = choose(random, 2) == 0;
    double low_v = nema ? 230 : PICK(random, 230, 400);
    double high_v = nema ? 460 : low_v == 230 ? 400 : 690;
    drive->mains_hz = nema ? 60 : 50;
    drive->poles = 2 * (double)(1 + choose(random, 3));
    double slip = between(random, 0.015, 0.05);
    double high_a = rating[1] * 1000 / (sqrt(3) * high_v * between(random, 0.5, 0.8));
    struct quantity power = nema ? rounded(rating[0], 2, UNIT_HP) : rounded(rating[1], 2, UNIT_KW);
    const double volts[] = {low_v, high_v};
    size_t connected = choose(random, 2);
    sheet->motor = (struct motor){.given = true,
                                  .columns = memory_new(2, sizeof(struct plate_column)),
                                  .column_count = 2,
                                  .connected = connected,
                                  .connected_given = true};
    for (size_t i = 0; i < 2; i++)
        sheet->motor.columns[i] =
            (struct plate_column){.voltage_low = rounded(volts[i], 0, UNIT_V),
                                  .voltage_high = rounded(volts[i], 0, UNIT_V),
                                  .frequency = rounded(drive->mains_hz, 0, UNIT_HZ),
                                  .power = power,
                                  .current = stamped(i == 1 ? high_a : high_a * high_v / low_v, UNIT_A),
                                  .speed = rounded(120 * drive->mains_hz / drive->poles * (1 - slip), 0, UNIT_RPM)};
    const struct plate_column *own = &sheet->motor.columns[connected], *other = &sheet->motor.columns[1 - connected];
    drive->other_v = other->voltage_low.value;
    drive->other_a = other->current.value;
    drive->due[VOLTAGE] = drive->due[BASE_VOLTAGE] = own->voltage_low.value;
    drive->due[CURRENT] = own->current.value;
    drive->due[FREQUENCY] = drive->mains_hz;
    drive->due[SPEED] = own->speed.value;
    drive->supply_v = nema ? (connected == 0 ? 240 : 480) : own->voltage_low.value * PICK(random, 1.0, 1.05, 1.1);
    drive->supply_v = round(drive->supply_v);
    sheet->supply = (struct supply){true, rounded(drive->supply_v, 0, UNIT_V), rounded(drive->mains_hz, 0, UNIT_HZ), 3};
    drive->exact_power = power.value;
    drive->partner_power = nema ? rating[1] : rating[0];
}

static void add_register(uint64_t *random, struct drive *drive, size_t index, enum means means, enum value_type type,
                         double scale, enum unit unit)
{
    char name[8];
    (void)snprintf(name, sizeof name, "p%zu", index);
    struct parameter *parameter = bench_register(&drive->bench, name, means, type, scale, unit);
    drive->no_default[index] = choose(random, 3) == 0;
    drive->most[index] = INFINITY;
    /* somewhere else than what is due, on a step of the register */
    double factory = drive->due[index] * between(random, 0.3, 2.5);
    drive->factory[index] = round(factory / scale) * scale;
    if (!drive->no_default[index])
        parameter->default_value = (struct quantity){.given = true, .value = drive->factory[index], .unit = unit};
    if (choose(random, 4) == 0 && drive->due[index] > 0 && index != FREQUENCY) {
        drive->most[index] = round(drive->due[index] * 3 / scale) * scale;
        parameter->accepts_high =
            (struct bound){.kind = BOUND_VALUE, .value = {.given = true, .value = drive->most[index], .unit = unit}};
    }
}

static uint32_t raw_of(const struct drive *drive, size_t index, double value)
{
    const struct parameter *parameter = &drive->bench.map.parameters[index];
    int64_t count = llround(value / parameter->scale);
    return parameter->words == 2 ? (uint32_t)count : (uint32_t)count & 0xffff;
}

static void add_setting(struct drive *drive, enum means means, double value, enum unit unit)
{
    bench_setting(&drive->bench, means, SETTING_QUANTITY, NULL, NULL);
    struct setting *setting = &drive->bench.sheet.settings[drive->bench.sheet.setting_count - 1];
    setting->low = setting->high = (struct quantity){.given = true, .value = value, .unit = unit};
}

static void invent_registers(uint64_t *random, struct drive *drive)
{
    double wide = PICK(random, 0, 1);
    bool hp = choose(random, 2) == 0;
    double kw_due = drive->bench.sheet.motor.columns[0].power.unit == UNIT_HP ? drive->exact_power * 0.74569987158
                                                                              : drive->exact_power;
    drive->due[POWER] = hp ? kw_due / 0.74569987158 : kw_due;
    drive->due[LOWEST] = round(between(random, 5, 25));
    drive->due[HIGHEST] = round(between(random, 45, 90));
    drive->due[SIGNAL] = -round(between(random, 2, 30));
    drive->due[RAMP] = round(between(random, 2, 60));
    drive->due[LIMIT] = round(between(random, 5, 40)) / 2;
    drive->due[SERIAL] = round(between(random, 1000, 60000));
    drive->due[FIRMWARE] = round(between(random, 100, 900)) / 100;
    add_setting(drive, MEANS_LIMIT_MINIMUM_FREQUENCY, drive->due[LOWEST], UNIT_HZ);
    add_setting(drive, MEANS_LIMIT_MAXIMUM_FREQUENCY, drive->due[HIGHEST], UNIT_HZ);
    add_setting(drive, MEANS_ANALOG_LOW_FREQUENCY, drive->due[SIGNAL], UNIT_HZ);
    add_setting(drive, MEANS_RAMP_ACCELERATION_TIME, drive->due[RAMP], UNIT_S);
    add_setting(drive, MEANS_LIMIT_CURRENT, drive->due[LIMIT], UNIT_A);
    add_register(random, drive, VOLTAGE, MEANS_MOTOR_RATED_VOLTAGE, TYPE_U16, PICK(random, 1, 0.1), UNIT_V);
    add_register(random, drive, CURRENT, MEANS_MOTOR_RATED_CURRENT, wide > 0 ? TYPE_U32 : TYPE_U16,
                 PICK(random, 0.1, 0.01), UNIT_A);
    add_register(random, drive, FREQUENCY, MEANS_MOTOR_RATED_FREQUENCY, TYPE_U16, PICK(random, 1, 0.1, 0.01), UNIT_HZ);
    add_register(random, drive, SPEED, MEANS_MOTOR_RATED_SPEED, wide > 0 ? TYPE_U32 : TYPE_U16,
                 wide > 0 ? PICK(random, 1, 0.1, 0.01) : 1, UNIT_RPM);
    add_register(random, drive, POWER, MEANS_MOTOR_RATED_POWER, TYPE_U16, PICK(random, 0.01, 0.001),
                 hp ? UNIT_HP : UNIT_KW);
    add_register(random, drive, BASE_VOLTAGE, MEANS_OUTPUT_BASE_VOLTAGE, TYPE_U16, PICK(random, 1, 0.1), UNIT_V);
    add_register(random, drive, LOWEST, MEANS_LIMIT_MINIMUM_FREQUENCY, TYPE_U16, PICK(random, 0.1, 0.01), UNIT_HZ);
    add_register(random, drive, HIGHEST, MEANS_LIMIT_MAXIMUM_FREQUENCY, TYPE_U16, PICK(random, 0.1, 0.01), UNIT_HZ);
    add_register(random, drive, SIGNAL, MEANS_ANALOG_LOW_FREQUENCY, choose(random, 2) == 0 ? TYPE_S16 : TYPE_U16,
                 PICK(random, 0.1, 0.01), UNIT_HZ);
    add_register(random, drive, RAMP, MEANS_RAMP_ACCELERATION_TIME, TYPE_U32, PICK(random, 0.1, 0.01), UNIT_S);
    drive->bench.map.parameters[RAMP].ramp_span =
        (struct ramp_span){.given = true, .means = MEANS_LIMIT_MAXIMUM_FREQUENCY};
    add_register(random, drive, LIMIT, MEANS_LIMIT_CURRENT, TYPE_U16, PICK(random, 0.1, 0.01), UNIT_A);
    if (choose(random, 3) == 0) { /* a drive that is too small for what is asked of it */
        struct parameter *limit = &drive->bench.map.parameters[LIMIT];
        drive->most[LIMIT] = round(drive->due[LIMIT] * between(random, 0.5, 0.9) / limit->scale) * limit->scale;
        limit->accepts_high =
            (struct bound){.kind = BOUND_VALUE, .value = {.given = true, .value = drive->most[LIMIT], .unit = UNIT_A}};
    }
    add_register(random, drive, SERIAL, MEANS_DRIVE_SERIAL_NUMBER, TYPE_U32, 1, UNIT_NONE);
    add_register(random, drive, FIRMWARE, MEANS_DRIVE_FIRMWARE, TYPE_U16, 0.01, UNIT_NONE);
    drive->bench.sheet.drive.serial_number = text_format("%.0f", drive->due[SERIAL]);
    drive->bench.sheet.drive.firmware = text_format("%.2f", drive->due[FIRMWARE]);
}

static void add_seed(struct drive *drive, enum cause_kind kind, size_t parameter, uint32_t raw)
{
    assert_true(drive->seed_count < MOST_SEEDS);
    drive->seeds[drive->seed_count++] = (struct seed){.kind = kind, .parameter = parameter, .raw = raw, .value = NAN};
}

/* A value that was typed in; what the register cannot hold was not. */
static void add_typed(struct drive *drive, enum cause_kind kind, size_t parameter, double value)
{
    const struct parameter *row = &drive->bench.map.parameters[parameter];
    double count = round(value / row->scale);
    double most = row->words == 2 ? 4294967295.0 : row->type == TYPE_S16 ? 32767 : 65535;
    if (count == 0 || count > most || count < (row->type == TYPE_S16 ? -32768 : 0))
        return;
    add_seed(drive, kind, parameter, raw_of(drive, parameter, value));
    drive->seeds[drive->seed_count - 1].value = value;
}

/* What can happen to any register. */
static void seed_anywhere(struct drive *drive, size_t i)
{
    const struct parameter *row = &drive->bench.map.parameters[i];
    uint32_t right = drive->right[i];
    for (int exponent = -3; exponent <= 3; exponent++)
        if (exponent != 0)
            add_typed(drive, CAUSE_DECIMAL_SHIFT, i, drive->due[i] * pow(10, exponent));
    uint32_t bytes = (right & 0x00ff00ffU) << 8 | (right >> 8 & 0x00ff00ffU);
    add_seed(drive, CAUSE_BYTES_SWAPPED, i, bytes);
    if (row->words == 2) {
        add_seed(drive, CAUSE_BYTES_SWAPPED, i, bytes << 16 | bytes >> 16);
        add_seed(drive, CAUSE_WORDS_SWAPPED, i, right << 16 | right >> 16);
    }
    if (drive->no_default[i]) {
        add_seed(drive, CAUSE_NEVER_SET, i, 0);
        add_seed(drive, CAUSE_NEVER_SET, i, row->words == 2 ? UINT32_MAX : UINT16_MAX);
    } else {
        add_seed(drive, CAUSE_FACTORY_DEFAULT, i, raw_of(drive, i, drive->factory[i]));
    }
    if (drive->most[i] < drive->due[i])
        add_seed(drive, CAUSE_TRUNCATED_TO_RANGE, i, raw_of(drive, i, drive->most[i]));
    if (right > UINT16_MAX && row->words == 2)
        add_seed(drive, CAUSE_TRUNCATED_TO_RANGE, i, right & 0xffff);
}

static void seed_plate(struct drive *drive)
{
    const double other_hz = 110 - drive->mains_hz;
    const size_t voltages[] = {VOLTAGE, BASE_VOLTAGE};
    static const double pairs[][2] = {{120, 208}, {220, 380}, {230, 400}, {240, 415}, {277, 480},
                                      {347, 600}, {380, 660}, {400, 690}, {415, 720}};
    for (size_t i = 0; i < 2; i++) {
        size_t at = voltages[i];
        add_typed(drive, CAUSE_OTHER_VOLTAGE_COLUMN, at, drive->other_v);
        add_typed(drive, CAUSE_SUPPLY_VOLTAGE_FOR_MOTOR_VOLTAGE, at, drive->supply_v);
        add_typed(drive, CAUSE_STAR_FOR_DELTA, at, drive->due[at] * sqrt(3));
        add_typed(drive, CAUSE_STAR_FOR_DELTA, at, drive->due[at] / sqrt(3));
        for (size_t j = 0; j < sizeof pairs / sizeof pairs[0]; j++)
            if (drive->due[at] == pairs[j][0] || drive->due[at] == pairs[j][1])
                add_typed(drive, CAUSE_STAR_FOR_DELTA, at, pairs[j][drive->due[at] == pairs[j][0]]);
    }
    add_typed(drive, CAUSE_OTHER_VOLTAGE_COLUMN, CURRENT, drive->other_a);
    add_typed(drive, CAUSE_STAR_FOR_DELTA, CURRENT, drive->due[CURRENT] * sqrt(3));
    add_typed(drive, CAUSE_STAR_FOR_DELTA, CURRENT, drive->due[CURRENT] / sqrt(3));
    add_typed(drive, CAUSE_OTHER_MAINS_FREQUENCY, FREQUENCY, other_hz);
    if (drive->due[HIGHEST] == drive->mains_hz)
        add_typed(drive, CAUSE_OTHER_MAINS_FREQUENCY, HIGHEST, other_hz);
    add_typed(drive, CAUSE_OTHER_MAINS_FREQUENCY, SPEED, drive->due[SPEED] * other_hz / drive->mains_hz);
    add_typed(drive, CAUSE_OTHER_MAINS_FREQUENCY, SPEED,
              drive->due[SPEED] + 120 * (other_hz - drive->mains_hz) / drive->poles);
    add_typed(drive, CAUSE_SYNCHRONOUS_SPEED, SPEED, 120 * drive->mains_hz / drive->poles);
    bool hp_register = drive->bench.map.parameters[POWER].unit == UNIT_HP;
    bool hp_plate = drive->bench.sheet.motor.columns[0].power.unit == UNIT_HP;
    enum cause_kind kind = hp_register ? CAUSE_KILOWATT_FOR_HORSEPOWER : CAUSE_HORSEPOWER_FOR_KILOWATT;
    add_typed(drive, kind, POWER, hp_plate == hp_register ? drive->partner_power : drive->exact_power);
    add_typed(drive, kind, POWER, drive->due[POWER] * (hp_register ? 0.74569987158 : 1 / 0.74569987158));
}

static void seed_others(uint64_t *random, struct drive *drive)
{
    add_typed(drive, CAUSE_SIGN_LOST, SIGNAL, -drive->due[SIGNAL]);
    if (drive->bench.map.parameters[SIGNAL].type == TYPE_U16)
        add_seed(drive, CAUSE_SIGN_LOST, SIGNAL, raw_of(drive, SIGNAL, drive->due[SIGNAL]));
    const size_t limits[] = {LOWEST, HIGHEST};
    for (size_t i = 0; i < 2; i++) {
        size_t here = limits[i], there = limits[1 - i];
        drive->seeds[drive->seed_count++] = (struct seed){.kind = CAUSE_LIMITS_EXCHANGED,
                                                          .parameter = here,
                                                          .raw = raw_of(drive, here, drive->due[there]),
                                                          .value = NAN,
                                                          .paired = true,
                                                          .other = there,
                                                          .other_raw = raw_of(drive, there, drive->due[here])};
    }
    add_seed(drive, CAUSE_DRIVE_EXCHANGED, SERIAL, drive->right[SERIAL] + 1 + (uint32_t)choose(random, 999));
    add_seed(drive, CAUSE_FIRMWARE_CHANGED, FIRMWARE, drive->right[FIRMWARE] + 1 + (uint32_t)choose(random, 99));
}

/* What is negative stands in an unsigned register only because the map is wrong. */
static bool is_unsigned_signal(const struct drive *drive, size_t i)
{
    return i == SIGNAL && drive->bench.map.parameters[i].type == TYPE_U16;
}

static void invent(uint64_t *random, struct drive *drive)
{
    *drive = (struct drive){.bench.map = map_start(choose(random, 2) == 0 ? ORDER_HIGH_FIRST : ORDER_LOW_FIRST)};
    invent_plate(random, drive);
    invent_registers(random, drive);
    for (size_t i = 0; i < REGISTERS; i++)
        drive->right[i] = raw_of(drive, i, drive->due[i]);
    for (size_t i = 0; i < SERIAL; i++)
        if (!is_unsigned_signal(drive, i))
            seed_anywhere(drive, i);
    seed_plate(drive);
    seed_others(random, drive);
    setpoints_compute(&drive->bench.sheet, &drive->bench.map, &drive->bench.setpoints);
}

static void answer_right(struct drive *drive)
{
    for (size_t i = 0; i < REGISTERS; i++)
        bench_answer(&drive->bench, i, drive->right[i]);
}

/* As bench_explain, without computing the setpoints anew. */
static void explain(struct bench *bench)
{
    findings_free(&bench->findings);
    free(bench->remark);
    readings_decode(&bench->map, &bench->setpoints, &bench->readings);
    judge(&bench->map, &bench->setpoints, &bench->readings, &bench->findings);
    bench->remark = causes_find(&bench->map, &bench->sheet, &bench->setpoints, &bench->readings, &bench->findings);
}

static void check_right(struct drive *drive)
{
    answer_right(drive);
    explain(&drive->bench);
    for (size_t i = 0; i < REGISTERS; i++) {
        const struct finding *finding = &drive->bench.findings.items[i];
        if (finding->verdict != VERDICT_AGREES && !is_unsigned_signal(drive, i))
            fail_msg("%s: found %g, due %g to %g", finding->parameter, finding->found.number, finding->expected.low,
                     finding->expected.high);
        if (finding->verdict == VERDICT_AGREES)
            assert_int_equal(finding->cause.kind, CAUSE_NONE);
    }
}

static bool is_as_near(const struct drive *drive, const struct seed *other, const struct seed *seed)
{
    double scale = drive->bench.map.parameters[seed->parameter].scale;
    return other->raw == seed->raw || fabs(other->value - seed->raw * scale) <= scale / 2 * (1 + 1e-6);
}

static bool is_distinguishable(const struct drive *drive, const struct seed *seed)
{
    for (size_t i = 0; i < drive->seed_count; i++) {
        const struct seed *other = &drive->seeds[i];
        if (other->kind != seed->kind && other->parameter == seed->parameter && is_as_near(drive, other, seed) &&
            (!other->paired || seed->paired))
            return false;
    }
    return true;
}

struct tally {
    size_t seeded, distinguishable, first, named;
};

static bool names(const struct finding *finding, enum cause_kind kind)
{
    bool named = finding->cause.kind == kind;
    for (size_t i = 0; i < finding->also_count; i++)
        named = named || finding->also[i].kind == kind;
    return named;
}

static void count_one(const struct drive *drive, const struct seed *seed, struct tally *tally, bool quiet)
{
    const struct finding *finding = bench_finding(&drive->bench, drive->bench.map.parameters[seed->parameter].name);
    if (finding->verdict != VERDICT_DIFFERS)
        return;
    bool distinguishable = is_distinguishable(drive, seed);
    tally->seeded++;
    tally->named += names(finding, seed->kind);
    tally->distinguishable += distinguishable;
    tally->first += distinguishable && finding->cause.kind == seed->kind;
    if (distinguishable && finding->cause.kind != seed->kind && !quiet)
        print_message("%s: raw %u of %g (found %g): %s, not %s: %s\n", finding->parameter, seed->raw,
                      drive->due[seed->parameter], finding->found.number, cause_word(finding->cause.kind),
                      cause_word(seed->kind), finding->cause.text == NULL ? "" : finding->cause.text);
}

/* Three drives of four are asked for the wrong registers alone, which takes less time. */
static void ask_for(struct drive *drive, const struct seed *seed, bool all)
{
    for (size_t i = 0; i < REGISTERS; i++)
        drive->bench.readings.items[i].asked = all || i == seed->parameter || (seed->paired && i == seed->other);
}

/* One seed of that kind, by lot, in a drive that is right elsewhere. */
static void try_kind(uint64_t *random, struct drive *drive, enum cause_kind kind, bool all, struct tally *tally)
{
    size_t candidates[MOST_SEEDS], count = 0;
    for (size_t i = 0; i < drive->seed_count; i++)
        if (drive->seeds[i].kind == kind)
            candidates[count++] = i;
    if (count == 0)
        return;
    const struct seed *seed = &drive->seeds[candidates[choose(random, count)]];
    bench_answer(&drive->bench, seed->parameter, seed->raw);
    if (seed->paired)
        bench_answer(&drive->bench, seed->other, seed->other_raw);
    ask_for(drive, seed, all);
    explain(&drive->bench);
    count_one(drive, seed, tally, tally->distinguishable - tally->first > 3);
    bench_answer(&drive->bench, seed->parameter, drive->right[seed->parameter]);
    if (seed->paired)
        bench_answer(&drive->bench, seed->other, drive->right[seed->other]);
}

/* The whole map one address off: every register that differs and whose words were read must say so. */
static void try_address(uint64_t *random, struct drive *drive, struct tally *tally)
{
    enum { MOST_WORDS = 2 * REGISTERS + 2 };
    const struct map *map = &drive->bench.map;
    uint16_t memory[MOST_WORDS] = {0};
    size_t first = map->parameters[0].at.at;
    memory[0] = (uint16_t)next_random(random);
    size_t end = 0;
    for (size_t i = 0; i < REGISTERS; i++) {
        end = map->parameters[i].at.at - first + 1;
        codec_words(drive->right[i], map->parameters[i].words, map->modbus.word_order, &memory[end]);
        end += map->parameters[i].words;
    }
    memory[end] = (uint16_t)next_random(random);
    bool behind = choose(random, 2) == 0;
    for (size_t i = 0; i < REGISTERS; i++) {
        size_t at = map->parameters[i].at.at - first + (behind ? 2 : 0);
        reading_put(&drive->bench.readings, i, &memory[at], map->parameters[i].words);
    }
    explain(&drive->bench);
    for (size_t i = 1; i + 1 < SERIAL; i++) { /* at the ends the neighbour was not read */
        const struct seed seed = {
            .kind = CAUSE_ADDRESS_OFF_BY_ONE,
            .parameter = i,
            .raw = codec_raw(drive->bench.readings.items[i].raw, map->parameters[i].words, map->modbus.word_order)};
        if (!is_unsigned_signal(drive, i))
            count_one(drive, &seed, tally, tally->distinguishable - tally->first > 3);
    }
    answer_right(drive);
}

static void each_mistake_is_named_first(void **state)
{
    (void)state;
    const char *given = getenv("ASLEFT_SEED");
    uint64_t random = given == NULL ? DEFAULT_SEED : strtoull(given, NULL, 10);
    print_message("seed %llu (set ASLEFT_SEED for another)\n", (unsigned long long)random);
    struct tally tallies[KINDS] = {0};
    struct drive *drive = memory_new(1, sizeof *drive);
    for (int i = 0; i < MOTORS; i++) {
        invent(&random, drive);
        check_right(drive);
        for (int kind = CAUSE_NONE + 1; kind < KINDS; kind++)
            try_kind(&random, drive, (enum cause_kind)kind, i % 4 == 0, &tallies[kind]);
        try_address(&random, drive, &tallies[CAUSE_ADDRESS_OFF_BY_ONE]);
        bench_free(&drive->bench);
    }
    free(drive);
    for (int kind = CAUSE_NONE + 1; kind < CAUSE_UNKNOWN; kind++) {
        const struct tally *tally = &tallies[kind];
        print_message("%-34s %6zu seeded, %6zu named, %6zu distinguishable, %6zu first\n",
                      cause_word((enum cause_kind)kind), tally->seeded, tally->named, tally->distinguishable,
                      tally->first);
        assert_true(tally->distinguishable >= MOTORS / 10);
        assert_true((double)tally->first >= 0.99 * (double)tally->distinguishable);
        assert_true((double)tally->named >= 0.99 * (double)tally->seeded);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_mistake_is_named_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
