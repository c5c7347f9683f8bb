/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "facade/sink.h"

#include <string.h>

#include "base/sha256.h"

enum { DATED = 24 }; /* bytes of a calendar's line beside the event's text */

static void stop_at_limit(Sink *sink, MessageId id, size_t limit) {
    Text amount = {0};
    limits_add_size(&amount, limit);
    sink->over = true;
    session_limit_error(sink->session, id, text_string(&amount));
    if (sink->stop)
        sink->stop(sink->context);
    else
        session_interrupt(sink->session);
    text_free(&amount);
}

/* Events come at the end, but count when they are reported. */
static void count(Sink *sink, const Item *item, size_t length) {
    size_t bytes = item->type == ITEM_EVENT ? strlen(item->text) + DATED : length;
    sink->written += bytes;
    if (sink->keeps_items || item->type == ITEM_EVENT)
        sink->kept += bytes + sizeof *item;
    if (sink->keeps_text)
        sink->kept += bytes;
}

static void on_item(void *context, const Item *item) {
    Sink *sink = context;
    const SessionLimits *limits = session_limits(sink->session);
    if (sink->over)
        return;
    Text text = {0};
    if (sink->add)
        sink->add(sink->context, &text, &sink->text, item);
    else
        render_text_item(&text, &sink->text, item);
    count(sink, item, text.length);
    if (limits->output && sink->written > limits->output)
        stop_at_limit(sink, MSG_OUTPUT_LIMIT, limits->output);
    else if (limits->memory && sink->kept > limits->memory)
        stop_at_limit(sink, MSG_MEMORY_LIMIT, limits->memory);
    else if (sink->take)
        sink->take(sink->context, &text);
    text_free(&text);
}

void sink_open(Sink *sink, Session *session) {
    sink->session = session;
    sink->text = (RenderText){.units = session_units(session)};
    sink->written = sink->kept = 0;
    sink->over = false;
    session_listen(session, on_item, sink);
    if (!sink->keeps_items)
        session_pass_items(session);
}

SessionStatus sink_status(const Sink *sink, SessionStatus status) {
    return sink->over ? SESSION_LIMIT : status;
}

void sink_add_calendar(Sink *sink, Text *out) {
    render_text_calendar(out, &sink->text, session_report(sink->session));
}

/* The first `items` of the report in a form. */
static void add_items(Text *out, const RenderForm *form, const RenderSubject *subject, int items) {
    Report part = *subject->report;
    RenderSubject of_part = *subject;
    part.count = items;
    of_part.report = &part;
    text_clear(out);
    form->render(out, &of_part);
}

static void add_within(Sink *sink, Text *out, const RenderForm *form, const RenderSubject *subject) {
    size_t limit = session_limits(sink->session)->output;
    int fits = 0, over = subject->report->count + 1;
    add_items(out, form, subject, subject->report->count);
    if (!limit || out->length <= limit)
        return;
    if (!sink->over)
        stop_at_limit(sink, MSG_OUTPUT_LIMIT, limit);
    while (over - fits > 1) {
        int middle = fits + (over - fits) / 2;
        add_items(out, form, subject, middle);
        if (out->length <= limit)
            fits = middle;
        else
            over = middle;
    }
    add_items(out, form, subject, fits);
    if (out->length > limit)
        text_clear(out);
}

void sink_add_report(Sink *sink, Text *out, const RenderForm *form, const Source *source) {
    char hash[SHA256_HEX_SIZE];
    sha256_hex(source->text, source->length, hash);
    RenderSubject subject = {.program = session_program(),
                             .script = source->name,
                             .sha256 = hash,
                             .report = session_report(sink->session),
                             .units = session_units(sink->session),
                             .errors = session_errors(sink->session)};
    add_within(sink, out, form, &subject);
}
