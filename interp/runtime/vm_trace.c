/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Through which calls a run came to its error, each with the values it was called with: they are still in the
 * registers of its parameters, and nothing is kept for this while all goes well. */
#include <string.h>

#include "base/mem.h"
#include "runtime/vm_parts.h"
#include "values/display.h"

enum {
    TRACE_MAX = 4,    /* calls of the script that are told */
    TRACE_WIDTH = 100 /* columns of such a line, about */
};

static const Formula *formula_of(const Vm *vm, const Chunk *chunk) {
    for (int i = 0; i < vm->registry->formula_count; i++)
        if (vm->registry->formulas[i]->chunk == chunk)
            return vm->registry->formulas[i];
    return NULL;
}

/* ---- the values of a call ---- */

static size_t columns_of(const Text *text) {
    return utf8_width(text_string(text), text->length);
}

/* Was it given, or has it a default that says something? One that was not reached yet is absent. */
static bool is_told(const FormulaParam *param, Value value) {
    return value.tag != TAG_ABSENT && (value.tag != TAG_NONE || !param->optional);
}

static void add_argument(Text *out, const Vm *vm, const FormulaParam *param, Value value,
                         DisplayWidth width) {
    text_add_string(out, param->label);
    text_add_string(out, ": ");
    if (param->assigned)
        text_add_string(out, message_text(PHRASE_CHANGED_SINCE));
    else
        display_argument(out, vm->registry->units, value, width);
}

/* "boost(batch: 5 gal, sugar: 200 g/L)"; with `room` for so many columns, as many of its values as fit. */
static char *call_words(const Vm *vm, const Frame *frame, const Formula *formula, DisplayWidth width,
                        size_t room) {
    enum { AND_MORE = 4 }; /* columns of what closes it */
    const Value *args = vm->stack + frame->base;
    Text out = {0};
    bool fits = true;
    text_add_string(&out, frame->chunk->name);
    text_add_char(&out, '(');
    for (int i = 0, told = 0; formula && i < formula->param_count && fits; i++) {
        if (!is_told(&formula->params[i], args[i]))
            continue;
        Text argument = {0};
        text_add_string(&argument, told++ ? ", " : "");
        add_argument(&argument, vm, &formula->params[i], args[i], width);
        fits = width < DISPLAY_TERSE || columns_of(&out) + columns_of(&argument) + AND_MORE <= room;
        text_add_string(&out, fits ? text_string(&argument) : told > 1 ? ", …" : "…");
        text_free(&argument);
    }
    text_add_char(&out, ')');
    return text_take(&out);
}

/* ---- lines ---- */

/* "line 12", or "press.rlet:12" in another file than the error; NULL where a line says nothing. */
static char *caller_words(const Frame *caller, const Source *source) {
    const Chunk *chunk = caller->chunk;
    if (chunk->typed)
        return NULL;
    Place place = source_locate(chunk->source, chunk->spans[caller->pc - 1 - chunk->code].at.start);
    return chunk->source == source
               ? message_take(PHRASE_LINE, ARGS(arg_whole(place.line)))
               : message_take(PHRASE_FILE_AND_LINE, ARGS(chunk->source->name, arg_whole(place.line)));
}

/* `caller`: NULL where the error is at the call itself. */
static void add_call(const Vm *vm, Diag *diag, const Frame *frame, const Frame *caller) {
    enum { BEFORE = 6, BETWEEN = 14 }; /* columns of the words around them */
    const Formula *formula = formula_of(vm, frame->chunk);
    char *from = caller ? caller_words(caller, diag->source) : NULL, *call = NULL;
    size_t around = BEFORE + (from ? BETWEEN + strlen(from) : 0);
    size_t room = around < TRACE_WIDTH ? TRACE_WIDTH - around : 0;
    for (int width = DISPLAY_FULL; width <= DISPLAY_TERSE; width++) {
        mem_free(call);
        call = call_words(vm, frame, formula, (DisplayWidth)width, room);
        if (utf8_width(call, strlen(call)) <= room)
            break;
    }
    if (from)
        diag_add_trace(diag, PHRASE_IN_CALL_FROM, ARGS(call, from));
    else
        diag_add_trace(diag, PHRASE_IN_CALL, ARGS(call));
    mem_free(call);
    mem_free(from);
}

/* The frame below `index` that runs the script and has called. */
static const Frame *caller_of(const Vm *vm, int index) {
    while (--index >= 0)
        if (!vm->frames[index].chunk->library && vm->frames[index].pc)
            return &vm->frames[index];
    return NULL;
}

void vm_add_trace(Vm *vm, Diag *diag, int users) {
    if (worlds_are_moved(vm->worlds))
        return; /* no one reads it */
    if (users + 1 < vm->frame_count && vm->frames[users + 1].chunk->name)
        add_call(vm, diag, &vm->frames[users + 1], NULL);
    for (int i = users, shown = 0; i > 0 && shown < TRACE_MAX; i--) {
        const Frame *caller = caller_of(vm, i);
        if (!vm->frames[i].chunk->name || !caller)
            continue;
        add_call(vm, diag, &vm->frames[i], caller);
        shown++;
    }
}
