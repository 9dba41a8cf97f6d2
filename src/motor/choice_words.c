/* SPDX-License-Identifier: MIT */
/* What the words of a map's choices mean where people are at stake. */
#include "motor/choice_words.h"

#include <stddef.h>
#include <string.h>

static const char *const starting[] = {"restart", "start",  "once",     "twice",  "times",   "always",
                                       "yes",     "on",     "true",     "enable", "enabled", "automatic",
                                       "auto",    "resume", "restarts", NULL};
static const char *const refusing[] = {"never", "no",   "not",      "off",     "false", "stay",   "stopped",   "stop",
                                       "wait",  "none", "disabled", "disable", "hold",  "manual", "inhibited", NULL};
static const char *const passing[] = {"ignore",   "ignored", "off",   "none",  "no",   "nothing", "run",      "running",
                                      "disabled", "disable", "never", "false", "keep", "hold",    "continue", NULL};
static const char *const reversing[] = {"both", "either", "free", "off", "none", "no", "unlocked", "false", NULL};
static const char *const coasting[] = {"coast", "coasting", "free", NULL};

static bool is_between(char letter)
{
    return letter == '-' || letter == '_' || letter == ' ';
}

bool word_has(const char *word, const char *part)
{
    size_t length = strlen(part);
    for (const char *at = word; at != NULL && *at != '\0';) {
        size_t here = 0;
        while (at[here] != '\0' && !is_between(at[here]))
            here++;
        if (here == length && strncmp(at, part, length) == 0)
            return true;
        at += here;
        while (is_between(*at))
            at++;
    }
    return false;
}

static bool has_any(const char *word, const char *const *parts)
{
    for (; *parts != NULL; parts++)
        if (word_has(word, *parts))
            return true;
    return false;
}

bool word_starts(const char *word)
{
    return has_any(word, starting) && !has_any(word, refusing);
}

bool word_refuses(const char *word)
{
    return has_any(word, refusing);
}

bool word_lets_pass(const char *word)
{
    return has_any(word, passing);
}

bool word_lets_reverse(const char *word)
{
    return has_any(word, reversing);
}

bool word_coasts(const char *word)
{
    return has_any(word, coasting);
}
