/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `set`: reads the line, and refuses a value of another kind before anything is computed again. */
#include <string.h>

#include "base/mem.h"
#include "programs/prompt_journal.h"

/* A gravity typed without its unit. */
static const double LEAST_SG = 0.98, MOST_SG = 1.2;

typedef struct Setting {
    char *name, *value;
    bool as_written; /* NAME = VALUE, as the program writes it */
} Setting;

static void setting_free(Setting *setting) {
    mem_free(setting->name);
    mem_free(setting->value);
}

static char *trimmed(const char *text, size_t length) {
    while (length && strchr(" \t", *text)) {
        text++;
        length--;
    }
    while (length && strchr(" \t", text[length - 1]))
        length--;
    return mem_copy(text, length);
}

/* The bytes of a word that people write between a name and its value: `to`, `as`, `:`; 0 for none. */
static size_t joining_word(const char *text) {
    static const char *const words[] = {"to ", "be ", "as ", "is ", ": ", ":"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strncmp(text, words[i], strlen(words[i])) == 0)
            return strlen(words[i]);
    return 0;
}

/* `batch = 6 gal`, `batch := 6 gal`, `batch to 6 gal`, `batch 6 gal`. The value is "" where none is given. */
static Setting read_setting(const char *rest) {
    size_t word = strcspn(rest, " \t=:"), at = word + strspn(rest + word, " \t");
    Setting setting = {.as_written = rest[at] == '='};
    if (strncmp(rest, "the ", 4) == 0 && rest[at] != '=')
        return read_setting(rest + 4 + strspn(rest + 4, " \t"));
    if (rest[at] == '=')
        at++;
    else if (strncmp(rest + at, ":=", 2) == 0)
        at += 2;
    else
        at += joining_word(rest + at);
    size_t quote = word > 2 && rest[0] == '"' && rest[word - 1] == '"';
    setting.name = mem_copy(rest + quote, word - 2 * quote);
    setting.value = trimmed(rest + at, strlen(rest + at));
    return setting;
}

static char *line_of(const char *name, const char *value) {
    Text line = {0};
    text_add_string(&line, "set ");
    text_add_string(&line, name);
    text_add_string(&line, " = ");
    text_add_string(&line, value);
    return text_take(&line);
}

/* ---- kinds ---- */

static bool same_kind(const Session *session, const KindInfo *a, const KindInfo *b) {
    bool both = a->quantity && b->quantity;
    return both ? unit_same_kind(session_units(session), a->unit, b->unit)
                : a->kind == b->kind && a->quantity == b->quantity;
}

/* A plain number, as gravities are. */
static bool looks_like_sg(Session *session, const char *value) {
    KindInfo is;
    return session_kind_of(session, value, true, &is) && is.quantity && is.unit == UNIT_NUMBER &&
           is.number >= LEAST_SG && is.number <= MOST_SG;
}

/* The number that a value begins with, in the unit that the name has; NULL when that is no value of its kind.
 */
static char *value_in_unit(Session *session, const KindInfo *was, const char *value) {
    size_t number = strspn(value, "-+0123456789.");
    UnitId unit = was->kind == KIND_GRAVITY && looks_like_sg(session, value) ? UNIT_SG : was->unit;
    Text text = {0};
    KindInfo is;
    if (!was->quantity || !number)
        return NULL;
    text_add(&text, value, number);
    if (*unit_get(session_units(session), unit)->name) {
        text_add_char(&text, ' ');
        text_add_string(&text, unit_get(session_units(session), unit)->name);
    }
    bool fits = session_kind_of(session, text_string(&text), true, &is) && same_kind(session, was, &is);
    char *found = text_take(&text);
    if (fits)
        return found;
    mem_free(found);
    return NULL;
}

/* The value that a name has, as it would be typed; NULL where that takes more than a literal. */
static char *value_as_typed(Prompt *prompt, const char *name, const KindInfo *was) {
    Text text = {0};
    if (!was->quantity && was->kind != KIND_TEXT)
        return NULL;
    char *value = journal_value_text(prompt, prompt->session, name);
    run_listen(&prompt->output, prompt->console, prompt->session, prompt->options, false);
    text_add_string(&text, was->quantity ? "" : "\"");
    text_add_string(&text, value);
    text_add_string(&text, was->quantity ? "" : "\"");
    mem_free(value);
    return text_take(&text);
}

static void complain_of_kind(Prompt *prompt, const char *name, const char *value, const char *line,
                             const char *before, const char *after) {
    prompt_failed(prompt, SESSION_FAILED);
    Diag *diag = diag_new(MSG_SET_KIND, NULL, (Span){0, 0}, ARGS(name, before, value, after));
    if (line)
        diag_hint(diag, HINT_SET_KIND_LIKE, ARGS(line, name, value, after));
    console_show_error(prompt->console, diag);
    diag_free(diag);
}

void prompt_refuse_kind(Prompt *prompt, const char *name, const char *value, const KindInfo *was,
                        const char *after) {
    Text before = {0}, out = {0};
    char *fitting = value_in_unit(prompt->session, was, value);
    char *example = fitting ? fitting : value_as_typed(prompt, name, was);
    char *line = example ? line_of(name, example) : NULL;
    session_describe_kind(prompt->session, was, &before);
    complain_of_kind(prompt, name, value, line, text_string(&before), after);
    if (fitting)
        prompt_offer(prompt, &out, line, "it");
    prompt_print(prompt, &out);
    text_free(&before);
    text_free(&out);
    mem_free(line);
    mem_free(example);
}

static void refuse(Prompt *prompt, const Setting *setting, const KindInfo *was, const KindInfo *is) {
    Text after = {0};
    session_describe_kind(prompt->session, is, &after);
    prompt_refuse_kind(prompt, setting->name, setting->value, was, text_string(&after));
    text_free(&after);
}

/* A value of another kind is refused, but a gravity may come without its unit: then `setting` gets it. */
static bool take_kind(Prompt *prompt, Setting *setting) {
    Session *session = prompt->session;
    KindInfo was = {0}, is = {0};
    bool known = session_kind_of(session, setting->name, false, &was) &&
                 session_kind_of(session, setting->value, true, &is);
    bool own = is.quantity && is.unit >= UNIT_BUILTIN_COUNT; /* it may have been another unit up there */
    bool free = !known || own || was.kind == KIND_NONE || was.kind == KIND_TEXT; /* a text takes any words */
    if (free || same_kind(session, &was, &is))
        return true;
    bool gravity = was.quantity && was.unit == UNIT_SG && looks_like_sg(session, setting->value);
    char *value = gravity ? value_in_unit(session, &was, setting->value) : NULL;
    if (!value) {
        refuse(prompt, setting, &was, &is);
        return false;
    }
    mem_free(setting->value);
    setting->value = value;
    setting->as_written = false;
    return true;
}

/* ---- the command ---- */

/* Words that name no value and say none ask for nothing that could be understood. */
static bool says_nothing(Prompt *prompt, const Setting *setting) {
    KindInfo info;
    return !setting->as_written && !session_kind_of(prompt->session, setting->name, false, &info) &&
           !session_kind_of(prompt->session, setting->value, true, &info);
}

void prompt_set(Prompt *prompt, const char *rest) {
    static const char example[] = "set batch = 3 gal";
    Setting setting = read_setting(rest);
    if (!*setting.name || !*setting.value || says_nothing(prompt, &setting)) {
        prompt_complain(prompt, MSG_COMMAND_WORD_MISSING, ARGS("set", "NAME = VALUE", example));
    } else if (take_kind(prompt, &setting)) {
        char *line = line_of(setting.name, setting.value);
        KindInfo info;
        if (!setting.as_written && session_kind_of(prompt->session, setting.name, false, &info))
            prompt_say_meant(prompt, line);
        journal_set(prompt, line, setting.name, setting.value);
        mem_free(line);
    }
    setting_free(&setting);
}
