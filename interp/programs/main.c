/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The program: reads the command line, does what it asks for, leaves with the status of
 * docs/reference/program.md, "Exit status".
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "programs/console.h"
#include "programs/options.h"
#include "programs/prompt.h"
#include "programs/run.h"

/* No memory is left: nothing here may ask for more. */
static void out_of_memory(void) {
    fflush(stdout); /* what was shown so far stays */
    const char *const parts[] = {"rundlet: ", message_text(MSG_MEMORY_EXHAUSTED), "\n"};
    for (size_t i = 0; i < 3; i++)
        if (write(STDERR_FILENO, parts[i], strlen(parts[i])) < 0)
            break;
    _exit(SESSION_LIMIT);
}

static SessionStatus show_help(Console *console) {
    Text text = {0};
    options_help(&text);
    console_write(console, &text);
    text_free(&text);
    return SESSION_OK;
}

static SessionStatus show_version(Console *console) {
    Text text = {0};
    text_add_string(&text, session_program());
    text_add_string(&text, "\nCopyright: the Rundlet developers\n"
                           "Licence: GPL-3.0-or-later, without any warranty\n");
    console_write(console, &text);
    text_free(&text);
    return SESSION_OK;
}

/* Nobody at the keyboard: standard input is a script. */
static SessionStatus run_standard_input(Options *options, Console *console) {
    options->files[options->file_count++] = "-";
    return run_script(options, console);
}

static SessionStatus carry_out(Options *options, Console *console) {
    switch (options->mode) {
    case MODE_RUN:
        return run_script(options, console);
    case MODE_PROMPT:
        if (options->prompt_by_default && !isatty(STDIN_FILENO))
            return run_standard_input(options, console);
        return prompt_run(options, console);
    case MODE_EXPRESSIONS:
        return run_expressions(options, console);
    case MODE_CHECK:
        return run_checks(options, console);
    case MODE_EXPECT:
        return run_expects(options, console);
    case MODE_INPUTS:
        return run_inputs(options, console);
    case MODE_HELP:
        return show_help(console);
    case MODE_VERSION:
        return show_version(console);
    }
    return SESSION_USAGE;
}

int main(int argc, char **argv) {
    Console console;
    Options options = {0};
    DiagList errors = {0};
    SessionStatus status = SESSION_USAGE;
    console_start(&console);
    mem_set_failure_handler(out_of_memory);
    if (options_read(&options, argc, argv, &errors))
        status = carry_out(&options, &console);
    for (int i = 0; i < errors.count; i++)
        console_show_error(&console, errors.items[i]);
    diag_list_free(&errors);
    options_free(&options);
    if (!console_finish(&console))
        status = status == SESSION_LIMIT ? status : SESSION_FILE;
    return (int)status;
}
