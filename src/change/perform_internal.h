/* SPDX-License-Identifier: MIT */
/* The performing of a list from inside: what the files perform_*.c share. */
#ifndef ASLEFT_CHANGE_PERFORM_INTERNAL_H
#define ASLEFT_CHANGE_PERFORM_INTERNAL_H

#include "bus/reader.h"
#include "bus/writer.h"
#include "change/perform.h"

/* How often it is looked once more when the time is up, before something counts as not done: a reply may be late, and a
 * gateway may give the answer to the look before. */
enum { LOOK_EVERY_US = 100000, LAST_LOOKS = 3 };

/* What a parameter holds, seen from its change. */
enum held { HELD_NEW, HELD_OLD, HELD_OTHER, HELD_UNREAD };

/* What is known of one change beyond what is told of it. */
struct attempt {
    bool acknowledged;
    bool pending;  /* counts from the next power cycle on, and reads as the old value until then */
    bool fleeting; /* in force, but the address that lasts holds something else */
};

struct performance {
    const struct perform_order *order;
    const struct map *map;
    struct change_list *list;
    struct attempt *attempts; /* one a change */
    struct readings readings; /* what was read last, for checks and reading back */
    struct reader *reader;
    struct journal journal; /* a step a change, and one for the save command where there is one */
    bool done;              /* what the loop runs for */
    struct written written;
    bool lasting_known;  /* the lasting address of the change in hand is readable, and held the old value too */
    bool sent;           /* something of a write may have reached the drive */
    bool unread;         /* something could not be read at the end */
    bool store_failed;   /* it is not used again */
    struct error *error; /* of the store */
};

/* ---- perform_ask.c: submit, and run the loop until it is answered, whatever stops the loop meanwhile ---- */

void perform_run_loop(struct performance *performance);
void perform_is_done(void *user); /* ends it */
void perform_wait(struct performance *performance, int64_t for_us);

/* Reads these anew, and decodes; what was not read is asked again a few times. True where all was read. */
bool perform_read(struct performance *performance, const struct wanted *wanted);

/* Reads `count` (1 or 2) words at an address that need not be a parameter's. */
bool perform_read_place(struct performance *performance, struct address at, unsigned count, uint16_t *words);

/* Which value do these words mean? */
enum held perform_held(const struct performance *performance, const struct change *change, const uint16_t *words,
                       size_t count);

/* Appends to a note; "" where there was none. */
void perform_note(struct change *change, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Takes a reading as what was found. */
void perform_found(struct change *change, const struct reading *reading);

/* ---- perform_check.c: may it be sent? ---- */

/* Adds what tells the state, and for what could start the shaft run command and enable; with what decides them. */
void perform_want_state(const struct performance *performance, bool could_start, struct wanted *wanted);

/* Do these readings name another drive than the list was made for? Then `why` is owned by the caller. What was not read
 * names none. */
bool perform_is_other_drive(const struct performance *performance, const struct readings *now, char **why);

/* False where it must not be sent; outcome and note are set then. */
bool perform_may_send(struct performance *performance, struct change *change);

/* The same for the save command; `why` is owned by the caller. */
bool perform_may_save(struct performance *performance, char **why);

/* ---- perform_write.c ---- */

/* Sends it, once, and reads back; fills outcome, exception, found, note. The journal has it as sent. */
void perform_send(struct performance *performance, size_t index);

/* ---- perform_save.c ---- */

/* Sends the save command, once; the outcome is in the list, what is left to do among its punch items. */
void perform_save(struct performance *performance);

/* ---- perform_after.c ---- */

/* Reads everything once more, corrects outcomes that do not hold any longer, finds the drive's own changes, and keeps
 * the record. */
void perform_look_again(struct performance *performance);

/* ---- perform_punch.c ---- */

/* What is still to be done. */
void perform_punch(struct performance *performance);

/* ---- perform_journal.c ---- */

bool perform_journal_begin(struct performance *performance, const struct record *before, struct error *error);

/* Keeps what a change has come to. False where the store fails. */
bool perform_journal_change(struct performance *performance, size_t index);

/* The same for the save command. */
bool perform_journal_save(struct performance *performance, enum write_outcome outcome, const char *note);

int64_t perform_wall_ms(const struct performance *performance);

#endif
