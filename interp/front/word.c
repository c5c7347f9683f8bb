/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of words. */
#include "front/word.h"

#include <string.h>

static const Word words[WORD_COUNT] = {
#define KEYWORD(id, text, opens, traits, says, form)                                                         \
    [WORD_##id] = {text, TOKEN_##id, opens, traits, says, form},
#define CONTEXT(id, text, opens, traits, says, form)                                                         \
    [WORD_##id] = {text, TOKEN_WORD, opens, traits, says, form},
#include "front/language.def"
};

/* The texts alone, side by side: the lexer asks for every name. Longer words want more room. */
enum { WORD_BYTES = 8 };
static const char texts[WORD_COUNT][WORD_BYTES] = {
#define KEYWORD(id, text, ...) [WORD_##id] = text,
#define CONTEXT(id, text, ...) [WORD_##id] = text,
#include "front/language.def"
};

static const WordId of_tokens[TOKEN_COUNT] = {
#define KEYWORD(id, ...) [TOKEN_##id] = WORD_##id,
#include "front/language.def"
};

const Word *word_at(int index) {
    return index >= 0 && index < WORD_COUNT ? &words[index] : NULL;
}

const Word *word_find(const char *text, size_t length) {
    char padded[WORD_BYTES] = {0};
    if (length >= WORD_BYTES)
        return NULL;
    memcpy(padded, text, length);
    for (int i = 0; i < WORD_COUNT; i++)
        if (memcmp(texts[i], padded, WORD_BYTES) == 0)
            return &words[i];
    return NULL;
}

const Word *word_of_token(TokenType type) {
    return (int)type >= TOKEN_FIRST_KEYWORD && type < TOKEN_COUNT ? &words[of_tokens[type]] : NULL;
}

bool word_token_has(TokenType type, WordTrait trait) {
    const Word *word = word_of_token(type);
    return word && (word->traits & (int)trait) != 0;
}

const char *word_of_statement(StatementType type) {
    for (int i = 0; i < WORD_COUNT; i++)
        if (words[i].opens == type)
            return words[i].text;
    return NULL;
}

bool word_is_counted(const char *text, WordId word) {
    size_t length = strlen(words[word].text);
    return strncmp(text, words[word].text, length - 1) == 0 &&
           (text[length - 1] == '\0' || strcmp(text + length - 1, "s") == 0);
}
