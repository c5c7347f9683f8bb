/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "facade/limits.h"

#include <string.h>

#include "base/mem.h"
#include "numbers/format.h"

typedef struct LimitUnit {
    const char *name;
    double factor;
} LimitUnit;

static const LimitUnit time_units[] = {{"s", 1}, {"ms", 1e-3}, {"min", 60}, {"h", 3600}, {NULL, 0}};
static const LimitUnit size_units[] = {{"MB", 1e6},   {"GB", 1e9},        {"kB", 1e3},           {"B", 1},
                                       {"KiB", 1024}, {"MiB", 1048576.0}, {"GiB", 1073741824.0}, {NULL, 0}};
static const LimitUnit plain_units[] = {{"", 1}, {NULL, 0}};

static void set_seconds(SessionLimits *limits, double amount) {
    limits->seconds = amount;
}
static void set_memory(SessionLimits *limits, double amount) {
    limits->memory = (size_t)amount;
}
static void set_depth(SessionLimits *limits, double amount) {
    limits->depth = (int)amount;
}
static void set_output(SessionLimits *limits, double amount) {
    limits->output = (size_t)amount;
}

typedef struct LimitRow {
    const char *name;
    void (*set)(SessionLimits *limits, double amount);
    const LimitUnit *units;
    double least, most;
    const char *example;
    MessageId hit;
    const char *raised;
} LimitRow;

static const LimitRow rows[] = {
    {"time", set_seconds, time_units, 1e-3, 1e9, "10s", MSG_TIME_LIMIT, "60s"},
    {"memory", set_memory, size_units, 1e5, 1e15, "256MB", MSG_MEMORY_LIMIT, "2GB"},
    {"depth", set_depth, plain_units, 1, 1e6, "1000", MSG_DEPTH_LIMIT, "5000"},
    {"output", set_output, size_units, 1, 1e15, "10MB", MSG_OUTPUT_LIMIT, "100MB"},
};
enum { ROW_COUNT = sizeof rows / sizeof *rows };

/* ---- reading ---- */

static bool read_amount(const char *text, const LimitRow *row, double *amount) {
    size_t digits = strspn(text, "0123456789.");
    if (!digits || !format_read(text, digits, amount))
        return false;
    const LimitUnit *unit = row->units;
    while (unit->name && strcmp(unit->name, text + digits) != 0)
        unit++;
    if (!unit->name)
        return false;
    *amount *= unit->factor;
    return *amount >= row->least && *amount <= row->most;
}

static bool fail(DiagList *errors, MessageId id, MessageArg *args) {
    diag_add(errors, id, NULL, (Span){0, 0}, args);
    return false;
}

static bool read_one(SessionLimits *limits, const char *name, const char *value, DiagList *errors) {
    double amount;
    const LimitRow *row = rows;
    while (row < rows + ROW_COUNT && strcmp(row->name, name) != 0)
        row++;
    if (row == rows + ROW_COUNT)
        return fail(errors, MSG_LIMIT_UNKNOWN,
                    ARGS(*name ? arg_text(name) : arg_phrase(PHRASE_OF_THAT_KIND, NO_ARGS)));
    if (!value || !*value)
        return fail(errors, MSG_LIMIT_VALUE_MISSING, ARGS(name, row->example));
    if (!read_amount(value, row, &amount))
        return fail(errors, MSG_LIMIT_VALUE, ARGS(value, name, row->example));
    row->set(limits, amount);
    return true;
}

bool limits_read(SessionLimits *limits, const char *text, DiagList *errors) {
    char *parts = mem_copy_string(text);
    bool good = true;
    for (char *part = parts; good && part;) {
        char *next = strchr(part, ',');
        if (next)
            *next++ = '\0';
        char *equals = strchr(part, '=');
        if (equals)
            *equals++ = '\0';
        good = read_one(limits, part, equals, errors);
        part = next;
    }
    mem_free(parts);
    return good;
}

/* ---- words ---- */

void limits_add_size(Text *out, size_t bytes) {
    static const char *const units[] = {"B", "kB", "MB", "GB"};
    size_t unit = 0;
    for (; unit < 3 && bytes && bytes % 1000 == 0; unit++)
        bytes /= 1000;
    text_add_integer(out, (long long)bytes);
    text_add_string(out, units[unit]);
}

void limits_tell_raise(Diag *diag, const char *option) {
    for (size_t i = 0; option && i < ROW_COUNT; i++) {
        if (rows[i].hit != diag->id || !diag->hint)
            continue;
        MessageArg hint = arg_text(diag->hint);
        diag_hint(diag, HINT_RAISE_LIMIT, ARGS(hint, option, rows[i].name, rows[i].raised));
    }
}
