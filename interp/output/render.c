/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The forms of a report, and what they have in common. */
#include "output/render.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/format_spread.h"
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

void render_input_value(Text *out, const UnitTable *units, const InputResult *input) {
    if (!(input->spread > 0)) {
        display_literal(out, units, input->value);
        return;
    }
    format_shortest(out, input->value.as.number);
    text_add_string(out, " ± ");
    format_shortest(out, input->spread);
    display_unit(out, units, input->value.unit);
}

void render_input_text(Text *out, const UnitTable *units, const InputResult *input) {
    display_value_spread(out, units, input->value, default_format, input->spread > 0 ? &input->spread : NULL);
}

/* `5.22 ± 0.30 bar, 95 % from 4.63 to 5.81`; the unit follows. */
static void add_interval(Text *out, const UnitTable *units, UnitId unit, const Drawn *drawn) {
    int places = format_spread_places(drawn->uncertainty);
    bool too_long = places < -FORMAT_WHOLE_MOST;
    places = places < 0 ? 0 : places > 15 ? 15 : places;
    format_spread(out, drawn->mean, drawn->uncertainty, default_format);
    display_unit(out, units, unit);
    text_add_string(out, ", 95 % from ");
    if (too_long)
        format_plain(out, drawn->low);
    else
        format_places(out, drawn->low, places);
    text_add_string(out, " to ");
    if (too_long)
        format_plain(out, drawn->high);
    else
        format_places(out, drawn->high, places);
}

bool render_shown(Text *out, const UnitTable *units, const Item *item, Text *unit) {
    const Shown *shown = &item->shown;
    const Drawn *drawn = &item->drawn;
    Value value = shown->value;
    if (!render_is_number(value)) {
        display_value_spread(out, units, value, shown->format, shown->spreads);
        return false;
    }
    bool drawn_out = drawn->count > 1 && !drawn->refused &&
                     display_has_spread(units, drawn->mean, value.unit, drawn->uncertainty, shown->format);
    double spread = shown->spreads ? shown->spreads[0] : 0;
    if (drawn_out)
        add_interval(out, units, value.unit, drawn);
    else
        display_number(out, units, value.as.number, value.unit, spread, shown->format);
    if (drawn->missing) {
        display_unit(out, units, value.unit);
        text_add_string(out, drawn->refused ? "; " : ", in ");
        text_add_string(out, drawn->missing);
        return false;
    }
    text_add_string(unit, render_unit(units, value));
    return true;
}

/* A text is labelled by itself in quotes, where nothing else is said. */
static bool repeats(const char *label, const char *words) {
    size_t length = strlen(words);
    bool quoted = *label == '"' && strlen(label) == length + 2 && label[length + 1] == '"';
    return quoted ? strncmp(label + 1, words, length) == 0 : strcmp(label, words) == 0;
}

void render_label(Text *out, const Item *item, const char *words) {
    if (item->label && !repeats(item->label, words))
        render_one_line(out, item->label);
}

double render_spread(const UnitTable *units, const Shown *shown) {
    Value value = shown->value;
    bool told = shown->spreads && value_is_quantity(value) &&
                display_has_spread(units, value.as.number, value.unit, shown->spreads[0], shown->format);
    return told ? shown->spreads[0] : 0;
}

void render_shown_text(Text *out, const UnitTable *units, const Item *item) {
    Text unit = {0};
    render_shown(out, units, item, &unit);
    text_add_string(out, unit.length ? " " : "");
    text_add_string(out, text_string(&unit));
    text_free(&unit);
}

void render_cell(Text *out, const UnitTable *units, const TableColumn *column, int row) {
    const TableCell *cell = &column->cells[row];
    Value value = cell->value;
    if (value.tag == TAG_NONE || value.tag == TAG_ABSENT)
        return;
    if (render_is_number(value)) {
        display_number(out, units, value.as.number, value.unit, cell->spread, column->format);
        return;
    }
    Text shown = {0};
    display_value_spread(&shown, units, value, column->format, cell->spreads);
    render_one_line(out, text_string(&shown));
    text_free(&shown);
}

size_t render_whole_length(const char *number) {
    return strcspn(number, ".e ");
}

bool render_is_numeric(const TableResult *table, int column) {
    int failed = 0, others = 0;
    for (int row = 0; row < table->row_count; row++) {
        const TableCell *cell = &table->columns[column].cells[row];
        if (cell->failed)
            failed++;
        else if (render_is_number(cell->value))
            return true;
        else
            others += cell->value.tag != TAG_NONE;
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
