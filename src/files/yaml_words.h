/* SPDX-License-Identifier: MIT */
/* What libyaml found wrong with a file, in plain words. */
#ifndef ASLEFT_FILES_YAML_WORDS_H
#define ASLEFT_FILES_YAML_WORDS_H

#include "files/faults.h"

#include <yaml.h>

/* Tells `faults` why the parser stopped. */
void yaml_words(const yaml_parser_t *parser, struct faults *faults);

/* Marks count from 0, places from 1. */
struct place yaml_place(const yaml_mark_t *mark);

#endif
