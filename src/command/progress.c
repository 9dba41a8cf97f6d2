/* SPDX-License-Identifier: MIT */
/* A progress bar on standard error, where that is a terminal: drawn in place, gone at the end. */
#include "command/progress.h"

#include "command/repaint.h"
#include "types/memory.h"

#include <stdio.h>
#include <stdlib.h>

enum { BAR = 20 };

struct progress {
    struct repaint *repaint;
    progress_teller tell;
    void *user;
};

char *progress_left(int64_t left_us, char *text, size_t size)
{
    int64_t left_s = (left_us + 999999) / 1000000;
    if (left_s < 100)
        (void)snprintf(text, size, "%lld s left", (long long)left_s);
    else
        (void)snprintf(text, size, "%lld min left", (long long)(left_s + 59) / 60);
    return text;
}

static void tell_bar(void *user, char *line, size_t size)
{
    const struct progress *progress = user;
    struct progress_state state = {0};
    char left[32], bar[BAR + 1];
    progress->tell(progress->user, &state);
    for (size_t i = 0; i < BAR; i++)
        bar[i] = (double)i < state.share * BAR ? '#' : '.';
    bar[BAR] = '\0';
    (void)snprintf(line, size, "[%s] %2.0f %%  %s; at most %s", bar, state.share * 100, state.text,
                   progress_left(state.left_us, left, sizeof left));
}

struct progress *progress_start(struct loop *loop, progress_teller tell, void *user)
{
    struct progress *progress = memory_new(1, sizeof *progress);
    *progress = (struct progress){.tell = tell, .user = user};
    progress->repaint = repaint_start(loop, tell_bar, progress);
    if (progress->repaint != NULL)
        return progress;
    free(progress);
    return NULL;
}

void progress_end(struct progress *progress)
{
    if (progress == NULL)
        return;
    repaint_end(progress->repaint);
    free(progress);
}
