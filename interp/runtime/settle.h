/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of a script with a ± (worlds.h): what its first run kept is given the ± that the other runs found,
 * and told, with the notes that belong to it. */
#ifndef RUNDLET_SETTLE_H
#define RUNDLET_SETTLE_H

#include "runtime/vm.h"

/* Hands the items, inputs, checks and cautions of a held report on to vm->report, in their order; the held
 * one is freed. Stops at an interruption: false then. */
bool settle_report(Vm *vm, Report *held);
/* A value in a text, with its ±; what is to be noted of it goes before the text. */
void settle_quote(Vm *vm, const Shown *quote, Text *out);

#endif
