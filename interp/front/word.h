/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words of the language: the rows of front/language.def, to be looked up. */
#ifndef RUNDLET_WORD_H
#define RUNDLET_WORD_H

#include "front/lex.h"

typedef enum WordId {
#define KEYWORD(id, ...) WORD_##id,
#define CONTEXT(id, ...) WORD_##id,
#include "front/language.def"
    WORD_COUNT
} WordId;

/* What a word is for those who meet it out of its place. */
typedef enum WordTrait {
    TRAIT_RESUMES = 1,   /* at the head of a line it begins a statement, whatever was wrong above */
    TRAIT_CONTINUES = 2, /* a newline after it does not end the statement */
    TRAIT_JOINS = 4,     /* may follow a complete value */
    TRAIT_DECLARES = 8,  /* a name being declared may follow it */
    TRAIT_VALUE = 16,    /* an expression may begin with it */
    TRAIT_INSIDE = 32    /* part of an operand of `as`, which begins before it */
} WordTrait;

typedef struct Word {
    const char *text;
    TokenType token;     /* TOKEN_WORD: a word of the language in some places only */
    StatementType opens; /* NO_STATEMENT without */
    int traits;          /* WordTrait */
    const char *says;    /* a sentence */
    const char *form;    /* examples, a line each; NULL for a word that occurs in those of others only */
} Word;

/* In the order of the table; NULL past the end. */
const Word *word_at(int index);
/* NULL for what is not a word of the language. */
const Word *word_find(const char *text, size_t length);
/* The reserved word of a token; NULL for other tokens. */
const Word *word_of_token(TokenType type);
bool word_token_has(TokenType type, WordTrait trait);
/* The first word that begins such a statement; NULL where none does. */
const char *word_of_statement(StatementType type);
/* Is it that word, or its singular (`1 place`)? */
bool word_is_counted(const char *text, WordId word);

#endif
