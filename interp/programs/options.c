/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command line: one row of a table an option, read in one pass, then what is left is told apart.
 *
 * Options may be anywhere; `--` ends them. The first other word is the FILE, and those after it set
 * inputs, except for the modes that take several files. */
#include "programs/options.h"

#include <ctype.h>
#include <string.h>

#include "base/mem.h"

typedef struct Reading {
    Options *options;
    DiagList *errors;
    const char *mode_option; /* the option that chose the mode, as written in the table */
    const char **operands;
    int operand_count;
} Reading;

typedef struct OptionRow OptionRow;
struct OptionRow {
    const char *name;
    const char *value;   /* what must follow it; NULL: nothing */
    const char *operand; /* what comes after it on the line, for --help */
    bool (*take)(Reading *reading, const OptionRow *row, const char *value);
    Mode mode; /* for take_mode */
    const char *help;
};

static bool fail(Reading *reading, MessageId id, MessageArg *args) {
    diag_add(reading->errors, id, NULL, (Span){0, 0}, args);
    return false;
}

/* ---- what the options do ---- */

static bool take_mode(Reading *reading, const OptionRow *row, const char *value) {
    (void)value;
    bool asks = row->mode == MODE_HELP || row->mode == MODE_VERSION; /* whatever else is there */
    if (!asks && reading->mode_option && strcmp(reading->mode_option, row->name) != 0)
        return fail(reading, MSG_OPTIONS_TOGETHER, ARGS(reading->mode_option, row->name));
    reading->mode_option = row->name;
    reading->options->mode = row->mode;
    return true;
}

static bool take_expression(Reading *reading, const OptionRow *row, const char *value) {
    Options *options = reading->options;
    size_t count = (size_t)options->expression_count + 1;
    options->expressions = mem_resize_array(options->expressions, count, sizeof *options->expressions);
    options->expressions[options->expression_count++] = value;
    return take_mode(reading, row, NULL);
}

static void add_forms(Text *out) {
    const RenderForm *form;
    for (int i = 0; (form = render_form_at(i)); i++) {
        text_add_string(out, out->length ? ", " : "");
        text_add_string(out, form->name);
    }
}

static bool take_report(Reading *reading, const OptionRow *row, const char *value) {
    (void)row;
    const RenderForm *form = render_form_find(value);
    const RenderForm *before = reading->options->form;
    if (form && before && before != form)
        return fail(reading, MSG_REPORT_TWICE, ARGS(before->name, form->name));
    if (form) {
        reading->options->form = form;
        return true;
    }
    Text forms = {0};
    add_forms(&forms);
    fail(reading, MSG_FORM_UNKNOWN, ARGS(value, text_string(&forms)));
    text_free(&forms);
    return false;
}

static bool take_today(Reading *reading, const OptionRow *row, const char *value) {
    (void)row;
    Fault why = {0};
    reading->options->has_today = true;
    bool read = session_read_date(value, &reading->options->today, &why);
    if (!read) {
        Diag *diag = diag_add(reading->errors, MSG_TODAY_NO_DATE, NULL, (Span){0, 0}, ARGS(value));
        diag->cause = why.id;
        if (why.hint)
            diag_hint(diag, HINT_EXAMPLE_TODAY, ARGS(arg_hint(&why)));
    }
    fault_clear(&why);
    return read;
}

/* ---- uncertainty ---- */

static bool take_working(Reading *reading, const OptionRow *row, const char *value) {
    (void)value;
    (void)row;
    reading->options->working = 1;
    return true;
}

static bool take_budget(Reading *reading, const OptionRow *row, const char *value) {
    (void)row;
    (void)value;
    reading->options->budget = true;
    return true;
}

/* Digits only, and within bounds. */
static bool read_count(const char *text, uint64_t most, uint64_t *count) {
    *count = 0;
    for (const char *p = text; *p; p++) {
        if (!isdigit((unsigned char)*p) || *count > (most - (uint64_t)(*p - '0')) / 10)
            return false;
        *count = *count * 10 + (uint64_t)(*p - '0');
    }
    return *text != '\0';
}

enum { TRIALS_LEAST = 2, TRIALS_MOST = 100000000 };

static bool take_trials(Reading *reading, const OptionRow *row, const char *value) {
    (void)row;
    uint64_t count;
    if (!read_count(value, TRIALS_MOST, &count) || count < TRIALS_LEAST)
        return fail(reading, MSG_TRIALS_COUNT, ARGS(value));
    reading->options->trials = (long)count;
    return true;
}

static bool take_seed(Reading *reading, const OptionRow *row, const char *value) {
    (void)row;
    reading->options->has_seed = true;
    if (!read_count(value, UINT64_MAX - 9, &reading->options->seed))
        return fail(reading, MSG_SEED_VALUE, ARGS(value));
    return true;
}

/* ---- limits ---- */

static bool take_limits(Reading *reading, const OptionRow *row, const char *value) {
    (void)row;
    return limits_read(&reading->options->limits, value, reading->errors);
}

/* ---- the table ---- */

static const OptionRow rows[] = {
    {"-e", "EXPR", NULL, take_expression, MODE_EXPRESSIONS, "show one expression (may be repeated)"},
    {"--check", NULL, "FILE…", take_mode, MODE_CHECK, "list the errors of scripts without running them"},
    {"--expect", NULL, "FILE…", take_mode, MODE_EXPECT,
     "run scripts and report each expect (TAP version 14)"},
    {"--inputs", NULL, "FILE", take_mode, MODE_INPUTS,
     "list the inputs of a script, with defaults and ranges"},
    {"--report", "FORM", "FILE", take_report, MODE_RUN, "give the results as FORM: "},
    {"--limit", "LIMITS", "FILE", take_limits, MODE_RUN,
     "stop a run that exceeds these, for example\ntime=10s,memory=256MB,depth=1000,output=10MB"},
    {"--today", "DATE", "FILE", take_today, MODE_RUN, "what today() is: a date as in 2027-02-14"},
    {"--working", NULL, "FILE", take_working, MODE_RUN,
     "show how each result was worked out, step by step\n(an expression too: --working -e EXPR)"},
    {"--budget", NULL, "FILE", take_budget, MODE_RUN, "show how much each ± contributes to each result's"},
    {"--trials", "N", "FILE", take_trials, MODE_RUN, "draw each ± at random N times instead"},
    {"--seed", "S", NULL, take_seed, MODE_RUN, "with --trials: repeat the draws of that number"},
    {"--prompt", NULL, NULL, take_mode, MODE_PROMPT, "the prompt, even without a terminal"},
    {"--help", NULL, NULL, take_mode, MODE_HELP, "show this help"},
    {"--version", NULL, NULL, take_mode, MODE_VERSION, "show the version"},
};
enum { ROW_COUNT = sizeof rows / sizeof rows[0] };

static void add_option(Text *out, const OptionRow *row) {
    enum { HELP_COLUMN = 24 };
    size_t start = out->length;
    const char *const parts[] = {row->name, row->value, row->operand};
    text_add_char(out, ' ');
    for (size_t i = 0; i < 3; i++) {
        if (!parts[i])
            continue;
        text_add_char(out, ' ');
        text_add_string(out, parts[i]);
    }
    size_t width = utf8_width(out->bytes + start, out->length - start);
    text_add_padding(out, width, HELP_COLUMN);
    for (const char *p = row->help; *p; p++) {
        text_add_char(out, *p);
        if (*p == '\n')
            text_add_repeated(out, ' ', HELP_COLUMN);
    }
    if (row->take == take_report) {
        Text forms = {0};
        add_forms(&forms);
        text_add_string(out, text_string(&forms));
        text_free(&forms);
    }
    text_add_char(out, '\n');
}

void options_help(Text *out) {
    text_add_string(out, "rundlet: units-aware arithmetic for cider making and home brewing\n\n"
                         "  rundlet                       the prompt\n"
                         "  rundlet FILE [NAME=VALUE …]   run a script with inputs set; - is standard input\n"
                         "  rundlet OPTION …\n\n");
    for (int i = 0; i < ROW_COUNT; i++)
        add_option(out, &rows[i]);
    text_add_string(out, "\nexit status: 0 all well, 1 the script failed, 2 the command line was wrong,\n"
                         "  3 a limit was hit, 4 a file or the output could not be read or written\n");
}

/* ---- reading ---- */

static const OptionRow *find_row(const char *name, size_t length) {
    for (int i = 0; i < ROW_COUNT; i++)
        if (strlen(rows[i].name) == length && memcmp(rows[i].name, name, length) == 0)
            return &rows[i];
    return NULL;
}

/* The nearest option by its letters; else the only one that starts like it. */
static const char *nearest_option(const char *name) {
    const char *best = NULL, *starts = NULL;
    int distance = 99, starting = 0;
    const char *word = name + strspn(name, "-");
    for (int i = 0; i < ROW_COUNT; i++) {
        const char *candidate = rows[i].name + strspn(rows[i].name, "-");
        text_nearest(word, candidate, &best, &distance);
        if (*word && strncmp(candidate, word, strlen(word)) == 0) {
            starts = candidate;
            starting++;
        }
    }
    return best ? best : starting == 1 ? starts : NULL;
}

static bool refuse_unknown(Reading *reading, const char *name) {
    const char *nearest = nearest_option(name);
    Diag *diag = diag_add(reading->errors, MSG_OPTION_UNKNOWN, NULL, (Span){0, 0}, ARGS(name));
    if (nearest)
        diag_hint(diag, strlen(nearest) > 1 ? HINT_MEANT_OPTION : HINT_MEANT_LETTER, ARGS(nearest));
    return false;
}

/* Takes argv[*at], an option, and moves *at to its value if that is a word of its own. */
static bool take_option(Reading *reading, int argc, char *const *argv, int *at) {
    const char *word = argv[*at];
    const char *equals = strncmp(word, "--", 2) == 0 ? strchr(word, '=') : NULL;
    size_t length = equals ? (size_t)(equals - word) : strlen(word);
    const OptionRow *row = find_row(word, length);
    if (!row) {
        char *name = mem_copy(word, length);
        refuse_unknown(reading, name);
        mem_free(name);
        return false;
    }
    if (!row->value)
        return equals ? fail(reading, MSG_OPTION_VALUE_NEEDLESS, ARGS(row->name))
                      : row->take(reading, row, NULL);
    const char *value = equals ? equals + 1 : *at + 1 < argc ? argv[++*at] : NULL;
    if (!value || !*value)
        return fail(reading, MSG_OPTION_VALUE_MISSING, ARGS(row->name, row->value));
    return row->take(reading, row, value);
}

static bool read_words(Reading *reading, int argc, char *const *argv) {
    bool options_ended = false;
    for (int at = 1; at < argc; at++) {
        const char *word = argv[at];
        if (options_ended || word[0] != '-' || word[1] == '\0') {
            reading->operands[reading->operand_count++] = word;
        } else if (strcmp(word, "--") == 0) {
            options_ended = true;
        } else if (!take_option(reading, argc, argv, &at)) {
            return false;
        }
        if (reading->options->mode == MODE_HELP || reading->options->mode == MODE_VERSION)
            return true;
    }
    return true;
}

/* NAME=…: does it set an input? A path like ./a=b does not. */
static bool sets_input(const char *word) {
    const char *p = word;
    while (*p && (*p == '_' || isalnum((unsigned char)*p) || (unsigned char)*p >= 0x80))
        p++;
    return *p == '=';
}

/* `batch = 5 gal`, typed with spaces: words up to the next that sets an input are the value. */
static bool is_parted(const Reading *reading, int at) {
    const char *word = reading->operands[at],
               *next = at + 1 < reading->operand_count ? reading->operands[at + 1] : NULL;
    const char *equals = strchr(word, '=');
    if (!next)
        return false;
    if (!equals)
        return next[0] == '=';
    return equals > word && equals[1] == '\0' && !sets_input(next);
}

static bool fail_parted(Reading *reading, int at) {
    Text value = {0};
    char *name = mem_copy(reading->operands[at], strcspn(reading->operands[at], "="));
    for (int i = at + 1; i < reading->operand_count; i++) {
        const char *word = reading->operands[i];
        if (i > at + 1 && (sets_input(word) || is_parted(reading, i)))
            break;
        word += i == at + 1 && *word == '=';
        text_add_string(&value, value.length && *word ? " " : "");
        text_add_string(&value, word);
    }
    fail(reading, MSG_INPUT_BLANKS, ARGS(name, value.length ? text_string(&value) : "VALUE"));
    mem_free(name);
    text_free(&value);
    return false;
}

static bool take_operands(Reading *reading) {
    Options *options = reading->options;
    bool several = options->mode == MODE_CHECK || options->mode == MODE_EXPECT;
    bool sets = options->mode == MODE_RUN;
    for (int i = 0; i < reading->operand_count; i++) {
        const char *word = reading->operands[i];
        if (sets && options->file_count && is_parted(reading, i))
            return fail_parted(reading, i);
        if (sets_input(word)) {
            if (!sets)
                return fail(reading, MSG_INPUT_NOT_TAKEN, ARGS(reading->mode_option, word));
            if (!options->file_count)
                return fail(reading, MSG_INPUT_BEFORE_FILE, ARGS(word));
            if (word[0] == '=')
                return fail(reading, MSG_INPUT_NAMELESS, ARGS(word));
            options->inputs[options->input_count++] = word;
        } else if (options->file_count && !several) {
            return fail(reading, MSG_OPERAND_SECOND, ARGS(word));
        } else {
            options->files[options->file_count++] = word;
        }
    }
    return true;
}

/* Options about a run's uncertainty, and what they do not go with. */
static bool settle_spread(Reading *reading) {
    const Options *options = reading->options;
    const char *asked = options->budget ? "--budget" : options->trials ? "--trials" : NULL;
    if (options->has_seed && !options->trials)
        return fail(reading, MSG_SEED_ALONE, NO_ARGS);
    if (options->budget && options->trials)
        return fail(reading, MSG_OPTIONS_TOGETHER, ARGS("--budget", "--trials"));
    if (options->working && options->trials)
        return fail(reading, MSG_OPTIONS_TOGETHER, ARGS("--working", "--trials"));
    if (asked && options->mode != MODE_RUN)
        return fail(reading, MSG_OPTIONS_TOGETHER, ARGS(asked, reading->mode_option));
    if (options->budget && options->form)
        return fail(reading, MSG_SPREAD_REPORT, ARGS(asked));
    if (asked && !reading->operand_count)
        return fail(reading, MSG_OPERAND_MISSING, ARGS(asked));
    return true;
}

/* The working belongs to a run, or to expressions. */
static bool settle_working(Reading *reading) {
    const Options *options = reading->options;
    if (options->mode == MODE_PROMPT)
        return fail(reading, MSG_WORKING_PROMPT, NO_ARGS);
    if (options->mode != MODE_RUN && options->mode != MODE_EXPRESSIONS)
        return fail(reading, MSG_OPTIONS_TOGETHER, ARGS("--working", reading->mode_option));
    if (options->mode == MODE_RUN && !reading->operand_count)
        return fail(reading, MSG_OPERAND_MISSING, ARGS("--working"));
    return true;
}

/* What --check says is text, or JSON. */
static bool fail_form(Reading *reading) {
    Text option = {0};
    text_add_string(&option, "--report ");
    text_add_string(&option, reading->options->form->name);
    fail(reading, MSG_OPTIONS_TOGETHER, ARGS(text_string(&option), reading->mode_option));
    text_free(&option);
    return false;
}

/* The mode, once all words are known. Without a file or an option that chooses, it is the prompt. */
static bool settle(Reading *reading) {
    Options *options = reading->options;
    bool run = options->mode == MODE_RUN;
    bool fileless = options->mode == MODE_EXPRESSIONS || options->mode == MODE_PROMPT;
    bool check = options->mode == MODE_CHECK;
    if (options->form && check && strcmp(options->form->name, "json") != 0)
        return fail_form(reading);
    if (options->form && !run && !check)
        return fail(reading, MSG_OPTIONS_TOGETHER, ARGS("--report", reading->mode_option));
    if (!settle_spread(reading) || (options->working && !settle_working(reading)))
        return false;
    if (fileless && reading->operand_count)
        return fail(reading, MSG_OPERAND_NEEDLESS, ARGS(reading->mode_option, reading->operands[0]));
    if (!take_operands(reading))
        return false;
    if (options->file_count || fileless)
        return true;
    if (!run)
        return fail(reading, MSG_OPERAND_MISSING, ARGS(reading->mode_option));
    if (options->form) {
        Text option = {0};
        text_add_string(&option, "--report ");
        text_add_string(&option, options->form->name);
        fail(reading, MSG_OPERAND_MISSING, ARGS(text_string(&option)));
        text_free(&option);
        return false;
    }
    options->mode = MODE_PROMPT;
    options->prompt_by_default = true;
    return true;
}

bool options_read(Options *options, int argc, char *const *argv, DiagList *errors) {
    size_t words = (size_t)(argc > 0 ? argc : 0) + 1; /* one more: main may add `-` */
    Reading reading = {.options = options, .errors = errors};
    reading.operands = mem_array(words, sizeof *reading.operands);
    options->mode = MODE_RUN;
    options->seed = 1;
    options->files = mem_array(words, sizeof *options->files);
    options->inputs = mem_array(words, sizeof *options->inputs);
    options->limits = session_default_options().limits;
    bool good = read_words(&reading, argc, argv);
    if (good && options->mode != MODE_HELP && options->mode != MODE_VERSION)
        good = settle(&reading);
    mem_free(reading.operands);
    return good;
}

void options_free(Options *options) {
    mem_free(options->expressions);
    mem_free(options->files);
    mem_free(options->inputs);
    *options = (Options){0};
}
