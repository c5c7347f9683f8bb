/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `why`: how a value was worked out. What was entered runs once more, as the script that `save` would write,
 * in a session of its own; nothing of it reaches the prompt's. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/mem.h"
#include "programs/instead.h"
#include "programs/prompt_journal.h"
#include "programs/why.h"

enum { LEVELS_MOST = 9 };

/* What is asked about: an expression (`why must.gravity`), the label of a result, or, if both are NULL, the
 * latest result. */
typedef struct Question {
    char *expression, *label;
    int levels;
} Question;

/* ---- reading the line ---- */

static bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

static void trim_end(char *text) {
    size_t length = strlen(text);
    while (length && is_blank(text[length - 1]))
        text[--length] = '\0';
}

/* Where the last word begins; the text has no blanks at its end. */
static size_t last_word(const char *text) {
    size_t at = strlen(text);
    while (at > 0 && !is_blank(text[at - 1]))
        at--;
    return at;
}

/* `to 2 levels` at the end of the text is taken off it. False where the number is none of 1 to 9. */
static bool take_levels(char *text, int *levels) {
    char *rest = mem_copy_string(text);
    size_t word = last_word(rest);
    bool named = strcmp(rest + word, "levels") == 0 || strcmp(rest + word, "level") == 0;
    rest[word] = '\0';
    trim_end(rest);
    size_t number = last_word(rest);
    long count = strtol(rest + number, NULL, 10);
    bool digits = rest[number] && strspn(rest + number, "0123456789") == strlen(rest + number);
    rest[number] = '\0';
    trim_end(rest);
    size_t to = last_word(rest);
    bool found = named && digits && strcmp(rest + to, "to") == 0;
    bool good = !found || (count >= 1 && count <= LEVELS_MOST);
    if (found && good) {
        *levels = (int)count;
        text[to] = '\0';
        trim_end(text);
    }
    mem_free(rest);
    return good;
}

/* ---- labels ---- */

/* The lines that were shown, of what is kept of entries: each of the last entry first. The label is so many
 * bytes of the line. */
typedef bool (*LineVisit)(void *context, const char *line, size_t label, size_t length);

static void each_shown_line(const Prompt *prompt, LineVisit visit, void *context) {
    const Journal *journal = &prompt->past.journal;
    bool going = true;
    for (int i = journal->count - 1; i >= 0 && going; i--) {
        Text results = {0};
        told_add_results(&results, journal->entries[i].output ? journal->entries[i].output : "");
        for (const char *line = text_string(&results); *line && going;) {
            size_t length = strcspn(line, "\n");
            const char *equals = strstr(line, " = ");
            if (equals && equals > line && equals < line + length && *line != ' ')
                going = visit(context, line, (size_t)(equals - line), length);
            line += length + (line[length] == '\n');
        }
        text_free(&results);
    }
}

typedef struct LabelSearch {
    const char *label, *value; /* either is wanted */
    char *found;
    bool several;
} LabelSearch;

static bool look_for_label(void *context, const char *line, size_t label, size_t length) {
    LabelSearch *search = context;
    const char *value = line + label + strlen(" = ");
    size_t width = length - label - strlen(" = ");
    bool fits = search->label ? strlen(search->label) == label && strncasecmp(line, search->label, label) == 0
                              : strlen(search->value) == width && strncmp(value, search->value, width) == 0;
    if (!fits)
        return true;
    char *found = mem_copy(line, label);
    search->several = search->several || (search->found && strcmp(search->found, found) != 0);
    if (search->found)
        mem_free(found);
    else
        search->found = found;
    return !search->label;
}

/* The label as it was shown; NULL: there is none. */
static char *shown_label(const Prompt *prompt, const char *label) {
    LabelSearch search = {.label = label};
    each_shown_line(prompt, look_for_label, &search);
    return search.found;
}

/* The only label that has that value; NULL: none, or several. */
static char *label_of_value(const Prompt *prompt, const char *value) {
    LabelSearch search = {.value = value};
    each_shown_line(prompt, look_for_label, &search);
    if (search.several) {
        mem_free(search.found);
        search.found = NULL;
    }
    return search.found;
}

enum { LABELS_NAMED = 6 };

typedef struct LabelList {
    Text text;
    int count;
} LabelList;

static bool list_label(void *context, const char *line, size_t label, size_t length) {
    LabelList *list = context;
    Text quoted = {0};
    (void)length;
    text_add_char(&quoted, '"');
    text_add(&quoted, line, label);
    text_add_char(&quoted, '"');
    if (!list->count || !strstr(text_string(&list->text), text_string(&quoted))) {
        text_add_string(&list->text, list->count++ ? ", " : "");
        text_add_string(&list->text, text_string(&quoted));
    }
    text_free(&quoted);
    return list->count < LABELS_NAMED;
}

static void complain_of_label(Prompt *prompt, const char *label) {
    LabelList list = {0};
    each_shown_line(prompt, list_label, &list);
    if (list.count)
        prompt_complain(prompt, MSG_WHY_LABEL, ARGS(label, text_string(&list.text)));
    else
        prompt_complain(prompt, MSG_WHY_NOTHING_SHOWN, NO_ARGS);
    text_free(&list.text);
}

/* ---- what a line in everyday words asks about ---- */

static bool is_value(Prompt *prompt, const char *name) {
    KindInfo info;
    return session_kind_of(prompt->session, name, false, &info) && info.kind != KIND_NONE;
}

static bool is_pointing(const char *word) {
    static const char *const words[] = {"it", "that", "this", "so"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcasecmp(word, words[i]) == 0)
            return true;
    return false;
}

/* The bytes of a word that a question has before what it asks about; 0 for none. */
static size_t asking_word(const char *text) {
    static const char *const words[] = {"is ", "are ", "was ", "were ", "does ",
                                        "do ", "did ", "the ", "my ",   "our "};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strncasecmp(text, words[i], strlen(words[i])) == 0)
            return strlen(words[i]) + strspn(text + strlen(words[i]), " \t");
    return 0;
}

/* A name, a label, or a word that points at the latest result. */
static bool name_what(Prompt *prompt, const char *text, Question *question) {
    if (strcasecmp(text, "it") == 0)
        return true;
    if (is_value(prompt, text))
        question->expression = mem_copy_string(text);
    else
        question->label = shown_label(prompt, text);
    return question->expression || question->label || is_pointing(text);
}

static void say_meant(Prompt *prompt, const Question *question) {
    Text line = {0};
    text_add_string(&line, question->expression || question->label ? "why " : "why");
    text_add_string(&line, question->expression ? question->expression : "");
    text_add_string(&line, question->label ? "\"" : "");
    text_add_string(&line, question->label ? question->label : "");
    text_add_string(&line, question->label ? "\"" : "");
    prompt_say_meant(prompt, text_string(&line));
    text_free(&line);
}

/* The bytes of the words that ask, at the start of a question: "is the batch". */
static size_t asking_words(const char *text) {
    size_t asks = 0, word;
    while ((word = asking_word(text + asks)))
        asks += word;
    return asks;
}

/* "is my cider so sour": what is asked about is no result, but help may find it. */
static void complain_of_question(Prompt *prompt, const char *words) {
    Text line = {0}, out = {0};
    text_add_string(&line, "help ");
    text_add_string(&line, words);
    prompt_complain(prompt, MSG_WHY_QUESTION, ARGS(words, text_string(&line)));
    prompt_offer(prompt, &out, text_string(&line), NULL);
    prompt_print(prompt, &out);
    text_free(&line);
    text_free(&out);
}

/* "is it 9.6 %ABV", "is the batch so small": the first words that name something, without those that ask. */
static bool read_question(Prompt *prompt, const char *text, Question *question) {
    size_t asks = asking_words(text);
    char *rest = mem_copy_string(text + asks);
    bool found = name_what(prompt, rest, question);
    while (!found && asks && last_word(rest)) {
        rest[last_word(rest)] = '\0';
        trim_end(rest);
        found = name_what(prompt, rest, question);
    }
    mem_free(rest);
    return found;
}

/* ---- what is asked about ---- */

/* A name that is no value: says what it is, and what helps. */
static bool explain_name(Prompt *prompt, const char *name) {
    NameSearch search = prompt_find_name(prompt, name);
    bool found = search.found && search.kind != NAME_VALUE;
    if (found && search.kind == NAME_UNIT) {
        prompt_complain(prompt, MSG_WHY_UNIT, ARGS(name));
    } else if (found && search.kind == NAME_KEYWORD) {
        prompt_complain(prompt, MSG_WHY_KEYWORD, ARGS(name));
    } else if (found) {
        char *example = prompt_example_of(search.doc);
        if (example)
            prompt_complain(prompt, MSG_WHY_FORMULA, ARGS(name, example));
        else
            prompt_complain(prompt, MSG_WHY_OWN_FORMULA, ARGS(name));
        mem_free(example);
    }
    prompt_free_search(&search);
    return found;
}

/* The same error as if it had been typed alone, and the line that it may have meant. True where it worked. */
static bool show_errors(Prompt *prompt, const char *expression) {
    Text out = {0}, line = {0};
    console_watch(prompt->console, prompt->session);
    run_listen(&prompt->output, prompt->console, prompt->session, prompt->options, true);
    prompt_begin_work(prompt->session);
    SessionStatus status = session_try_expression(prompt->session, expression);
    prompt_end_work();
    run_listen(&prompt->output, prompt->console, prompt->session, prompt->options, false);
    if (status == SESSION_OK)
        return true;
    prompt_failed(prompt, status);
    char *instead = status == SESSION_FAILED ? instead_show(prompt->console, expression, true) : NULL;
    if (instead) {
        text_add_string(&line, "why ");
        text_add_string(&line, instead);
        prompt_offer(prompt, &out, text_string(&line), NULL);
        prompt_print(prompt, &out);
    }
    text_free(&out);
    text_free(&line);
    mem_free(instead);
    return false;
}

/* A value as it was typed has no working; the result that has it may be meant. */
static bool read_literal(Prompt *prompt, const char *text, Question *question) {
    KindInfo info;
    if (!session_kind_of(prompt->session, text, true, &info))
        return false;
    question->label = label_of_value(prompt, text);
    return question->label != NULL;
}

/* What was asked without quotes. False when that is not known: says why. */
static bool read_words(Prompt *prompt, const char *text, Question *question) {
    bool runs = session_line_state(prompt->session, text, true) == LINE_RUNS;
    if (runs && !read_literal(prompt, text, question)) {
        question->expression = mem_copy_string(text);
        return true;
    }
    if (question->label || (!runs && (question->label = shown_label(prompt, text))) ||
        (is_pointing(text) && !runs)) {
        if (question->label)
            say_meant(prompt, question);
        return true;
    }
    if (explain_name(prompt, text))
        return false;
    if (!read_question(prompt, text, question))
        question->expression = instead_understood(prompt->session, text, true);
    else if (!question->expression && !question->label) {
        say_meant(prompt, question);
        return true;
    }
    if (question->expression || question->label) {
        say_meant(prompt, question);
        return true;
    }
    size_t asks = asking_words(text);
    if (asks && text[asks])
        complain_of_question(prompt, text + asks);
    else
        show_errors(prompt, text);
    return false;
}

/* A `find` at the prompt shows what it found, which a script does not. */
static char *latest_found(const Prompt *prompt) {
    const Journal *journal = &prompt->past.journal;
    for (int i = journal->count - 1; i >= 0; i--) {
        const Entry *entry = &journal->entries[i];
        if (!entry->output || !*entry->output)
            continue;
        bool find = !entry->file && strncmp(entry->text, "find ", 5) == 0;
        const char *equals = find ? strstr(entry->output, " = ") : NULL;
        return equals ? mem_copy(entry->output, (size_t)(equals - entry->output)) : NULL;
    }
    return NULL;
}

/* False when there is nothing to tell: says why. */
static bool read_asked(Prompt *prompt, const char *argument, Question *question) {
    char *text = mem_copy_string(argument);
    bool good = take_levels(text, &question->levels);
    size_t length = strlen(text);
    while (length && strchr("?! \t", text[length - 1]))
        text[--length] = '\0';
    bool quoted = length >= 2 && text[0] == '"' && strchr(text + 1, '"') == text + length - 1;
    if (!good) {
        prompt_complain(prompt, MSG_WHY_LEVELS, NO_ARGS);
    } else if (quoted) {
        question->label = mem_copy(text + 1, length - 2);
    } else if (length) {
        good = read_words(prompt, text, question);
    }
    if (good && !question->expression && !question->label)
        question->expression = latest_found(prompt);
    mem_free(text);
    return good;
}

/* ---- the working ---- */

/* The error that ended the run; NULL: there is none. */
static const Diag *fatal_error(Session *session) {
    const DiagList *errors = session_errors(session);
    for (int i = 0; i < errors->count; i++) {
        MessageClass class = message_class(errors->items[i]->id);
        if (class != CLASS_EXPECT && class != CLASS_NOTE)
            return errors->items[i];
    }
    return NULL;
}

/* Without a working: why there is none. */
static void complain_of_none(Prompt *prompt, Session *session, const Question *question,
                             SessionStatus status) {
    const Diag *error = fatal_error(session);
    if (status == SESSION_INTERRUPTED) {
        prompt_complain(prompt, MSG_INTERRUPTED, NO_ARGS);
    } else if (status == SESSION_LIMIT) {
        prompt_failed(prompt, status);
        console_show_error(prompt->console, error);
    } else if (error && question->expression && !show_errors(prompt, question->expression)) {
        return;         /* told */
    } else if (error) { /* of a line that worked by itself */
        console_show_error(prompt->console, error);
        prompt_complain(prompt, MSG_WHY_NO_SCRIPT, NO_ARGS);
    } else if (session_working_is_cut(session)) {
        prompt_complain(prompt, MSG_WHY_TOO_LONG, NO_ARGS);
    } else if (question->expression) {
        prompt_complain(prompt, MSG_WHY_AS_GIVEN, ARGS(question->expression));
    } else if (question->label) {
        complain_of_label(prompt, question->label);
    } else {
        prompt_complain(prompt, MSG_WHY_NOTHING_SHOWN, NO_ARGS);
    }
}

/* The lines so far and the one that is asked about, with the place of the files that were loaded. */
static Source *script_for(Prompt *prompt, const Question *question) {
    Text line = {0}, script = {0}, path = {0};
    char *folder = journal_folder(prompt);
    if (question->expression) {
        text_add_string(&line, "show ");
        text_add_string(&line, question->expression);
    }
    journal_write(prompt, text_string(&line), &script);
    text_add_string(&path, folder ? folder : "");
    text_add_string(&path, "/prompt");
    Source *source =
        source_new("prompt", folder ? text_string(&path) : NULL, text_string(&script), script.length);
    mem_free(folder);
    text_free(&line);
    text_free(&script);
    text_free(&path);
    return source;
}

/* Cautions that were not given yet: they are about what is asked. They count as given only when that is
 * entered. */
static void add_cautions(Prompt *prompt, Session *session, Text *out) {
    const Report *report = session_report(session);
    for (int i = 0; i < report->count; i++) {
        Text caution = {0};
        RenderText state = {.units = session_units(session), .columns = console_columns(prompt->console)};
        if (report->items[i]->type != ITEM_CAUTION)
            continue;
        render_text_item(&caution, &state, report->items[i]);
        if (!told_has(&prompt->told, text_string(&caution)))
            text_add_string(out, text_string(&caution));
        text_free(&caution);
    }
}

static void show_working(Prompt *prompt, const Question *question) {
    size_t width = console_width(prompt->console);
    SessionStatus status;
    Text out = {0};
    Source *script = script_for(prompt, question);
    Session *session = why_run(prompt->options, prompt->console, script, question->levels,
                               question->label ? question->label : "", &status);
    bool stopped = status == SESSION_INTERRUPTED || status == SESSION_LIMIT;
    bool failed = stopped || (question->expression && fatal_error(session));
    if (!failed && why_add(&out, session, !question->expression, width ? width : WHY_WIDTH)) {
        add_cautions(prompt, session, &out);
        prompt_print(prompt, &out);
    } else {
        complain_of_none(prompt, session, question, status);
    }
    session_free(session);
    source_release(script);
    text_free(&out);
}

void prompt_why(Prompt *prompt, const char *argument) {
    Question question = {.levels = 1};
    if (read_asked(prompt, argument, &question))
        show_working(prompt, &question);
    mem_free(question.expression);
    mem_free(question.label);
}
