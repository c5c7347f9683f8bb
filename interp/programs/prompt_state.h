/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the prompt share: prompt.c takes entries, prompt_commands.c its own words,
 * prompt_terminal.c reads lines from a terminal. */
#ifndef RUNDLET_PROMPT_STATE_H
#define RUNDLET_PROMPT_STATE_H

#include "programs/console.h"
#include "programs/run.h"

/* ---- the past: prompt_journal.c ---- */

typedef struct InputSetting {
    char *name, *value;
} InputSetting;

/* What was entered and holds. */
typedef struct Entry {
    char *line;   /* as typed: `load "x.rlet"` for a file */
    char *text;   /* what is run: the line, or the file's text */
    Source *file; /* NULL: typed */
    InputSetting *inputs;
    int input_count;
    bool aside; /* earlier lines fail with what it declares again: it holds from there on, and is not saved */
    char *output; /* what it showed last, expressions with their text as label (told.h) */
} Entry;

typedef struct Journal {
    Entry *entries;
    int count, capacity;
} Journal;

typedef struct UndoStep {
    char *line;
    bool added; /* it added the last entry; else `before` is how all was */
    Journal before;
} UndoStep;

typedef struct PromptPast {
    Journal journal;
    UndoStep *steps;
    int step_count, step_capacity;
} PromptPast;

typedef struct Prompt Prompt;
struct Prompt {
    Console *console;
    const Options *options;
    Session *session;
    RunOutput output;
    Text entry; /* the lines of an entry so far; empty between entries */
    PromptPast past;
    Told told;                /* the cautions that were given */
    char *saved;              /* the file that `save` wrote last: it may write it again. NULL: none */
    char *offer;              /* a line that Enter alone runs, on a terminal; NULL: none */
    bool typed;               /* lines come from a terminal */
    unsigned told_unfinished; /* of what an entry may still wait for, what was told: prompt_unfinished.c */
    bool leave;
    SessionStatus status; /* the worst of all entries and commands */
    /* Told of each entry when it was run, whether it worked or not. NULL: nobody listens. */
    void (*entered)(Prompt *prompt, const char *entry);
    char *history; /* the file of earlier entries; NULL: none */
};

/* ---- prompt.c ---- */

/* Runs an entry and shows what comes of it: takes it, and keeps it in the journal when it holds. */
SessionStatus prompt_enter(Prompt *prompt, Entry entry);
void prompt_print(Prompt *prompt, const Text *text);
void prompt_print_events(Prompt *prompt, Session *session);
/* An error of the prompt itself, without a place. */
void prompt_complain(Prompt *prompt, MessageId id, MessageArg *args);
/* The words one after another, as a note. */
void prompt_note(Prompt *prompt, MessageId id, MessageArg *args);
/* What is no result: on a terminal with them, else on standard error. */
void prompt_remark(Prompt *prompt, const Text *text);
/* What was typed is taken for this line: shows it. */
void prompt_say_meant(Prompt *prompt, const char *line);
/* Something failed: so much for the exit status. */
void prompt_failed(Prompt *prompt, SessionStatus status);
/* From now on Enter alone, on a terminal, runs the line; what is shown says so, and calls it so (NULL: by
 * itself). */
void prompt_offer(Prompt *prompt, Text *out, const char *line, const char *called);

/* ---- prompt_commands.c ---- */

/* Carries out a command of the prompt. False if the entry is none: a value of that name wins. */
bool prompt_command(Prompt *prompt, const char *entry);
/* A row for each command, or for the one of that name if there is one: for help. */
void prompt_add_commands(const Prompt *prompt, Text *out);
void prompt_add_command(const Prompt *prompt, Text *out, const char *name);
/* The names of the commands, NULL past the end. */
const char *prompt_command_name(int index);
bool prompt_is_command(const char *name);
/* A bit for each command that a value of its name hides. */
unsigned prompt_hidden_commands(Prompt *prompt);
/* Says which are hidden that were not before. */
void prompt_note_hidden(Prompt *prompt, unsigned before);
bool prompt_command_takes_file(const char *name);
bool prompt_command_takes_name(const char *name); /* help, source */

/* ---- prompt_unfinished.c ---- */

/* On a terminal, says what an entry still waits for: each thing once a session, and again where the last line
 * is a command, which would be part of the entry. */
void prompt_note_unfinished(Prompt *prompt, const char *entry, const char *line);

/* ---- prompt_set.c ---- */

/* `set`, with what was typed after it. */
void prompt_set(Prompt *prompt, const char *rest);
/* Says that the name keeps its kind, and what to type; `after` is the other kind in words. */
void prompt_refuse_kind(Prompt *prompt, const char *name, const char *value, const KindInfo *was,
                        const char *after);

/* ---- prompt_why.c ---- */

/* `why`, with what was typed after it: how that value, or the latest result, was worked out. */
void prompt_why(Prompt *prompt, const char *argument);

/* ---- prompt_save.c ---- */

/* Writes what was entered as a script; the name is without quotes. */
void prompt_save(Prompt *prompt, const char *name);

/* ---- prompt_help.c ---- */

/* The overview for "", else all that is known of a name. */
void prompt_help(Prompt *prompt, const char *name);

/* Words after a title, wrapped and indented. `{0}` is a start; the owner frees the text. */
typedef struct WordList {
    Text text;
    size_t indent;
    size_t column;
    size_t width;
    int count;
} WordList;
void prompt_begin_words(WordList *list, const Prompt *prompt, const char *title, size_t indent);
void prompt_add_word(WordList *list, const char *word);

typedef struct NameSearch {
    const char *wanted;
    bool found;
    NameKind kind;
    char *usage;
    char *doc;
    char *nearest; /* a copy: names live no longer than the call */
    int distance;
} NameSearch;
NameSearch prompt_find_name(Prompt *prompt, const char *name);
void prompt_free_search(NameSearch *search);

bool prompt_is_internal(const char *name); /* a part of other formulas, which lists leave out */

/* ---- prompt_search.c ---- */

/* Shows what fits words of everyday speech best. False when nothing does: nothing is shown. */
bool prompt_search(Prompt *prompt, const char *wanted);
/* `text` behind `title` in its column, wrapped there to that width. */
void prompt_add_row(Text *out, const char *title, size_t column, const char *text, size_t width);
/* The one word that says something ("how do I quit"), "" when none does; NULL when there are several, or they
 * say what a phrase says. mem_free it. */
char *prompt_asked_word(const char *asked);
/* The example in a formula's documentation; NULL without one. mem_free it. */
char *prompt_example_of(const char *doc);
/* All of it: `help words`. */
void prompt_show_phrases(Prompt *prompt);
/* What is said about that, for what no formula, unit or word explains; NULL: nothing is. */
typedef struct PromptTopic {
    const char *says, *tells, *type;
} PromptTopic;
const PromptTopic *prompt_topic(const char *asked);
/* What is to be said of a unit; NULL for most. */
const char *prompt_unit_remark(const char *unit);

/* ---- prompt_complete.c ---- */

typedef struct Completions {
    char **names; /* each once, in no order */
    int count, capacity;
} Completions;
/* What could be in place of the last `word` bytes of an entry, of which `entry` is all up to the cursor. A
 * name that ends in a bracket or a space needs no space after it. `found` is empty before. */
void prompt_complete(Prompt *prompt, const char *entry, size_t word, Completions *found);
void prompt_free_completions(Completions *found);

/* ---- prompt_history.c ---- */

/* Earlier entries, and those to come. Nothing is said of what fails: then history lasts as long as the
 * session. */
void prompt_load_history(Prompt *prompt);
void prompt_close_history(Prompt *prompt);

/* ---- prompt_terminal.c ---- */

/* Line by line from a terminal, with editing, history and completion, until the user leaves. */
void prompt_from_terminal(Prompt *prompt);
/* Gives prompt.c a line; it continues while the entry is unfinished. */
void prompt_take_line(Prompt *prompt, const char *line);
/* Drops an unfinished entry. */
void prompt_drop_entry(Prompt *prompt);
/* Wraps a computation, so that Ctrl-C stops it. */
void prompt_begin_work(Session *session);
void prompt_end_work(void);
/* Where the terminal goes away or the program is told to end: the signal, to be raised when all is put away;
 * else 0. */
int prompt_end_signal(void);

#endif
