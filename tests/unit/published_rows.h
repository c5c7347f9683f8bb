/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every row of the published tables that the physics has a formula for, evaluated. The unit tests hold each
 * row to its tolerance; test_model_table prints the deviations for docs/model.md. */
#ifndef TESTS_UNIT_PUBLISHED_ROWS_H
#define TESTS_UNIT_PUBLISHED_ROWS_H

#include <stddef.h>

/* One row: the source's value and ours. */
typedef struct PublishedRow {
    const char *table; /* file, without .csv */
    const char *kind;  /* which of its quantities */
    const char *name;  /* the row's own words */
    const char *source;
    double got;
    double want;
    double tolerance;
} PublishedRow;

typedef void (*PublishedVisit)(const PublishedRow *row, void *context);

/* Each visits the rows it understands and returns their number; 0 when the table cannot be read.
 * *unmapped (may be NULL) counts the rows that no formula of ours answers, or that are misprints. */
typedef size_t (*PublishedTable)(PublishedVisit visit, void *context, size_t *unmapped);

size_t published_alcohol(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_proof(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_contraction(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_water(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_sucrose(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_dry_extract(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_solutions(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_hydrometer(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_corrections(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_carbonation(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_fermentation(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_must(PublishedVisit visit, void *context, size_t *unmapped);
size_t published_energy(PublishedVisit visit, void *context, size_t *unmapped);

#endif
