/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of results as nested lists of Markdown. */
#ifndef RUNDLET_MARKDOWN_WORKING_H
#define RUNDLET_MARKDOWN_WORKING_H

#include "quantities/unit.h"
#include "values/report.h"

/* The steps to a shown value, a list within its item. Nothing for NULL. */
void markdown_add_working(Text *out, const Working *working);
/* Those of a table: a list of its columns, below it. Nothing where no column has any. */
void markdown_add_columns(Text *out, const UnitTable *units, const TableResult *table);

#endif
