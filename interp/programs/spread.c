/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Uncertainty told: budgets, and what was drawn, as plain text. */
#include "programs/spread.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

/* ---- budgets ---- */

typedef struct Share {
    SourceShare source;
    double variance; /* its part of the whole, 0 to 1 */
    int order;
} Share;

static int compare_shares(const void *left, const void *right) {
    const Share *a = left, *b = right;
    if (a->variance < b->variance || a->variance > b->variance)
        return a->variance < b->variance ? 1 : -1;
    return a->order < b->order ? -1 : 1;
}

static void add_share(Text *out, const UnitTable *units, const Share *share) {
    Text percent = {0};
    format_places(&percent, share->variance * 100, share->variance < 0.0995 ? 1 : 0);
    text_add_padding(out, percent.length, 8);
    text_add(out, text_string(&percent), percent.length);
    text_add_string(out, " %  ");
    text_add_string(out, share->source.name);
    text_add_string(out, " = ");
    format_spread(out, share->source.value.as.number, share->source.uncertainty, (FormatSpec){0});
    display_unit(out, units, share->source.value.unit);
    text_add_char(out, '\n');
    text_free(&percent);
}

void spread_budget(Text *out, Session *session, const Item *item) {
    const Shown *shown = &item->shown;
    double uncertainty = render_spread(session_units(session), shown);
    int count = uncertainty > 0 ? session_source_count(session) : 0, kept = 0;
    Share *shares = mem_array((size_t)count + 1, sizeof *shares);
    for (int i = 0; i < count; i++) {
        SourceShare source = session_source_share(session, shown->number, i);
        double ratio = source.contribution / uncertainty;
        if (fabs(ratio) > 1e-9)
            shares[kept++] = (Share){.source = source, .variance = ratio * ratio, .order = i};
    }
    qsort(shares, (size_t)kept, sizeof *shares, compare_shares);
    for (int i = 0; i < kept; i++)
        add_share(out, session_units(session), &shares[i]);
    mem_free(shares);
}

/* ---- the last line ---- */

/* Did something stop the script? What it has not come to may have a ±. */
static bool has_stopped(const Session *session) {
    const DiagList *errors = session_errors(session);
    for (int i = 0; i < errors->count; i++)
        if (message_class(errors->items[i]->id) != CLASS_EXPECT)
            return true;
    return false;
}

void spread_close(Console *console, Session *session, const Options *options) {
    Text text = {0};
    if (session_source_count(session) == 0 && has_stopped(session))
        return;
    if (options->budget) {
        if (session_source_count(session) == 0)
            text_add_string(&text, "there is no budget: the script has no ±\n");
    } else if (session_source_count(session) == 0) {
        text_add_string(&text, "nothing was drawn: the script has no ±\n");
    } else {
        text_add_string(&text, "drawn ");
        text_add_integer(&text, options->trials);
        text_add_string(&text, " times; --seed ");
        text_add_integer(&text, (long long)options->seed);
        text_add_string(&text, " repeats it\n");
    }
    console_write(console, &text);
    text_free(&text);
}
