/* SPDX-License-Identifier: MIT */
/* Values as nameplates stamp them: "230/460 V", "380-420 V", and which column a motor is connected for. */
#ifndef ASLEFT_FILES_PLATE_H
#define ASLEFT_FILES_PLATE_H

#include "files/faults.h"
#include "files/yaml_tree.h"
#include "types/sheet.h"

enum { PLATE_COLUMNS_MOST = 8 };

/* low == high unless it is a range. */
struct plate_value {
    struct quantity low, high;
};

struct plate_values {
    struct plate_value items[PLATE_COLUMNS_MOST];
    size_t count;
};

/* Reads values that share one unit behind the last; ranges are fine for voltages only. All are more than 0. */
bool plate_values(struct faults *faults, const struct node *value, const char *what, enum dimension dimension,
                  struct plate_values *values);

/* Finds the column that `connected_for` (may be NULL) names: a voltage, or {voltage, frequency}. A plate of one column
 * needs none; one of several without it is a warning. */
void plate_connect(struct faults *faults, const struct node *motor_node, const struct node *connected_for,
                   struct motor *motor);

#endif
