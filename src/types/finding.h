/* SPDX-License-Identifier: MIT */
/* One thing that a verification has to say: about a parameter of the drive, or about the sheet itself. */
#ifndef ASLEFT_TYPES_FINDING_H
#define ASLEFT_TYPES_FINDING_H

#include "types/means.h"
#include "types/memory.h"
#include "types/symptom.h"
#include "types/value.h"

#include <stddef.h>
#include <stdint.h>

enum verdict { VERDICT_AGREES, VERDICT_DIFFERS, VERDICT_UNREAD, VERDICT_IMPLAUSIBLE, VERDICT_UNCHECKED };
enum { VERDICT_KINDS = 5 };

enum source { SOURCE_NONE, SOURCE_NAMEPLATE, SOURCE_DERIVED, SOURCE_ESTIMATE, SOURCE_JOB };

enum expected_kind { EXPECTED_NOTHING, EXPECTED_RANGE, EXPECTED_ONE_OF };

struct expected {
    enum expected_kind kind;
    double low, nominal, high; /* EXPECTED_RANGE, in the finding's unit; -INFINITY / INFINITY for an open end,
                                  nominal NAN where the job gives only bounds */
    struct texts one_of;       /* EXPECTED_ONE_OF: the words that are right */
};

/* Probable causes of a wrong value: identifier and word of interface and reports, the commonest first. X-for-Y reads:
 * X was found where Y belongs. */
#define ASLEFT_CAUSES(ROW)                                                                                             \
    ROW(DRIVE_EXCHANGED, "drive-exchanged")                                                                            \
    ROW(FIRMWARE_CHANGED, "firmware-changed")                                                                          \
    ROW(FACTORY_DEFAULT, "factory-default")                                                                            \
    ROW(OTHER_VOLTAGE_COLUMN, "other-voltage-column")                                                                  \
    ROW(HORSEPOWER_FOR_KILOWATT, "horsepower-for-kilowatt")                                                            \
    ROW(KILOWATT_FOR_HORSEPOWER, "kilowatt-for-horsepower")                                                            \
    ROW(SYNCHRONOUS_SPEED, "synchronous-speed")                                                                        \
    ROW(SUPPLY_VOLTAGE_FOR_MOTOR_VOLTAGE, "supply-voltage-for-motor-voltage")                                          \
    ROW(OTHER_MAINS_FREQUENCY, "other-mains-frequency")                                                                \
    ROW(LIMITS_EXCHANGED, "limits-exchanged")                                                                          \
    ROW(DECIMAL_SHIFT, "decimal-shift")                                                                                \
    ROW(STAR_FOR_DELTA, "star-for-delta")                                                                              \
    ROW(TRUNCATED_TO_RANGE, "truncated-to-range")                                                                      \
    ROW(WORDS_SWAPPED, "words-swapped")                                                                                \
    ROW(BYTES_SWAPPED, "bytes-swapped")                                                                                \
    ROW(SIGN_LOST, "sign-lost")                                                                                        \
    ROW(ADDRESS_OFF_BY_ONE, "address-off-by-one")                                                                      \
    ROW(NEVER_SET, "never-set")                                                                                        \
    ROW(UNKNOWN, "unknown")

enum cause_kind {
    CAUSE_NONE,
#define ASLEFT_CAUSE_ID(id, word) CAUSE_##id,
    ASLEFT_CAUSES(ASLEFT_CAUSE_ID)
#undef ASLEFT_CAUSE_ID
};

struct cause {
    enum cause_kind kind;
    char *text; /* owned; one sentence with its figures; NULL for CAUSE_NONE */
};

struct finding {
    char *parameter; /* owned; NULL where the finding is about the sheet */
    char *means;     /* owned; NULL where the parameter has none; starts with "sheet." for the sheet's own */
    enum verdict verdict;
    enum stake stake;
    struct expected expected;
    struct value found;
    enum unit unit; /* of expected and found */
    double step;    /* of found, in `unit`: how many decimals are worth showing; 0 unknown */
    uint16_t *raw;  /* owned */
    size_t raw_count;
    char *basis; /* owned; where the expectation comes from, with its numbers; or the reason for unchecked */
    enum source source;
    struct symptom symptom;
    char *remark;        /* owned, may be NULL: how the found value came about */
    double allow_within; /* in `unit`; 0: no allowance */
    char *allow_because; /* owned, or NULL */
    struct cause cause;  /* the likeliest; CAUSE_NONE where nothing explains the value, or nothing is wrong */
    struct cause *also;  /* owned; others that explain it as exactly, the likeliest first */
    size_t also_count;
};

struct findings {
    struct finding *items;
    size_t count;
};

/* Appends an empty finding and returns it; it moves when the next one is added. */
struct finding *findings_add(struct findings *findings);

/* How many findings have that verdict. */
size_t findings_count(const struct findings *findings, enum verdict verdict);

/* What they come to: differs where anything differs or is implausible, else incomplete where anything is unread or
 * nothing was compared, else agrees. */
enum overall { OVERALL_AGREES, OVERALL_DIFFERS, OVERALL_INCOMPLETE };
enum overall findings_overall(const struct findings *findings);
const char *overall_word(enum overall overall);

void finding_free(struct finding *finding);
void findings_free(struct findings *findings);

/* The words of interface and reports: "agrees", "differs" ...; "process" ...; "nameplate" ... ("" for SOURCE_NONE). */
const char *verdict_word(enum verdict verdict);
const char *stake_word(enum stake stake);
const char *source_word(enum source source);

/* "other-voltage-column" ...; "" for CAUSE_NONE. */
const char *cause_word(enum cause_kind kind);

#endif
