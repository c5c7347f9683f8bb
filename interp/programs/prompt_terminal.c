/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The prompt on a terminal: readline's callback interface, history, completion, signals.
 *
 * Keys are waited for by pselect, with the signals let in only there: so Ctrl-C drops a line at once, and no
 * signal arrives while readline is at work. Readline and signal handlers are given no context, hence the
 * static variables here; there is one terminal. */
#include <errno.h>
#include <langinfo.h>
#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/select.h>
#include <sys/stat.h>
#include <unistd.h>

#include <readline/readline.h>

#include "base/mem.h"
#include "programs/prompt_state.h"

static const char first_prompt[] = "> ";
static const char next_prompt[] = "  "; /* an entry continues, below its first line */

/* ---- signals ---- */

static volatile sig_atomic_t interrupted, resized, stopped, ending;
static Session *volatile at_work;

static void on_signal(int number) {
    Session *session = at_work;
    if (number == SIGINT)
        interrupted = 1;
    else if (number == SIGWINCH)
        resized = 1;
    else if (number == SIGTSTP)
        stopped = 1;
    else
        ending = number;
    if (session && number != SIGWINCH)
        session_interrupt(session);
}

void prompt_begin_work(Session *session) {
    at_work = session;
}

void prompt_end_work(void) {
    at_work = NULL;
    interrupted = 0;
}

int prompt_end_signal(void) {
    return ending;
}

static void handle(int number, void (*handler)(int)) {
    struct sigaction action = {.sa_handler = handler};
    sigemptyset(&action.sa_mask);
    sigaction(number, &action, NULL);
}

/* The shell takes the terminal; it is ours again when the program continues. */
static void stop_program(void) {
    sigset_t only, before;
    stopped = 0;
    rl_deprep_terminal();
    handle(SIGTSTP, SIG_DFL);
    sigemptyset(&only);
    sigaddset(&only, SIGTSTP);
    raise(SIGTSTP);
    sigprocmask(SIG_UNBLOCK, &only, &before); /* here it stops */
    sigprocmask(SIG_SETMASK, &before, NULL);
    handle(SIGTSTP, on_signal);
    rl_prep_terminal(1);
    rl_resize_terminal();
    rl_forced_update_display();
}

/* ---- completion ---- */

static Prompt *active;

/* What all names have in common at their start. */
static char *common_start(const Completions *found) {
    size_t common = strlen(found->names[0]);
    for (int i = 1; i < found->count; i++) {
        size_t same = 0;
        while (same < common && found->names[i][same] == found->names[0][same])
            same++;
        common = same;
    }
    return mem_copy(found->names[0], common);
}

/* As readline needs them, to be freed by free(): first what they have in common, and one that is alone stands
 * there. */
static char **matches_of(Completions *found) {
    if (!found->count)
        return NULL;
    char **matches = mem_array((size_t)found->count + 2, sizeof *matches);
    matches[0] = common_start(found);
    size_t length = strlen(matches[0]);
    if (length && strchr("( ", matches[0][length - 1]))
        rl_completion_append_character = '\0';
    if (found->count > 1)
        for (int i = 0; i < found->count; i++)
            matches[i + 1] = mem_copy_string(found->names[i]);
    return matches;
}

/* What help offers to run, to be changed first. */
static char **offered_line(void) {
    char **matches = mem_array(2, sizeof *matches);
    matches[0] = mem_copy_string(active->offer);
    rl_completion_append_character = '\0';
    return matches;
}

static bool is_script_or_folder(const char *name) {
    static const char script[] = ".rlet";
    size_t length = strlen(name), most = sizeof script - 1;
    struct stat info;
    if (length > most && strcmp(name + length - most, script) == 0)
        return true;
    return stat(name, &info) == 0 && S_ISDIR(info.st_mode);
}

/* Of the files that readline found, the scripts and folders, if there are any: matches[0] is what they have
 * in common, and the only one left is put there. */
static int keep_scripts(char **matches) {
    Completions kept = {0};
    for (int i = 1; matches[i]; i++)
        if (is_script_or_folder(matches[i])) {
            MEM_GROW(kept.names, kept.count, kept.capacity);
            kept.names[kept.count++] = mem_copy_string(matches[i]);
        }
    if (kept.count) {
        for (int i = 0; matches[i]; i++) {
            mem_free(matches[i]);
            matches[i] = NULL;
        }
        matches[0] = common_start(&kept);
        for (int i = 0; kept.count > 1 && i < kept.count; i++)
            matches[i + 1] = mem_copy_string(kept.names[i]);
    }
    prompt_free_completions(&kept);
    return 0;
}

static char **complete(const char *text, int start, int end) {
    size_t word = strcspn(rl_line_buffer, " \"");
    char *command = mem_copy(rl_line_buffer, word);
    bool file = (size_t)start > word && prompt_command_takes_file(command);
    (void)text;
    rl_ignore_some_completions_function = file && strcmp(command, "load") == 0 ? keep_scripts : NULL;
    mem_free(command);
    if (file)
        return NULL; /* readline's own completion of file names */
    rl_attempted_completion_over = 1;
    if (active->offer && !active->entry.length && end == 0)
        return offered_line();
    Text entry = {0};
    Completions found = {0};
    text_add_string(&entry, text_string(&active->entry));
    if (entry.length)
        text_add_char(&entry, '\n');
    text_add(&entry, rl_line_buffer, (size_t)end);
    prompt_complete(active, text_string(&entry), (size_t)(end - start), &found);
    char **matches = matches_of(&found);
    prompt_free_completions(&found);
    text_free(&entry);
    return matches;
}

/* ---- lines ---- */

static bool line_came;
static char *line_read; /* NULL: the end of the input */

static void on_line(char *line) {
    line_came = true;
    line_read = line;
    rl_eof_found =
        0; /* the session may continue: else readline writes an empty line before each one to come */
    rl_callback_handler_remove();
}

typedef enum LineResult { LINE_READ, LINE_DROPPED, LINE_END } LineResult;

/* What the signals that came in while waiting ask for. */
static bool answer_signals(void) {
    if (resized) {
        resized = 0;
        rl_resize_terminal();
    }
    if (stopped)
        stop_program();
    return interrupted || ending;
}

static LineResult wait_for_line(const char *text, const sigset_t *open_signals) {
    line_came = false;
    line_read = NULL;
    interrupted = 0;
    if (ending)
        return LINE_END;
    rl_callback_handler_install(text, on_line);
    while (!line_came) {
        fd_set ready;
        FD_ZERO(&ready);
        FD_SET(STDIN_FILENO, &ready);
        int count = pselect(STDIN_FILENO + 1, &ready, NULL, NULL, NULL, open_signals);
        if (count > 0) {
            rl_callback_read_char();
        } else if (count < 0 && (errno != EINTR || answer_signals())) {
            bool dropped = interrupted && !ending;
            interrupted = 0;
            rl_point = rl_end; /* the last of several lines, so that what follows is below */
            rl_redisplay();
            rl_free_line_state();
            rl_callback_sigcleanup();
            rl_callback_handler_remove();
            fputc('\n', rl_outstream);
            fflush(rl_outstream);
            return dropped ? LINE_DROPPED : LINE_END;
        }
    }
    return line_read ? LINE_READ : LINE_END;
}

static LineResult read_line(const char *text) {
    static const int numbers[] = {SIGINT, SIGWINCH, SIGTSTP, SIGTERM, SIGHUP};
    sigset_t waiting, before;
    sigemptyset(&waiting);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        sigaddset(&waiting, numbers[i]);
    sigprocmask(SIG_BLOCK, &waiting, &before);
    handle(SIGTSTP, on_signal);
    LineResult result = wait_for_line(text, &before);
    handle(SIGTSTP, SIG_DFL); /* while it computes, the program is stopped like any other */
    sigprocmask(SIG_SETMASK, &before, NULL);
    return result;
}

static void greet(Prompt *prompt) {
    Text text = {0};
    char *words = message_take(PHRASE_GREETING, ARGS(session_program()));
    text_add_string(&text, words);
    text_add_char(&text, '\n');
    mem_free(words);
    console_write_wrapped(prompt->console, &text);
    text_free(&text);
}

/* Only characters follow the locale, and they are UTF-8 whatever it says: numbers never depend on it.
 * Readline sets the locale by the environment once more, so it is told there. */
static void start_readline(void) {
    setlocale(LC_CTYPE, "");
    if (strcmp(nl_langinfo(CODESET), "UTF-8") != 0) {
        setenv("LC_ALL", "C.UTF-8", 1);
        setlocale(LC_CTYPE, "");
    }
    rl_readline_name = "rundlet";
    rl_catch_signals = 0;
    rl_catch_sigwinch = 0;
    rl_change_environment = 0;
    rl_attempted_completion_function = complete;
    rl_completer_word_break_characters = " \t\n\"'+-*/^=<>()[]{},:;|";
    handle(SIGINT, on_signal);
    handle(SIGWINCH, on_signal);
    handle(SIGTERM, on_signal);
    handle(SIGHUP, on_signal);
}

void prompt_from_terminal(Prompt *prompt) {
    active = prompt;
    start_readline();
    prompt_load_history(prompt);
    greet(prompt);
    while (!prompt->leave && !prompt->console->failure && !ending) {
        LineResult result = read_line(prompt->entry.length ? next_prompt : first_prompt);
        bool unfinished = prompt->entry.length > 0;
        if (result == LINE_END && (!unfinished || ending))
            break;
        if (result != LINE_READ) /* Ctrl-D in an unfinished entry clears it, and no more */
            prompt_drop_entry(prompt);
        else
            prompt_take_line(prompt, line_read);
        mem_free(line_read);
        line_read = NULL;
    }
    prompt_close_history(prompt);
    active = NULL;
}
