/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* JSON (RFC 8259), member by member: what the files of that form share. */
#ifndef RUNDLET_JSON_TEXT_H
#define RUNDLET_JSON_TEXT_H

#include <stdbool.h>

#include "base/text.h"

/* A string in its quotes. Bytes that are not UTF-8 become the replacement character, controls are escaped. */
void json_add_string(Text *out, const char *text, size_t length);
void json_add_text(Text *out, const char *text); /* NULL: an empty one */
/* `"key":`, with a comma before it unless it opens the object. */
void json_add_key(Text *out, const char *key);
void json_add_member(Text *out, const char *key, const char *text);
/* null where the text is NULL or empty. */
void json_add_member_or_null(Text *out, const char *key, const char *text);
void json_add_integer(Text *out, const char *key, int number);
void json_add_number(Text *out, const char *key, double number); /* in full precision */
void json_add_truth(Text *out, const char *key, bool truth);

#endif
