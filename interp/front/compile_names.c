/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A name that has no value: what it was most likely meant to be. */
#include <string.h>

#include "base/mem.h"
#include "front/compile_state.h"
#include "front/lex.h"
#include "quantities/unit.h"

static void near_global(Compiler *c, const char *name, const char **best, int *distance) {
    for (uint32_t i = 0; i < c->module->globals.capacity; i++)
        if (c->module->globals.entries[i].name)
            text_nearest(name, c->module->globals.entries[i].name, best, distance);
}

/* `50 mg/l`: a misspelt unit that touches the sign after another. Its text from the first letter on, in
 * `typed`. */
static const char *unit_behind(const Compiler *c, const char *name, Span span, Text *typed) {
    const char *text = c->source->text, *right = unit_instead(name);
    uint32_t start = span.start;
    if (!right)
        right = unit_other_case(name);
    if (!right || start < 2 || (text[start - 1] != '/' && text[start - 1] != '*'))
        return NULL;
    start--;
    while (start > 0 &&
           (text[start - 1] == '/' || text[start - 1] == '*' || text[start - 1] == '%' ||
            (text[start - 1] >= 'A' && text[start - 1] <= 'Z') ||
            (text[start - 1] >= 'a' && text[start - 1] <= 'z') || (unsigned char)text[start - 1] >= 0x80))
        start--;
    text_add(typed, text + start, span.start - start);
    return span.start - start > 1 ? right : NULL;
}

static bool report_unit_behind(Compiler *c, const char *name, Span span) {
    Text whole = {0};
    const char *right = unit_behind(c, name, span, &whole);
    UnitId unit;
    size_t first = strcspn(text_string(&whole), "/*");
    char *before = mem_copy(text_string(&whole), first);
    bool follows = right && module_find_unit(c->registry, c->module, NULL, before, &unit);
    if (follows) {
        text_add_string(&whole, right);
        compiler_error(c, MSG_UNIT_UNKNOWN_NEAR, span, ARGS(name, text_string(&whole)));
    }
    mem_free(before);
    text_free(&whole);
    return follows;
}

/* ---- the line to type ---- */

MessageArg compile_line_with(const Compiler *c, Span span, const char *instead) {
    Lexer lexer;
    Text line = {0};
    lexer_init(&lexer, c->source, c->errors);
    lex_line_with(&lexer, span.start, span, instead, &line);
    return arg_mending(arg_taken(ARG_TEXT, &line), MENDS_LINE);
}

MessageArg compile_line_surely(const Compiler *c, Span span, const char *instead) {
    return arg_mending(compile_line_with(c, span, instead), MENDS_LINE | SURELY);
}

/* Values as they are written elsewhere. */
static const char *const foreign_values[][2] = {
    {"null", "none"}, {"nil", "none"},  {"None", "none"},   {"NULL", "none"},   {"undefined", "none"},
    {"True", "true"}, {"TRUE", "true"}, {"False", "false"}, {"FALSE", "false"},
};

static bool report_foreign_value(Compiler *c, const char *name, Span span) {
    for (size_t i = 0; i < sizeof foreign_values / sizeof *foreign_values; i++) {
        if (strcmp(name, foreign_values[i][0]) != 0)
            continue;
        compiler_error(c, MSG_FOREIGN_WORD, span,
                       ARGS(name, compile_line_surely(c, span, foreign_values[i][1])));
        return true;
    }
    return false;
}

/* A word of the source, at `at` or after one space. */
static Span word_behind(const Compiler *c, uint32_t at) {
    const char *text = c->source->text;
    uint32_t start = at + (text[at] == ' '), end = start;
    while ((text[end] >= 'a' && text[end] <= 'z') || (text[end] >= 'A' && text[end] <= 'Z'))
        end++;
    return (Span){start, end};
}

static bool is_word(const Compiler *c, Span span, const char *word) {
    return span.end - span.start == strlen(word) &&
           strncmp(c->source->text + span.start, word, strlen(word)) == 0;
}

/* `half gallon`, `quarter of a gallon`, at the first word. */
static bool report_part(Compiler *c, const char *name, Span span) {
    const char *fraction = unit_part_in_digits(name);
    UnitId unit;
    Span word = word_behind(c, span.end);
    if (is_word(c, word, "of"))
        word = word_behind(c, word.end);
    if (is_word(c, word, "a") || is_word(c, word, "an"))
        word = word_behind(c, word.end);
    char *unit_name = mem_copy(c->source->text + word.start, word.end - word.start);
    bool found = fraction && module_find_unit(c->registry, c->module, NULL, unit_name, &unit);
    if (found) {
        const char *canonical = module_everyday_unit(c->registry, c->module, unit_name);
        Text digits = {0};
        text_add_string(&digits, fraction);
        text_add_char(&digits, ' ');
        text_add_string(&digits, canonical ? canonical : unit_name);
        Span whole = {span.start, word.end};
        compiler_error(c, MSG_PART_DIGITS, whole, ARGS(compile_line_surely(c, whole, text_string(&digits))));
        text_free(&digits);
    }
    mem_free(unit_name);
    return found;
}

/* The `a` of `quarter of a gallon`, told with `quarter`. */
static bool is_told(const Compiler *c, Span span) {
    const Diag *last = c->errors->count ? c->errors->items[c->errors->count - 1] : NULL;
    return last && last->id == MSG_PART_DIGITS && last->source == c->source &&
           last->span.start < span.start && last->span.end > span.end;
}

/* A formula that can be called without arguments. */
static bool takes_nothing(const Compiler *c, int number) {
    const Formula *formula = c->registry->formulas[number];
    for (int i = 0; i < formula->param_count; i++)
        if (!formula->params[i].optional)
            return false;
    return !formula->variadic;
}

static bool report_formula(Compiler *c, const char *name, Span span) {
    int number;
    if (!name_map_get(&c->module->formulas, name, &number))
        number = c->host->library_formula(c->host->context, name);
    if (number < 0)
        return false;
    Diag *diag = compiler_error(c, MSG_FORMULA_AS_VALUE, span, ARGS(name));
    if (!diag || !takes_nothing(c, number))
        return true;
    Text call = {0};
    text_add_string(&call, name);
    text_add_string(&call, "()");
    diag_hint(diag, HINT_WRITE, ARGS(compile_line_surely(c, span, text_string(&call))));
    text_free(&call);
    return true;
}

/* ---- all of them ---- */

static const char *find_nearest(Compiler *c, const char *name) {
    const char *best = NULL;
    int distance = 99;
    for (int i = 0; i < c->local_count; i++)
        text_nearest(name, c->locals[i].name, &best, &distance);
    near_global(c, name, &best, &distance);
    return best;
}

void compile_unknown_value(Compiler *c, const char *name, Span span) {
    int alias;
    UnitId unit;
    if (is_told(c, span) || report_unit_behind(c, name, span) || report_foreign_value(c, name, span) ||
        report_part(c, name, span))
        return;
    const char *best = find_nearest(c, name);
    if (module_find_unit(c->registry, c->module, NULL, name, &unit)) {
        compiler_error(c, MSG_UNIT_AS_VALUE, span, ARGS(name));
    } else if (name_map_get(&c->module->aliases, name, &alias)) {
        compiler_error(c, MSG_ALIAS_AS_VALUE, span, ARGS(name));
    } else if (best || !report_formula(c, name, span)) {
        Diag *diag = compiler_error(c, MSG_UNKNOWN_VALUE, span, ARGS(name));
        if (diag && best)
            diag_hint(diag, HINT_MEANT, ARGS(arg_meant(name, best)));
    }
}

bool compile_is_value(const Compiler *c, const char *name) {
    int slot;
    return compiler_find_local(c, name) || name_map_get(&c->module->globals, name, &slot);
}

/* ---- names without the quotes of a text ---- */

static void add_quoted(Text *out, const char *word) {
    text_add_char(out, '"');
    text_add_string(out, word);
    text_add_char(out, '"');
}

void compile_hint_quotes(Compiler *c, const Node *node, int errors_before) {
    Diag *diag = c->errors->count == errors_before + 1 ? c->errors->items[errors_before] : NULL;
    if (!diag || diag->id != MSG_UNKNOWN_VALUE || diag->hint_id != MSG_NONE ||
        diag->span.start != node->span.start)
        return;
    Text quoted = {0};
    add_quoted(&quoted, node->as.name.name);
    diag_hint(diag, HINT_WRITE, ARGS(compile_line_with(c, node->span, text_string(&quoted))));
    text_free(&quoted);
}

static bool is_unknown_name(const Compiler *c, const Node *node) {
    return node && node->type == NODE_NAME && !compile_is_value(c, node->as.name.name);
}

static void add_choice(const Compiler *c, Text *out, const Node *node) {
    if (is_unknown_name(c, node))
        add_quoted(out, node->as.name.name);
    else
        text_add(out, c->source->text + node->span.start, node->span.end - node->span.start);
}

bool compile_report_bare_choices(Compiler *c, const Statement *s) {
    const Node *list = s->as.input.from, *value = s->as.input.value, *first = NULL;
    if (!list || s->as.input.to || list->type != NODE_LIST)
        return false;
    for (int i = 0; i < list->as.list.count && !first; i++)
        first = is_unknown_name(c, list->as.list.items[i]) ? list->as.list.items[i] : NULL;
    first = first ? first : is_unknown_name(c, value) ? value : NULL;
    if (!first)
        return false;
    Text words = {0};
    text_add_char(&words, '[');
    for (int i = 0; i < list->as.list.count; i++) {
        text_add_string(&words, i ? ", " : "");
        add_choice(c, &words, list->as.list.items[i]);
    }
    text_add_char(&words, ']');
    if (value) {
        text_add_string(&words, " = ");
        add_choice(c, &words, value);
    }
    Diag *diag = compiler_error(c, MSG_UNKNOWN_VALUE, first->span, ARGS(first->as.name.name));
    Span whole = {list->span.start, (value ? value : list)->span.end};
    if (diag)
        diag_hint(diag, HINT_WRITE, ARGS(compile_line_surely(c, whole, text_string(&words))));
    text_free(&words);
    return true;
}

void compile_unknown_assigned(Compiler *c, const char *name, Span span) {
    int number;
    UnitId unit;
    if (name_map_get(&c->module->aliases, name, &number) ||
        name_map_get(&c->module->formulas, name, &number) ||
        module_find_unit(c->registry, c->module, NULL, name, &unit)) {
        compile_unknown_value(c, name, span);
        return;
    }
    const char *best = find_nearest(c, name);
    Text let = {0};
    text_add_string(&let, "let ");
    text_add_string(&let, name);
    MessageArg line = compile_line_surely(c, span, text_string(&let));
    text_free(&let);
    Diag *diag = compiler_error(c, MSG_UNKNOWN_VALUE, span, ARGS(name));
    if (diag && best)
        diag_hint(diag, HINT_ASSIGN_MEANT, ARGS(arg_meant(name, best), line));
    else if (diag)
        diag_hint(diag, HINT_WRITE, ARGS(line));
}
