/* SPDX-License-Identifier: MIT */
/* What differs from the setpoints, as changes to be written. */
#include "change/list_parts.h"
#include "motor/show.h"

#include <stdlib.h>
#include <string.h>

/* Beyond its range as found, by the expectation alone: a verdict is not given on what the drive finds itself. */
static bool is_beyond(const struct finding *finding)
{
    return finding->expected.kind == EXPECTED_RANGE && finding->found.kind == VALUE_NUMBER &&
           (finding->found.number < finding->expected.low || finding->found.number > finding->expected.high);
}

static const char *basis_of(const struct finding *finding)
{
    return finding->basis == NULL ? "" : finding->basis;
}

static void leave_differing(struct listing *listing, const struct parameter *parameter, const struct finding *finding,
                            const char *why)
{
    char *shown = show_value(&finding->found, finding->unit, finding->step);
    listing_leave(listing, parameter->name, "%s: it holds %s, and differs (%s)", why, shown, basis_of(finding));
    free(shown);
}

static void leave_unread(struct listing *listing, const struct parameter *parameter, const struct finding *finding)
{
    char symptom[32];
    if (finding->expected.kind == EXPECTED_NOTHING || parameter->settable == SETTABLE_NEVER)
        return;
    (void)symptom_word(finding->symptom, symptom, sizeof symptom);
    if (finding->remark != NULL)
        listing_leave(listing, parameter->name, "is not read (%s: %s), so it is not written", symptom, finding->remark);
    else
        listing_leave(listing, parameter->name, "is not read (%s), so it is not written", symptom);
}

static void add_setpoint(struct listing *listing, size_t index, const struct finding *finding)
{
    const struct parameter *parameter = listing_parameter(listing, index);
    uint16_t words[2];
    char *why = NULL;
    if (listing_encode(listing, index, words, &why))
        listing_add(listing, index, words, parameter->words, text_copy(basis_of(finding)), finding->stake);
    else
        listing_refuse(listing, index, why);
}

static void take_difference(struct listing *listing, size_t index, const struct finding *finding)
{
    const struct parameter *parameter = listing_parameter(listing, index);
    if (parameter->kind == KIND_COMMAND)
        listing_refuse(listing, index, text_copy("is a command, which is never written: take it out of the sheet"));
    else if (parameter->cuts_line)
        listing_refuse(listing, index,
                       text_copy("would cut the line that this program talks over, and is never written: set it at "
                                 "the keypad"));
    else if (means_is_live(parameter->means))
        leave_differing(listing, parameter, finding, "tells what the drive does, and is not set");
    else if (parameter->settable == SETTABLE_NEVER)
        leave_differing(listing, parameter, finding, "cannot be set by this map");
    else if (parameter->tuned)
        leave_differing(listing, parameter, finding, "is found by the drive itself, by motor tuning");
    else if (parameter->type == TYPE_TEXT)
        leave_differing(listing, parameter, finding, "is a text, which is set at the keypad");
    else
        add_setpoint(listing, index, finding);
}

void listing_write(struct listing *listing)
{
    const struct change_order *order = listing->order;
    for (size_t i = 0; i < order->map->count; i++) {
        const struct parameter *parameter = listing_parameter(listing, i);
        const struct finding *finding = listing_finding(listing, parameter->name);
        if (finding == NULL)
            continue;
        if (finding->verdict == VERDICT_DIFFERS)
            take_difference(listing, i, finding);
        else if (finding->verdict == VERDICT_UNREAD)
            leave_unread(listing, parameter, finding);
        else if (finding->verdict == VERDICT_UNCHECKED && parameter->tuned && is_beyond(finding))
            leave_differing(listing, parameter, finding, "is found by the drive itself, by motor tuning");
    }
}
