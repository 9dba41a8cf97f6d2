/* SPDX-License-Identifier: MIT */
/* What the parts of the sheet reader share. */
#ifndef ASLEFT_FILES_SHEET_READER_H
#define ASLEFT_FILES_SHEET_READER_H

#include "files/fields.h"
#include "files/load.h"
#include "types/map.h"
#include "types/sheet.h"

#include <stdbool.h>

/* The context of a sheet's sections. */
struct sheet_reader {
    struct faults *faults;
    struct sheet *sheet;
    struct map *map;          /* empty until `drive` is read */
    bool map_read;            /* the map is there, and settings can be checked against it */
    struct faults map_faults; /* told in the map's own name */
};

field_reader sheet_field_line;     /* sheet_line.c */
field_reader sheet_field_drive;    /* sheet_drive.c: reads the map too */
field_reader sheet_field_motor;    /* sheet_motor.c */
field_reader sheet_field_settings; /* sheet_settings.c */
field_reader sheet_field_allow;    /* sheet_allow.c */

/* sheet_value.c: what a setting or an allowance is about. */
struct subject {
    enum means means;                  /* as named; MEANS_NONE where a parameter is */
    const struct parameter *parameter; /* the map's, or NULL where it has none or could not be read */
    const char *name;                  /* as written */
};

/* By the name of a means or of a parameter; false where there is neither, which it tells. */
bool subject_find(const struct sheet_reader *reader, struct place place, const char *what, const char *name,
                  struct subject *subject);

/* The means that the subject is in the end: its own, or that of the parameter. */
enum means subject_means(const struct subject *subject);

/* A quantity that suits the subject: of its means' dimension, or as the map's parameter has it. */
bool subject_quantity(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                      struct quantity *quantity);

/* A single value: a word of its choices into `word`, or a number or quantity. */
bool subject_value(const struct sheet_reader *reader, const struct node *value, const struct subject *subject,
                   struct quantity *quantity, char **word);

#endif
