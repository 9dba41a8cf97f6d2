/* SPDX-License-Identifier: MIT */
/* The store of records as the commands use it: opened, asked for interrupted writes, and told who keeps what. */
#ifndef ASLEFT_COMMAND_KEEP_H
#define ASLEFT_COMMAND_KEEP_H

#include "command/job.h"
#include "store/store.h"
#include "visit/recorded.h"

struct keep {
    const struct options *options;
    struct store *store; /* NULL: there is none */
    char *where;         /* its path; owned; NULL where nobody says */
    char *who, *host;    /* owned */
    char *line;          /* of the drive last asked for, in words; owned */
};

/* Opens the store that the options name, or the usual one. ERROR_STORE. keep_close() in any case. */
bool keep_open(struct keep *keep, const struct options *options, enum store_use use, struct error *error);

/* For a command that can do without: looks at what is there, and warns where it cannot be used. */
void keep_look(struct keep *keep, const struct options *options);

void keep_close(struct keep *keep);

/* Tells on standard error of a write to that drive that was interrupted. ERROR_STORE where the journal cannot be read.
 */
bool keep_tell_interrupted(const struct keep *keep, const struct job *job, struct error *error);

/* The same for a command that can do without: what goes wrong is a warning. */
void keep_remind(const struct keep *keep, const struct job *job);

/* What interrupted writes left in that drive has been put in order. ERROR_STORE. */
bool keep_settle(const struct keep *keep, const struct job *job, struct error *error);

/* The same where the drive was found in order without a write: as its sheet asks, or as that record has it (`held`,
 * else NULL). Not where a save is missing that an interrupted write should have sent, since what is right now may be
 * gone with the power; but where all is as before that write, nothing of it is there to be saved. */
bool keep_settle_found(const struct keep *keep, const struct job *job, const struct record *held, struct error *error);

/* Who makes records of that drive; its texts live until the next call. */
struct recorder keep_recorder(struct keep *keep, const struct job *job);

#endif
