/* SPDX-License-Identifier: MIT */
/* One line on standard error that is painted anew in place. */
#include "command/repaint.h"

#include "types/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum { EVERY_US = 100000, USUAL_WIDTH = 80 };

struct repaint {
    struct loop *loop;
    struct watch *watch;
    repaint_teller tell;
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

/* One column stays free, so that no terminal wraps. */
static void paint(void *user)
{
    struct repaint *repaint = user;
    char line[REPAINT_LONGEST] = "";
    repaint->tell(repaint->user, line, sizeof line);
    (void)fprintf(stderr, "\r%.*s\033[K", (int)width() - 1, line);
    (void)fflush(stderr);
    watch_deadline(repaint->watch, loop_now_us(repaint->loop) + EVERY_US);
}

struct repaint *repaint_start(struct loop *loop, repaint_teller tell, void *user)
{
    if (!is_terminal())
        return NULL;
    struct repaint *repaint = memory_new(1, sizeof *repaint);
    *repaint = (struct repaint){.loop = loop, .tell = tell, .user = user};
    repaint->watch = watch_new(loop, paint, repaint);
    watch_deadline(repaint->watch, 0);
    return repaint;
}

void repaint_end(struct repaint *repaint)
{
    if (repaint == NULL)
        return;
    watch_free(repaint->watch);
    (void)fputs("\r\033[K", stderr);
    (void)fflush(stderr);
    free(repaint);
}
