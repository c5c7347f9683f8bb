/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The prompt: collects lines to entries and runs them in one session. What is unfinished the parser says.
 *
 * Where one end is no terminal, lines are read plainly and no prompt is written, so that what is printed are
 * the results alone. */
#include "programs/prompt.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "programs/prompt_state.h"

void prompt_print(Prompt *prompt, const Text *text) {
    console_write(prompt->console, text);
}

static void print_events(Prompt *prompt) {
    Text text = {0};
    render_text_events(&text, session_report(prompt->session), console_columns(prompt->console));
    prompt_print(prompt, &text);
    text_free(&text);
}

SessionStatus prompt_enter(Prompt *prompt, const char *text, Source *file) {
    Session *session = prompt->session;
    console_watch(prompt->console, session);
    run_listen(&prompt->output, prompt->console, session, prompt->options, false);
    prompt_begin_work(session);
    SessionStatus status = file ? session_enter_source(session, file) : session_enter(session, text);
    prompt_end_work();
    if (status == SESSION_UNFINISHED)
        return status;
    print_events(prompt);
    if (status == SESSION_INTERRUPTED && !prompt->output.sink.over && !session_errors(session)->count)
        console_complain(prompt->console, MSG_INTERRUPTED, NO_ARGS);
    if (status == SESSION_OK) {
        text_add_string(&prompt->worked, text);
        if (text[0] && text[strlen(text) - 1] != '\n')
            text_add_char(&prompt->worked, '\n');
    }
    return status;
}

static bool is_blank(const char *text) {
    return text[strspn(text, " \t\r\n")] == '\0';
}

void prompt_drop_entry(Prompt *prompt) {
    text_clear(&prompt->entry);
}

void prompt_take_line(Prompt *prompt, const char *line) {
    Text *entry = &prompt->entry;
    if (entry->length)
        text_add_char(entry, '\n');
    text_add_string(entry, line);
    const char *text = text_string(entry);
    bool blank = is_blank(text);
    if (!blank && !prompt_command(prompt, text) && prompt_enter(prompt, text, NULL) == SESSION_UNFINISHED)
        return;
    if (!blank && prompt->entered)
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
    if (prompt->entry.length && !prompt->leave)
        console_complain(prompt->console, MSG_ENTRY_UNFINISHED, NO_ARGS);
    text_free(&line);
}

SessionStatus prompt_run(const Options *options, Console *console) {
    Prompt prompt = {.console = console, .options = options, .session = run_new_session(options)};
    console->wraps = isatty(STDIN_FILENO) && isatty(STDOUT_FILENO);
    if (console->wraps)
        prompt_from_terminal(&prompt);
    else
        prompt_from_stream(&prompt);
    console_watch(console, NULL);
    console->wraps = false;
    session_free(prompt.session);
    text_free(&prompt.entry);
    text_free(&prompt.worked);
    mem_free(prompt.saved);
    if (prompt_end_signal()) {
        signal(prompt_end_signal(), SIG_DFL);
        raise(prompt_end_signal()); /* the parent is to see what ended the program */
    }
    return SESSION_OK;
}
