/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text as Markdown may hold it: a character that would be taken as a mark is escaped by a backslash
 * (CommonMark 0.30, section 2.4), so that every text reads as it was written. All of it is added in one line.
 */
#ifndef RUNDLET_MARKDOWN_TEXT_H
#define RUNDLET_MARKDOWN_TEXT_H

#include "base/text.h"

void markdown_add(Text *out, const char *text);
/* The same at the start of a line: a number or a mark there would make it a list, and is escaped too; spaces
 * would be dropped, or make it code, and are given as spaces that hold. */
void markdown_add_start(Text *out, const char *text);
/* A code span (section 6.1): its fence is longer than any row of backticks in the text. */
void markdown_add_code(Text *out, const char *text);

#endif
