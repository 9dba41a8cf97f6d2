/* SPDX-License-Identifier: MIT */
/* proofread: maps, sheets, plants and records, without a drive. */
#include "command/command.h"
#include "command/commands.h"
#include "command/output.h"
#include "command/trouble.h"
#include "files/files.h"
#include "files/record_file.h"
#include "motor/setpoints.h"
#include "report/documents.h"

static int tell(struct output *output, const char *path, const char *kind, const struct problems *problems,
                const struct findings *implausible)
{
    struct proofread_report report = {.file = path,
                                      .kind = kind,
                                      .errors = &problems->errors,
                                      .warnings = &problems->warnings,
                                      .implausible = implausible};
    doc_proofread(&output->sink, &report);
    if (problems->errors.count > 0)
        return STATUS_FILE;
    return implausible != NULL && implausible->count > 0 ? STATUS_DIFFERS : STATUS_AGREES;
}

static int proofread_map(struct output *output, const char *path, struct problems *problems)
{
    struct map map = {0};
    (void)map_load(path, &map, problems);
    map_free(&map);
    return tell(output, path, "map", problems, NULL);
}

static int proofread_sheet(struct output *output, const char *path, struct problems *problems)
{
    struct sheet sheet = {0};
    struct map map = {0};
    struct setpoints setpoints = {0};
    if (sheet_load(path, &sheet, &map, problems))
        setpoints_compute(&sheet, &map, &setpoints);
    int status = tell(output, path, "sheet", problems, &setpoints.implausible);
    setpoints_free(&setpoints);
    sheet_free(&sheet);
    map_free(&map);
    return status;
}

static int worse(int a, int b)
{
    return a > b ? a : b; /* 0 usable, 1 implausible, 65 unusable */
}

static int proofread_plant(struct output *output, const char *path, struct problems *problems)
{
    struct plant plant = {0};
    (void)plant_load(path, &plant, problems);
    int status = tell(output, path, "plant", problems, NULL);
    for (size_t i = 0; i < plant.count; i++)
        for (size_t j = 0; j < plant.lines[i].sheet_count; j++) {
            struct problems of_sheet = {0};
            status = worse(status, proofread_sheet(output, plant.lines[i].sheets[j], &of_sheet));
            problems_free(&of_sheet);
        }
    plant_free(&plant);
    return status;
}

static int proofread_record(struct output *output, const char *path, struct problems *problems)
{
    struct record record = {0};
    (void)record_load(path, &record, problems);
    record_free(&record);
    return tell(output, path, "record", problems, NULL);
}

static int proofread_one(struct output *output, const char *path)
{
    struct problems problems = {0};
    int status = STATUS_FILE;
    switch (file_kind(path, &problems)) {
    case FILE_MAP:
        status = proofread_map(output, path, &problems);
        break;
    case FILE_SHEET:
        status = proofread_sheet(output, path, &problems);
        break;
    case FILE_PLANT:
        status = proofread_plant(output, path, &problems);
        break;
    case FILE_RECORD:
        status = proofread_record(output, path, &problems);
        break;
    case FILE_UNKNOWN:
        status = tell(output, path, "file", &problems, NULL);
        break;
    }
    problems_free(&problems);
    return status;
}

int command_proofread(const struct options *options)
{
    struct output output;
    struct error error = {0};
    if (!output_open(&output, options, &error))
        return (int)trouble(&error);
    int status = STATUS_AGREES;
    for (size_t i = 0; i < options->operand_count; i++)
        status = worse(status, proofread_one(&output, options->operands[i]));
    if (!output_finish(&output, &error))
        status = (int)trouble(&error);
    return status;
}
