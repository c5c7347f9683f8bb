/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The values that a script has named so far. A script's own names win: where `/` or `*` may continue with a
 * unit or with a value, as in `10 g / h`, a name that the script has given a value is that value. */
#include "front/parse_state.h"

#include <string.h>

void parser_declare(Parser *parser, const char *name) {
    ParserNames *names = &parser->names;
    int times = 0;
    name_map_get(&names->known, name, &times);
    name_map_set(&names->known, name, times + 1);
    PARSER_PUSH(parser, names->order, names->count, names->capacity, name);
}

void parser_forget_names(Parser *parser, int kept) {
    ParserNames *names = &parser->names;
    while (names->count > kept) {
        const char *name = names->order[--names->count];
        int times = 0;
        name_map_get(&names->known, name, &times);
        name_map_set(&names->known, name, times - 1);
    }
}

/* The names that lines without an indent declare, those further down too: a formula may read them. */
static void read_file_names(Parser *parser) {
    const char *text = parser->lexer.text;
    size_t length = parser->lexer.length;
    for (size_t line = 0; line < length; line += strcspn(text + line, "\n") + 1) {
        Lexer lexer = parser->lexer;
        lexer.quiet = true;
        lexer.at = line;
        if (text[line] < 'a' || text[line] > 'z')
            continue;
        Token word = lex_next(&lexer);
        if (word.type != TOKEN_LET && word.type != TOKEN_INPUT && word.type != TOKEN_FIND)
            continue;
        Token name = lex_next(&lexer);
        if (name.type == TOKEN_WORD)
            name_map_set(&parser->names.of_file, parser_source(parser, name.span), 1);
    }
    parser->names.file_is_read = true;
}

bool parser_is_value(Parser *parser, const char *name) {
    const ParseHost *host = parser->host;
    int times = 0;
    if (name_map_get(&parser->names.known, name, &times) && times > 0)
        return true;
    if (host && host->is_value && host->is_value(host->context, name))
        return true;
    if (!parser->names.in_formula || parser_in_library(parser))
        return false;
    if (!parser->names.file_is_read)
        read_file_names(parser);
    return name_map_get(&parser->names.of_file, name, &times);
}

void parser_free_names(Parser *parser) {
    name_map_free(&parser->names.known);
    name_map_free(&parser->names.of_file);
    name_map_free(&parser->lost_units);
}

/* One token on, over a whole text; false where the list or its line ends. */
static bool step_in_list(Lexer *lexer, Token *token, int *depth) {
    if (token->type == TOKEN_TEXT) {
        size_t end = lex_text_end(lexer, token->span.end, token->quote);
        if (end == 0)
            return false;
        lexer->at = end;
    }
    *token = lex_next(lexer);
    switch ((int)token->type) {
    case TOKEN_LEFT_ROUND:
    case TOKEN_LEFT_SQUARE:
    case TOKEN_LEFT_CURLY:
        ++*depth;
        return true;
    case TOKEN_RIGHT_ROUND:
    case TOKEN_RIGHT_SQUARE:
    case TOKEN_RIGHT_CURLY:
        return --*depth >= 0;
    case TOKEN_COMMA:
        return *depth > 0;
    default:
        return token->type != TOKEN_END;
    }
}

void parser_declare_ahead(Parser *parser) {
    Lexer lexer = parser->lexer;
    Token token = parser->token;
    int depth = 0;
    lexer.quiet = true;
    lexer.in_brackets = true;
    if (token.type == TOKEN_RIGHT_SQUARE || token.type == TOKEN_COMMA)
        return;
    if (token.type == TOKEN_LEFT_ROUND || token.type == TOKEN_LEFT_SQUARE || token.type == TOKEN_LEFT_CURLY)
        depth = 1;
    while (step_in_list(&lexer, &token, &depth)) {
        if (token.type != TOKEN_FOR || depth > 0)
            continue;
        do {
            token = lex_next(&lexer);
            if (token.type == TOKEN_WORD)
                parser_declare(parser, parser_source(parser, token.span));
            token = lex_next(&lexer);
        } while (token.type == TOKEN_COMMA); /* `for name, value in record` */
    }
}
