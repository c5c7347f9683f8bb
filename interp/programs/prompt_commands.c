/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The prompt's own words, one row of a table each. A value of such a name wins over the command. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "programs/prompt_journal.h"

typedef enum Argument {
    ARGUMENT_NONE,
    ARGUMENT_MAY,
    ARGUMENT_MUST,
    ARGUMENT_FILE,
    ARGUMENT_QUESTION /* any expression, or nothing */
} Argument;

typedef struct CommandRow {
    const char *name;
    Argument argument;
    const char *form; /* what follows the name, for help */
    const char *example;
    void (*run)(Prompt *prompt, const char *argument); /* "" where none was given */
    const char *help;
} CommandRow;

static void run_source(Prompt *prompt, const char *name);
static void run_names(Prompt *prompt, const char *argument);
static void run_units(Prompt *prompt, const char *kind);
static void run_load(Prompt *prompt, const char *rest);
static void run_undo(Prompt *prompt, const char *argument);
static void run_forget(Prompt *prompt, const char *argument);
static void run_quit(Prompt *prompt, const char *argument);

static const CommandRow commands[] = {
    {"help", ARGUMENT_MAY, "NAME", "help abv", prompt_help,
     "this list, or what a formula, unit or word does"},
    {"source", ARGUMENT_MUST, "NAME", "source titratable", run_source,
     "the text, units and constants of a formula"},
    {"names", ARGUMENT_NONE, NULL, NULL, run_names, "your own values, formulas and units"},
    {"set", ARGUMENT_MUST, "NAME = VALUE", "set batch = 3 gal", prompt_set,
     "change a value, and everything worked out from it"},
    {"why", ARGUMENT_QUESTION, "VALUE", "why strength", prompt_why,
     "how the last result, or that value, was worked out"},
    {"undo", ARGUMENT_NONE, NULL, NULL, run_undo,
     "take back the last line, even one that only showed a value"},
    {"units", ARGUMENT_MAY, "KIND", "units volume", run_units, "the units of a kind, or of all"},
    {"load", ARGUMENT_FILE, "\"FILE\"", "load \"quince.rlet\"", run_load,
     "run a script here; add batch=\"3 gal\" to set an input"},
    {"save", ARGUMENT_FILE, "\"FILE\"", "save \"quince.rlet\"", prompt_save,
     "write the lines that worked as a script"},
    {"forget", ARGUMENT_MAY, "NAME", "forget batch", run_forget,
     "start again from nothing, or take out that name"},
    {"quit", ARGUMENT_NONE, NULL, NULL, run_quit, "leave, as do exit and Ctrl-D"},
    {"exit", ARGUMENT_NONE, NULL, NULL, run_quit, NULL},
};
enum { COMMAND_COUNT = sizeof commands / sizeof commands[0] };

/* ---- output ---- */

static void complain(Prompt *prompt, MessageId id, MessageArg *args) {
    prompt_complain(prompt, id, args);
}

/* ---- for help ---- */

static void add_command(const Prompt *prompt, Text *out, const CommandRow *row) {
    enum { HELP_COLUMN = 20, WIDE = 1000 };
    size_t width = console_width(prompt->console);
    Text title = {0};
    text_add_string(&title, row->name);
    if (row->form) {
        text_add_char(&title, ' ');
        text_add_string(&title, row->form);
    }
    prompt_add_row(out, text_string(&title), HELP_COLUMN, row->help, width ? width : WIDE);
    text_free(&title);
}

static const CommandRow *find_command(const char *name, size_t length) {
    for (int i = 0; i < COMMAND_COUNT; i++)
        if (strlen(commands[i].name) == length && memcmp(commands[i].name, name, length) == 0)
            return &commands[i];
    return NULL;
}

void prompt_add_commands(const Prompt *prompt, Text *out) {
    for (int i = 0; i < COMMAND_COUNT; i++)
        if (commands[i].help)
            add_command(prompt, out, &commands[i]);
}

void prompt_add_command(const Prompt *prompt, Text *out, const char *name) {
    const CommandRow *row = find_command(name, strlen(name));
    if (row)
        add_command(prompt, out, row->help ? row : find_command("quit", 4));
}

static void run_source(Prompt *prompt, const char *name) {
    char *source = session_formula_source(prompt->session, name);
    if (!source) {
        complain(prompt, MSG_SOURCE_UNKNOWN, ARGS(name));
        return;
    }
    Text out = {0};
    text_add_clean(&out, source, strlen(source), "\n\t", " ");
    if (out.length && out.bytes[out.length - 1] != '\n')
        text_add_char(&out, '\n');
    prompt_print(prompt, &out);
    text_free(&out);
    mem_free(source);
}

/* ---- names ---- */

typedef struct NameList {
    char **names;
    int count, capacity;
} NameList;

enum { OWN_VALUES, OWN_FORMULAS, OWN_UNITS, OWN_LISTS };
typedef struct OwnNames {
    NameList lists[OWN_LISTS];
    const UnitTable *units;
} OwnNames;

static void keep_name(NameList *list, const char *name) {
    MEM_GROW(list->names, list->count, list->capacity);
    list->names[list->count++] = mem_copy_string(name);
}

static int compare_names(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static bool is_own_unit(const UnitTable *units, const char *name) {
    for (UnitId id = 0; id < UNIT_BUILTIN_COUNT; id++)
        if (strcmp(unit_get(units, id)->name, name) == 0)
            return false;
    return true;
}

static void list_own_name(void *context, const NameInfo *info) {
    OwnNames *own = context;
    if (info->kind == NAME_VALUE)
        keep_name(&own->lists[OWN_VALUES], info->name);
    else if (info->kind == NAME_FORMULA)
        keep_name(&own->lists[OWN_FORMULAS], info->usage ? info->usage : info->name);
    else if (info->kind == NAME_UNIT && is_own_unit(own->units, info->name))
        keep_name(&own->lists[OWN_UNITS], info->name);
}

static void sort_names(NameList *list) {
    if (list->count)
        qsort(list->names, (size_t)list->count, sizeof *list->names, compare_names);
}

static void free_names(NameList *list) {
    for (int i = 0; i < list->count; i++)
        mem_free(list->names[i]);
    mem_free(list->names);
}

enum { NAMES_INDENT = 10 };

static void print_names(Prompt *prompt, const char *title, NameList *list) {
    WordList line = {0};
    sort_names(list);
    prompt_begin_words(&line, prompt, title, NAMES_INDENT);
    for (int i = 0; i < list->count; i++)
        prompt_add_word(&line, list->names[i]);
    text_add_char(&line.text, '\n');
    if (list->count)
        prompt_print(prompt, &line.text);
    text_free(&line.text);
    free_names(list);
}

/* A value on one line, cut where it is wider than the terminal. */
static void add_value_line(Text *out, const char *text, size_t width) {
    size_t used = utf8_width(text_string(out), out->length);
    Text line = {0};
    text_add_clean(&line, text, strlen(text), "", " ");
    const char *bytes = text_string(&line);
    size_t length = line.length;
    bool cut = false;
    while (length && used + utf8_width(bytes, length) + (cut ? 2 : 0) > width) {
        cut = true;
        do
            length--;
        while (length && ((unsigned char)bytes[length] & 0xC0) == 0x80);
    }
    text_add(out, bytes, length);
    text_add_string(out, cut ? " …" : "");
    text_add_char(out, '\n');
    text_free(&line);
}

static void print_values(Prompt *prompt, NameList *list) {
    size_t width = console_width(prompt->console);
    Text out = {0};
    sort_names(list);
    for (int i = 0; i < list->count; i++) {
        Text line = {0};
        char *text = journal_value_text(prompt, prompt->session, list->names[i]);
        text_add_string(&line, i ? "" : "values");
        text_add_padding(&line, line.length, NAMES_INDENT);
        text_add_string(&line, list->names[i]);
        text_add_string(&line, " = ");
        add_value_line(&line, text, width ? width : RENDER_WIDTH);
        text_add_string(&out, text_string(&line));
        text_free(&line);
        mem_free(text);
    }
    run_listen(&prompt->output, prompt->console, prompt->session, prompt->options, false);
    prompt_print(prompt, &out);
    text_free(&out);
    free_names(list);
}

static void run_names(Prompt *prompt, const char *argument) {
    OwnNames own = {.units = session_units(prompt->session)};
    (void)argument;
    session_each_name(prompt->session, list_own_name, &own);
    print_values(prompt, &own.lists[OWN_VALUES]);
    print_names(prompt, "formulas", &own.lists[OWN_FORMULAS]);
    print_names(prompt, "units", &own.lists[OWN_UNITS]);
}

/* ---- units ---- */

/* Units that a script declared and that are in force. */
typedef struct KindUnits {
    const UnitTable *units;
    Kind kind;
    WordList *list;
} KindUnits;

static void list_own_unit(void *context, const NameInfo *info) {
    const KindUnits *wanted = context;
    const UnitTable *units = wanted->units;
    if (info->kind == NAME_UNIT && is_own_unit(units, info->name)) {
        UnitId id = units->count;
        while (id-- > UNIT_BUILTIN_COUNT)
            if (strcmp(unit_get(units, id)->name, info->name) == 0)
                break;
        if (id >= UNIT_BUILTIN_COUNT && id < units->count && unit_get(units, id)->kind == wanted->kind)
            prompt_add_word(wanted->list, info->name);
    }
}

/* With what can be typed instead, on a keyboard without °, say: `°F (degF)`. */
static void add_unit_name(WordList *list, const char *name, const char *alias) {
    Text word = {0};
    text_add_string(&word, name);
    if (alias && (unsigned char)*name >= 0x80) {
        text_add_string(&word, " (");
        text_add_string(&word, alias);
        text_add_char(&word, ')');
    }
    prompt_add_word(list, text_string(&word));
    text_free(&word);
}

static void show_units_of(Prompt *prompt, Kind kind, bool asked) {
    WordList list = {0};
    KindUnits wanted = {.units = session_units(prompt->session), .kind = kind, .list = &list};
    prompt_begin_words(&list, prompt, kind_word(kind), 24);
    for (UnitId id = 0; id < UNIT_BUILTIN_COUNT; id++) {
        const Unit *unit = unit_get(wanted.units, id);
        if (unit->kind == kind && *unit->name && id != UNIT_DATE)
            add_unit_name(&list, unit->name, unit_alias(id));
    }
    session_each_name(prompt->session, list_own_unit, &wanted);
    if (!list.count && asked)
        prompt_add_word(&list, "none yet");
    text_add_char(&list.text, '\n');
    if (list.count)
        prompt_print(prompt, &list.text);
    text_free(&list.text);
}

static void run_units(Prompt *prompt, const char *name) {
    Kind wanted;
    if (!*name) {
        for (int kind = KIND_NUMBER; kind < KIND_OTHER; kind++)
            show_units_of(prompt, (Kind)kind, false);
        return;
    }
    if (kind_find(name, &wanted) && wanted < KIND_OTHER && wanted != KIND_DATE) {
        show_units_of(prompt, wanted, true);
        return;
    }
    Text kinds = {0};
    for (int kind = KIND_NUMBER; kind < KIND_OTHER; kind++) {
        if (kind == KIND_DATE)
            continue;
        text_add_string(&kinds, kinds.length ? ", " : "");
        text_add_string(&kinds, kind_word((Kind)kind));
    }
    complain(prompt, MSG_UNITS_UNKNOWN, ARGS(name, text_string(&kinds)));
    text_free(&kinds);
}

/* ---- files ---- */

/* Where the next NAME= of a line begins, or the end. */
static size_t next_setting(const char *text, size_t from) {
    bool quoted = false;
    for (size_t at = from; text[at]; at++) {
        quoted ^= text[at] == '"';
        if (quoted || (at > 0 && !strchr(" \t", text[at - 1])) || strchr("= \t", text[at]))
            continue;
        size_t name = strcspn(text + at, "= \t\"");
        name += name ? strspn(text + at + name, " \t") : 0; /* `batch = "3 gal"` too */
        if (name && text[at + name] == '=' && text[at + name + 1] != '=')
            return at;
    }
    return strlen(text);
}

static char *trimmed(const char *text, size_t length) {
    while (length && strchr(" \t\r\n", *text)) {
        text++;
        length--;
    }
    while (length && strchr(" \t\r\n", text[length - 1]))
        length--;
    return mem_copy(text, length);
}

/* Without spaces and a pair of quotes around it. */
static char *bare_part(const char *text, size_t length) {
    char *part = trimmed(text, length);
    size_t inside = strlen(part);
    if (inside < 2 || part[0] != '"' || part[inside - 1] != '"')
        return part;
    char *bare = mem_copy(part + 1, inside - 2);
    mem_free(part);
    return bare;
}

/* `"x.rlet" batch="3 gal"`: the name of the file, and the inputs into the entry. */
static void take_settings(Entry *entry, const char *rest, size_t at) {
    while (rest[at]) {
        size_t end = next_setting(rest, at + 1), equals = at + strcspn(rest + at, "=");
        char *name = trimmed(rest + at, equals - at);
        char *value = bare_part(rest + equals + 1, end - equals - 1);
        entry_set_input(entry, name, value);
        mem_free(name);
        mem_free(value);
        at = end;
    }
}

static void offer_line(Prompt *prompt, const char *line) {
    Text out = {0};
    prompt_offer(prompt, &out, line, "it");
    prompt_print(prompt, &out);
    text_free(&out);
}

/* `load perry` where there is a perry.rlet. */
static bool lacks_ending(Prompt *prompt, const char *name, const char *settings) {
    Text file = {0}, line = {0};
    text_add_string(&file, name);
    text_add_string(&file, ".rlet");
    bool lacks = access(name, F_OK) != 0 && access(text_string(&file), F_OK) == 0;
    if (lacks) {
        prompt_complain(prompt, MSG_LOAD_ABSENT, ARGS(name, text_string(&file)));
        text_add_string(&line, "load \"");
        text_add_string(&line, text_string(&file));
        text_add_string(&line, *settings ? "\" " : "\"");
        text_add_string(&line, settings);
        offer_line(prompt, text_string(&line));
    }
    text_free(&file);
    text_free(&line);
    return lacks;
}

static void run_load(Prompt *prompt, const char *rest) {
    size_t settings = next_setting(rest, 0);
    char *name = bare_part(rest, settings);
    if (lacks_ending(prompt, name, rest + settings)) {
        mem_free(name);
        return;
    }
    Text line = {0};
    console_watch(prompt->console, prompt->session);
    Source *source = session_read_file(prompt->session, name);
    if (source) {
        text_add_string(&line, "load ");
        text_add_string(&line, rest);
        Entry entry = entry_new(text_string(&line), source->text, source);
        take_settings(&entry, rest, settings);
        if (prompt_enter(prompt, entry) == SESSION_UNFINISHED)
            complain(prompt, MSG_LOAD_UNFINISHED, ARGS(name));
    } else {
        prompt_failed(prompt, SESSION_FAILED);
    }
    source_release(source);
    text_free(&line);
    mem_free(name);
}

/* ---- changes ---- */

static void run_undo(Prompt *prompt, const char *argument) {
    (void)argument;
    journal_undo(prompt);
}

static void run_forget(Prompt *prompt, const char *name) {
    if (*name) {
        journal_forget(prompt, name);
        return;
    }
    session_forget(prompt->session);
    journal_clear(prompt, "forget");
    told_clear(&prompt->told);
}

static void run_quit(Prompt *prompt, const char *argument) {
    (void)argument;
    prompt->leave = true;
}

/* ---- finding the command ---- */

static bool is_value(Prompt *prompt, const char *name) {
    KindInfo info;
    return session_kind_of(prompt->session, name, false, &info);
}

const char *prompt_command_name(int index) {
    return index >= 0 && index < COMMAND_COUNT ? commands[index].name : NULL;
}

bool prompt_is_command(const char *name) {
    return find_command(name, strlen(name)) != NULL;
}

bool prompt_command_takes_name(const char *name) {
    const CommandRow *row = find_command(name, strlen(name));
    return row && (row->run == prompt_help || row->run == run_source);
}

bool prompt_command_takes_file(const char *name) {
    const CommandRow *row = find_command(name, strlen(name));
    return row && row->argument == ARGUMENT_FILE;
}

/* What is typed elsewhere for a command of ours, alone on its line. */
static bool explain_other(Prompt *prompt, const char *entry) {
    static const char *const others[][2] = {{"?", "help"},     {"h", "help"},      {"bye", "quit"},
                                            {"q", "quit"},     {"logout", "quit"}, {"leave", "quit"},
                                            {"close", "quit"}, {"stop", "quit"},   {"clear", ""},
                                            {"cls", ""},       {"reset", "forget"}};
    char *word = trimmed(entry, strlen(entry));
    bool told = false;
    for (size_t i = 0; i < sizeof others / sizeof *others && !told; i++) {
        const char *ours = others[i][1];
        if (strcmp(others[i][0], word) != 0)
            continue;
        if (is_value(prompt, word))
            break;
        complain(prompt, *ours ? MSG_COMMAND_MEANT : MSG_COMMAND_CLEAR, ARGS(word, ours));
        if (*ours)
            offer_line(prompt, ours);
        told = true;
    }
    mem_free(word);
    return told;
}

/* A word that could continue as an expression is none of ours: `names = 3`, `load * 2`. */
static bool can_be_argument(const CommandRow *row, const char *rest) {
    const char *none = row->argument == ARGUMENT_FILE       ? "=*(+-"
                       : row->argument == ARGUMENT_QUESTION ? "=*/+^.,:;<>!)]"
                                                            : "=*/(+-^[].,:;<>!";
    return !strchr(none, *rest);
}

unsigned prompt_hidden_commands(Prompt *prompt) {
    unsigned hidden = 0;
    for (int i = 0; i < COMMAND_COUNT; i++)
        hidden |= (unsigned)is_value(prompt, commands[i].name) << i;
    return hidden;
}

void prompt_note_hidden(Prompt *prompt, unsigned before) {
    unsigned now = prompt_hidden_commands(prompt) & ~before;
    for (int i = 0; i < COMMAND_COUNT; i++) {
        Text out = {0};
        char *note = message_take(NOTE_COMMAND_HIDDEN, ARGS(commands[i].name));
        if (now >> i & 1)
            render_wrapped(&out, "note: ", note, console_columns(prompt->console));
        prompt_remark(prompt, &out);
        mem_free(note);
        text_free(&out);
    }
}

/* Does a value of its name win over the command? `forget undo` is no expression in any case. */
static bool is_hidden(Prompt *prompt, const CommandRow *row, const char *rest) {
    return is_value(prompt, row->name) && !(row->run == run_forget && is_value(prompt, rest));
}

bool prompt_command(Prompt *prompt, const char *entry) {
    const char *start = entry + strspn(entry, " \t\r\n");
    size_t length = strcspn(start, " \t\r\n\"");
    const CommandRow *row = find_command(start, length);
    if (!row)
        return explain_other(prompt, entry);
    const char *rest = start + length + strspn(start + length, " \t\r\n");
    if (is_hidden(prompt, row, rest) ||
        (*rest && (strchr(rest, '\n') != strrchr(rest, '\n') || !can_be_argument(row, rest))))
        return false;
    bool whole = row->run == run_load || row->run == prompt_set ||
                 row->run == prompt_why; /* they read it themselves */
    char *argument = whole ? trimmed(rest, strlen(rest)) : bare_part(rest, strlen(rest));
    if (*argument && row->argument == ARGUMENT_NONE)
        complain(prompt, MSG_COMMAND_WORD_NEEDLESS, ARGS(row->name));
    else if ((!*argument || strcmp(argument, "\"\"") == 0) &&
             (row->argument == ARGUMENT_MUST || row->argument == ARGUMENT_FILE))
        complain(prompt, MSG_COMMAND_WORD_MISSING, ARGS(row->name, row->form, row->example));
    else
        row->run(prompt, argument);
    mem_free(argument);
    return true;
}
