/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Diagnostics: messages with their places, and the renderer of docs/reference/language.md, "What an
 * error looks like". */
#include "base/diag.h"

#include <string.h>

#include "base/mem.h"

/* ---- faults ---- */

MessageArg arg_place(const Source *source, uint32_t offset) {
    Text place = {0};
    source_add_place(&place, source, offset);
    return arg_taken(ARG_PLACE, &place);
}

void fault_clear(Fault *fault) {
    args_free(fault->args);
    args_free(fault->hint_args);
    mem_free(fault->left);
    mem_free(fault->right);
    *fault = (Fault){0};
}

bool fault_set(Fault *fault, MessageId id, MessageArg *args) {
    if (fault->id != MSG_NONE) {
        fault->ignores = true;
        args_free(args);
        return false;
    }
    fault->id = id;
    args_take(fault->args, args);
    return false;
}

/* Kinds are labels too; they are read as words: temperature_difference without its _. */
static char *copy_label(const char *text) {
    char *copy = mem_copy_string(text);
    for (char *p = copy; p && *p; p++)
        if (*p == '_')
            *p = ' ';
    return copy;
}

void fault_label(Fault *fault, const char *left, const char *right) {
    if (fault->ignores)
        return;
    mem_free(fault->left);
    mem_free(fault->right);
    fault->left = copy_label(left);
    fault->right = copy_label(right);
}

bool fault_hint(Fault *fault, MessageId hint, MessageArg *args) {
    if (fault->ignores) {
        args_free(args);
        return false;
    }
    fault->hint = hint;
    args_take(fault->hint_args, args);
    return false;
}

MessageArg *fault_operand(Fault *fault, OperandSide side) {
    for (int i = 0; i < MESSAGE_ARGS; i++)
        if (fault->hint_args[i].type != ARG_END && fault->hint_args[i].operand == side)
            return &fault->hint_args[i];
    return NULL;
}

void fault_because(Fault *fault, Fault *why) {
    fault->cause = why->id;
    if (why->hint == MSG_NONE)
        return;
    fault_hint(fault, why->hint, why->hint_args);
    memset(why->hint_args, 0, sizeof why->hint_args);
}

MessageArg arg_hint(const Fault *fault) {
    char *words = fault->hint ? message_render(fault->hint, fault->hint_args)
                              : message_render_hint(fault->id, false, fault->args);
    MessageArg arg = arg_text(words);
    arg.type = ARG_PHRASE;
    mem_free(words);
    return arg;
}

/* ---- diagnostics ---- */

static void set_hint(Diag *diag, char *words) {
    bool none = !words || !*words;
    mem_free(diag->hint);
    diag->hint = none ? NULL : words;
    if (none)
        mem_free(words);
}

Diag *diag_new(MessageId id, Source *source, Span span, MessageArg *args) {
    Diag *diag = mem_alloc(sizeof *diag);
    diag->id = id;
    diag->source = source_keep(source);
    diag->span = span;
    args_take(diag->args, args);
    diag->message = message_render(id, diag->args);
    diag->hint = message_render_hint(id, false, diag->args);
    return diag;
}

Diag *diag_from_fault(Fault *fault, Source *source, Span span) {
    Diag *diag = diag_new(fault->id, source, span, fault->args);
    diag->cause = fault->cause;
    if (fault->hint)
        diag_hint(diag, fault->hint, fault->hint_args);
    memset(fault->args, 0, sizeof fault->args);
    memset(fault->hint_args, 0, sizeof fault->hint_args);
    fault_clear(fault);
    return diag;
}

void diag_label(Diag *diag, Span span, const char *text) {
    if (diag->label_count >= DIAG_LABELS)
        return;
    diag->labels[diag->label_count++] = (DiagLabel){.span = span, .text = mem_copy_string(text)};
}

Diag *diag_from_sides(Fault *fault, Source *source, Span at, Span left, Span right) {
    char *left_word = fault->left, *right_word = fault->right;
    fault->left = fault->right = NULL;
    Diag *diag = diag_from_fault(fault, source, at);
    if (left_word && left.end > left.start)
        diag_label(diag, left, left_word);
    if (right_word && right.end > right.start)
        diag_label(diag, right, right_word);
    mem_free(left_word);
    mem_free(right_word);
    return diag;
}

void diag_hint(Diag *diag, MessageId hint, MessageArg *args) {
    diag->hint_id = hint;
    args_take(diag->hint_args, args);
    set_hint(diag, message_render(hint, diag->hint_args));
}

void diag_hint_alone(Diag *diag) {
    if (message_is_of_literal(diag->id))
        set_hint(diag, message_render_hint(diag->id, true, diag->args));
}

static const MessageArg *mending(const MessageArg *args) {
    for (int i = 0; i < MESSAGE_ARGS && args[i].type != ARG_END; i++)
        if (args[i].mends)
            return &args[i];
    return NULL;
}

static int count_spreads(const char *text, size_t length) {
    int count = 0;
    for (size_t i = 0; i + 1 < length; i++)
        count += strncmp(text + i, "\xC2\xB1", 2) == 0 || strncmp(text + i, "+-", 2) == 0 ||
                 (i + 2 < length && strncmp(text + i, "+/-", 3) == 0);
    return count;
}

char *diag_mended(const Diag *diag, bool *surely) {
    const MessageArg *arg = mending(diag->hint_args);
    arg = arg ? arg : mending(diag->args);
    if (!arg || !diag->source)
        return NULL;
    const Source *source = diag->source;
    Span span = diag->span;
    *surely = arg->mends & SURELY;
    if (arg->mends & MENDS_LINE) {
        uint32_t line = source_locate(source, span.start).line;
        size_t length;
        source_line(source, line, &length);
        span.start = source->line_starts[line - 1];
        span.end = span.start + (uint32_t)length;
    }
    if (count_spreads(source->text + span.start, span.end - span.start) >
        count_spreads(arg->text, strlen(arg->text)))
        return NULL; /* what a hint shows for a number says nothing of its ± */
    Text out = {0};
    text_add(&out, source->text, span.start);
    text_add_string(&out, arg->text);
    text_add(&out, source->text + span.end, source->length - span.end);
    return text_take(&out);
}

void diag_add_trace(Diag *diag, MessageId id, MessageArg *args) {
    diag->trace = mem_resize_array(diag->trace, (size_t)diag->trace_count + 1, sizeof *diag->trace);
    diag->trace[diag->trace_count++] = message_take(id, args);
}

void diag_free(Diag *diag) {
    if (!diag)
        return;
    source_release(diag->source);
    args_free(diag->args);
    args_free(diag->hint_args);
    mem_free(diag->message);
    mem_free(diag->hint);
    for (int i = 0; i < diag->label_count; i++)
        mem_free(diag->labels[i].text);
    for (int i = 0; i < diag->trace_count; i++)
        mem_free(diag->trace[i]);
    mem_free(diag->trace);
    mem_free(diag);
}

Diag *diag_add(DiagList *list, MessageId id, Source *source, Span span, MessageArg *args) {
    Diag *diag = diag_new(id, source, span, args);
    diag_list_push(list, diag);
    return diag;
}

void diag_list_push(DiagList *list, Diag *diag) {
    MEM_GROW(list->items, list->count, list->capacity);
    list->items[list->count++] = diag;
}

void diag_list_free(DiagList *list) {
    for (int i = 0; i < list->count; i++)
        diag_free(list->items[i]);
    mem_free(list->items);
    *list = (DiagList){0};
}

/* ---- rendering ---- */

enum {
    TAB_WIDTH = 4,     /* tabs in the shown line become so many spaces, marks move along */
    SHOWN_WIDTH = 100, /* a longer source line is cut around the place */
    LINE_NUMBER_WIDTH = 5
};

/* A source line made ready to print, and for each of its bytes the terminal column it starts at. */
typedef struct ShownLine {
    Text text;
    size_t *columns; /* one more than bytes: the last is the width */
    size_t bytes;
    uint32_t start; /* offset of the line in its source */
} ShownLine;

static ShownLine prepare_line(const Source *source, uint32_t line) {
    ShownLine shown = {.start = source->line_starts[line - 1]};
    const char *bytes = source_line(source, line, &shown.bytes);
    shown.columns = mem_array(shown.bytes + 1, sizeof *shown.columns);
    size_t column = 0;
    for (size_t at = 0; at < shown.bytes;) {
        uint32_t code_point = 0;
        size_t used = utf8_decode(bytes + at, shown.bytes - at, &code_point);
        bool byte_order_mark = used == 3 && code_point == 0xFEFF;
        for (size_t i = 0; i < (used ? used : 1); i++)
            shown.columns[at + i] = column;
        if (code_point == '\t' && used) {
            text_add_repeated(&shown.text, ' ', TAB_WIDTH);
            column += TAB_WIDTH;
        } else if (!used || utf8_is_control(code_point)) {
            text_add_string(&shown.text, "\xEF\xBF\xBD"); /* what cannot be printed */
            column++;
        } else if (!byte_order_mark) {
            text_add(&shown.text, bytes + at, used);
            column += utf8_width(bytes + at, used);
        }
        at += used ? used : 1;
    }
    shown.columns[shown.bytes] = column;
    return shown;
}

static size_t column_of(const ShownLine *shown, uint32_t offset) {
    size_t at = offset > shown->start ? offset - shown->start : 0;
    return shown->columns[at > shown->bytes ? shown->bytes : at];
}

static void mark(Text *row, size_t from, size_t to, char c) {
    text_add_padding(row, row->length, to);
    memset(row->bytes + from, c, to - from);
}

/* Columns left of the bar: LINE_NUMBER_WIDTH, or as many as the number of the line has digits. */
static size_t gutter_width(uint32_t line) {
    size_t digits = 1;
    for (uint32_t rest = line; rest >= 10; rest /= 10)
        digits++;
    return digits > LINE_NUMBER_WIDTH ? digits : LINE_NUMBER_WIDTH;
}

/* The gutter of a shown line, with its number, or of the marks below it, without. */
static void add_gutter(Text *out, uint32_t line, bool numbered) {
    Text number = {0};
    if (numbered)
        text_add_integer(&number, line);
    text_add_padding(out, number.length, gutter_width(line));
    text_add_string(out, text_string(&number));
    text_add_string(out, " | ");
    text_free(&number);
}

/* Writes text cut to the columns [from, from + SHOWN_WIDTH). */
static void add_window(Text *out, const Text *line, size_t from) {
    size_t column = 0;
    const char *bytes = text_string(line);
    for (size_t at = 0; at < line->length;) {
        uint32_t code_point;
        size_t used = utf8_decode(bytes + at, line->length - at, &code_point);
        used = used ? used : 1;
        size_t width = utf8_width(bytes + at, used);
        if (column >= from && column + width <= from + SHOWN_WIDTH)
            text_add(out, bytes + at, used);
        column += width;
        at += used;
    }
    while (out->length && out->bytes[out->length - 1] == ' ')
        out->bytes[--out->length] = '\0';
    text_add_char(out, '\n');
}

static bool has_label_texts(const Diag *diag) {
    for (int i = 0; i < diag->label_count; i++)
        if (diag->labels[i].text[0])
            return true;
    return false;
}

/* One row of label words, each under its own mark; a word that would run into the next goes to a row of its
 * own. */
static void add_label_rows(Text *out, const Diag *diag, const ShownLine *shown, uint32_t line,
                           size_t window) {
    bool done[DIAG_LABELS] = {false};
    for (bool more = true; more;) {
        more = false;
        Text row = {0};
        for (int i = 0; i < diag->label_count; i++) {
            const DiagLabel *label = &diag->labels[i];
            if (done[i] || !label->text[0] || source_locate(diag->source, label->span.start).line != line)
                continue;
            size_t column = column_of(shown, label->span.start);
            if (row.length && utf8_width(row.bytes, row.length) + 1 > column) {
                more = true;
                continue;
            }
            size_t width = row.length ? utf8_width(row.bytes, row.length) : 0;
            text_add_padding(&row, width, column);
            text_add_string(&row, label->text);
            done[i] = true;
        }
        if (row.length) {
            add_gutter(out, line, false);
            add_window(out, &row, window);
        }
        text_free(&row);
    }
}

static void add_marks(Text *out, const Diag *diag, const ShownLine *shown, uint32_t line, size_t window) {
    Text row = {0};
    text_add_repeated(&row, ' ', 0);
    Span own = {.start = diag->span.start, .end = diag->span.end};
    int labels_here = 0;
    for (int i = 0; i < diag->label_count; i++) {
        Span span = diag->labels[i].span;
        if (source_locate(diag->source, span.start).line != line)
            continue;
        size_t from = column_of(shown, span.start), to = column_of(shown, span.end);
        mark(&row, from, to > from ? to : from + 1, '-');
        labels_here++;
    }
    if (source_locate(diag->source, own.start).line == line) {
        size_t from = column_of(shown, own.start), to = column_of(shown, own.end);
        mark(&row, from, to > from ? to : from + 1, labels_here ? '-' : '^');
    }
    add_gutter(out, line, false);
    add_window(out, &row, window);
    text_free(&row);
    if (has_label_texts(diag))
        add_label_rows(out, diag, shown, line, window);
}

static void add_source_line(Text *out, const Diag *diag, uint32_t line) {
    ShownLine shown = prepare_line(diag->source, line);
    size_t place = column_of(&shown, diag->span.start);
    size_t window = place > SHOWN_WIDTH - 20 ? place - SHOWN_WIDTH / 2 : 0;
    add_gutter(out, line, true);
    add_window(out, &shown.text, window);
    add_marks(out, diag, &shown, line, window);
    mem_free(shown.columns);
    text_free(&shown.text);
}

void diag_render(Text *out, const Diag *diag) {
    if (diag->source) {
        source_add_place(out, diag->source, diag->span.start);
        text_add_string(out, message_class(diag->id) == CLASS_NOTE ? ": note: " : ": ");
        text_add_string(out, diag->message);
        text_add_char(out, '\n');
        add_source_line(out, diag, source_locate(diag->source, diag->span.start).line);
    } else {
        text_add_string(out, "rundlet: ");
        text_add_string(out, diag->message);
        text_add_char(out, '\n');
    }
    if (diag->hint) {
        text_add_string(out, "   hint: ");
        text_add_string(out, diag->hint);
        text_add_char(out, '\n');
    }
    for (int i = 0; i < diag->trace_count; i++) {
        text_add_string(out, "   ");
        text_add_string(out, diag->trace[i]);
        text_add_char(out, '\n');
    }
}
