/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every published row within its tolerance, table by table; and, when the environment says MODEL_TABLE=1, the
 * deviations as the markdown table of docs/model.md on standard output. */
#include "published_rows.h"

#include "near.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_KINDS = 120 };

/* Deviations of one kind of row. */
typedef struct Deviation {
    char table[64], kind[64];
    size_t rows;
    double sum, largest, share_of_tolerance;
} Deviation;

typedef struct Deviations {
    Deviation of[MOST_KINDS];
    size_t count;
    size_t failed;
} Deviations;

static Deviation *deviation_of(Deviations *all, const PublishedRow *row) {
    for (size_t i = 0; i < all->count; i++)
        if (strcmp(all->of[i].kind, row->kind) == 0 && strcmp(all->of[i].table, row->table) == 0)
            return &all->of[i];
    cr_assert_lt(all->count, (size_t)MOST_KINDS);
    Deviation *added = &all->of[all->count++];
    snprintf(added->table, sizeof added->table, "%s", row->table);
    snprintf(added->kind, sizeof added->kind, "%s", row->kind);
    return added;
}

static void collect(const PublishedRow *row, void *context) {
    Deviations *all = context;
    Deviation *kind = deviation_of(all, row);
    double miss = row->got - row->want;
    kind->rows++;
    kind->sum += miss;
    if (!(fabs(miss) <= fabs(kind->largest)))
        kind->largest = miss;
    kind->share_of_tolerance = fmax(kind->share_of_tolerance, fabs(miss) / row->tolerance);
    if (!near(row->got, row->want, 1e-12, row->tolerance)) {
        all->failed++;
        cr_log_error("%s %s: got %.9g, want %.9g within %g: %s", row->table, row->kind, row->got, row->want,
                     row->tolerance, row->name);
    }
}

static void print(const Deviations *all) {
    puts("| table | quantity | rows | mean deviation | largest deviation | largest / tolerance |");
    puts("|---|---|---|---|---|---|");
    for (size_t i = 0; i < all->count; i++) {
        const Deviation *of = &all->of[i];
        printf("| %s | %s | %zu | %.2g | %.2g | %.2f |\n", of->table, of->kind, of->rows,
               of->sum / (double)of->rows, of->largest, of->share_of_tolerance);
    }
}

Test(model_table, every_published_row) {
    static const PublishedTable tables[] = {
        published_alcohol,     published_proof,       published_contraction,  published_water,
        published_sucrose,     published_dry_extract, published_solutions,    published_hydrometer,
        published_corrections, published_carbonation, published_fermentation, published_must,
        published_energy};
    Deviations all = {.count = 0};
    size_t rows = 0;
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        size_t unmapped = 0, found = tables[i](collect, &all, &unmapped);
        cr_expect_gt(found, (size_t)0, "table %zu has no rows", i);
        rows += found;
    }
    if (getenv("MODEL_TABLE"))
        print(&all);
    cr_expect_geq(rows, (size_t)700, "only %zu rows", rows);
    cr_expect_eq(all.failed, (size_t)0, "%zu rows out of tolerance", all.failed);
}
