/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The events of a report as iCalendar (RFC 5545), one all-day VEVENT each.
 *
 * Reports are reproducible, so nothing here comes from the clock:
 *   DTSTAMP   which RFC 5545 demands, is the start of the event's own day, 00:00 UTC;
 *   UID       is a UUID of version 8 (RFC 9562, section 5.8) made of the first bytes of the SHA-256 of the
 * script's name, its inputs, the event's day and text, and which of the like it is: the same run taken in
 * twice changes the same events, and so does one of a script that was mended elsewhere; another batch has its
 * own.
 *
 * The whole text report is in the DESCRIPTION of the calendar (RFC 7986, section 5.2). Programs seldom
 * show that one, so the cautions, failed checks and the error of a failed run are reported in each event as
 * well. A calendar must hold a component (RFC 5545, section 3.6): one without events holds a VJOURNAL that
 * says so.
 */
#include <string.h>

#include "base/mem.h"
#include "base/sha256.h"
#include "numbers/calendar.h"
#include "output/render.h"

enum {
    LINE_OCTETS = 75,          /* RFC 5545, section 3.1, without the line break */
    REPEATED_OCTETS = 1 << 20, /* beyond so much in all, later events point to the first for the cautions */
};

/* ---- lines ---- */

/* A content line, folded; the space that opens a continuation counts, and no character is cut. */
static void add_line(Text *out, const char *line, size_t length) {
    size_t column = 0;
    for (size_t at = 0; at < length;) {
        uint32_t code_point;
        size_t used = utf8_decode(line + at, length - at, &code_point);
        used = used ? used : 1;
        if (column + used > LINE_OCTETS) {
            text_add_string(out, "\r\n ");
            column = 1;
        }
        text_add(out, line + at, used);
        column += used;
        at += used;
    }
    text_add_string(out, "\r\n");
}

/* Section 3.3.11: backslash, semicolon, comma and line breaks are escaped; other controls have no place. */
static void add_escaped(Text *out, const char *text) {
    size_t length = strlen(text);
    for (size_t at = 0; at < length;) {
        uint32_t code_point = 0;
        size_t used = utf8_decode(text + at, length - at, &code_point);
        bool control = !used || utf8_is_control(code_point);
        if (code_point == '\n') {
            text_add_string(out, "\\n");
        } else if (control && code_point != '\t') {
            text_add_char(out, ' ');
        } else {
            if (used == 1 && strchr("\\;,", text[at]))
                text_add_char(out, '\\');
            text_add(out, text + at, used);
        }
        at += used ? used : 1;
    }
}

/* `NAME:text` */
static void add_text(Text *out, const char *name, const char *text) {
    Text line = {0};
    text_add_string(&line, name);
    text_add_char(&line, ':');
    add_escaped(&line, text);
    add_line(out, text_string(&line), line.length);
    text_free(&line);
}

static void add_plain(Text *out, const char *line) {
    add_line(out, line, strlen(line));
}

/* 20270214 */
static void add_digits(Text *out, double days) {
    Text date = {0};
    render_date(&date, days);
    for (const char *p = text_string(&date); *p; p++)
        if (*p != '-')
            text_add_char(out, *p);
    text_free(&date);
}

/* ---- what a component says ---- */

/* The script without its folder, and its inputs; one without a name goes by its bytes. */
static void add_run(Text *seed, const RenderSubject *subject) {
    const char *slash = strrchr(subject->script, '/'), *name = slash ? slash + 1 : subject->script;
    text_add_string(seed, strcmp(name, "-") == 0 ? subject->sha256 : name);
    for (int i = 0; i < subject->report->input_count; i++) {
        const InputResult *input = &subject->report->inputs[i];
        text_add_char(seed, '\n');
        text_add_string(seed, input->name);
        text_add_char(seed, '=');
        render_input_value(seed, subject->units, input);
    }
}

static void add_uid(Text *out, const RenderSubject *subject, const char *kind, int number, const char *text) {
    char hash[SHA256_HEX_SIZE];
    Text seed = {0};
    add_run(&seed, subject);
    text_add_char(&seed, '\n');
    text_add_string(&seed, kind);
    text_add_char(&seed, '\n');
    text_add_integer(&seed, number);
    text_add_char(&seed, '\n');
    text_add_string(&seed, text);
    sha256_hex(text_string(&seed), seed.length, hash);
    text_free(&seed);
    hash[12] = '8';                  /* the version */
    hash[16] = "89ab"[hash[16] & 3]; /* the variant: the two bits 10, then two of the hash */
    text_add_string(out, "UID:");
    for (int i = 0; i < 32; i++) {
        if (i == 8 || i == 12 || i == 16 || i == 20)
            text_add_char(out, '-');
        text_add_char(out, hash[i]);
    }
    text_add_string(out, "\r\n");
}

/* Cautions, and what failed. */
static void add_warnings(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    const Diag *error = render_error(subject);
    for (int i = 0; i < report->count; i++) {
        if (report->items[i]->type != ITEM_CAUTION)
            continue;
        text_add_string(out, "Caution: ");
        text_add_string(out, report->items[i]->text);
        text_add_string(out, "\n");
    }
    if (report->expects_failed) {
        text_add_string(out, "Checks of the script failed: ");
        text_add_integer(out, report->expects_failed);
        text_add_string(out, "\n");
    }
    if (!error)
        return;
    text_add_string(out, "The run stopped at an error, and events may be missing: ");
    render_place(out, error);
    text_add_string(out, error->source ? ": " : "");
    text_add_string(out, error->message);
    text_add_string(out, "\n");
}

static void add_origin(Text *out, const RenderSubject *subject) {
    text_add_string(out, subject->script);
    text_add_string(out, ", ");
    text_add_string(out, subject->program);
}

static void add_event(Text *out, const RenderSubject *subject, const Item *event, int number,
                      const char *description) {
    Text line = {0}, date = {0};
    add_digits(&date, event->date);
    add_plain(out, "BEGIN:VEVENT");
    add_uid(out, subject, text_string(&date), number, event->text);
    text_add_string(&line, "DTSTAMP:");
    text_add_string(&line, text_string(&date));
    text_add_string(&line, "T000000Z");
    add_plain(out, text_string(&line));
    text_clear(&line);
    text_add_string(&line, "DTSTART;VALUE=DATE:");
    text_add_string(&line, text_string(&date));
    add_plain(out, text_string(&line));
    text_clear(&line);
    render_one_line(&line, event->text);
    add_text(out, "SUMMARY", text_string(&line));
    add_text(out, "DESCRIPTION", description);
    add_plain(out, "TRANSP:TRANSPARENT"); /* a reminder: it keeps nobody busy all day */
    add_plain(out, "END:VEVENT");
    text_free(&line);
    text_free(&date);
}

static void add_events(Text *out, const RenderSubject *subject, const Item *const *events, int count,
                       const char *description) {
    static const char elsewhere[] = "The cautions for these events are in the first one";
    NameMap like = {0}; /* how many of each text the day has so far */
    size_t said = 0;
    for (int i = 0; i < count; i++) {
        int number = 0;
        if (i > 0 && events[i]->date != events[i - 1]->date)
            name_map_free(&like);
        name_map_get(&like, events[i]->text, &number);
        name_map_set(&like, events[i]->text, ++number);
        said += strlen(description);
        bool repeat = i == 0 || said <= REPEATED_OCTETS;
        add_event(out, subject, events[i], number, repeat ? description : elsewhere);
    }
    name_map_free(&like);
}

/* Dated like the first day of the count of days, since it belongs to none. */
static void add_journal(Text *out, const RenderSubject *subject, const char *description) {
    Text text = {0};
    add_plain(out, "BEGIN:VJOURNAL");
    add_uid(out, subject, "none", 0, "");
    add_plain(out, "DTSTAMP:19700101T000000Z");
    text_add_string(&text, "No events: ");
    render_one_line(&text, subject->script);
    add_text(out, "SUMMARY", text_string(&text));
    add_text(out, "DESCRIPTION", description);
    add_plain(out, "END:VJOURNAL");
    text_free(&text);
}

void render_icalendar(Text *out, const RenderSubject *subject) {
    int count;
    const Item **events = render_sorted_events(subject->report, &count);
    Text whole = {0}, warnings = {0}, maker = {0};
    render_text(&whole, subject);
    add_warnings(&warnings, subject);
    add_origin(&warnings, subject);
    text_add_string(&maker, "-//Rundlet//");
    text_add_string(&maker, subject->program);
    text_add_string(&maker, "//EN");
    add_plain(out, "BEGIN:VCALENDAR");
    add_plain(out, "VERSION:2.0");
    add_text(out, "PRODID", text_string(&maker));
    add_text(out, "NAME", subject->script);
    add_text(out, "DESCRIPTION", text_string(&whole));
    if (count)
        add_events(out, subject, events, count, text_string(&warnings));
    else
        add_journal(out, subject, text_string(&warnings));
    add_plain(out, "END:VCALENDAR");
    text_free(&whole);
    text_free(&warnings);
    text_free(&maker);
    mem_free(events);
}
