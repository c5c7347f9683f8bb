/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "programs/why.h"

#include <string.h>

#include "base/mem.h"
#include "programs/prompt_state.h"

Session *why_run(const Options *options, Console *console, Source *file, int levels, const char *label,
                 SessionStatus *status) {
    Session *before = console->session, *session = run_session_working(options, levels, label);
    RunOutput output;
    console->session = session; /* the one to stop */
    run_listen(&output, console, session, options, true);
    prompt_begin_work(session);
    *status = session_run(session, file);
    *status = output.sink.over ? SESSION_LIMIT : *status;
    prompt_end_work();
    session_listen(session, NULL, NULL);
    console->session = before;
    return session;
}

/* ---- which formula can be looked at ---- */

typedef struct FormulaSearch {
    const char *name;
    bool general; /* sums and roundings too, which need no looking up */
    bool found;
} FormulaSearch;

static void look_for_formula(void *context, const NameInfo *info) {
    FormulaSearch *search = context;
    bool library = info->kind == NAME_LIBRARY || info->kind == NAME_NATIVE;
    bool wanted = library && (search->general || !info->topic || strcmp(info->topic, "General") != 0);
    search->found = search->found || (wanted && strcmp(info->name, search->name) == 0);
}

/* The formula of the library that the steps end with, or NULL: that of the result itself goes before those of
 * its parts. */
static const char *library_formula(Session *session, bool general, const WorkingStep *steps, int count) {
    for (int i = count - 1; i >= 0; i--) {
        FormulaSearch search = {.name = steps[i].formula, .general = general};
        if (search.name)
            session_each_name(session, look_for_formula, &search);
        if (search.found)
            return search.name;
        const char *within = library_formula(session, general, steps[i].children, steps[i].child_count);
        if (within)
            return within;
    }
    return NULL;
}

static void add_source_line(Text *out, const char *formula) {
    char *words = message_take(PHRASE_WHY_SOURCE, ARGS(formula));
    text_add_string(out, words);
    text_add_char(out, '\n');
    mem_free(words);
}

/* ---- the working ---- */

/* A value as it was written: there is nothing to work out. */
static bool is_as_given(const Working *working) {
    const WorkingStep *only = working->steps;
    return working->count == 1 && !only->name && !only->child_count && !only->with_values &&
           strcmp(only->expression, only->value) == 0 && !working->share_count;
}

/* The label says nothing that the last step does not begin with: `5 gal as L`, `batch`. */
static bool has_label(const Working *working, const char *label) {
    const WorkingStep *last = &working->steps[working->count - 1];
    return !label || !*label || (last->name && strcmp(last->name, label) == 0) ||
           strcmp(last->expression, label) == 0;
}

static const char *add_one(Text *out, Session *session, const Working *working, const char *label,
                           bool titled, size_t columns) {
    if (!working->count || is_as_given(working))
        return NULL;
    if (titled && !has_label(working, label)) {
        text_add_clean(out, label, strlen(label), "", " ");
        text_add_string(out, ":\n");
    }
    render_working(out, working, (int)columns);
    const char *formula = library_formula(session, false, working->steps, working->count);
    return formula ? formula : library_formula(session, true, working->steps, working->count);
}

bool why_add(Text *out, Session *session, bool titled, size_t columns) {
    const Report *report = session_report(session);
    const char *formula = NULL;
    size_t before = out->length;
    for (int i = 0; i < report->count; i++) {
        const Item *item = report->items[i];
        if (item->working)
            formula = add_one(out, session, item->working, item->label, titled, columns);
        for (int c = 0; item->table && c < item->table->column_count; c++) {
            const TableColumn *column = &item->table->columns[c];
            const char *used = column->working
                                   ? add_one(out, session, column->working, column->label, titled, columns)
                                   : NULL;
            formula = used ? used : formula;
        }
    }
    if (formula)
        add_source_line(out, formula);
    return out->length > before;
}
