/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/markdown_text.h"

#include <string.h>

#include "output/render.h"

void markdown_add(Text *out, const char *text) {
    Text line = {0};
    render_one_line(&line, text);
    for (const char *p = text_string(&line); *p; p++) {
        if (strchr("\\`*_[]<>#|~&", *p))
            text_add_char(out, '\\');
        text_add_char(out, *p);
    }
    text_free(&line);
}

void markdown_add_start(Text *out, const char *line) {
    for (; *line == ' ' || *line == '\t'; line++)
        text_add_string(out, *line == ' ' ? "&nbsp;" : "&nbsp;&nbsp;&nbsp;&nbsp;");
    const char *rest = line + strspn(line, "0123456789");
    if (*rest && strchr("-+=.)", *rest)) {
        text_add(out, line, (size_t)(rest - line));
        text_add_char(out, '\\');
    } else {
        rest = line;
    }
    markdown_add(out, rest);
}

/* The longest row of backticks in a text. */
static size_t longest_fence(const char *text) {
    size_t longest = 0;
    while (*text) {
        size_t length = strspn(text, "`");
        longest = length > longest ? length : longest;
        text += length + strcspn(text + length, "`");
    }
    return longest;
}

void markdown_add_code(Text *out, const char *text) {
    Text line = {0};
    render_one_line(&line, text);
    const char *code = text_string(&line);
    size_t fence = longest_fence(code) + 1;
    bool edge = !*code || *code == '`' || *code == ' ' || code[line.length - 1] == '`' ||
                code[line.length - 1] == ' ';
    text_add_repeated(out, '`', fence);
    text_add_string(out, edge ? " " : "");
    text_add_string(out, code);
    text_add_string(out, edge && *code ? " " : "");
    text_add_repeated(out, '`', fence);
    text_free(&line);
}
