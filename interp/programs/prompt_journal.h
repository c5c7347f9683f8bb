/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was entered at the prompt and holds, and what is done with it: undo, set, declaring and loading again,
 * save. */
#ifndef RUNDLET_PROMPT_JOURNAL_H
#define RUNDLET_PROMPT_JOURNAL_H

#include "programs/prompt_state.h"

/* ---- entries ---- */

Entry entry_new(const char *line, const char *text, Source *file);
void entry_free(Entry *entry);
/* The value of an input that the entry declares. */
void entry_set_input(Entry *entry, const char *name, const char *value);
void entry_set_text(Entry *entry, const char *text);

/* ---- an entry under way ---- */

/* Has the results of the session printed, unless silent, and copied; an expression that is `line` alone is
 * copied with it as its label. */
void journal_listen(Prompt *prompt, Session *session, const char *line, Text *copy, bool silent);
/* Adds what comes when an entry is over: events, checks that failed. */
void journal_add_rest(Prompt *prompt, Session *session, Text *copy);

/* ---- what was entered ---- */

/* Each takes the entry. */
void journal_add(Prompt *prompt, Entry entry);
/* It was run, and has declared again the names (a line each): in place of what declared them before, with
 * everything after it run once more. Where that fails, it holds from here on only. */
void journal_add_replacing(Prompt *prompt, Entry entry, const char *names);
/* Runs a file that was loaded before, or a `use` that was entered before, in its old place. False when it was
 * not: nothing is done. */
bool journal_run_again(Prompt *prompt, Entry *entry);
/* Forgets all; `line` did it. */
void journal_clear(Prompt *prompt, const char *line);
void journal_close(Prompt *prompt);

/* Takes back the last step. */
void journal_undo(Prompt *prompt);
/* Gives an input or a `let` another value, and tells what changes with it. */
void journal_set(Prompt *prompt, const char *line, const char *name, const char *value);
/* Takes out what is declared by that name, and what no longer works without it. */
void journal_forget(Prompt *prompt, const char *name);
/* All of it as a script, for `save`, which tells what is left out; or, untold, with one more line at its end
 * (`last`, if not NULL). */
void journal_write(Prompt *prompt, const char *last, Text *out);
/* The folder of the files that were loaded; NULL when there are none, or they are in several. mem_free it. */
char *journal_folder(const Prompt *prompt);
/* A value as a `show` has it, without a label; the caller frees it. */
char *journal_value_text(Prompt *prompt, Session *session, const char *name);

#endif
