/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The prompt's own words, one row of a table each. A value of such a name wins over the command. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "front/parse.h"
#include "programs/prompt_state.h"

typedef enum Argument { ARGUMENT_NONE, ARGUMENT_MAY, ARGUMENT_MUST, ARGUMENT_FILE } Argument;

typedef struct CommandRow {
    const char *name;
    Argument argument;
    const char *form; /* what follows the name, for help */
    const char *example;
    void (*run)(Prompt *prompt, const char *argument); /* "" where none was given */
    const char *help;
} CommandRow;

static void run_help(Prompt *prompt, const char *name);
static void run_source(Prompt *prompt, const char *name);
static void run_names(Prompt *prompt, const char *argument);
static void run_units(Prompt *prompt, const char *kind);
static void run_load(Prompt *prompt, const char *name);
static void run_save(Prompt *prompt, const char *name);
static void run_forget(Prompt *prompt, const char *argument);
static void run_quit(Prompt *prompt, const char *argument);

static const CommandRow commands[] = {
    {"help", ARGUMENT_MAY, "NAME", "help abv", run_help,
     "this list; what a formula, unit or word of the language is"},
    {"source", ARGUMENT_MUST, "NAME", "source abv", run_source, "a formula as it is written"},
    {"names", ARGUMENT_NONE, NULL, NULL, run_names, "your own values, formulas and units"},
    {"units", ARGUMENT_MAY, "KIND", "units volume", run_units, "the units of a kind, or of all"},
    {"load", ARGUMENT_FILE, "\"FILE\"", "load \"quince.rlet\"", run_load,
     "run a script here: what it declares stays"},
    {"save", ARGUMENT_FILE, "\"FILE\"", "save \"quince.rlet\"", run_save,
     "write the lines that worked as a script"},
    {"forget", ARGUMENT_NONE, NULL, NULL, run_forget, "begin anew"},
    {"quit", ARGUMENT_NONE, NULL, NULL, run_quit, "leave, as do exit and Ctrl-D"},
    {"exit", ARGUMENT_NONE, NULL, NULL, run_quit, NULL},
};
enum { COMMAND_COUNT = sizeof commands / sizeof commands[0] };

/* ---- forms of the language, for `help WORD` ---- */

typedef struct WordRow {
    const char *word;
    const char *form;
} WordRow;

static const WordRow words[] = {
    {"let", "let batch = 5 gal"},
    {"input", "input batch = 5 gal          a value that rundlet FILE batch=… may set\ninput dose from 0 g "
              "to 9 g = 4 g"},
    {"show", "show batch, batch as L\nshow \"Syrup\": dose as can to 1 places"},
    {"print", "print \"Add {dose} to {batch}\""},
    {"heading", "heading \"The second batch\""},
    {"note", "note \"taste it first\""},
    {"caution", "caution \"leave room for the foam\""},
    {"event", "event 2027-02-14, \"rack\""},
    {"formula",
     "formula half(x) = x / 2\nformula dose(v is volume, rate: 1 g/L) is mass\n  give v * rate\nend"},
    {"give", "give v * rate                what a formula of several lines results in"},
    {"if",
     "if gravity > 1.100 SG then print \"strong\" else print \"mild\" end\nlet x = if a > b then a else b"},
    {"for", "for x in [1, 2, 3] do show x end\nfor d from 0 mL to 40 mL by 5 mL do show d end"},
    {"while", "while x < 10 do x = x + 1 end"},
    {"stop", "stop                         leaves the innermost loop"},
    {"skip", "skip                         goes to the next turn of a loop"},
    {"find", "find dose from 0 g to 100 g so sweetness(dose) == 12 g/L\nfind n from 0 to 8 whole so n * 750 "
             "mL >= batch\n"
             "find a from 0 L to 30 L, b from 0 L to 40 L so a + b == total least cost"},
    {"table", "table d from 0 mL to 40 mL by 5 mL\n  column \"share\" = d / 1 L as % to 1 places\nend"},
    {"expect", "expect x near 10 %ABV within 0.1 %ABV\nexpect error 1 / 0"},
    {"unit", "unit can = 12 floz\nunit bottle\nunit crown is money"},
    {"use", "use \"club.rlet\"\nuse \"club.rlet\" as club       then club.dose(…)"},
    {"as", "5 gal as L"},
    {"of", "5% of batch\n2 gal of juice(gravity: 1.050 SG)"},
    {"with", "must with {acid: 6.5 g/L}"},
    {"near", "a near b within 1 pts"},
    {"mod", "40 floz mod 12 floz"},
};

/* ---- output ---- */

static void complain(Prompt *prompt, MessageId id, const char *const *args) {
    console_complain(prompt->console, id, args);
}

static void complain_unknown(Prompt *prompt, const char *name, const char *nearest) {
    Diag *diag = diag_new(MSG_HELP_UNKNOWN, NULL, (Span){0, 0}, ARGS(name));
    if (nearest)
        diag_hint_with(diag, "did you mean %1", ARGS(nearest));
    console_show_error(prompt->console, diag);
    diag_free(diag);
}

/* Words after a title, wrapped and indented. */
typedef struct WordList {
    Text text;
    size_t indent;
    size_t column;
    int count;
} WordList;

static void begin_words(WordList *list, const char *title, size_t indent) {
    text_add_string(&list->text, title);
    list->indent = indent;
    list->column = utf8_width(title, strlen(title));
    list->count = 0;
    if (list->column < indent) {
        text_add_repeated(&list->text, ' ', indent - list->column);
        list->column = indent;
    }
}

static void add_word(WordList *list, const char *word) {
    size_t width = utf8_width(word, strlen(word));
    if (list->count && list->column + 2 + width > RENDER_WIDTH) {
        text_add_char(&list->text, '\n');
        text_add_repeated(&list->text, ' ', list->indent);
        list->column = list->indent;
    } else if (list->count) {
        text_add_string(&list->text, "  ");
        list->column += 2;
    }
    text_add_string(&list->text, word);
    list->column += width;
    list->count++;
}

/* A text of several lines, each indented. */
static void add_indented(Text *out, const char *text) {
    while (*text) {
        size_t length = strcspn(text, "\n");
        if (length)
            text_add_string(out, "  ");
        text_add(out, text, length);
        text_add_char(out, '\n');
        text += length + (text[length] == '\n');
    }
}

/* ---- names ---- */

typedef struct NameSearch {
    const char *wanted;
    bool (*take)(NameKind kind);
    bool found;
    NameKind kind;
    char *usage;
    char *doc;
    char *nearest; /* a copy: names live no longer than the call */
    int distance;
} NameSearch;

static void look_at_name(void *context, const NameInfo *info) {
    NameSearch *search = context;
    bool same = strcmp(info->name, search->wanted) == 0;
    const char *best = NULL;
    if (same && !search->found) {
        search->found = true;
        search->kind = info->kind;
        search->usage = mem_copy_string(info->usage);
        search->doc = mem_copy_string(info->doc);
        return;
    }
    text_nearest(search->wanted, info->name, &best, &search->distance);
    if (best) {
        mem_free(search->nearest);
        search->nearest = mem_copy_string(best);
    }
}

static NameSearch find_name(Prompt *prompt, const char *name) {
    NameSearch search = {.wanted = name, .distance = 99};
    session_each_name(prompt->session, look_at_name, &search);
    return search;
}

static void search_free(NameSearch *search) {
    mem_free(search->usage);
    mem_free(search->doc);
    mem_free(search->nearest);
}

typedef struct ValueSearch {
    const char *wanted;
    bool found;
} ValueSearch;

static void look_for_value(void *context, const NameInfo *info) {
    ValueSearch *search = context;
    search->found |= info->kind == NAME_VALUE && strcmp(info->name, search->wanted) == 0;
}

/* ---- help ---- */

static void add_command(Text *out, const CommandRow *row) {
    enum { HELP_COLUMN = 16 };
    size_t start = out->length;
    text_add_string(out, "  ");
    text_add_string(out, row->name);
    if (row->form) {
        text_add_char(out, ' ');
        text_add_string(out, row->form);
    }
    size_t width = out->length - start;
    text_add_repeated(out, ' ', width < HELP_COLUMN ? HELP_COLUMN - width : 1);
    text_add_string(out, row->help);
    text_add_char(out, '\n');
}

static void list_library_name(void *context, const NameInfo *info) {
    if (info->kind == NAME_LIBRARY || info->kind == NAME_NATIVE)
        add_word(context, info->name);
}

static void show_overview(Prompt *prompt) {
    WordList list = {0};
    text_add_string(&list.text,
                    "An expression shows its value, and `it` is that value afterwards: 5 gal as L\n"
                    "Names are given by let: let batch = 5 gal\n\n");
    for (int i = 0; i < COMMAND_COUNT; i++)
        if (commands[i].help)
            add_command(&list.text, &commands[i]);
    text_add_string(&list.text, "\nStatements and words, help WORD shows each:\n");
    begin_words(&list, "", 2);
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        add_word(&list, words[i].word);
    text_add_string(&list.text, "\n\nFormulas, help NAME says what each does:\n");
    begin_words(&list, "", 2);
    session_each_name(prompt->session, list_library_name, &list);
    text_add_char(&list.text, '\n');
    prompt_print(prompt, &list.text);
    text_free(&list.text);
}

static const WordRow *find_word(const char *word) {
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcmp(words[i].word, word) == 0)
            return &words[i];
    return NULL;
}

static const CommandRow *find_command(const char *name, size_t length) {
    for (int i = 0; i < COMMAND_COUNT; i++)
        if (strlen(commands[i].name) == length && memcmp(commands[i].name, name, length) == 0)
            return &commands[i];
    return NULL;
}

/* The unit that a kind's others are told in: the first of its kind in the table. */
static UnitId first_of_kind(const UnitTable *units, UnitId of) {
    for (UnitId id = 0; id < units->count; id++)
        if (unit_same_kind(units, id, of) && unit_get(units, id)->scale != SCALE_PERCENT)
            return id;
    return of;
}

static bool find_unit(Prompt *prompt, const char *name, UnitId *id) {
    const UnitTable *units = session_units(prompt->session);
    for (UnitId at = units->count; at-- > 0;) /* the last declared of that name */
        if (strcmp(unit_get(units, at)->name, name) == 0) {
            *id = at;
            return true;
        }
    return unit_find(units, name, false, id);
}

static void add_unit_help(Text *out, const UnitTable *units, UnitId id, const char *name) {
    static const FormatSpec format = {.mode = FORMAT_DEFAULT, .count = 0};
    const Unit *unit = unit_get(units, id);
    UnitId base = first_of_kind(units, id);
    double number;
    Fault fault = {0};
    text_add_string(out, name);
    text_add_string(out, unit->reading ? ": a reading of " : ": a unit of ");
    text_add_string(out, unit_kind_text(units, id));
    if (base != id && unit->scale == SCALE_LINEAR && unit_convert(units, 1, id, base, &number, &fault)) {
        text_add_string(out, "; 1 ");
        text_add_string(out, unit->name);
        text_add_string(out, " is ");
        display_quantity(out, units, number, base, format);
    }
    text_add_char(out, '\n');
    fault_clear(&fault);
}

static void add_name_help(Text *out, const NameSearch *search, const char *name) {
    text_add_string(out, search->usage ? search->usage : name);
    if (search->kind == NAME_VALUE)
        text_add_string(out, ": a value of yours");
    text_add_char(out, '\n');
    if (search->doc)
        add_indented(out, search->doc);
}

/* A word may be several things at once: `note` a statement, a value, a formula. All are told. */
static void run_help(Prompt *prompt, const char *name) {
    if (!*name) {
        show_overview(prompt);
        return;
    }
    Text out = {0};
    UnitId id;
    NameSearch search = find_name(prompt, name);
    const CommandRow *command = find_command(name, strlen(name));
    const WordRow *word = find_word(name);
    bool named = search.found && search.kind != NAME_UNIT && search.kind != NAME_KEYWORD;
    if (named)
        add_name_help(&out, &search, name);
    if (find_unit(prompt, name, &id))
        add_unit_help(&out, session_units(prompt->session), id, name);
    if (word)
        add_indented(&out, word->form);
    if (command)
        add_command(&out, command->help ? command : find_command("quit", 4));
    if (!out.length && parse_is_keyword(name)) {
        text_add_string(&out, name);
        text_add_string(&out, ": a word of the language\n");
    }
    if (!out.length)
        complain_unknown(prompt, name, search.nearest);
    prompt_print(prompt, &out);
    text_free(&out);
    search_free(&search);
}

static void run_source(Prompt *prompt, const char *name) {
    char *source = session_formula_source(prompt->session, name);
    if (!source) {
        NameSearch search = find_name(prompt, name);
        bool built_in = search.found && search.kind == NAME_NATIVE;
        complain(prompt, built_in ? MSG_SOURCE_BUILT_IN : MSG_SOURCE_UNKNOWN, ARGS(name));
        search_free(&search);
        return;
    }
    Text out = {0};
    text_add_string(&out, source);
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

static void print_names(Prompt *prompt, const char *title, NameList *list) {
    WordList line = {0};
    if (list->count)
        qsort(list->names, (size_t)list->count, sizeof *list->names, compare_names);
    begin_words(&line, title, 10);
    for (int i = 0; i < list->count; i++) {
        add_word(&line, list->names[i]);
        mem_free(list->names[i]);
    }
    text_add_char(&line.text, '\n');
    if (list->count)
        prompt_print(prompt, &line.text);
    text_free(&line.text);
    mem_free(list->names);
}

static void run_names(Prompt *prompt, const char *argument) {
    static const char *const titles[] = {"values", "formulas", "units"};
    OwnNames own = {.units = session_units(prompt->session)};
    (void)argument;
    session_each_name(prompt->session, list_own_name, &own);
    for (int i = 0; i < OWN_LISTS; i++)
        print_names(prompt, titles[i], &own.lists[i]);
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
            add_word(wanted->list, info->name);
    }
}

static void show_units_of(Prompt *prompt, Kind kind, bool asked) {
    WordList list = {0};
    KindUnits wanted = {.units = session_units(prompt->session), .kind = kind, .list = &list};
    begin_words(&list, kind_word(kind), 24);
    for (UnitId id = 0; id < UNIT_BUILTIN_COUNT; id++) {
        const Unit *unit = unit_get(wanted.units, id);
        if (unit->kind == kind && *unit->name && id != UNIT_DATE)
            add_word(&list, unit->name);
    }
    session_each_name(prompt->session, list_own_unit, &wanted);
    if (!list.count && asked)
        add_word(&list, "none yet");
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

static void run_load(Prompt *prompt, const char *name) {
    console_watch(prompt->console, prompt->session);
    Source *source = session_read_file(prompt->session, name);
    if (!source)
        return;
    if (prompt_enter(prompt, source->text, source) == SESSION_UNFINISHED)
        complain(prompt, MSG_LOAD_UNFINISHED, ARGS(name));
    source_release(source);
}

/* A file of this session's own saving is written anew, any other is in the way. */
static int open_for_saving(const Prompt *prompt, const char *name) {
    bool again = prompt->saved && strcmp(prompt->saved, name) == 0;
    return open(name, O_WRONLY | O_CREAT | O_CLOEXEC | (again ? O_TRUNC : O_EXCL), 0666);
}

static bool write_all(int file, const Text *text) {
    for (size_t at = 0; at < text->length;) {
        ssize_t written = write(file, text->bytes + at, text->length - at);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return false;
        at += (size_t)written;
    }
    return true;
}

static void run_save(Prompt *prompt, const char *name) {
    if (!prompt->worked.length) {
        complain(prompt, MSG_SAVE_NOTHING, NO_ARGS);
        return;
    }
    Text script = {0};
    prompt_write_script(&script, prompt);
    int file = open_for_saving(prompt, name);
    bool written = file >= 0 && write_all(file, &script);
    int failure = errno;
    if (file >= 0 && close(file) != 0 && written) {
        written = false;
        failure = errno;
    }
    text_free(&script);
    if (!written) {
        bool in_the_way = file < 0 && failure == EEXIST;
        complain(prompt, in_the_way ? MSG_FILE_IN_THE_WAY : MSG_FILE_UNWRITABLE,
                 ARGS(name, strerror(failure)));
        return;
    }
    if (!prompt->saved || strcmp(prompt->saved, name) != 0) {
        mem_free(prompt->saved);
        prompt->saved = mem_copy_string(name);
    }
}

static void run_forget(Prompt *prompt, const char *argument) {
    (void)argument;
    session_forget(prompt->session);
    text_clear(&prompt->worked);
}

static void run_quit(Prompt *prompt, const char *argument) {
    (void)argument;
    prompt->leave = true;
}

/* ---- finding the command ---- */

const char *prompt_command_name(int index) {
    return index >= 0 && index < COMMAND_COUNT ? commands[index].name : NULL;
}

bool prompt_command_takes_file(const char *name) {
    const CommandRow *row = find_command(name, strlen(name));
    return row && row->argument == ARGUMENT_FILE;
}

/* A word that could go on as an expression is none of ours: `names = 3`, `load * 2`. */
static bool can_be_argument(const CommandRow *row, const char *rest) {
    return !strchr(row->argument == ARGUMENT_FILE ? "=*(+-" : "=*/(+-^[].,:;<>!", *rest);
}

/* The rest of a line without blanks and a pair of quotes around it. */
static char *argument_of(const char *rest) {
    size_t length = strlen(rest);
    while (length && strchr(" \t\r\n", rest[length - 1]))
        length--;
    if (length >= 2 && rest[0] == '"' && rest[length - 1] == '"')
        return mem_copy(rest + 1, length - 2);
    return mem_copy(rest, length);
}

bool prompt_command(Prompt *prompt, const char *entry) {
    const char *start = entry + strspn(entry, " \t\r\n");
    size_t length = strcspn(start, " \t\r\n\"");
    const CommandRow *row = find_command(start, length);
    if (!row)
        return false;
    const char *rest = start + length + strspn(start + length, " \t\r\n");
    ValueSearch search = {.wanted = row->name};
    session_each_name(prompt->session, look_for_value, &search);
    if (search.found || (*rest && (strchr(rest, '\n') != strrchr(rest, '\n') || !can_be_argument(row, rest))))
        return false;
    char *argument = argument_of(rest);
    if (*argument && row->argument == ARGUMENT_NONE)
        complain(prompt, MSG_COMMAND_WORD_NEEDLESS, ARGS(row->name));
    else if (!*argument && (row->argument == ARGUMENT_MUST || row->argument == ARGUMENT_FILE))
        complain(prompt, MSG_COMMAND_WORD_MISSING, ARGS(row->name, row->form, row->example));
    else
        row->run(prompt, argument);
    mem_free(argument);
    return true;
}
