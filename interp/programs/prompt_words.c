/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words of the language for `help WORD`: what each does, in a sentence, and examples of the statements. A
 * keyword without a row here is a failed test (tests/prompt). */
#include <string.h>

#include "programs/prompt_state.h"

static const PromptWord words[] = {
    {"let", "Gives a value a name.", "let batch = 5 gal"},
    {"input", "Gives a name to a value that whoever runs the script may set, with its default and its range.",
     "input batch = 5 gal          a value that rundlet FILE batch=… may set\ninput dose from 0 g "
     "to 9 g = 4 g"},
    {"show", "Shows values, each on a line of its own with its label.",
     "show batch, batch as L\nshow \"Syrup\": dose as can to 1 places"},
    {"print", "Prints a text.", "print \"Add {dose} to {batch}\""},
    {"heading", "Prints a title.", "heading \"The second batch\""},
    {"note", "Prints a remark.", "note \"taste it first\""},
    {"caution", "Prints a warning, which no form of report leaves out.",
     "caution \"leave room for the foam\""},
    {"event", "Puts a dated line into the calendar at the end of the report.", "event 2027-02-14, \"rack\""},
    {"formula", "Declares a formula: a computation with a name, to be called with arguments.",
     "formula half(x) = x / 2\nformula dose(v is volume, rate: 1 g/L) is mass\n  give v * rate\nend"},
    {"give", "Ends a formula of several lines and says what it results in.", "give v * rate"},
    {"if", "Runs statements only where a condition holds; in an expression it chooses one of two values.",
     "if gravity > 1.100 SG then print \"strong\" else print \"mild\" end\nlet x = if a > b then a else b"},
    {"for", "Repeats statements for each item of a list, or step by step from one value to another.",
     "for x in [1, 2, 3] do show x end\nfor d from 0 mL to 40 mL by 5 mL do show d end"},
    {"while", "Repeats statements as long as a condition holds.", "while x < 10 do x = x + 1 end"},
    {"stop", "Leaves the innermost loop.", "stop"},
    {"skip", "Goes to the next turn of the innermost loop.", "skip"},
    {"find",
     "Looks between two bounds for the value that makes two sides equal, for the smallest whole "
     "number that will do, or for the cheapest of several values that meet all conditions.",
     "find dose from 0 g to 100 g so sweetness(dose) == 12 g/L\nfind n from 0 to 8 whole so n * 750 "
     "mL >= batch\n"
     "find a from 0 L to 30 L, b from 0 L to 40 L so a + b == total least cost"},
    {"table", "Prints a table with a row for each step of a range or each item of a list.",
     "table d from 0 mL to 40 mL by 5 mL\n  column \"share\" = d / 1 L as % to 1 places\nend"},
    {"plot", "Draws a curve for each column of a table.",
     "plot d from 0 mL to 40 mL\n  column \"share\" = d / 1 L as %\nend"},
    {"expect", "Checks what should hold: silent where it does, reported where it does not.",
     "expect x near 10 %ABV within 0.1 %ABV\nexpect error 1 / 0"},
    {"unit", "Declares a unit of your own: so much of another, a thing to count, or a money.",
     "unit can = 12 floz\nunit bottle\nunit crown is money"},
    {"use", "Brings in the formulas and units of another script.",
     "use \"club.rlet\"\nuse \"club.rlet\" as club       then club.dose(…)"},
    {"as", "Converts a quantity to another unit of its kind.", "5 gal as L"},
    {"of", "Takes a share of a value, or so much of a liquid.",
     "5% of batch\n2 gal of juice(gravity: 1.050 SG)"},
    {"with", "Makes a copy of a liquid or a record with some of its fields changed.",
     "must with {acid: 6.5 g/L}"},
    {"near", "Asks whether two values differ by no more than what stands after `within`.",
     "a near b within 1 pts"},
    {"mod", "Gives what is left over when one quantity is divided by another as often as it goes.",
     "40 floz mod 12 floz"},
    {"and", "Is true where both conditions are.", NULL},
    {"or", "Is true where at least one of two conditions is.", NULL},
    {"not", "Turns true into false and false into true.", NULL},
    {"true", "Is the answer yes.", NULL},
    {"false", "Is the answer no.", NULL},
    {"none", "Stands where there is no value.", NULL},
    {"then", "Stands before what an `if` does where its condition holds.", NULL},
    {"else", "Stands before what an `if` does where its condition does not hold.", NULL},
    {"do", "Stands before the statements that a loop repeats.", NULL},
    {"end", "Closes a formula, an `if`, a loop or a table of several lines.", NULL},
    {"in", "Takes the items of a list one after another, in `for` and `table`.", NULL},
    {"from", "Stands before the first value of a loop, or the lower bound of an input or a `find`.", NULL},
    {"to",
     "Stands before the last value of a loop or the upper bound, or before the places a number is shown to.",
     NULL},
    {"by", "Stands before the step of a loop or table.", NULL},
    {"is", "Says of what kind a parameter or a result must be, or that a unit is a money.", NULL},
    {"so", "Stands before the conditions that a `find` has to meet.", NULL},
    {"whole", "Lets a `find` look at whole numbers only.", NULL},
    {"least", "Chooses of all that a `find` allows what makes the value after it the smallest.", NULL},
    {"most", "Chooses of all that a `find` allows what makes the value after it the largest.", NULL},
    {"within", "Stands before the largest difference that `near` allows.", NULL},
    {"column", "Declares a column of a table or a curve of a plot.", NULL},
    {"error", "Stands after `expect` where what follows has to be an error.", NULL},
    {"places", "Says how many digits after the point a number is shown with.", "show batch as L to 2 places"},
    {"digits", "Says how many significant digits a number is shown with.", "show batch as L to 3 digits"},
};

const PromptWord *prompt_word_at(int index) {
    return index >= 0 && index < (int)(sizeof words / sizeof *words) ? &words[index] : NULL;
}

const PromptWord *prompt_find_word(const char *word) {
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i].word, word) == 0)
            return &words[i];
    return NULL;
}
