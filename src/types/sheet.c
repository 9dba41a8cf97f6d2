/* SPDX-License-Identifier: MIT */
/* Looking up, copying and freeing of sheets and plants. */
#include "types/sheet.h"

#include "types/memory.h"

#include <stdlib.h>

const struct setting *sheet_setting(const struct sheet *sheet, enum means means)
{
    for (size_t i = 0; i < sheet->setting_count; i++)
        if (sheet->settings[i].means == means)
            return &sheet->settings[i];
    return NULL;
}

void line_free(struct line *line)
{
    free(line->serial);
    free(line->host);
    *line = (struct line){0};
}

struct line line_copy(const struct line *line)
{
    struct line copy = *line;
    copy.serial = text_copy(line->serial);
    copy.host = text_copy(line->host);
    return copy;
}

void sheet_free(struct sheet *sheet)
{
    free(sheet->path);
    free(sheet->tag);
    free(sheet->service);
    free(sheet->drive.map_path);
    free(sheet->drive.serial_number);
    free(sheet->drive.firmware);
    line_free(&sheet->line);
    free(sheet->motor.columns);
    for (size_t i = 0; i < sheet->setting_count; i++) {
        free(sheet->settings[i].name);
        free(sheet->settings[i].word);
    }
    free(sheet->settings);
    for (size_t i = 0; i < sheet->allow_count; i++) {
        free(sheet->allow[i].parameter);
        free(sheet->allow[i].because);
    }
    free(sheet->allow);
    for (size_t i = 0; i < sheet->by_hand_count; i++) {
        free(sheet->by_hand[i].check);
        free(sheet->by_hand[i].found);
        free(sheet->by_hand[i].by);
        free(sheet->by_hand[i].at);
    }
    free(sheet->by_hand);
    *sheet = (struct sheet){0};
}

void plant_free(struct plant *plant)
{
    for (size_t i = 0; i < plant->count; i++) {
        struct plant_line *line = &plant->lines[i];
        free(line->name);
        line_free(&line->line);
        for (size_t j = 0; j < line->sheet_count; j++)
            free(line->sheets[j]);
        free(line->sheets);
    }
    free(plant->lines);
    free(plant->path);
    free(plant->name);
    *plant = (struct plant){0};
}
