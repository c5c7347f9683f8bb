/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives on text, with PCRE2 patterns.
 *
 * Patterns are strangers' code: PCRE2's own limits bound the work of one starting place, and since it counts
 * again at each starting place of the subject, a long subject gets a smaller limit, and a search continues by
 * windows of starting places: between two of them the limit of time and an interruption are looked at. No
 * just-in-time code: the limits of depth and heap do not hold there. */
#include "runtime/native_text.h"

#include <string.h>

#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>
#include <utf8proc.h>

#include "base/mem.h"
#include "front/literal.h"
#include "runtime/native_tables.h"

enum {
    PATTERN_MOST = 4 * 1024,    /* bytes */
    SUBJECT_MOST = 1024 * 1024, /* bytes */
    MATCH_LIMIT = 100000,       /* steps from one starting place */
    MATCH_LIMIT_LEAST = 1000,
    WORK_MOST = 100000000, /* steps of a search, about a second; more where MATCH_LIMIT_LEAST rules */
    WINDOW_WORK = 5000000, /* steps between two looks at the time, some 50 ms */
    DEPTH_LIMIT = 1000,
    HEAP_LIMIT_KIB = 4096,
    CACHE_SIZE = 32
};

/* ---- compiled patterns ---- */

typedef struct Pattern {
    char *bytes;
    size_t length;
    pcre2_code *code;
    pcre2_match_data *data;
} Pattern;

typedef struct Cache {
    Pattern patterns[CACHE_SIZE];
    int count;
    int oldest; /* the next to go when it is full */
    pcre2_general_context *general;
    pcre2_compile_context *compile;
    pcre2_match_context *match;
} Cache;

static Cache *cache_of(NativeContext *context) {
    if (context->regex)
        return context->regex;
    Cache *cache = mem_alloc(sizeof *cache);
    cache->general = pcre2_general_context_create(mem_alloc_for, mem_free_for, NULL);
    cache->compile = pcre2_compile_context_create(cache->general);
    cache->match = pcre2_match_context_create(cache->general);
    pcre2_set_depth_limit(cache->match, DEPTH_LIMIT);
    pcre2_set_heap_limit(cache->match, HEAP_LIMIT_KIB);
    context->regex = cache;
    return cache;
}

static void pattern_clear(Pattern *pattern) {
    pcre2_match_data_free(pattern->data);
    pcre2_code_free(pattern->code);
    mem_free(pattern->bytes);
    *pattern = (Pattern){0};
}

void native_text_free(void *cache) {
    Cache *owned = cache;
    if (!owned)
        return;
    for (int i = 0; i < owned->count; i++)
        pattern_clear(&owned->patterns[i]);
    pcre2_match_context_free(owned->match);
    pcre2_compile_context_free(owned->compile);
    pcre2_general_context_free(owned->general);
    mem_free(owned);
}

static bool fail_pattern(Call *call, int index, int error, size_t offset) {
    PCRE2_UCHAR message[256] = {0};
    pcre2_get_error_message(error, message, sizeof message);
    size_t before = utf8_count(call->args[index].as.text->bytes, offset);
    return native_fail(call, index, MSG_NATIVE_PATTERN,
                       ARGS((const char *)message, arg_whole((long long)before + 1)));
}

static Pattern *compile_pattern(Call *call, int index, Cache *cache, const TextObject *text) {
    int error = 0;
    size_t offset = 0;
    if (text->length > PATTERN_MOST) {
        native_fail(call, index, MSG_NATIVE_PATTERN_COSTLY, NO_ARGS);
        return NULL;
    }
    pcre2_code *code = pcre2_compile((PCRE2_SPTR)text->bytes, text->length,
                                     PCRE2_UTF | PCRE2_UCP | PCRE2_NEVER_BACKSLASH_C | PCRE2_USE_OFFSET_LIMIT,
                                     &error, &offset, cache->compile);
    if (!code) {
        fail_pattern(call, index, error, offset < text->length ? offset : text->length);
        return NULL;
    }
    int at = cache->count < CACHE_SIZE ? cache->count++ : cache->oldest;
    cache->oldest = (at + 1) % CACHE_SIZE;
    Pattern *pattern = &cache->patterns[at];
    pattern_clear(pattern);
    *pattern = (Pattern){.bytes = mem_copy(text->bytes, text->length),
                         .length = text->length,
                         .code = code,
                         .data = pcre2_match_data_create_from_pattern(code, cache->general)};
    return pattern;
}

static Pattern *find_pattern(Call *call, int index) {
    const TextObject *text = native_text(call, index);
    Cache *cache = cache_of(call->context);
    for (int i = 0; i < cache->count; i++) {
        Pattern *pattern = &cache->patterns[i];
        if (pattern->length == text->length && memcmp(pattern->bytes, text->bytes, text->length) == 0)
            return pattern;
    }
    return compile_pattern(call, index, cache, text);
}

/* ---- matching ---- */

/* One search through a text. */
typedef struct Search {
    Call *call;
    Pattern *pattern;
    const TextObject *text;
    pcre2_match_context *match;
    size_t from;   /* where the next match may begin */
    size_t window; /* how many starting places are tried at once */
    uint32_t options;
    size_t start, end; /* of the match found */
} Search;

static bool fail_costly(Call *call) {
    return native_fail(call, 1, MSG_NATIVE_PATTERN_COSTLY, NO_ARGS);
}

/* A pattern that refers to where the search began, or gives up a search, is tried at all places at once. */
static bool looks_at_search(const Pattern *pattern) {
    return strstr(pattern->bytes, "\\G") || strstr(pattern->bytes, "(*");
}

static void limit_work(Search *search) {
    size_t length = search->text->length;
    uint32_t limit = MATCH_LIMIT;
    if (length > WORK_MOST / MATCH_LIMIT)
        limit = (uint32_t)(WORK_MOST / length);
    if (limit < MATCH_LIMIT_LEAST)
        limit = MATCH_LIMIT_LEAST;
    pcre2_set_match_limit(search->match, limit);
    search->window = looks_at_search(search->pattern) ? length : WINDOW_WORK / limit;
}

/* Text first, pattern second: so all these natives are called. */
static bool search_begin(Call *call, Search *search) {
    *search = (Search){.call = call, .text = native_text(call, 0)};
    search->pattern = find_pattern(call, 1);
    if (!search->pattern)
        return false;
    if (search->text->length > SUBJECT_MOST)
        return fail_costly(call);
    search->match = cache_of(call->context)->match;
    limit_work(search);
    return true;
}

typedef enum Found { FOUND, NOT_FOUND, FOUND_ERROR } Found;

static size_t next_character(const TextObject *text, size_t at) {
    do
        at++;
    while (at < text->length && (text->bytes[at] & 0xC0) == 0x80);
    return at;
}

/* The first match that begins in [from, last]. */
static Found search_window(Search *search, size_t from, size_t last, uint32_t options) {
    pcre2_set_offset_limit(search->match, last);
    int count = pcre2_match(search->pattern->code, (PCRE2_SPTR)search->text->bytes, search->text->length,
                            from, search->options | options, search->pattern->data, search->match);
    search->options = PCRE2_NO_UTF_CHECK; /* the first time looked at all of it */
    if (count == PCRE2_ERROR_NOMATCH)
        return NOT_FOUND;
    if (count < 0) {
        fail_costly(search->call);
        return FOUND_ERROR;
    }
    const size_t *pairs = pcre2_get_ovector_pointer(search->pattern->data);
    search->start = pairs[0] < pairs[1] ? pairs[0] : pairs[1]; /* \K in a lookahead can turn them round */
    search->end = pairs[1];
    return FOUND;
}

static Found search_once(Search *search, uint32_t options) {
    size_t from = search->from, length = search->text->length;
    for (;;) {
        size_t steps = from > search->from ? WATCH_STEPS : WATCH_STEPS / 100;
        if (!heap_work(search->call->arith.heap, steps, search->call->arith.fault))
            return FOUND_ERROR;
        size_t last = length - from > search->window ? from + search->window : length;
        Found found = search_window(search, from, last, options);
        if (found != NOT_FOUND || last == length || (options & PCRE2_ANCHORED))
            return found;
        from = next_character(search->text, last);
    }
}

/* The next match. After an empty one another may begin at the same place, but not be empty again. */
static Found search_next(Search *search, bool after_empty) {
    if (after_empty) {
        Found found = search_once(search, PCRE2_NOTEMPTY_ATSTART | PCRE2_ANCHORED);
        if (found != NOT_FOUND)
            return found;
        if (search->from >= search->text->length)
            return NOT_FOUND;
        search->from = next_character(search->text, search->from);
    }
    return search_once(search, 0);
}

/* Goes on after the match; false when a \K made the search stand still. */
static void search_advance(Search *search) {
    if (search->end > search->from || search->start == search->end)
        search->from = search->end > search->from ? search->end : search->from;
    else
        search->from = next_character(search->text, search->from);
}

static Value group_value(const Search *search, uint32_t group) {
    const size_t *pairs = pcre2_get_ovector_pointer(search->pattern->data);
    size_t start = pairs[2 * group], end = pairs[2 * group + 1];
    if (start == PCRE2_UNSET || start > end)
        return value_none();
    return value_text(search->call->arith.heap, search->text->bytes + start, end - start);
}

/* {"0": the whole, "1": …, name: …}; a group that took no part is none. */
static Value match_record(const Search *search) {
    Heap *heap = search->call->arith.heap;
    const pcre2_code *code = search->pattern->code;
    uint32_t groups = pcre2_get_ovector_count(search->pattern->data), names = 0, width = 0;
    PCRE2_SPTR table = NULL;
    pcre2_pattern_info(code, PCRE2_INFO_NAMECOUNT, &names);
    pcre2_pattern_info(code, PCRE2_INFO_NAMEENTRYSIZE, &width);
    pcre2_pattern_info(code, PCRE2_INFO_NAMETABLE, &table);
    RecordObject *record = record_new(heap, groups + names);
    Text number = {0};
    for (uint32_t i = 0; i < groups; i++) {
        text_clear(&number);
        text_add_integer(&number, i);
        record->fields[i].name = text_object_intern(heap, number.bytes, number.length);
        record->fields[i].value = group_value(search, i);
    }
    for (uint32_t i = 0; i < names; i++) {
        PCRE2_SPTR entry = table + (size_t)i * width; /* two bytes of number, then the name */
        const char *name = (const char *)(entry + 2);
        uint32_t group = (uint32_t)entry[0] << 8 | entry[1];
        record->fields[groups + i].name = text_object_intern(heap, name, strlen(name));
        record->fields[groups + i].value = record->fields[group].value;
    }
    text_free(&number);
    return value_of_record(record);
}

/* ---- lists of what is found ---- */

typedef struct Collected {
    Value *items;
    uint32_t count, capacity;
} Collected;

static bool collect(Call *call, Collected *collected, Value value) {
    if (!heap_allows(call->arith.heap, collected->count * sizeof(Value), call->arith.fault))
        return false;
    MEM_GROW(collected->items, collected->count, collected->capacity);
    collected->items[collected->count++] = value;
    return true;
}

static bool finish_list(Call *call, Collected *collected, bool done) {
    if (done) {
        ListObject *list = list_new(call->arith.heap, collected->count);
        if (collected->count)
            memcpy(list->items, collected->items, collected->count * sizeof(Value));
        call->result = value_of_list(list);
    }
    mem_free(collected->items);
    return done;
}

/* ---- the natives ---- */

static bool match_native(Call *call) {
    Search search;
    if (!search_begin(call, &search))
        return false;
    Found found = search_once(&search, 0);
    if (found == FOUND_ERROR)
        return false;
    call->result = found == FOUND ? match_record(&search) : value_none();
    return true;
}

static bool find_all_native(Call *call) {
    Search search;
    Collected all = {0};
    if (!search_begin(call, &search))
        return false;
    bool done = true, after_empty = false;
    while (done) {
        Found found = search_next(&search, after_empty);
        if (found == NOT_FOUND)
            break;
        done = found == FOUND && collect(call, &all, match_record(&search));
        after_empty = search.start == search.end;
        search_advance(&search);
    }
    return finish_list(call, &all, done);
}

static bool split_native(Call *call) {
    Search search;
    Collected pieces = {0};
    size_t piece = 0;
    if (!search_begin(call, &search))
        return false;
    Heap *heap = call->arith.heap;
    const TextObject *text = search.text;
    bool done = true, after_empty = false;
    while (done) {
        Found found = search_next(&search, after_empty);
        if (found == NOT_FOUND)
            break;
        after_empty = search.start == search.end;
        bool parts = found == FOUND && search.end >= piece && search.start >= piece &&
                     (!after_empty || (search.start > piece && search.end < text->length));
        done = found == FOUND;
        if (done && parts) { /* an empty match parts two characters, it adds no empty piece */
            done = collect(call, &pieces, value_text(heap, text->bytes + piece, search.start - piece));
            piece = search.end;
        }
        search_advance(&search);
    }
    done = done && collect(call, &pieces, value_text(heap, text->bytes + piece, text->length - piece));
    return finish_list(call, &pieces, done);
}

/* What the replacement makes of the match just found, added to `out`; `room` is a buffer that grows. */
static bool add_replacement(const Search *search, const TextObject *with, Text *room, Text *out) {
    uint32_t options = PCRE2_SUBSTITUTE_MATCHED | PCRE2_SUBSTITUTE_REPLACEMENT_ONLY |
                       PCRE2_SUBSTITUTE_OVERFLOW_LENGTH | PCRE2_SUBSTITUTE_UNSET_EMPTY | PCRE2_NO_UTF_CHECK;
    int count = PCRE2_ERROR_NOMEMORY;
    size_t size = with->length + 64;
    for (int attempt = 0; attempt < 2 && count == PCRE2_ERROR_NOMEMORY; attempt++) {
        if (!heap_allows(search->call->arith.heap, out->length + size, search->call->arith.fault))
            return false;
        text_clear(room);
        text_add_repeated(room, ' ', size);
        count = pcre2_substitute(search->pattern->code, (PCRE2_SPTR)search->text->bytes, search->text->length,
                                 search->from, options, search->pattern->data, search->match,
                                 (PCRE2_SPTR)with->bytes, with->length, (PCRE2_UCHAR *)room->bytes,
                                 &size); /* on overflow `size` becomes what is needed */
    }
    if (count < 0)
        return native_fail(search->call, 2, MSG_NATIVE_REPLACEMENT, NO_ARGS);
    text_add(out, room->bytes, size);
    return true;
}

static bool replace_all(Search *search, const TextObject *with, Text *room, Text *out) {
    const TextObject *text = search->text;
    size_t kept = 0; /* where the text not yet copied begins */
    bool after_empty = false;
    for (;;) {
        Found found = search_next(search, after_empty);
        if (found == FOUND_ERROR)
            return false;
        if (found == NOT_FOUND)
            break;
        if (search->start >= kept) {
            text_add(out, text->bytes + kept, search->start - kept);
            kept = search->end;
            if (!add_replacement(search, with, room, out))
                return false;
        }
        after_empty = search->start == search->end;
        search_advance(search);
    }
    text_add(out, text->bytes + kept, text->length - kept);
    return heap_allows(search->call->arith.heap, out->length, search->call->arith.fault);
}

static bool replace_native(Call *call) {
    Search search;
    Text room = {0}, out = {0};
    bool done = search_begin(call, &search) && replace_all(&search, native_text(call, 2), &room, &out);
    if (done)
        call->result = value_text(call->arith.heap, text_string(&out), out.length);
    text_free(&room);
    text_free(&out);
    return done;
}

static bool map_characters(Call *call, utf8proc_int32_t (*map)(utf8proc_int32_t)) {
    const TextObject *text = native_text(call, 0);
    Text out = {0};
    size_t at = 0;
    while (at < text->length) {
        uint32_t code_point = 0;
        size_t used = utf8_decode(text->bytes + at, text->length - at, &code_point);
        if (used)
            text_add_code_point(&out, (uint32_t)map((utf8proc_int32_t)code_point));
        else
            text_add_char(&out, text->bytes[at]);
        at += used ? used : 1;
    }
    call->result = value_text(call->arith.heap, text_string(&out), out.length);
    text_free(&out);
    return true;
}

static bool upper_native(Call *call) {
    return map_characters(call, utf8proc_toupper);
}
static bool lower_native(Call *call) {
    return map_characters(call, utf8proc_tolower);
}

/* The beginning of a text that is not a value, whole characters. */
static char *beginning(const TextObject *text) {
    enum { SHOWN_BYTES = 60 };
    size_t cut = text->length < SHOWN_BYTES ? text->length : SHOWN_BYTES;
    while (cut < text->length && cut > 0 && (text->bytes[cut] & 0xC0) == 0x80)
        cut--;
    return mem_copy(text->bytes, cut);
}

static bool quantity_native(Call *call) {
    const TextObject *text = native_text(call, 0);
    Literal literal;
    Fault why = {0};
    bool read =
        literal_read(call->context->registry, call->module, text->bytes, text->length, &literal, &why) &&
        literal_is_exact(&literal, &why);
    if (read && value_is_quantity(literal.value)) {
        call->result = literal.value;
        return true;
    }
    char *shown = beginning(text);
    native_fail(call, 0, MSG_LITERAL_FORM, ARGS(shown));
    fault_because(call->arith.fault, &why);
    mem_free(shown);
    fault_clear(&why);
    return false;
}

static const Native rows[] = {
    NATIVE(find_all), NATIVE(lower), NATIVE(match), NATIVE(quantity),
    NATIVE(replace),  NATIVE(split), NATIVE(upper),
};

const NativeTable native_text_table = NATIVE_TABLE(rows);
