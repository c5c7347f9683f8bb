/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of a value as plain text: a step on one line where it fits, else each = under the one before.
 */
#include <string.h>

#include "base/mem.h"
#include "base/message.h"
#include "output/render.h"

/* ---- the words of a step, for all forms ---- */

enum { TURN_VALUE_MOST = 40 };

/* A text that tells turns apart: cut off where it is long. */
static MessageArg shortened(const char *text) {
    Text out = {0};
    size_t at = 0;
    while (text[at] && utf8_width(text, at) < TURN_VALUE_MOST)
        at += utf8_decode(text + at, strlen(text + at), &(uint32_t){0});
    text_add(&out, text, at);
    text_add_string(&out, text[at] ? "…" : "");
    return arg_taken(ARG_TEXT, &out);
}

char *render_step_remark(const WorkingStep *step) {
    const char *values = step->with_values;
    bool is_true = step->value && strcmp(step->value, "true") == 0;
    if (step->found_with)
        return message_take(PHRASE_WORKING_FOUND_WITH, ARGS(step->name, step->value, step->found_with));
    switch (step->role) {
    case WORKING_BECAUSE:
        if (values && (strcmp(values, "true") == 0 || strcmp(values, "false") == 0))
            values = NULL; /* the name of a truth */
        return values ? message_take(is_true ? PHRASE_WORKING_SINCE_IS : PHRASE_WORKING_NOT_IS,
                                     ARGS(step->expression, values))
                      : message_take(is_true ? PHRASE_WORKING_SINCE : PHRASE_WORKING_NOT,
                                     ARGS(step->expression));
    case WORKING_HOLDS:
        return values ? message_take(PHRASE_WORKING_HOLDS_IS, ARGS(step->expression, values))
                      : message_take(PHRASE_WORKING_HOLDS, ARGS(step->expression));
    case WORKING_BESIDE:
        return message_take(is_true ? PHRASE_WORKING_BESIDE : PHRASE_WORKING_BESIDE_NOT,
                            ARGS(step->name, values ? values : step->expression));
    case WORKING_TURN: {
        if (step->turns && step->turn > step->turns) /* a `while` that has come to its end */
            return message_take(PHRASE_WORKING_TURN_OVER, ARGS(arg_whole(step->turns)));
        MessageArg turn = step->turns ? arg_phrase(PHRASE_WORKING_TURN_OF,
                                                   ARGS(arg_whole(step->turn), arg_whole(step->turns)))
                                      : arg_phrase(PHRASE_WORKING_TURN, ARGS(arg_whole(step->turn)));
        return step->name
                   ? message_take(PHRASE_WORKING_TURN_WITH, ARGS(turn, step->name, shortened(step->value)))
                   : message_take(PHRASE_WORKING_TURN_WHILE, ARGS(turn, step->expression));
    }
    case WORKING_STEP:
    case WORKING_INPUT:
    case WORKING_UNIT:
    case WORKING_SIDE:
        break;
    }
    return NULL;
}

char *render_step_about(const WorkingStep *step) {
    if (!step->formula)
        return NULL;
    return step->source ? message_take(PHRASE_WORKING_ABOUT, ARGS(step->about, step->source))
                        : mem_copy_string(step->about);
}

#define LEAST_SHARE 0.05 /* per cent: less would be printed as 0.0 % */

char *render_working_shares(const Working *working) {
    Text out = {0};
    int told = 0; /* the largest come first */
    while (told < working->share_count && working->shares[told].percent >= LEAST_SHARE)
        told++;
    if (!told)
        return NULL;
    text_add_string(&out, message_text(PHRASE_WORKING_SHARES));
    for (int i = 0; i < told; i++) {
        const WorkingShare *share = &working->shares[i];
        bool last = i + 1 == told && !working->more_shares;
        Text percent = {0};
        format_places(&percent, share->percent, share->percent < 9.95 ? 1 : 0);
        message_add_joint(&out, i == 0, last, PHRASE_JOINED_AND);
        char *text = message_take(PHRASE_WORKING_SHARE, ARGS(share->name, text_string(&percent)));
        text_add_string(&out, text);
        text_free(&percent);
        mem_free(text);
    }
    if (working->more_shares) {
        char *more = message_take(PHRASE_WORKING_MORE_SHARES, ARGS(arg_whole(working->more_shares)));
        message_add_joint(&out, false, true, PHRASE_JOINED_AND);
        text_add_string(&out, more);
        mem_free(more);
    }
    return text_take(&out);
}

static bool same_label(const Working *working, int a, int b) {
    return strcmp(working->earlier[a].label, working->earlier[b].label) == 0;
}

/* The names whose steps are under the label of the one at `first`, joined: `a, b and c`. */
static void add_earlier_names(Text *out, const Working *working, int first) {
    int left = 0;
    for (int i = first; i < working->earlier_count; i++)
        left += same_label(working, first, i);
    for (int i = first; i < working->earlier_count; i++) {
        if (!same_label(working, first, i))
            continue;
        message_add_joint(out, i == first, --left == 0, PHRASE_JOINED_AND);
        text_add_string(out, working->earlier[i].name);
    }
}

char *render_working_earlier(const Working *working) {
    Text out = {0};
    if (!working->earlier_count)
        return NULL;
    for (int i = 0; i < working->earlier_count; i++) {
        int before = 0;
        while (!same_label(working, before, i))
            before++;
        if (before < i)
            continue;
        Text names = {0};
        add_earlier_names(&names, working, i);
        char *text =
            message_take(PHRASE_WORKING_EARLIER_UNDER, ARGS(text_string(&names), working->earlier[i].label));
        text_add_string(&out, i ? "; " : "");
        text_add_string(&out, text);
        text_free(&names);
        mem_free(text);
    }
    char *all = message_take(PHRASE_WORKING_EARLIER, ARGS(text_string(&out)));
    text_free(&out);
    return all;
}

bool render_has_working(const Working *working) {
    return working && (working->count || working->earlier_count);
}

bool render_steps_follow(const WorkingStep *step) {
    if (step->role == WORKING_TURN)
        return true;
    if (step->role != WORKING_STEP || step->with_values)
        return false;
    for (int i = 0; i < step->child_count; i++)
        if (!step->children[i].inside)
            return step->children[i].role == WORKING_HOLDS;
    return false;
}

bool render_step_repeats(const WorkingStep *steps, int index) {
    const WorkingStep *step = &steps[index];
    bool bare = !step->name && !step->with_values && !step->child_count && !step->table.cells &&
                !step->formula && !step->assumption_count && step->value;
    for (int i = index - 1; i >= 0 && bare; i--)
        if (steps[i].name && strcmp(steps[i].name, step->expression) == 0)
            return steps[i].value && strcmp(steps[i].value, step->value) == 0;
    return false;
}

/* ---- plain text ---- */

typedef struct Page {
    Text *out;
    size_t columns; /* 0: as wide as it gets */
} Page;

static void add_step(const Page *page, const WorkingStep *step, size_t indent);

static void add_steps(const Page *page, const WorkingStep *step, bool inside, size_t indent) {
    for (int i = 0; i < step->child_count; i++) {
        if (step->children[i].inside != inside)
            continue;
        if (!render_step_repeats(step->children, i))
            add_step(page, &step->children[i], indent);
    }
}

static bool has_steps(const WorkingStep *step, bool inside) {
    for (int i = 0; i < step->child_count; i++)
        if (step->children[i].inside == inside)
            return true;
    return false;
}

/* Words of ours, wrapped where they must be. */
static void add_words(const Page *page, const char *start, const char *words, size_t indent) {
    Text head = {0}, line = {0};
    text_add_padding(&head, 0, indent);
    text_add_string(&head, start);
    render_one_line(&line, words);
    render_wrapped(page->out, text_string(&head), text_string(&line), (int)page->columns);
    text_free(&head);
    text_free(&line);
}

static void add_remarks(const Page *page, const WorkingStep *step, size_t indent) {
    char *about = render_step_about(step);
    if (about) {
        Text start = {0};
        text_add_string(&start, step->formula);
        text_add_string(&start, ": ");
        add_words(page, text_string(&start), about, indent);
        text_free(&start);
    }
    for (int i = 0; i < step->assumption_count; i++)
        add_words(page, "", step->assumptions[i], indent);
    mem_free(about);
}

static void add_table(const Page *page, const WorkingTable *table, size_t indent) {
    for (int row = 0; row < table->rows; row++) {
        text_add_padding(page->out, 0, indent);
        for (int column = 0; column < table->columns; column++) {
            size_t width = 0;
            for (int r = 0; r < table->rows; r++) {
                const char *cell = *working_cell(table, r, column);
                size_t needed = utf8_width(cell, strlen(cell));
                width = needed > width ? needed : width;
            }
            const char *cell = *working_cell(table, row, column);
            size_t used = utf8_width(cell, strlen(cell));
            if (column)
                text_add_repeated(page->out, ' ', width - used + 2);
            render_one_line(page->out, cell);
            if (!column)
                text_add_repeated(page->out, ' ', width - used);
        }
        text_add_char(page->out, '\n');
    }
}

/* A line of an equation, wrapped under its own start. */
static void add_line(const Page *page, const char *start, const char *text, size_t column) {
    Text head = {0}, line = {0}, clean = {0};
    text_add_padding(&head, 0, column);
    render_one_line(&head, start);
    render_one_line(&clean, text);
    text = text_string(&clean);
    if (page->columns &&
        utf8_width(text_string(&head), head.length) + utf8_width(text, strlen(text)) > page->columns)
        render_wrapped(&line, text_string(&head), text, (int)page->columns);
    if (!line.length) {
        text_add_string(&line, text_string(&head));
        text_add_string(&line, text);
        text_add_char(&line, '\n');
    }
    text_add_string(page->out, text_string(&line));
    text_free(&head);
    text_free(&line);
    text_free(&clean);
}

static size_t width_of(const char *text) {
    return text ? utf8_width(text, strlen(text)) + 3 : 0;
}

static void add_input(const Page *page, const WorkingStep *step, size_t indent) {
    Text line = {0};
    text_add_string(&line, step->name);
    text_add_string(&line, " = ");
    render_one_line(&line, strstr(step->value, "±") ? step->value : step->expression);
    if (step->about) {
        text_add_string(&line, " (");
        render_one_line(&line, step->about);
        text_add_char(&line, ')');
    }
    add_words(page, "", text_string(&line), indent);
    text_free(&line);
}

/* All of it on one line: `a = b + c = 1 L + 2 L = 3 L`. */
static void add_on_one_line(const Page *page, const WorkingStep *step, const char *end, size_t indent) {
    text_add_padding(page->out, 0, indent);
    render_one_line(page->out, step->name ? step->name : "");
    text_add_string(page->out, step->name ? " = " : "");
    render_one_line(page->out, step->expression);
    if (step->with_values) {
        text_add_string(page->out, " = ");
        render_one_line(page->out, step->with_values);
    }
    render_one_line(page->out, end);
    text_add_char(page->out, '\n');
}

/* Each = under the one before, and what is inside the formula before its value. */
static void add_on_lines(const Page *page, const WorkingStep *step, const char *end, size_t indent) {
    size_t column = step->name ? indent + width_of(step->name) - 2 : indent + 2;
    Text start = {0};
    text_add_string(&start, step->name ? step->name : "");
    text_add_string(&start, step->name ? " = " : "");
    add_line(page, text_string(&start), step->expression, indent);
    if (step->with_values)
        add_line(page, "= ", step->with_values, column);
    add_steps(page, step, true, column + 4);
    if (*end)
        add_line(page, "= ", end + 3, column);
    text_free(&start);
}

static void add_equation(const Page *page, const WorkingStep *step, size_t indent) {
    bool find = render_steps_follow(step);
    size_t column = step->name ? indent + width_of(step->name) : indent + 4;
    Text end = {0};
    if (!find)
        add_steps(page, step, false, indent);
    if (!step->literal && strcmp(step->expression, step->value) != 0) {
        text_add_string(&end, " = ");
        text_add_string(&end, step->value);
    }
    text_add_string(&end, step->rounded ? message_text(PHRASE_WORKING_ROUNDED) : "");
    size_t length = indent + (step->name ? width_of(step->name) : 0) + width_of(step->expression) - 3 +
                    width_of(step->with_values) + utf8_width(text_string(&end), end.length);
    if (!has_steps(step, true) && (!page->columns || length <= page->columns))
        add_on_one_line(page, step, text_string(&end), indent);
    else
        add_on_lines(page, step, text_string(&end), indent);
    if (find)
        add_steps(page, step, false, column);
    if (step->table.cells)
        add_table(page, &step->table, indent + 4);
    add_remarks(page, step, column);
    text_free(&end);
}

static void add_step(const Page *page, const WorkingStep *step, size_t indent) {
    char *remark = render_step_remark(step);
    if (remark) {
        if (step->role != WORKING_TURN)
            add_steps(page, step, false, indent);
        add_words(page, "", remark, indent);
        add_steps(page, step, true, indent + 2);
    } else if (step->role == WORKING_INPUT || step->role == WORKING_UNIT) {
        add_input(page, step, indent);
    } else {
        add_equation(page, step, indent);
    }
    mem_free(remark);
}

void render_working(Text *out, const Working *working, int columns) {
    Page page = {out, columns > 0 ? (size_t)columns : 0};
    char *earlier = render_working_earlier(working);
    if (earlier)
        add_words(&page, "", earlier, 2);
    mem_free(earlier);
    for (int i = 0; i < working->count; i++)
        if (!render_step_repeats(working->steps, i))
            add_step(&page, &working->steps[i], 2);
    char *shares = render_working_shares(working);
    if (shares)
        add_words(&page, "", shares, 2);
    mem_free(shares);
}

/* A label is a line of its own, underlined like no heading: it may hold a line end. */
static void add_result(Text *out, const char *label, const Working *working, int columns) {
    if (!render_has_working(working))
        return;
    text_add_char(out, '\n');
    render_one_line(out, label ? label : "");
    text_add_string(out, ":\n");
    render_working(out, working, columns);
}

void render_text_working(Text *out, RenderText *state, const Report *report) {
    const int columns = state->working_columns > 0 ? state->working_columns : RENDER_WORKING_WIDTH;
    Text all = {0};
    for (int i = 0; i < report->count; i++) {
        const Item *item = report->items[i];
        add_result(&all, item->label, item->working, columns);
        for (int c = 0; item->table && c < item->table->column_count; c++)
            add_result(&all, item->table->columns[c].label, item->table->columns[c].working, columns);
    }
    if (all.length) {
        const char *head = message_text(PHRASE_WORKING_HEAD);
        text_add_string(out, state->started ? "\n" : "");
        text_add_string(out, head);
        text_add_char(out, '\n');
        text_add_repeated(out, '-', strlen(head));
        text_add_string(out, text_string(&all));
        state->started = true;
    }
    text_free(&all);
}
