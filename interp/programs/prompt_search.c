/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What `help` finds when nothing is called that: phrases of everyday speech, names, topics and what is
 * written about each formula, ranked. And `help words`, the table of phrases. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "programs/prompt.h"
#include "programs/prompt_state.h"

typedef struct Phrase {
    const char *says, *type, *see;
} Phrase;

static const Phrase phrases[] = {
#define PHRASE(says, type, see) {says, type, see},
#define TOPIC(says, tells, type)
#define UNIT_REMARK(name, remark)
#include "programs/phrases.def"
#undef PHRASE
#undef TOPIC
#undef UNIT_REMARK
};
enum { PHRASE_COUNT = sizeof phrases / sizeof *phrases };

typedef struct UnitRemark {
    const char *name, *remark;
} UnitRemark;

static const UnitRemark remarks[] = {
#define PHRASE(says, type, see)
#define TOPIC(says, tells, type)
#define UNIT_REMARK(name, remark) {name, remark},
#include "programs/phrases.def"
#undef PHRASE
#undef TOPIC
#undef UNIT_REMARK
};

static const PromptTopic topics[] = {
#define PHRASE(says, type, see)
#define TOPIC(says, tells, type) {says, tells, type},
#define UNIT_REMARK(name, remark)
#include "programs/phrases.def"
#undef PHRASE
#undef TOPIC
#undef UNIT_REMARK
};

const char *prompt_unit_remark(const char *unit) {
    for (size_t i = 0; i < sizeof remarks / sizeof *remarks; i++)
        if (strcmp(remarks[i].name, unit) == 0)
            return remarks[i].remark;
    return NULL;
}

/* ---- words ---- */

enum { TOKENS_MOST = 8 };

typedef struct Query {
    char *tokens[TOKENS_MOST];
    int count;
    char *whole; /* the words with one space between them */
    bool any;    /* one token that fits will do; else all must */
} Query;

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool is_letter(char c) {
    c = lower(c);
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || (c & 0x80);
}

/* Words that say nothing of what is looked for. */
static bool is_filler(const char *word) {
    static const char *const fillers[] = {
        "a",     "an",   "the",   "is",     "it",   "to",    "of",    "my",     "in",   "i",    "do",
        "for",   "and",  "or",    "on",     "how",  "what",  "with",  "at",     "be",   "can",  "much",
        "too",   "me",   "get",   "does",   "did",  "are",   "am",    "we",     "you",  "your", "our",
        "this",  "that", "there", "when",   "why",  "where", "which", "should", "want", "need", "will",
        "would", "make", "so",    "please", "have", "has",   "use",   "about",  "help", "cider"};
    for (size_t i = 0; i < sizeof fillers / sizeof *fillers; i++)
        if (strcmp(fillers[i], word) == 0)
            return true;
    return false;
}

/* The next word of a text, in small letters. False at its end. */
static bool next_word(const char **text, Text *word) {
    text_clear(word);
    while (**text && !is_letter(**text))
        ++*text;
    for (; is_letter(**text); ++*text)
        text_add_char(word, lower(**text));
    return word->length > 0;
}

/* The text in small letters, its words with one space between them. */
static char *plain_words(const char *text, size_t length) {
    char *part = mem_copy(text, length);
    Text words = {0}, word = {0};
    for (const char *at = part; next_word(&at, &word);) {
        text_add_string(&words, words.length ? " " : "");
        text_add_string(&words, text_string(&word));
    }
    mem_free(part);
    text_free(&word);
    return text_take(&words);
}

/* Words that say nothing are left out, unless there are no others. */
static void read_tokens(Query *query, const char *text, bool fillers) {
    Text word = {0};
    while (next_word(&text, &word)) {
        if (word.length > 3 && word.bytes[word.length - 1] == 's')
            word.bytes[--word.length] = '\0'; /* a plural */
        bool says = !is_filler(word.bytes) && (*word.bytes < '0' || *word.bytes > '9');
        if ((fillers || says) && query->count < TOKENS_MOST)
            query->tokens[query->count++] = mem_copy_string(word.bytes);
    }
    text_free(&word);
}

static void query_read(Query *query, const char *text) {
    *query = (Query){.whole = plain_words(text, strlen(text))};
    read_tokens(query, text, false);
    if (!query->count)
        read_tokens(query, text, true);
}

static void query_free(Query *query) {
    for (int i = 0; i < query->count; i++)
        mem_free(query->tokens[i]);
    mem_free(query->whole);
}

static bool begins_with(const char *text, const char *token) {
    for (; *token; text++, token++)
        if (lower(*text) != *token)
            return false;
    return true;
}

/* 2: a word of the text is the token, or its plural; 1: one begins with it; 0: none. */
static int match_words(const char *text, const char *token) {
    int best = 0;
    size_t length = strlen(token);
    for (const char *at = text; *at; at++) {
        bool starts = is_letter(*at) && (at == text || !is_letter(at[-1]));
        if (!starts || !begins_with(at, token))
            continue;
        const char *end = at + length;
        if (*end == 's')
            end++;
        if (!is_letter(*end))
            return 2;
        best = length >= 3 ? 1 : best;
    }
    return best;
}

/* ---- what is found ---- */

typedef struct Hit {
    char *name;
    char *about; /* the first sentence of its documentation; NULL without */
    int score;
    int place; /* of those of one score, as they came */
} Hit;

typedef struct Hits {
    const Query *query;
    Hit *items;
    int count, capacity;
} Hits;

static size_t sentence_length(const char *doc) {
    for (size_t at = 0;; at++) {
        char c = doc[at], next = c ? doc[at + 1] : '\0';
        if (!c || (c == '.' && (next == ' ' || next == '\n' || !next)) || (c == ';' && at > 20))
            return at;
    }
}

static bool has_words(const char *text, const char *words) {
    size_t length = strlen(words);
    for (const char *at = length ? strstr(text, words) : NULL; at; at = strstr(at + 1, words))
        if ((at == text || at[-1] == ' ') && (at[length] == ' ' || !at[length]))
            return true;
    return false;
}

/* Is each word of it, except for those that say nothing, asked for? */
static bool is_covered(const Query *query, const char *words) {
    Text word = {0};
    int saying = 0;
    bool covered = true;
    while (covered && next_word(&words, &word)) {
        bool met = false;
        if (is_filler(word.bytes))
            continue;
        for (int i = 0; i < query->count; i++)
            met = met || match_words(word.bytes, query->tokens[i]);
        covered = met;
        saying++;
    }
    text_free(&word);
    return covered && saying;
}

static int sum_matches(const Query *query, const char *text, bool *all) {
    int sum = 0;
    *all = true;
    for (int i = 0; i < query->count; i++) {
        int match = match_words(text, query->tokens[i]);
        *all = *all && match;
        sum += match;
    }
    return sum;
}

/* Of one of the things that a phrase says. What is asked word for word beats the same words in another order,
 * and these beat some of them. */
static int score_saying(const Query *query, const char *words) {
    enum { STRONG = 100, PART = 100, WHOLE = 300 };
    bool all;
    int sum = sum_matches(query, words, &all), score = 25 * sum;
    bool whole = sum == 2 * query->count; /* whole words, not only their beginnings */
    bool said = has_words(query->whole, words), holds = has_words(words, query->whole);
    if (said && holds)
        return STRONG + WHOLE + score;
    if (said || holds)
        return STRONG + PART + score;
    if (is_covered(query, words) || (all && whole))
        return STRONG + score;
    return all || query->any ? score : 0;
}

/* How well a phrase fits: the best of what it says, or all words somewhere in it. */
static int score_phrase(const Query *query, const Phrase *phrase) {
    bool all;
    int best = 25 * sum_matches(query, phrase->says, &all);
    best = all || query->any ? best : 0;
    for (const char *at = phrase->says; *at; at += strspn(at, ", ")) {
        size_t length = strcspn(at, ",");
        char *words = plain_words(at, length);
        int score = score_saying(query, words);
        best = score > best ? score : best;
        mem_free(words);
        at += length;
    }
    return best;
}

/* Does it say, word for word, what a phrase says? Of a phrase of one word, nothing else. */
static bool says_phrase(const Query *query) {
    bool found = false;
    for (int i = 0; i < PHRASE_COUNT && !found; i++)
        for (const char *at = phrases[i].says; *at && !found; at += strspn(at, ", ")) {
            size_t length = strcspn(at, ",");
            char *words = plain_words(at, length);
            found = strchr(words, ' ') ? has_words(query->whole, words) : strcmp(query->whole, words) == 0;
            mem_free(words);
            at += length;
        }
    return found;
}

char *prompt_asked_word(const char *asked) {
    Query query;
    Text word = {0}, only = {0};
    int count = 0;
    query_read(&query, asked);
    for (const char *at = asked; next_word(&at, &word);) {
        if (is_filler(word.bytes))
            continue;
        text_clear(&only);
        text_add_string(&only, word.bytes);
        count++;
    }
    bool single = count <= 1 && !says_phrase(&query);
    query_free(&query);
    text_free(&word);
    char *text = text_take(&only);
    if (single)
        return text;
    mem_free(text);
    return NULL;
}

const PromptTopic *prompt_topic(const char *asked) {
    char *words = plain_words(asked, strlen(asked));
    const PromptTopic *found = NULL;
    for (size_t i = 0; i < sizeof topics / sizeof *topics; i++)
        for (const char *at = topics[i].says; *at && !found; at += strspn(at, ", ")) {
            size_t length = strcspn(at, ",");
            bool begins = strncmp(words, at, length) == 0;
            if (begins && (!words[length] || strcmp(words + length, "s") == 0))
                found = &topics[i];
            at += length;
        }
    mem_free(words);
    return found;
}

static bool has_phrase(const Query *query) {
    for (int i = 0; i < PHRASE_COUNT; i++)
        if (score_phrase(query, &phrases[i]))
            return true;
    return false;
}

static int score_phrases(const Query *query, const char *name) {
    int best = 0;
    for (int i = 0; i < PHRASE_COUNT; i++) {
        int score = strcmp(phrases[i].see, name) == 0 ? score_phrase(query, &phrases[i]) : 0;
        best = score > best ? score : best;
    }
    return best;
}

/* 0 unless every word of the query is met, or any where that will do. */
static int score_name(const Query *query, const NameInfo *info) {
    const char *doc = info->doc ? info->doc : "";
    char *first = mem_copy(doc, sentence_length(doc));
    int score = 0;
    bool all = true;
    for (int i = 0; i < query->count; i++) {
        const char *token = query->tokens[i];
        int one = 30 * match_words(info->name, token) +
                  5 * match_words(info->topic ? info->topic : "", token) + 8 * match_words(first, token) +
                  3 * match_words(doc, token);
        all = all && one;
        score += one;
    }
    mem_free(first);
    return all || query->any ? score : 0;
}

static bool is_of_interest(const NameInfo *info) {
    return info->kind == NAME_FORMULA || info->kind == NAME_LIBRARY || info->kind == NAME_NATIVE ||
           (info->kind == NAME_VALUE && info->doc);
}

static void look_at_name(void *context, const NameInfo *info) {
    Hits *hits = context;
    if (!is_of_interest(info) || prompt_is_internal(info->name))
        return;
    int score = score_name(hits->query, info) + score_phrases(hits->query, info->name);
    if (!score)
        return;
    const char *doc = info->doc ? info->doc : "";
    MEM_GROW(hits->items, hits->count, hits->capacity);
    hits->items[hits->count] = (Hit){.name = mem_copy_string(info->name),
                                     .about = mem_copy(doc, sentence_length(doc)),
                                     .score = score,
                                     .place = hits->count};
    hits->count++;
}

static int compare_hits(const void *a, const void *b) {
    const Hit *left = a, *right = b;
    return left->score != right->score ? right->score - left->score : left->place - right->place;
}

static void hits_free(Hits *hits) {
    for (int i = 0; i < hits->count; i++) {
        mem_free(hits->items[i].name);
        mem_free(hits->items[i].about);
    }
    mem_free(hits->items);
}

/* ---- a line that was not understood ---- */

/* Numbers and units say nothing of what is wanted. */
static bool tells_something(Session *session, const char *token) {
    Text literal = {0};
    UnitId unit;
    text_add_string(&literal, "1 ");
    text_add_string(&literal, token);
    bool is_unit = session_unit_of(session, text_string(&literal), &unit);
    text_free(&literal);
    return !is_unit && !(*token >= '0' && *token <= '9');
}

char *prompt_example_of(const char *doc) {
    static const char mark[] = "\nExample: ";
    const char *example = doc ? strstr(doc, mark) : NULL;
    return example ? mem_copy(example + sizeof mark - 1, strcspn(example + sizeof mark - 1, "\n")) : NULL;
}

typedef struct ExampleSearch {
    const char *text;
    size_t place; /* where in the text its name is */
    char *example;
} ExampleSearch;

static bool goes_on(char c) {
    return is_letter(c) || c == '_';
}

static void look_for_example(void *context, const NameInfo *info) {
    ExampleSearch *search = context;
    size_t length = strlen(info->name);
    char *example = info->usage ? prompt_example_of(info->doc) : NULL;
    for (const char *at = search->text; example && (at = strstr(at, info->name)) != NULL; at += length) {
        size_t place = (size_t)(at - search->text);
        bool named = !goes_on(at[length]) && (!place || !goes_on(at[-1])) && (!place || at[length] == '(');
        if (!named || (search->example && place >= search->place))
            continue;
        mem_free(search->example);
        search->example = example;
        search->place = place;
        return;
    }
    mem_free(example);
}

/* The example of the formula that the text begins with, or else calls first. */
static char *example_of_formula(Session *session, const char *text) {
    ExampleSearch search = {.text = text};
    session_each_name(session, look_for_example, &search);
    return search.example;
}

/* The phrase whose words the text has most of. */
static const char *phrase_like(Session *session, const char *text) {
    Query all, query = {0};
    const Phrase *best = NULL;
    int best_score = 0;
    query_read(&all, text);
    for (int i = 0; i < all.count; i++)
        if (tells_something(session, all.tokens[i]))
            query.tokens[query.count++] = all.tokens[i];
    for (int i = 0; i < PHRASE_COUNT; i++) {
        int fitting = 0, score = 0;
        for (int t = 0; t < query.count; t++) {
            int match = match_words(phrases[i].says, query.tokens[t]);
            fitting += match > 0;
            score += 10 * match;
        }
        if (2 * fitting >= query.count && score > best_score) {
            best = &phrases[i];
            best_score = score;
        }
    }
    query_free(&all);
    return best ? best->type : NULL;
}

char *prompt_line_like(Session *session, const char *text) {
    char *example = example_of_formula(session, text);
    return example ? example : mem_copy_string(phrase_like(session, text));
}

/* ---- showing it ---- */

void prompt_add_row(Text *out, const char *title, size_t column, const char *text, size_t width) {
    Text line = {0};
    size_t start = out->length, used;
    text_add_string(out, "  ");
    text_add_string(out, title);
    used = utf8_width(out->bytes + start, out->length - start);
    text_add_padding(out, used, used < column ? column : used + 2);
    used = used < column ? column : used + 2;
    text_add_clean(&line, text, strlen(text), "", " ");
    const char *rest = text_string(&line);
    while (*(rest += strspn(rest, " "))) {
        size_t length = strcspn(rest, " ");
        bool first = used == column || out->bytes[out->length - 1] == ' ';
        size_t word = utf8_width(rest, length);
        if (!first && used + 1 + word > width) {
            text_add_char(out, '\n');
            text_add_repeated(out, ' ', column);
            used = column;
        } else if (!first) {
            text_add_char(out, ' ');
            used++;
        }
        text_add(out, rest, length);
        used += word;
        rest += length;
    }
    text_add_char(out, '\n');
    text_free(&line);
}

enum { HITS_MOST = 8, PHRASES_MOST = 3, NAME_COLUMN = 22 };

static size_t width_of(const Prompt *prompt) {
    size_t width = console_width(prompt->console);
    return width ? width : RENDER_WIDTH;
}

/* The phrases that fit best, with what to type. The first of them, or NULL. */
static const Phrase *add_phrases(Text *out, const Query *query) {
    const Phrase *first = NULL, *last = NULL;
    int limit = 1000, shown = 0;
    while (shown < PHRASES_MOST) {
        const Phrase *best = NULL;
        int best_score = 0;
        for (int i = 0; i < PHRASE_COUNT; i++) {
            int score = score_phrase(query, &phrases[i]);
            bool after = score < limit || (score == limit && last && &phrases[i] > last);
            if (score > best_score && after) {
                best = &phrases[i];
                best_score = score;
            }
        }
        if (!best)
            break;
        if (!shown) {
            text_add_string(out, message_text(PHRASE_WHAT_TO_TYPE));
            text_add_char(out, '\n');
        }
        text_add_string(out, "  ");
        text_add_string(out, best->type);
        text_add_char(out, '\n');
        first = first ? first : best;
        last = best;
        limit = best_score;
        shown++;
    }
    return first;
}

bool prompt_search(Prompt *prompt, const char *wanted) {
    Query query;
    Text out = {0};
    query_read(&query, wanted);
    Hits hits = {.query = &query};
    session_each_name(prompt->session, look_at_name, &hits);
    if (!hits.count && !has_phrase(&query)) {
        query.any = true;
        session_each_name(prompt->session, look_at_name, &hits);
    }
    if (hits.count)
        qsort(hits.items, (size_t)hits.count, sizeof *hits.items, compare_hits);
    int least = hits.count ? hits.items[0].score / 6 : 0;
    for (int i = 0; i < hits.count && i < HITS_MOST && hits.items[i].score > least; i++)
        prompt_add_row(&out, hits.items[i].name, NAME_COLUMN, hits.items[i].about, width_of(prompt));
    const Phrase *phrase = add_phrases(&out, &query);
    bool found = hits.count || phrase;
    if (phrase) {
        prompt_offer(prompt, &out, phrase->type, message_text(PHRASE_FIRST_LINE));
    } else if (hits.count) {
        Text line = {0};
        text_add_string(&line, "help ");
        text_add_string(&line, hits.items[0].name);
        prompt_offer(prompt, &out, text_string(&line), NULL);
        text_free(&line);
    }
    console_write_wrapped(prompt->console, &out);
    hits_free(&hits);
    query_free(&query);
    text_free(&out);
    return found;
}

void prompt_show_phrases(Prompt *prompt) {
    enum { SAYS_COLUMN = 30 };
    size_t width = width_of(prompt);
    Text out = {0};
    text_add_string(&out, message_text(PHRASE_SAID_AND_TYPED));
    text_add_string(&out, "\n\n");
    for (int i = 0; i < PHRASE_COUNT; i++) {
        size_t says = utf8_width(phrases[i].says, strlen(phrases[i].says));
        size_t type = utf8_width(phrases[i].type, strlen(phrases[i].type));
        text_add_string(&out, phrases[i].says);
        if (says < SAYS_COLUMN && SAYS_COLUMN + type <= width)
            text_add_padding(&out, says, SAYS_COLUMN);
        else
            text_add_string(&out, "\n    ");
        text_add_string(&out, phrases[i].type);
        text_add_char(&out, '\n');
    }
    console_write_wrapped(prompt->console, &out);
    text_free(&out);
}
