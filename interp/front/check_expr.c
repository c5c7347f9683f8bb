/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The check of kinds: expressions. Each kind of node computes with samples what the machine would compute
 * with values, by the same functions, and reports at the places that compile_expr.c gives to the machine. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "front/check_state.h"
#include "values/display.h"
#include "values/kind_check.h"
#include "values/liquid_value.h"

enum { STEPS_MAX = 200000, WORDS_MAX = 40, TOLD_MAX = 1000 };

/* ---- reporting ---- */

/* A formula's own mistake is met again by each call that looks into it (looked for among the last). */
static bool is_told(const Checker *c, MessageId id, const Source *source, Span at) {
    int first = c->errors->count > TOLD_MAX ? c->errors->count - TOLD_MAX : 0;
    for (int i = first; i < c->errors->count; i++) {
        const Diag *diag = c->errors->items[i];
        if (diag->id == id && diag->source == source && diag->span.start == at.start &&
            diag->span.end == at.end)
            return true;
    }
    return false;
}

/* Is there something to say, and may it be said? Clears the fault otherwise. */
static bool may_report(Checker *c, Fault *fault, const Source *source, Span at) {
    bool may = c->silent == 0 && !c->failed && message_class(fault->id) == CLASS_KIND;
    if (may)
        c->failed = true;
    if (!may || is_told(c, fault->id, source, at)) {
        fault_clear(fault);
        return false;
    }
    return true;
}

void check_report(Checker *c, Fault *fault, CodeSpan spans) {
    if (!may_report(c, fault, c->source, spans.at))
        return;
    liquid_value_name_solid(fault, c->source->text, spans.at, spans.right);
    kind_hint_call(fault, c->source->text, spans.left, spans.at);
    diag_list_push(c->errors, diag_from_sides(fault, c->source, spans.at, spans.left, spans.right));
}

/* Where a run may pass by, what it would meet is no more than a note. */
static void report_certain(Checker *c, Fault *fault, MessageId note, CodeSpan spans) {
    bool certain = c->guarded == 0 && !c->in_formula;
    if (!certain && c->silent == 0 && !is_told(c, note, c->source, spans.at))
        diag_add(c->errors, note, c->source, spans.at,
                 ARGS(arg_copy(&fault->args[0]), arg_copy(&fault->args[1])));
    if (certain)
        check_report(c, fault, spans);
    fault_clear(fault);
}

void check_report_in(Checker *c, Fault *fault, Source *source, Span at, MessageArg *call) {
    if (!may_report(c, fault, source, at)) {
        args_free(call);
        return;
    }
    Diag *diag = diag_from_fault(fault, source, at);
    diag_add_trace(diag, PHRASE_IN_FORMULA, call);
    diag_list_push(c->errors, diag);
}

void check_format(Checker *c, Guess guess, FormatSpec format, Span at) {
    bool one = guess_known(guess) && guess.value.tag != TAG_LIST && guess.value.tag != TAG_RECORD;
    if (!one || format.mode == FORMAT_DEFAULT)
        return;
    Fault fault = {0};
    if (!display_rounds(c->registry->units, guess.value, format, &fault))
        check_report(c, &fault, (CodeSpan){.at = at});
}

static Arith rules_of(const Checker *c, Fault *fault) {
    return (Arith){.units = c->registry->units, .heap = c->registry->heap, .fault = fault};
}

/* ---- hints that show a number ---- */

/* How an operand is called where its number is not known: by its own source. False when that is not a short
 * expression. */
static bool source_words(const Checker *c, const Node *node, Text *out) {
    const char *bytes = c->source->text + node->span.start;
    size_t length = node->span.end - node->span.start;
    bool simple = node->type == NODE_NAME || node->type == NODE_CALL || node->type == NODE_FIELD ||
                  node->type == NODE_INDEX;
    if (length > WORDS_MAX || memchr(bytes, '\n', length))
        return false;
    if (!simple)
        text_add_char(out, '(');
    text_add(out, bytes, length);
    if (!simple)
        text_add_char(out, ')');
    return true;
}

/* A hint such as "x - 10% of x (here x is 5 gal)" shows the operands. A sample's number is no one's: what the
 * script calls the operand is there instead, or there is no hint. */
static void name_operand(const Checker *c, Fault *fault, OperandSide side, Guess guess, const Node *node) {
    MessageArg *shown = fault_operand(fault, side);
    Text words = {0};
    if (!shown || guess.exact)
        return;
    if (source_words(c, node, &words))
        arg_replace(shown, arg_operand(arg_taken(ARG_TEXT, &words), side));
    else
        fault_hint(fault, MSG_NONE, NO_ARGS);
}

/* ---- operators ---- */

static bool compute(const Arith *arith, Operator op, Value a, Value b, Value *result) {
    switch ((int)op) {
    case OPERATOR_ADD:
        return arith_add(arith, a, b, result);
    case OPERATOR_SUBTRACT:
        return arith_subtract(arith, a, b, result);
    case OPERATOR_MULTIPLY:
        return arith_multiply(arith, a, b, result);
    case OPERATOR_DIVIDE:
        return arith_divide(arith, a, b, result);
    case OPERATOR_OF:
        return arith_of(arith, a, b, result);
    case OPERATOR_MODULO:
        return arith_modulo(arith, a, b, result);
    case OPERATOR_POWER:
        return arith_power(arith, a, b, result);
    default:
        return false;
    }
}

/* The value of an expression of literals alone; absent of any other. */
static Value constant_of(const Checker *c, const Node *node) {
    Fault ignored = {0};
    Value value;
    bool constant = compile_constant(c->registry, c->module, node, &value, &ignored);
    fault_clear(&ignored);
    return constant ? value : value_absent();
}

/* x / 0, whatever x is. Zeros that are computed are for a run to find. */
static bool divides_by_zero(const Checker *c, const Node *node) {
    Operator op = node->as.binary.op;
    Value right = op == OPERATOR_DIVIDE || op == OPERATOR_MODULO ? constant_of(c, node->as.binary.right)
                                                                 : value_absent();
    return right.tag == TAG_AMOUNT && right.as.number == 0;
}

static Guess check_arithmetic(Checker *c, const Node *node, Guess left, Guess right) {
    Operator op = node->as.binary.op;
    Fault fault = {0};
    Arith arith = rules_of(c, &fault);
    Value result;
    bool by_zero = divides_by_zero(c, node);
    bool known = guess_known(left) && guess_known(right);
    if (!known && !by_zero)
        return guess_unknown();
    if (!known)
        fault_set(&fault, MSG_DIVISION_BY_ZERO, NO_ARGS);
    if (known && compute(&arith, op, left.value, right.value, &result)) {
        bool by_exponent = op == OPERATOR_POWER && !right.exact && left.value.unit != UNIT_NUMBER;
        return by_exponent ? guess_unknown() : guess_computed(c, result, left.exact && right.exact);
    }
    name_operand(c, &fault, SIDE_LEFT, left, node->as.binary.left);
    name_operand(c, &fault, SIDE_RIGHT, right, node->as.binary.right);
    CodeSpan spans = {.at = node->as.binary.operator_span,
                      .left = node->as.binary.left->span,
                      .right = node->as.binary.right->span};
    if (by_zero && fault.id == MSG_DIVISION_BY_ZERO)
        report_certain(c, &fault, MSG_DIVIDES_BY_ZERO, spans);
    else if (fault.id == MSG_DIVISION_BY_ZERO)
        fault_clear(&fault);
    else
        check_report(c, &fault, spans);
    return guess_unknown();
}

Guess check_comparison(Checker *c, Operator op, Guess left, Guess right, CodeSpan spans) {
    Fault fault = {0};
    Arith arith = rules_of(c, &fault);
    bool is_equality = op == OPERATOR_EQUAL || op == OPERATOR_NOT_EQUAL;
    /* what lists and records hold is compared item by item, as far as it goes: only the run knows */
    bool nested =
        left.value.tag == right.value.tag && (left.value.tag == TAG_LIST || left.value.tag == TAG_RECORD);
    if (guess_known(left) && guess_known(right) && !(is_equality && nested)) {
        bool equal;
        int order;
        bool compared = is_equality ? arith_equal(&arith, left.value, right.value, &equal)
                                    : arith_compare(&arith, left.value, right.value, &order);
        if (!compared)
            check_report(c, &fault, spans);
    }
    return guess_of_tag(c, TAG_TRUTH);
}

static void require_truth(Checker *c, Guess guess, Span at) {
    Fault fault = {0};
    if (guess_known(guess) && !kind_check_truth(c->registry->units, guess.value, &fault))
        check_report(c, &fault, (CodeSpan){.at = at});
}

static Guess check_binary(Checker *c, const Node *node) {
    const Node *left = node->as.binary.left, *right = node->as.binary.right;
    Operator op = node->as.binary.op;
    if (op == OPERATOR_AND || op == OPERATOR_OR) {
        int count = checker_shadow_asked(c, left);
        require_truth(c, check_expr(c, left), left->span);
        c->guarded++;
        require_truth(c, check_expr(c, right), right->span);
        c->guarded--;
        checker_forget(c, count);
        return guess_of_tag(c, TAG_TRUTH);
    }
    Guess a = check_expr(c, left), b = check_expr(c, right);
    if (operator_compares(op)) {
        CodeSpan spans = {.at = node->as.binary.operator_span, .left = left->span, .right = right->span};
        return check_comparison(c, op, a, b, spans);
    }
    return check_arithmetic(c, node, a, b);
}

static Guess check_unary(Checker *c, const Node *node) {
    Guess operand = check_expr(c, node->as.unary.operand);
    if (node->as.unary.op == OPERATOR_NOT) {
        require_truth(c, operand, node->as.unary.operand->span);
        return guess_of_tag(c, TAG_TRUTH);
    }
    Fault fault = {0};
    Arith arith = rules_of(c, &fault);
    Value result;
    if (guess_known(operand) && arith_negate(&arith, operand.value, &result))
        return guess_computed(c, result, operand.exact);
    check_report(c, &fault, (CodeSpan){.at = node->span});
    return guess_unknown();
}

void check_condition(Checker *c, const Node *node) {
    Guess answer = check_expr(c, node);
    bool has_parts =
        (node->type == NODE_UNARY && node->as.unary.op == OPERATOR_NOT) || node->type == NODE_BINARY;
    bool is_question = has_parts && (node->type == NODE_UNARY || node->as.binary.op < OPERATOR_ADD);
    if (!is_question)
        require_truth(c, answer, node->span);
}

/* -3 pts: whatever way a script takes to it, its sign is the one that is written. */
static bool is_written(const Node *node) {
    while (node->type == NODE_ATTACH || (node->type == NODE_UNARY && node->as.unary.op == OPERATOR_NEGATE))
        node = node->type == NODE_ATTACH ? node->as.attach.operand : node->as.unary.operand;
    return node->type == NODE_NUMBER;
}

bool check_near(Checker *c, const Node *node, Span at) {
    Guess value = check_expr(c, node->as.near.value), target = check_expr(c, node->as.near.target);
    Guess within = check_expr(c, node->as.near.within);
    Fault fault = {0};
    Arith arith = rules_of(c, &fault);
    bool holds, written = guess_known(within) && is_written(node->as.near.within);
    if (written && !arith_within_allowed(&arith, within.value)) {
        check_report(c, &fault, (CodeSpan){.at = at});
        return false;
    }
    if (guess_known(within) && within.value.tag == TAG_AMOUNT)
        within.value.as.number =
            fabs(within.value.as.number); /* what a run would not come to with that sign */
    if (!guess_known(value) || !guess_known(target) || !guess_known(within) ||
        arith_near(&arith, value.value, target.value, within.value, &holds))
        return true;
    check_report(
        c, &fault,
        (CodeSpan){.at = at, .left = node->as.near.value->span, .right = node->as.near.target->span});
    return false;
}

/* ---- units ---- */

static Guess check_attach(Checker *c, const Node *node) {
    const Node *operand = node->as.attach.operand;
    const UnitExpr *expr = node->as.attach.unit;
    Guess guess = check_expr(c, operand);
    Fault fault = {0};
    Arith arith = rules_of(c, &fault);
    UnitId unit;
    Value result;
    if (!compile_unit(c->registry, c->module, expr, &unit, &fault)) {
        fault_clear(&fault);
        return guess_unknown();
    }
    if (!guess_known(guess))
        return guess_of_unit(c, unit);
    bool done = node->type == NODE_AS ? arith_convert(&arith, guess.value, unit, &result)
                                      : arith_attach(&arith, guess.value, unit, &result);
    if (done)
        return guess_computed(c, result, guess.exact);
    bool about_kinds = message_class(fault.id) == CLASS_KIND;
    check_report(c, &fault, (CodeSpan){.at = node->span, .left = operand->span, .right = expr->span});
    return about_kinds ? guess_unknown() : guess_of_unit(c, unit);
}

static Guess check_plus_minus(Checker *c, const Node *node) {
    Guess value = check_expr(c, node->as.plus_minus.value),
          spread = check_expr(c, node->as.plus_minus.uncertainty);
    const UnitExpr *shared = node->as.plus_minus.unit;
    Fault fault = {0};
    Arith arith = rules_of(c, &fault);
    UnitId unit;
    if (shared) {
        if (!compile_unit(c->registry, c->module, shared, &unit, &fault)) {
            fault_clear(&fault);
            return guess_unknown();
        }
        if (guess_known(value) && !arith_attach(&arith, value.value, unit, &value.value)) {
            check_report(c, &fault, (CodeSpan){.at = node->span});
            return guess_unknown();
        }
    }
    if (!guess_known(value) || !guess_known(spread) ||
        kind_check_spread(c->registry->units, value.value, spread.value,
                          shared ? PLUS_MINUS_SAME_UNIT : PLUS_MINUS_DIFFERENCE, &fault))
        return guess_known(value) ? guess_computed(c, value.value, value.exact) : guess_unknown();
    if (!(value.exact && spread.exact))
        fault_hint(&fault, MSG_NONE, NO_ARGS); /* it would show an amount that is no one's */
    check_report(c, &fault,
                 (CodeSpan){.at = node->as.plus_minus.operator_span,
                            .left = node->as.plus_minus.value->span,
                            .right = node->as.plus_minus.uncertainty->span});
    return guess_unknown();
}

/* ---- texts, lists, records ---- */

static Guess check_text_node(Checker *c, const Node *node) {
    const TextPart *parts = node->as.text.parts;
    int count = node->as.text.count;
    Heap *heap = c->registry->heap;
    if (count == 0 || (count == 1 && parts[0].literal)) {
        const char *bytes = count ? parts[0].literal : "";
        return guess_exact(value_of_text(text_object_intern(heap, bytes, count ? parts[0].length : 0)));
    }
    for (int i = 0; i < count; i++)
        if (!parts[i].literal)
            check_format(c, check_expr(c, parts[i].expr), parts[i].format, parts[i].expr->span);
    return guess_of_tag(c, TAG_TEXT);
}

static Guess check_list(Checker *c, const Node *node) {
    ListObject *list = list_new(c->registry->heap, (uint32_t)node->as.list.count);
    for (int i = 0; i < node->as.list.count; i++)
        list->items[i] = check_expr(c, node->as.list.items[i]).value;
    return guess_exact(value_of_list(list));
}

static Guess check_comprehension(Checker *c, const Node *node) {
    const Node *source = node->as.comprehension.list, *condition = node->as.comprehension.condition;
    int count = c->locals.count;
    Guess second, first = check_list_source(c, source, node->as.comprehension.second != NULL, &second);
    bool never = source->type == NODE_LIST && source->as.list.count == 0; /* its body is not for any value */
    c->depth++;
    c->silent += never;
    checker_declare(c, node->as.comprehension.variable, first);
    if (node->as.comprehension.second)
        checker_declare(c, node->as.comprehension.second, second);
    if (condition) {
        checker_shadow_asked(c, condition);
        check_condition(c, condition);
    }
    Guess item = check_expr(c, node->as.comprehension.body);
    if (node->as.comprehension.flat)
        item = guess_item(c, item.value);
    c->silent -= never;
    c->depth--;
    checker_forget(c, count);
    return (Guess){.value = guess_list_of(c, condition || !guess_known(first) ? guess_unknown() : item)};
}

/* Those whose names are written; what the others are called only a run knows. */
static RecordObject *check_fields(Checker *c, const FieldExpr *fields, int count) {
    RecordObject *record = record_new(c->registry->heap, (uint32_t)count);
    uint32_t named = 0;
    for (int i = 0; i < count; i++) {
        Value value = check_expr(c, fields[i].value).value;
        if (fields[i].computed) {
            check_expr(c, fields[i].computed);
            continue;
        }
        record->fields[named].name =
            text_object_intern(c->registry->heap, fields[i].name, strlen(fields[i].name));
        record->fields[named++].value = value;
    }
    record->count = named;
    return record;
}

static Guess record_with(const Checker *c, const RecordObject *old, const RecordObject *changes) {
    RecordObject *both = record_new(c->registry->heap, old->count + changes->count);
    uint32_t count = old->count;
    memcpy(both->fields, old->fields, old->count * sizeof *old->fields);
    for (uint32_t i = 0; i < changes->count; i++) {
        uint32_t at = 0;
        while (at < old->count && both->fields[at].name != changes->fields[i].name)
            at++;
        both->fields[at < old->count ? at : count++] = changes->fields[i];
    }
    both->count = count;
    return guess_exact(value_of_record(both));
}

/* Each change by itself, on a litre of water: one whose number does not fit it says nothing about the others.
 */
static void check_liquid_with(Checker *c, const Node *node, Value liquid, const RecordObject *changes) {
    for (uint32_t i = 0; i < changes->count; i++) {
        Fault fault = {0};
        Arith arith = rules_of(c, &fault);
        Value ignored;
        RecordObject *one = record_new(c->registry->heap, 1);
        one->fields[0] = changes->fields[i];
        if (one->fields[0].value.tag != TAG_ABSENT &&
            !liquid_value_with(&arith, liquid.as.liquid, one, &ignored))
            check_report(c, &fault, (CodeSpan){.at = node->span, .left = node->as.with.operand->span});
    }
}

static Guess check_with(Checker *c, const Node *node) {
    Guess old = check_expr(c, node->as.with.operand);
    RecordObject *changes = check_fields(c, node->as.with.fields, node->as.with.count);
    Fault fault = {0};
    if (!guess_known(old))
        return guess_unknown();
    if (old.value.tag == TAG_RECORD && (int)changes->count < node->as.with.count)
        return (Guess){.value = old.value}; /* it may be any field that is changed */
    if (old.value.tag == TAG_RECORD)
        return old.exact ? record_with(c, old.value.as.record, changes) : old;
    if (old.value.tag == TAG_LIQUID) {
        check_liquid_with(c, node, old.value, changes);
        return old;
    }
    kind_fault(c->registry->units, MSG_WITH_KIND, old.value, NULL, &fault);
    check_report(c, &fault, (CodeSpan){.at = node->span, .left = node->as.with.operand->span});
    return guess_unknown();
}

/* ---- fields and items ---- */

/* A record whose fields are not all known (inexact) has any. A field's number is not followed: records are
 * built in one place and read in another. */
static Guess field_of(Checker *c, Guess object, const TextObject *name, CodeSpan spans) {
    Fault fault = {0};
    Arith arith = rules_of(c, &fault);
    Value result = value_absent();
    if (!guess_known(object))
        return guess_unknown();
    if (object.value.tag == TAG_RECORD) {
        if (!kind_check_field(object.value.as.record, name, &result, &fault) && !object.exact)
            fault_clear(&fault);
    } else if (object.value.tag == TAG_LIQUID) {
        if (strcmp(name->bytes, "cost") == 0)
            return guess_unknown();
        liquid_value_field(&arith, object.value.as.liquid, name->bytes, &result);
    } else {
        kind_fault_field(c->registry->units, object.value, name->bytes, &fault);
    }
    check_report(c, &fault, spans);
    return result.tag == TAG_ABSENT || result.tag == TAG_NONE ? guess_unknown()
                                                              : guess_computed(c, result, false);
}

static Guess check_field(Checker *c, const Node *node) {
    Guess object = check_expr(c, node->as.field.object);
    const TextObject *name =
        text_object_intern(c->registry->heap, node->as.field.name, strlen(node->as.field.name));
    return field_of(c, object, name,
                    (CodeSpan){.at = node->as.field.name_span, .left = node->as.field.object->span});
}

/* An index beyond a list that is written out: there, or under a name that nothing changes; after a
 * condition, which may have asked for its length, only there. */
static void check_item(Checker *c, const Node *node, Guess list, CodeSpan spans) {
    const Node *object = node->as.index.object;
    Value index = constant_of(c, node->as.index.index), ignored;
    Fault fault = {0};
    bool sure = object->type == NODE_LIST || (object->type == NODE_NAME && c->guarded == 0 && list.exact);
    if (sure && value_is_plain(index) &&
        !kind_check_item(list.value.as.list, index.as.number, &ignored, &fault)) {
        if (fault.id == MSG_INDEX_RANGE)
            report_certain(c, &fault, MSG_INDEX_BEYOND, spans);
        else
            check_report(c, &fault, spans);
    }
}

static Guess check_index(Checker *c, const Node *node) {
    Guess object = check_expr(c, node->as.index.object), index = check_expr(c, node->as.index.index);
    CodeSpan spans = {.at = node->as.index.index->span, .left = node->as.index.object->span};
    const UnitTable *units = c->registry->units;
    Fault fault = {0};
    if (!guess_known(object) || !guess_known(index))
        return guess_unknown();
    if (object.value.tag == TAG_LIST && value_is_plain(index.value)) {
        check_item(c, node, object, spans);
        return guess_item(c, object.value);
    }
    if (index.value.tag == TAG_TEXT && (object.value.tag == TAG_RECORD || object.value.tag == TAG_LIQUID))
        return index.exact ? field_of(c, object, index.value.as.text, spans) : guess_unknown();
    if (object.value.tag == TAG_LIST)
        kind_fault(units, MSG_INDEX_WHOLE, index.value, NULL, &fault);
    else
        kind_fault(units, MSG_INDEX_KIND, object.value, NULL, &fault);
    check_report(c, &fault, spans);
    return guess_unknown();
}

/* ---- all of them ---- */

static Guess check_choice(Checker *c, const Node *node) {
    int count = checker_shadow_asked(c, node->as.choice.condition);
    check_condition(c, node->as.choice.condition);
    c->guarded++;
    Guess then = check_expr(c, node->as.choice.then), otherwise = check_expr(c, node->as.choice.otherwise);
    c->guarded--;
    checker_forget(c, count);
    return guess_join(c, then, otherwise);
}

static Guess check_literal(Checker *c, const Node *node) {
    (void)c;
    switch ((int)node->type) {
    case NODE_NUMBER:
        return guess_exact(value_number(node->as.number));
    case NODE_DATE:
        return guess_exact(value_reading(node->as.number, UNIT_DATE));
    case NODE_TRUTH:
        return guess_exact(value_truth(node->as.truth));
    default:
        return guess_exact(value_none());
    }
}

static Guess check_name(Checker *c, const Node *node) {
    return checker_find(c, node->as.name.name);
}

static Guess check_record(Checker *c, const Node *node) {
    RecordObject *record = check_fields(c, node->as.record.fields, node->as.record.count);
    return (Guess){.value = value_of_record(record), .exact = (int)record->count == node->as.record.count};
}

static Guess check_near_node(Checker *c, const Node *node) {
    check_near(c, node, node->span);
    return guess_of_tag(c, TAG_TRUTH);
}

Guess check_expr(Checker *c, const Node *node) {
    static Guess (*const checks[])(Checker * c, const Node *node) = {
#define NODE(type, check, ...) [NODE_##type] = check,
#include "front/language.def"
    };
    if (c->calls > 0 && ++c->steps > STEPS_MAX)
        return guess_unknown();
    return checks[node->type](c, node);
}
