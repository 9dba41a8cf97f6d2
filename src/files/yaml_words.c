/* SPDX-License-Identifier: MIT */
/* Translation of libyaml's parse errors. */
#include "files/yaml_words.h"

#include <string.h>

struct translation {
    const char *context; /* part of libyaml's context, or NULL where any will do */
    const char *problem; /* part of libyaml's problem */
    const char *words;
    bool at_context; /* the beginning of the construct is the better place to look */
};

static const struct translation translations[] = {
    {"quoted scalar", "unexpected end of stream", "a quote that is opened here is never closed", true},
    {"quoted scalar", "unexpected document indicator", "a quote that is opened here is never closed", true},
    {"quoted scalar", "escape character", "unknown escape in double quotes; use single quotes to take text as it is",
     false},
    {"quoted scalar", "hexdecimal number",
     "escape without its hexadecimal digits; use single quotes to take text as it is", false},
    {"quoted scalar", "invalid Unicode character", "escape of a character that does not exist", false},
    {NULL, "cannot start any token", "a value cannot begin with this character; put the value in quotes", false},
    {NULL, "mapping values are not allowed",
     "a key cannot stand here; check the indentation, and put a value that holds ': ' in quotes", false},
    {NULL, "block sequence entries are not allowed",
     "a list entry '- ' cannot stand here; begin it on a line of its own", false},
    {NULL, "mapping keys are not allowed", "a key '? ' cannot stand here; expected 'key: value'", false},
    {NULL, "could not find expected ':'", "a key without ': ' behind it; expected 'key: value'", true},
    {"flow sequence", "did not find expected ',' or ']'", "a list that begins here has no ',' or ']' where one is due",
     true},
    {"flow mapping", "did not find expected ',' or '}'",
     "a mapping that begins here has no ',' or '}' where one is due", true},
    {"block mapping", "did not find expected key", "this line does not fit the lines above; check the indentation",
     false},
    {"block collection", "did not find expected '-'", "this line does not fit the list above; expected '- '", false},
    {NULL, "did not find expected node content", "a value is missing here", false},
    {NULL, "did not find expected <document start>",
     "this does not belong to the text above; check the indentation, and write one document only", false},
    {"block scalar", "", "wrong beginning of a text block; expected | or > and the text on the next lines, indented",
     false},
    {"directive", "", "directives (%) are not used here; delete the line", false},
    {NULL, "directive", "directives (%) are not used here; delete the line", false},
    {NULL, "incompatible YAML document", "directives (%) are not used here; delete the line", false},
    {"anchor", "", "anchors (&) are not used here; write the value out", false},
    {"alias", "", "aliases (*) are not used here; write the value out", false},
    {"tag", "", "tags (!) are not used here; put the value in quotes", false},
    {NULL, "undefined tag handle", "tags (!) are not used here; put the value in quotes", false},
};

struct place yaml_place(const yaml_mark_t *mark)
{
    return (struct place){(int)mark->line + 1, (int)mark->column + 1};
}

static bool fits(const struct translation *row, const char *context, const char *problem)
{
    return (row->context == NULL || strstr(context, row->context) != NULL) && strstr(problem, row->problem) != NULL;
}

void yaml_words(const yaml_parser_t *parser, struct faults *faults)
{
    const char *context = parser->context == NULL ? "" : parser->context;
    const char *problem = parser->problem == NULL ? "" : parser->problem;
    for (size_t i = 0; i < sizeof translations / sizeof *translations; i++) {
        const struct translation *row = &translations[i];
        if (!fits(row, context, problem))
            continue;
        faults_error(faults, yaml_place(row->at_context ? &parser->context_mark : &parser->problem_mark), "%s",
                     row->words);
        return;
    }
    faults_error(faults, yaml_place(&parser->problem_mark), "this is not YAML: %s",
                 *problem == '\0' ? "it cannot be read" : problem);
}
