/* SPDX-License-Identifier: MIT */
/* What one visit found in a drive, as it is kept: who, when, with which files, and every value. */
#include "types/record.h"

#include <stdlib.h>
#include <string.h>

static const char *const kind_words[RECORD_KINDS] = {
    [RECORD_FOUND] = "found",
    [RECORD_LEFT] = "left",
    [RECORD_BEFORE_WRITE] = "before-write",
    [RECORD_AFTER_WRITE] = "after-write",
    [RECORD_SWEPT] = "swept",
    [RECORD_WITNESSED] = "witnessed",
};

const struct record_value *record_value_find(const struct record *record, const char *parameter)
{
    for (size_t i = 0; i < record->value_count; i++)
        if (strcmp(record->values[i].parameter, parameter) == 0)
            return &record->values[i];
    return NULL;
}

bool record_value_same(const struct record_value *a, const struct record_value *b)
{
    return a->raw_count == b->raw_count &&
           (a->raw_count == 0 || memcmp(a->raw, b->raw, a->raw_count * sizeof *a->raw) == 0);
}

bool record_id_given(const struct record_id *id)
{
    static const struct record_id none;
    return !record_id_equal(id, &none);
}

bool record_id_equal(const struct record_id *a, const struct record_id *b)
{
    return memcmp(a->bytes, b->bytes, sizeof a->bytes) == 0;
}

const char *record_id_text(const struct record_id *id, char *text)
{
    static const char digits[] = "0123456789abcdef";
    for (size_t i = 0; i < sizeof id->bytes; i++) {
        text[2 * i] = digits[id->bytes[i] >> 4];
        text[2 * i + 1] = digits[id->bytes[i] & 15];
    }
    text[RECORD_ID_TEXT - 1] = '\0';
    return text;
}

const char *record_kind_word(enum record_kind kind)
{
    return kind_words[kind];
}

bool record_kind_find(const char *word, enum record_kind *kind)
{
    for (size_t i = 0; i < RECORD_KINDS; i++)
        if (strcmp(kind_words[i], word) == 0) {
            *kind = (enum record_kind)i;
            return true;
        }
    return false;
}

void record_value_free(struct record_value *value)
{
    free(value->parameter);
    free(value->means);
    free(value->raw);
    free(value->unit);
    free(value->shown);
    free(value->symptom);
    *value = (struct record_value){0};
}

void record_free(struct record *record)
{
    for (size_t i = 0; i < record->value_count; i++)
        record_value_free(&record->values[i]);
    free(record->values);
    free(record->tag);
    free(record->service);
    free(record->line);
    free(record->serial_number);
    free(record->firmware);
    free(record->map_name);
    free(record->who);
    free(record->host);
    free(record->tool);
    *record = (struct record){0};
}
