/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/json_working.h"

#include "numbers/format.h"
#include "output/json_text.h"

static void add_texts(Text *out, char *const *texts, int count) {
    text_add_char(out, '[');
    for (int i = 0; i < count; i++) {
        text_add_string(out, i ? "," : "");
        json_add_text(out, texts[i]);
    }
    text_add_char(out, ']');
}

/* An empty text is one too. */
static void add_text_or_null(Text *out, const char *key, const char *text) {
    if (text)
        json_add_member(out, key, text);
    else
        json_add_member_or_null(out, key, NULL);
}

/* Row by row; null for a step that pours nothing. */
static void add_table(Text *out, const WorkingTable *table) {
    json_add_key(out, "table");
    if (!table->cells) {
        text_add_string(out, "null");
        return;
    }
    text_add_char(out, '[');
    for (int row = 0; row < table->rows; row++) {
        text_add_string(out, row ? "," : "");
        add_texts(out, working_cell(table, row, 0), table->columns);
    }
    text_add_char(out, ']');
}

static void add_turn(Text *out, const WorkingStep *step) {
    if (step->role != WORKING_TURN)
        return;
    json_add_integer(out, "turn", step->turn);
    json_add_key(out, "turns");
    if (step->turns)
        text_add_integer(out, step->turns);
    else
        text_add_string(out, "null");
}

static void add_steps(Text *out, const char *key, const WorkingStep *steps, int count);

static void add_step(Text *out, const WorkingStep *step) {
    text_add_char(out, '{');
    json_add_member(out, "role", working_role_word(step->role));
    add_text_or_null(out, "name", step->name);
    add_text_or_null(out, "expression", step->expression);
    add_text_or_null(out, "with_values", step->with_values);
    add_text_or_null(out, "value", step->value);
    json_add_member_or_null(out, "unit", step->unit);
    json_add_truth(out, "rounded", step->rounded);
    if (step->found_with)
        json_add_member(out, "found_with", step->found_with);
    add_text_or_null(out, "formula", step->formula);
    add_text_or_null(out, "about", step->about);
    add_text_or_null(out, "source", step->source);
    json_add_key(out, "assumptions");
    add_texts(out, step->assumptions, step->assumption_count);
    add_table(out, &step->table);
    add_turn(out, step);
    json_add_truth(out, "inside", step->inside);
    add_steps(out, "children", step->children, step->child_count);
    text_add_char(out, '}');
}

static void add_steps(Text *out, const char *key, const WorkingStep *steps, int count) {
    json_add_key(out, key);
    text_add_char(out, '[');
    for (int i = 0; i < count; i++) {
        text_add_string(out, i ? "," : "");
        add_step(out, &steps[i]);
    }
    text_add_char(out, ']');
}

static void add_earlier(Text *out, const Working *working) {
    if (!working->earlier_count)
        return;
    json_add_key(out, "earlier");
    for (int i = 0; i < working->earlier_count; i++) {
        text_add_string(out, i ? ",{" : "[{");
        json_add_member(out, "name", working->earlier[i].name);
        json_add_member(out, "label", working->earlier[i].label);
        text_add_char(out, '}');
    }
    text_add_char(out, ']');
}

static void add_shares(Text *out, const Working *working) {
    if (!working->share_count)
        return;
    json_add_key(out, "shares");
    for (int i = 0; i < working->share_count; i++) {
        text_add_string(out, i ? ",{" : "[{");
        json_add_member(out, "source", working->shares[i].name);
        json_add_number(out, "percent", working->shares[i].percent);
        text_add_char(out, '}');
    }
    text_add_char(out, ']');
    if (working->more_shares)
        json_add_integer(out, "more_shares", working->more_shares);
}

void json_add_working(Text *out, const Working *working) {
    if (!working)
        return;
    add_steps(out, "steps", working->steps, working->count);
    add_earlier(out, working);
    add_shares(out, working);
}
