/* SPDX-License-Identifier: MIT */
/* Where a command's result goes: standard output, or a file that appears whole or not at all. */
#include "command/output.h"

#include "types/memory.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PAGE_WIDTH = 80, NARROWEST = 60, WIDEST = 120 };

static bool environment_says(const char *name)
{
    const char *value = getenv(name);
    return value != NULL && value[0] != '\0';
}

static bool wants_color(const struct options *options, bool terminal)
{
    switch (options->color) {
    case COLOR_ALWAYS:
        return true;
    case COLOR_NEVER:
        return false;
    case COLOR_AUTO:
        break;
    }
    const char *kind = getenv("TERM");
    return terminal && !environment_says("NO_COLOR") && (kind == NULL || strcmp(kind, "dumb") != 0);
}

/* Files and pipes get 80 columns, so that a report is the same wherever it was made. */
static unsigned page_width(bool terminal)
{
    struct winsize size;
    if (!terminal || ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0)
        return PAGE_WIDTH;
    return size.ws_col < NARROWEST ? NARROWEST : size.ws_col > WIDEST ? WIDEST : size.ws_col;
}

static bool cannot_write(const struct output *output, struct error *error)
{
    return error_set(error, ERROR_OUTPUT, "%s cannot be written: %s", output->path, strerror(errno));
}

/* mkstemp gives a file to its owner alone; a result has the rights of any other new file. */
static void usual_rights(int descriptor)
{
    mode_t mask = umask(0);
    (void)umask(mask);
    (void)fchmod(descriptor, 0666 & ~mask);
}

static bool open_beside(struct output *output, struct error *error)
{
    char *followed = realpath(output->path, NULL);
    output->target = text_copy(followed == NULL ? output->path : followed);
    free(followed);
    output->beside = text_format("%s.part-XXXXXX", output->target);
    int descriptor = mkstemp(output->beside);
    if (descriptor < 0) {
        free(output->beside);
        output->beside = NULL;
        return cannot_write(output, error);
    }
    usual_rights(descriptor);
    output->file = fdopen(descriptor, "w");
    return output->file != NULL || cannot_write(output, error);
}

/* Where something other than a file is in place, nothing can be renamed onto it. */
static bool open_named(struct output *output, struct error *error)
{
    struct stat there;
    output->file = NULL;
    if (stat(output->path, &there) != 0 || S_ISREG(there.st_mode))
        return open_beside(output, error);
    output->file = fopen(output->path, "we");
    return output->file != NULL || cannot_write(output, error);
}

bool output_open_file(struct output *output, const char *path, struct error *error)
{
    *output = (struct output){.path = path, .file = stdout};
    if (path == NULL || open_named(output, error))
        return true;
    output_discard(output);
    return false;
}

static void begin_report(struct output *output, const struct options *options)
{
    bool terminal = output->path == NULL && isatty(STDOUT_FILENO) == 1;
    struct sink_options page = {.color = wants_color(options, terminal), .width = page_width(terminal)};
    sink_init(&output->sink, options->format, output->file, page);
}

bool output_open(struct output *output, const struct options *options, struct error *error)
{
    if (!output_open_file(output, options->output, error))
        return false;
    begin_report(output, options);
    return true;
}

bool output_open_sealed(struct output *output, const struct options *options, struct error *error)
{
    if (!output_open_file(output, options->output, error))
        return false;
    FILE *gathering = open_memstream(&output->gathered, &output->gathered_length);
    if (gathering == NULL) {
        (void)cannot_write(output, error);
        output_discard(output);
        return false;
    }
    output->place = output->file;
    output->file = gathering;
    begin_report(output, options);
    return true;
}

static const char *name_of(const struct output *output)
{
    return output->path == NULL ? "standard output" : output->path;
}

bool output_flush(struct output *output, struct error *error)
{
    if (output->file == NULL)
        return true; /* it was dropped */
    if (fflush(output->file) != 0 && output->reason == 0)
        output->reason = errno;
    if (output->reason == 0 && ferror(output->file) == 0)
        return true;
    if (output->reason == 0) /* it failed between two flushes */
        return error_set(error, ERROR_OUTPUT, "%s could not be written", name_of(output));
    return error_set(error, ERROR_OUTPUT, "%s could not be written: %s", name_of(output), strerror(output->reason));
}

/* What is not on the disk is not written: a full disk shows at the latest here. */
static bool close_file(struct output *output)
{
    bool written = output->beside == NULL || fsync(fileno(output->file)) == 0;
    written = fclose(output->file) == 0 && written;
    output->file = NULL;
    return written && (output->beside == NULL || rename(output->beside, output->target) == 0);
}

bool output_seal(struct output *output, struct error *error)
{
    if (output->place == NULL)
        return true;
    sink_free(&output->sink);
    bool gathered = fclose(output->file) == 0;
    output->file = output->place;
    output->place = NULL;
    if (!gathered)
        return cannot_write(output, error);
    /* a format without a digest goes as it is */
    return memmem(output->gathered, output->gathered_length, SEAL_MARK, sizeof SEAL_MARK - 1) == NULL ||
           seal_apply(output->gathered, output->gathered_length, output->digest) ||
           error_set(error, ERROR_FILE,
                     "a text of the drive or its files has the words '%s', which belong to the document's own digest; "
                     "change it there",
                     SEAL_MARK);
}

/* What was gathered in memory. */
static bool put_in_place(const struct output *output, struct error *error)
{
    return output->gathered == NULL ||
           fwrite(output->gathered, 1, output->gathered_length, output->file) == output->gathered_length ||
           cannot_write(output, error);
}

bool output_finish(struct output *output, struct error *error)
{
    sink_free(&output->sink); /* what closes the last document goes into the file too */
    bool written = output_seal(output, error) && put_in_place(output, error) && output_flush(output, error);
    if (written && output->path != NULL) {
        written = close_file(output);
        if (written) {
            free(output->beside);
            output->beside = NULL;
        } else {
            error_set(error, ERROR_OUTPUT, "%s could not be written: %s", output->path, strerror(errno));
        }
    }
    output_discard(output);
    return written;
}

void output_discard(struct output *output)
{
    sink_drop(&output->sink);
    if (output->place != NULL) {
        (void)fclose(output->file);
        output->file = output->place;
        output->place = NULL;
    }
    if (output->path != NULL && output->file != NULL)
        (void)fclose(output->file);
    if (output->beside != NULL)
        (void)unlink(output->beside);
    free(output->beside);
    free(output->target);
    free(output->gathered);
    char digest[SEAL_DIGEST]; /* it outlives the result that it is of */
    memcpy(digest, output->digest, sizeof digest);
    *output = (struct output){0};
    memcpy(output->digest, digest, sizeof digest);
}
