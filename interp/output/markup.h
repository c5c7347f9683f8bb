/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text as HTML and SVG may hold it: the one place that escapes for an XML parser. */
#ifndef RUNDLET_MARKUP_H
#define RUNDLET_MARKUP_H

#include "quantities/unit.h"

/* The text in a document or in an attribute's quotes. What XML has no place for (controls but newline and
 * tab, noncharacters, bytes that are not UTF-8) becomes the replacement character. */
void markup_add_bytes(Text *out, const char *text, size_t length);
void markup_add(Text *out, const char *text);
/* The same as HTML prose, where a date, and a number with the unit after it, stay in one line. */
void markup_add_prose(Text *out, const UnitTable *units, const char *text);

#endif
