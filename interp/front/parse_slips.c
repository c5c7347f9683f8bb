/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slips that are so common that the whole line to type can be shown: the words of other habits where a unit
 * was expected, reserved words as names, remarks and long texts written as elsewhere. */
#include "front/parse_state.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "numbers/calendar.h"
#include "quantities/unit.h"

static Token look_ahead(const Parser *parser) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    return lex_next(&ahead);
}

MessageArg parser_line_with(Parser *parser, Span span, const char *text) {
    Text line = {0};
    lex_line_with(&parser->lexer, parser->statement_start, span, text, &line);
    return arg_mending(arg_taken(ARG_TEXT, &line), MENDS_LINE);
}

MessageArg parser_line_surely(Parser *parser, Span span, const char *text) {
    return arg_mending(parser_line_with(parser, span, text), MENDS_LINE | SURELY);
}

/* ---- a word where a unit was expected ---- */

/* `find x from a to b such that …` */
static bool report_such_that(Parser *parser, Span word, const char *name) {
    Token next = look_ahead(parser);
    if (strcmp(name, "such") != 0 || next.type != TOKEN_WORD ||
        strcmp(parser_source(parser, next.span), "that") != 0)
        return false;
    Span both = span_join(word, next.span);
    parser_report(parser, MSG_FOREIGN_WORD, both,
                  ARGS(parser_source(parser, both), parser_line_surely(parser, both, "so")));
    return true;
}

/* `5 x 12 oz`, `5x12 oz` */
static bool report_times(Parser *parser, Span word, const char *name) {
    bool x = name[0] == 'x' || name[0] == 'X';
    bool joined = x && name[1] && strspn(name + 1, "0123456789") == strlen(name + 1);
    bool alone = x && !name[1] && look_ahead(parser).type == TOKEN_NUMBER;
    if (parser->lexer.literal || (!alone && !joined))
        return false;
    Span sign = {word.start, word.start + 1};
    const char *text = alone ? "*" : " * ";
    parser_report(parser, MSG_SIGN_INSTEAD, sign,
                  ARGS(parser_source(parser, sign), parser_line_surely(parser, sign, text)));
    return true;
}

/* `half a gallon`, at `a`. */
static bool report_part(Parser *parser, Span word, const char *name) {
    Span part = parser->previous.span;
    Token next = look_ahead(parser);
    const char *fraction = unit_part_in_digits(parser_source(parser, part));
    if (!fraction || (strcmp(name, "a") != 0 && strcmp(name, "an") != 0) || next.type != TOKEN_WORD ||
        !parse_is_unit_name(parser, parser_source(parser, next.span)))
        return false;
    char *unit = parser_source(parser, next.span);
    const ParseHost *host = parser->host;
    const char *canonical = host && host->everyday ? host->everyday(host->context, unit) : NULL;
    Text digits = {0};
    text_add_string(&digits, fraction);
    text_add_char(&digits, ' ');
    text_add_string(&digits, canonical ? canonical : unit);
    Span whole = span_join(part, next.span);
    MessageArg line = parser_line_surely(parser, whole, text_string(&digits));
    text_free(&digits);
    parser_report(parser, MSG_PART_DIGITS, span_join(part, word), ARGS(line));
    return true;
}

/* Currencies as they are called, and the codes of ISO 4217: none is built in, since none converts. */
static const char *const currencies[] = {"dollar", "euro", "crown", "franc", "cent",     "yen",  "peso",
                                         "rupee",  "buck", "quid",  "USD",   "EUR",      "GBP",  "CAD",
                                         "AUD",    "NZD",  "CHF",   "SEK",   "NOK",      "DKK",  "PLN",
                                         "CZK",    "JPY",  "INR",   "ZAR",   "shilling", "krona"};

static bool report_currency(Parser *parser, Span word, const char *name) {
    if (parser->lexer.literal)
        return false;
    for (size_t i = 0; i < sizeof currencies / sizeof *currencies; i++) {
        size_t length = strlen(currencies[i]);
        if (strncmp(name, currencies[i], length) != 0 ||
            strcmp(name + length + (name[length] == 's'), "") != 0)
            continue;
        Diag *diag = parser_report(parser, MSG_UNIT_UNKNOWN, word, ARGS(name));
        if (diag)
            diag_hint(diag, HINT_CURRENCY, ARGS(currencies[i]));
        return true;
    }
    return false;
}

/* ---- a value behind a text ---- */

static bool opens_with(const Parser *parser, const char *word) {
    const char *text = parser->lexer.text + parser->statement_start;
    size_t length = strlen(word);
    return strncmp(text, word, length) == 0 && strchr(" \t\"'", text[length]);
}

static bool ends_line(TokenType type) {
    return type == TOKEN_NEWLINE || type == TOKEN_END || type == TOKEN_SEMICOLON;
}

/* The end of a text at a token of `ahead`, which goes on behind it; 0 for one without an end. */
static uint32_t pass_text(Lexer *ahead, const Token *text) {
    size_t end = text->span.end; /* a raw text is one token */
    if (text->type == TOKEN_TEXT)
        end = lex_text_end(ahead, end, text->quote);
    ahead->at = end ? end : text->span.end;
    return (uint32_t)end;
}

static bool is_text(const Token *token) {
    return token->type == TOKEN_TEXT || token->type == TOKEN_RAW_TEXT;
}

/* A value from `token` on, which becomes what follows it. Its end, 0 where it holds a text without an end. */
static uint32_t pass_value(Lexer *ahead, Token *token) {
    uint32_t end = 0;
    for (int depth = 0; !ends_line(token->type); *token = lex_next(ahead)) {
        TokenType type = token->type;
        if (depth == 0 && (type == TOKEN_COMMA || is_text(token)))
            break;
        depth += type == TOKEN_LEFT_ROUND || type == TOKEN_LEFT_SQUARE || type == TOKEN_LEFT_CURLY;
        depth -= type == TOKEN_RIGHT_ROUND || type == TOKEN_RIGHT_SQUARE || type == TOKEN_RIGHT_CURLY;
        end = is_text(token) ? pass_text(ahead, token) : token->span.end;
        if (end == 0)
            break;
    }
    return end;
}

/* What stands behind a text up to the end of the line, inside that text: values in braces, other texts as
 * they are. Where it ends; 0 when a text among them cannot be taken over. */
static uint32_t add_pieces(const Parser *parser, uint32_t from, Text *out) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    ahead.at = from;
    Token token = lex_next(&ahead);
    uint32_t end = from;
    while (!ends_line(token.type)) {
        if (token.type == TOKEN_COMMA) {
            token = lex_next(&ahead);
            continue;
        }
        bool text = is_text(&token);
        uint32_t start = token.span.start;
        end = text ? pass_text(&ahead, &token) : pass_value(&ahead, &token);
        if (end == 0 || (text && (token.type == TOKEN_RAW_TEXT || ahead.text[start] != '"')))
            return 0;
        bool apart = out->bytes[out->length - 1] != ' ' && (!text || ahead.text[start + 1] != ' ');
        text_add_string(out, apart ? " " : "");
        text_add_string(out, text ? "" : "{");
        text_add(out, ahead.text + start + text, end - start - 2 * text);
        text_add_string(out, text ? "" : "}");
        if (text)
            token = lex_next(&ahead);
    }
    return end;
}

/* `print "batch" batch`: the value goes into the text. */
static bool report_value_to_say(Parser *parser) {
    static const char *const says[] = {"print", "note", "heading", "caution"};
    Span text = parser->previous.span;
    bool found = false;
    for (size_t i = 0; i < sizeof says / sizeof *says; i++)
        found = found || opens_with(parser, says[i]);
    if (!found || parser->previous.type != TOKEN_TEXT || parser->lexer.text[text.end - 1] != '"')
        return false;
    Text joined = {0};
    text_add(&joined, parser->lexer.text + text.start, text.end - 1 - text.start);
    uint32_t end = add_pieces(parser, text.end, &joined);
    text_add_char(&joined, '"');
    if (end > text.end)
        parser_report_next(parser, MSG_VALUE_BEHIND_TEXT,
                           ARGS(parser_line_surely(parser, (Span){text.start, end}, text_string(&joined))));
    text_free(&joined);
    return end > text.end;
}

bool parser_report_behind_text(Parser *parser) {
    Span text = parser->previous.span;
    bool behind = is_text(&parser->previous) && parser->brackets == 0 && !parser->lexer.literal;
    if (!behind)
        return false;
    if (report_value_to_say(parser))
        return true;
    if (!opens_with(parser, "show") || parser->token.type == TOKEN_COMMA)
        return false;
    Span between = {text.end, parser->token.span.start};
    parser_report_next(parser, MSG_LABEL_NO_COLON, ARGS(parser_line_surely(parser, between, ": ")));
    return true;
}

/* `10 October 2027`, at the month. */
static bool report_month(Parser *parser, Span word, const char *name) {
    static const char *const months[] = {"january",   "february", "march",    "april",
                                         "may",       "june",     "july",     "august",
                                         "september", "october",  "november", "december"};
    Token next = look_ahead(parser);
    char *day = parser_token_text(parser, &parser->previous);
    long number = strtol(day, NULL, 10);
    size_t month = 0;
    while (month < 12 && strcasecmp(name, months[month]) != 0 &&
           (strlen(name) != 3 || strncasecmp(name, months[month], 3) != 0))
        month++;
    bool year = next.type == TOKEN_NUMBER && next.digits_only && next.span.end - next.span.start == 4;
    if (month == 12 || !year || parser->previous.type != TOKEN_NUMBER || number < 1 || number > 31)
        return false;
    CalendarDate day_meant = {(int)strtol(parser_source(parser, next.span), NULL, 10), (int)month + 1,
                              (int)number};
    if (!calendar_is_valid(day_meant))
        return false;
    Text date = {0};
    text_add_string(&date, parser_source(parser, next.span));
    text_add_string(&date, month < 9 ? "-0" : "-");
    text_add_integer(&date, (long long)month + 1);
    text_add_string(&date, number < 10 ? "-0" : "-");
    text_add_integer(&date, number);
    Span whole = span_join(parser->previous.span, next.span);
    MessageArg line = parser_line_surely(parser, whole, text_string(&date));
    text_free(&date);
    parser_report(parser, MSG_DATE_POINTS, span_join(whole, word), ARGS(parser_source(parser, whole), line));
    return true;
}

bool parser_report_unit_slip(Parser *parser, Span word, const char *name) {
    return report_month(parser, word, name) || parser_report_behind_text(parser) ||
           report_such_that(parser, word, name) || report_times(parser, word, name) ||
           report_part(parser, word, name) || report_currency(parser, word, name);
}

/* ---- reserved words as names ---- */

/* A value ends with this token: a word that joins two may follow. */
static bool ends_value(TokenType type) {
    return type == TOKEN_WORD || type == TOKEN_UNIT_WORD || type == TOKEN_NUMBER || type == TOKEN_DATE ||
           type == TOKEN_RIGHT_ROUND || type == TOKEN_RIGHT_SQUARE || type == TOKEN_RIGHT_CURLY ||
           type == TOKEN_TRUE || type == TOKEN_FALSE || type == TOKEN_NONE;
}

/* `from`, `in` and `is` come right after a name: unless one of them, or what else may come, is there too. */
bool parser_name_is_left_out(const Parser *parser) {
    TokenType type = parser->token.type;
    if (type != TOKEN_IN && type != TOKEN_FROM && type != TOKEN_IS)
        return false;
    TokenType next = look_ahead(parser).type;
    return next != TOKEN_IN && next != TOKEN_FROM && next != TOKEN_IS && next != TOKEN_ASSIGN &&
           next != TOKEN_COMMA && next != TOKEN_LEFT_ROUND && next != TOKEN_NEWLINE && next != TOKEN_END;
}

/* The line with another name for the reserved word at the token, and where the word stands for a value
 * further on in the line. */
static MessageArg line_renamed(Parser *parser, const char *before, const char *name) {
    Lexer ahead = parser->lexer;
    Token word = parser->token, last = {.type = TOKEN_WORD}, next;
    Text rest = {0};
    size_t copied = word.span.end;
    ahead.quiet = true;
    text_add_string(&rest, before);
    text_add_string(&rest, name);
    while ((next = lex_next(&ahead)).type != TOKEN_NEWLINE && next.type != TOKEN_END &&
           next.type != TOKEN_TEXT) {
        bool value = next.type == word.type && !ends_value(last.type) && lex_peek(&ahead, false) != ':';
        if (value) {
            text_add(&rest, ahead.text + copied, next.span.start - copied);
            text_add_string(&rest, name);
            copied = next.span.end;
            next.type = TOKEN_WORD;
        }
        last = next;
    }
    MessageArg line = parser_line_with(parser, (Span){word.span.start, (uint32_t)copied}, text_string(&rest));
    text_free(&rest);
    return line;
}

/* my_stop for stop */
static char *other_name(Parser *parser, const char *word) {
    Text name = {0};
    text_add_string(&name, "my_");
    text_add_string(&name, word);
    char *copy = arena_copy(parser->arena, text_string(&name), name.length);
    text_free(&name);
    return copy;
}

void parser_report_reserved(Parser *parser, const char *before) {
    char *word = parser_token_text(parser, &parser->token);
    parser_report_next(parser, MSG_NAME_IS_KEYWORD,
                       ARGS(word, line_renamed(parser, before, other_name(parser, word))));
}

bool parser_was_reserved(const Parser *parser) {
    Span span = parser->token.span;
    size_t length = span.end - span.start;
    for (int i = parser->first_error; i < parser->errors->count; i++) {
        const Diag *diag = parser->errors->items[i];
        if (diag->id == MSG_NAME_IS_KEYWORD && diag->span.end - diag->span.start == length &&
            memcmp(parser->lexer.text + diag->span.start, parser->lexer.text + span.start, length) == 0)
            return true;
    }
    return false;
}

void parser_report_label_alone(Parser *parser, const Token *word) {
    char *typed = parser_token_text(parser, word);
    Text before = {0};
    Parser at = *parser; /* as it stood at the word */
    at.token = *word;
    at.lexer.at = word->span.end;
    text_add_string(&before, typed);
    text_add_char(&before, ' ');
    MessageArg line = line_renamed(&at, text_string(&before), other_name(parser, typed));
    text_free(&before);
    parser_report(parser, MSG_LABEL_KEYWORD, word->span, ARGS(typed, line));
}

/* ---- texts without their quotes ---- */

MessageArg parser_line_quoted(Parser *parser, Span *words) {
    const char *text = parser->lexer.text;
    uint32_t at = parser->token.span.start, end = at + (uint32_t)strcspn(text + at, "\n#;\"");
    while (end > at && strchr(" \t\r", text[end - 1]))
        end--;
    *words = (Span){at, end};
    Text quoted = {0};
    text_add_char(&quoted, '"');
    text_add(&quoted, text + at, end - at);
    text_add_char(&quoted, '"');
    MessageArg line = parser_line_surely(parser, *words, text_string(&quoted));
    text_free(&quoted);
    return line;
}

/* One of several choices at a token of `ahead`: a word or a text, with quotes. */
static bool take_choice(Lexer *ahead, const Token *token, Text *list) {
    size_t end = token->span.end;
    if (token->type == TOKEN_TEXT)
        end = lex_text_end(ahead, end, token->quote);
    else if (token->type != TOKEN_WORD && token->type != TOKEN_RAW_TEXT)
        return false;
    if (end == 0)
        return false;
    if (token->type == TOKEN_WORD)
        text_add_char(list, '"');
    text_add(list, ahead->text + token->span.start, end - token->span.start);
    if (token->type == TOKEN_WORD)
        text_add_char(list, '"');
    ahead->at = end;
    return true;
}

bool parser_report_bare_choices(Parser *parser) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token token = parser->token;
    Text list = {0};
    int count = 0;
    uint32_t end = token.span.end;
    text_add_char(&list, '[');
    bool reads = true, texts = false;
    while (reads && take_choice(&ahead, &token, &list)) {
        texts = texts || token.type != TOKEN_WORD;
        end = (uint32_t)ahead.at;
        count++;
        token = lex_next(&ahead);
        reads = token.type == TOKEN_COMMA || token.type == TOKEN_OR || (texts && token.type == TOKEN_TO);
        if (reads) {
            text_add_string(&list, ", ");
            token = lex_next(&ahead);
        }
    }
    text_add_char(&list, ']');
    bool bare = !reads && (count > 1 || texts);
    if (bare) {
        Span whole = {parser->token.span.start, end};
        MessageArg line = parser_line_surely(parser, whole, text_string(&list));
        parser_report(parser, MSG_CHOICES_LIST, whole, ARGS(line));
    }
    text_free(&list);
    return bare;
}

/* ---- texts of several lines ---- */

/* What is between two `"""`, as the inside of a text of one line. */
static void add_one_line(Text *out, const char *text, size_t start, size_t end) {
    const char *const blanks = " \t\r\n";
    while (start < end && strchr(blanks, text[start]))
        start++;
    while (end > start && strchr(blanks, text[end - 1]))
        end--;
    for (size_t at = start; at < end; at++) {
        if (text[at] == '\n') {
            text_add_string(out, "\\n");
            while (at + 1 < end && (text[at + 1] == ' ' || text[at + 1] == '\t'))
                at++;
        } else if (text[at] == '"') {
            text_add_string(out, "\\\"");
        } else if (text[at] != '\r') {
            text_add_char(out, text[at]);
        }
    }
}

bool parser_report_triple_quotes(Parser *parser) {
    const char *text = parser->lexer.text;
    static const char quotes[] = "\"\"\"";
    uint32_t start = parser->token.span.start;
    if (strncmp(text + start, quotes, 3) != 0)
        return false;
    const char *close = strstr(text + start + 3, quotes);
    uint32_t inside = start + 3, line_end = inside + (uint32_t)strcspn(text + inside, "\n");
    uint32_t end = close ? (uint32_t)(close - text) : line_end;
    Span whole = {start, close ? end + 3 : end};
    Text one = {0};
    text_add_char(&one, '"');
    add_one_line(&one, text, inside, end);
    text_add_char(&one, '"');
    MessageArg line = parser_line_surely(parser, whole, text_string(&one));
    text_free(&one);
    parser_report(parser, MSG_TEXT_TRIPLE, (Span){start, inside}, ARGS(line));
    parser->lexer.at = whole.end;
    parser->token.type = TOKEN_BAD; /* nothing of it is read again */
    return true;
}

/* ---- steps ---- */

bool parser_report_reading_step(Parser *parser, const Node *by) {
    if (by->type != NODE_ATTACH || by->bracketed || by->as.attach.operand->type != NODE_NUMBER)
        return false;
    const char *unit = parser_source(parser, by->as.attach.unit->span);
    const ParseHost *host = parser->host;
    const char *canonical = host && host->everyday ? host->everyday(host->context, unit) : NULL;
    const char *difference = unit_difference_name(canonical ? canonical : unit);
    bool points = strcmp(difference, "pts") == 0 && by->as.attach.operand->as.number < 0.9;
    if (strcmp(difference, "C°") != 0 && strcmp(difference, "F°") != 0 && !points)
        return false;
    if (strcmp(difference, canonical ? canonical : unit) == 0)
        return false;
    Text step = {0};
    if (points)
        format_shortest(&step, round(by->as.attach.operand->as.number * 1e6) / 1e3);
    else
        text_add_string(&step, parser_source(parser, by->as.attach.operand->span));
    text_add_char(&step, ' ');
    text_add_string(&step, difference);
    MessageArg line = parser_line_surely(parser, by->span, text_string(&step));
    text_free(&step);
    parser_report(parser, MSG_STEP_READING, by->span, ARGS(parser_source(parser, by->span), line));
    return true;
}
