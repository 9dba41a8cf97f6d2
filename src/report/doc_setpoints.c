/* SPDX-License-Identifier: MIT */
/* The worksheet: what the nameplate and the job ask of the drive, without a drive. */
#include "report/fields.h"

#include "motor/figure.h"
#include "motor/quantity.h"
#include "motor/show.h"
#include "motor/symbols.h"
#include "report/words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const columns[] = {"tag",  "means", "parameter", "low",      "nominal", "high",    "one_of",
                                      "unit", "basis", "source",    "at_stake", "symbol",  "formula", NULL};

/* "n_s = 120 f_N / p = 120 x 60 Hz / 4 = " before a figure of `derived`; nothing where no derivation is known. Owned.
 */
static char *derivation_of(const struct setpoints *setpoints, const char *of)
{
    const struct derivation *derivation = setpoints_derivation(setpoints, of);
    if (derivation == NULL)
        return text_copy("");
    return text_format("%s = %s = %s = ", derivation->symbol, derivation->formula, derivation->numbers);
}

static void fact(struct sink *sink, const struct setpoints *setpoints, const char *label, const char *of, double number,
                 const char *unit, double step)
{
    char text[64];
    if (isnan(number))
        return;
    char *derivation = derivation_of(setpoints, of);
    sink_field_owned(sink, NULL, ROLE_FACT, label,
                     text_format("%s%s%s", derivation, number_format(number, step, text, sizeof text), unit));
    free(derivation);
}

static struct figure seconds(double value)
{
    return isinf(value) ? (struct figure){"never"} : figure_in(value, UNIT_S);
}

/* "at the shortest 0.42 s, as a straight ramp 0.83 s: ..." */
static void ramp_fact(struct sink *sink, const char *label, double shortest_s, double straight_s, const char *basis)
{
    if (basis == NULL)
        return;
    char *times = isnan(shortest_s) ? text_copy("not known")
                                    : text_format("at the shortest %s, as a straight ramp %s", seconds(shortest_s).text,
                                                  seconds(straight_s).text);
    sink_field_owned(sink, NULL, ROLE_FACT, label, text_format("%s: %s", times, basis));
    free(times);
}

/* "679 V without load, 648 V under load" */
static void write_bus(struct sink *sink, const struct setpoints *setpoints)
{
    const struct derived *derived = &setpoints->derived;
    char idle[64], loaded[64];
    if (isnan(derived->dc_bus_v))
        return;
    bool both = derived->dc_bus_loaded_v > 0;
    char *how_idle = derivation_of(setpoints, "dc_bus_v");
    char *how_loaded = derivation_of(setpoints, "dc_bus_loaded_v");
    sink_field_owned(sink, NULL, ROLE_FACT, "DC bus",
                     text_format("%s%s V without load%s%s%s%s", how_idle,
                                 number_format(derived->dc_bus_v, 1, idle, sizeof idle), both ? ", " : "",
                                 both ? how_loaded : "",
                                 both ? number_format(derived->dc_bus_loaded_v, 1, loaded, sizeof loaded) : "",
                                 both ? " V under load" : ""));
    free(how_idle);
    free(how_loaded);
}

static void write_derivations(struct sink *sink, const struct setpoints *setpoints)
{
    sink_open(sink, "derivation", GROUP_LIST);
    for (size_t i = 0; i < setpoints->derivation_count; i++) {
        const struct derivation *derivation = &setpoints->derivations[i];
        sink_open(sink, NULL, GROUP_OBJECT);
        sink_field(sink, "of", ROLE_DATA, NULL, cell_text(derivation->of));
        sink_field(sink, "symbol", ROLE_DATA, NULL, cell_text(derivation->symbol));
        sink_field(sink, "formula", ROLE_DATA, NULL, cell_text(derivation->formula));
        sink_field(sink, "basis", ROLE_DATA, NULL, cell_text(derivation->numbers));
        sink_field(sink, "source", ROLE_DATA, NULL, cell_text(source_word(SOURCE_DERIVED)));
        sink_close(sink);
    }
    sink_close(sink);
}

static void write_derived(struct sink *sink, const struct setpoints *setpoints)
{
    const struct derived *derived = &setpoints->derived;
    fact(sink, setpoints, "poles", "poles", derived->poles == 0 ? (double)NAN : derived->poles, "", 1);
    fact(sink, setpoints, "speed", "synchronous_speed_rpm", derived->synchronous_speed_rpm, " rpm synchronous", 0);
    fact(sink, setpoints, "slip", "slip", derived->slip * 100, " %", 0.01);
    fact(sink, setpoints, "torque", "rated_torque_nm", derived->rated_torque_nm, " N.m rated", 0.01);
    fact(sink, setpoints, "V/Hz", "volts_per_hertz", derived->volts_per_hertz, "", 0.001);
    write_bus(sink, setpoints);

    ramp_fact(sink, "run-up", derived->shortest_acceleration_s, derived->straight_acceleration_s,
              setpoints->acceleration_basis);
    ramp_fact(sink, "run-down", derived->shortest_deceleration_s, derived->straight_deceleration_s,
              setpoints->deceleration_basis);

    sink_open(sink, "derived", GROUP_OBJECT);
    sink_field(sink, "poles", ROLE_DATA, NULL, derived->poles == 0 ? cell_null() : cell_integer(derived->poles));
    sink_field_number(sink, "synchronous_speed_rpm", derived->synchronous_speed_rpm);
    sink_field_number(sink, "slip", derived->slip);
    sink_field_number(sink, "rated_torque_nm", derived->rated_torque_nm);
    sink_field_number(sink, "volts_per_hertz", derived->volts_per_hertz);
    sink_field_number(sink, "shortest_acceleration_s", derived->shortest_acceleration_s);
    sink_field_number(sink, "straight_acceleration_s", derived->straight_acceleration_s);
    sink_field(sink, "acceleration_basis", ROLE_DATA, NULL, cell_text(setpoints->acceleration_basis));
    sink_field_number(sink, "shortest_deceleration_s", derived->shortest_deceleration_s);
    sink_field_number(sink, "straight_deceleration_s", derived->straight_deceleration_s);
    sink_field(sink, "deceleration_basis", ROLE_DATA, NULL, cell_text(setpoints->deceleration_basis));
    sink_field_number(sink, "dc_bus_v", derived->dc_bus_v);
    sink_field_number(sink, "dc_bus_loaded_v", derived->dc_bus_loaded_v);
    sink_close(sink);
    write_derivations(sink, setpoints);
}

/* In symbols how the setpoint of that row is computed; NULL where it is copied. */
static const char *formula_of(const struct setpoints *setpoints, const struct finding *row)
{
    for (size_t i = 0; i < setpoints->count && row->means != NULL; i++)
        if (strcmp(means_table[setpoints->items[i].means].name, row->means) == 0)
            return setpoints->items[i].formula;
    return NULL;
}

/* The derivation that a person can follow: "motor.rated_current, I_N = 3.00 A: nameplate current (nameplate)", or
 * "motor.poles, p = 2 x floor(60 f_N / n_N)" and, as a note of its own, the same with the numbers put in. */
static void show_derivation(struct sink *sink, const struct finding *setpoint, const char *formula)
{
    const char *symbol = symbol_named(setpoint->means);
    bool sourced = setpoint->source != SOURCE_NONE;
    bool named = setpoint->parameter != NULL && setpoint->means != NULL;
    bool stated = symbol != NULL && formula == NULL && setpoint->expected.kind == EXPECTED_RANGE &&
                  !isnan(setpoint->expected.nominal);
    struct value nominal = {.kind = VALUE_NUMBER, .number = setpoint->expected.nominal};
    char *value = stated ? show_value(&nominal, setpoint->unit, setpoint->step) : text_copy("");
    char *head = text_format("%s%s%s%s%s", named ? setpoint->means : "", named && symbol != NULL ? ", " : "",
                             symbol == NULL ? "" : symbol, stated ? " = " : "", value);
    char *basis = text_format("%s%s%s%s", setpoint->basis, sourced ? " (" : "", source_word(setpoint->source),
                              sourced ? ")" : "");
    if (symbol != NULL && formula != NULL) {
        sink_field_owned(sink, NULL, ROLE_NOTE, NULL, text_format("%s = %s", head, formula));
        sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text(basis));
    } else {
        sink_field_owned(sink, NULL, ROLE_NOTE, NULL, text_format("%s%s%s", head, head[0] == '\0' ? "" : ": ", basis));
    }
    free(value);
    free(head);
    free(basis);
}

static void write_setpoint(struct sink *sink, const struct setpoints *setpoints, const struct finding *setpoint)
{
    const struct expected *expected = &setpoint->expected;
    bool missing = expected->kind == EXPECTED_NOTHING;
    bool ranged = expected->kind == EXPECTED_RANGE;
    const char *formula = missing ? NULL : formula_of(setpoints, setpoint);
    sink_open(sink, NULL, GROUP_OBJECT);
    sink_field(sink, NULL, ROLE_NAME, "parameter",
               cell_text(setpoint->parameter == NULL ? setpoint->means : setpoint->parameter));
    struct value nominal = {.kind = VALUE_NUMBER, .number = ranged ? expected->nominal : (double)NAN};
    sink_field_owned(sink, NULL, ROLE_FOUND, "setpoint",
                     ranged && !isnan(nominal.number) ? show_value(&nominal, setpoint->unit, setpoint->step)
                                                      : text_copy(missing ? "unknown" : ""));
    sink_field_owned(sink, NULL, ROLE_EXPECTED, "permitted",
                     missing ? text_copy("") : words_expected(expected, setpoint->unit, setpoint->step));
    sink_field(sink, NULL, ROLE_STAKE, "at stake", cell_text(stake_word(setpoint->stake)));
    show_derivation(sink, setpoint, formula);
    if (setpoint->remark != NULL)
        sink_field(sink, NULL, ROLE_NOTE, NULL, cell_text(setpoint->remark));

    sink_field(sink, "means", ROLE_DATA, NULL, cell_text(setpoint->means));
    sink_field(sink, "parameter", ROLE_DATA, NULL, cell_text(setpoint->parameter));
    sink_field_number(sink, "low", ranged ? expected->low : (double)NAN);
    sink_field_number(sink, "nominal", ranged ? expected->nominal : (double)NAN);
    sink_field_number(sink, "high", ranged ? expected->high : (double)NAN);
    if (expected->kind == EXPECTED_ONE_OF)
        sink_field(sink, "one_of", ROLE_DATA, NULL, cell_words(&expected->one_of));
    sink_field_unit(sink, setpoint->unit);
    sink_field(sink, "basis", ROLE_DATA, NULL, cell_text(setpoint->basis));
    sink_field(sink, "symbol", ROLE_DATA, NULL, cell_text(symbol_named(setpoint->means)));
    sink_field(sink, "formula", ROLE_DATA, NULL, cell_text(formula));
    sink_field(sink, "source", ROLE_DATA, NULL,
               cell_text(setpoint->source == SOURCE_NONE ? NULL : source_word(setpoint->source)));
    sink_field(sink, "at_stake", ROLE_DATA, NULL, cell_text(stake_word(setpoint->stake)));
    sink_field(sink, "remark", ROLE_DATA, NULL, cell_text(setpoint->remark));
    fields_allowance(sink, setpoint, false);
    sink_close(sink);
}

/* The sheet's contradictions, gaps and doubts come before the setpoints that rest on it. They are rows for a person,
 * and a list of their own for a machine; a CSV of setpoints has no place for them. */
static void write_sheet_findings(struct sink *sink, const struct setpoints *setpoints)
{
    const struct findings *implausible = &setpoints->implausible, *open = &setpoints->open;
    const struct findings *doubts = &setpoints->doubts;
    sink_open(sink, "findings", GROUP_SIDE_ROWS);
    if (implausible->count > 0)
        sink_heading(sink, ROLE_BAD, "THE SHEET CONTRADICTS ITSELF");
    for (size_t i = 0; i < implausible->count; i++)
        fields_finding(sink, &implausible->items[i], false, false);
    if (open->count > 0)
        sink_heading(sink, ROLE_OPEN, "THE SHEET DOES NOT SAY, AND PEOPLE ARE AT STAKE");
    for (size_t i = 0; i < open->count; i++)
        fields_finding(sink, &open->items[i], false, false);
    if (doubts->count > 0)
        sink_heading(sink, ROLE_OPEN, "LOOK AT, BY ESTIMATE OR COMMON PRACTICE");
    for (size_t i = 0; i < doubts->count; i++)
        fields_finding(sink, &doubts->items[i], false, false);
    sink_close(sink);
}

/* "P-204: 14 setpoints, 2 unknown; no contradiction in the sheet" */
static void write_last_line(struct sink *sink, const char *tag, const struct findings *worksheet, size_t contradictions)
{
    size_t unknown = 0;
    for (size_t i = 0; i < worksheet->count; i++)
        unknown += worksheet->items[i].expected.kind == EXPECTED_NOTHING;
    char *sheet = contradictions == 0
                      ? text_copy("no contradiction in the sheet")
                      : text_format("%zu contradiction%s in the sheet", contradictions, contradictions == 1 ? "" : "s");
    sink_field_owned(sink, NULL,
                     contradictions > 0 ? ROLE_BAD
                     : unknown > 0      ? ROLE_OPEN
                                        : ROLE_GOOD,
                     NULL,
                     text_format("%s: %zu setpoint%s, %zu unknown; %s", tag, worksheet->count,
                                 worksheet->count == 1 ? "" : "s", unknown, sheet));
    free(sheet);
}

void doc_setpoints(struct sink *sink, const struct sheet *sheet, const struct map *map,
                   const struct setpoints *setpoints, const struct findings *worksheet)
{
    sink_begin(sink, "asleft/setpoints/1", columns);
    sink_field_title(sink, sheet);
    sink_field(sink, NULL, ROLE_FACT, "map", cell_text(map->name));
    sink_field(sink, "tag", ROLE_DATA, NULL, cell_text(sheet->tag));
    sink_field(sink, "service", ROLE_DATA, NULL, cell_text(sheet->service));
    write_derived(sink, setpoints);

    write_sheet_findings(sink, setpoints);
    sink_open(sink, "setpoints", GROUP_ROWS);
    sink_heading(sink, ROLE_OPEN, "SETPOINTS");
    for (size_t i = 0; i < worksheet->count; i++)
        write_setpoint(sink, setpoints, &worksheet->items[i]);
    sink_close(sink);
    write_last_line(sink, sheet->tag, worksheet, setpoints->implausible.count);
    sink_end(sink);
}
