/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The prompt: collects lines to entries and runs them in one session. What is unfinished the parser says.
 *
 * Where one end is not a terminal, lines are read plainly and no prompt is written, so that what is printed
 * are the results alone. */
#include "programs/prompt.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "programs/instead.h"
#include "programs/prompt_journal.h"

void prompt_print(Prompt *prompt, const Text *text) {
    console_write(prompt->console, text);
}

void prompt_print_events(Prompt *prompt, Session *session) {
    Text text = {0};
    render_text_events(&text, session_report(session), console_columns(prompt->console));
    prompt_print(prompt, &text);
    text_free(&text);
}

void prompt_failed(Prompt *prompt, SessionStatus status) {
    prompt->status = run_worse(prompt->status, status == SESSION_LIMIT ? SESSION_LIMIT : SESSION_FAILED);
}

void prompt_complain(Prompt *prompt, MessageId id, MessageArg *args) {
    prompt_failed(prompt, SESSION_FAILED);
    console_complain(prompt->console, id, args);
}

void prompt_remark(Prompt *prompt, const Text *text) {
    if (prompt->typed)
        prompt_print(prompt, text);
    else
        console_write_aside(prompt->console, text);
}

void prompt_note(Prompt *prompt, MessageId id, MessageArg *args) {
    Text out = {0};
    char *note = message_take(id, args);
    render_wrapped(&out, "note: ", note, console_columns(prompt->console));
    prompt_print(prompt, &out);
    mem_free(note);
    text_free(&out);
}

/* ---- what one key runs ---- */

void prompt_offer(Prompt *prompt, Text *out, const char *line, const char *called) {
    if (!prompt->typed)
        return;
    mem_free(prompt->offer);
    prompt->offer = mem_copy_string(line);
    char *words = message_take(PHRASE_ENTER_RUNS, ARGS(called ? called : line));
    text_add_string(out, words);
    text_add_char(out, '\n');
    mem_free(words);
}

static char *take_offer(Prompt *prompt) {
    char *offer = prompt->offer;
    prompt->offer = NULL;
    return offer;
}

/* ---- entries ---- */

static void note_status(Prompt *prompt, SessionStatus status) {
    if (prompt->output.sink.over)
        status = SESSION_LIMIT;
    if (status != SESSION_OK)
        prompt_failed(prompt, status);
}

static void keep_entry(Prompt *prompt, Entry entry) {
    const char *replaced = session_replaced(prompt->session);
    if (*replaced)
        journal_add_replacing(prompt, entry, replaced);
    else
        journal_add(prompt, entry);
}

SessionStatus prompt_enter(Prompt *prompt, Entry entry) {
    Session *session = prompt->session;
    Text copy = {0};
    if (journal_run_again(prompt, &entry)) {
        entry_free(&entry);
        return SESSION_OK;
    }
    unsigned hidden = prompt_hidden_commands(prompt);
    console_watch(prompt->console, session);
    journal_listen(prompt, session, entry.line, &copy, false);
    for (int i = 0; i < entry.input_count; i++)
        session_set_input(session, entry.inputs[i].name, entry.inputs[i].value);
    prompt_begin_work(session);
    SessionStatus status =
        entry.file ? session_enter_source(session, entry.file) : session_enter(session, entry.text);
    prompt_end_work();
    if (status != SESSION_UNFINISHED) {
        prompt_print_events(prompt, session);
        if (status == SESSION_INTERRUPTED && !prompt->output.sink.over && !session_errors(session)->count)
            console_complain(prompt->console, MSG_INTERRUPTED, NO_ARGS);
        note_status(prompt, status);
        journal_add_rest(prompt, session, &copy);
    }
    entry.output = text_take(&copy);
    prompt->output.copy = NULL;
    if (status != SESSION_UNFINISHED && session_entry_holds(session) && !prompt->output.sink.over)
        keep_entry(prompt, entry);
    else
        entry_free(&entry);
    prompt_note_hidden(prompt, hidden);
    return status;
}

static bool is_blank(const char *text) {
    return text[strspn(text, " \t\r\n")] == '\0';
}

void prompt_drop_entry(Prompt *prompt) {
    text_clear(&prompt->entry);
}

/* Enter alone after help ran what it offers: the line is shown, as if it had been typed. */
static void run_offer(Prompt *prompt) {
    char *offer = take_offer(prompt);
    Text shown = {0};
    if (!offer)
        return;
    text_add_string(&shown, offer);
    text_add_char(&shown, '\n');
    prompt_print(prompt, &shown);
    text_free(&shown);
    prompt_take_line(prompt, offer);
    mem_free(offer);
}

static void show_canonical(Prompt *prompt, const char *line) {
    Text out = {0};
    text_add_string(&out, "  ");
    text_add_string(&out, line);
    text_add_char(&out, '\n');
    prompt_print(prompt, &out);
    text_free(&out);
}

void prompt_say_meant(Prompt *prompt, const char *line) {
    if (prompt->typed)
        show_canonical(prompt, line);
    else
        instead_say(prompt->console, line);
}

static bool starts_with_command(const char *line) {
    char *word = mem_copy(line, strcspn(line, " "));
    bool command = prompt_is_command(word);
    mem_free(word);
    return command;
}

/* The line to run for what was typed, and shows it where it differs: what an entry with an error must have
 * meant, and everyday words for units as the program writes them. */
static char *take_meant(Prompt *prompt, const char *typed) {
    char *understood = instead_understood(prompt->session, typed, false);
    char *line = understood ? understood : mem_copy_string(typed);
    bool respells = prompt->typed && !(understood && starts_with_command(line));
    char *respelled = respells ? session_respelled(prompt->session, line) : NULL;
    if (respelled || understood)
        prompt_say_meant(prompt, respelled ? respelled : line);
    mem_free(respelled);
    return line;
}

static void offer_instead(Prompt *prompt, const char *text) {
    char *line = instead_show(prompt->console, text, false);
    Text out = {0};
    if (line)
        prompt_offer(prompt, &out, line, "it");
    prompt_print(prompt, &out);
    text_free(&out);
    mem_free(line);
}

static SessionStatus run_entry(Prompt *prompt, const char *text) {
    if (prompt_command(prompt, text))
        return SESSION_OK;
    char *line = take_meant(prompt, text);
    bool command = strcmp(line, text) != 0 && prompt_command(prompt, line);
    SessionStatus status = command ? SESSION_OK : prompt_enter(prompt, entry_new(line, line, NULL));
    if (status == SESSION_FAILED)
        offer_instead(prompt, line);
    mem_free(line);
    return status;
}

/* Nothing but `##` lines: they belong to what is declared next. */
static bool is_documentation(const char *text) {
    if (!*text)
        return false;
    for (const char *line = text; line; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (strncmp(line + strspn(line, " \t"), "##", 2) != 0)
            return false;
    }
    return true;
}

void prompt_take_line(Prompt *prompt, const char *line) {
    Text *entry = &prompt->entry;
    if (is_documentation(text_string(entry)) && (is_blank(line) || starts_with_command(line)))
        text_clear(entry);
    if (entry->length)
        text_add_char(entry, '\n');
    text_add_string(entry, line);
    const char *text = text_string(entry);
    if (is_blank(text)) {
        text_clear(entry);
        run_offer(prompt);
        return;
    }
    mem_free(take_offer(prompt));
    if (is_documentation(text))
        return;
    SessionStatus status = run_entry(prompt, text);
    if (status == SESSION_UNFINISHED) {
        prompt_note_unfinished(prompt, text, line);
        return;
    }
    if (prompt->entered)
        prompt->entered(prompt, text);
    text_clear(entry);
}

/* One line without its end. False at the end of the input. */
static bool read_plain_line(Text *line) {
    text_clear(line);
    int c;
    while ((c = getc(stdin)) != EOF && c != '\n')
        text_add_char(line, (char)c);
    return c != EOF || line->length;
}

static void prompt_from_stream(Prompt *prompt) {
    Text line = {0};
    while (!prompt->leave && !prompt->console->failure && read_plain_line(&line))
        prompt_take_line(prompt, text_string(&line));
    if (prompt->entry.length && !is_documentation(text_string(&prompt->entry)) && !prompt->leave)
        prompt_complain(prompt, MSG_ENTRY_UNFINISHED, NO_ARGS);
    text_free(&line);
}

SessionStatus prompt_run(const Options *options, Console *console) {
    Prompt prompt = {.console = console, .options = options, .session = run_new_session(options)};
    console->wraps = isatty(STDIN_FILENO) && isatty(STDOUT_FILENO);
    prompt.typed = console->wraps;
    if (prompt.typed)
        prompt_from_terminal(&prompt);
    else
        prompt_from_stream(&prompt);
    console_watch(console, NULL);
    console->wraps = false;
    session_free(prompt.session);
    text_free(&prompt.entry);
    journal_close(&prompt);
    told_clear(&prompt.told);
    mem_free(prompt.offer);
    mem_free(prompt.saved);
    if (prompt_end_signal()) {
        signal(prompt_end_signal(), SIG_DFL);
        raise(prompt_end_signal()); /* the parent is to see what ended the program */
    }
    return prompt.typed ? SESSION_OK : prompt.status;
}
