/* SPDX-License-Identifier: MIT */
/* How a list of writes is confirmed: by a command line with its code, or on a terminal by the drive's tag. */
#include "command/confirm.h"

#include "report/escape.h"
#include "types/memory.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

/* ---- the command line ---- */

static void add_text(struct texts *words, const char *option, const char *value)
{
    if (value == NULL)
        return;
    char *word = escape_shell(value);
    texts_add(words, text_format("--%s %s", option, word));
    free(word);
}

static void add_number(struct texts *words, const char *option, bool given, unsigned value)
{
    if (given)
        texts_add(words, text_format("--%s %u", option, value));
}

/* Line and store, as they were given. */
static void add_place(struct texts *words, const struct options *options)
{
    static const char *const parities[] = {[PARITY_NONE] = "none", [PARITY_EVEN] = "even", [PARITY_ODD] = "odd"};
    const struct line *line = &options->line;
    add_text(words, "serial", line->serial);
    add_text(words, "host", line->host);
    add_number(words, "port", options->port_given, line->port);
    add_number(words, "unit", line->unit_given, line->unit);
    add_number(words, "baud", options->baud_given, line->baud);
    add_text(words, "parity", options->parity_given ? parities[line->parity] : NULL);
    add_number(words, "stop-bits", options->stop_bits_given, line->stop_bits);
    add_text(words, "store", options->store);
}

static char *joined(struct texts *words)
{
    char *whole = texts_join(words, " ");
    texts_free(words);
    return whole;
}

char *confirm_words(const struct options *options, const char *sheet)
{
    struct texts words = {0};
    texts_add(&words, escape_shell(sheet));
    add_place(&words, options);
    return joined(&words);
}

char *confirm_command(const char *command, const struct options *options, const char *code)
{
    struct texts words = {0};
    texts_add(&words, text_format("asleft %s", command));
    for (size_t i = 0; i < options->operand_count; i++)
        texts_add(&words, escape_shell(options->operands[i]));
    add_place(&words, options);
    add_text(&words, "replacement", options->replacement);
    add_text(&words, "confirm", code);
    return joined(&words);
}

/* ---- the question ---- */

enum { LONGEST_LINE = 4096 }; /* what a terminal hands out at once */

struct answer_line {
    char text[LONGEST_LINE];
    size_t length;
    bool over; /* a line, the end of input, or more than any tag has */
};

static void take(void *user)
{
    struct answer_line *line = user;
    ssize_t got = read(STDIN_FILENO, line->text + line->length, sizeof line->text - 1 - line->length);
    if (got < 0 && (errno == EINTR || errno == EAGAIN))
        return;
    line->length += got > 0 ? (size_t)got : 0;
    line->over = got <= 0 || line->text[line->length - 1] == '\n' || line->length == sizeof line->text - 1;
}

static bool is_over(void *user)
{
    return ((const struct answer_line *)user)->over;
}

bool confirm_can_ask(const struct options *options)
{
    return options->output == NULL && options->format == sink_format_find("text") && isatty(STDIN_FILENO) == 1 &&
           isatty(STDOUT_FILENO) == 1 && isatty(STDERR_FILENO) == 1;
}

bool confirm_ask(const struct run *run, const char *tag, size_t changes)
{
    struct answer_line line = {.length = 0};
    char *harmless = escape_terminal(tag);
    (void)tcflush(STDIN_FILENO, TCIFLUSH);
    (void)fprintf(stderr, "to write %s now, type the drive's tag, %s; anything else leaves the drive as it is: ",
                  changes == 1 ? "this change" : "these changes", harmless);
    (void)fflush(stderr);
    free(harmless);
    struct watch *watch = watch_new(run->loop, take, &line);
    watch_descriptor(watch, STDIN_FILENO, false);
    bool typed = loop_run(run->loop, is_over, &line, -1);
    watch_descriptor(watch, -1, false);
    watch_free(watch);
    char *due = text_format("%s\n", tag);
    bool fits = typed && strcmp(line.text, due) == 0;
    free(due);
    return fits;
}
