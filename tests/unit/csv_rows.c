/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The file is read whole and cut in place: quotes are taken out, separators become ends of strings. */
#include "csv_rows.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#ifndef PUBLISHED_DIR
#error "PUBLISHED_DIR must name the folder of the published tables"
#endif

/* Ends the cell that starts at `in` and moves past it; the separator met goes to *separator. */
static char *cut_cell(char *in, char *separator) {
    char *out = in;
    bool quoted = false;
    for (; *in && (quoted || (*in != ',' && *in != '\n')); in++) {
        if (quoted && in[0] == '"' && in[1] == '"')
            *out++ = *in++;
        else if (*in == '"')
            quoted = !quoted;
        else if (*in != '\r')
            *out++ = *in;
    }
    *separator = *in;
    char *next = *in ? in + 1 : in;
    *out = '\0';
    return next;
}

static char *cut_row(char *in, char **cells, size_t *columns) {
    char separator = ',';
    *columns = 0;
    while (separator == ',') {
        char *cell = in;
        in = cut_cell(in, &separator);
        if (*columns < CSV_MOST_COLUMNS)
            cells[(*columns)++] = cell;
    }
    return in;
}

bool csv_rows_read(CsvRows *rows, const char *name) {
    char path[1024];
    memset(rows, 0, sizeof *rows);
    int length = snprintf(path, sizeof path, "%s/%s", PUBLISHED_DIR, name);
    if (length < 0 || (size_t)length >= sizeof path)
        return false;
    FILE *file = fopen(path, "rb");
    if (!file)
        return false;
    size_t size = fread(rows->text, 1, sizeof rows->text - 1, file);
    bool whole = feof(file) && !ferror(file);
    fclose(file);
    if (!whole || size == 0)
        return false;
    char *in = cut_row(rows->text, rows->heading, &rows->columns);
    while (*in && rows->count < CSV_MOST_ROWS) {
        size_t columns;
        in = cut_row(in, rows->cell[rows->count++], &columns);
    }
    return *in == '\0';
}

const char *csv_rows_text(const CsvRows *rows, size_t row, const char *column) {
    for (size_t i = 0; i < rows->columns; i++)
        if (strcmp(rows->heading[i], column) == 0)
            return rows->cell[row][i] ? rows->cell[row][i] : "";
    return "";
}

double csv_rows_number(const CsvRows *rows, size_t row, const char *column) {
    const char *text = csv_rows_text(rows, row, column);
    char *end;
    double number = strtod(text, &end);
    return end == text ? (double)NAN : number;
}
