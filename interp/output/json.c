/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report as JSON (RFC 8259), in the shape of docs/reference/program.md, "Reports". One item a line.
 *
 * Some keys go beyond that shape and are there only where there is something to say: "reasons" of a table
 * with cells that could not be worked out (such cells are null), "caption" and "across" of a table of two
 * inputs, "uncertainties" of a column, standard, one a row, the "uncertainty" of an input, "quantities" of a
 * list, record or liquid (the value once more, each number in it with its unit and ±), "cut" of a list too
 * long to be given whole, the "steps" of a run that shows its working, "failures", the checks that failed,
 * and "errors", these and all others. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "output/json_text.h"
#include "output/json_working.h"
#include "output/render.h"
#include "values/display.h"
#include "values/heap.h"
#include "values/liquid_value.h"
#include "values/module.h"

/* ---- values ---- */

enum { VALUE_DEPTH = 100 }; /* a list nested deeper is given as null, so that no reader's stack is at risk */

/* The numbers of a value, each to be given with its unit and ±. */
typedef struct Quantities {
    const UnitTable *units;
    const Shown *shown;
    int next, count;
} Quantities;

/* Where a value is in another: how deep, and where the text of all of it ends. */
typedef struct Nest {
    int depth;
    size_t end;
    Quantities *quantities; /* NULL: numbers are given bare */
} Nest;

static void add_nested(Text *out, Value value, Nest nest);

static void add_list(Text *out, const ListObject *list, Nest nest) {
    text_add_char(out, '[');
    for (uint32_t i = 0; i < list->count && out->length <= nest.end; i++) {
        if (i)
            text_add_char(out, ',');
        add_nested(out, list->items[i], nest);
    }
    text_add_char(out, ']');
}

static void add_record(Text *out, const RecordObject *record, Nest nest) {
    text_add_char(out, '{');
    for (uint32_t i = 0; i < record->count && out->length <= nest.end; i++) {
        if (i)
            text_add_char(out, ',');
        json_add_string(out, record->fields[i].name->bytes, record->fields[i].name->length);
        text_add_char(out, ':');
        add_nested(out, record->fields[i].value, nest);
    }
    text_add_char(out, '}');
}

static void add_number(Text *out, double number, UnitId unit, Quantities *quantities) {
    if (!quantities) {
        format_shortest(out, number);
        return;
    }
    const Shown *shown = quantities->shown;
    double spread =
        shown->spreads && quantities->next < quantities->count ? shown->spreads[quantities->next] : 0;
    quantities->next++;
    text_add_char(out, '{');
    json_add_number(out, "value", number);
    json_add_member_or_null(out, "unit", unit_get(quantities->units, unit)->name);
    if (display_has_spread(quantities->units, number, unit, spread, shown->format))
        json_add_number(out, "uncertainty", spread);
    text_add_char(out, '}');
}

static void add_property(Text *out, const char *key, const Liquid *liquid, LiquidProperty property,
                         UnitId unit, Quantities *quantities) {
    double number = 0;
    json_add_key(out, key);
    if (liquid_get(liquid, property, &number) == LIQUID_OK)
        add_number(out, number, unit, quantities);
    else
        text_add_string(out, "null"); /* nothing has no gravity */
}

/* How much of it there is: in kg or L, but in the unit it was measured in where the unit is reported. */
static void add_size(Text *out, LiquidObject *object, Quantities *quantities) {
    bool dry = object->liquid.form == LIQUID_DRY; /* no volume, and so nothing by volume */
    if (!quantities) {
        add_property(out, dry ? "mass" : "volume", &object->liquid, dry ? LIQUID_MASS_KG : LIQUID_VOLUME_L,
                     UNIT_NUMBER, NULL);
        return;
    }
    const UnitTable *units = quantities->units;
    Value size = dry ? liquid_value_mass(units, object) : liquid_value_volume(units, object);
    json_add_key(out, dry ? "mass" : "volume");
    if (isnan(size.as.number)) {
        text_add_string(out, "null");
        quantities->next++;
        return;
    }
    add_number(out, size.as.number, size.unit, quantities);
}

static void add_liquid(Text *out, LiquidObject *object, Quantities *quantities) {
    const Liquid *liquid = &object->liquid;
    text_add_char(out, '{');
    add_size(out, object, quantities);
    if (liquid->form == LIQUID_DRY) {
        text_add_char(out, '}');
        return;
    }
    add_property(out, "gravity", liquid, LIQUID_GRAVITY_SG, UNIT_SG, quantities);
    add_property(out, "strength", liquid, LIQUID_STRENGTH_ABV, UNIT_ABV, quantities);
    if (liquid->bitter_kg > 0)
        add_property(out, "bitterness", liquid, LIQUID_BITTERNESS_MG_L, UNIT_IBU, quantities);
    if (liquid->colour_ebc_m3 > 0)
        add_property(out, "colour", liquid, LIQUID_COLOUR_EBC, UNIT_EBC, quantities);
    text_add_char(out, '}');
}

static void add_date(Text *out, double days) {
    text_add_char(out, '"');
    render_date(out, days);
    text_add_char(out, '"');
}

static void add_nested(Text *out, Value value, Nest nest) {
    if (nest.depth++ > VALUE_DEPTH) {
        text_add_string(out, "null");
        return;
    }
    switch ((Tag)value.tag) {
    case TAG_AMOUNT:
    case TAG_READING:
        if (render_is_number(value)) {
            add_number(out, value.as.number, value.unit, nest.quantities);
        } else {
            add_date(out, value.as.number);
            if (nest.quantities)
                nest.quantities->next++;
        }
        break;
    case TAG_TRUTH:
        text_add_string(out, value.as.truth ? "true" : "false");
        break;
    case TAG_TEXT:
        json_add_string(out, value.as.text->bytes, value.as.text->length);
        break;
    case TAG_LIST:
        add_list(out, value.as.list, nest);
        break;
    case TAG_RECORD:
        add_record(out, value.as.record, nest);
        break;
    case TAG_LIQUID:
        add_liquid(out, value.as.liquid, nest.quantities);
        break;
    case TAG_FORMULA:
        json_add_string(out, value.as.formula->name, strlen(value.as.formula->name));
        break;
    case TAG_NONE:
    case TAG_ABSENT:
        text_add_string(out, "null");
        break;
    }
}

/* Lists and records break off where display does. */
static void add_value(Text *out, Value value, bool *cut) {
    size_t end = out->length + DISPLAY_MOST;
    add_nested(out, value, (Nest){.depth = 0, .end = end});
    *cut = out->length > end && value.tag != TAG_TEXT;
}

static bool has_quantities(const UnitTable *units, Value value) {
    ShownNumber first;
    bool holds = value.tag == TAG_LIST || value.tag == TAG_RECORD || value.tag == TAG_LIQUID;
    return holds && display_numbers(units, value, &first, 1) > 0;
}

static void add_quantities(Text *out, const UnitTable *units, const Shown *shown) {
    Quantities quantities = {
        .units = units, .shown = shown, .count = display_numbers(units, shown->value, NULL, 0)};
    add_nested(out, shown->value, (Nest){.end = out->length + DISPLAY_MOST, .quantities = &quantities});
}

static void add_value_members(Text *out, const UnitTable *units, Value value, const char *text) {
    bool cut;
    json_add_key(out, "value");
    add_value(out, value, &cut);
    json_add_member_or_null(out, "unit", render_unit(units, value));
    json_add_member(out, "text", text);
    if (cut)
        text_add_string(out, ",\"cut\":true");
}

static void add_uncertainty(Text *out, double spread) {
    if (spread > 0)
        json_add_number(out, "uncertainty", spread);
}

/* ---- items ---- */

static bool has_spreads(const TableColumn *column, int rows) {
    for (int row = 0; row < rows; row++)
        if (column->cells[row].spread > 0)
            return true;
    return false;
}

static void add_spreads(Text *out, const TableColumn *column, int rows) {
    json_add_key(out, "uncertainties");
    text_add_char(out, '[');
    for (int row = 0; row < rows; row++) {
        if (row)
            text_add_char(out, ',');
        if (column->cells[row].spread > 0)
            format_shortest(out, column->cells[row].spread);
        else
            text_add_string(out, "null");
    }
    text_add_char(out, ']');
}

/* Of a column of lists, records or liquids; null in its other rows. */
static void add_cell_quantities(Text *out, const UnitTable *units, const TableColumn *column, int rows) {
    int first = 0;
    while (first < rows && !has_quantities(units, column->cells[first].value))
        first++;
    if (first == rows)
        return;
    json_add_key(out, "quantities");
    for (int row = 0; row < rows; row++) {
        Shown shown = {.value = column->cells[row].value,
                       .format = column->format,
                       .spreads = column->cells[row].spreads};
        text_add_char(out, row ? ',' : '[');
        if (has_quantities(units, shown.value))
            add_quantities(out, units, &shown);
        else
            text_add_string(out, "null");
    }
    text_add_char(out, ']');
}

static void add_column(Text *out, const UnitTable *units, const TableResult *table, int index) {
    const TableColumn *column = &table->columns[index];
    bool named = column->has_unit && column->unit != UNIT_DATE;
    text_add_char(out, '{');
    json_add_member(out, "label", column->label);
    json_add_member_or_null(out, "unit", named ? unit_get(units, column->unit)->name : "");
    json_add_key(out, "values");
    text_add_char(out, '[');
    bool cut, cut_any = false;
    for (int row = 0; row < table->row_count; row++) {
        if (row)
            text_add_char(out, ',');
        add_value(out, column->cells[row].failed ? value_none() : column->cells[row].value, &cut);
        cut_any = cut_any || cut;
    }
    text_add_char(out, ']');
    if (cut_any)
        text_add_string(out, ",\"cut\":true");
    if (has_spreads(column, table->row_count))
        add_spreads(out, column, table->row_count);
    add_cell_quantities(out, units, column, table->row_count);
    json_add_working(out, column->working);
    text_add_char(out, '}');
}

static void add_table(Text *out, const UnitTable *units, const TableResult *table) {
    if (table->caption) {
        json_add_member(out, "caption", table->caption);
        json_add_member(out, "across", table->across);
    }
    json_add_key(out, "columns");
    text_add_char(out, '[');
    for (int i = 0; i < table->column_count; i++) {
        if (i)
            text_add_char(out, ',');
        add_column(out, units, table, i);
    }
    text_add_char(out, ']');
    if (!table->reason_count)
        return;
    json_add_key(out, "reasons");
    text_add_char(out, '[');
    for (int i = 0; i < table->reason_count; i++) {
        if (i)
            text_add_char(out, ',');
        json_add_text(out, table->reasons[i]);
    }
    text_add_char(out, ']');
}

/* How many draws there were, had the value, and were refused; what was drawn, where none was refused. */
static void add_trials(Text *out, const Drawn *drawn, bool has_spread) {
    if (drawn->draws == 0 || (drawn->count == drawn->draws && !has_spread))
        return;
    json_add_key(out, "trials");
    text_add_char(out, '{');
    json_add_number(out, "draws", (double)drawn->draws);
    json_add_number(out, "count", (double)drawn->count);
    json_add_number(out, "refused", (double)drawn->refused);
    if (!drawn->refused && drawn->count > 1) {
        json_add_number(out, "mean", drawn->mean);
        json_add_number(out, "low", drawn->low);
        json_add_number(out, "high", drawn->high);
    }
    text_add_char(out, '}');
}

static void add_show(Text *out, const UnitTable *units, const Item *item) {
    const Shown *shown = &item->shown;
    double spread = render_spread(units, shown);
    Text text = {0};
    render_shown_text(&text, units, item);
    json_add_member(out, "label", item->label);
    add_value_members(out, units, shown->value, text_string(&text));
    add_uncertainty(out, spread);
    if (has_quantities(units, shown->value)) {
        json_add_key(out, "quantities");
        add_quantities(out, units, shown);
    }
    add_trials(out, &item->drawn, spread > 0);
    json_add_working(out, item->working);
    text_free(&text);
}

static void add_item(Text *out, const UnitTable *units, const Item *item, bool first) {
    text_add_string(out, first ? "\n    {" : ",\n    {");
    json_add_member(out, "item", render_item_word(item->type));
    if (item->type == ITEM_SHOW) {
        add_show(out, units, item);
    } else if (item->type == ITEM_TABLE) {
        add_table(out, units, item->table);
    } else {
        json_add_member(out, "text", item->text);
    }
    if (item->type == ITEM_EVENT) {
        json_add_key(out, "date");
        add_date(out, item->date);
    }
    text_add_char(out, '}');
}

static void add_items(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    int count, given = 0;
    const Item **events = render_sorted_events(report, &count);
    text_add_string(out, ",\n  \"items\":[");
    for (int i = 0; i < report->count; i++)
        if (report->items[i]->type != ITEM_EVENT)
            add_item(out, subject->units, report->items[i], given++ == 0);
    for (int i = 0; i < count; i++)
        add_item(out, subject->units, events[i], given++ == 0);
    text_add_string(out, given ? "\n  ]" : "]");
    mem_free(events);
}

/* ---- the rest ---- */

/* Each as text, just as it may be given. */
static void add_choices(Text *out, const UnitTable *units, Value choices) {
    if (choices.tag != TAG_LIST)
        return;
    json_add_key(out, "choices");
    for (uint32_t i = 0; i < choices.as.list->count; i++) {
        Value choice = choices.as.list->items[i];
        Text shown = {0};
        if (choice.tag == TAG_TEXT)
            text_add_string(&shown, choice.as.text->bytes);
        else
            display_literal(&shown, units, choice);
        text_add_char(out, i ? ',' : '[');
        json_add_text(out, text_string(&shown));
        text_free(&shown);
    }
    text_add_char(out, ']');
}

static void add_input(Text *out, const UnitTable *units, const InputResult *input) {
    Text shown = {0};
    text_add_char(out, '{');
    json_add_member(out, "name", input->name);
    render_input_text(&shown, units, input);
    add_value_members(out, units, input->value, text_string(&shown));
    json_add_truth(out, "set", input->set);
    add_uncertainty(out, input->spread);
    add_choices(out, units, input->choices);
    text_add_char(out, '}');
    text_free(&shown);
}

static void add_inputs(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    text_add_string(out, ",\n  \"inputs\":[");
    for (int i = 0; i < report->input_count; i++) {
        text_add_string(out, i ? ",\n    " : "\n    ");
        add_input(out, subject->units, &report->inputs[i]);
    }
    text_add_string(out, report->input_count ? "\n  ]" : "]");
}

static void add_assumptions(Text *out, const Report *report) {
    text_add_string(out, ",\n  \"assumptions\":[");
    for (int i = 0; i < report->assumption_count; i++) {
        text_add_string(out, i ? ",\n    " : "\n    ");
        json_add_text(out, report->assumptions[i]);
    }
    text_add_string(out, report->assumption_count ? "\n  ]" : "]");
}

static void add_diag_members(Text *out, const Diag *diag) {
    Text place = {0};
    render_place(&place, diag);
    text_add_char(out, '{');
    json_add_member_or_null(out, "place", text_string(&place));
    json_add_member(out, "message", diag->message);
    text_add_char(out, '}');
    text_free(&place);
}

static const char *severity_of(const Diag *diag) {
    MessageClass class_ = message_class(diag->id);
    return class_ == CLASS_NOTE ? "note" : class_ == CLASS_EXPECT ? "check" : "error";
}

/* `end` is the column after the last character, on `end_line`. */
static const char *const argument_types[] = {
    [ARG_TEXT] = "text", [ARG_NUMBER] = "number", [ARG_QUANTITY] = "quantity", [ARG_KIND] = "kind",
    [ARG_LIST] = "list", [ARG_PLACE] = "place",   [ARG_PHRASE] = "phrase",
};

/* What fills the message, as data: a number as it was before it was rounded to be shown. */
static void add_arguments(Text *out, const MessageArg *args) {
    json_add_key(out, "arguments");
    text_add_char(out, '[');
    for (int i = 0; i < MESSAGE_ARGS && args[i].type != ARG_END; i++) {
        bool number = args[i].type == ARG_NUMBER || args[i].type == ARG_QUANTITY;
        text_add_string(out, i ? ",{" : "{");
        json_add_member(out, "type", argument_types[args[i].type]);
        json_add_member(out, "text", args[i].text);
        if (number && isfinite(args[i].number))
            json_add_number(out, "number", args[i].number);
        if (args[i].unit)
            json_add_member(out, "unit", args[i].unit);
        text_add_char(out, '}');
    }
    text_add_char(out, ']');
}

/* The calls that led there, the innermost first. */
static void add_trace(Text *out, const Diag *diag) {
    json_add_key(out, "trace");
    text_add_char(out, '[');
    for (int i = 0; i < diag->trace_count; i++) {
        text_add_string(out, i ? "," : "");
        json_add_text(out, diag->trace[i]);
    }
    text_add_char(out, ']');
}

static void add_error(Text *out, const Diag *diag) {
    const Source *source = diag->source;
    text_add_char(out, '{');
    if (source) {
        Place start = source_locate(source, diag->span.start), end = source_locate(source, diag->span.end);
        json_add_member(out, "file", source->name);
        json_add_integer(out, "line", (int)start.line);
        json_add_integer(out, "column", (int)start.column);
        json_add_integer(out, "end_line", (int)end.line);
        json_add_integer(out, "end", (int)end.column);
    } else {
        static const char *const keys[] = {"file", "line", "column", "end_line", "end"};
        for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
            json_add_key(out, keys[i]);
            text_add_string(out, "null");
        }
    }
    json_add_member(out, "severity", severity_of(diag));
    json_add_member(out, "id", message_name(diag->id));
    json_add_member(out, "message", diag->message);
    json_add_member_or_null(out, "hint", diag->hint);
    add_arguments(out, diag->args);
    if (diag->trace_count)
        add_trace(out, diag);
    text_add_char(out, '}');
}

void render_json_errors(Text *out, const DiagList *errors) {
    for (int i = 0; i < errors->count; i++) {
        text_add_string(out, out->length ? ",\n    " : "\n    ");
        add_error(out, errors->items[i]);
    }
}

static void add_error_list(Text *out, const Text *errors) {
    text_add_string(out, ",\n  \"errors\":[");
    text_add_string(out, text_string(errors));
    text_add_string(out, errors->length ? "\n  ]" : "]");
}

void render_json_check(Text *out, const char *program, const char *const *files, int file_count,
                       const Text *errors) {
    text_add_string(out, "{\n  \"program\":");
    json_add_text(out, program);
    text_add_string(out, ",\n  \"files\":[");
    for (int i = 0; i < file_count; i++) {
        text_add_string(out, i ? "," : "");
        json_add_text(out, files[i]);
    }
    text_add_char(out, ']');
    add_error_list(out, errors);
    text_add_string(out, "\n}\n");
}

static void add_failures(Text *out, const RenderSubject *subject) {
    int at = 0;
    const Diag *check = render_failure(subject, &at);
    if (!check)
        return;
    text_add_string(out, ",\n  \"failures\":[");
    for (int given = 0; check; check = render_failure(subject, &at), given++) {
        text_add_string(out, given ? ",\n    " : "\n    ");
        add_diag_members(out, check);
        at++;
    }
    text_add_string(out, "\n  ]");
}

void render_json(Text *out, const RenderSubject *subject) {
    text_add_string(out, "{\n  \"program\":");
    json_add_text(out, subject->program);
    text_add_string(out, ",\n  \"script\":");
    json_add_text(out, subject->script);
    text_add_string(out, ",\n  \"sha256\":");
    json_add_text(out, subject->sha256);
    add_inputs(out, subject);
    add_assumptions(out, subject->report);
    add_items(out, subject);
    text_add_string(out, ",\n  \"expects\":{");
    json_add_integer(out, "passed", subject->report->expects_passed);
    json_add_integer(out, "failed", subject->report->expects_failed);
    text_add_char(out, '}');
    const Diag *error = render_error(subject);
    add_failures(out, subject);
    if (error) {
        text_add_string(out, ",\n  \"error\":");
        add_diag_members(out, error);
    }
    Text errors = {0};
    render_json_errors(&errors, subject->errors);
    if (errors.length)
        add_error_list(out, &errors);
    text_free(&errors);
    text_add_string(out, "\n}\n");
}
