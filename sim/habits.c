/* SPDX-License-Identifier: MIT */
/* Drives that do not do what they confirm, and what others do to them meanwhile. */
#include "sim/habits.h"

#include "sim/power.h"

void habits_begin(struct drive *drive, struct line_faults *faults, const struct fault *fault)
{
    if (fault == NULL)
        return;
    const bool clamps = fault->kind == FAULT_CLAMPED;
    const bool returns = fault->kind == FAULT_CHANGED_LATER;
    drive->habit = (struct habit){
        .forgets = fault->kind == FAULT_NOT_KEPT,
        .clamps_percent = clamps ? (unsigned)line_faults_argument(faults, fault) : 0,
        .returns_after_us = returns ? (int64_t)line_faults_argument(faults, fault) : 0,
    };
}

void habits_end(struct drive *drive, const struct fault *fault)
{
    drive->habit = (struct habit){0};
    if (fault == NULL)
        return;
    if (fault->kind == FAULT_TRIP)
        (void)drive_model_trip(&drive->model);
    else if (fault->kind == FAULT_STARTS)
        (void)drive_model_start(&drive->model);
    else if (fault->kind == FAULT_EXCHANGED)
        (void)power_exchange(drive, fault->word, NULL); /* that it can was looked at before it began */
}
