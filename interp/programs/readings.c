/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#define PCRE2_CODE_UNIT_WIDTH 8
#include "programs/readings.h"

#include <pcre2.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"

typedef struct ReadingRow {
    const char *typed, *line;
    bool surely;
} ReadingRow;

static const ReadingRow rows[] = {
#define READING(typed, line) {typed, line, true},
#define LIKELY(typed, line)  {typed, line, false},
#include "programs/readings.def"
#undef READING
#undef LIKELY
};

enum {
    ROW_COUNT = sizeof rows / sizeof *rows,
    MOST_STEPS = 4,  /* rows used one after another, beyond the first */
    MOST_TRIED = 80, /* lines checked in all */
    LINE_MOST = 400  /* bytes: nobody says more in one line */
};

typedef struct ReadingSearch {
    Session *session;
    const char *typed;
    bool expression, alone;
    pcre2_general_context *general;
    pcre2_code *codes[ROW_COUNT];
    char *tried[MOST_TRIED];
    int tried_count;
    char *sure, *likely; /* found: at most one of each */
} ReadingSearch;

static void search_begin(ReadingSearch *search) {
    search->general = pcre2_general_context_create(mem_alloc_for, mem_free_for, NULL);
    pcre2_compile_context *compile = pcre2_compile_context_create(search->general);
    for (int i = 0; i < ROW_COUNT; i++) {
        int error = 0;
        size_t offset = 0;
        search->codes[i] =
            pcre2_compile((PCRE2_SPTR)rows[i].typed, PCRE2_ZERO_TERMINATED,
                          PCRE2_CASELESS | PCRE2_UTF | PCRE2_DOLLAR_ENDONLY, &error, &offset, compile);
    }
    pcre2_compile_context_free(compile);
}

static void search_end(ReadingSearch *search) {
    for (int i = 0; i < ROW_COUNT; i++)
        pcre2_code_free(search->codes[i]);
    pcre2_general_context_free(search->general);
    for (int i = 0; i < search->tried_count; i++)
        mem_free(search->tried[i]);
}

/* The line with what the row says in each place that it fits; NULL where it fits none. */
static char *put(const ReadingSearch *search, int row, const char *line) {
    PCRE2_UCHAR out[2 * LINE_MOST];
    size_t length = sizeof out;
    if (!search->codes[row])
        return NULL;
    int count = pcre2_substitute(search->codes[row], (PCRE2_SPTR)line, strlen(line), 0,
                                 PCRE2_SUBSTITUTE_GLOBAL | PCRE2_SUBSTITUTE_UNSET_EMPTY, NULL, NULL,
                                 (PCRE2_SPTR)rows[row].line, PCRE2_ZERO_TERMINATED, out, &length);
    return count > 0 && length <= LINE_MOST ? mem_copy((const char *)out, length) : NULL;
}

/* ---- names in several words ---- */

typedef struct NameLookup {
    const char *wanted;
    bool value; /* a value of that name, else a formula */
    bool found;
} NameLookup;

static void look_at_name(void *context, const NameInfo *info) {
    NameLookup *lookup = context;
    lookup->found = lookup->found || ((lookup->value ? info->kind == NAME_VALUE : info->usage != NULL) &&
                                      strcmp(info->name, lookup->wanted) == 0);
}

/* `keg pressure 40F 2.4 vols`: the first words with _ between them, where that is a formula. */
static char *with_joined_name(const ReadingSearch *search, const char *line) {
    char *joined = mem_copy_string(line);
    size_t at = strspn(joined, "abcdefghijklmnopqrstuvwxyz_");
    while (at && joined[at] == ' ') {
        joined[at] = '_';
        at += strspn(joined + at, "abcdefghijklmnopqrstuvwxyz_");
        char *name = mem_copy(joined, at);
        NameLookup lookup = {.wanted = name};
        session_each_name(search->session, look_at_name, &lookup);
        mem_free(name);
        if (lookup.found)
            return joined;
    }
    mem_free(joined);
    return NULL;
}

/* ---- arguments in another order ---- */

enum { ARGUMENTS_MOST = 3 };

/* The arguments of a call that is all of the line, each from `starts` on; their count, or 0. */
static int split_arguments(const char *line, const char **starts) {
    const char *open = strchr(line, '(');
    size_t length = strlen(line);
    int depth = 0, count = 0;
    if (!open || line[length - 1] != ')')
        return 0;
    starts[count++] = open + 1;
    for (const char *at = open; *at; at++) {
        depth += strchr("([{", *at) != NULL;
        depth -= strchr(")]}", *at) != NULL;
        if (*at == '"' || (depth == 0 && at != line + length - 1) ||
            (*at == ',' && depth == 1 && count == ARGUMENTS_MOST))
            return 0;
        if (*at == ',' && depth == 1)
            starts[count++] = at + 1;
    }
    starts[count] = line + length;
    return count;
}

/* The line with its arguments in the order of one permutation. */
static char *in_order(const char *line, const char *const *starts, int count, const int *order) {
    Text out = {0};
    text_add(&out, line, (size_t)(starts[0] - line));
    for (int i = 0; i < count; i++) {
        const char *from = starts[order[i]], *to = starts[order[i] + 1] - 1;
        from += strspn(from, " ");
        text_add_string(&out, i ? ", " : "");
        text_add(&out, from, (size_t)(to - from));
    }
    text_add_char(&out, ')');
    return text_take(&out);
}

static const int orders[][ARGUMENTS_MOST] = {{1, 0, 2}, {0, 2, 1}, {2, 1, 0}, {1, 2, 0}, {2, 0, 1}};

/* ---- trying ---- */

static bool is_command(const ReadingSearch *search, const char *line) {
    static const char *const commands[] = {"help", "units", "names", "set", "why"};
    for (size_t i = 0; i < sizeof commands / sizeof *commands && !search->expression && !search->alone; i++) {
        size_t length = strlen(commands[i]);
        if (strncmp(line, commands[i], length) == 0 && (!line[length] || line[length] == ' '))
            return true;
    }
    return false;
}

/* The line, or what its hints make of it, when that has no error; else NULL. */
static char *runs_as(const ReadingSearch *search, const char *line, bool *surely) {
    if (is_command(search, line))
        return mem_copy_string(line);
    switch (session_line_state(search->session, line, search->expression)) {
    case LINE_RUNS:
        return mem_copy_string(line);
    case LINE_FAULTY: {
        if (search->alone)
            break;
        bool sure = false;
        char *mended = session_mended(search->session, line, search->expression, &sure);
        *surely = *surely && sure;
        return mended;
    }
    case LINE_GOES_ON:
        break;
    }
    return NULL;
}

static bool was_tried(const ReadingSearch *search, const char *line) {
    for (int i = 0; i < search->tried_count; i++)
        if (strcmp(search->tried[i], line) == 0)
            return true;
    return false;
}

enum { SPREAD_SIGN = 10, SIGNS = 11 };

/* Which digit begins at `at`, or SPREAD_SIGN; -1 for neither. `CO2` is a word. */
static int sign_at(const char *text, const char *at) {
    const char *start = at;
    while (start > text && start[-1] >= '0' && start[-1] <= '9')
        start--;
    bool in_word = start > text && ((start[-1] | 0x20) >= 'a' && (start[-1] | 0x20) <= 'z');
    if (*at >= '0' && *at <= '9')
        return in_word ? -1 : *at - '0';
    bool spread = strncmp(at, "\xC2\xB1", 2) == 0 || strncmp(at, "+-", 2) == 0 || strncmp(at, "+/-", 3) == 0;
    return spread ? SPREAD_SIGN : -1;
}

static void count_signs(const char *text, int by, int *counts) {
    for (const char *at = text; *at; at++)
        if (sign_at(text, at) >= 0)
            counts[sign_at(text, at)] += by;
}

bool reading_keeps_all(const char *typed, const char *line) {
    int left[SIGNS] = {0};
    count_signs(line, 1, left);
    count_signs(typed, -1, left);
    for (int i = 0; i < SIGNS; i++)
        if (left[i] < 0)
            return false;
    return true;
}

/* `batch(3 gal)` of a value is no call. */
static bool calls_value(const ReadingSearch *search, const char *line) {
    size_t length = strspn(line, "abcdefghijklmnopqrstuvwxyz_0123456789");
    if (!length || line[length] != '(')
        return false;
    char *name = mem_copy(line, length);
    NameLookup lookup = {.wanted = name, .value = true};
    session_each_name(search->session, look_at_name, &lookup);
    mem_free(name);
    return lookup.found;
}

static void look_further(ReadingSearch *search, const char *line, bool surely, int steps);

/* Takes the line. */
static void try_line(ReadingSearch *search, char *line, bool surely, int steps) {
    if (!*line || search->sure || search->tried_count == MOST_TRIED || was_tried(search, line) ||
        !reading_keeps_all(search->typed, line) || calls_value(search, line)) {
        mem_free(line);
        return;
    }
    search->tried[search->tried_count++] = line;
    bool sure = surely;
    char *found = runs_as(search, line, &sure);
    char **place = sure ? &search->sure : &search->likely;
    if (found && !*place)
        *place = found;
    else
        mem_free(found);
    if (!found && !search->alone && steps < MOST_STEPS)
        look_further(search, line, surely, steps + 1);
}

/* `keg_pressure(2.4 vols, 38 F)`, whose kinds say which is which. Only shown: the order is for the person. */
static void try_orders(ReadingSearch *search, const char *line, int steps) {
    const char *starts[ARGUMENTS_MOST + 1];
    int count = split_arguments(line, starts);
    for (size_t i = 0; i < sizeof orders / sizeof *orders && count > 1; i++)
        if (count == ARGUMENTS_MOST || i == 0)
            try_line(search, in_order(line, starts, count, orders[i]), false, steps);
}

static void look_further(ReadingSearch *search, const char *line, bool surely, int steps) {
    char *joined = with_joined_name(search, line);
    if (joined)
        try_line(search, joined, surely, steps);
    for (int i = 0; i < ROW_COUNT && !search->sure; i++) {
        char *other = put(search, i, line);
        if (other)
            try_line(search, other, surely && rows[i].surely, steps);
    }
    if (!search->sure && !search->likely && !search->alone)
        try_orders(search, line, MOST_STEPS);
}

char *reading_of(Session *session, const char *typed, ReadingScope scope, bool *surely) {
    ReadingSearch search = {
        .session = session, .typed = typed, .expression = scope.expression, .alone = scope.alone};
    size_t blanks = strspn(typed, " \t"), length = strlen(typed + blanks);
    while (length && strchr(" \t\r\n", typed[blanks + length - 1]))
        length--;
    if (!length || length > LINE_MOST)
        return NULL;
    char *line = mem_copy(typed + blanks, length);
    search_begin(&search);
    look_further(&search, line, true, 0);
    search_end(&search);
    mem_free(line);
    *surely = search.sure != NULL;
    if (search.sure)
        mem_free(search.likely);
    return search.sure ? search.sure : search.likely;
}
