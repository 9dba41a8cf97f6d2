/* SPDX-License-Identifier: MIT */
/* What a search found: the units with what they answered, what else was heard, and lines for a sheet. */
#include "report/fields.h"

#include "report/words.h"

#include <stdlib.h>
#include <string.h>

static const char *const columns[] = {"line",
                                      "unit",
                                      "baud",
                                      "parity",
                                      "stop_bits",
                                      "answered",
                                      "confirmed",
                                      "slowest_ms",
                                      "device.vendor",
                                      "device.product_code",
                                      "device.revision",
                                      "verdict",
                                      NULL};

static const char *const parity_words[] = {[PARITY_NONE] = "none", [PARITY_EVEN] = "even", [PARITY_ODD] = "odd"};

/* MODBUS Application Protocol Specification V1.1b3, section 6.21: the objects with a name. */
static const struct {
    const char *key, *label;
} objects[] = {
    {"vendor", "vendor"},           {"product_code", "product code"}, {"revision", "revision"},
    {"address", "address"},         {"product", "product"},           {"model", "model"},
    {"application", "application"},
};
enum { NAMED_OBJECTS = sizeof objects / sizeof *objects };

/* What the line looks like as a whole. */
static const struct {
    const char *word;
    enum role mood;
} verdicts[] = {
    [SEARCH_FOUND] = {"found", ROLE_GOOD},
    [SEARCH_NOTHING] = {"nothing", ROLE_OPEN},
    [SEARCH_SOMETHING] = {"something", ROLE_OPEN},
    [SEARCH_GATEWAY_ONLY] = {"gateway-only", ROLE_OPEN},
    [SEARCH_OTHER_MASTER] = {"other-master", ROLE_BAD},
    [SEARCH_NO_CONTACT] = {"no-contact", ROLE_BAD},
    [SEARCH_BUSY] = {"busy", ROLE_BAD},
    [SEARCH_LOST] = {"lost", ROLE_BAD},
};

static bool is_serial(const struct search_result *result)
{
    return result->line.serial != NULL;
}

/* The port alone, or host and port: a search has no format of its own. */
static char *place(const struct search_result *result)
{
    return is_serial(result) ? text_copy(result->line.serial) : words_line(&result->line);
}

/* ---- units ---- */

/* "vendor Fenbridge Works; product code FB-2; object 0x80 batch 7" */
static char *said(const struct device_identification *device)
{
    char *all = text_copy("");
    for (size_t i = 0; i < device->count; i++) {
        const struct device_object *object = &device->objects[i];
        char *name = object->id < NAMED_OBJECTS ? text_copy(objects[object->id].label)
                                                : text_format("object 0x%02X", object->id);
        char *more = text_format("%s%s%s %s", all, i > 0 ? "; " : "", name, object->text);
        free(name);
        free(all);
        all = more;
    }
    return all;
}

static void note_unit(struct sink *sink, const struct found_unit *unit)
{
    if (!found_unit_sure(unit))
        sink_field_owned(sink, NULL, ROLE_NOTE, NULL,
                         text_format("not sure: of %d further questions it answered %u. Noise, two devices with the "
                                     "same number, or a bad wire",
                                     SEARCH_CONFIRMATIONS, unit->confirmed));
    if (unit->answered.kind == SYMPTOM_EXCEPTION)
        sink_field(sink, NULL, ROLE_NOTE, NULL,
                   cell_text("an exception is an answer: the unit is there, and has no register to read at address 0"));
    if (unit->device.count > 0)
        sink_field_owned(sink, NULL, ROLE_NOTE, NULL, said(&unit->device));
    if (unit->device.server_id != NULL)
        sink_field_owned(sink, NULL, ROLE_NOTE, NULL, text_format("server id %s", unit->device.server_id));
}

static const char *answered_word(const struct found_unit *unit, char *word, size_t size)
{
    return unit->answered.kind == SYMPTOM_NONE ? "values" : symptom_word(unit->answered, word, size);
}

static void show_unit(struct sink *sink, const struct search_result *result, const struct found_unit *unit)
{
    char word[32];
    sink_field_owned(sink, NULL, ROLE_NAME, "unit", text_format("%u", unit->unit));
    sink_field(sink, NULL, ROLE_FOUND, "answers", cell_text(answered_word(unit, word, sizeof word)));
    sink_field_owned(sink, NULL, ROLE_EXPECTED, is_serial(result) ? "format" : "",
                     is_serial(result) ? words_format(&unit->format) : text_copy(""));
    sink_field_owned(sink, NULL, ROLE_STAKE, "within",
                     unit->slowest_us < 0 ? text_copy("")
                                          : text_format("%lld ms", (long long)(unit->slowest_us + 999) / 1000));
    note_unit(sink, unit);
}

static void write_device(struct sink *sink, const struct device_identification *device)
{
    sink_open(sink, "device", GROUP_OBJECT);
    for (size_t id = 0; id < NAMED_OBJECTS; id++) {
        const char *text = NULL;
        for (size_t i = 0; i < device->count; i++)
            if (device->objects[i].id == id)
                text = device->objects[i].text;
        sink_field(sink, objects[id].key, ROLE_DATA, NULL, cell_text(text));
    }
    sink_field(sink, "server_id", ROLE_DATA, NULL, cell_text(device->server_id));
    sink_open(sink, "objects", GROUP_LIST);
    for (size_t i = 0; i < device->count; i++) {
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "id", ROLE_DATA, NULL, cell_integer(device->objects[i].id));
        sink_field(sink, "text", ROLE_DATA, NULL, cell_text(device->objects[i].text));
        sink_close(sink);
    }
    sink_close(sink);
    sink_close(sink);
}

static void write_format(struct sink *sink, const struct search_result *result, const struct serial_format *format)
{
    bool serial = is_serial(result);
    sink_field(sink, "baud", ROLE_DATA, NULL, serial ? cell_integer(format->baud) : cell_null());
    sink_field(sink, "parity", ROLE_DATA, NULL, serial ? cell_text(parity_words[format->parity]) : cell_null());
    sink_field(sink, "stop_bits", ROLE_DATA, NULL, serial ? cell_integer(format->stop_bits) : cell_null());
}

static void write_unit(struct sink *sink, const struct search_result *result, const struct found_unit *unit)
{
    char word[32];
    sink_open(sink, NULL, GROUP_OBJECT);
    show_unit(sink, result, unit);
    sink_field(sink, "unit", ROLE_DATA, NULL, cell_integer(unit->unit));
    write_format(sink, result, &unit->format);
    sink_field(sink, "answered", ROLE_DATA, NULL, cell_text(answered_word(unit, word, sizeof word)));
    sink_field(sink, "confirmed", ROLE_DATA, NULL, cell_bool(found_unit_sure(unit)));
    sink_field(sink, "slowest_ms", ROLE_DATA, NULL,
               unit->slowest_us < 0 ? cell_null() : cell_number((double)unit->slowest_us / 1000));
    write_device(sink, &unit->device);
    sink_close(sink);
}

static void write_units(struct sink *sink, const struct search_result *result)
{
    sink_open(sink, "units", GROUP_ROWS);
    if (result->unit_count > 0)
        sink_heading(sink, ROLE_GOOD, "UNITS");
    for (size_t i = 0; i < result->unit_count; i++)
        write_unit(sink, result, &result->units[i]);
    sink_close(sink);
}

/* ---- what else was heard ---- */

static char *errors_of(const struct line_sign *sign)
{
    const struct {
        unsigned long count;
        const char *name;
    } errors[] = {
        {sign->framing, "framing"}, {sign->parity, "parity"}, {sign->breaks, "breaks"}, {sign->overrun, "overrun"}};
    char *all = text_copy("");
    for (size_t i = 0; i < sizeof errors / sizeof *errors; i++) {
        if (errors[i].count == 0)
            continue;
        char *more = text_format("%s%s%lu %s", all, all[0] == '\0' ? "" : ", ", errors[i].count, errors[i].name);
        free(all);
        all = more;
    }
    return all;
}

static void write_sign(struct sink *sink, const struct search_result *result, const struct line_sign *sign)
{
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field_owned(sink, NULL, ROLE_NAME, is_serial(result) ? "at" : "",
                     is_serial(result) ? words_format(&sign->format) : text_copy("this host"));
    sink_field_owned(sink, NULL, ROLE_FOUND, "no frame", text_format("%lu bytes", sign->bytes));
    sink_field_owned(sink, NULL, ROLE_EXPECTED, "errors counted by the port", errors_of(sign));
    sink_field(sink, NULL, ROLE_STAKE, "", cell_text(sign->unasked ? "unasked" : ""));
    write_format(sink, result, &sign->format);
    sink_field(sink, "unasked", ROLE_DATA, NULL, cell_bool(sign->unasked));
    sink_field(sink, "bytes", ROLE_DATA, NULL, cell_integer((int64_t)sign->bytes));
    sink_field(sink, "framing_errors", ROLE_DATA, NULL, cell_integer((int64_t)sign->framing));
    sink_field(sink, "parity_errors", ROLE_DATA, NULL, cell_integer((int64_t)sign->parity));
    sink_field(sink, "overruns", ROLE_DATA, NULL, cell_integer((int64_t)sign->overrun));
    sink_field(sink, "breaks", ROLE_DATA, NULL, cell_integer((int64_t)sign->breaks));
    sink_close(sink);
}

static void write_signs(struct sink *sink, const struct search_result *result)
{
    sink_open(sink, "signs", GROUP_SIDE_ROWS);
    if (result->sign_count > 0)
        sink_heading(sink, ROLE_OPEN, "WHAT ELSE CAME");
    for (size_t i = 0; i < result->sign_count; i++)
        write_sign(sink, result, &result->signs[i]);
    sink_close(sink);
}

/* ---- for the sheet ---- */

/* A YAML scalar: plain where that cannot be misread, else in double quotes. Owned. */
static char *scalar(const char *text)
{
    static const char harmless[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./-";
    if (text[0] != '-' && text[0] != '\0' && text[strspn(text, harmless)] == '\0')
        return text_copy(text);
    char *quoted = memory_new(4 * strlen(text) + 3, 1);
    size_t at = 0;
    quoted[at++] = '"';
    for (; *text != '\0'; text++) {
        if ((unsigned char)*text < 0x20) {
            at += (size_t)snprintf(quoted + at, 5, "\\x%02X", (unsigned char)*text);
            continue;
        }
        if (*text == '"' || *text == '\\')
            quoted[at++] = '\\';
        quoted[at++] = *text;
    }
    quoted[at] = '"';
    return quoted;
}

static void copy_line(struct sink *sink, char *text)
{
    sink_field_owned(sink, NULL, ROLE_COPY, NULL, text);
}

static void show_sheet_line(struct sink *sink, const struct search_result *result, const struct found_unit *unit)
{
    char *where = scalar(is_serial(result) ? result->line.serial : result->line.host);
    copy_line(sink, text_copy("line:"));
    copy_line(sink, text_format("  %s: %s", is_serial(result) ? "serial" : "host", where));
    free(where);
    if (is_serial(result)) {
        copy_line(sink, text_format("  baud: %u", unit->format.baud));
        copy_line(sink, text_format("  parity: %s", parity_words[unit->format.parity]));
        copy_line(sink, text_format("  stop_bits: %u%s", unit->format.stop_bits,
                                    unit->format.parity == PARITY_NONE && unit->format.stop_bits == 2
                                        ? "  # reaches a drive that is set to 1 as well"
                                        : ""));
    } else {
        copy_line(sink, text_format("  port: %u", result->line.port));
    }
    copy_line(sink, text_format("  unit: %u", unit->unit));
}

static void show_sheet_lines(struct sink *sink, const struct search_result *result)
{
    bool first = true;
    for (size_t i = 0; i < result->unit_count; i++) {
        if (!found_unit_sure(&result->units[i]))
            continue;
        if (first)
            sink_heading(sink, ROLE_GOOD, "FOR THE SHEET");
        else
            copy_line(sink, text_copy(""));
        first = false;
        show_sheet_line(sink, result, &result->units[i]);
    }
}

/* ---- the whole ---- */

static size_t sure_count(const struct search_result *result)
{
    size_t count = 0;
    for (size_t i = 0; i < result->unit_count; i++)
        count += found_unit_sure(&result->units[i]);
    return count;
}

static const char *plural(uint64_t count)
{
    return count == 1 ? "" : "s";
}

/* What is to be said of the whole line, behind its name. Owned. */
static char *summary(const struct search_result *result)
{
    size_t sure = sure_count(result);
    const char *remark = result->remark == NULL ? "" : result->remark;
    if (result->interrupted && result->verdict == SEARCH_NOTHING)
        return text_copy("nothing found so far");
    switch (result->verdict) {
    case SEARCH_FOUND:
        return text_format("%zu unit%s found", sure, plural(sure));
    case SEARCH_NOTHING:
        return is_serial(result) ? text_format("nothing on the line, at %u format%s", result->formats_tried,
                                               plural(result->formats_tried))
                                 : text_copy("the host takes the connection, and no unit answers");
    case SEARCH_SOMETHING:
        return text_copy(result->unit_count > 0 ? "a unit answered and could not be confirmed"
                         : is_serial(result)    ? "no unit found, but something is there at another speed or parity"
                                                : "no unit found, but something is there");
    case SEARCH_GATEWAY_ONLY:
        return text_copy("a gateway answers, and says of every unit that it is not there");
    case SEARCH_OTHER_MASTER:
        return text_format("another master asks on this line%s",
                           result->traffic.requests == 0 ? "; nothing was sent" : "; the search stopped");
    case SEARCH_NO_CONTACT:
    case SEARCH_BUSY:
    case SEARCH_LOST:
        return text_copy(remark);
    }
    return text_copy("");
}

static char *last_line(const struct search_result *result)
{
    char *where = place(result), *what = summary(result);
    char *line = text_format("%s: %s%s", where, what, result->interrupted ? " (interrupted, not all was tried)" : "");
    free(what);
    free(where);
    return line;
}

static void show_tried(struct sink *sink, const struct search_result *result)
{
    unsigned formats = result->formats_tried;
    char *at = is_serial(result) ? text_format(" at %u format%s", formats, plural(formats)) : text_copy("");
    double took_s = (double)(result->ended_ms - result->began_ms) / 1000;
    sink_field_owned(sink, NULL, ROLE_FACT, "tried",
                     text_format("%llu question%s%s in %.0f s", (unsigned long long)result->probes,
                                 plural(result->probes), at, took_s));
    free(at);
}

static void write_facts(struct sink *sink, const struct search_result *result)
{
    char *where = place(result);
    sink_field_owned(sink, NULL, ROLE_TITLE, NULL, text_format("search of %s", where));
    sink_field(sink, "line", ROLE_DATA, NULL, cell_text(where));
    free(where);
    sink_field(sink, "serial", ROLE_DATA, NULL, cell_text(result->line.serial));
    sink_field(sink, "host", ROLE_DATA, NULL, cell_text(result->line.host));
    sink_field(sink, "port", ROLE_DATA, NULL, is_serial(result) ? cell_null() : cell_integer(result->line.port));
    sink_field_owned(sink, "began", ROLE_DATA, NULL, words_time(result->began_ms));
    sink_field_owned(sink, "ended", ROLE_DATA, NULL, words_time(result->ended_ms));
    if (result->probes > 0)
        show_tried(sink, result);
    if (result->formats_refused > 0)
        sink_field_owned(sink, NULL, ROLE_FACT, "left out",
                         text_format("%u format%s that the port does not take", result->formats_refused,
                                     plural(result->formats_refused)));
    if (result->verdict == SEARCH_FOUND && result->remark != NULL)
        sink_field(sink, NULL, ROLE_FACT, "but", cell_text(result->remark));
    if (result->every_unit)
        sink_field(sink, NULL, ROLE_FACT, "note",
                   cell_text("it answers to every unit number alike: one device, and no gateway"));
    sink_field(sink, "verdict", ROLE_DATA, NULL, cell_text(verdicts[result->verdict].word));
    sink_field(sink, "interrupted", ROLE_DATA, NULL, cell_bool(result->interrupted));
    sink_field(sink, "every_unit", ROLE_DATA, NULL, cell_bool(result->every_unit));
    sink_field(sink, "errors_counted", ROLE_DATA, NULL, cell_bool(result->errors_counted));
    sink_field(sink, "formats_tried", ROLE_DATA, NULL, cell_integer(result->formats_tried));
    sink_field(sink, "probes", ROLE_DATA, NULL, cell_integer((int64_t)result->probes));
    sink_field(sink, "remark", ROLE_DATA, NULL, cell_text(result->remark));
}

void doc_find(struct sink *sink, const struct search_result *result, const struct advice *advice)
{
    sink_begin(sink, "asleft/find/1", columns);
    write_facts(sink, result);
    write_units(sink, result);
    write_signs(sink, result);
    show_sheet_lines(sink, result);
    show_steps(sink, advice);
    fields_advice(sink, advice);
    fields_traffic(sink, &result->traffic);
    sink_field_owned(sink, NULL, result->interrupted ? ROLE_OPEN : verdicts[result->verdict].mood, NULL,
                     last_line(result));
    sink_end(sink);
}
