/* SPDX-License-Identifier: MIT */
/* Functions 17 and 43/14 of a simulated drive. */
#include "sim/identification.h"

#include "sim/reply.h"
#include "sim/wire.h"

#include <modbus/modbus.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static const char maker[] = "asleft";

size_t identification_server_id(const struct drive *drive, unsigned unit, const uint8_t *request, size_t length,
                                uint8_t *reply)
{
    if (length != 1)
        return reply_exception(request, MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE, reply);
    const bool runs = drive->model.state != MOTOR_STOPPED && drive->model.state != MOTOR_TRIPPED;
    char text[PDU_LONGEST - 4 + 1];
    const int wanted = snprintf(text, sizeof text, "%s %s %s", maker, drive->map->name, ASLEFT_VERSION);
    const size_t text_length = wanted < (int)sizeof text ? (size_t)wanted : sizeof text - 1;
    reply[0] = request[0];
    reply[1] = (uint8_t)(2 + text_length);
    reply[2] = (uint8_t)unit;
    reply[3] = runs ? 0xff : 0x00;
    memcpy(reply + 4, text, text_length);
    return 4 + text_length;
}

static const char *maker_of(const struct drive *drive)
{
    (void)drive;
    return maker;
}

static const char *code_of(const struct drive *drive)
{
    return drive->map->name;
}

static const char *revision_of(const struct drive *drive)
{
    (void)drive;
    return ASLEFT_VERSION;
}

static const char *product_of(const struct drive *drive)
{
    return drive->map->about;
}

/* The first text by which the map knows its drives. */
static const char *model_of(const struct drive *drive)
{
    for (size_t i = 0; i < drive->map->identity_count; i++)
        if (drive->map->identity[i].is_text)
            return drive->map->identity[i].text;
    return NULL;
}

/* The objects by rising number. A text that is NULL: this drive has no such object. */
static const struct object {
    uint8_t number;
    const char *(*text)(const struct drive *drive);
} objects[] = {
    {0x00, maker_of}, {0x01, code_of}, {0x02, revision_of}, {0x04, product_of}, {0x05, model_of},
};
enum { OBJECTS = sizeof objects / sizeof *objects, LAST_BASIC = 0x02 };

enum {
    TYPE_DEVICE_IDENTIFICATION = 0x0e,
    REQUEST_LENGTH = 4,
    READ_BASIC = 0x01,
    READ_REGULAR = 0x02,
    READ_EXTENDED = 0x03, /* answered with what there is: regular */
    READ_ONE = 0x04,
    CONFORMITY_REGULAR_BOTH = 0x82, /* as a stream and one by one */
    /* Where things stand in the answer. */
    MORE_AT = 4,
    NEXT_AT = 5,
    COUNT_AT = 6,
    OBJECTS_AT = 7,
    OBJECT_HEADER = 2,
    LONGEST_TEXT = PDU_LONGEST - OBJECTS_AT - OBJECT_HEADER
};

static const struct object *find_object(const struct drive *drive, uint8_t number)
{
    for (size_t i = 0; i < OBJECTS; i++)
        if (objects[i].number == number && objects[i].text(drive) != NULL)
            return &objects[i];
    return NULL;
}

static size_t text_length(const char *text)
{
    const size_t length = strlen(text);
    return length < LONGEST_TEXT ? length : LONGEST_TEXT;
}

static size_t append(const struct drive *drive, const struct object *object, uint8_t *reply, size_t length)
{
    const char *text = object->text(drive);
    const size_t count = text_length(text);
    reply[COUNT_AT]++;
    reply[length] = object->number;
    reply[length + 1] = (uint8_t)count;
    memcpy(reply + length + OBJECT_HEADER, text, count);
    return length + OBJECT_HEADER + count;
}

/* From object `first` on, to number `last`, as many as fit. */
static size_t stream(const struct drive *drive, const struct object *first, uint8_t last, uint8_t *reply)
{
    size_t length = OBJECTS_AT;
    for (const struct object *object = first; object < objects + OBJECTS && object->number <= last; object++) {
        const char *text = object->text(drive);
        if (text == NULL)
            continue;
        if (length + OBJECT_HEADER + text_length(text) > PDU_LONGEST) {
            reply[MORE_AT] = 0xff;
            reply[NEXT_AT] = object->number;
            break;
        }
        length = append(drive, object, reply, length);
    }
    return length;
}

size_t identification_objects(const struct drive *drive, const uint8_t *request, size_t length, uint8_t *reply)
{
    if (length < 2 || request[1] != TYPE_DEVICE_IDENTIFICATION)
        return reply_exception(request, MODBUS_EXCEPTION_ILLEGAL_FUNCTION, reply);
    if (length != REQUEST_LENGTH || request[2] < READ_BASIC || request[2] > READ_ONE)
        return reply_exception(request, MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE, reply);
    memset(reply, 0, OBJECTS_AT);
    memcpy(reply, request, 3);
    reply[3] = CONFORMITY_REGULAR_BOTH;
    const struct object *object = find_object(drive, request[3]);
    if (request[2] == READ_ONE)
        return object != NULL ? append(drive, object, reply, OBJECTS_AT)
                              : reply_exception(request, MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS, reply);
    /* A number that is none begins anew, as the specification has it. */
    const uint8_t last = request[2] == READ_BASIC ? LAST_BASIC : UINT8_MAX;
    return stream(drive, object != NULL && object->number <= last ? object : objects, last, reply);
}
