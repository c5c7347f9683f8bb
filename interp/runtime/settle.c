/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "runtime/settle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/value_arg.h"

/* Notes that wait until the item they are of was told. */
typedef struct Note {
    ItemType type; /* ITEM_NOTE or ITEM_CAUTION */
    char *text;
} Note;

typedef struct Notes {
    Note *items;
    int count, capacity;
    int stop_told; /* 1 + a source, after a note that a run with it moved stops the script; 0: none yet */
} Notes;

static void add_telling(Notes *notes, ItemType type, MessageId id, MessageArg *args) {
    MEM_GROW(notes->items, notes->count, notes->capacity);
    notes->items[notes->count++] = (Note){.type = type, .text = message_take(id, args)};
}

static void add_note(Notes *notes, MessageId id, MessageArg *args) {
    add_telling(notes, ITEM_NOTE, id, args);
}

static void tell_notes(Vm *vm, Notes *notes) {
    for (int i = 0; i < notes->count; i++) {
        report_text(vm->report, notes->items[i].type, notes->items[i].text);
        mem_free(notes->items[i].text);
    }
    notes->count = 0;
}

/* ---- what is to be noted of a value ---- */

static MessageArg called(const char *label) {
    return label && *label ? arg_text(label) : arg_words(PHRASE_THIS_VALUE);
}

static const char *source_name(const Worlds *worlds, int source) {
    return worlds->sources[abs(source) - 1].name;
}

/* A moved ± may leave no such value: on one side, which makes a poor guide, or on both; and of both a source
 * may stop the script, which is reported once. */
static void note_doubt(Vm *vm, Notes *notes, const char *label, bool bent, int number) {
    Worlds *worlds = vm->worlds;
    int lost = worlds->lost[number], sided = worlds->sided[number];
    if (sided)
        add_note(notes, sided > 0 ? NOTE_SPREAD_UP : NOTE_SPREAD_DOWN,
                 ARGS(called(label), source_name(worlds, sided)));
    else if (bent)
        add_note(notes, NOTE_SPREAD_BENDS, ARGS(called(label)));
    if (lost > 0 && lost != worlds->lost_told)
        add_note(notes, NOTE_SPREAD_STOPS, ARGS(source_name(worlds, lost)));
    else if (lost < 0)
        add_note(notes, NOTE_SPREAD_LOST, ARGS(called(label), source_name(worlds, lost)));
    worlds->lost_told = lost > 0 ? lost : worlds->lost_told;
}

/* Of the first of its numbers that has something to be told. */
static void note_shown(Vm *vm, Notes *notes, const char *label, int number, int count, bool bends) {
    bool bent = false;
    int told = number;
    for (int i = number + count - 1; i >= number; i--) {
        bent = bent || (bends && worlds_is_bent(vm->worlds, i));
        if (vm->worlds->lost[i] || vm->worlds->sided[i])
            told = i;
    }
    note_doubt(vm, notes, label, bent, told);
}

/* The worst off of the numbers of a value, by the draws that were refused, then by those that came to it. */
static int worst_drawn_of(const Worlds *worlds, int first, int second) {
    const Drawn *a = &worlds->trials[first], *b = &worlds->trials[second];
    return b->refused > a->refused || (b->refused == a->refused && b->count < a->count) ? second : first;
}

static int worst_drawn(const Worlds *worlds, int first, int count) {
    int worst = first;
    for (int i = first + 1; i < first + count; i++)
        worst = worst_drawn_of(worlds, worst, i);
    return worst;
}

/* "6.0 %", "12 %", "0.020 %": two digits. */
static MessageArg percent(double share) {
    Text text = {0};
    if (share * 100 >= 99.5)
        format_places(&text, share * 100, share < 1 ? 2 : 0);
    else
        format_digits(&text, share * 100, 2);
    text_add_string(&text, " %");
    return arg_taken(ARG_TEXT, &text);
}

/* "no fermentation reaches that (12)" */
static MessageArg reason_counted(const Reason *reason, int count, bool all) {
    MessageArg words =
        reason->varies ? arg_phrase(PHRASE_REASON_EXAMPLE, ARGS(reason->text)) : arg_text(reason->text);
    return all ? words : arg_phrase(PHRASE_REASON_COUNTED, ARGS(words, arg_whole(count)));
}

/* "6.0 % of the draws (60 of 1000) have no such value: …" where some were refused, "523 of 1000 draws" where
 * others took another way, nothing where none is missing. */
static MessageArg missing(const Worlds *worlds, int number) {
    const Drawn *drawn = &worlds->trials[number];
    if (!drawn->refused)
        return drawn->count == drawn->draws
                   ? arg_text("")
                   : arg_phrase(PHRASE_OF_DRAWS, ARGS(arg_whole(drawn->count), arg_whole(drawn->draws)));
    Text list = {0};
    const int *counts = &worlds->refusals[(size_t)number * REASONS_MOST];
    MessageArg next =
        arg_phrase(PHRASE_DRAWS_REFUSED, ARGS(percent((double)drawn->refused / (double)drawn->draws),
                                              arg_whole(drawn->refused), arg_whole(drawn->draws)));
    text_add_string(&list, next.text);
    const char *before = ": ";
    for (int i = 0; i < worlds->reason_count; i++) {
        if (!counts[i])
            continue;
        arg_replace(&next, reason_counted(&worlds->reasons[i], counts[i], counts[i] >= drawn->refused));
        text_add_string(&list, before);
        text_add_string(&list, next.text);
        before = "; ";
    }
    arg_replace(&next, arg_taken(ARG_LIST, &list));
    return next;
}

/* That some draws lack a value: `refused` where there was none, `rest` where they took another way. A value
 * that all the others agree on has no ± to be doubted. */
static void note_drawn(Notes *notes, MessageArg what, MessageId refused, MessageId rest, const Worlds *worlds,
                       int number) {
    const Drawn *drawn = &worlds->trials[number];
    if (drawn->refused || (drawn->count < drawn->draws && drawn->uncertainty > 0))
        add_note(notes, drawn->refused ? refused : rest, ARGS(what, missing(worlds, number)));
    else
        args_free((MessageArg[]){what, {0}});
}

/* What is to be noted of a value shown, and of one in a text. */
static void note_value(Vm *vm, Notes *notes, const char *what, int number, int count, bool bends) {
    const Worlds *worlds = vm->worlds;
    if (worlds->trials)
        note_drawn(notes, called(what), NOTE_OF_VALUE, NOTE_DRAWN_IN, worlds,
                   worst_drawn(worlds, number, count));
    else
        note_shown(vm, notes, what, number, count, bends);
}

/* ---- what a ± turns ---- */

/* "with read moved up by twice its ±" */
static MessageArg moved(const Worlds *worlds, Turn turn) {
    static const MessageId phrases[3][2] = {{PHRASE_MOVED_UP, PHRASE_MOVED_DOWN},
                                            {PHRASE_MOVED_UP_TWICE, PHRASE_MOVED_DOWN_TWICE},
                                            {PHRASE_MOVED_UP_ALL, PHRASE_MOVED_DOWN_ALL}};
    return arg_phrase(phrases[turn.tolerance ? 2 : turn.to_end][turn.down],
                      ARGS(worlds->sources[turn.source].name));
}

static const Face *face_at(const Worlds *worlds, int face) {
    return face >= 0 && worlds->turned.faces[face].fate != FACE_STAYS ? &worlds->turned.faces[face] : NULL;
}

/* A truth that may rest on a verdict must not be told where a ± can turn it, whichever way it is good. */
static bool is_undecided(const Worlds *worlds, const Face *face) {
    return face && face->has_truth && worlds->turned.verdict &&
           (face->fate == FACE_OTHER || face->fate == FACE_AWAY || face->by_limit);
}

static void note_missing_face(Notes *notes, const Worlds *worlds, const Face *face, MessageArg what) {
    ItemType type = face->by_limit ? ITEM_CAUTION : ITEM_NOTE;
    if (face->fate == FACE_AWAY)
        add_telling(notes, worlds->turned.verdict && face->has_truth ? ITEM_CAUTION : type, NOTE_TURNED_AWAY,
                    ARGS(moved(worlds, face->turn), what));
    else
        add_telling(notes, type, NOTE_TURNED_FAILS, ARGS(moved(worlds, face->turn), what, face->words));
}

static void note_stop(Notes *notes, const Worlds *worlds, const Face *face) {
    if (notes->stop_told == face->turn.source + 1)
        return;
    notes->stop_told = face->turn.source + 1;
    add_telling(notes, face->by_limit ? ITEM_CAUTION : ITEM_NOTE, NOTE_TURNED_STOPS,
                ARGS(moved(worlds, face->turn), face->words));
}

/* `told`: a note on its ± says already that it may be missing; one on its draws says why. */
static void note_face(Notes *notes, const Worlds *worlds, const Face *face, const char *label, bool told) {
    if (!face)
        return;
    if (face->fate == FACE_OTHER)
        add_telling(notes, worlds->turned.verdict ? ITEM_CAUTION : ITEM_NOTE, NOTE_TURNED,
                    ARGS(moved(worlds, face->turn), called(label), face->words));
    else if (!told || (face->by_limit && !worlds->trials)) {
        if (face->fate == FACE_STOPPED)
            note_stop(notes, worlds, face);
        else
            note_missing_face(notes, worlds, face, called(label));
    }
    if (is_undecided(worlds, face))
        add_telling(notes, ITEM_CAUTION, CAUTION_UNDECIDED, ARGS(called(label)));
}

/* Is one of these numbers known not to have a ± of both sides, or no value in some draws? */
static bool lacks_some(const Worlds *worlds, int first, int count) {
    for (int i = first; first >= 0 && i < first + count; i++)
        if (worlds->lost[i] || worlds->sided[i] ||
            (worlds->trials && worlds->trials[i].count < worlds->trials[i].draws))
            return true;
    return false;
}

static void tell_turned_cautions(Vm *vm, Notes *notes) {
    const Turned *turned = &vm->worlds->turned;
    for (int i = 0; i < turned->caution_count; i++)
        add_telling(notes, ITEM_CAUTION, NOTE_TURNED_CAUTION,
                    ARGS(moved(vm->worlds, turned->cautions[i].turn), turned->cautions[i].text));
    tell_notes(vm, notes);
}

/* ---- values ---- */

/* The ± of each number of a value; NULL when none has one. */
static double *spreads_of(const Vm *vm, int first, int count) {
    double *spreads = NULL;
    for (int i = 0; i < count; i++) {
        double spread = worlds_spread(vm->worlds, first + i);
        if (spread > 0 && !spreads)
            spreads = mem_array((size_t)count, sizeof *spreads);
        if (spread > 0)
            spreads[i] = spread;
    }
    return spreads;
}

void settle_quote(Vm *vm, const Shown *quote, Text *out) {
    const UnitTable *units = vm->registry->units;
    int count = display_numbers(vm->registry->units, quote->value, NULL, 0);
    double *spreads = spreads_of(vm, quote->number, count);
    Notes notes = {0};
    char *what = message_take(PHRASE_IN_TEXT, ARGS(arg_value(units, quote->value)));
    display_value_spread(out, units, quote->value, quote->format, spreads);
    note_value(vm, &notes, what, quote->number, count, false);
    tell_notes(vm, &notes);
    mem_free(notes.items);
    mem_free(spreads);
    mem_free(what);
}

/* Is one of the values in a text known to be missing in some run? */
static bool text_lacks_some(Vm *vm, const Report *held, const char *text) {
    size_t from = 0, start, end;
    int quote;
    while ((quote = report_find_quote(text, from, &start, &end)) >= 0) {
        const Shown *shown = &held->quotes[quote];
        if (lacks_some(vm->worlds, shown->number,
                       display_numbers(vm->registry->units, shown->value, NULL, 0)))
            return true;
        from = end;
    }
    return false;
}

static void note_text_face(Vm *vm, const Report *held, const Item *item, Notes *notes) {
    const Face *face = item->text ? face_at(vm->worlds, item->shown.face) : NULL;
    if (face)
        note_face(notes, vm->worlds, face, message_text(PHRASE_THIS_TEXT),
                  text_lacks_some(vm, held, item->text));
}

static void settle_text(Vm *vm, const Report *held, char **text) {
    size_t from = 0, start, end;
    Text worded = {0};
    int quote;
    if (!*text || report_find_quote(*text, 0, &start, &end) < 0)
        return;
    while ((quote = report_find_quote(*text, from, &start, &end)) >= 0) {
        text_add(&worded, *text + from, start - from);
        settle_quote(vm, &held->quotes[quote], &worded);
        from = end;
    }
    text_add_string(&worded, *text + from);
    mem_free(*text);
    *text = text_take(&worded);
}

static void settle_show(Vm *vm, Item *item, Notes *notes) {
    Shown *shown = &item->shown;
    int count = display_numbers(vm->registry->units, shown->value, NULL, 0);
    bool is_number = value_is_quantity(shown->value) && shown->value.unit != UNIT_DATE;
    const Face *face = face_at(vm->worlds, shown->face);
    note_face(notes, vm->worlds, face, item->label, lacks_some(vm->worlds, shown->number, count));
    if (is_undecided(vm->worlds, face))
        *shown = (Shown){.value = value_none(), .number = -1, .face = -1};
    if (shown->number < 0)
        return;
    shown->spreads = spreads_of(vm, shown->number, count);
    if (!vm->worlds->trials || !is_number) {
        note_value(vm, notes, item->label, shown->number, count, true);
        return;
    }
    item->drawn = vm->worlds->trials[shown->number];
    bool lacks = item->drawn.refused || item->drawn.count < item->drawn.draws; /* the item says it */
    item->drawn.missing = lacks ? missing(vm->worlds, shown->number).text : NULL;
}

/* ---- tables ---- */

/* The worse off of two cells of a column, for the note below the table; -1: none yet. */
static int worse_cell(const Worlds *worlds, int worst, int number) {
    if (!worlds->trials)
        return worst < 0 && (worlds->lost[number] || worlds->sided[number]) ? number : worst;
    if (worlds->trials[number].count == worlds->trials[number].draws)
        return worst;
    return worst < 0 ? number : worst_drawn_of(worlds, worst, number);
}

/* Tells of a cell that a ± turns or leaves out, as one of its column. */
static void note_cell(Vm *vm, Notes *notes, const TableColumn *column, const TableCell *cell) {
    int count = display_numbers(vm->registry->units, cell->value, NULL, 0);
    char *label = message_take(PHRASE_A_CELL,
                               ARGS(*column->label ? arg_text(column->label) : arg_words(PHRASE_NAMELESS)));
    note_face(notes, vm->worlds, face_at(vm->worlds, cell->face), label,
              lacks_some(vm->worlds, cell->number, count));
    mem_free(label);
}

/* Of such cells of a column the first is told of, and the first that rests on a verdict; all of those are
 * emptied. `told`: there is a note already that some are missing. */
static void settle_faces(Vm *vm, TableColumn *column, int rows, bool told, Notes *notes) {
    bool told_undecided = false;
    for (int row = 0; row < rows; row++) {
        TableCell *cell = &column->cells[row];
        const Face *face = face_at(vm->worlds, cell->face);
        bool undecided = is_undecided(vm->worlds, face);
        if (!face)
            continue;
        if (undecided ? !told_undecided : !told) {
            note_cell(vm, notes, column, cell);
            told = true;
            told_undecided = told_undecided || undecided;
        }
        if (undecided) {
            mem_free(cell->spreads);
            cell->spreads = NULL;
            cell->value = value_none();
            cell->failed = true;
        }
    }
}

static void settle_quantity(const Vm *vm, TableCell *cell, FormatSpec format) {
    const Worlds *worlds = vm->worlds;
    double spread = worlds_spread(worlds, cell->number);
    if (!display_has_spread(vm->registry->units, cell->value.as.number, cell->value.unit, spread, format))
        return;
    cell->spread = spread;
    if (worlds->trials)
        cell->value.as.number = worlds->trials[cell->number].mean;
}

/* Its cells get their ±, and their means where they were drawn. The number that is worst off. */
static int settle_column(Vm *vm, TableColumn *column, int rows) {
    int worst = -1;
    for (int row = 0; row < rows; row++) {
        TableCell *cell = &column->cells[row];
        if (cell->number < 0)
            continue;
        int count = display_numbers(vm->registry->units, cell->value, NULL, 0);
        if (value_is_quantity(cell->value))
            settle_quantity(vm, cell, column->format);
        else
            cell->spreads = spreads_of(vm, cell->number, count);
        for (int i = 0; i < count; i++)
            worst = worse_cell(vm->worlds, worst, cell->number + i);
    }
    return worst;
}

static void note_gap(Notes *notes, const char *label, const Worlds *worlds, int number) {
    int lost = worlds->lost[number], sided = worlds->sided[number];
    MessageArg column = *label ? arg_text(label) : arg_words(PHRASE_NAMELESS);
    if (worlds->trials)
        note_drawn(notes, column, NOTE_COLUMN_REFUSED, NOTE_COLUMN_DRAWN, worlds, number);
    else if (lost)
        add_note(notes, NOTE_COLUMN_LOST, ARGS(column, source_name(worlds, lost)));
    else
        add_note(notes, sided > 0 ? NOTE_COLUMN_UP : NOTE_COLUMN_DOWN,
                 ARGS(column, source_name(worlds, sided)));
}

static void settle_table(Vm *vm, TableResult *table, Notes *notes) {
    enum { GAPS_MOST = 8 }; /* columns told of below a table */
    for (int i = 0; i < table->column_count; i++) {
        TableColumn *column = &table->columns[i];
        int worst = settle_column(vm, column, table->row_count);
        bool told = worst >= 0 && notes->count < GAPS_MOST;
        if (told)
            note_gap(notes, column->label, vm->worlds, worst);
        settle_faces(vm, column, table->row_count, told || notes->count >= GAPS_MOST, notes);
    }
}

/* ---- the report ---- */

static void settle_inputs(Vm *vm, Report *held) {
    const double least =
        1e-9; /* of its value: an input keeps the ± it was given, but not what rounding left */
    for (int i = 0; i < held->input_count; i++) {
        InputResult *input = &held->inputs[i];
        double spread = input->number >= 0 ? worlds_spread(vm->worlds, input->number) : 0;
        bool told = input->value.unit != UNIT_DATE && spread >= least * fabs(input->value.as.number);
        input->spread = told ? spread : 0;
        report_input(vm->report, input);
    }
}

static void tell_checks(Vm *vm, Report *held, int *next, int before) {
    for (; *next < held->check_count && held->checks[*next].before <= before; ++*next) {
        HeldCheck *check = &held->checks[*next];
        vm_tell_check(vm, check->passed, check->diag, check->source, check->at);
        check->diag = NULL;
    }
}

bool settle_report(Vm *vm, Report *held) {
    Notes notes = {0};
    int checks = 0, followers = 0;
    report_take(vm->report, held);
    settle_inputs(vm, held);
    for (int i = 0; i < held->count && !*vm->interrupt; i++) {
        Item *item = held->items[i];
        tell_checks(vm, held, &checks, i);
        note_text_face(vm, held, item, &notes);
        settle_text(vm, held, &item->text);
        settle_text(vm, held, &item->label);
        followers = item->followers ? item->followers : followers - 1;
        if (item->type == ITEM_SHOW)
            settle_show(vm, item, &notes);
        else if (item->type == ITEM_TABLE)
            settle_table(vm, item->table, &notes);
        held->items[i] = NULL;
        report_item(vm->report, item);
        if (followers <= 0)
            tell_notes(vm, &notes);
    }
    tell_checks(vm, held, &checks, held->count);
    if (!*vm->interrupt)
        tell_turned_cautions(vm, &notes);
    for (int i = 0; i < notes.count; i++)
        mem_free(notes.items[i].text);
    mem_free(notes.items);
    report_free(held);
    return !*vm->interrupt;
}
