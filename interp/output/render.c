/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The forms of a report, and what they have in common. */
#include "output/render.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "values/display.h"

static const RenderForm forms[] = {
#define FORM(name, render) {name, render},
    RENDER_FORMS(FORM)
#undef FORM
};

const RenderForm *render_form_at(int index) {
    return index >= 0 && index < (int)(sizeof forms / sizeof forms[0]) ? &forms[index] : NULL;
}

const RenderForm *render_form_find(const char *name) {
    const RenderForm *form = NULL;
    for (int i = 0; (form = render_form_at(i)); i++)
        if (strcmp(form->name, name) == 0)
            break;
    return form;
}

typedef struct Dated {
    const Item *item;
    int order; /* qsort alone would shuffle the events of one day */
} Dated;

static int compare_dated(const void *left, const void *right) {
    const Dated *a = left, *b = right;
    if (a->item->date < b->item->date || a->item->date > b->item->date)
        return a->item->date < b->item->date ? -1 : 1;
    return a->order < b->order ? -1 : 1;
}

const Item **render_sorted_events(const Report *report, int *count) {
    Dated *dated = mem_array((size_t)report->count, sizeof *dated);
    int found = 0;
    for (int i = 0; i < report->count; i++)
        if (report->items[i]->type == ITEM_EVENT)
            dated[found++] = (Dated){.item = report->items[i], .order = i};
    if (found)
        qsort(dated, (size_t)found, sizeof *dated, compare_dated);
    const Item **events = mem_array((size_t)found, sizeof *events);
    for (int i = 0; i < found; i++)
        events[i] = dated[i].item;
    mem_free(dated);
    *count = found;
    return events;
}

static const FormatSpec default_format = {.mode = FORMAT_DEFAULT, .count = 0};

void render_date(Text *out, double days) {
    display_literal(out, NULL, value_reading(days, UNIT_DATE));
}

const Diag *render_error(const RenderSubject *subject) {
    for (int i = 0; i < subject->errors->count; i++)
        if (message_class(subject->errors->items[i]->id) != CLASS_EXPECT)
            return subject->errors->items[i];
    return NULL;
}

const Diag *render_failure(const RenderSubject *subject, int *index) {
    for (; *index < subject->errors->count; ++*index)
        if (message_class(subject->errors->items[*index]->id) == CLASS_EXPECT)
            return subject->errors->items[*index];
    return NULL;
}

void render_place(Text *out, const Diag *diag) {
    if (!diag->source)
        return;
    source_add_place(out, diag->source, diag->span.start);
}

void render_diag(Text *out, const Diag *diag) {
    size_t start = out->length;
    render_place(out, diag);
    text_add_string(out, out->length > start ? ": " : "");
    text_add_string(out, diag->message);
}

const char *render_item_word(ItemType type) {
    static const char *const words[] = {
#define ITEM(item, word) [ITEM_##item] = word,
        REPORT_ITEMS(ITEM)
#undef ITEM
    };
    return words[type];
}

const char *render_unit(const UnitTable *units, Value value) {
    return render_is_number(value) ? unit_get(units, value.unit)->name : "";
}

bool render_is_number(Value value) {
    return value_is_quantity(value) && value.unit != UNIT_DATE;
}

void render_column_head(Text *out, const UnitTable *units, const TableColumn *column) {
    render_one_line(out, column->label);
    if (!column->has_unit || column->bare || column->unit == UNIT_NUMBER || column->unit == UNIT_DATE)
        return;
    text_add_string(out, out->length ? " [" : "[");
    text_add_string(out, unit_get(units, column->unit)->name);
    text_add_char(out, ']');
}

bool render_has_spread(Value value, double spread) {
    const double least = 1e-9; /* of an input it is what was given; of a cell what is noise was left out */
    return render_is_number(value) && spread > 0 && spread >= least * fabs(value.as.number);
}

/* Twelve digits: half the difference of two runs (runtime/worlds.h) has a last bit or two that mean nothing.
 */
void render_spread(Text *out, double spread) {
    double scale = pow(10, 12 - ceil(log10(spread)));
    double rounded = round(spread * scale) / scale;
    format_shortest(out, isfinite(rounded) && rounded > 0 ? rounded : spread);
}

void render_input_value(Text *out, const UnitTable *units, const InputResult *input) {
    if (!render_has_spread(input->value, input->spread)) {
        display_literal(out, units, input->value);
        return;
    }
    const char *unit = unit_get(units, input->value.unit)->name;
    format_shortest(out, input->value.as.number);
    text_add_string(out, " ± ");
    render_spread(out, input->spread);
    text_add_string(out, *unit ? " " : "");
    text_add_string(out, unit);
}

void render_input_text(Text *out, const UnitTable *units, const InputResult *input) {
    const double *spread = render_has_spread(input->value, input->spread) ? &input->spread : NULL;
    Fault fault = {0};
    display_value_spread(out, units, input->value, default_format, spread, &fault);
    fault_clear(&fault);
}

/* `5.22 ± 0.30`: the unit, which stands in the head, is taken off the end. */
static void add_spread_number(Text *out, const UnitTable *units, const TableColumn *column, int row) {
    Text shown = {0};
    Fault fault = {0};
    Value value = column->cells[row];
    display_value_spread(&shown, units, value, column->format, &column->spreads[row], &fault);
    size_t tail = value.unit == UNIT_NUMBER ? 0 : strlen(unit_get(units, value.unit)->name) + 1;
    text_add(out, text_string(&shown), shown.length >= tail ? shown.length - tail : 0);
    fault_clear(&fault);
    text_free(&shown);
}

void render_cell(Text *out, const UnitTable *units, const TableColumn *column, int row) {
    Value value = column->cells[row];
    if (value.tag == TAG_NONE || value.tag == TAG_ABSENT)
        return;
    if (render_is_number(value)) {
        if (render_has_spread(value, column->spreads[row]))
            add_spread_number(out, units, column, row);
        else
            display_number(out, units, value.as.number, value.unit, column->format);
        return;
    }
    Text shown = {0};
    Fault fault = {0};
    bool rounds = value.tag == TAG_LIST || value.tag == TAG_RECORD || value.tag == TAG_LIQUID;
    display_value(&shown, units, value, rounds ? column->format : default_format, &fault);
    fault_clear(&fault);
    render_one_line(out, text_string(&shown));
    text_free(&shown);
}

size_t render_whole_length(const char *number) {
    return strcspn(number, ".e ");
}

bool render_is_numeric(const TableResult *table, int column) {
    int failed = 0, others = 0;
    for (int row = 0; row < table->row_count; row++) {
        Value cell = table->columns[column].cells[row];
        if (table->failed[column][row])
            failed++;
        else if (render_is_number(cell))
            return true;
        else
            others += cell.tag != TAG_NONE;
    }
    return failed > 0 && others == 0;
}

void render_exact(Text *out, const UnitTable *units, Value value) {
    if (render_is_number(value))
        format_shortest(out, value.as.number);
    else if (value.tag == TAG_TEXT)
        text_add(out, value.as.text->bytes, value.as.text->length);
    else if (value.tag == TAG_TRUTH || value.tag == TAG_READING)
        display_literal(out, units, value);
}

void render_one_line(Text *out, const char *text) {
    text_add_clean(out, text, strlen(text), "", " ");
}
