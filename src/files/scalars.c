/* SPDX-License-Identifier: MIT */
/* Reading of single values by what their key expects, never by what YAML would guess. */
#include "files/fields.h"
#include "files/suggest.h"
#include "motor/quantity.h"
#include "types/memory.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum { LONGEST_NUMBER = 100 }; /* messages quote it whole */

static const struct word flag_words[] = {{"yes", 1}, {"no", 0}, {"true", 1}, {"false", 0}, {NULL, 0}};

bool scalar_quantity(struct faults *faults, const struct node *value, const char *what, enum dimension dimension,
                     struct quantity *quantity)
{
    struct error error;
    const char *text = scalar_text(faults, value, what, dimension == DIMENSION_NONE ? "a number" : "a number and unit");
    if (text == NULL)
        return false;
    if (strlen(text) > LONGEST_NUMBER) {
        faults_error(faults, value->place, "%s: \"%s\" is too long; expected a number", what, excerpt(text).text);
        return false;
    }
    if (quantity_parse(text, dimension, quantity, &error))
        return true;
    faults_error(faults, value->place, "%s: %s", what, error.text);
    return false;
}

bool scalar_number(struct faults *faults, const struct node *value, const char *what, double *number)
{
    struct error error;
    double rounding = 0;
    const char *text = scalar_text(faults, value, what, "a number");
    if (text == NULL)
        return false;
    if (strlen(text) > LONGEST_NUMBER) {
        faults_error(faults, value->place, "%s: \"%s\" is too long; expected a number", what, excerpt(text).text);
        return false;
    }
    if (number_parse(text, true, number, &rounding, &error))
        return true;
    faults_error(faults, value->place, "%s: %s", what, error.text);
    return false;
}

static int digit_value(char digit)
{
    if (digit >= '0' && digit <= '9')
        return digit - '0';
    if (digit >= 'a' && digit <= 'f')
        return digit - 'a' + 10;
    if (digit >= 'A' && digit <= 'F')
        return digit - 'A' + 10;
    return 16;
}

bool raw_parse(const char *text, int64_t *raw)
{
    bool negative = *text == '-';
    text += negative;
    int base = 10;
    if (text[0] == '0' && text[1] == 'x') {
        base = 16;
        text += 2;
    } else if (text[0] == '0' && text[1] != '\0') {
        return false; /* 010 is eight to some and ten to others */
    }
    size_t length = strlen(text);
    if (length == 0 || length > 12)
        return false;
    int64_t value = 0;
    for (; *text != '\0'; text++) {
        int digit = digit_value(*text);
        if (digit >= base)
            return false;
        value = value * base + digit;
    }
    *raw = negative ? -value : value;
    return true;
}

bool scalar_raw(struct faults *faults, const struct node *value, const char *what, int64_t low, int64_t high,
                int64_t *raw)
{
    const char *text = scalar_text(faults, value, what, "a whole number");
    if (text == NULL)
        return false;
    if (!raw_parse(text, raw)) {
        bool leading_zero = text[0] == '0' && strspn(text, "0123456789") == strlen(text);
        faults_error(faults, value->place,
                     "%s: \"%s\" is no whole number%s; expected %" PRId64 " to %" PRId64 ", decimal or 0x hexadecimal",
                     what, excerpt(text).text, leading_zero ? ", for its leading zero" : "", low, high);
        return false;
    }
    if (*raw >= low && *raw <= high)
        return true;
    faults_error(faults, value->place, "%s: %s is out of range; expected %" PRId64 " to %" PRId64, what,
                 excerpt(text).text, low, high);
    return false;
}

bool word_find(const struct word *words, const char *text, unsigned *value)
{
    for (const struct word *row = words; row->word != NULL; row++) {
        if (strcmp(row->word, text) != 0)
            continue;
        *value = row->value;
        return true;
    }
    return false;
}

char *words_listed(const struct word *words)
{
    char *list = text_copy(words->word);
    for (const struct word *row = words + 1; row->word != NULL; row++) {
        char *longer = text_format("%s%s%s", list, row[1].word == NULL ? " or " : ", ", row->word);
        free(list);
        list = longer;
    }
    return list;
}

bool scalar_word(struct faults *faults, const struct node *value, const char *what, const struct word *words,
                 unsigned *found)
{
    char *list = words_listed(words);
    const char *text = scalar_text(faults, value, what, list);
    bool fine = text != NULL && word_find(words, text, found);
    if (text != NULL && !fine) {
        struct suggestion near = {0};
        for (const struct word *row = words; row->word != NULL; row++)
            suggestion_offer(&near, row->word);
        const char *best = suggestion_take(&near, text);
        if (best != NULL)
            faults_error(faults, value->place, "%s: unknown word \"%s\"; did you mean \"%s\"", what, excerpt(text).text,
                         best);
        else
            faults_error(faults, value->place, "%s: unknown word \"%s\"; expected %s", what, excerpt(text).text, list);
    }
    free(list);
    return fine;
}

bool scalar_flag(struct faults *faults, const struct node *value, const char *what, bool *flag)
{
    unsigned found = 0;
    const char *text = scalar_text(faults, value, what, "yes or no");
    if (text == NULL)
        return false;
    if (!word_find(flag_words, text, &found)) {
        faults_error(faults, value->place, "%s: \"%s\" is no answer; expected yes or no", what, excerpt(text).text);
        return false;
    }
    *flag = found != 0;
    return true;
}
