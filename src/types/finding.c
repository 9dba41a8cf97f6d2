/* SPDX-License-Identifier: MIT */
/* Adding, counting and freeing of findings, and their words. */
#include "types/finding.h"

#include <stdlib.h>

struct finding *findings_add(struct findings *findings)
{
    findings->items = memory_grow(findings->items, findings->count, sizeof *findings->items);
    return &findings->items[findings->count++];
}

size_t findings_count(const struct findings *findings, enum verdict verdict)
{
    size_t count = 0;
    for (size_t i = 0; i < findings->count; i++)
        count += findings->items[i].verdict == verdict;
    return count;
}

enum overall findings_overall(const struct findings *findings)
{
    if (findings_count(findings, VERDICT_DIFFERS) > 0 || findings_count(findings, VERDICT_IMPLAUSIBLE) > 0)
        return OVERALL_DIFFERS;
    if (findings_count(findings, VERDICT_UNREAD) > 0 || findings_count(findings, VERDICT_AGREES) == 0)
        return OVERALL_INCOMPLETE;
    return OVERALL_AGREES;
}

const char *overall_word(enum overall overall)
{
    switch (overall) {
    case OVERALL_AGREES:
        return "agrees";
    case OVERALL_DIFFERS:
        return "differs";
    case OVERALL_INCOMPLETE:
        return "incomplete";
    }
    return "";
}

void finding_free(struct finding *finding)
{
    free(finding->cause.text);
    for (size_t i = 0; i < finding->also_count; i++)
        free(finding->also[i].text);
    free(finding->also);
    free(finding->parameter);
    free(finding->means);
    texts_free(&finding->expected.one_of);
    value_free(&finding->found);
    free(finding->raw);
    free(finding->basis);
    free(finding->remark);
    free(finding->allow_because);
    *finding = (struct finding){0};
}

void findings_free(struct findings *findings)
{
    for (size_t i = 0; i < findings->count; i++)
        finding_free(&findings->items[i]);
    free(findings->items);
    *findings = (struct findings){0};
}

const char *verdict_word(enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_AGREES:
        return "agrees";
    case VERDICT_DIFFERS:
        return "differs";
    case VERDICT_UNREAD:
        return "unread";
    case VERDICT_IMPLAUSIBLE:
        return "implausible";
    case VERDICT_UNCHECKED:
        return "unchecked";
    }
    return "";
}

const char *stake_word(enum stake stake)
{
    switch (stake) {
    case STAKE_PROCESS:
        return "process";
    case STAKE_EQUIPMENT:
        return "equipment";
    case STAKE_PEOPLE:
        return "people";
    }
    return "";
}

const char *source_word(enum source source)
{
    switch (source) {
    case SOURCE_NONE:
        return "";
    case SOURCE_NAMEPLATE:
        return "nameplate";
    case SOURCE_DERIVED:
        return "derived";
    case SOURCE_ESTIMATE:
        return "estimate";
    case SOURCE_JOB:
        return "job";
    }
    return "";
}

const char *cause_word(enum cause_kind kind)
{
    static const char *const words[] = {[CAUSE_NONE] = "",
#define ASLEFT_CAUSE_WORD(id, word) [CAUSE_##id] = (word),
                                        ASLEFT_CAUSES(ASLEFT_CAUSE_WORD)
#undef ASLEFT_CAUSE_WORD
    };
    return words[kind];
}
