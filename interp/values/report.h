/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a run hands out: an ordered list of items, in no particular form. Renderers (output/) turn it into
 * text, JSON…
 *
 * A listener may be told of each item as it comes, so that plain text streams. Values in items are roots: the
 * owner calls report_mark during a collection. */
#ifndef RUNDLET_REPORT_H
#define RUNDLET_REPORT_H

#include "base/diag.h"
#include "numbers/format.h"
#include "values/name_map.h"
#include "values/value.h"
#include "values/working.h"

/* What a report is made of, and how JSON and CSV name it. */
#define REPORT_ITEMS(ITEM)                                                                                   \
    ITEM(SHOW, "show")                                                                                       \
    ITEM(PRINT, "print")                                                                                     \
    ITEM(HEADING, "heading")                                                                                 \
    ITEM(NOTE, "note")                                                                                       \
    ITEM(CAUTION, "caution")                                                                                 \
    ITEM(EVENT, "event")                                                                                     \
    ITEM(TABLE, "table")

typedef enum ItemType {
#define ITEM(type, word) ITEM_##type,
    REPORT_ITEMS(ITEM)
#undef ITEM
} ItemType;

/* A shown value as it is kept, for the forms to word: rounded by its format, each of its numbers with its ±.
 */
typedef struct Shown {
    Value value;
    FormatSpec format;
    double *spreads; /* standard uncertainties of its numbers (display_numbers), each on the number's unit, 0
                        for none; NULL: none has one */
    int number;      /* the place of the first of them among the run's, from 0; -1: they are not followed */
    int face;        /* its place among what the run hands out (runtime/turned.h); -1: none */
    int64_t record;  /* of a run that shows its working: its serial (runtime/recorder.h); 0: none */
} Shown;

/* The same in a table, whose column has the format. */
typedef struct TableCell {
    Value value;      /* none for an empty cell */
    double spread;    /* of a quantity */
    double *spreads;  /* of a list, a record or a liquid: one a number, or NULL */
    int number, face; /* as in Shown */
    bool failed;      /* shown as a dash */
} TableCell;

typedef struct TableColumn {
    char *label;
    FormatSpec format;
    UnitId unit;                       /* of the first filled row; cells are converted to it */
    bool has_unit;                     /* cells are quantities in `unit` (0: plain numbers) */
    bool loop;                         /* the loop's own column */
    bool bare;                         /* its head goes without the unit, which the caption has */
    int64_t first_record, last_record; /* as in Shown, of its first and its last cell that is filled */
    struct Working *working;           /* as in Item */
    TableCell *cells;                  /* row_count of them */
} TableColumn;

typedef struct TableResult {
    bool is_plot;  /* to be drawn: the first column is the way along, the others are curves */
    char *caption; /* of a table of two inputs: what its cells are; else NULL */
    char *across;  /* the name of its second input */
    TableColumn *columns;
    int column_count;
    int row_count;
    int row_capacity;
    char **reasons; /* why cells failed, one line each, each once */
    int reason_count, reason_capacity;
    NameMap reasons_known; /* the same, to find them */
    size_t reason_bytes;
} TableResult;

/* What --trials drew of a shown number (JCGM 101), on its unit. */
typedef struct Drawn {
    long draws;               /* all; 0 without --trials */
    long count;               /* in which it was shown; the rest were refused or took another way */
    long refused;             /* in which an error came before it, or in its place */
    double mean, uncertainty; /* standard */
    double low, high;         /* the interval that holds the middle 95 % */
    char *missing;            /* in words, where it was not shown in all; else NULL */
} Drawn;

typedef struct Item {
    ItemType type;
    char *label; /* SHOW */
    char *text;  /* PRINT HEADING NOTE CAUTION EVENT */
    Shown shown; /* SHOW */
    Drawn drawn; /* SHOW */
    double date; /* EVENT: days since 1970-01-01 */
    TableResult *table;
    struct Working *working; /* SHOW: the steps that led to it, once the run is over; NULL: not kept */
    int followers;           /* items after it that waited for it: cautions and notes of the library */
} Item;

typedef struct InputResult {
    char *name;
    Value value;
    double spread;  /* its standard uncertainty, on the value's unit; 0 for none */
    int number;     /* as in Shown */
    bool set;       /* by the user, else the default */
    Value initial;  /* the default */
    Value from, to; /* none without a range */
    Value choices;  /* a list, or none */
    char *doc;      /* NULL without */
} InputResult;

typedef struct WaitingText {
    ItemType type; /* ITEM_CAUTION or ITEM_NOTE */
    char *text;
    char *topic; /* under which it counts as said; NULL: its text */
} WaitingText;

/* A check, while the report is held. */
typedef struct HeldCheck {
    int before; /* the item it came before */
    bool passed;
    Diag *diag; /* NULL when it passed */
    Source *source;
    Span at;
} HeldCheck;

typedef struct Report Report;
struct Report {
    Item **items;
    int count, capacity;
    InputResult *inputs;
    int input_count, input_capacity;
    char **assumptions; /* each once */
    int assumption_count, assumption_capacity;
    int expects_passed, expects_failed;
    WaitingText *pending; /* cautions and notes of the library waiting for the next item shown */
    int pending_count, pending_capacity;
    char **said; /* cautions already given or waiting, once a run */
    int said_count, said_capacity;
    NameMap noted; /* and the last notes of the library */
    NameMap alike; /* how many of them had the same words before their first figure */
    int muted;     /* above 0: nothing is taken (probes of find, expect error) */
    int silent;    /* above 0: only cautions are taken (scripts brought in by use) */
    void (*listener)(void *context, const Item *item);
    void *listener_context;
    size_t bytes; /* what the kept items take, about */
    bool passing; /* items are freed once the listener was told, all but events: an endless script needs no
                     memory */
    bool holding; /* what comes is only kept: its ± is found by runs to come (runtime/settle.h) */
    HeldCheck *checks;
    int check_count, check_capacity;
    Shown *quotes; /* values in texts of held items, which have report_add_quote's mark for them */
    int quote_count, quote_capacity;
};

Report *report_new(void);
void report_free(Report *report);
void report_mark(const Report *report);

/* All texts are copied. Muted reports drop items. After a SHOW or TABLE the waiting cautions and notes
 * follow. */
void report_show(Report *report, const char *label, const Shown *shown);
void report_text(Report *report, ItemType type, const char *text);
void report_event(Report *report, double date, const char *text);
/* Takes an item of another report. */
void report_item(Report *report, Item *item);
/* Keeps a value that is to be worded in a text of a held item, and writes the mark that stands for it there,
 * which no text of a script can hold: it is not UTF-8. */
void report_add_quote(Report *report, const Shown *quote, Text *mark);
/* A new report that holds what comes in place of another: what was said there stays said. */
Report *report_hold(const Report *report);
/* Takes the cautions, assumptions and notes that wait of a held report; items, inputs and checks are left. */
void report_take(Report *report, Report *held);
/* The next quote at or after `from` of a text: its number, and the bytes its mark takes; -1 for none. */
int report_find_quote(const char *text, size_t from, size_t *start, size_t *end);
/* A check of a held report; takes `diag`. */
void report_hold_check(Report *report, bool passed, Diag *diag, Source *source, Span at);
void report_table(Report *report, TableResult *table); /* takes it */
/* An ITEM_CAUTION or ITEM_NOTE of the library: each text once, of notes that differ only in
 * their figures the first five, and then that there are more. It waits for the next SHOW or TABLE. */
void report_say_once(Report *report, ItemType type, const char *text);
/* The same for a caution whose words hold numbers: each topic once. Without a text the topic only counts as
 * said from now on. False when it was said before, or nothing is taken. */
bool report_caution_topic(Report *report, const char *topic, const char *text);
/* Takes over which cautions an earlier report gave; those that still waited there may be said again, and so
 * may notes. */
void report_keep_said(Report *report, const Report *earlier);
void report_assume(Report *report, const char *text);
void report_input(Report *report, const InputResult *input);
void report_finish(Report *report); /* gives what still waits; sorts nothing: renderers sort events by date */

TableResult *table_new(int columns);
void table_free(TableResult *table);
void table_add_column(TableResult *table, const char *label); /* cells of earlier rows none */
void table_add_row(TableResult *table);                       /* cells none */
size_t table_bytes(const TableResult *table);                 /* what it takes, about */
void table_add_reason(TableResult *table, const char *text);

#endif
