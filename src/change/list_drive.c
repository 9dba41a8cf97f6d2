/* SPDX-License-Identifier: MIT */
/* Is it this drive? Unit, identity, serial number, firmware. */
#include "bus/decode.h"
#include "change/list_parts.h"
#include "verdict/judge.h"
#include "visit/recorded.h"

#include <stdlib.h>
#include <string.h>

static void refuse_all(struct listing *listing, char *reason)
{
    listing_refuse(listing, PARAMETER_NOT_FOUND, reason);
}

static bool identity_holds(const struct change_order *order, const struct identity *identity)
{
    const struct reading *reading = &order->readings->items[identity->parameter];
    uint32_t raw = 0;
    if (reading->symptom.kind != SYMPTOM_NONE)
        return false;
    if (identity->is_text)
        return reading->value.kind == VALUE_TEXT && strcmp(reading->value.text, identity->text) == 0;
    return reading_raw(order->map, order->readings, identity->parameter, &raw) && raw == identity->raw;
}

/* The serial number that the sheet gives, against the drive's. */
static enum verdict sheet_serial_verdict(const struct change_order *order, size_t parameter)
{
    struct finding finding = {0};
    judge_parameter(order->map, parameter, order->setpoints, order->readings, &finding);
    enum verdict verdict = finding.verdict;
    finding_free(&finding);
    return verdict;
}

/* A map without identity matches any drive: then the serial number alone can tell. */
static void check_identity(struct listing *listing, bool serial_agrees)
{
    const struct change_order *order = listing->order;
    for (size_t i = 0; i < order->map->identity_count; i++) {
        const struct identity *identity = &order->map->identity[i];
        if (identity_holds(order, identity))
            continue;
        bool is_read = order->readings->items[identity->parameter].symptom.kind == SYMPTOM_NONE &&
                       order->readings->items[identity->parameter].raw_count > 0;
        listing_refuse(listing, identity->parameter,
                       text_copy(is_read ? "is not what the map's identity asks for: this is another model; look at "
                                           "the unit number and at the sheet's map"
                                         : "is not read, which tells whether this is the map's model"));
    }
    if (order->map->identity_count == 0 && !serial_agrees)
        refuse_all(listing, text_copy("nothing proves which drive this is: add identity to the map, or serial_number "
                                      "to the sheet and the map"));
}

static bool is_given_number(const struct change_order *order, size_t serial, const char *now)
{
    const char *given = order->replacement;
    while (order->map->parameters[serial].type != TYPE_TEXT && given[0] == '0' && given[1] != '\0')
        given++; /* zeros in front of a serial number are not in a register that holds a number */
    return strcmp(given, now) == 0;
}

/* A record belongs to the drive that it was made from. Another one gets its values only where somebody names it. */
static void check_exchanged(struct listing *listing, size_t serial, const char *now)
{
    const struct change_order *order = listing->order;
    const char *recorded = order->record->serial_number;
    if (order->replacement != NULL && (now == NULL || !is_given_number(order, serial, now)))
        refuse_all(listing, text_format("the serial number is %s, not %s as given with --replacement: look at which "
                                        "drive this is",
                                        now == NULL ? "not read" : now, order->replacement));
    else if (order->replacement == NULL && recorded != NULL && now == NULL)
        refuse_all(listing, text_format("the record is of the drive with serial number %s, and this one's is not read",
                                        recorded));
    else if (order->replacement == NULL && recorded != NULL && strcmp(recorded, now) != 0)
        refuse_all(listing, text_format("the record is of the drive with serial number %s, and this one has %s: where "
                                        "the drive was exchanged, say --replacement %s",
                                        recorded, now, now));
}

/* Returns whether the sheet's serial number was compared, and is this drive's. */
static bool check_serial(struct listing *listing)
{
    const struct change_order *order = listing->order;
    size_t serial = map_find_means(order->map, MEANS_DRIVE_SERIAL_NUMBER, 0);
    const struct setpoint *asked = setpoints_find(order->setpoints, MEANS_DRIVE_SERIAL_NUMBER);
    char *now = recorded_means(order->map, order->readings, MEANS_DRIVE_SERIAL_NUMBER);
    if (order->record != NULL)
        check_exchanged(listing, serial, now);
    bool replaced = order->record != NULL && order->replacement != NULL;
    bool asks = asked != NULL && asked->kind == SETPOINT_WORD;
    bool agrees = false;
    if (asks && serial == PARAMETER_NOT_FOUND) {
        listing_leave(listing, "serial number", "%s of the sheet is not compared: the map has no drive.serial_number",
                      asked->word);
    } else if (asks) {
        agrees = sheet_serial_verdict(order, serial) == VERDICT_AGREES;
        if (!agrees && replaced)
            listing_leave(listing, "serial number", "%s still stands in the sheet: put the new drive's there",
                          asked->word);
        else if (!agrees)
            refuse_all(listing, text_format("the sheet is of the drive with serial number %s, and this one's is %s: "
                                            "look at which drive this is, or correct the sheet",
                                            asked->word, now == NULL ? "not read" : now));
    }
    free(now);
    return agrees || (replaced && serial != PARAMETER_NOT_FOUND);
}

/* Another firmware may have other ranges and defaults behind the same addresses. A technician says by the map which
 * ones hold: with the very map that the record was made by, what that map says of each parameter is taken to hold for
 * both; a mistake there still shows when each value is read back. With another map nothing is left that says what the
 * old ranges were, so the values are not put back by themselves. */
static void check_firmware(struct listing *listing)
{
    const struct change_order *order = listing->order;
    if (order->record == NULL || order->record->firmware == NULL || listing->list->count == 0)
        return;
    char *now = recorded_means(order->map, order->readings, MEANS_DRIVE_FIRMWARE);
    bool same = now != NULL && strcmp(now, order->record->firmware) == 0;
    bool by_same_map = strcmp(order->record->map_sha256, order->map->sha256) == 0;
    if (!same && by_same_map) {
        listing_leave(listing, "firmware", "%s is another than the record's %s: look at each value afterwards",
                      now == NULL ? "(not read)" : now, order->record->firmware);
    } else if (!same) {
        struct texts names = {0};
        for (size_t i = 0; i < listing->list->count; i++)
            texts_add(&names, text_copy(listing_parameter(listing, listing->list->items[i].parameter)->name));
        char *all = texts_join(&names, ", ");
        refuse_all(listing, text_format("the record is of firmware %s by another map, and this drive has %s: nothing "
                                        "tells whether the ranges and defaults of %s agree; set them at the keypad",
                                        order->record->firmware, now == NULL ? "one that is not read" : now, all));
        free(all);
        texts_free(&names);
    }
    free(now);
}

void listing_check_drive(struct listing *listing)
{
    if (listing->order->unit == 0)
        refuse_all(listing, text_copy("unit 0 is every drive on the line at once, and none of them answers: give the "
                                      "drive's own unit number"));
    bool serial_agrees = check_serial(listing);
    check_identity(listing, serial_agrees);
    check_firmware(listing);
}
