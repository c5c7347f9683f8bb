/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of results on the HTML page: fold-outs, closed until somebody asks. */
#ifndef RUNDLET_HTML_WORKING_H
#define RUNDLET_HTML_WORKING_H

#include "quantities/unit.h"
#include "values/report.h"

bool html_has_working(const Report *report); /* of anything */
/* A row below that of the shown value, in the same table. Nothing where there is no working. */
void html_add_working_row(Text *out, const UnitTable *units, const Item *item);
/* One for each column, below the table. */
void html_add_column_working(Text *out, const UnitTable *units, const TableResult *table);

#endif
