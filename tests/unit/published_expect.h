/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Holds published rows to their tolerance inside a Criterion test; the message names the row. */
#ifndef TESTS_UNIT_PUBLISHED_EXPECT_H
#define TESTS_UNIT_PUBLISHED_EXPECT_H

#include "near.h"
#include "published_rows.h"

#include <criterion/criterion.h>

static inline void expect_row(const PublishedRow *row, void *context) {
    (void)context;
    cr_expect(near(row->got, row->want, 1e-12, row->tolerance), "%s: got %.10g, want %.10g within %g: %s",
              row->kind, row->got, row->want, row->tolerance, row->name);
}

/* Every row of a table, and at least so many of them. */
static inline void expect_table(PublishedTable table, size_t least) {
    size_t rows = table(expect_row, NULL, NULL);
    cr_expect(rows >= least, "only %zu rows, at least %zu wanted", rows, least);
}

#endif
