/* SPDX-License-Identifier: MIT */
/* A register map: what a drive model keeps where, as files/ reads it from YAML. Names are resolved to indexes there. */
#ifndef ASLEFT_TYPES_MAP_H
#define ASLEFT_TYPES_MAP_H

#include "types/means.h"
#include "types/quantity.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum table { TABLE_COIL, TABLE_DISCRETE, TABLE_INPUT, TABLE_HOLDING };

/* `at` is the address as it travels on the wire, whatever the map counts from. */
struct address {
    enum table table;
    uint16_t at;
};

struct address_range {
    enum table table;
    uint16_t first, last;
};

enum value_type { TYPE_U16, TYPE_S16, TYPE_U32, TYPE_S32, TYPE_F32, TYPE_BITS, TYPE_TEXT, TYPE_BOOL };
enum word_order { ORDER_UNKNOWN, ORDER_HIGH_FIRST, ORDER_LOW_FIRST };
enum settable { SETTABLE_NEVER, SETTABLE_STOPPED, SETTABLE_ALWAYS };

/* Raw values are compared as the unsigned number that the register words hold (16 or 32 bits wide): a map's -1 for an
 * s16 is stored as 0xffff. files/ masks them to the parameter's width; for f32 they are the IEEE 754 bits. */
struct raw_list {
    uint32_t *items;
    size_t count;
};

/* A word for a raw value (choices, special) or for a bit number (bits). */
struct named_raw {
    uint32_t raw;
    char *word;         /* owned; NULL where `same_as` is set */
    enum means same_as; /* special only: "take the value of that means" */
};

struct named_raws {
    struct named_raw *items;
    size_t count;
};

/* "while that parameter holds one of these raw values" */
struct condition {
    size_t parameter; /* index in map.parameters */
    struct raw_list raws;
};

struct conditions {
    struct condition *items;
    size_t count;
};

/* A unit, scale or ramp span that another parameter's raw value selects. */
struct choice_row {
    uint32_t raw;
    enum unit unit;        /* unit_by */
    double scale;          /* scale_by */
    struct quantity span;  /* ramp_span by value (Hz or rpm) */
    enum means span_means; /* ramp_span by a means, else MEANS_NONE */
};

struct selector {
    bool given;
    size_t parameter; /* index in map.parameters */
    struct choice_row *rows;
    size_t count;
};

enum bound_kind { BOUND_NONE, BOUND_VALUE, BOUND_MEANS };

/* One end of `accepts`. */
struct bound {
    enum bound_kind kind;
    struct quantity value;
    enum means means;
};

/* What a ramp register counts. */
enum ramp_kind {
    RAMP_TIME,         /* a time over `span` (unit of time), or no ramp at all where no span is given */
    RAMP_RATE,         /* Hz/s */
    RAMP_INVERSE_RATE, /* s/Hz */
    RAMP_SPEED_RATE,   /* rpm/s */
};

struct ramp_span {
    bool given;
    struct quantity value; /* a fixed span, Hz or rpm; not given where a means or selector says */
    enum means means;
    struct selector by;
};

enum base_from { BASE_REGISTER, BASE_SHEET };
enum overload_is { OVERLOAD_UNSAID, OVERLOAD_REFERENCE, OVERLOAD_TRIP_CURRENT };
enum obtained { OBTAINED_UNSAID, OBTAINED_MEASURED, OBTAINED_COMPUTED, OBTAINED_COMMANDED };
enum takes_effect { EFFECT_AT_ONCE, EFFECT_AT_STOP, EFFECT_POWER_CYCLE };
enum plate_at { PLATE_UNSAID, PLATE_NAMEPLATE, PLATE_EXTENDED };
enum parameter_kind { KIND_VALUE, KIND_COMMAND };
enum write_words { WRITE_TOGETHER, WRITE_LOW_FIRST, WRITE_HIGH_FIRST };
enum writes_with { WRITES_UNSAID, WRITES_SINGLE, WRITES_MULTIPLE, WRITES_EITHER };

struct parameter {
    char *name; /* owned */
    int line;   /* where it stands in the map file */
    struct address at;
    enum value_type type;
    unsigned words; /* registers it takes: 1, 2, N for text; 1 for a coil or discrete input */
    double scale;   /* engineering value = raw * scale + offset */
    double offset;
    enum unit unit;
    enum means means;
    enum settable settable;
    struct bound accepts_low, accepts_high;
    struct quantity default_value; /* not given where there is none; UNIT_NONE with a raw number for choices */
    char *default_word;            /* owned; the default of a parameter with choices, or NULL */
    struct named_raws choices;
    struct named_raws bits; /* raw is the bit number, 0 to 15 (or 31) */
    struct named_raws special;
    struct raw_list no_value;
    struct conditions applies_when;
    struct conditions locked_by; /* locked while any of them holds */
    struct selector unit_by;
    struct selector scale_by;
    unsigned set;    /* 0: not in a set; else the motor or ramp set's number */
    bool is_percent; /* percent_of is given */
    enum means percent_of;
    enum base_from base;
    enum overload_is overload_is;
    enum ramp_kind ramp_kind;
    struct ramp_span ramp_span;
    bool tuned;
    enum obtained obtained;
    struct quantity refreshed_every, filtered_over;
    bool watch; /* drift: resolved from the default where the map does not say */
    enum takes_effect takes_effect;
    bool write_at_given;
    struct address write_at;
    bool could_start; /* said, or implied by its means */
    enum parameter_kind kind;
    size_t *writing_changes; /* indexes, owned */
    size_t writing_changes_count;
    bool cuts_line;
    enum write_words write_words;
};

struct identity {
    size_t parameter; /* index */
    bool is_text;
    uint32_t raw; /* equals, for numbers */
    char *text;   /* equals, for text parameters; owned */
};

enum keeps { KEEPS_UNSAID, KEEPS_AT_ONCE, KEEPS_AFTER_SAVE, KEEPS_NEVER };

struct save_command {
    bool given;
    struct address at;
    uint16_t write;
    bool done_given;
    uint16_t done_when;
    double within_s;
};

/* Which set is in force: raw value -> set number; `terminal` rows mean that a terminal chooses, so all sets count. */
struct set_row {
    uint32_t raw;
    unsigned set;
    bool terminal;
};

struct set_in_force {
    bool given;
    size_t parameter;
    struct set_row *rows; /* a raw value that is not listed is itself the set's number */
    size_t count;
};

struct network_watchdog {
    bool given;
    size_t parameter;
    uint32_t off;
};

struct modbus_habits {
    unsigned count_from; /* 0 or 1, as the file says; addresses here are already wire addresses */
    enum word_order word_order;
    unsigned longest_read;  /* 1 to 125 */
    unsigned longest_write; /* 1 to 123 */
    double answers_within_s;
    double rest_between_s;
    double write_answers_within_s;
    enum writes_with writes_with;
    unsigned connections; /* 0: the map does not say */
    struct address_range *closed;
    size_t closed_count;
};

struct map {
    char *path; /* as given; owned */
    char *name;
    char *about; /* may be NULL */
    char sha256[65];
    struct modbus_habits modbus;
    struct parameter *parameters;
    size_t count;
    struct identity *identity;
    size_t identity_count;
    struct set_in_force set_in_force;
    struct network_watchdog network_watchdog;
    enum plate_at plate_at; /* which values the drive wants where a motor is run to an extended frequency */
    enum keeps keeps;
    struct save_command save;
};

#define PARAMETER_NOT_FOUND ((size_t)-1)

/* Index of the parameter with that name, or PARAMETER_NOT_FOUND. */
size_t map_find(const struct map *map, const char *name);

/* Index of the first parameter with that means (of set `set` where it is in a set and `set` is not 0),
 * or PARAMETER_NOT_FOUND. */
size_t map_find_means(const struct map *map, enum means means, unsigned set);

void map_free(struct map *map);

#endif
