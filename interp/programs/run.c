/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs scripts and expressions, checks scripts, lists inputs. Text results are written as they come; the
 * other forms when the run is over. */
#include "programs/run.h"

#include <limits.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "programs/instead.h"
#include "programs/spread.h"
#include "programs/why.h"

Session *run_session_working(const Options *options, int levels, const char *label) {
    static const char nowhere[] = "/";
    char folder[PATH_MAX];
    SessionOptions wanted = session_default_options();
    wanted.limits = options->limits;
    wanted.limit_option = "--limit";
    wanted.working = levels;
    wanted.working_of = label;
    wanted.has_today = options->has_today;
    wanted.today = options->today;
    wanted.folder = getcwd(folder, sizeof folder) ? folder : nowhere;
    return session_new(&wanted);
}

Session *run_new_session(const Options *options) {
    return run_session_working(options, options->working, NULL);
}

SessionStatus run_worse(SessionStatus a, SessionStatus b) {
    static const SessionStatus order[] = {SESSION_USAGE, SESSION_LIMIT, SESSION_FILE, SESSION_FAILED};
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++)
        if (a == order[i] || b == order[i])
            return order[i];
    return SESSION_OK;
}

/* ---- results on their way out ---- */

static void copy_item(RunOutput *output, const Item *item) {
    bool bare = item->type == ITEM_SHOW && !(item->label && *item->label);
    if (output->copy->length >= output->copy_most)
        return;
    if (bare && output->copy_label) {
        text_add_string(output->copy, output->copy_label);
        text_add_string(output->copy, " = ");
    }
    output->copy_state.columns = console_columns(output->console);
    if (item->type == ITEM_CAUTION)
        told_begin_mark(output->copy);
    render_text_item(output->copy, &output->copy_state, item);
    if (item->type == ITEM_CAUTION)
        told_end_mark(output->copy);
}

/* A caution that was given before, in what is computed again. */
static bool is_repeated(RunOutput *output, const Item *item) {
    Text caution = {0};
    RenderText state = {.units = output->copy_state.units, .columns = console_columns(output->console)};
    if (item->type != ITEM_CAUTION || !output->told || !output->sink.take)
        return false;
    render_text_item(&caution, &state, item);
    bool fresh = told_add(output->told, text_string(&caution));
    text_free(&caution);
    return !fresh && output->repeat;
}

static void add_item(void *context, Text *out, RenderText *state, const Item *item) {
    RunOutput *output = context;
    if (output->copy)
        copy_item(output, item);
    if (is_repeated(output, item))
        return;
    state->columns = console_columns(output->console);
    if (output->splits && (item->type == ITEM_NOTE || item->type == ITEM_CAUTION)) {
        Text aside = {0};
        RenderText apart = {.units = state->units, .columns = state->columns};
        render_text_item(&aside, &apart, item);
        console_write_aside(output->console, &aside);
        text_free(&aside);
        return;
    }
    render_text_item(out, state, item);
    if (output->budget && item->type == ITEM_SHOW)
        spread_budget(out, output->sink.session, item);
}

static void take_text(void *context, const Text *text) {
    console_write(((RunOutput *)context)->console, text);
}

static void stop_work(void *context) {
    console_stop_work(((RunOutput *)context)->console);
}

void run_listen(RunOutput *output, Console *console, Session *session, const Options *options, bool silent) {
    *output = (RunOutput){.console = console, .budget = options->budget};
    output->sink = (Sink){.keeps_items = silent || options->working,
                          .add = add_item,
                          .take = silent ? NULL : take_text,
                          .stop = stop_work,
                          .context = output};
    sink_open(&output->sink, session);
}

SessionStatus run_outcome(const RunOutput *output, SessionStatus status) {
    if (output->sink.over)
        return SESSION_LIMIT;
    if (output->console->failure)
        return SESSION_FILE;
    return status <= SESSION_FILE ? status : SESSION_FAILED;
}

/* ---- scripts ---- */

static void set_inputs(Session *session, const Options *options) {
    for (int i = 0; i < options->input_count; i++) {
        const char *equals = strchr(options->inputs[i], '=');
        char *name = mem_copy(options->inputs[i], (size_t)(equals - options->inputs[i]));
        session_set_input(session, name, equals + 1);
        mem_free(name);
    }
}

/* What a run leaves to be written: the report that was asked for, or the calendar and the working. */
static void write_rest(RunOutput *output, const RenderForm *form, const Source *source) {
    Text text = {0};
    if (form) {
        sink_add_report(&output->sink, &text, form, source);
    } else {
        sink_add_calendar(&output->sink, &text);
        output->sink.text.working_columns = console_working_columns(output->console);
        sink_add_working(&output->sink, &text);
    }
    console_write(output->console, &text);
    if (form && form->render == render_tables && !text.length)
        console_complain(output->console, MSG_TABLES_NONE, NO_ARGS);
    text_free(&text);
}

SessionStatus run_script(const Options *options, Console *console) {
    Session *session = run_new_session(options);
    SessionStatus status = SESSION_FILE;
    RunOutput output;
    console_watch(console, session);
    run_listen(&output, console, session, options, options->form != NULL);
    Source *source = session_read_file(session, options->files[0]);
    if (source) {
        set_inputs(session, options);
        status = run_outcome(
            &output, options->trials ? session_run_trials(session, source, options->trials, options->seed)
                                     : session_run(session, source));
        bool tells = (options->trials || options->budget) && !options->form; /* a report has it in its head */
        if (tells && session_did_run(session) && status != SESSION_USAGE)
            spread_close(console, session, options);
        if (!options->form || status != SESSION_USAGE)
            write_rest(&output, options->form, source);
        status = sink_status(&output.sink, status);
    }
    console_watch(console, NULL);
    source_release(source);
    session_free(session);
    return status;
}

/* Below an expression its working, which may need the `it` of earlier ones. */
static void work_expression(const Options *options, Console *console, Session *session, const Text *earlier,
                            const char *text) {
    Text entries = {0}, script = {0}, out = {0};
    SessionStatus status;
    text_add_string(&entries, text_string(earlier));
    text_add_string(&entries, "show ");
    text_add_string(&entries, text);
    session_write_script(session, text_string(&entries), &script);
    Source *source = source_new("prompt", NULL, text_string(&script), script.length);
    Session *worked = why_run(options, console, source, options->working, "", &status);
    if (!why_add(&out, worked, false, WHY_WIDTH) && session_working_is_cut(worked))
        console_complain(console, MSG_WHY_TOO_LONG, NO_ARGS);
    console_write(console, &out);
    session_free(worked);
    source_release(source);
    text_free(&entries);
    text_free(&script);
    text_free(&out);
}

static SessionStatus run_expression(const Options *options, Console *console, Session *session,
                                    const char *typed, Text *earlier) {
    char *understood = instead_understood(session, typed, true);
    if (understood)
        instead_say(console, understood);
    const char *text = understood ? understood : typed;
    SessionStatus status = session_show_expression(session, text);
    if (status == SESSION_FAILED) {
        mem_free(instead_show(console, text, true));
    } else if (status == SESSION_OK && options->working) {
        work_expression(options, console, session, earlier, text);
        text_add_string(earlier, text);
        text_add_char(earlier, '\n');
    }
    mem_free(understood);
    return status;
}

SessionStatus run_expressions(const Options *options, Console *console) {
    Session *session = run_new_session(options);
    SessionStatus worst = SESSION_OK;
    RunOutput output;
    Text earlier = {0};
    run_listen(&output, console, session, options, false);
    output.splits = !console->live;
    for (int i = 0; i < options->expression_count; i++) {
        console_watch(console, session);
        SessionStatus status = run_expression(options, console, session, options->expressions[i], &earlier);
        worst = run_worse(worst, run_outcome(&output, status));
    }
    console_watch(console, NULL);
    session_free(session);
    text_free(&earlier);
    return worst;
}

/* As JSON they are written together, and nothing is said on standard error. */
SessionStatus run_checks(const Options *options, Console *console) {
    SessionStatus worst = SESSION_OK;
    Text errors = {0}, report = {0};
    for (int i = 0; i < options->file_count; i++) {
        Session *session = run_new_session(options);
        if (!options->form)
            console_watch(console, session);
        Source *source = session_read_file(session, options->files[i]);
        worst = run_worse(worst, source ? session_check(session, source) : SESSION_FILE);
        if (options->form)
            render_json_errors(&errors, session_errors(session));
        console_watch(console, NULL);
        source_release(source);
        session_free(session);
    }
    if (options->form) {
        render_json_check(&report, session_program(), options->files, options->file_count, &errors);
        console_write(console, &report);
    }
    text_free(&report);
    text_free(&errors);
    return worst;
}

/* ---- inputs ---- */

/* `name = default`, and its range: `from a to b`. */
static void add_input_columns(Text *setting, Text *range, const UnitTable *units, const InputResult *input) {
    text_add_string(setting, input->name);
    text_add_string(setting, " = ");
    if (input->set)
        display_literal(setting, units, input->initial);
    else
        render_input_value(setting, units, input); /* with its ± */
    if (input->choices.tag == TAG_LIST) {
        text_add_string(range, "from ");
        display_literal(range, units, input->choices);
    }
    if (input->from.tag == TAG_NONE)
        return;
    text_add_string(range, "from ");
    display_literal(range, units, input->from);
    text_add_string(range, " to ");
    display_literal(range, units, input->to);
}

static void pad(Text *out, const Text *cell, size_t width) {
    text_add_string(out, text_string(cell));
    size_t used = utf8_width(text_string(cell), cell->length);
    text_add_padding(out, used, width);
}

/* The lines of a documentation comment under one another. */
static void add_doc(Text *out, const char *doc, size_t column) {
    for (const char *line = doc; line && *line;) {
        size_t length = strcspn(line, "\n");
        if (line != doc)
            text_add_repeated(out, ' ', column);
        text_add_clean(out, line, length, "", " ");
        line += length + (line[length] == '\n');
        if (*line)
            text_add_char(out, '\n');
    }
    while (out->length && out->bytes[out->length - 1] == ' ')
        out->bytes[--out->length] = '\0';
    text_add_char(out, '\n');
}

static void write_inputs(Console *console, Session *session) {
    const Report *report = session_report(session);
    const UnitTable *units = session_units(session);
    size_t setting_width = 0, range_width = 0;
    Text out = {0}, setting = {0}, range = {0};
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < report->input_count; i++) {
            text_clear(&setting);
            text_clear(&range);
            add_input_columns(&setting, &range, units, &report->inputs[i]);
            if (pass == 0) {
                size_t a = utf8_width(text_string(&setting), setting.length) + 2;
                size_t b = range.length ? utf8_width(range.bytes, range.length) + 2 : 0;
                setting_width = a > setting_width ? a : setting_width;
                range_width = b > range_width ? b : range_width;
                continue;
            }
            pad(&out, &setting, setting_width);
            pad(&out, &range, range_width);
            add_doc(&out, report->inputs[i].doc, setting_width + range_width);
        }
    console_write(console, &out);
    text_free(&out);
    text_free(&setting);
    text_free(&range);
}

SessionStatus run_inputs(const Options *options, Console *console) {
    Session *session = run_new_session(options);
    SessionStatus status = SESSION_FILE;
    console_watch(console, session);
    Source *source = session_read_file(session, options->files[0]);
    if (source) {
        status = session_list_inputs(session, source);
        write_inputs(console, session);
    }
    console_watch(console, NULL);
    source_release(source);
    session_free(session);
    return run_worse(status, SESSION_OK);
}
