/* SPDX-License-Identifier: MIT */
/* A progress bar on standard error, where that is a terminal: drawn in place, gone at the end. */
#include "command/progress.h"

#include "types/memory.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum { EVERY_US = 100000, BAR = 20, USUAL_WIDTH = 80, LONGEST = 256 };

struct progress {
    struct loop *loop;
    struct watch *watch;
    progress_teller tell;
    void *user;
};

static bool is_terminal(void)
{
    const char *kind = getenv("TERM");
    return isatty(STDERR_FILENO) == 1 && kind != NULL && strcmp(kind, "dumb") != 0;
}

static size_t width(void)
{
    struct winsize size;
    return ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col : USUAL_WIDTH;
}

char *progress_left(int64_t left_us, char *text, size_t size)
{
    int64_t left_s = (left_us + 999999) / 1000000;
    if (left_s < 100)
        (void)snprintf(text, size, "%lld s left", (long long)left_s);
    else
        (void)snprintf(text, size, "%lld min left", (long long)(left_s + 59) / 60);
    return text;
}

/* One column stays free, so that no terminal wraps. */
static void draw(void *user)
{
    struct progress *progress = user;
    struct progress_state state = {0};
    char left[32], line[LONGEST], bar[BAR + 1];
    progress->tell(progress->user, &state);
    for (size_t i = 0; i < BAR; i++)
        bar[i] = (double)i < state.share * BAR ? '#' : '.';
    bar[BAR] = '\0';
    (void)snprintf(line, sizeof line, "[%s] %2.0f %%  %s; at most %s", bar, state.share * 100, state.text,
                   progress_left(state.left_us, left, sizeof left));
    (void)fprintf(stderr, "\r%.*s\033[K", (int)width() - 1, line);
    (void)fflush(stderr);
    watch_deadline(progress->watch, loop_now_us(progress->loop) + EVERY_US);
}

struct progress *progress_start(struct loop *loop, progress_teller tell, void *user)
{
    if (!is_terminal())
        return NULL;
    struct progress *progress = memory_new(1, sizeof *progress);
    *progress = (struct progress){.loop = loop, .tell = tell, .user = user};
    progress->watch = watch_new(loop, draw, progress);
    watch_deadline(progress->watch, 0);
    return progress;
}

void progress_end(struct progress *progress)
{
    if (progress == NULL)
        return;
    watch_free(progress->watch);
    (void)fputs("\r\033[K", stderr);
    (void)fflush(stderr);
    free(progress);
}
