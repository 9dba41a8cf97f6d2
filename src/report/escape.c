/* SPDX-License-Identifier: MIT */
/* Text from a drive or a file is data: made harmless for a terminal, valid for a machine. */
#include "report/escape.h"

#include "types/memory.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* The length in bytes of the UTF-8 character at `text` and its code point; 0 where there is none. */
static size_t character(const unsigned char *text, uint32_t *code)
{
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    size_t length = text[0] < 0x80             ? 1
                    : (text[0] & 0xe0) == 0xc0 ? 2
                    : (text[0] & 0xf0) == 0xe0 ? 3
                    : (text[0] & 0xf8) == 0xf0 ? 4
                                               : 0;
    if (length == 0)
        return 0;
    *code = length == 1 ? text[0] : text[0] & (0xffU >> (length + 1));
    for (size_t i = 1; i < length; i++) {
        if ((text[i] & 0xc0) != 0x80)
            return 0;
        *code = *code << 6 | (text[i] & 0x3fU);
    }
    bool surrogate = *code >= 0xd800 && *code <= 0xdfff;
    return *code < least[length] || surrogate || *code > 0x10ffff ? 0 : length;
}

static bool is_harmless(uint32_t code)
{
    if (code < 0x20 || (code >= 0x7f && code < 0xa0))
        return false;
    return !(code == 0x061c || code == 0x200e || code == 0x200f || (code >= 0x2028 && code <= 0x202e) ||
             (code >= 0x2066 && code <= 0x2069) || code == 0xfeff);
}

static char *put(char *out, unsigned char byte)
{
    *out = (char)byte;
    return out + 1;
}

static char *put_escaped(char *out, unsigned char byte)
{
    static const char digits[] = "0123456789ABCDEF";
    const char escape[] = {'\\', 'x', digits[byte >> 4], digits[byte & 0xf]};
    memcpy(out, escape, sizeof escape);
    return out + sizeof escape;
}

char *escape_terminal(const char *text)
{
    char *escaped = memory_new(strlen(text) * 4 + 1, 1);
    char *out = escaped;
    for (const unsigned char *in = (const unsigned char *)text; *in != 0;) {
        uint32_t code = 0;
        size_t length = character(in, &code);
        bool keep = length > 0 && is_harmless(code);
        size_t taken = length == 0 ? 1 : length;
        for (size_t i = 0; i < taken; i++)
            out = keep ? put(out, in[i]) : put_escaped(out, in[i]);
        in += taken;
    }
    return escaped;
}

char *escape_invalid(const char *text)
{
    char *valid = memory_new(strlen(text) * 3 + 1, 1);
    char *out = valid;
    for (const unsigned char *in = (const unsigned char *)text; *in != 0;) {
        uint32_t code = 0;
        size_t length = character(in, &code);
        memcpy(out, length > 0 ? (const char *)in : "\xEF\xBF\xBD", length > 0 ? length : 3);
        out += length > 0 ? length : 3;
        in += length > 0 ? length : 1;
    }
    return valid;
}

/* Unicode Standard, section 23.7: U+FDD0 to U+FDEF, and the last two of each plane. */
static bool is_noncharacter(uint32_t code)
{
    return (code >= 0xfdd0 && code <= 0xfdef) || (code & 0xfffe) == 0xfffe;
}

static const char *entity_of(uint32_t code)
{
    switch (code) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return is_noncharacter(code) ? "\xEF\xBF\xBD" : NULL;
    }
}

char *escape_markup(const char *text)
{
    enum { LONGEST = sizeof "&quot;" - 1 };
    char *harmless = escape_terminal(text);
    char *escaped = memory_new(strlen(harmless) * LONGEST + 1, 1);
    char *out = escaped;
    for (const unsigned char *in = (const unsigned char *)harmless; *in != 0;) {
        uint32_t code = 0;
        size_t length = character(in, &code);
        const char *entity = entity_of(code);
        for (size_t i = 0; entity == NULL && i < length; i++)
            out = put(out, in[i]);
        for (; entity != NULL && *entity != '\0'; entity++)
            out = put(out, (unsigned char)*entity);
        in += length;
    }
    free(harmless);
    return escaped;
}

char *text_shortened(const char *text, size_t columns)
{
    if (text_columns(text) <= columns)
        return text_copy(text);
    size_t bytes = 0, kept = 0;
    while (kept < columns) {
        kept += ((unsigned char)text[bytes] & 0xc0) != 0x80;
        bytes += kept < columns;
    }
    return text_format("%.*s\xE2\x80\xA6", (int)bytes, text);
}

size_t text_columns(const char *text)
{
    size_t columns = 0;
    for (; *text != '\0'; text++)
        columns += ((unsigned char)*text & 0xc0) != 0x80;
    return columns;
}

/* The Open Group Base Specifications, Shell Command Language, 2.2 Quoting. */
char *escape_shell(const char *text)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./:@%+,=-";
    static const char quote[] = "'\\''";             /* ends the quotes, a quote, begins them again */
    const char *before = text[0] == '-' ? "./" : ""; /* a file of that name */
    if (text[0] != '\0' && text[strspn(text, plain)] == '\0')
        return text_format("%s%s", before, text);
    char *quoted = memory_new(4 * strlen(text) + 1, 1);
    char *end = quoted;
    for (; *text != '\0'; text++) {
        size_t length = *text == '\'' ? sizeof quote - 1 : 1;
        memcpy(end, *text == '\'' ? quote : text, length);
        end += length;
    }
    char *whole = text_format("'%s%s'", before, quoted);
    free(quoted);
    return whole;
}
