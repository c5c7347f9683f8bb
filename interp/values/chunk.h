/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compiled code: what `compile` writes and `vm` reads, and all they share. */
#ifndef RUNDLET_CHUNK_H
#define RUNDLET_CHUNK_H

#include "base/source.h"
#include "numbers/format.h"
#include "values/heap.h"

typedef enum Opcode {
#define OPCODE(name, operands) OP_##name,
#include "values/opcode.def"
#undef OPCODE
    OPCODE_COUNT
} Opcode;

typedef struct Instruction {
    uint8_t op;
    uint8_t x;
    uint16_t a;
    union {
        struct {
            uint16_t b, c;
        };
        int32_t d;
    };
} Instruction;

enum { CHUNK_REGISTERS_MAX = 4000, CHUNK_CONSTANT_OPERAND_MAX = 65535, CALL_ARGUMENTS_MAX = 200 };

/* Where an instruction comes from: the place of its error, and of its operands for labels. For calls
 * `left.start` is the number of the first argument's span in the chunk's argument_spans, `left.end` how many
 * there are. */
typedef struct CodeSpan {
    Span at, left, right;
} CodeSpan;

/* What `is` asks of a value. */
typedef struct KindCheck {
    char *word; /* as written, for messages */
    bool is_unit;
    UnitId unit;    /* is_unit: same kind as this */
    KindSet kinds;  /* else one of these */
    char *formula;  /* whose argument or result it is */
    char *argument; /* its label; NULL: the result */
} KindCheck;

/* How OP_PLUS_MINUS reads its right side. */
typedef enum PlusMinus {
    PLUS_MINUS_DIFFERENCE, /* a quantity: a standard uncertainty */
    PLUS_MINUS_SAME_UNIT,  /* a plain number on the value's own unit: 1.050 ± 0.002 SG */
    PLUS_MINUS_WITHIN      /* tolerance(x, a): the half-width of a rectangle */
} PlusMinus;

/* What OP_JUDGE asks of a figure, of which the library tells whether it passes a limit (runtime/bad_end.h).
 */
typedef enum Judge { JUDGE_BAD_END, JUDGE_WEIGHED } Judge;

/* What a source of uncertainty is called (front/compile_source.c). */
typedef struct SourceName {
    int32_t at;  /* its instruction */
    char *words; /* "gravity of cider"; NULL where nothing around it has a name */
    bool whole;  /* it is all of a let or input: no line need be told */
} SourceName;

/* What OP_EXPECT_COMPARE asks. */
typedef enum Comparison {
    COMPARISON_EQUAL,
    COMPARISON_NOT_EQUAL,
    COMPARISON_LESS,
    COMPARISON_LESS_EQUAL,
    COMPARISON_GREATER,
    COMPARISON_GREATER_EQUAL
} Comparison;

typedef enum Relation { RELATION_EQUAL, RELATION_LESS_EQUAL, RELATION_GREATER_EQUAL } Relation;

typedef struct FindUnknown {
    char *name;
    uint16_t reg, from, to; /* registers */
    uint16_t old;           /* register that keeps what its global held */
    int32_t global;         /* its global slot, or -1 */
    bool whole;
    Span span, from_span, to_span;
} FindUnknown;

typedef struct FindPart { /* code that leaves its results in registers; ends with PART_END */
    int32_t start;
    uint16_t left, right;
    Relation relation;
    Span span, left_span, right_span;
} FindPart;

typedef struct FindPlan {
    FindUnknown *unknowns;
    int unknown_count;
    FindPart *conditions;
    int condition_count;
    int direction; /* -1 least, 1 most, 0 none */
    FindPart goal;
    int32_t end; /* where the run continues */
} FindPlan;

/* Beside the mode of OP_FORMAT: the text is handed out as it is, and nothing else reads it. */
enum { FORMAT_SAID = 4 };

typedef struct ShowPlan {
    char *label;
    bool label_in_register;
    FormatSpec format;
} ShowPlan;
typedef struct ColumnPlan {
    char *label; /* NULL: the text in register `label_reg` */
    uint16_t label_reg, reg;
    int32_t start, end; /* its part */
    FormatSpec format;
    int index;   /* its place in the table, from 0, the loop's own column not counted */
    bool across; /* one column for each turn of a second loop, whose number is in register `turn` */
    uint16_t turn;
} ColumnPlan;
typedef struct TablePlan {
    char *loop_label;
    int column_count, first_column; /* its columns are side by side */
    bool is_plot;                   /* to be drawn */
    char *across_label;             /* of a second loop, whose turns are the columns; NULL without */
} TablePlan;
typedef struct InputPlan {
    char *name;
    char *doc;
    int32_t global;
    bool ranged, chosen; /* from … to …, or from a list of choices */
    Span name_span;
} InputPlan;

/* The code of a statement that hands something out and leaves nothing behind: from its first instruction to
 * the one that hands out. */
typedef struct Handout {
    int32_t start, at;
} Handout;

/* A loop's code, from where a turn begins to the jump back, and the register that counts its turns. */
typedef struct LoopRange {
    int32_t top, end;
    uint16_t counter;
} LoopRange;

/* What a run that shows its working keeps of itself (runtime/recorder.h). OP_MARK names a mark and a phase of
 * it; code is compiled with marks only where they are asked for. */
typedef enum MarkRole {
    MARK_LET,
    MARK_ASSIGN,
    MARK_INPUT,
    MARK_SHOW,
    MARK_COLUMN,
    MARK_GIVE,
    MARK_FIND,      /* an unknown of a find; one phase, MARK_DONE, after the sides */
    MARK_HOLDS,     /* a condition of a find, around its sides; or its goal */
    MARK_SIDE,      /* of such a condition; what is to be `least` or `most` has that name */
    MARK_CONDITION, /* of an if or a while */
    MARK_READ,      /* of a name, a field or an item: one phase, MARK_DONE */
    MARK_PART,      /* of a sum, in case it is a pour: likewise */
    MARK_SUM,       /* around its parts: of a + b + c, also around those of a + b */
    MARK_CALL,
    MARK_TAKEN, /* the branch of a choice that was taken: one phase, MARK_DONE */
    MARK_LIST,  /* what a loop goes through; of numbers from … to … it has no value */
    MARK_TURN   /* of a loop: MARK_BEGIN at each turn, MARK_DONE after the loop */
} MarkRole;
typedef enum MarkPhase { MARK_BEGIN, MARK_DONE, MARK_HELD, MARK_FAILED } MarkPhase;
typedef struct Mark {
    MarkRole role;
    Span span;  /* of the expression */
    Span whole; /* TAKEN: of the choice with both its branches; READ: of the expression that the name belongs
                   to; TURN: of the list that it is of */
    char *name; /* defined, read or called; NULL: none */
    int32_t global;    /* of the name; -1: none */
    int32_t reg;       /* of a local name; -1: none */
    int32_t number;    /* the formula's that is called; of others -1 */
    int32_t inside;    /* the mark of the condition that the statement depends on; -1: none */
    int32_t declared;  /* ASSIGN: how deep in blocks its name was declared; TURN: how deep the loop is */
    int32_t loop;      /* the MARK_TURN of the loop it is in; -1: none */
    int32_t list;      /* of a MARK_TURN: its MARK_LIST; -1: none */
    uint64_t left_out; /* of a call: a bit for each of the first 64 parameters that got no argument */
    FormatSpec format; /* SHOW, COLUMN: as its value is shown */
} Mark;

/* A name, or fields of one (`must.gravity`), that a check reads: what its sides were is told when it fails.
 */
typedef struct CheckRead {
    int32_t code;   /* the instruction of the check */
    int32_t global; /* of the name; -1: it is local */
    uint16_t reg;   /* of a local one */
    Span span;
    char *path; /* "gravity", "a.b"; NULL: the name alone */
} CheckRead;

typedef struct Chunk {
    char *name; /* formula's name, or NULL for a script */
    Source *source;
    Instruction *code;
    CodeSpan *spans; /* one an instruction */
    int count, capacity;
    Value *constants;
    Value *views; /* constants as last converted to the other operand's unit: the _K instructions' cache */
    int constant_count, constant_capacity;
    int registers;
    KindCheck *kinds;
    int kind_count, kind_capacity;
    FindPlan *finds;
    int find_count, find_capacity;
    ShowPlan *shows;
    int show_count, show_capacity;
    TablePlan *tables;
    int table_count, table_capacity;
    ColumnPlan *columns;
    int column_count, column_capacity;
    InputPlan *inputs;
    int input_count, input_capacity;
    Handout *handouts;
    int handout_count, handout_capacity;
    LoopRange *loops;
    int loop_count, loop_capacity;
    CheckRead *check_reads;
    int check_read_count, check_read_capacity;
    SourceName *source_names;
    int source_name_count, source_name_capacity;
    Mark *marks;
    int mark_count, mark_capacity;
    Span *argument_spans;
    int argument_span_count, argument_span_capacity;
    const struct Module *module; /* it is code of, whose own units may be in what it reads */
    bool typed;                  /* at the prompt, where a line tells nothing */
    bool library;                /* of the standard library: its cautions and notes wait and come once */
} Chunk;

Chunk *chunk_new(const char *name, Source *source);
void chunk_free(Chunk *chunk);
void chunk_mark(const Chunk *chunk);                                  /* constants are roots */
int chunk_emit(Chunk *chunk, Instruction instruction, CodeSpan span); /* its index */
int chunk_add_constant(Chunk *chunk, Value value);

#endif
