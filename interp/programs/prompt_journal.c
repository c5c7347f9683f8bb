/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The entries that hold, in order. What the prompt does with the past rests on them: `undo`, `set` and
 * whatever is declared or loaded again run them once more in a fresh session, which takes the place of the
 * old one only when all of them work there. What they showed is kept with them, so that only changes are
 * reported. */
#include "programs/prompt_journal.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"

enum { OUTPUT_MOST = 64 * 1024, STEPS_MOST = 200 };

/* ---- entries ---- */

static Entry entry_copy(const Entry *entry) {
    Entry copy = *entry;
    copy.text = mem_copy_string(entry->text);
    copy.line = mem_copy_string(entry->line);
    copy.output = mem_copy_string(entry->output);
    copy.file = entry->file ? source_keep(entry->file) : NULL;
    copy.inputs = mem_array((size_t)entry->input_count + 1, sizeof *copy.inputs);
    for (int i = 0; i < entry->input_count; i++)
        copy.inputs[i] =
            (InputSetting){mem_copy_string(entry->inputs[i].name), mem_copy_string(entry->inputs[i].value)};
    return copy;
}

void entry_free(Entry *entry) {
    mem_free(entry->text);
    mem_free(entry->line);
    mem_free(entry->output);
    source_release(entry->file);
    for (int i = 0; i < entry->input_count; i++) {
        mem_free(entry->inputs[i].name);
        mem_free(entry->inputs[i].value);
    }
    mem_free(entry->inputs);
    *entry = (Entry){0};
}

Entry entry_new(const char *line, const char *text, Source *file) {
    return (Entry){.line = mem_copy_string(line),
                   .text = mem_copy_string(text),
                   .file = file ? source_keep(file) : NULL};
}

void entry_set_input(Entry *entry, const char *name, const char *value) {
    for (int i = 0; i < entry->input_count; i++)
        if (strcmp(entry->inputs[i].name, name) == 0) {
            mem_free(entry->inputs[i].value);
            entry->inputs[i].value = mem_copy_string(value);
            return;
        }
    entry->inputs = mem_resize_array(entry->inputs, (size_t)entry->input_count + 1, sizeof *entry->inputs);
    entry->inputs[entry->input_count++] = (InputSetting){mem_copy_string(name), mem_copy_string(value)};
}

/* Settings of names that the entry no longer declares: a line each. */
static void drop_inputs(Entry *entry, const char *names) {
    for (const char *at = names; *at; at += strcspn(at, "\n") + 1)
        for (int i = 0; i < entry->input_count; i++) {
            InputSetting *input = &entry->inputs[i];
            if (strlen(input->name) != strcspn(at, "\n") ||
                strncmp(input->name, at, strlen(input->name)) != 0)
                continue;
            mem_free(input->name);
            mem_free(input->value);
            *input = entry->inputs[--entry->input_count];
            i--;
        }
}

void entry_set_text(Entry *entry, const char *text) {
    mem_free(entry->text);
    entry->text = mem_copy_string(text);
    if (entry->file) {
        Source *file = source_new(entry->file->name, entry->file->path, text, strlen(text));
        source_release(entry->file);
        entry->file = file;
    }
}

/* ---- journals ---- */

static Journal journal_copy(const Journal *journal) {
    Journal copy = {.entries = mem_array((size_t)journal->count + 1, sizeof *copy.entries)};
    copy.capacity = journal->count + 1;
    for (; copy.count < journal->count; copy.count++)
        copy.entries[copy.count] = entry_copy(&journal->entries[copy.count]);
    return copy;
}

static void journal_free(Journal *journal) {
    for (int i = 0; i < journal->count; i++)
        entry_free(&journal->entries[i]);
    mem_free(journal->entries);
    *journal = (Journal){0};
}

static void journal_insert(Journal *journal, int at, Entry entry) {
    MEM_GROW(journal->entries, journal->count, journal->capacity);
    memmove(journal->entries + at + 1, journal->entries + at,
            (size_t)(journal->count - at) * sizeof *journal->entries);
    journal->entries[at] = entry;
    journal->count++;
}

static void journal_remove(Journal *journal, int at) {
    entry_free(&journal->entries[at]);
    journal->count--;
    memmove(journal->entries + at, journal->entries + at + 1,
            (size_t)(journal->count - at) * sizeof *journal->entries);
}

/* ---- steps, for undo ---- */

static void step_free(UndoStep *step) {
    journal_free(&step->before);
    mem_free(step->line);
}

static void add_step(Prompt *prompt, UndoStep step) {
    PromptPast *past = &prompt->past;
    if (past->step_count == STEPS_MOST) {
        step_free(&past->steps[0]);
        memmove(past->steps, past->steps + 1, (size_t)--past->step_count * sizeof *past->steps);
    }
    MEM_GROW(past->steps, past->step_count, past->step_capacity);
    past->steps[past->step_count++] = step;
}

void journal_add(Prompt *prompt, Entry entry) {
    Journal *journal = &prompt->past.journal;
    journal_insert(journal, journal->count, entry);
    add_step(prompt, (UndoStep){.line = mem_copy_string(entry.line), .added = true});
}

void journal_clear(Prompt *prompt, const char *line) {
    Journal *journal = &prompt->past.journal;
    if (journal->count)
        add_step(prompt, (UndoStep){.line = mem_copy_string(line), .before = *journal});
    *journal = (Journal){0};
}

void journal_close(Prompt *prompt) {
    PromptPast *past = &prompt->past;
    journal_free(&past->journal);
    for (int i = 0; i < past->step_count; i++)
        step_free(&past->steps[i]);
    mem_free(past->steps);
    *past = (PromptPast){0};
}

/* ---- what an entry shows ---- */

static bool is_one_line(const char *text) {
    return !strchr(text, '\n') && !strchr(text, '#');
}

void journal_listen(Prompt *prompt, Session *session, const char *line, Text *copy, bool silent) {
    run_listen(&prompt->output, prompt->console, session, prompt->options, false);
    prompt->output.copy = copy;
    prompt->output.copy_most = OUTPUT_MOST;
    prompt->output.copy_label = is_one_line(line) ? line : NULL;
    prompt->output.copy_state = (RenderText){.units = session_units(session)};
    prompt->output.told = &prompt->told;
    if (silent)
        prompt->output.sink.take = NULL;
}

void journal_add_rest(Prompt *prompt, Session *session, Text *copy) {
    const DiagList *errors = session_errors(session);
    render_text_events(copy, session_report(session), console_columns(prompt->console));
    for (int i = 0; i < errors->count; i++)
        diag_render(copy, errors->items[i]);
}

char *journal_folder(const Prompt *prompt) {
    const Journal *journal = &prompt->past.journal;
    const char *path = NULL;
    size_t length = 0;
    for (int i = 0; i < journal->count; i++) {
        const char *other = journal->entries[i].file ? journal->entries[i].file->path : NULL;
        const char *slash = other ? strrchr(other, '/') : NULL;
        if (!slash)
            continue;
        if (path && ((size_t)(slash - other) != length || strncmp(path, other, length) != 0))
            return NULL;
        path = other;
        length = (size_t)(slash - other);
    }
    return path ? mem_copy(path, length) : NULL;
}

/* ---- values ---- */

typedef struct NamedValue {
    char *name;
    char *text; /* "5 gal", as a `show` has it; of several lines for some */
} NamedValue;

typedef struct ValueList {
    NamedValue *values;
    int count, capacity;
} ValueList;

static void keep_value_name(void *context, const NameInfo *info) {
    ValueList *list = context;
    if (info->kind != NAME_VALUE)
        return;
    MEM_GROW(list->values, list->count, list->capacity);
    list->values[list->count++] = (NamedValue){.name = mem_copy_string(info->name)};
}

static int compare_values(const void *a, const void *b) {
    return strcmp(((const NamedValue *)a)->name, ((const NamedValue *)b)->name);
}

char *journal_value_text(Prompt *prompt, Session *session, const char *name) {
    Text line = {0}, copy = {0};
    text_add_string(&line, "show \"\": ");
    text_add_string(&line, name);
    session_on_error(session, NULL, NULL);
    journal_listen(prompt, session, "", &copy, true);
    prompt->output.copy_label = NULL;
    session_enter(session, text_string(&line));
    console_watch(prompt->console, session);
    text_free(&line);
    while (copy.length && copy.bytes[copy.length - 1] == '\n')
        copy.bytes[--copy.length] = '\0';
    return text_take(&copy);
}

static ValueList list_values(Prompt *prompt, Session *session) {
    ValueList list = {0};
    session_each_name(session, keep_value_name, &list);
    if (list.count)
        qsort(list.values, (size_t)list.count, sizeof *list.values, compare_values);
    for (int i = 0; i < list.count; i++)
        list.values[i].text = journal_value_text(prompt, session, list.values[i].name);
    return list;
}

static void values_free(ValueList *list) {
    for (int i = 0; i < list->count; i++) {
        mem_free(list->values[i].name);
        mem_free(list->values[i].text);
    }
    mem_free(list->values);
}

static const char *text_of(const ValueList *list, const char *name) {
    for (int i = 0; i < list->count; i++)
        if (strcmp(list->values[i].name, name) == 0)
            return list->values[i].text;
    return NULL;
}

/* ---- running them once more ---- */

static bool rerun_entry(Prompt *prompt, Session *session, Entry *entry, bool loud) {
    Text copy = {0};
    for (int i = 0; i < entry->input_count; i++)
        session_set_input(session, entry->inputs[i].name, entry->inputs[i].value);
    if (loud)
        console_watch(prompt->console, session);
    else
        session_on_error(session, NULL, NULL);
    journal_listen(prompt, session, entry->line, &copy, !loud);
    prompt->output.repeat = true;
    prompt_begin_work(session);
    SessionStatus status =
        entry->file ? session_enter_source(session, entry->file) : session_enter(session, entry->text);
    prompt_end_work();
    bool holds = status != SESSION_UNFINISHED && session_entry_holds(session) && !prompt->output.sink.over;
    if (loud)
        prompt_print_events(prompt, session);
    journal_add_rest(prompt, session, &copy);
    mem_free(entry->output);
    entry->output = text_take(&copy);
    return holds;
}

/* Says why the entry of a fresh session failed; the last of its errors when it was not told yet. */
static void tell_failure(Prompt *prompt, Session *session, bool told) {
    const DiagList *errors = session_errors(session);
    for (int i = 0; !told && i < errors->count; i++)
        if (message_class(errors->items[i]->id) != CLASS_EXPECT)
            console_show_error(prompt->console, errors->items[i]);
}

static bool was_interrupted(const Session *session) {
    const DiagList *errors = session_errors(session);
    for (int i = 0; i < errors->count; i++)
        if (errors->items[i]->id == MSG_INTERRUPTED)
            return true;
    return false;
}

/* What becomes of entries that fail. */
typedef enum OnFailure { GIVE_UP, DROP, DROP_UNSEEN } OnFailure;

/* Runs all entries of a journal. The fresh session, or NULL when one fails (*failed). With DROP those that
 * fail are taken out instead, except for the one that is `loud`: it shows its results, and its errors. */
static Session *run_all(Prompt *prompt, Journal *journal, int loud, OnFailure drop, int *failed) {
    Session *session = run_new_session(prompt->options);
    session_hint_set(session, loud < 0);
    *failed = -1;
    for (int i = 0; i < journal->count && *failed < 0; i++) {
        bool last = i == loud;
        if (rerun_entry(prompt, session, &journal->entries[i], last))
            continue;
        if (last || drop == GIVE_UP || was_interrupted(session)) {
            *failed = i;
            break;
        }
        if (drop == DROP) {
            tell_failure(prompt, session, false);
            prompt_note(prompt, NOTE_LINE_LEFT_OUT, ARGS(journal->entries[i].line));
        }
        journal_remove(journal, i--);
        loud -= loud > i;
    }
    if (*failed < 0)
        return session;
    tell_failure(prompt, session, *failed == loud);
    session_free(session);
    return NULL;
}

/* The fresh session and its journal take the place of the old ones. */
static void take_over(Prompt *prompt, Session *session, Journal journal) {
    Session *old = prompt->session;
    prompt->session = session;
    console_watch(prompt->console, session);
    run_listen(&prompt->output, prompt->console, session, prompt->options, false);
    session_free(old);
    journal_free(&prompt->past.journal);
    prompt->past.journal = journal;
}

static void give_up(Prompt *prompt, Journal *journal) {
    console_watch(prompt->console, prompt->session);
    run_listen(&prompt->output, prompt->console, prompt->session, prompt->options, false);
    journal_free(journal);
}

/* ---- what changed ---- */

/* Does a file of the journal declare the name? Its results show what it is now. */
static bool is_of_file(Prompt *prompt, const Journal *journal, const char *name) {
    bool found = false;
    for (int i = 0; i < journal->count && !found; i++) {
        Text out = {0};
        const Entry *entry = &journal->entries[i];
        found =
            entry->file && session_set_value(prompt->session, entry->text, name, "0", &out) != SETTABLE_NOT;
        text_free(&out);
    }
    return found;
}

/* `told`: the lines that were written, without what the values were. */
static void tell_values(Prompt *prompt, const ValueList *before, const char *always, Text *told) {
    ValueList after = list_values(prompt, prompt->session);
    Text out = {0};
    for (int i = 0; i < after.count; i++) {
        const NamedValue *value = &after.values[i];
        const char *was = text_of(before, value->name);
        bool asked = always && strcmp(value->name, always) == 0;
        if (!was || strcmp(was, value->text) == 0 || strcmp(value->name, "it") == 0)
            continue;
        if (!asked && is_of_file(prompt, &prompt->past.journal, value->name))
            continue;
        text_add_string(&out, value->name);
        text_add_string(&out, " = ");
        text_add_string(&out, value->text);
        bool lines = strchr(value->text, '\n') || strchr(was, '\n');
        text_add_string(&out, lines ? "\n" : ", was ");
        text_add_string(&out, lines ? "" : was);
        text_add_string(&out, lines ? "" : "\n");
        text_add_string(told, value->name);
        text_add_string(told, " = ");
        text_add_string(told, value->text);
        text_add_char(told, '\n');
    }
    prompt_print(prompt, &out);
    text_free(&out);
    values_free(&after);
}

/* Does the same line come again later? Then only that one is told. */
static bool comes_again(const Journal *journal, int at) {
    for (int i = at + 1; i < journal->count; i++)
        if (strcmp(journal->entries[i].line, journal->entries[at].line) == 0)
            return true;
    return false;
}

static bool same_results(const char *a, const char *b) {
    Text left = {0}, right = {0};
    told_add_results(&left, a);
    told_add_results(&right, b);
    bool same = strcmp(text_string(&left), text_string(&right)) == 0;
    text_free(&left);
    text_free(&right);
    return same;
}

static bool was_shown(const Journal *before, const Entry *entry) {
    for (int i = 0; i < before->count; i++)
        if (strcmp(before->entries[i].line, entry->line) == 0 &&
            same_results(before->entries[i].output, entry->output))
            return true;
    return false;
}

/* Does it show one value, which was told as a value that changed? */
static bool is_told_value(const Text *values, const char *kept) {
    Text results = {0};
    told_add_results(&results, kept);
    const char *line = text_string(&results), *end = strchr(line, '\n');
    bool single = end && !end[1], found = false;
    for (const char *at = text_string(values); *at && single && !found; at += strcspn(at, "\n") + 1)
        found = strncmp(at, line, results.length) == 0;
    text_free(&results);
    return found;
}

/* The results of entries that are not what they were, and cautions that come up. `values`: lines told of
 * values. `but`: an entry whose results were shown already. */
static void tell_results(Prompt *prompt, const Journal *before, const Text *values, const char *but) {
    const Journal *journal = &prompt->past.journal;
    for (int i = 0; i < journal->count; i++) {
        const Entry *entry = &journal->entries[i];
        bool told = (but && strcmp(entry->line, but) == 0) || comes_again(journal, i) ||
                    was_shown(before, entry) || is_told_value(values, entry->output);
        Text out = {0};
        told_add_fresh(&prompt->told, &out, entry->output, !told);
        prompt_print(prompt, &out);
        text_free(&out);
    }
}

/* What is different with the journal that took over. */
static void tell_changes(Prompt *prompt, const ValueList *values, const char *always, const Journal *before,
                         const char *but) {
    Text told = {0};
    tell_values(prompt, values, always, &told);
    tell_results(prompt, before, &told, but);
    text_free(&told);
}

/* ---- undo ---- */

/* The first line of what was typed, in messages. */
static char *short_line(const char *line) {
    size_t length = strcspn(line, "\n");
    Text text = {0};
    text_add(&text, line, length);
    if (line[length] && line[length + strspn(line + length, "\n")])
        text_add_string(&text, " …");
    return text_take(&text);
}

void journal_undo(Prompt *prompt) {
    PromptPast *past = &prompt->past;
    int failed;
    if (!past->step_count) {
        prompt_complain(prompt, MSG_UNDO_NOTHING, NO_ARGS);
        return;
    }
    UndoStep *step = &past->steps[past->step_count - 1];
    Journal journal = journal_copy(step->added ? &past->journal : &step->before);
    if (step->added && journal.count)
        journal_remove(&journal, journal.count - 1);
    Session *session = run_all(prompt, &journal, -1, GIVE_UP, &failed);
    if (!session) {
        give_up(prompt, &journal);
        return;
    }
    take_over(prompt, session, journal);
    char *line = short_line(step->line);
    prompt_note(prompt, NOTE_TAKEN_BACK, ARGS(line));
    mem_free(line);
    step_free(step);
    past->step_count--;
}

/* ---- set ---- */

/* A text for an input is written without its quotes, as on the command line. */
static void set_bare(Entry *entry, const char *name, const char *value) {
    size_t length = strlen(value);
    bool quoted = length >= 2 && value[0] == '"' && value[length - 1] == '"';
    char *bare = quoted ? mem_copy(value + 1, length - 2) : mem_copy_string(value);
    entry_set_input(entry, name, bare);
    mem_free(bare);
}

/* What was typed is shown as it is now; a file keeps its name. */
static void change_text(Entry *entry, const char *text) {
    entry_set_text(entry, text);
    if (!entry->file) {
        mem_free(entry->line);
        entry->line = mem_copy_string(entry->text);
    }
}

/* Gives the name its value in the last entry that gives it one; what it is there. `entry`: that one. */
static Settable change_value(Prompt *prompt, Journal *journal, const char *name, const char *value,
                             int *entry) {
    Settable kind = SETTABLE_NOT;
    for (int i = journal->count - 1; i >= 0 && kind == SETTABLE_NOT; i--) {
        Text changed = {0};
        *entry = i;
        kind = session_set_value(prompt->session, journal->entries[i].text, name, value, &changed);
        if (kind == SETTABLE_INPUT)
            set_bare(&journal->entries[i], name, value);
        else if (kind == SETTABLE_LET)
            change_text(&journal->entries[i], text_string(&changed));
        text_free(&changed);
    }
    return kind;
}

static bool is_unit(Prompt *prompt, const char *name) {
    NameSearch search = prompt_find_name(prompt, name);
    bool found = search.found && search.kind == NAME_UNIT;
    prompt_free_search(&search);
    return found;
}

static void complain_unsettable(Prompt *prompt, Settable kind, const Entry *entry, const char *name,
                                const char *value) {
    if (kind == SETTABLE_COMPUTED) {
        char *line = short_line(entry->line);
        prompt_complain(prompt, MSG_SET_COMPUTED, ARGS(name, line, value));
        mem_free(line);
    } else {
        prompt_complain(prompt, is_unit(prompt, name) ? MSG_SET_UNIT : MSG_SET_UNKNOWN, ARGS(name, value));
    }
}

/* With an expression, only the run says of what kind the value is. */
static bool keeps_kind(Prompt *prompt, Session *session, const char *name, const char *value) {
    KindInfo was, is;
    Text before = {0}, after = {0};
    if (!session_kind_of(prompt->session, name, false, &was) || was.kind == KIND_NONE ||
        !session_kind_of(session, name, false, &is))
        return true;
    session_describe_kind(prompt->session, &was, &before);
    session_describe_kind(session, &is, &after);
    bool same = strcmp(text_string(&before), text_string(&after)) == 0;
    if (!same)
        prompt_refuse_kind(prompt, name, value, &was, text_string(&after));
    text_free(&before);
    text_free(&after);
    return same;
}

void journal_set(Prompt *prompt, const char *line, const char *name, const char *value) {
    int failed, at = 0;
    Journal before = journal_copy(&prompt->past.journal), journal = journal_copy(&before);
    Settable kind = change_value(prompt, &journal, name, value, &at);
    if (kind != SETTABLE_INPUT && kind != SETTABLE_LET) {
        complain_unsettable(prompt, kind, kind ? &journal.entries[at] : NULL, name, value);
        journal_free(&journal);
        journal_free(&before);
        return;
    }
    ValueList values = list_values(prompt, prompt->session);
    Session *session = run_all(prompt, &journal, -1, GIVE_UP, &failed);
    bool kept = session && keeps_kind(prompt, session, name, value);
    if (kept) {
        take_over(prompt, session, journal);
        tell_changes(prompt, &values, name, &before, NULL);
        add_step(prompt, (UndoStep){.line = mem_copy_string(line), .before = before});
    } else {
        if (session)
            session_free(session);
        else
            prompt_complain(prompt, MSG_SET_REFUSED, ARGS(name, value));
        give_up(prompt, &journal);
        journal_free(&before);
    }
    values_free(&values);
}

/* ---- declared and loaded again ---- */

/* Takes what is declared again out of earlier entries. Where the first of them was, or -1: there stands
 * `instead`, one statement, unless it is NULL. `values`: `let` and the like as well. */
static int erase_earlier(Prompt *prompt, Journal *journal, const char *names, const char *instead,
                         bool values) {
    int first = -1;
    for (int i = 0; i < journal->count; i++) {
        Text rest = {0};
        Entry *entry = &journal->entries[i];
        bool erased = session_erase_declared(prompt->session, entry->text, names, first < 0 ? instead : NULL,
                                             values, &rest);
        if (erased)
            drop_inputs(entry, names);
        if (erased && first < 0)
            first = i;
        if (erased && text_string(&rest)[strspn(text_string(&rest), " \t\n")] == '\0')
            journal_remove(journal, i--);
        else if (erased)
            change_text(entry, text_string(&rest));
        text_free(&rest);
    }
    return first;
}

static void note_replaced(Prompt *prompt, const char *names) {
    for (const char *at = names; *at; at += strcspn(at, "\n") + 1) {
        char *name = mem_copy(at, strcspn(at, "\n"));
        prompt_note(prompt, NOTE_REPLACES, ARGS(name));
        mem_free(name);
    }
}

/* Is the entry one declaration of one line, which can be in place of the earlier one? */
static bool is_one_declaration(const Entry *entry, const char *names) {
    return !entry->file && is_one_line(entry->text) && !strchr(entry->text, ';') &&
           names[strcspn(names, "\n")] && !names[strcspn(names, "\n") + 1];
}

void journal_add_replacing(Prompt *prompt, Entry entry, const char *names) {
    Journal before = journal_copy(&prompt->past.journal), journal = journal_copy(&before);
    char *line = mem_copy_string(entry.line), *replaced = mem_copy_string(names);
    bool in_place = is_one_declaration(&entry, replaced);
    int failed, at = erase_earlier(prompt, &journal, replaced, in_place ? entry.text : NULL, false);
    note_replaced(prompt, replaced);
    ValueList values = list_values(prompt, prompt->session);
    Session *session = NULL;
    if (at >= 0) {
        if (!in_place)
            journal_insert(&journal, at, entry_copy(&entry));
        session = run_all(prompt, &journal, -1, GIVE_UP, &failed);
    }
    if (session) {
        take_over(prompt, session, journal);
        tell_changes(prompt, &values, NULL, &before, line);
        add_step(prompt, (UndoStep){.line = mem_copy_string(line), .before = before});
        entry_free(&entry);
    } else {
        if (at >= 0)
            prompt_note(prompt, NOTE_LINE_ABOVE_FAILS, NO_ARGS);
        give_up(prompt, &journal);
        journal_free(&before);
        entry.aside = at >= 0;
        journal_add(prompt, entry);
    }
    values_free(&values);
    mem_free(replaced);
    mem_free(line);
}

static int find_file(const Journal *journal, const Source *file) {
    for (int i = 0; i < journal->count; i++) {
        const Source *other = journal->entries[i].file;
        if (other && other->path && file->path && strcmp(other->path, file->path) == 0)
            return i;
    }
    return -1;
}

static int find_use(const Journal *journal, const char *text) {
    bool is_use = strncmp(text, "use ", 4) == 0 && is_one_line(text);
    for (int i = 0; is_use && i < journal->count; i++)
        if (strcmp(journal->entries[i].text, text) == 0)
            return i;
    return -1;
}

bool journal_run_again(Prompt *prompt, Entry *entry) {
    const Journal *current = &prompt->past.journal;
    int at = entry->file ? find_file(current, entry->file) : find_use(current, entry->text), failed;
    if (at < 0)
        return false;
    Journal before = journal_copy(current), journal = journal_copy(current);
    ValueList values = list_values(prompt, prompt->session);
    entry_free(&journal.entries[at]);
    journal.entries[at] = entry_copy(entry);
    Session *session = run_all(prompt, &journal, at, DROP, &failed);
    if (session) {
        take_over(prompt, session, journal);
        prompt_note(prompt, entry->file ? NOTE_LOADED_AGAIN : NOTE_READ_AGAIN,
                    ARGS(entry->file ? entry->file->name : entry->line));
        tell_changes(prompt, &values, NULL, &before, entry->line);
        add_step(prompt, (UndoStep){.line = mem_copy_string(entry->line), .before = before});
    } else {
        prompt_failed(prompt, SESSION_FAILED);
        give_up(prompt, &journal);
        journal_free(&before);
    }
    values_free(&values);
    return true;
}

void journal_forget(Prompt *prompt, const char *name) {
    Text names = {0}, line = {0};
    Journal before = journal_copy(&prompt->past.journal), journal = journal_copy(&before);
    int failed;
    text_add_string(&names, name);
    text_add_char(&names, '\n');
    text_add_string(&line, "forget ");
    text_add_string(&line, name);
    bool erased = erase_earlier(prompt, &journal, text_string(&names), NULL, true) >= 0;
    Session *session = NULL;
    if (!erased) {
        prompt_complain(prompt, MSG_FORGET_UNKNOWN, ARGS(name));
    } else {
        ValueList values = list_values(prompt, prompt->session);
        session = run_all(prompt, &journal, -1, DROP, &failed);
        if (session) {
            take_over(prompt, session, journal);
            prompt_note(prompt, NOTE_FORGOTTEN, ARGS(name));
            tell_changes(prompt, &values, NULL, &before, NULL);
            add_step(prompt, (UndoStep){.line = mem_copy_string(text_string(&line)), .before = before});
        }
        values_free(&values);
    }
    if (!session) {
        give_up(prompt, &journal);
        journal_free(&before);
    }
    text_free(&names);
    text_free(&line);
}

/* ---- save ---- */

/* A script declares a name once: without what earlier lines fail with, and without the lines that need that.
 */
static Journal journal_for_script(Prompt *prompt, bool told) {
    Journal journal = journal_copy(&prompt->past.journal);
    bool whole = true;
    for (int i = 0; i < journal.count; i++)
        if (journal.entries[i].aside) {
            char *line = short_line(journal.entries[i].line);
            if (told)
                prompt_note(prompt, NOTE_NOT_SAVED, ARGS(line));
            mem_free(line);
            journal_remove(&journal, i--);
            whole = false;
        }
    if (!whole) {
        int failed;
        Session *session = run_all(prompt, &journal, -1, told ? DROP : DROP_UNSEEN, &failed);
        console_watch(prompt->console, prompt->session);
        run_listen(&prompt->output, prompt->console, prompt->session, prompt->options, false);
        if (session)
            session_free(session);
    }
    return journal;
}

/* Without the lines that hold nothing since a name of theirs is declared elsewhere. */
static void add_without_erased(Text *out, const char *text) {
    while (*text) {
        size_t length = strcspn(text, "\n"), blanks = strspn(text, " ");
        size_t line = length + (text[length] == '\n');
        if (!(length && blanks == length))
            text_add(out, text, line);
        text += line;
    }
}

void journal_write(Prompt *prompt, const char *last, Text *out) {
    Journal journal = journal_for_script(prompt, !last);
    Text all = {0};
    for (int i = 0; i < journal.count; i++) {
        const Entry *entry = &journal.entries[i];
        char *text = mem_copy_string(entry->text);
        for (int k = 0; k < entry->input_count; k++) {
            Text changed = {0};
            session_set_value(prompt->session, text, entry->inputs[k].name, entry->inputs[k].value, &changed);
            if (changed.length) {
                mem_free(text);
                text = mem_copy_string(text_string(&changed));
            }
            text_free(&changed);
        }
        add_without_erased(&all, text);
        if (all.length && all.bytes[all.length - 1] != '\n')
            text_add_char(&all, '\n');
        mem_free(text);
    }
    text_add_string(&all, last ? last : "");
    session_write_script(prompt->session, text_string(&all), out);
    journal_free(&journal);
    text_free(&all);
}
