/* SPDX-License-Identifier: MIT */
/* A list of writes: what would be changed in a drive, why it is refused, and what came of each. */
#include "types/change.h"

#include <stdlib.h>
#include <string.h>

static const char *const outcome_words[WRITE_OUTCOMES] = {
    [WRITE_PLANNED] = "planned",
    [WRITE_SENT] = "sent",
    [WRITE_KEPT] = "kept",
    [WRITE_SET_BY_ITSELF] = "set-by-itself",
    [WRITE_REFUSED] = "refused",
    [WRITE_NOT_WRITTEN] = "not-written",
    [WRITE_NOT_KEPT] = "not-kept",
    [WRITE_CLAMPED] = "clamped",
    [WRITE_OTHER_STATE] = "other-state",
    [WRITE_ALTERED] = "altered",
    [WRITE_UNKNOWN] = "unknown",
    [WRITE_LEFT_OUT] = "left-out",
};

static const char *const save_words[] = {
    [SAVE_NONE] = "none",     [SAVE_PLANNED] = "planned", [SAVE_DONE] = "done",
    [SAVE_FAILED] = "failed", [SAVE_UNKNOWN] = "unknown",
};

const char *write_outcome_word(enum write_outcome outcome)
{
    return outcome_words[outcome];
}

bool write_outcome_find(const char *word, enum write_outcome *outcome)
{
    for (size_t i = 0; i < WRITE_OUTCOMES; i++)
        if (strcmp(outcome_words[i], word) == 0) {
            *outcome = (enum write_outcome)i;
            return true;
        }
    return false;
}

const char *save_outcome_word(enum save_outcome outcome)
{
    return save_words[outcome];
}

struct change *change_list_add(struct change_list *list)
{
    list->items = memory_grow(list->items, list->count, sizeof *list->items);
    return &list->items[list->count++];
}

void change_list_refuse(struct change_list *list, char *parameter, char *reason)
{
    list->refusals = memory_grow(list->refusals, list->refusal_count, sizeof *list->refusals);
    struct refusal *refusal = &list->refusals[list->refusal_count++];
    refusal->parameter = parameter;
    refusal->reason = reason;
}

void change_free(struct change *change)
{
    free(change->now);
    free(change->to);
    free(change->now_shown);
    free(change->to_shown);
    free(change->why);
    free(change->found);
    free(change->found_shown);
    free(change->note);
    *change = (struct change){0};
}

void change_list_free(struct change_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        change_free(&list->items[i]);
    for (size_t i = 0; i < list->refusal_count; i++) {
        free(list->refusals[i].parameter);
        free(list->refusals[i].reason);
    }
    for (size_t i = 0; i < list->own_count; i++) {
        free(list->own[i].was);
        free(list->own[i].now);
    }
    free(list->items);
    free(list->refusals);
    free(list->own);
    texts_free(&list->left);
    texts_free(&list->cautions);
    texts_free(&list->punch);
    *list = (struct change_list){0};
}
