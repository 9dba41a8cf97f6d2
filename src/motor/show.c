/* SPDX-License-Identifier: MIT */
/* Values as a person reads them. */
#include "motor/show.h"

#include "motor/quantity.h"
#include "types/memory.h"

char *show_number(double number, enum unit unit, double step)
{
    char text[64];
    return text_format("%s%s%s", number_format(number, step, text, sizeof text), unit == UNIT_NONE ? "" : " ",
                       unit_name(unit));
}

char *show_value(const struct value *value, enum unit unit, double step)
{
    switch (value->kind) {
    case VALUE_NOTHING:
        return text_copy("-");
    case VALUE_NUMBER:
        return show_number(value->number, unit, step);
    case VALUE_WORD:
    case VALUE_TEXT:
        return text_copy(value->text);
    case VALUE_BITS:
        return value->words.count == 0 ? text_copy("none set") : texts_join(&value->words, ", ");
    case VALUE_BOOL:
        return text_copy(value->truth ? "true" : "false");
    }
    return text_copy("-");
}
