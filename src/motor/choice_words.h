/* SPDX-License-Identifier: MIT */
/* What the words of a map's choices mean where people are at stake. Whoever writes a map chooses its words, so they are
 * judged by the parts between their hyphens, and a word without a part that is known means nothing. Pure functions. */
#ifndef ASLEFT_MOTOR_CHOICE_WORDS_H
#define ASLEFT_MOTOR_CHOICE_WORDS_H

#include <stdbool.h>

/* Is `part` one of the word's parts? "coast" is one of "coast-down". False for NULL. */
bool word_has(const char *word, const char *part);

/* Does the word of restart.* let the drive start by itself: "restart", "always", "three-times", "on"? Not where it also
 * says "never", "wait-for-new-start". */
bool word_starts(const char *word);

/* Does the word refuse that: "never", "off", "stay-stopped"? */
bool word_refuses(const char *word);

/* Does the word of a protection or a loss let the drive run as if nothing were: "ignore", "run-on", "off"? */
bool word_lets_pass(const char *word);

/* Does the word of control.direction_lock let the shaft turn both ways? */
bool word_lets_reverse(const char *word);

/* Does the word of control.stop_method let the load run out: "coast", "free"? */
bool word_coasts(const char *word);

#endif
