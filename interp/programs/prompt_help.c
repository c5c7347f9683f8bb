/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `help`: the overview, and all that is known of one name. */
#include <string.h>

#include "base/mem.h"
#include "facade/reference.h"
#include "programs/prompt_journal.h"

/* ---- lists and texts ---- */

void prompt_begin_words(WordList *list, const Prompt *prompt, const char *title, size_t indent) {
    size_t width = console_width(prompt->console);
    text_add_string(&list->text, title);
    list->width = width ? width : RENDER_WIDTH;
    list->indent = indent;
    list->column = utf8_width(title, strlen(title));
    list->count = 0;
    text_add_padding(&list->text, list->column, indent);
    list->column = list->column < indent ? indent : list->column;
}

void prompt_add_word(WordList *list, const char *word) {
    size_t width = utf8_width(word, strlen(word));
    if (list->count && list->column + 2 + width > list->width) {
        text_add_char(&list->text, '\n');
        text_add_repeated(&list->text, ' ', list->indent);
        list->column = list->indent;
    } else if (list->count) {
        text_add_string(&list->text, "  ");
        list->column += 2;
    }
    text_add_string(&list->text, word);
    list->column += width;
    list->count++;
}

/* Lines of documentation are broken near column 120. */
enum { DOC_WIDTH = 112 };

/* `rated: the pressure …`, `Source: …` */
static bool begins_entry(const char *line) {
    size_t word = strcspn(line, " :\n");
    return word > 0 && line[word] == ':';
}

/* Does the next line continue where this one was full? */
static bool goes_on(const char *line, size_t length) {
    const char *next = line + length + 1;
    if (!length || line[length] != '\n' || (line[length - 1] == '.' && begins_entry(next)))
        return false;
    return *next && *next != '\n' && utf8_width(line, length) + 1 + strcspn(next, " \n") > DOC_WIDTH;
}

/* A text of several lines, each indented. On a terminal, which is narrower, what was broken is one line
 * again, so that it wraps as a whole. */
static void add_indented(const Prompt *prompt, Text *out, const char *text) {
    bool joins = console_width(prompt->console) > 0;
    while (*text) {
        size_t length = strcspn(text, "\n");
        if (length)
            text_add_string(out, "  ");
        text_add_clean(out, text, length, "", " ");
        while (joins && goes_on(text, length)) {
            text += length + 1;
            length = strcspn(text, "\n");
            text_add_char(out, ' ');
            text_add_clean(out, text, length, "", " ");
        }
        text_add_char(out, '\n');
        text += length + (text[length] == '\n');
    }
}

/* ---- the overview ---- */

/* Topics in the order of docs/reference/library.md; any other follows. */
static const char *const topics[] = {
    "Liquids",    "Properties", "Readings",        "Strength", "Blending",    "Fortifying",
    "Sweetening", "Nutrients",  "Sulphite",        "Acid",     "Carbonation", "Log",
    "Wood",       "Serving",    "Grain",           "Mash",     "Hops",        "Colour",
    "Water",      "Yeast",      "Honey and fruit", "Heat",     "Balances",    "General",
};
enum { TOPIC_COUNT = sizeof topics / sizeof *topics };

/* Parts of other formulas. They may be called, and `help NAME` explains them; a list is better without. */
static const char *const internals[] = {"limited",  "at_least",    "water_vapour", "co2_pressure",
                                        "malts_of", "malt_liquid", "wort_colour"};

bool prompt_is_internal(const char *name) {
    for (size_t i = 0; i < sizeof internals / sizeof *internals; i++)
        if (strcmp(internals[i], name) == 0)
            return true;
    return false;
}

typedef struct TopicList {
    WordList list;
    const char *topic; /* NULL: those of a topic that is not in the table, as Others */
} TopicList;

static bool is_listed_topic(const char *topic) {
    for (int i = 0; i < TOPIC_COUNT; i++)
        if (strcmp(topics[i], topic) == 0)
            return true;
    return false;
}

static void list_topic_name(void *context, const NameInfo *info) {
    TopicList *wanted = context;
    if (!info->topic || prompt_is_internal(info->name))
        return;
    bool fits = wanted->topic ? strcmp(info->topic, wanted->topic) == 0 : !is_listed_topic(info->topic);
    if (fits)
        prompt_add_word(&wanted->list, info->name);
}

static void add_topics(Prompt *prompt, Text *out) {
    enum { TOPIC_COLUMN = 19 };
    for (int i = 0; i <= TOPIC_COUNT; i++) {
        TopicList wanted = {.topic = i < TOPIC_COUNT ? topics[i] : NULL};
        Text title = {0};
        text_add_string(&title, "  ");
        text_add_string(&title, wanted.topic ? wanted.topic : "Others");
        prompt_begin_words(&wanted.list, prompt, text_string(&title), TOPIC_COLUMN);
        session_each_name(prompt->session, list_topic_name, &wanted);
        if (wanted.list.count) {
            text_add_string(out, text_string(&wanted.list.text));
            text_add_char(out, '\n');
        }
        text_free(&title);
        text_free(&wanted.list.text);
    }
}

static void add_liquid_fields(Prompt *prompt, Text *out, const char *title, size_t indent) {
    WordList list = {0};
    const char *field;
    prompt_begin_words(&list, prompt, title, indent);
    for (int i = 0; (field = liquid_value_field_name(i)); i++) {
        Text name = {0};
        text_add_char(&name, '.');
        text_add_string(&name, field);
        prompt_add_word(&list, text_string(&name));
        text_free(&name);
    }
    text_add_string(out, text_string(&list.text));
    text_add_char(out, '\n');
    text_free(&list.text);
}

static void add_fields_of_any_liquid(Prompt *prompt, Text *out) {
    Text title = {0};
    text_add_string(&title, "  ");
    text_add_string(&title, message_text(PHRASE_LIQUID_HAS));
    add_liquid_fields(prompt, out, text_string(&title), 4);
    text_free(&title);
}

static void show_overview(Prompt *prompt) {
    static const MessageId first_lines[] = {PHRASE_HELP_EXPRESSION, PHRASE_HELP_NAMES, PHRASE_HELP_SEARCH};
    Text out = {0};
    WordList list = {0};
    const Word *word;
    for (size_t i = 0; i < sizeof first_lines / sizeof *first_lines; i++) {
        text_add_string(&out, message_text(first_lines[i]));
        text_add_char(&out, '\n');
    }
    text_add_char(&out, '\n');
    prompt_add_commands(prompt, &out);
    text_add_string(&out, "\n");
    text_add_string(&out, message_text(PHRASE_HELP_WORDS));
    text_add_char(&out, '\n');
    prompt_begin_words(&list, prompt, "", 2);
    for (int i = 0; (word = word_at(i)); i++)
        if (word->form)
            prompt_add_word(&list, word->text);
    text_add_string(&out, text_string(&list.text));
    text_add_string(&out, "\n\n");
    text_add_string(&out, message_text(PHRASE_HELP_LIQUID));
    text_add_char(&out, '\n');
    add_liquid_fields(prompt, &out, "", 2);
    text_add_string(&out, "\n");
    text_add_string(&out, message_text(PHRASE_HELP_FORMULAS));
    text_add_char(&out, '\n');
    add_topics(prompt, &out);
    console_write_wrapped(prompt->console, &out);
    text_free(&list.text);
    text_free(&out);
}

/* ---- units ---- */

/* The unit that a kind's others are given in: the one that is usual, or the first of its kind in the table.
 */
static UnitId base_of_kind(const UnitTable *units, UnitId of) {
    if (unit_same_kind(units, UNIT_G_PER_L, of))
        return UNIT_G_PER_L;
    for (UnitId id = 0; id < units->count; id++)
        if (unit_same_kind(units, id, of) && unit_get(units, id)->scale != SCALE_PERCENT)
            return id;
    return of;
}

typedef struct UnitSearch {
    const char *wanted;
    bool found;
    UnitId id;
} UnitSearch;

static void look_for_unit(void *context, const NameInfo *info) {
    UnitSearch *search = context;
    if (!search->found && info->kind == NAME_UNIT && strcmp(info->name, search->wanted) == 0) {
        search->found = true;
        search->id = info->unit;
    }
}

static bool find_unit(Prompt *prompt, const char *name, UnitId *id) {
    UnitSearch search = {.wanted = name};
    session_each_name(prompt->session, look_for_unit, &search);
    *id = search.id;
    return search.found || unit_find(session_units(prompt->session), name, false, id);
}

/* A short number as it is published (1.9768, 101.325), any other as it would be shown. */
static void add_factor(Text *out, const UnitTable *units, double number, UnitId unit) {
    enum { SHORT_DIGITS = 6 };
    Decimal decimal = format_decimal(number);
    FormatSpec format = {.mode = FORMAT_DEFAULT};
    if (decimal.count <= SHORT_DIGITS && decimal.count > decimal.exponent && decimal.exponent > 0)
        format = (FormatSpec){.mode = FORMAT_PLACES, .count = decimal.count - decimal.exponent};
    display_quantity(out, units, number, unit, format);
}

static void add_unit_spelling(Text *out, UnitId id) {
    const char *other = id < UNIT_BUILTIN_COUNT ? unit_alias(id) : NULL;
    if (!other)
        return;
    text_add_string(out, "  Also typed as ");
    text_add_string(out, other);
    text_add_string(out, ".\n");
}

/* A reading that its scale has: 1.050 SG, 12 °Bx, 68 °F, 40 %ABV. */
static const char *example_number(const Unit *unit, UnitId id) {
    if (unit->kind == KIND_GRAVITY)
        return id == UNIT_SG ? "1.050" : "12";
    if (id == UNIT_PROOF)
        return "90"; /* as its remark has it */
    return unit->kind == KIND_TEMPERATURE ? "68" : unit->kind == KIND_STRENGTH ? "40" : "5";
}

/* Any other unit of its kind. */
static UnitId partner_of(const UnitTable *units, UnitId id, UnitId base) {
    for (UnitId at = 0; base == id && at < UNIT_BUILTIN_COUNT; at++)
        if (at != id && unit_same_kind(units, at, id) && *unit_get(units, at)->name)
            return at;
    return base;
}

static void offer_unit_example(Prompt *prompt, Text *out, UnitId id, UnitId base) {
    const UnitTable *units = session_units(prompt->session);
    const Unit *unit = unit_get(units, id);
    UnitId other = partner_of(units, id, base);
    Text line = {0};
    if (other == id || !*unit_get(units, other)->name || unit->scale == SCALE_PERCENT)
        return;
    text_add_string(&line, example_number(unit, id));
    text_add_char(&line, ' ');
    text_add_string(&line, unit->name);
    text_add_string(&line, " as ");
    text_add_string(&line, unit_get(units, other)->name);
    if (prompt->typed) {
        text_add_string(out, "  Example: ");
        text_add_string(out, text_string(&line));
        text_add_char(out, '\n');
    }
    prompt_offer(prompt, out, text_string(&line), message_text(PHRASE_THE_EXAMPLE));
    text_free(&line);
}

static void add_unit_kind(Text *out, const UnitTable *units, UnitId id) {
    const Unit *unit = unit_get(units, id);
    if (unit->scale == SCALE_PERCENT && unit->kind == KIND_NUMBER) {
        text_add_string(out, ": a share, in hundredths");
    } else if (unit->kind == KIND_MONTHS) {
        text_add_string(out, ": a calendar month");
    } else {
        text_add_string(out, unit->reading ? ": a reading of " : ": a unit of ");
        text_add_string(out, unit_kind_text(units, id));
    }
}

static void add_unit_help(Prompt *prompt, Text *out, UnitId id, const char *name) {
    const UnitTable *units = session_units(prompt->session);
    const Unit *unit = unit_get(units, id);
    const char *written, *doc;
    UnitId base = base_of_kind(units, id);
    double number;
    Fault fault = {0};
    session_unit_note(prompt->session, id, &written, &doc);
    bool computed = !written && base != id && unit->scale == SCALE_LINEAR &&
                    unit_convert(units, 1, id, base, &number, &fault);
    text_add_string(out, name);
    add_unit_kind(out, units, id);
    if (written || computed) {
        text_add_string(out, "; 1 ");
        text_add_string(out, unit->name);
        text_add_string(out, " is ");
    }
    if (written)
        text_add_string(out, written);
    else if (computed)
        add_factor(out, units, number, base);
    text_add_char(out, '\n');
    if (doc)
        add_indented(prompt, out, doc);
    add_unit_spelling(out, id);
    if (!written && prompt_unit_remark(unit->name))
        add_indented(prompt, out, prompt_unit_remark(unit->name));
    fault_clear(&fault);
    offer_unit_example(prompt, out, id, base);
}

/* ---- one name ---- */

static void look_at_name(void *context, const NameInfo *info) {
    NameSearch *search = context;
    bool same = strcmp(info->name, search->wanted) == 0;
    const char *best = NULL;
    if (same && !search->found) {
        search->found = true;
        search->kind = info->kind;
        search->usage = mem_copy_string(info->usage);
        search->doc = mem_copy_string(info->doc);
        return;
    }
    text_nearest(search->wanted, info->name, &best, &search->distance);
    if (best) {
        mem_free(search->nearest);
        search->nearest = mem_copy_string(best);
    }
}

NameSearch prompt_find_name(Prompt *prompt, const char *name) {
    NameSearch search = {.wanted = name, .distance = 99};
    session_each_name(prompt->session, look_at_name, &search);
    return search;
}

void prompt_free_search(NameSearch *search) {
    mem_free(search->usage);
    mem_free(search->doc);
    mem_free(search->nearest);
}

static void complain_unknown(Prompt *prompt, const char *name, const char *nearest) {
    prompt_failed(prompt, SESSION_FAILED);
    Diag *diag = diag_new(MSG_HELP_UNKNOWN, NULL, (Span){0, 0}, ARGS(name));
    if (nearest)
        diag_hint(diag, HINT_MEANT_WORD, ARGS(nearest));
    console_show_error(prompt->console, diag);
    diag_free(diag);
}

static void offer_example(Prompt *prompt, Text *out, const char *doc) {
    char *line = prompt_example_of(doc);
    if (line)
        prompt_offer(prompt, out, line, message_text(PHRASE_THE_EXAMPLE));
    mem_free(line);
}

/* `batch = 5 gal`; what takes several lines begins below. */
static void add_own_value(Prompt *prompt, Text *out, const char *name) {
    char *text = journal_value_text(prompt, prompt->session, name);
    run_listen(&prompt->output, prompt->console, prompt->session, prompt->options, false);
    text_add_string(out, ": a value of your own");
    text_add_string(out, strchr(text, '\n') ? ":\n" : *text ? ", " : "");
    text_add_string(out, text);
    mem_free(text);
}

static void add_name_help(Prompt *prompt, Text *out, const NameSearch *search, const char *name) {
    text_add_string(out, search->usage ? search->usage : name);
    if (search->kind == NAME_VALUE)
        add_own_value(prompt, out, name);
    text_add_char(out, '\n');
    if (search->doc)
        add_indented(prompt, out, search->doc);
    if (search->doc)
        offer_example(prompt, out, search->doc);
}

static void add_word_help(const Prompt *prompt, Text *out, const Word *word) {
    text_add_string(out, word->text);
    text_add_string(out, ": ");
    text_add_string(out, word->says);
    text_add_char(out, '\n');
    if (word->form)
        add_indented(prompt, out, word->form);
}

static void add_topic(Prompt *prompt, Text *out, const char *name) {
    const PromptTopic *topic = prompt_topic(name);
    if (!topic)
        return;
    if (!out->length) {
        text_add_string(out, name);
        text_add_string(out, ":\n");
    }
    add_indented(prompt, out, topic->tells);
    if (!*topic->type)
        return;
    char *example = message_take(PHRASE_EXAMPLE_LINE, ARGS(topic->type));
    add_indented(prompt, out, example);
    prompt_offer(prompt, out, topic->type, message_text(PHRASE_THE_EXAMPLE));
    mem_free(example);
}

static void show_help(Prompt *prompt, const char *name);

/* Is something called so? */
static bool is_known(Prompt *prompt, const char *name) {
    UnitId id;
    NameSearch search = prompt_find_name(prompt, name);
    bool known = search.found || find_unit(prompt, name, &id) || word_find(name, strlen(name)) ||
                 prompt_is_command(name) || prompt_topic(name);
    prompt_free_search(&search);
    return known;
}

/* A question of one word is about that word: "how do I quit". What says nothing gets the overview. */
static bool help_with_word(Prompt *prompt, const char *asked) {
    char *word = prompt_asked_word(asked);
    bool known = word && strcmp(word, asked) != 0 && (!*word || is_known(prompt, word));
    if (known)
        show_help(prompt, word);
    mem_free(word);
    return known;
}

/* `help abv?`, `help units volume` */
void prompt_help(Prompt *prompt, const char *name) {
    size_t length = strlen(name);
    while (length > 1 && strchr("?!.,;", name[length - 1]))
        length--;
    char *asked = mem_copy(name, length);
    if (strncmp(asked, "units ", 6) != 0 || !prompt_command(prompt, asked))
        show_help(prompt, asked);
    mem_free(asked);
}

/* A word may be several things at once: `note` a statement, a value, a formula. All are shown. */
static void show_help(Prompt *prompt, const char *name) {
    if (!*name) {
        show_overview(prompt);
        return;
    }
    if (strcmp(name, "words") == 0) {
        prompt_show_phrases(prompt);
        return;
    }
    Text out = {0};
    UnitId id;
    NameSearch search = prompt_find_name(prompt, name);
    const Word *word = word_find(name, strlen(name));
    if (search.found && search.kind != NAME_UNIT && search.kind != NAME_KEYWORD)
        add_name_help(prompt, &out, &search, name);
    if (search.kind == NAME_NATIVE && strcmp(name, "liquid") == 0)
        add_fields_of_any_liquid(prompt, &out);
    if (find_unit(prompt, name, &id) && !(out.length && unit_everyday(session_units(prompt->session), name)))
        add_unit_help(prompt, &out, id, name);
    if (word)
        add_word_help(prompt, &out, word);
    prompt_add_command(prompt, &out, name);
    if (!search.found)
        add_topic(prompt, &out, name);
    if (!out.length && !help_with_word(prompt, name) && !prompt_search(prompt, name))
        complain_unknown(prompt, name, search.nearest);
    console_write_wrapped(prompt->console, &out);
    text_free(&out);
    prompt_free_search(&search);
}
