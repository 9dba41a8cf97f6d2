/* SPDX-License-Identifier: MIT */
/* What YAML offers and this program refuses, and text that is no YAML: position and words of each. */
#include "files_bench.h"

static const struct bad_text rows[] = {
    {"only_a_comment", NULL, "# nothing\n", 0,
     "f.yaml:1:1: the file holds nothing; expected a map, a sheet, a plant or a record"},
    {"tab_used_for_indentation", NULL, "map: m\n\tmodbus: {}\n", 0,
     "f.yaml:2:1: tab used for indentation; expected spaces"},
    {"tab_behind_a_value", NULL, "map: m\nabout: a\tb\n", 0, "f.yaml:2:9: tab; expected spaces"},
    {"nul_byte", NULL, "map: m\nabout: a\000b\n", 18, "f.yaml:2:9: NUL byte; expected text"},
    {"bad_utf_8", NULL, "map: m\nabout: x\n# 20 \260C\n", 0,
     "f.yaml:3:6: byte 0xB0 is not valid UTF-8; save the file as UTF-8"},
    {"utf_8_cut_short_at_the_end", NULL, "map: m\nabout: \303", 0,
     "f.yaml:2:8: byte 0xC3 is not valid UTF-8; save the file as UTF-8"},
    {"utf_8_longer_than_needed", NULL, "map: m\nabout: \300\257\n", 0,
     "f.yaml:2:8: byte 0xC0 is not valid UTF-8; save the file as UTF-8"},
    {"utf_16", NULL, "\377\376m\000a\000p\000", 8, "f.yaml:1:1: byte 0xFF is not valid UTF-8; save the file as UTF-8"},
    {"control_character", NULL, "map: m\nabout: a\033[31m\n", 0, "f.yaml:2:9: control character; expected text"},
    {"escaped_control_character", BENCH_MAP, "  p: {at: holding 1, type: u16, unit: \"\\e[31m\"}\n", 0,
     "f.yaml:4:39: control character in a value; expected text"},
    {"escaped_nul", BENCH_MAP, "  p: {at: holding 1, type: u16, unit: \"A\\0\"}\n", 0,
     "f.yaml:4:39: control character in a value; expected text"},
    {"alias", BENCH_MAP, "  p: {at: holding 1, type: *x}\n", 0,
     "f.yaml:4:28: aliases (*) are not used here; write the value out"},
    {"anchor", BENCH_MAP, "  p: &x {at: holding 1, type: u16}\n", 0,
     "f.yaml:4:6: anchors (&) are not used here; write the value out where it is needed"},
    {"tag", BENCH_MAP, "  p: {at: !!str holding 1, type: u16}\n", 0,
     "f.yaml:4:11: tags (!) are not used here; put the value in quotes if it begins with !"},
    {"merge_key", BENCH_MAP, "  p: {at: holding 1, type: u16, <<: {}}\n", 0,
     "f.yaml:4:33: merge keys (<<) are not used here; write the keys out"},
    {"second_document", BENCH_MAP, "  p: {at: holding 1, type: u16}\n---\nmap: n\n", 0,
     "f.yaml:5:1: a second document begins here; expected one document a file"},
    {"duplicate_key", BENCH_MAP, "  p: {at: holding 1, type: u16, at: holding 2}\n", 0,
     "f.yaml:4:33: duplicate key \"at\"; it stands at line 4, column 7 already"},
    {"duplicate_parameter", BENCH_MAP, "  p: {at: holding 1, type: u16}\n  p: {at: holding 2, type: u16}\n", 0,
     "f.yaml:5:3: duplicate key \"p\"; it stands at line 4, column 3 already"},
    {"duplicate_key_of_a_list_of_words", BENCH_MAP, "  p: {at: holding 1, type: u16, choices: {0: a, 0: b}}\n", 0,
     "f.yaml:4:49: duplicate key \"0\"; it stands at line 4, column 43 already"},
    {"key_that_is_a_list", BENCH_MAP, "  p: {at: holding 1, type: u16}\n  ? [a, b]\n  : c\n", 0,
     "f.yaml:5:5: a list or mapping cannot be a key; expected 'key: value'"},
    {"key_that_is_missing", BENCH_MAP, "  p: {at: holding 1, type: u16}\n  : c\n", 0,
     "f.yaml:5:3: this line does not fit the lines above; check the indentation"},
    {"quote_never_closed", NULL, "map: \"m\nmodbus: {}\n", 0,
     "f.yaml:1:6: a quote that is opened here is never closed"},
    {"single_quote_never_closed", NULL, "map: 'm\n", 0, "f.yaml:1:6: a quote that is opened here is never closed"},
    {"two_values_in_a_line", NULL, "map: m\nabout: a: b\n", 0,
     "f.yaml:2:9: a key cannot stand here; check the indentation, and put a value that holds ': ' in quotes"},
    {"indentation", NULL, "map: m\nmodbus:\n    count_from: 0\n  word_order: high-first\n", 0,
     "f.yaml:4:3: this line does not fit the lines above; check the indentation"},
    {"flow_mapping_not_closed", NULL, "map: m\nmodbus: {count_from: 0\nparameters:\n", 0,
     "f.yaml:2:9: a mapping that begins here has no ',' or '}' where one is due"},
    {"flow_list_not_closed", NULL, "map: m\nidentity: [a, b\nparameters: {}\n", 0,
     "f.yaml:2:11: a list that begins here has no ',' or ']' where one is due"},
    {"reserved_character", NULL, "map: @m\n", 0,
     "f.yaml:1:6: a value cannot begin with this character; put the value in quotes"},
    {"unknown_escape", NULL, "map: \"a\\qb\"\n", 0,
     "f.yaml:1:8: unknown escape in double quotes; use single quotes to take text as it is"},
    {"key_without_colon", NULL, "map: m\nmodbus\nabout: x\n", 0,
     "f.yaml:2:1: a key without ': ' behind it; expected 'key: value'"},
    {"list_entry_in_a_line", NULL, "map: m\nabout: - a\n", 0,
     "f.yaml:2:8: a list entry '- ' cannot stand here; begin it on a line of its own"},
    {"directive", NULL, "%YAML 1.3\n---\nmap: m\n", 0, "f.yaml:1:1: directives (%) are not used here; delete the line"},
    {"list_at_the_top", NULL, "- map\n- m\n", 0,
     "f.yaml:1:1: the map is a list; expected a mapping with the keys map, about, modbus, parameters, identity, "
     "set_in_force, network_watchdog, plate_at, keeps, save"},
    {"text_at_the_top", NULL, "hello\n", 0,
     "f.yaml:1:1: the map is a single value; expected a mapping with the keys map, about, modbus, parameters, "
     "identity, set_in_force, network_watchdog, plate_at, keeps, save"},
};

static void is_refused(void **state)
{
    bad_check(*state, BAD_MAP, false);
}

int main(void)
{
    BAD_TESTS(rows, is_refused);
    return cmocka_run_group_tests_name("yaml_strict", tests, bench_open, bench_close);
}
