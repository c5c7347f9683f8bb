/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What Tab offers, by what is before the cursor: names and, where they fit, the labels of the formula
 * being called; after a dot the fields of the value there; after `as` the units of its kind; after `help`
 * bare names.
 *
 * The entry is read by a scanner of its own, since it is unfinished nearly always. It knows brackets, texts
 * (with the expressions in their braces), comments, and where an operand begins. Nothing is evaluated. */
#include <string.h>

#include "base/mem.h"
#include "facade/reference.h"
#include "programs/prompt_state.h"

/* ---- the entry up to the cursor ---- */

enum { LEVELS_MAX = 64 };

typedef struct Level {
    char open;      /* ( [ { of brackets, " or ' of a text; 0: the entry itself */
    size_t at;      /* of the bracket */
    size_t operand; /* where the operand at the end of the text begins */
    size_t item;    /* after the bracket or the last comma */
} Level;

typedef struct Scan {
    const char *text;
    size_t length;
    Level levels[LEVELS_MAX];
    int depth;
    bool comment; /* the cursor is in one */
} Scan;

static bool is_name_byte(char c) {
    return c == '_' || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
           (c & 0x80);
}

static bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static Level *innermost(Scan *scan) {
    return &scan->levels[scan->depth];
}

static void open_level(Scan *scan, size_t at) {
    if (scan->depth + 1 < LEVELS_MAX)
        scan->levels[++scan->depth] =
            (Level){.open = scan->text[at], .at = at, .operand = at + 1, .item = at + 1};
}

static void close_level(Scan *scan) {
    if (scan->depth > 0)
        scan->depth--;
}

/* A byte inside a text; how many were taken. */
static size_t scan_text(Scan *scan, size_t at) {
    char c = scan->text[at], quote = innermost(scan)->open;
    if (c == quote || c == '\n')
        close_level(scan);
    else if (quote == '"' && c == '{')
        open_level(scan, at);
    else if (quote == '"' && c == '\\' && at + 1 < scan->length)
        return 2;
    return 1;
}

static size_t scan_word(Scan *scan, size_t at) {
    size_t end = at;
    while (end < scan->length && is_name_byte(scan->text[end]))
        end++;
    const Word *word = word_find(scan->text + at, end - at);
    if (word && !(word->traits & TRAIT_INSIDE))
        innermost(scan)->operand = end;
    return end - at;
}

static size_t scan_comment(Scan *scan, size_t at) {
    size_t length = strcspn(scan->text + at, "\n");
    scan->comment = at + length >= scan->length;
    return length;
}

static size_t scan_code(Scan *scan, size_t at) {
    char c = scan->text[at];
    if (c == '#')
        return scan_comment(scan, at);
    if (is_name_byte(c))
        return scan_word(scan, at);
    if (strchr("([{\"'", c)) {
        open_level(scan, at);
    } else if (strchr(")]}", c)) {
        close_level(scan);
    } else if (strchr(",;\n=<>:", c)) {
        innermost(scan)->operand = at + 1;
        if (c != ':')
            innermost(scan)->item = at + 1;
    }
    return 1;
}

static void scan_entry(Scan *scan, const char *text, size_t length) {
    *scan = (Scan){.text = text, .length = length};
    for (size_t at = 0; at < length;) {
        char open = innermost(scan)->open;
        at += open == '"' || open == '\'' ? scan_text(scan, at) : scan_code(scan, at);
    }
}

/* ---- what is found ---- */

typedef struct Search {
    Prompt *prompt;
    Scan *scan;
    size_t word;   /* the bytes before the cursor that the caller replaces */
    size_t prefix; /* those that what is found must begin with */
    Completions *found;
    UnitId unit;   /* units of its kind only */
    bool any_unit; /* of all kinds */
    bool bare;     /* formulas without a bracket */
    bool formulas; /* nothing but formulas */
    bool argument; /* at the start of one, where no unit and few words can be */
    char *usage;   /* of the formula called */
    const char *called;
} Search;

static bool is_found(const Completions *found, const char *name) {
    for (int i = 0; i < found->count; i++)
        if (strcmp(found->names[i], name) == 0)
            return true;
    return false;
}

/* What is replaced may begin before or after what the name has to begin with (`g/` in g/L, `×` in 2×must). */
static void offer(Search *search, const char *name) {
    const char *end = search->scan->text + search->scan->length;
    Text whole = {0};
    if (strncmp(name, end - search->prefix, search->prefix) != 0)
        return;
    if (search->word > search->prefix)
        text_add(&whole, end - search->word, search->word - search->prefix);
    text_add_string(&whole, search->word < search->prefix ? name + (search->prefix - search->word) : name);
    if (!is_found(search->found, text_string(&whole))) {
        MEM_GROW(search->found->names, search->found->count, search->found->capacity);
        search->found->names[search->found->count++] = mem_copy_string(text_string(&whole));
    }
    text_free(&whole);
}

static void offer_with(Search *search, const char *name, const char *after) {
    Text whole = {0};
    text_add_string(&whole, name);
    text_add_string(&whole, after);
    offer(search, text_string(&whole));
    text_free(&whole);
}

static bool is_formula(const NameInfo *info) {
    return info->kind == NAME_FORMULA || info->kind == NAME_LIBRARY || info->kind == NAME_NATIVE;
}

/* What cannot begin an expression: units, and most words. */
static bool goes_on_only(const NameInfo *info) {
    const Word *word = info->kind == NAME_KEYWORD ? word_find(info->name, strlen(info->name)) : NULL;
    return info->kind == NAME_UNIT || (word && !(word->traits & TRAIT_VALUE));
}

static void visit_name(void *context, const NameInfo *info) {
    Search *search = context;
    if (is_formula(info) && !search->bare)
        offer_with(search, info->name, "(");
    else if (is_formula(info) || !(search->formulas || (search->argument && goes_on_only(info))))
        offer(search, info->name);
}

static void visit_unit(void *context, const NameInfo *info) {
    Search *search = context;
    const UnitTable *units = session_units(search->prompt->session);
    if (info->kind == NAME_UNIT && (search->any_unit || unit_same_kind(units, info->unit, search->unit)))
        offer(search, info->name);
}

static void visit_field(void *context, const char *name) {
    offer(context, name);
}

/* ---- fields ---- */

/* The name at the end of so much of the text, with the dots in it. */
static size_t path_start(const char *text, size_t end) {
    while (end > 0 && (is_name_byte(text[end - 1]) || text[end - 1] == '.'))
        end--;
    return end;
}

static void offer_liquid_fields(Search *search) {
    const char *field;
    for (int i = 0; (field = liquid_value_field_name(i)); i++)
        offer(search, field);
}

/* `must.gra`; after `ferment(must).` and names that are not known yet, as in a formula, it may be a liquid.
 */
static bool complete_field(Search *search) {
    const char *text = search->scan->text;
    size_t length = search->scan->length, start = path_start(text, length), dot = length;
    while (dot > start && text[dot - 1] != '.')
        dot--;
    if (dot == start)
        return false;
    char first = text[start];
    bool number = first >= '0' && first <= '9';
    bool result = first == '.' && start > 0 && strchr(")]", text[start - 1]);
    char *object = mem_copy(text + start, dot - 1 - start);
    search->prefix = length - dot;
    Kind kind = KIND_NONE;
    if (!number && first != '.')
        kind = session_each_field(search->prompt->session, object, visit_field, search);
    if (!number && kind == KIND_NONE && !search->found->count && (result || first != '.'))
        offer_liquid_fields(search);
    mem_free(object);
    return true;
}

/* ---- units ---- */

/* Is the word before `end` that one? Sets where it begins. */
static bool follows_word(const char *text, size_t end, const char *word, size_t *start) {
    size_t length = strlen(word);
    while (end > 0 && is_blank(text[end - 1]))
        end--;
    if (end < length || strncmp(text + end - length, word, length) != 0)
        return false;
    *start = end - length;
    return *start == 0 || !is_name_byte(text[*start - 1]);
}

static bool complete_unit(Search *search) {
    Scan *scan = search->scan;
    size_t start = scan->length, as;
    while (start > 0 && !is_blank(scan->text[start - 1]))
        start--;
    if (start == 0 || !follows_word(scan->text, start, "as", &as))
        return false;
    size_t operand = innermost(scan)->operand, end = as;
    while (operand < end && is_blank(scan->text[operand]))
        operand++;
    while (end > operand && is_blank(scan->text[end - 1]))
        end--;
    char *value = end > operand ? mem_copy(scan->text + operand, end - operand) : mem_copy_string("");
    search->any_unit = !session_unit_of(search->prompt->session, value, &search->unit);
    mem_free(value);
    search->prefix = scan->length - start;
    session_each_name(search->prompt->session, visit_unit, search);
    return true;
}

/* ---- labels ---- */

static void find_usage(void *context, const NameInfo *info) {
    Search *search = context;
    if (!search->usage && is_formula(info) && strcmp(info->name, search->called) == 0)
        search->usage = mem_copy_string(info->usage);
}

/* Does the call have that label already? */
static bool is_given(const Scan *scan, size_t call, const char *label) {
    size_t length = strlen(label);
    int depth = 0;
    for (size_t at = call + 1; at + length < scan->length; at++) {
        const char *here = scan->text + at;
        depth += strchr("([{", *here) ? 1 : strchr(")]}", *here) ? -1 : 0;
        if (depth == 0 && !is_name_byte(here[-1]) && strncmp(here, label, length) == 0 &&
            here[length + strspn(here + length, " ")] == ':')
            return true;
    }
    return false;
}

/* The labels in `juice(gravity, volume?, acid: 0 g/L)`; what takes any number of values has none. */
static void offer_labels(Search *search, const char *usage, size_t call) {
    const char *at = strchr(usage, '(');
    int depth = 0;
    bool begins = false;
    for (; at && *at; at++) {
        size_t length = 0;
        depth += strchr("([{", *at) ? 1 : strchr(")]}", *at) ? -1 : 0;
        if (depth == 1 && (*at == '(' || *at == ',')) {
            begins = true;
            continue;
        }
        while (is_name_byte(at[length]))
            length++;
        if (!begins || !length)
            continue;
        begins = false;
        char *label = mem_copy(at, length);
        if (strncmp(at + length, "...", 3) != 0 && !is_given(search->scan, call, label))
            offer_with(search, label, ": ");
        mem_free(label);
        at += length - 1;
    }
}

/* What `with {` can set: of a record its fields, else those of a liquid. */
static void offer_changes(Search *search, size_t with) {
    static const char *const settable[] = {"acid",   "nitrogen", "sulphite", "bitterness",
                                           "colour", "sugar",    "cost"};
    const char *text = search->scan->text;
    size_t end = with;
    while (end > 0 && is_blank(text[end - 1]))
        end--;
    size_t start = path_start(text, end), prefix = search->prefix;
    char *object = mem_copy(text + start, end - start);
    Completions fields = {0}, *found = search->found;
    search->found = &fields;
    search->prefix = search->word = 0;
    Kind kind =
        *object ? session_each_field(search->prompt->session, object, visit_field, search) : KIND_NONE;
    search->found = found;
    search->prefix = search->word = prefix;
    for (int i = 0; kind == KIND_RECORD && i < fields.count; i++)
        offer_with(search, fields.names[i], ": ");
    for (size_t i = 0; kind != KIND_RECORD && i < sizeof settable / sizeof *settable; i++)
        offer_with(search, settable[i], ": ");
    prompt_free_completions(&fields);
    mem_free(object);
}

/* At the start of an argument; true when only a label can be meant, since nothing is typed of it. */
static bool complete_label(Search *search, size_t start) {
    Scan *scan = search->scan;
    const Level *level = innermost(scan);
    size_t name = level->at, with;
    for (size_t at = level->item; at < start; at++)
        if (!is_blank(scan->text[at]))
            return false;
    if (level->open == '{' && follows_word(scan->text, level->at, "with", &with)) {
        offer_changes(search, with);
        return true;
    }
    while (name > 0 && is_name_byte(scan->text[name - 1]))
        name--;
    if (level->open != '(' || name == level->at)
        return false;
    char *called = mem_copy(scan->text + name, level->at - name);
    search->called = called;
    search->argument = true;
    session_each_name(search->prompt->session, find_usage, search);
    if (search->usage)
        offer_labels(search, search->usage, level->at);
    mem_free(search->usage);
    mem_free(called);
    return search->prefix == 0 && search->found->count > 0;
}

/* ---- commands ---- */

static void offer_kinds(Search *search) {
    for (int kind = KIND_NUMBER; kind < KIND_OTHER; kind++)
        if (kind != KIND_DATE)
            offer(search, kind_word((Kind)kind));
}

static void offer_commands(Search *search) {
    const char *name;
    for (int i = 0; (name = prompt_command_name(i)); i++)
        offer(search, name);
}

static void offer_help(Search *search) {
    const Word *word;
    offer_commands(search);
    for (int i = 0; (word = word_at(i)); i++)
        offer(search, word->text);
}

static void visit_value(void *context, const NameInfo *info) {
    if (info->kind == NAME_VALUE && strcmp(info->name, "it") != 0)
        offer_with(context, info->name, " = ");
}

/* `help mol`: the name alone is wanted, and no call. `set ba`: a value. */
static bool complete_command(Search *search) {
    const Scan *scan = search->scan;
    size_t start = 0, end, word = scan->length;
    while (start < scan->length && is_blank(scan->text[start]))
        start++;
    for (end = start; end < scan->length && is_name_byte(scan->text[end]);)
        end++;
    while (word > end && !is_blank(scan->text[word - 1]))
        word--;
    if (word <= end || word - end != strspn(scan->text + end, " "))
        return false;
    char *command = mem_copy(scan->text + start, end - start);
    bool names = prompt_command_takes_name(command), kinds = strcmp(command, "units") == 0,
         values = strcmp(command, "set") == 0;
    search->prefix = scan->length - word;
    search->bare = true;
    search->formulas = strcmp(command, "source") == 0;
    if (names && !search->formulas)
        offer_help(search);
    if (names)
        session_each_name(search->prompt->session, visit_name, search);
    if (kinds)
        offer_kinds(search);
    if (values)
        session_each_name(search->prompt->session, visit_value, search);
    search->bare = search->formulas = false;
    mem_free(command);
    return names || kinds || values;
}

/* ---- all of it ---- */

void prompt_free_completions(Completions *found) {
    for (int i = 0; i < found->count; i++)
        mem_free(found->names[i]);
    mem_free(found->names);
    *found = (Completions){0};
}

static void complete_name(Search *search) {
    Scan *scan = search->scan;
    size_t start = path_start(scan->text, scan->length), at = 0;
    search->prefix = scan->length - start;
    if (innermost(scan)->open && complete_label(search, start))
        return;
    while (at < start && is_blank(scan->text[at]))
        at++;
    if (at == start)
        offer_commands(search);
    session_each_name(search->prompt->session, visit_name, search);
}

void prompt_complete(Prompt *prompt, const char *entry, size_t word, Completions *found) {
    Scan scan;
    scan_entry(&scan, entry, strlen(entry));
    Search search = {.prompt = prompt, .scan = &scan, .word = word, .found = found};
    char open = innermost(&scan)->open;
    if (scan.comment || open == '"' || open == '\'')
        return;
    if (complete_command(&search) || complete_unit(&search) || complete_field(&search))
        return;
    complete_name(&search);
}
