/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The style sheet of the HTML report: a card between two hoops of a cask, for screens of any width, light and
 * dark, and for paper.
 *
 * Colours are named once, as variables, for light, dark and print. Each pair that carries text keeps a
 * contrast of 4.5 to 1 or more (WCAG 2.1, success criterion 1.4.3); tests/reports/test_reports.py works the
 * ratios out from these lines. Nothing is shown by colour alone: a caution has a thick frame, a sign and its
 * word, and all three are drawn with borders and strokes, which are printed even where backgrounds are not.
 */
#include "output/html_style.h"

#include <stddef.h>

static const char *const colours[] = {
    ":root{color-scheme:light dark;--desk:#e9e3d6;--card:#fffdf7;",
    "--ink:#26211a;--faint:#5e5546;--line:#b5a88e;--hoop:#5b3f20;",
    "--warn:#fff0c4;--warn-ink:#2a2000;--bad:#fde9e4;--bad-ink:#5e1109}",
    "@media (prefers-color-scheme:dark){:root{--desk:#13110e;--card:#211e19;",
    "--ink:#efe8da;--faint:#bcb19e;--line:#655b4a;--hoop:#d8b67c;",
    "--warn:#3b2f05;--warn-ink:#ffeeb8;--bad:#431710;--bad-ink:#ffdcd4}}",
    "@media print{:root{color-scheme:light;--desk:#ffffff;--card:#ffffff;",
    "--ink:#000000;--faint:#333333;--line:#777777;--hoop:#000000;",
    "--warn:#ffffff;--warn-ink:#000000;--bad:#ffffff;--bad-ink:#000000}}",
};

static const char *const screen[] = {
    /* the card */
    "*{box-sizing:border-box}",
    "html{-webkit-text-size-adjust:100%;text-size-adjust:100%}",
    "body{margin:0;padding:1.5rem .75rem;background:var(--desk);color:var(--ink);",
    "font:1rem/1.5 system-ui,sans-serif;overflow-wrap:anywhere}",
    "main{max-width:44rem;margin:0 auto;padding:0 2rem;background:var(--card);border:1px solid var(--line);",
    "border-width:0 1px}",
    "main::before,main::after{content:\"\";display:block;margin:0 -2rem;height:1.1rem;",
    "border:solid var(--hoop);border-width:.5rem 0 .2rem}",
    "main::after{border-width:.2rem 0 .5rem}",
    "h1,h2{font-family:ui-serif,\"Noto "
    "Serif\",serif;line-height:1.25;text-wrap:balance;overflow-wrap:break-word}",
    "h1{margin:1.5rem 0 0;font-size:1.9rem;font-weight:600}",
    "h2{margin:2rem 0 .5rem;padding-bottom:.2rem;font-size:1.3rem;font-weight:600;",
    "border-bottom:2px solid var(--hoop)}",
    "p{margin:.6rem 0}",
    ".from{margin:.25rem 0 1.25rem;color:var(--faint);font-size:.9rem}",
    ":focus-visible{outline:3px solid var(--hoop);outline-offset:2px}",
    /* what was shown: label at the left, value at the right, numbers against their units */
    "table{border-collapse:collapse}",
    "td,th{padding:.3rem 0;font-weight:400;text-align:start;vertical-align:baseline}",
    ".results{width:100%;margin:.75rem 0}",
    ".results>tbody>tr{border-bottom:1px dotted var(--line)}",
    ".results>tbody>tr>th{width:38%;padding-right:1rem;text-align:left}",
    ".results:not(:has(.w))>tbody>tr>th{width:auto}",
    ".results>tbody>tr>td{font-weight:600;font-variant-numeric:tabular-nums lining-nums}",
    ".results>tbody>tr>.n{text-align:right;white-space:nowrap}",
    ".results>tbody>tr>.u{width:1%;padding-left:.4em;text-align:left;white-space:nowrap}",
    ".results .w,.results .s{text-align:right;white-space:pre-line}",
    ".results .s{white-space:pre}",
    ".print p{margin:.15rem 0;white-space:pre-wrap}",
    ".print p:empty{height:1.2em}",
    ".print{margin:.75rem 0}",
    ".b{white-space:nowrap}",
    /* tables: units under the names, digits under digits */
    ".scroll{margin:1rem 0 .5rem;overflow-x:auto;",
    /* a shade at an edge that hides something: covers that move with the table lie over it at its ends */
    "background:linear-gradient(90deg,var(--card) 40%,transparent) left/2rem 100% no-repeat local,",
    "linear-gradient(270deg,var(--card) 40%,transparent) right/2rem 100% no-repeat local,",
    "linear-gradient(90deg,var(--line),transparent) left/.8rem calc(100% - 4px) no-repeat scroll,",
    "linear-gradient(270deg,var(--line),transparent) right/.8rem calc(100% - 4px) no-repeat scroll}",
    ".data+.data{margin-top:1rem}",
    "caption{padding:.2rem 0;text-align:start;color:var(--faint);font-size:.9rem}",
    ".data{width:max-content}",
    ".data td,.data th{max-width:18rem;padding:.3rem .9rem;border-bottom:1px solid var(--line);",
    "overflow-wrap:break-word}",
    ".data thead th{border-bottom:2px solid var(--ink);",
    "vertical-align:bottom;font-weight:600;line-height:1.3}",
    ".data tr>:first-child{padding-left:0}",
    ".data tr>:last-child{padding-right:0}",
    ".data .unit{display:block;font-weight:400;color:var(--faint)}",
    ".data td.n,.data th.n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums "
    "lining-nums}",
    ".data .day{white-space:nowrap;font-variant-numeric:tabular-nums lining-nums}",
    ".data tbody th{font-weight:600}",
    ".f{display:inline-block;text-align:left}",
    ".reason{margin:.25rem 0;color:var(--faint);font-size:.9rem}",
    "figure{margin:1rem 0}",
    "figure svg{display:block;width:100%;max-width:36rem;height:auto}",
    "figure svg+svg{margin-top:1rem}",
    "summary{cursor:pointer;color:var(--faint);font-size:.9rem}",
    /* remarks */
    ".note{margin:1rem 0;padding-inline-start:.9rem;border-inline-start:.2rem solid var(--line)}",
    ".note p,.caution p{margin:.25rem 0;white-space:pre-line}",
    ".caution,.failed{margin:1.25rem 0;padding:.7rem 1rem;border:.25rem solid}",
    ".caution{background:var(--warn);color:var(--warn-ink);border-color:var(--warn-ink)}",
    ".failed{background:var(--bad);color:var(--bad-ink);border-color:var(--bad-ink);border-style:double;",
    "border-width:.4rem}",
    ".word{display:flex;align-items:center;gap:.5rem;font-weight:700;letter-spacing:.08em;",
    "text-transform:uppercase}",
    ".sign{flex:none;width:1.7rem;height:1.55rem;fill:none;stroke:currentColor;stroke-width:2.2;",
    "stroke-linecap:round;stroke-linejoin:round}",
    ".caution p+p{margin-top:.5rem}",
    ".failed h2{margin:0 0 .25rem;border:0}",
    "pre{margin:.6rem 0;overflow-x:auto;font:.85rem/1.45 ui-monospace,monospace;overflow-wrap:normal}",
    "code{font-family:ui-monospace,monospace}",
    /* the calendar: a box to tick, the day, what to do */
    ".days{margin:0;padding:0;list-style:none}",
    ".days li{display:grid;grid-template-columns:1.1rem 7.5rem 1fr;gap:0 .9rem;padding:.55rem 0;",
    "border-bottom:1px dotted var(--line)}",
    ".days li::before{content:\"\";width:1.1rem;height:1.1rem;margin-top:.2rem;border:2px solid var(--ink)}",
    ".days time{font-weight:600;font-variant-numeric:tabular-nums lining-nums}",
    ".days time span{display:block;color:var(--faint);font-weight:400;font-size:.9rem;line-height:1.2}",
    /* what it was made from */
    "footer{margin:2.5rem 0 1rem;padding-top:.75rem;border-top:1px solid var(--line);color:var(--faint);",
    "font-size:.85rem;line-height:1.45}",
    "footer dl{display:grid;grid-template-columns:max-content 1fr;gap:.25rem 1.25rem;margin:0}",
    "footer dt{grid-column:1}",
    "footer dd{grid-column:2;margin:0}",
    "footer b{color:var(--ink);font-weight:600}",
    "footer dd span{display:block}",
};

static const char *const narrow[] = {
    "@media (max-width:32rem){",
    "body{padding:0}",
    "main{padding:0 1rem;border-width:0}",
    "main::before,main::after{margin:0 -1rem}",
    "h1{font-size:1.55rem}",
    ".results>tbody>tr>th{width:45%}",
    ".results .s{white-space:pre-line}",
    ".data td,.data th{padding:.3rem .45rem}",
    ".data{width:auto}",
    ".data thead th.n{white-space:normal}",
    ".days li{grid-template-columns:1.1rem 1fr}",
    ".days li>*{grid-column:2}",
    ".days time span{display:inline;padding-inline-start:.5em}",
    "footer dl{display:block}",
    "footer dt{margin-top:.5rem;font-weight:600}",
    "}",
};

static const char *const paper[] = {
    "@page{margin:15mm}",
    "@media print{",
    "html{font-size:11.5px}",
    "body{padding:0;font-size:10pt;line-height:1.3}",
    "main{max-width:none;padding:0;border-width:0}",
    "main::before,main::after{margin:0;height:.8rem;border-width:.3rem 0 .15rem}",
    "main::after{border-width:.15rem 0 .3rem}",
    "h1{margin-top:.8rem}",
    ".from,.reason,caption,.days time span{font-size:8.5pt}",
    ".from{margin-bottom:.6rem}",
    "h1,h2{break-after:avoid}",
    "h2{margin:1.2rem 0 .3rem}",
    "td,th{padding-top:.12rem;padding-bottom:.12rem}",
    ".note,.caution{margin:.7rem 0}",
    "footer{margin:1rem 0 .4rem;font-size:8pt;line-height:1.35}",
    "tr,li,.caution,.note,.print,svg{break-inside:avoid}",
    ".scroll,pre{overflow:visible;background:none}",
    /* tables: no column may be lost; html.c says how small the letters of a wide one must be */
    ".data{width:auto;font-size:var(--paper,9.5pt)}",
    ".data td,.data th{max-width:none;padding:.15rem .35em}",
    ".data thead th.n{white-space:normal}",
    "thead{display:table-header-group}",
    "figure{display:flex;flex-wrap:wrap;gap:.3cm 0}",
    "figure svg{width:8.9cm;max-width:100%;max-height:8cm}",
    "figure svg+svg{margin:0}",
    "pre{white-space:pre-wrap}",
    /* the weekday beside the day, to save a line an event */
    ".days li{grid-template-columns:1.1rem 17rem 1fr}",
    ".days li>*{grid-column:auto}",
    ".days time span{display:inline;padding-inline-start:.5em}",
    "footer dd span{display:inline;padding-inline-start:1.5em}",
    "details{display:none}",
    "}",
};

/* The working of a result, for a page that has some: its width is that of the row, however long its lines,
 * and an = is under an =. */
static const char *const working[] = {
    ".results>tbody>.folds{border-bottom:0}",
    ".results>tbody>.fold>td{padding:0;font-weight:400}",
    ".how{contain:inline-size;margin:0 0 .35rem;font-size:.9rem;line-height:1.45}",
    ".how summary{padding:.1rem 0;line-height:1.4}",
    ".how[open]{margin-bottom:1rem}",
    ".how[open]>summary{margin-bottom:.25rem}",
    ".how p{margin:.15rem 0;color:var(--faint)}",
    ".how .said{color:var(--ink)}",
    ".heard{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}",
    ".steps{margin:.25rem 0;padding-inline-start:.8rem;border-inline-start:.15rem solid var(--line);",
    "list-style:none}",
    ".steps li{margin:.45rem 0}",
    ".steps li>p,.steps li>.steps{margin-inline-start:1.2rem}",
    ".steps li>.said{margin-inline-start:0}",
    ".eq{display:grid;grid-template-columns:fit-content(45%) 1fr;column-gap:.6em}",
    ".eq.bare{display:block}",
    ".eq .part{display:block;grid-column:2;padding-inline-start:1.3em;text-indent:-1.3em}",
    ".eq.bare .part{margin-inline-start:1.2rem}",
    ".eq code{font-size:.95em}",
    ".pour td,.pour th{padding:.15rem .6rem}",
    ".pour tbody th{font-weight:400}",
    ".how .scroll{margin:.4rem 0}",
    "@media (max-width:32rem){",
    ".steps li>p,.steps li>.steps,.eq.bare .part{margin-inline-start:.6rem}",
    "}",
    "@media print{",
    ".how[open]{display:block}", /* what was open is wanted */
    ".how{font-size:8.5pt;line-height:1.3}",
    ".folds{break-after:avoid}",
    ".fold,.steps li{break-inside:auto}",
    ".eq{break-inside:avoid}",
    "}",
};

static void add_rules(Text *out, const char *const *rules, size_t count) {
    for (size_t i = 0; i < count; i++) {
        text_add_string(out, rules[i]);
        text_add_char(out, '\n');
    }
}

#define ADD_RULES(out, rules) add_rules(out, rules, sizeof(rules) / sizeof(rules)[0])

void html_style_add(Text *out, bool with_working) {
    ADD_RULES(out, colours);
    ADD_RULES(out, screen);
    ADD_RULES(out, narrow);
    ADD_RULES(out, paper);
    if (with_working)
        ADD_RULES(out, working);
}
