/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The public face: sessions and renderers behind one opaque type. Each run has a fresh session, as a script
 * of the command line has; the last one is kept for its report. */
#include "facade/rundlet.h"

#include <limits.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "facade/sink.h"
#include "numbers/calendar.h"

typedef struct InputSetting {
    char *name;
    char *value;
} InputSetting;

struct Rundlet {
    SessionOptions options;
    char *folder;
    InputSetting *inputs;
    int input_count, input_capacity;
    Session *session; /* of the last run; NULL before the first */
    Source *source;
    Sink sink;
    Text results; /* as they came */
    Text answer;  /* what was handed out last */
};

Rundlet *rundlet_new(void) {
    Rundlet *rundlet = mem_alloc(sizeof *rundlet);
    char folder[PATH_MAX];
    rundlet->options = session_default_options();
    rundlet->folder = mem_copy_string(getcwd(folder, sizeof folder) ? folder : "/");
    return rundlet;
}

static void drop_inputs(Rundlet *rundlet) {
    for (int i = 0; i < rundlet->input_count; i++) {
        mem_free(rundlet->inputs[i].name);
        mem_free(rundlet->inputs[i].value);
    }
    rundlet->input_count = 0;
}

static void drop_run(Rundlet *rundlet) {
    session_free(rundlet->session);
    source_release(rundlet->source);
    rundlet->session = NULL;
    rundlet->source = NULL;
    text_clear(&rundlet->results);
}

void rundlet_free(Rundlet *rundlet) {
    if (!rundlet)
        return;
    drop_run(rundlet);
    drop_inputs(rundlet);
    mem_free(rundlet->inputs);
    mem_free(rundlet->folder);
    text_free(&rundlet->results);
    text_free(&rundlet->answer);
    mem_free(rundlet);
}

/* ---- settings ---- */

void rundlet_limit(Rundlet *rundlet, double seconds, size_t memory, int depth, size_t output) {
    SessionLimits *limits = &rundlet->options.limits;
    limits->seconds = seconds > 0 ? seconds : limits->seconds;
    limits->memory = memory ? memory : limits->memory;
    limits->depth = depth > 0 ? depth : limits->depth;
    limits->output = output ? output : limits->output;
}

void rundlet_set_folder(Rundlet *rundlet, const char *folder) {
    char *copy = mem_copy_string(folder);
    mem_free(rundlet->folder);
    rundlet->folder = copy;
}

void rundlet_set_today(Rundlet *rundlet, int year, int month, int day) {
    CalendarDate date = {.year = year, .month = month, .day = day};
    if (!calendar_is_valid(date))
        return;
    rundlet->options.has_today = true;
    rundlet->options.today = (double)calendar_days(date);
}

void rundlet_set_input(Rundlet *rundlet, const char *name, const char *value) {
    MEM_GROW(rundlet->inputs, rundlet->input_count, rundlet->input_capacity);
    rundlet->inputs[rundlet->input_count++] =
        (InputSetting){.name = mem_copy_string(name), .value = mem_copy_string(value)};
}

/* ---- runs ---- */

static void take_text(void *context, const Text *text) {
    text_add(&((Rundlet *)context)->results, text_string(text), text->length);
}

static void begin_run(Rundlet *rundlet, const char *name, const char *text, size_t length) {
    drop_run(rundlet);
    rundlet->options.folder = rundlet->folder;
    rundlet->session = session_new(&rundlet->options);
    rundlet->source = source_new(name, NULL, text, length);
    rundlet->sink = (Sink){.keeps_items = true, .keeps_text = true, .take = take_text, .context = rundlet};
    sink_open(&rundlet->sink, rundlet->session);
}

static RundletStatus status_of(const Rundlet *rundlet, SessionStatus status) {
    switch (sink_status(&rundlet->sink, status)) {
    case SESSION_OK:
        return RUNDLET_OK;
    case SESSION_USAGE:
        return RUNDLET_USAGE;
    case SESSION_LIMIT:
        return RUNDLET_LIMIT;
    case SESSION_INTERRUPTED:
        return RUNDLET_INTERRUPTED;
    case SESSION_FAILED:
    case SESSION_FILE:
    case SESSION_UNFINISHED:
        break;
    }
    return RUNDLET_FAILED;
}

RundletStatus rundlet_run(Rundlet *rundlet, const char *name, const char *text, size_t length) {
    begin_run(rundlet, name, text, length);
    for (int i = 0; i < rundlet->input_count; i++)
        session_set_input(rundlet->session, rundlet->inputs[i].name, rundlet->inputs[i].value);
    drop_inputs(rundlet);
    SessionStatus status = session_run(rundlet->session, rundlet->source);
    sink_add_calendar(&rundlet->sink, &rundlet->results);
    return status_of(rundlet, status);
}

RundletStatus rundlet_check(Rundlet *rundlet, const char *name, const char *text, size_t length) {
    begin_run(rundlet, name, text, length);
    return status_of(rundlet, session_check(rundlet->session, rundlet->source));
}

void rundlet_interrupt(Rundlet *rundlet) {
    if (rundlet->session)
        session_interrupt(rundlet->session);
}

/* ---- what came of it ---- */

const char *rundlet_results(Rundlet *rundlet) {
    return text_string(&rundlet->results);
}

const char *rundlet_report(Rundlet *rundlet, const char *form_name) {
    const RenderForm *form = form_name ? render_form_find(form_name) : NULL;
    if (!rundlet->session || !form)
        return NULL;
    text_clear(&rundlet->answer);
    sink_add_report(&rundlet->sink, &rundlet->answer, form, rundlet->source);
    return text_string(&rundlet->answer);
}

const char *rundlet_form(int index) {
    const RenderForm *form = render_form_at(index);
    return form ? form->name : NULL;
}

const char *rundlet_errors(Rundlet *rundlet) {
    text_clear(&rundlet->answer);
    if (!rundlet->session)
        return "";
    const DiagList *errors = session_errors(rundlet->session);
    for (int i = 0; i < errors->count; i++) {
        bool told = rundlet->sink.over && errors->items[i]->id == MSG_INTERRUPTED; /* by its limit */
        if (!told)
            diag_render(&rundlet->answer, errors->items[i]);
    }
    return text_string(&rundlet->answer);
}

const char *rundlet_version(void) {
    return session_version();
}
