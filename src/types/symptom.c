/* SPDX-License-Identifier: MIT */
/* The words of the symptoms. */
#include "types/symptom.h"

#include <stdio.h>

static const char *word(enum symptom_kind kind)
{
    switch (kind) {
    case SYMPTOM_NONE:
        return "";
    case SYMPTOM_NO_REPLY:
        return "no-reply";
    case SYMPTOM_CORRUPT:
        return "corrupt";
    case SYMPTOM_OTHER_UNIT:
        return "other-unit";
    case SYMPTOM_EXCEPTION:
        return "exception";
    case SYMPTOM_REFUSED:
        return "refused";
    case SYMPTOM_UNREACHABLE:
        return "unreachable";
    case SYMPTOM_CLOSED:
        return "closed";
    case SYMPTOM_NOT_A_NUMBER:
        return "not-a-number";
    case SYMPTOM_SELECTOR:
        return "selector";
    case SYMPTOM_LOCKED:
        return "locked";
    case SYMPTOM_WATCHDOG_ARMED:
        return "watchdog-armed";
    case SYMPTOM_OTHER_MODEL:
        return "other-model";
    }
    return "";
}

const char *symptom_word(struct symptom symptom, char *text, size_t size)
{
    if (symptom.kind == SYMPTOM_EXCEPTION)
        (void)snprintf(text, size, "exception-%02x", symptom.exception);
    else
        (void)snprintf(text, size, "%s", word(symptom.kind));
    return text;
}
