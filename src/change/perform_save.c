/* SPDX-License-Identifier: MIT */
/* The save command: sent once, after a list that was kept as a whole. */
#include "change/perform_internal.h"

#include <math.h>
#include <stdlib.h>

enum { DONE_WITHIN_US = 1000000 /* where the map does not say */ };

static void take_written(void *user, const struct written *written)
{
    struct performance *performance = user;
    performance->written = *written;
    performance->done = true;
}

/* Is what the map waits for there in time? False in `was_read` where that could not be seen. The last look is begun
 * when the time is up, since a reply may be late. */
static bool is_done(struct performance *performance, bool *was_read)
{
    const struct save_command *save = &performance->map->save;
    struct loop *loop = performance->order->loop;
    int64_t within_us = save->within_s > 0 ? llround(save->within_s * 1e6) : DONE_WITHIN_US;
    int64_t until_us = loop_now_us(loop) + within_us;
    for (unsigned last_looks = LAST_LOOKS; last_looks > 0;) {
        last_looks -= loop_now_us(loop) >= until_us ? 1 : 0;
        uint16_t word = 0;
        *was_read = perform_read_place(performance, save->at, 1, &word);
        if (*was_read && word == save->done_when)
            return true;
        perform_wait(performance, LOOK_EVERY_US);
    }
    return false;
}

/* What the register says without an acknowledgement proves nothing: it may say so ever since. */
static enum save_outcome outcome_of(struct performance *performance, char **why)
{
    const struct written *written = &performance->written;
    char symptom[32];
    if (written->symptom.kind == SYMPTOM_NONE) {
        bool was_read = true;
        if (!performance->map->save.done_given || is_done(performance, &was_read))
            return SAVE_DONE;
        *why = text_copy(was_read ? "the drive did not say in time that it was done"
                                  : "whether it was done could not be read");
        return was_read ? SAVE_FAILED : SAVE_UNKNOWN;
    }
    *why = text_format(written->requests == 0 ? "not sent: the line could not be used (%s)" : "not acknowledged (%s)",
                       symptom_word(written->symptom, symptom, sizeof symptom));
    bool said_no = written->symptom.kind == SYMPTOM_EXCEPTION && written->symptom.exception != 0x05 &&
                   written->symptom.exception != 0x0a && written->symptom.exception != 0x0b;
    return written->requests == 0 || said_no ? SAVE_FAILED : SAVE_UNKNOWN;
}

/* The same in the words of a journal. */
static enum write_outcome in_journal(enum save_outcome outcome, bool sent)
{
    switch (outcome) {
    case SAVE_NONE:
    case SAVE_PLANNED:
        return WRITE_LEFT_OUT;
    case SAVE_DONE:
        return WRITE_KEPT;
    case SAVE_FAILED:
        return sent ? WRITE_REFUSED : WRITE_NOT_WRITTEN;
    case SAVE_UNKNOWN:
        return WRITE_UNKNOWN;
    }
    return WRITE_UNKNOWN;
}

void perform_save(struct performance *performance)
{
    const struct perform_order *order = performance->order;
    struct change_list *list = performance->list;
    char *why = NULL;
    performance->written = (struct written){0};
    list->save = SAVE_FAILED;
    if (perform_may_save(performance, &why) && perform_journal_save(performance, WRITE_SENT, NULL)) {
        performance->done = false;
        writer_save(order->link, performance->map, order->change->unit, take_written, performance);
        perform_run_loop(performance);
        list->save = outcome_of(performance, &why);
    }
    if (!performance->store_failed)
        (void)perform_journal_save(performance, in_journal(list->save, performance->written.requests > 0), why);
    if (list->save != SAVE_DONE)
        texts_add(&list->punch,
                  text_format("save at the drive, or write again: the save command %s%s%s; what was written may last "
                              "until power off only",
                              list->save == SAVE_UNKNOWN ? "has an unknown outcome" : "failed", why == NULL ? "" : ": ",
                              why == NULL ? "" : why));
    free(why);
}
