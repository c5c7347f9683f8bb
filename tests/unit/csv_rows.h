/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads the published tables (RFC 4180: quoted cells, doubled quotes) for the unit tests. The tables lie in
 * the folder PUBLISHED_DIR, a macro of the build. */
#ifndef TESTS_UNIT_CSV_ROWS_H
#define TESTS_UNIT_CSV_ROWS_H

#include <stdbool.h>
#include <stddef.h>

enum { CSV_MOST_ROWS = 400, CSV_MOST_COLUMNS = 16, CSV_MOST_BYTES = 60000 };

/* A whole table; lives on the stack (about 110 kB) and owns its text. */
typedef struct CsvRows {
    size_t count; /* rows below the heading */
    size_t columns;
    char *heading[CSV_MOST_COLUMNS];
    char *cell[CSV_MOST_ROWS][CSV_MOST_COLUMNS];
    char text[CSV_MOST_BYTES];
} CsvRows;

/* Reads PUBLISHED_DIR/name. False when it cannot be read or is larger than a CsvRows. */
bool csv_rows_read(CsvRows *rows, const char *name);

/* The cell of a row under a heading; "" when the row is short or there is no such column. */
const char *csv_rows_text(const CsvRows *rows, size_t row, const char *column);

/* The number a cell begins with; NaN when it begins with none. */
double csv_rows_number(const CsvRows *rows, size_t row, const char *column);

#endif
