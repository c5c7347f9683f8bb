/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `save`: writes the script, and looks whether it would run. */
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "programs/prompt_journal.h"

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

/* False when it could not be written: says why. */
static bool write_script(Prompt *prompt, const char *name, const Text *script) {
    int file = open_for_saving(prompt, name);
    bool written = file >= 0 && write_all(file, script);
    int failure = errno;
    if (file >= 0 && close(file) != 0 && written) {
        written = false;
        failure = errno;
    }
    bool in_the_way = file < 0 && failure == EEXIST;
    if (!written)
        prompt_complain(prompt, in_the_way ? MSG_FILE_IN_THE_WAY : MSG_FILE_UNWRITABLE,
                        ARGS(name, strerror(failure)));
    return written;
}

/* `evening`: `evening.rlet`; a name with an ending of its own keeps it. */
static char *with_ending(const char *name) {
    const char *slash = strrchr(name, '/');
    Text file = {0};
    text_add_string(&file, name);
    text_add_string(&file, strchr(slash ? slash : name, '.') ? "" : ".rlet");
    return text_take(&file);
}

static void say_saved(Prompt *prompt, const char *name, const Text *script) {
    long long lines = 0;
    Text out = {0};
    for (size_t i = 0; i < script->length; i++)
        lines += script->bytes[i] == '\n';
    char *words = lines == 1 ? message_take(PHRASE_SAVED_LINE, ARGS(name))
                             : message_take(PHRASE_SAVED, ARGS(name, arg_whole(lines)));
    text_add_string(&out, words);
    text_add_char(&out, '\n');
    prompt_remark(prompt, &out);
    mem_free(words);
    text_free(&out);
}

/* What worked line by line need not do so as a script: its first error is told. */
static void check_saved(Prompt *prompt, const char *name) {
    Session *session = run_new_session(prompt->options);
    Source *source = session_read_file(session, name);
    if (source && session_check(session, source) != SESSION_OK) {
        const DiagList *errors = session_errors(session);
        int first = 0;
        while (first < errors->count - 1 && message_class(errors->items[first]->id) == CLASS_NOTE)
            first++;
        console_show_error(prompt->console, errors->items[first]);
        prompt_complain(prompt, MSG_SAVE_FAULTY, ARGS(name));
    }
    source_release(source);
    session_free(session);
}

void prompt_save(Prompt *prompt, const char *name) {
    if (!prompt->past.journal.count) {
        prompt_complain(prompt, MSG_SAVE_NOTHING, NO_ARGS);
        return;
    }
    Text script = {0};
    char *file = with_ending(name);
    journal_write(prompt, NULL, &script);
    if (script.length && script.bytes[script.length - 1] != '\n')
        text_add_char(&script, '\n');
    if (write_script(prompt, file, &script)) {
        mem_free(prompt->saved);
        prompt->saved = mem_copy_string(file);
        say_saved(prompt, file, &script);
        check_saved(prompt, file);
    }
    mem_free(file);
    text_free(&script);
}
