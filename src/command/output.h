/* SPDX-License-Identifier: MIT */
/* Where a command's result goes: standard output, or a file that appears whole or not at all. */
#ifndef ASLEFT_COMMAND_OUTPUT_H
#define ASLEFT_COMMAND_OUTPUT_H

#include "command/options.h"
#include "files/seal.h"

struct output {
    struct sink sink;
    FILE *file;
    const char *path; /* as given; NULL: standard output */
    char *target;     /* the file that is to appear, links followed; owned; NULL where none is renamed */
    char *beside;     /* the file under way, next to `target`; owned */
    FILE *place;      /* of a sealed result: where it goes once it is whole; else NULL */
    char *gathered;   /* a sealed result so far; owned */
    size_t gathered_length;
    char digest[SEAL_DIGEST]; /* of a sealed result that is finished */
    int reason;               /* errno of the first flush that failed, which later ones do not know any more */
};

/* Opens what the options say. A device or pipe that is there (/dev/null) is written to, and never replaced.
 * ERROR_OUTPUT where the file cannot be made. */
bool output_open(struct output *output, const struct options *options, struct error *error);

/* The same for a result that bears its own digest: it is gathered, and sealed by output_finish. */
bool output_open_sealed(struct output *output, const struct options *options, struct error *error);

/* The same for a file that is no report: the caller writes to output->file, and its sink is not used. */
bool output_open_file(struct output *output, const char *path, struct error *error);

/* Writes out what is buffered. ERROR_OUTPUT, with the reason, where something was not written. */
bool output_flush(struct output *output, struct error *error);

/* Of a sealed result: closes its last document, and puts the digest in; output->digest has it. For others nothing.
 * ERROR_FILE where a text in it has the words of the seal. */
bool output_seal(struct output *output, struct error *error);

/* Makes the result final: flushed, and the file renamed to its name. Frees the output in any case. */
bool output_finish(struct output *output, struct error *error);

/* Drops an unfinished file. For a zeroed or finished output it does nothing. */
void output_discard(struct output *output);

#endif
