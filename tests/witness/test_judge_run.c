/* SPDX-License-Identifier: MIT */
/* Runs of known truth, and published points as they would be read, judged. */
#include "runs.h"

#include "motor/quantity.h"
#include "motor/setpoints.h"
#include "witness/judge_run.h"

struct plate {
    const char *power, *voltage, *current, *frequency, *speed;
};

/* A sheet with one motor, its setpoints, and a run with its verdicts. */
struct scene {
    struct sheet sheet;
    struct map map;
    struct setpoints setpoints;
    struct course frequency, command, state, voltage, current, speed, bus;
    struct sight sight;
    struct samples samples;
    struct witnessed witnessed;
    uint64_t random;
};

static struct quantity quantity_of(const char *text)
{
    struct quantity quantity = {0};
    for (int dimension = DIMENSION_NONE; dimension <= DIMENSION_SPEED_RATE; dimension++)
        if (quantity_parse(text, (enum dimension)dimension, &quantity, NULL))
            return quantity;
    fail_msg("\"%s\" is no quantity", text);
    return quantity;
}

static struct setting *add_setting(struct scene *scene, enum means means, const char *value)
{
    struct sheet *sheet = &scene->sheet;
    sheet->settings = memory_grow(sheet->settings, sheet->setting_count, sizeof *sheet->settings);
    struct setting *setting = &sheet->settings[sheet->setting_count++];
    setting->name = text_copy(means_table[means].name);
    setting->means = means;
    setting->kind = SETTING_QUANTITY;
    setting->low = setting->high = quantity_of(value);
    return setting;
}

static void add_parameter(struct map *map, enum means means)
{
    map->parameters = memory_grow(map->parameters, map->count, sizeof *map->parameters);
    struct parameter *parameter = &map->parameters[map->count++];
    parameter->name = text_copy(means_table[means].name);
    parameter->scale = 1;
    parameter->means = means;
}

static void becomes(struct course *course, double at_s, double value)
{
    course_add(course, at_s, 1e-6, value, 0);
}

/* 460 V, 60 Hz, 4 poles, with 10 s up from 0 to 60 Hz from second 2 on, and 20 s down from second 20 on. */
static struct scene *scene_of(const struct plate *plate)
{
    struct scene *scene = memory_new(1, sizeof *scene);
    struct motor *motor = &scene->sheet.motor;
    motor->given = motor->connected_given = true;
    motor->columns = memory_new(1, sizeof *motor->columns);
    motor->column_count = 1;
    motor->columns[0] = (struct plate_column){
        .voltage_low = quantity_of(plate->voltage),
        .voltage_high = quantity_of(plate->voltage),
        .frequency = quantity_of(plate->frequency),
        .power = quantity_of(plate->power),
        .current = quantity_of(plate->current),
        .speed = quantity_of(plate->speed),
    };
    for (int means = MEANS_NONE + 1; means < MEANS_COUNT; means++)
        add_parameter(&scene->map, (enum means)means);
    add_setting(scene, MEANS_LIMIT_MAXIMUM_FREQUENCY, "60 Hz");
    add_setting(scene, MEANS_RAMP_ACCELERATION_TIME, "10.0 s");
    add_setting(scene, MEANS_RAMP_DECELERATION_TIME, "20.0 s");
    scene->sheet.supply =
        (struct supply){.given = true, .voltage = quantity_of("460 V"), .frequency = quantity_of("60 Hz"), .phases = 3};
    scene->random = 99;
    course_add(&scene->frequency, 2, 10, 60, 0);
    course_add(&scene->frequency, 20, 20, 0, 0);
    becomes(&scene->command, 1, 60);
    scene->sight = (struct sight){.every_s = 0.25, .jitter_s = 0.03, .step = 0.01, .to_s = 45};
    return scene;
}

static const struct plate usual_plate = {"2 hp", "460 V", "3.0 A", "60 Hz", "1745 rpm"};

static struct series *watch(struct scene *scene, enum means means, const struct course *course)
{
    return samples_watch(&scene->samples, means, course, &scene->sight, &scene->random);
}

static void judge_scene(struct scene *scene)
{
    setpoints_compute(&scene->sheet, &scene->map, &scene->setpoints);
    judge_run(&scene->sheet, &scene->setpoints, &scene->samples, &scene->witnessed);
}

static void scene_free(struct scene *scene)
{
    witnessed_free(&scene->witnessed);
    samples_free(&scene->samples);
    setpoints_free(&scene->setpoints);
    map_free(&scene->map);
    sheet_free(&scene->sheet);
    free(scene);
}

static const struct measure *measure_of(const struct scene *scene, const char *name)
{
    const struct measure *measure = witnessed_find(&scene->witnessed, name);
    if (measure == NULL)
        fail_msg("nothing was measured as %s", name);
    assert_non_null(measure->basis);
    return measure;
}

static void assert_verdict(const struct measure *measure, enum verdict verdict)
{
    if (measure->verdict != verdict)
        fail_msg("%s is %s: %s", measure->name, verdict_word(measure->verdict), measure->basis);
}

static void assert_says(const char *text, const char *part)
{
    if (text == NULL || strstr(text, part) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", text, part);
}

static void assert_remarked(const struct scene *scene, const char *part)
{
    char *all = texts_join(&scene->witnessed.remarks, "\n");
    assert_says(all, part);
    free(all);
}

static struct scene *ramp_scene(void)
{
    struct scene *scene = scene_of(&usual_plate);
    (void)watch(scene, MEANS_LIVE_FREQUENCY_COMMAND, &scene->command);
    return scene;
}

/* Source: proportion. A 10 s ramp over 0 to 60 Hz takes 4.167 s from 20 to 45 Hz and 8.333 s from 0 to 50 Hz. */
static void a_part_of_the_ramp_is_scaled_to_the_span(void **state)
{
    (void)state;
    static const double parts[][3] = {{20, 45, 4.1667}, {0, 50, 8.3333}, {0, 60, 10}};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        struct scene *scene = scene_of(&usual_plate);
        memset(&scene->frequency, 0, sizeof scene->frequency);
        scene->command.from = scene->frequency.from = parts[i][0];
        scene->command.legs[0].to = parts[i][1];
        course_add(&scene->frequency, 2, parts[i][2], parts[i][1], 0);
        (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
        (void)watch(scene, MEANS_LIVE_FREQUENCY_COMMAND, &scene->command);
        judge_scene(scene);
        const struct measure *time = measure_of(scene, "acceleration_time");
        assert_near(time->value, 10, 0.1); /* 1 % */
        assert_verdict(time, VERDICT_AGREES);
        assert_true(time->expected.kind == EXPECTED_RANGE && time->unit == UNIT_S);
        assert_near(time->expected.nominal, 10, 1e-9);
        scene_free(scene);
    }
}

/* Source: reasoning. Polls 0.25 s apart know each end of a 10 s ramp to a poll: +-0.5 s at worst. */
static void slow_polls_stay_below_their_worst_case(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    const struct measure *time = measure_of(scene, "acceleration_time");
    assert_true(time->below > 0 && time->below < 0.5 && time->above < 0.5);
    assert_near(time->value, 10, time->below);
    assert_says(time->basis, "10 s for 0 to 60 Hz (");
    assert_says(time->basis, "samples of live.output_frequency at 6 Hz/s between 0 and 60 Hz; the job asks for 10.0 s");
    assert_near(measure_of(scene, "deceleration_time")->value, 20, 0.1);
    scene_free(scene);
}

static void a_wrong_ramp_differs(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    scene->frequency.legs[0].took_s = 12;
    scene->frequency.legs[1].took_s = 8;
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_DIFFERS);
    assert_verdict(measure_of(scene, "deceleration_time"), VERDICT_DIFFERS);
    assert_near(measure_of(scene, "acceleration_time")->value, 12, 0.12);
    scene_free(scene);
}

static void few_samples_cannot_tell(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    scene->frequency.legs[0].took_s = 11;
    scene->sight = (struct sight){.every_s = 2.4, .jitter_s = 0.3, .unknown_s = 1.2, .step = 0.01, .to_s = 45};
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    const struct measure *time = witnessed_find(&scene->witnessed, "acceleration_time");
    if (time == NULL)
        assert_remarked(scene, "could not be measured");
    else
        assert_verdict(time, VERDICT_UNCHECKED);
    scene_free(scene);
}

static void a_command_that_was_turned_proves_nothing(void **state)
{
    (void)state;
    struct scene *scene = scene_of(&usual_plate);
    memset(&scene->command, 0, sizeof scene->command);
    course_add(&scene->command, 2, 12, 60, 0);
    scene->frequency.legs[0].took_s = 12;
    (void)watch(scene, MEANS_LIVE_FREQUENCY_COMMAND, &scene->command);
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_UNCHECKED);
    assert_says(measure_of(scene, "acceleration_time")->basis, "the frequency command had not reached its end value");
    assert_true(scene->witnessed.measures[0].phase == 1);
    scene_free(scene);
}

static void without_the_command_only_a_straight_ramp_counts(void **state)
{
    (void)state;
    struct scene *scene = scene_of(&usual_plate);
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_AGREES);
    assert_says(measure_of(scene, "acceleration_time")->basis, "the frequency command was not read");
    assert_verdict(measure_of(scene, "deceleration_time"), VERDICT_AGREES);
    scene_free(scene);

    scene = scene_of(&usual_plate); /* a hand on the knob */
    memset(&scene->frequency, 0, sizeof scene->frequency);
    course_add(&scene->frequency, 2, 4, 15, 0);
    course_add(&scene->frequency, 6, 4, 42, 0);
    course_add(&scene->frequency, 10, 4, 60, 0);
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_UNCHECKED);
    scene_free(scene);

    scene = scene_of(&usual_plate); /* not from rest */
    scene->frequency.from = 10;
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_UNCHECKED);
    scene_free(scene);
}

static void a_rounded_ramp_is_told_apart(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    scene->frequency.legs[0].rounded_s = 3;
    scene->frequency.legs[1].begins_s = 24;
    scene->sight.to_s = 50;
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    const struct measure *time = measure_of(scene, "acceleration_time");
    assert_verdict(time, VERDICT_AGREES);
    assert_near(time->value, 10, 0.1);
    assert_says(time->basis, "rounded over");
    assert_near(measure_of(scene, "acceleration_shape_time")->value, 3, 0.2);
    assert_true(scene->witnessed.phases[1].s_shaped && !scene->witnessed.phases[3].s_shaped);
    assert_null(witnessed_find(&scene->witnessed, "deceleration_shape_time"));
    scene_free(scene);

    scene = ramp_scene(); /* 10 s with the rounding in: drives count both ways */
    scene->frequency.legs[0] = (struct leg){2, 8, 60, 2};
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_UNCHECKED);
    assert_says(measure_of(scene, "acceleration_time")->basis, "if the drive counts the rounding in");
    scene_free(scene);
}

static void a_current_at_its_limit_makes_the_time_the_loads(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    scene->frequency.legs[0].took_s = 13;
    scene->sheet.drive.rated_current = quantity_of("3.4 A");
    scene->sheet.drive.overload = quantity_of("150 %");
    becomes(&scene->current, 2, 5.05);
    becomes(&scene->current, 15, 2.4);
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    (void)watch(scene, MEANS_LIVE_OUTPUT_CURRENT, &scene->current);
    judge_scene(scene);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_UNCHECKED);
    assert_says(measure_of(scene, "acceleration_time")->basis, "near its limit of 5.1 A");
    assert_verdict(measure_of(scene, "deceleration_time"), VERDICT_AGREES);
    scene_free(scene);
}

static void a_ramp_that_a_limit_bent_is_the_loads(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    memset(&scene->frequency, 0, sizeof scene->frequency);
    course_add(&scene->frequency, 2, 4, 24, 0);
    course_add(&scene->frequency, 6, 8, 40, 0);
    course_add(&scene->frequency, 14, 3.33, 60, 0);
    becomes(&scene->current, 2, 3);
    becomes(&scene->current, 6, 5);
    becomes(&scene->current, 14, 3);
    becomes(&scene->current, 17.33, 2);
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    (void)watch(scene, MEANS_LIVE_OUTPUT_CURRENT, &scene->current);
    judge_scene(scene);
    assert_true(scene->witnessed.phases[1].stretched);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_UNCHECKED);
    assert_says(measure_of(scene, "acceleration_time")->basis, "held the ramp back");
    scene_free(scene);
}

static void the_drives_own_reference_says_so(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency)->obtained = OBTAINED_COMMANDED;
    judge_scene(scene);
    assert_verdict(measure_of(scene, "acceleration_time"), VERDICT_AGREES);
    assert_says(measure_of(scene, "acceleration_time")->basis, "says nothing of the shaft");
    assert_remarked(scene, "proves nothing of the shaft");
    scene_free(scene);
}

static void an_overshoot_and_a_frequency_too_high(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    memset(&scene->frequency, 0, sizeof scene->frequency);
    course_add(&scene->frequency, 2, 10, 66, 0);
    course_add(&scene->frequency, 12.5, 1, 60, 0);
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    judge_scene(scene);
    assert_near(measure_of(scene, "overshoot")->value, 6, 0.1);
    assert_verdict(measure_of(scene, "highest_frequency"), VERDICT_DIFFERS);
    scene_free(scene);
}

/* Output voltage over frequency with its knee at `base_hz`, `boost_v` at 0. */
static double volts_at(double hz, double base_v, double base_hz, double boost_v)
{
    return hz >= base_hz ? base_v : boost_v + (base_v - boost_v) * hz / base_hz;
}

static void watch_voltage(struct scene *scene, double base_v, double base_hz, double boost_v)
{
    const struct course at_rest = {0};
    struct sight sight = scene->sight;
    sight.step = 0;
    sight.jitter_s = 0;
    struct series *voltage =
        samples_watch(&scene->samples, MEANS_LIVE_OUTPUT_VOLTAGE, &at_rest, &sight, &scene->random);
    voltage->step = 0.1;
    for (size_t i = 0; i < voltage->count; i++) {
        const double hz = course_at(&scene->frequency, (double)voltage->items[i].at_us * 1e-6);
        voltage->items[i].value = hz > 0 ? round(volts_at(hz, base_v, base_hz, boost_v) * 10) / 10 : 0;
    }
}

/* Source: arithmetic. 460/60 = 7.667 V/Hz, 400/50 = 8, 230/50 = 4.6; full voltage from there on. */
static void volts_a_hertz_and_the_knee(void **state)
{
    (void)state;
    static const struct plate plates[] = {{"2 hp", "460 V", "3.0 A", "60 Hz", "1745 rpm"},
                                          {"1.5 kW", "400 V", "3.4 A", "50 Hz", "1440 rpm"},
                                          {"1.5 kW", "230 V", "5.9 A", "50 Hz", "1440 rpm"}};
    static const double base[][2] = {{460, 60}, {400, 50}, {230, 50}};
    for (size_t i = 0; i < 3; i++) {
        struct scene *scene = scene_of(&plates[i]);
        scene->sheet.settings[0].low = scene->sheet.settings[0].high = quantity_of("90 Hz");
        scene->frequency.legs[0].to = 1.5 * base[i][1]; /* source: voltage capped above base frequency */
        (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
        watch_voltage(scene, base[i][0], base[i][1], 0);
        scene->sheet.supply.voltage = quantity_of("480 V");
        judge_scene(scene);
        assert_near(measure_of(scene, "base_frequency")->value, base[i][1], 0.005 * base[i][1]);
        assert_near(measure_of(scene, "base_voltage")->value, base[i][0], 0.5);
        assert_verdict(measure_of(scene, "base_frequency"), VERDICT_AGREES);
        assert_verdict(measure_of(scene, "base_voltage"), VERDICT_AGREES);
        assert_verdict(measure_of(scene, "output_voltage"), VERDICT_AGREES);
        scene_free(scene);
    }
}

/* Source: Dubey, Fundamentals of Electrical Drives 2e, Ex 6.10 p 201 (companion notebook): a motor of 400 V, 50 Hz with
 * constant breakdown torque takes 84.3 / 123.8 / 193.7 / 262.3 / 331.1 / 400 V at 5 / 10 / 20 / 30 / 40 / 50 Hz. */
static void a_boost_is_no_fault(void **state)
{
    (void)state;
    static const double points[][2] = {{5, 84.3}, {10, 123.8}, {20, 193.7}, {30, 262.3}, {40, 331.1}, {50, 400}};
    static const struct plate plate = {"1.5 kW", "400 V", "3.4 A", "50 Hz", "1370 rpm"};
    struct scene *scene = scene_of(&plate);
    memset(&scene->frequency, 0, sizeof scene->frequency);
    for (size_t i = 0; i < 6; i++) {
        course_add(&scene->frequency, 2 + 7 * (double)i, 2, points[i][0], 0);
        course_add(&scene->voltage, 2 + 7 * (double)i, 2, points[i][1], 0);
    }
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    (void)watch(scene, MEANS_LIVE_OUTPUT_VOLTAGE, &scene->voltage);
    judge_scene(scene);
    size_t seen = 0;
    for (size_t i = 0; i < scene->witnessed.measure_count; i++)
        if (strcmp(scene->witnessed.measures[i].name, "output_voltage") == 0) {
            assert_near(scene->witnessed.measures[i].value, points[seen][1], 0.1);
            /* 84.3 V at 5 Hz are 11 % above the line. */
            assert_verdict(&scene->witnessed.measures[i], VERDICT_AGREES);
            seen++;
        }
    assert_int_equal(seen, 6);
    assert_verdict(measure_of(scene, "base_voltage"), VERDICT_AGREES);
    scene_free(scene);
}

static void wrong_base_points_differ(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene(); /* base frequency at 50 instead of 60 Hz: a fifth too much flux below */
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    watch_voltage(scene, 460, 50, 0);
    judge_scene(scene);
    assert_verdict(measure_of(scene, "base_frequency"), VERDICT_DIFFERS);
    scene_free(scene);

    scene = ramp_scene(); /* seen only from the slope: it never goes beyond 40 Hz */
    scene->frequency.legs[0].to = 40;
    scene->command.legs[0].to = 40;
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    watch_voltage(scene, 230, 60, 0);
    judge_scene(scene);
    assert_null(witnessed_find(&scene->witnessed, "base_frequency"));
    assert_near(measure_of(scene, "base_voltage")->value, 230, 3);
    assert_verdict(measure_of(scene, "base_voltage"), VERDICT_DIFFERS);
    scene_free(scene);
}

static void a_square_curve_is_not_continued(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    scene->sheet.load = (struct load){.given = true, .torque = LOAD_SQUARE};
    scene->frequency.legs[0].to = 45;
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    watch_voltage(scene, 460 * 0.5625, 45, 0);
    judge_scene(scene);
    assert_null(witnessed_find(&scene->witnessed, "base_voltage"));
    assert_remarked(scene, "did not go beyond the base frequency");
    assert_verdict(measure_of(scene, "output_voltage"), VERDICT_AGREES);
    scene_free(scene);
}

/* Source: proportion. A ramp that is cut off has few voltages near its highest, and none of them is a top. */
static void a_ramp_that_was_cut_off_has_no_top(void **state)
{
    (void)state;
    for (double cut_s = 2.5; cut_s < 12; cut_s += 0.25) {
        for (int is_square = 0; is_square < 2; is_square++) {
            struct scene *scene = ramp_scene();
            if (is_square == 1)
                scene->sheet.load = (struct load){.given = true, .torque = LOAD_SQUARE};
            scene->sight.every_s = 0.02;
            scene->sight.jitter_s = 0;
            scene->sight.step = 0.1;
            scene->sight.to_s = cut_s;
            (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
            watch_voltage(scene, 460, 60, 0);
            struct series *voltage = &scene->samples.items[scene->samples.count - 1];
            voltage->step = 1; /* coarse, which makes a rise look flat */
            for (size_t v = 0; v < voltage->count; v++)
                voltage->items[v].value = round(voltage->items[v].value);
            judge_scene(scene);
            assert_null(witnessed_find(&scene->witnessed, "base_frequency"));
            const struct measure *base = witnessed_find(&scene->witnessed, "base_voltage");
            if (is_square == 1 || cut_s < 6.9) /* 30 Hz are reached at 7 s */
                assert_null(base);
            else if (cut_s > 7.1)
                assert_verdict(measure_of(scene, "base_voltage"), VERDICT_AGREES);
            scene_free(scene);
        }
    }
}

static struct scene *slip_scene(const struct plate *plate, double hz, double rpm, enum obtained obtained)
{
    struct scene *scene = scene_of(plate);
    memset(&scene->frequency, 0, sizeof scene->frequency);
    course_add(&scene->frequency, 2, 5, hz, 0);
    course_add(&scene->speed, 2, 5, rpm, 0);
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    scene->sight.step = 1;
    watch(scene, MEANS_LIVE_SPEED, &scene->speed)->obtained = obtained;
    judge_scene(scene);
    return scene;
}

/* Source: Guru & Hiziroglu, Electric Machinery and Transformers 3e, Ex 9.1 p 513 (companion notebook): 60 Hz, 4 poles,
 * 1755 rpm: slip 0.025, rotor frequency 1.5 Hz. */
static void slip_from_a_measured_speed(void **state)
{
    (void)state;
    static const struct plate guru = {"10 hp", "460 V", "12.0 A", "60 Hz", "1755 rpm"};
    struct scene *scene = slip_scene(&guru, 60, 1755, OBTAINED_MEASURED);
    const struct measure *slip = measure_of(scene, "slip");
    assert_near(slip->value, 1.5, 0.0015);
    assert_says(slip->basis, "2.5 % of synchronous speed");
    assert_near(slip->below, hypot(0.5 * 4 / 120, 0.005), 1e-6); /* half a step of 1 rpm, and of 0.01 Hz */
    assert_verdict(slip, VERDICT_AGREES);
    scene_free(scene);

    /* Source: n = 120 f / p - load x (synchronous - rated): a 1750 rpm, 60 Hz motor at 30 Hz and full load: 850 rpm. */
    static const struct plate other = {"10 hp", "460 V", "12.0 A", "60 Hz", "1750 rpm"};
    scene = slip_scene(&other, 30, 850, OBTAINED_MEASURED);
    assert_near(measure_of(scene, "slip")->value, 50.0 / 30, 0.001);
    assert_verdict(measure_of(scene, "slip"), VERDICT_AGREES);
    scene_free(scene);

    scene = slip_scene(&other, 60, 1690, OBTAINED_MEASURED); /* more than twice the plate's */
    assert_verdict(measure_of(scene, "slip"), VERDICT_DIFFERS);
    scene_free(scene);
}

static void a_computed_speed_proves_no_slip(void **state)
{
    (void)state;
    static const enum obtained ways[] = {OBTAINED_COMPUTED, OBTAINED_COMMANDED, OBTAINED_UNSAID};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        struct scene *scene = slip_scene(&usual_plate, 60, 1500, ways[i]);
        assert_verdict(measure_of(scene, "slip"), VERDICT_UNCHECKED);
        assert_remarked(scene, "proves no slip");
        scene_free(scene);
    }
}

static void currents_against_plate_and_drive(void **state)
{
    (void)state;
    for (int heavy = 0; heavy <= 1; heavy++) {
        struct scene *scene = ramp_scene();
        scene->sheet.drive.rated_current = quantity_of("3.4 A");
        scene->sheet.drive.overload = quantity_of("150 %");
        becomes(&scene->current, 2, heavy ? 5.6 : 4.2);
        becomes(&scene->current, 12, heavy ? 3.5 : 2.4);
        becomes(&scene->current, 40, 0);
        (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
        watch(scene, MEANS_LIVE_OUTPUT_CURRENT, &scene->current)->filtered_over_s = 0.6;
        judge_scene(scene);
        assert_near(measure_of(scene, "steady_current")->value, heavy ? 3.5 : 2.4, 0.02);
        assert_verdict(measure_of(scene, "steady_current"), heavy ? VERDICT_DIFFERS : VERDICT_AGREES);
        assert_near(measure_of(scene, "highest_current")->value, heavy ? 5.6 : 4.2, 0.02);
        assert_verdict(measure_of(scene, "highest_current"), heavy ? VERDICT_DIFFERS : VERDICT_AGREES);
        assert_says(measure_of(scene, "highest_current")->basis, "a peak shorter than 0.6 s is not seen");
        scene_free(scene);
    }
}

/* Source: rectifier theory. An idle bus stands at sqrt(2) x the line voltage. */
static void the_bus_at_rest_tells_the_supply(void **state)
{
    (void)state;
    static const struct {
        const char *supply;
        double bus_v;
        enum verdict verdict;
    } rows[] = {{"230 V", 325.3, VERDICT_AGREES},  {"400 V", 565.7, VERDICT_AGREES}, {"460 V", 650.5, VERDICT_AGREES},
                {"480 V", 678.8, VERDICT_AGREES},  {"600 V", 848.5, VERDICT_AGREES}, {"690 V", 975.8, VERDICT_AGREES},
                {"480 V", 565.7, VERDICT_DIFFERS}, {"400 V", 678.8, VERDICT_DIFFERS}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = ramp_scene();
        scene->sheet.supply.voltage = quantity_of(rows[i].supply);
        scene->bus.from = rows[i].bus_v;
        (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
        scene->sight.step = 0.1;
        (void)watch(scene, MEANS_LIVE_DC_BUS_VOLTAGE, &scene->bus);
        judge_scene(scene);
        const struct measure *bus = measure_of(scene, "rest_bus_voltage");
        assert_near(bus->value, rows[i].bus_v, 0.06);
        assert_verdict(bus, rows[i].verdict);
        if (rows[i].verdict == VERDICT_AGREES)
            assert_near(bus->expected.nominal, rows[i].bus_v, 0.1);
        scene_free(scene);
    }
}

static void the_bus_rises_while_stopping(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    scene->sheet.drive.bus_trip = quantity_of("820 V");
    scene->bus.from = 650;
    course_add(&scene->bus, 20, 1, 730, 0);
    course_add(&scene->bus, 38, 2, 650, 0);
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    (void)watch(scene, MEANS_LIVE_DC_BUS_VOLTAGE, &scene->bus);
    judge_scene(scene);
    const struct measure *bus = measure_of(scene, "stopping_bus_voltage");
    assert_near(bus->value, 730, 0.1);
    assert_says(bus->basis, "80 V above rest");
    assert_verdict(bus, VERDICT_AGREES);
    scene_free(scene);
}

static void nothing_known_is_nothing_wrong(void **state)
{
    (void)state;
    struct scene *scene = memory_new(1, sizeof *scene);
    scene->random = 3;
    course_add(&scene->frequency, 2, 5, 50, 0);
    scene->sight = (struct sight){.every_s = 0.2, .step = 0.01, .to_s = 20};
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    (void)watch(scene, MEANS_LIVE_OUTPUT_CURRENT, &scene->current);
    (void)watch(scene, MEANS_LIVE_DC_BUS_VOLTAGE, &scene->bus);
    (void)watch(scene, MEANS_LIVE_OUTPUT_VOLTAGE, &scene->voltage);
    (void)watch(scene, MEANS_LIVE_SPEED, &scene->speed);
    judge_scene(scene);
    assert_true(scene->witnessed.measure_count > 0);
    for (size_t i = 0; i < scene->witnessed.measure_count; i++)
        assert_verdict(&scene->witnessed.measures[i], VERDICT_UNCHECKED);
    assert_remarked(scene, "a person has to witness");
    scene_free(scene);

    scene = memory_new(1, sizeof *scene); /* and nothing read */
    judge_scene(scene);
    assert_int_equal(scene->witnessed.measure_count, 0);
    assert_remarked(scene, "output frequency was not read");
    scene_free(scene);
}

static void long_runs_are_judged_at_once(void **state)
{
    (void)state;
    struct scene *scene = ramp_scene();
    scene->sight.every_s = 45.0 / 100000;
    scene->sight.jitter_s = 0;
    scene->sight.noise = 0.02;
    (void)watch(scene, MEANS_LIVE_OUTPUT_FREQUENCY, &scene->frequency);
    (void)watch(scene, MEANS_LIVE_OUTPUT_CURRENT, &scene->current);
    watch_voltage(scene, 460, 60, 0);
    judge_scene(scene);
    assert_int_equal(scene->witnessed.phase_count, 5);
    assert_near(measure_of(scene, "acceleration_time")->value, 10, 0.01);
    scene_free(scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_part_of_the_ramp_is_scaled_to_the_span),
        cmocka_unit_test(slow_polls_stay_below_their_worst_case),
        cmocka_unit_test(a_wrong_ramp_differs),
        cmocka_unit_test(few_samples_cannot_tell),
        cmocka_unit_test(a_command_that_was_turned_proves_nothing),
        cmocka_unit_test(without_the_command_only_a_straight_ramp_counts),
        cmocka_unit_test(a_rounded_ramp_is_told_apart),
        cmocka_unit_test(a_current_at_its_limit_makes_the_time_the_loads),
        cmocka_unit_test(a_ramp_that_a_limit_bent_is_the_loads),
        cmocka_unit_test(the_drives_own_reference_says_so),
        cmocka_unit_test(an_overshoot_and_a_frequency_too_high),
        cmocka_unit_test(volts_a_hertz_and_the_knee),
        cmocka_unit_test(a_boost_is_no_fault),
        cmocka_unit_test(wrong_base_points_differ),
        cmocka_unit_test(a_square_curve_is_not_continued),
        cmocka_unit_test(a_ramp_that_was_cut_off_has_no_top),
        cmocka_unit_test(slip_from_a_measured_speed),
        cmocka_unit_test(a_computed_speed_proves_no_slip),
        cmocka_unit_test(currents_against_plate_and_drive),
        cmocka_unit_test(the_bus_at_rest_tells_the_supply),
        cmocka_unit_test(the_bus_rises_while_stopping),
        cmocka_unit_test(nothing_known_is_nothing_wrong),
        cmocka_unit_test(long_runs_are_judged_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
