/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Faults on their way to a diagnostic. */
#include <criterion/criterion.h>

#include "base/diag.h"
#include "base/mem.h"

Test(diag, hint_belongs_to_its_fault) {
    Fault fault = {0};
    fault_set(&fault, MSG_REFUSED, ARGS("the first"));
    fault_hint(&fault, HINT_REFUSED, ARGS("of the first"));
    fault_set(&fault, MSG_OVERFLOW, NO_ARGS);
    fault_label(&fault, "left", "right");
    fault_hint(&fault, HINT_REFUSED, ARGS("of the second"));
    cr_expect_null(fault.left);
    Diag *diag = diag_from_fault(&fault, NULL, (Span){0, 0});
    cr_expect_str_eq(diag->message, "the first");
    cr_expect_str_eq(diag->hint, "of the first");
    diag_free(diag);

    fault_set(&fault, MSG_REFUSED, ARGS("the third"));
    fault_hint(&fault, HINT_REFUSED, ARGS("of the third"));
    diag = diag_from_fault(&fault, NULL, (Span){0, 0});
    cr_expect_str_eq(diag->hint, "of the third");
    diag_free(diag);
}
