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

#endif
