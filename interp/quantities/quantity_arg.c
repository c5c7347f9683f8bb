/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "quantities/quantity_arg.h"

#include "base/mem.h"
#include "numbers/format.h"

static MessageArg with_unit(Text *digits, double number, const char *unit) {
    if (!*unit)
        return (MessageArg){.type = ARG_NUMBER, .number = number, .text = text_take(digits)};
    text_add_char(digits, ' ');
    text_add_string(digits, unit);
    return (MessageArg){
        .type = ARG_QUANTITY, .number = number, .text = text_take(digits), .unit = mem_copy_string(unit)};
}

MessageArg arg_number(double number) {
    Text digits = {0};
    format_shortest(&digits, number);
    return with_unit(&digits, number, "");
}

MessageArg arg_places(double number, int places, const char *unit) {
    Text digits = {0};
    format_places(&digits, number, places);
    return with_unit(&digits, number, unit);
}

MessageArg arg_plain(double number, const char *unit) {
    Text digits = {0};
    format_plain(&digits, number);
    return with_unit(&digits, number, unit);
}

MessageArg arg_unit_kind(const UnitTable *table, UnitId unit) {
    Text words = {0};
    unit_describe(table, unit, &words);
    return arg_taken(ARG_KIND, &words);
}
