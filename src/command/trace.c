/* SPDX-License-Identifier: MIT */
/* The file that --trace fills: every frame on the lines, a line of text each, as it happens. */
#include "command/trace.h"

#include "bus/describe.h"
#include "report/escape.h"
#include "report/words.h"
#include "types/memory.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

static bool cannot_write(const char *path, int reason, struct error *error)
{
    return error_set(error, ERROR_OUTPUT, "the trace %s cannot be written: %s", path, strerror(reason));
}

bool trace_open(struct trace *trace, const char *path, struct error *error)
{
    *trace = (struct trace){.path = path};
    if (path == NULL)
        return true;
    trace->file = fopen(path, "we");
    if (trace->file == NULL)
        return cannot_write(path, errno, error);
    (void)setvbuf(trace->file, NULL, _IOLBF, BUFSIZ); /* a line is written whole, and at once: a crash leaves it */
    return true;
}

/* Only the line that failed knows why. */
static void note_loss(struct trace *trace, int printed)
{
    if (printed < 0 && trace->reason == 0)
        trace->reason = errno;
}

void trace_line(struct trace *trace, const char *tag, const char *line)
{
    if (trace->file == NULL)
        return;
    char *text = text_format("%s: %s", tag, line);
    char *harmless = escape_terminal(text);
    note_loss(trace, fprintf(trace->file, "# %s\n", harmless));
    free(harmless);
    free(text);
}

void trace_frame(struct trace *trace, bool tcp, enum trace_kind kind, int64_t wall_us, const uint8_t *bytes,
                 size_t length)
{
    static const char *const kinds[] = {
        [TRACE_SENT] = "sent", [TRACE_REPLY] = "reply", [TRACE_FOREIGN] = "foreign", [TRACE_JUNK] = "junk"};
    enum { UNTIL_MILLISECONDS = 23 }; /* characters of "2026-01-31T08:00:00.000Z" before the Z */
    if (trace->file == NULL)
        return;
    char *time = words_time(wall_us / 1000);
    char *hex = memory_new(3 * length + 1, 1);
    for (size_t i = 0; i < length; i++)
        (void)snprintf(hex + 3 * i, 4, "%02x ", bytes[i]);
    if (length > 0)
        hex[3 * length - 1] = '\0';
    char *words = frame_describe(tcp, kind, bytes, length);
    note_loss(trace, fprintf(trace->file, "%.*s%03dZ\t%s\t%s\t%s\n", UNTIL_MILLISECONDS, time, (int)(wall_us % 1000),
                             kinds[kind], hex, words));
    free(words);
    free(hex);
    free(time);
}

bool trace_close(struct trace *trace, struct error *error)
{
    if (trace->file == NULL)
        return true;
    bool closed = fclose(trace->file) == 0;
    int reason = trace->reason != 0 ? trace->reason : closed ? 0 : errno;
    trace->file = NULL;
    return reason == 0 || cannot_write(trace->path, reason, error);
}
