/* SPDX-License-Identifier: MIT */
/* The `settings` of a sheet: what the job asks for, checked against the map. */
#include "files/map_reader.h"
#include "files/sheet_reader.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <stdlib.h>
#include <string.h>

/* The target of a setting that is a mapping. */
struct setting_reading {
    struct setting *setting;
    const struct subject *subject;
    bool at_least, at_most, between, time;
};

static bool is_ramp(const struct subject *subject)
{
    enum means means = subject_means(subject);
    return means == MEANS_RAMP_ACCELERATION_TIME || means == MEANS_RAMP_DECELERATION_TIME;
}

static bool read_at_least(const struct section *section, const struct field *field, const struct node *value)
{
    struct setting_reading *reading = section->target;
    (void)field;
    reading->at_least = true;
    return subject_quantity(section->context, value, reading->subject, &reading->setting->low);
}

static bool read_at_most(const struct section *section, const struct field *field, const struct node *value)
{
    struct setting_reading *reading = section->target;
    (void)field;
    reading->at_most = true;
    return subject_quantity(section->context, value, reading->subject, &reading->setting->high);
}

static bool read_between(const struct section *section, const struct field *field, const struct node *value)
{
    struct setting_reading *reading = section->target;
    struct setting *setting = reading->setting;
    reading->between = true;
    if (value->kind != NODE_LIST || value->count != 2) {
        faults_error(section->faults, value->place, "%s is no pair; expected %s", field->key, field->expects);
        return false;
    }
    if (!subject_quantity(section->context, value->first, reading->subject, &setting->low) ||
        !subject_quantity(section->context, value->last, reading->subject, &setting->high))
        return false;
    if (unit_dimension(setting->low.unit) == unit_dimension(setting->high.unit) &&
        quantity_base(&setting->low) <= quantity_base(&setting->high))
        return true;
    faults_error(section->faults, value->place,
                 "%s: the second value lies below the first, or is of another kind; "
                 "expected the lower one first",
                 field->key);
    return false;
}

static bool read_time(const struct section *section, const struct field *field, const struct node *value)
{
    struct setting_reading *reading = section->target;
    struct setting *setting = reading->setting;
    (void)field;
    reading->time = true;
    bool fine = subject_quantity(section->context, value, reading->subject, &setting->low);
    setting->high = setting->low;
    return fine;
}

static bool read_end(const struct section *section, const struct field *field, const struct node *value)
{
    struct setting_reading *reading = section->target;
    struct section inner = *section;
    struct field frequency = *field;
    inner.target = reading->setting;
    frequency.dimension = DIMENSION_FREQUENCY;
    frequency.may_be_zero = true;
    return field_quantity(&inner, &frequency, value);
}

static const struct field setting_fields[] = {
    {.key = "at_least", .read = read_at_least, .expects = "a value"},
    {.key = "at_most", .read = read_at_most, .expects = "a value"},
    {.key = "between", .read = read_between, .expects = "two values, such as [20 Hz, 25 Hz]"},
    {.key = "time", .read = read_time, .expects = "a time such as 10 s"},
    {.key = "from", .read = read_end, .offset = offsetof(struct setting, ramp_from), .expects = "a frequency"},
    {.key = "to", .read = read_end, .offset = offsetof(struct setting, ramp_to), .expects = "a frequency"},
};

static bool check_ramp(const struct section *section, const struct setting_reading *reading)
{
    const struct setting *setting = reading->setting;
    const struct node *node = section->node;
    if (!is_ramp(reading->subject)) {
        faults_error(section->faults, node_get(node, "time")->key_place,
                     "%s is no ramp; expected a value, at_least, at_most or between", reading->subject->name);
        return false;
    }
    if (node_get(node, "from") == NULL || node_get(node, "to") == NULL) {
        faults_error(section->faults, node_key_place(node),
                     "%s lacks from or to; expected {time: 10 s, from: 0 Hz, "
                     "to: 60 Hz}",
                     reading->subject->name);
        return false;
    }
    if (quantity_base(&setting->ramp_from) != quantity_base(&setting->ramp_to))
        return true;
    faults_error(section->faults, node->place, "%s: the ramp ends where it begins; expected two frequencies",
                 reading->subject->name);
    return false;
}

/* {at_least: 10 s} and the other forms. */
static bool read_form(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                      struct setting *setting)
{
    struct setting_reading reading = {.setting = setting, .subject = subject};
    const struct section section = {.faults = reader->faults,
                                    .node = value,
                                    .what = subject->name,
                                    .fields = setting_fields,
                                    .count = sizeof setting_fields / sizeof *setting_fields,
                                    .target = &reading,
                                    .context = (void *)reader};
    size_t errors_before = reader->faults->error_count;
    if (!section_load(&section) || reader->faults->error_count > errors_before)
        return false;
    int forms = reading.at_least + reading.at_most + reading.between + reading.time;
    bool has_ends = node_get(value, "from") != NULL || node_get(value, "to") != NULL;
    if (forms != 1 || (has_ends && !reading.time)) {
        faults_error(reader->faults, value->place,
                     "%s has no single form; expected one of at_least, at_most, between, or time with from and to",
                     subject->name);
        return false;
    }
    setting->kind = reading.at_least  ? SETTING_AT_LEAST
                    : reading.at_most ? SETTING_AT_MOST
                    : reading.between ? SETTING_BETWEEN
                                      : SETTING_RAMP;
    return !reading.time || check_ramp(&section, &reading);
}

/* What the drive cannot hold can still be asked for: another drive may be due. A percentage is left to who knows its
 * base. */
static void warn_of_bounds(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                           const struct setting *setting)
{
    const struct parameter *parameter = subject->parameter;
    const struct quantity *ends[] = {&setting->low, &setting->high};
    if (parameter == NULL || parameter->is_percent || parameter->choices.count > 0)
        return;
    for (size_t i = 0; i < 2; i++) {
        const struct quantity *end = ends[i];
        if (!end->given || unit_dimension(end->unit) != unit_dimension(parameter->unit) || map_accepts(parameter, end))
            continue;
        char text[64];
        faults_warning(reader->faults, value->place,
                       "%s: %s is outside of what %s accepts; expected a value within accepts", subject->name,
                       quantity_format(end, text, sizeof text), parameter->name);
        return;
    }
}

static bool read_setting(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                         struct setting *setting)
{
    if (means_is_live(subject_means(subject))) {
        faults_error(reader->faults, value->key_place,
                     "%s is what the drive does now; expected something that can be "
                     "set",
                     subject->name);
        return false;
    }
    if (subject->parameter != NULL && subject->parameter->kind == KIND_COMMAND) {
        faults_error(reader->faults, value->key_place,
                     "%s is a command, which is never written; expected something that "
                     "can be set",
                     subject->name);
        return false;
    }
    bool without_map = !reader->map_read && subject->means == MEANS_NONE;
    if (value->kind == NODE_MAPPING) {
        if (!without_map && !read_form(reader, value, subject, setting))
            return false;
        warn_of_bounds(reader, value, subject, setting);
        return true;
    }
    if (without_map)
        return false;
    if (!subject_value(reader, value, subject, &setting->low, &setting->word))
        return false;
    setting->high = setting->low;
    setting->kind = setting->word != NULL ? SETTING_WORD : SETTING_QUANTITY;
    warn_of_bounds(reader, value, subject, setting);
    return true;
}

/* A means and a parameter that has it would ask for two values in one register. */
static bool is_repeated(const struct sheet_reader *reader, const struct node *value, const struct subject *subject)
{
    const struct sheet *sheet = reader->sheet;
    enum means means = subject_means(subject);
    for (size_t i = 0; i < sheet->setting_count && means != MEANS_NONE; i++) {
        const struct setting *other = &sheet->settings[i];
        size_t index = other->means == MEANS_NONE ? map_find(reader->map, other->name) : PARAMETER_NOT_FOUND;
        enum means others = index == PARAMETER_NOT_FOUND ? other->means : reader->map->parameters[index].means;
        bool both_parameters = other->means == MEANS_NONE && subject->means == MEANS_NONE;
        if (others != means || both_parameters)
            continue;
        faults_error(reader->faults, value->key_place, "%s means the same as %s at line %d; expected one of them",
                     subject->name, other->name, other->line);
        return true;
    }
    return false;
}

bool sheet_field_settings(const struct section *section, const struct field *field, const struct node *value)
{
    const struct sheet_reader *reader = section->context;
    struct sheet *sheet = section->target;
    if (!field_holds(section, field, value, NODE_MAPPING))
        return false;
    bool fine = true;
    for (const struct node *item = value->first; item != NULL; item = item->next) {
        struct subject subject = {0};
        struct setting setting = {.line = item->key_place.line, .column = item->key_place.column};
        bool read = item->kind != NODE_BROKEN &&
                    subject_find(reader, item->key_place, field->key, item->key, &subject) &&
                    !is_repeated(reader, item, &subject) && read_setting(reader, item, &subject, &setting);
        fine = fine && read;
        if (!read) {
            free(setting.word);
            continue;
        }
        setting.name = text_copy(item->key);
        setting.means = subject.means;
        sheet->settings = memory_grow(sheet->settings, sheet->setting_count, sizeof *sheet->settings);
        sheet->settings[sheet->setting_count++] = setting;
    }
    return fine;
}
