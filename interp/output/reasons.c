/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The reasons below a table, gathered by their kinds. */
#include "output/reasons.h"

#include <string.h>

#include "base/mem.h"
#include "output/render.h"

typedef struct Kinds {
    const char *firsts[REASONS_KINDS]; /* a reason of each kind */
    int members[REASONS_KINDS];
    int count;
    int others; /* reasons of further kinds */
} Kinds;

static size_t digits_at(const char *text) {
    return strspn(text, "0123456789.");
}

/* Do two reasons say the same of other numbers? */
static bool are_alike(const char *a, const char *b) {
    for (;;) {
        size_t number_a = digits_at(a), number_b = digits_at(b);
        if (!number_a != !number_b)
            return false;
        a += number_a;
        b += number_b;
        if (*a != *b)
            return false;
        if (!*a)
            return true;
        a++;
        b++;
    }
}

/* The kind of a reason, which may be new; -1 for one too many. */
static int kind_of(Kinds *kinds, const char *reason) {
    for (int i = 0; i < kinds->count; i++)
        if (are_alike(kinds->firsts[i], reason))
            return i;
    if (kinds->count == REASONS_KINDS)
        return -1;
    kinds->firsts[kinds->count] = reason;
    return kinds->count++;
}

static void count_kinds(Kinds *kinds, const TableResult *table) {
    for (int i = 0; i < table->reason_count; i++) {
        int kind = kind_of(kinds, table->reasons[i]);
        if (kind < 0)
            kinds->others++;
        else
            kinds->members[kind]++;
    }
}

static int told_of(int members) {
    return members == REASONS_ALIKE + 1 ? members : members < REASONS_ALIKE ? members : REASONS_ALIKE;
}

static char *rest_line(int rest, const char *what) {
    Text line = {0};
    text_add_string(&line, "and ");
    text_add_integer(&line, rest);
    text_add_string(&line, what);
    return text_take(&line);
}

char **reasons_lines(const TableResult *table, int *count) {
    Kinds kinds = {.count = 0};
    count_kinds(&kinds, table);
    char **lines = mem_array(REASONS_KINDS * (REASONS_ALIKE + 1) + 1, sizeof *lines);
    int filled = 0;
    for (int kind = 0; kind < kinds.count; kind++) {
        int told = 0, most = told_of(kinds.members[kind]);
        for (int i = 0; i < table->reason_count && told < most; i++) {
            if (!are_alike(kinds.firsts[kind], table->reasons[i]))
                continue;
            Text line = {0};
            render_one_line(&line, table->reasons[i]);
            lines[filled++] = text_take(&line);
            told++;
        }
        if (kinds.members[kind] > told)
            lines[filled++] = rest_line(kinds.members[kind] - told, " more like these");
    }
    if (kinds.others)
        lines[filled++] = rest_line(kinds.others, kinds.others == 1 ? " other reason" : " other reasons");
    *count = filled;
    return lines;
}

void reasons_free(char **lines, int count) {
    for (int i = 0; i < count; i++)
        mem_free(lines[i]);
    mem_free(lines);
}

void reasons_text(Text *out, const TableResult *table, int columns) {
    int count;
    char **lines = reasons_lines(table, &count);
    for (int i = 0; i < count; i++)
        render_wrapped(out, "— ", lines[i], columns);
    reasons_free(lines, count);
}
