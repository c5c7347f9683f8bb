/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The forms of a report, byte for byte: the layout of tables and wrapped text, and what JSON (RFC 8259), CSV
 * (RFC 4180), Markdown (CommonMark 0.30), HTML and iCalendar (RFC 5545) must escape. */
#include <criterion/criterion.h>
#include <string.h>

#include "base/mem.h"
#include "output/render.h"
#include "values/display.h"
#include "values/heap.h"

static UnitTable *units;
static Heap *heap;
static Report *report;

static void begin(void) {
    units = unit_table_new();
    heap = heap_new(0);
    report = report_new();
}

static void end(void) {
    report_free(report);
    heap_free(heap);
    unit_table_free(units);
}

TestSuite(render, .init = begin, .fini = end);

static const FormatSpec plain = {.mode = FORMAT_DEFAULT, .count = 0};

static void add_show(const char *label, Value value) {
    report_show(report, label, &(Shown){.value = value, .format = plain, .number = -1});
}

/* All items as `rundlet FILE` prints them. */
static char *printed(void) {
    Text out = {0};
    RenderText state = {.units = units};
    for (int i = 0; i < report->count; i++)
        render_text_item(&out, &state, report->items[i]);
    render_text_calendar(&out, &state, report);
    return text_take(&out);
}

static void expect_printed(const char *wanted) {
    char *got = printed();
    cr_expect_str_eq(got, wanted, "got:\n%s\nwanted:\n%s", got, wanted);
    mem_free(got);
}

static char *rendered(const char *form) {
    DiagList errors = {0};
    RenderSubject subject = {.program = "rundlet 9.9",
                             .script = "quince.rlet",
                             .sha256 = "00ff",
                             .report = report,
                             .units = units,
                             .errors = &errors};
    Text out = {0};
    render_form_find(form)->render(&out, &subject);
    return text_take(&out);
}

static void expect_part(const char *form, const char *part) {
    char *got = rendered(form);
    cr_expect(strstr(got, part), "wanted:\n%s\nin:\n%s", part, got);
    mem_free(got);
}

static TableColumn *column(TableResult *table, int index, const char *label, UnitId unit, bool has_unit) {
    TableColumn *made = &table->columns[index];
    made->label = mem_copy_string(label);
    made->unit = unit;
    made->has_unit = has_unit;
    return made;
}

/* ---- text ---- */

Test(render, show_lines) {
    add_show("Syrup to add", value_number(2));
    add_show("", value_amount(5, UNIT_GAL));
    add_show("two\nlines", value_string(heap, "first\nsecond"));
    expect_printed("Syrup to add = 2\n5 gal\ntwo lines = first\nsecond\n");
}

Test(render, headings_stand_apart) {
    report_text(report, ITEM_HEADING, "Größe °Bx");
    report_text(report, ITEM_PRINT, "one");
    report_text(report, ITEM_HEADING, "B");
    report_text(report, ITEM_PRINT, "two");
    expect_printed("Größe °Bx\n---------\none\n\nB\n-\ntwo\n");
}

Test(render, cautions_wrap_under_their_first_word) {
    report_text(report, ITEM_CAUTION,
                "spirit burns and so does its vapour, keep it away from every flame and from children, and "
                "follow the rules of your place");
    report_text(report, ITEM_NOTE, "short\nand a line of its own");
    expect_printed("caution: spirit burns and so does its vapour, keep it away from every flame\n"
                   "         and from children, and follow the rules of your place\n"
                   "note: short\n"
                   "      and a line of its own\n");
}

Test(render, no_line_of_a_caution_is_wider_than_the_page) {
    Text text = {0};
    for (int i = 1; i < 60; i++) {
        text_add_repeated(&text, 'w', (size_t)(i * 7 % 23 + 1));
        text_add_char(&text, ' ');
    }
    report_text(report, ITEM_CAUTION, text_string(&text));
    char *got = printed();
    for (const char *line = got; *line;) {
        size_t length = strcspn(line, "\n");
        cr_expect_leq(length, RENDER_WIDTH, "%.*s", (int)length, line);
        line += length + 1;
    }
    mem_free(got);
    text_free(&text);
}

Test(render, control_characters_do_not_reach_the_terminal) {
    report_text(report, ITEM_PRINT,
                "a\033[2Jb\x7f\xc2\x9b"
                "c\td");
    expect_printed("a\xEF\xBF\xBD[2Jb\xEF\xBF\xBD\xEF\xBF\xBD"
                   "c\td\n");
}

Test(render, events_are_sorted_and_those_of_a_day_stay_in_order) {
    report_event(report, 20864,
                 "rack"); /* 2027-02-15, a Monday: days of the epoch by date -d, GNU coreutils */
    report_text(report, ITEM_PRINT, "text");
    report_event(report, 20863, "taste");
    report_event(report, 20864, "bottle");
    expect_printed("text\n\nCalendar\n--------\n"
                   "2027-02-14  Sunday     taste\n"
                   "2027-02-15  Monday     rack\n"
                   "2027-02-15  Monday     bottle\n");
}

/* Numbers by their points, texts at the left, a dash for a cell that failed, nothing for none. */
static TableResult *dose_table(void) {
    static const double doses[] = {0, 5, 12.25, 100};
    TableResult *table = table_new(3);
    column(table, 0, "dose", UNIT_ML, true);
    column(table, 1, "°Bx, schön", UNIT_BRIX, true)->format = (FormatSpec){.mode = FORMAT_PLACES, .count = 2};
    column(table, 2, "word", UNIT_NUMBER, false);
    for (int row = 0; row < 4; row++) {
        table_add_row(table);
        table->columns[0].cells[row].value = value_amount(doses[row], UNIT_ML);
        table->columns[1].cells[row].value = value_reading(9.5 + row, UNIT_BRIX);
        table->columns[2].cells[row].value = value_string(heap, row == 1 ? "日本" : "dry");
    }
    table->columns[1].cells[1].failed = true;
    table->columns[1].cells[1].value = value_none();
    table->columns[1].cells[2].value = value_none();
    table_add_reason(table, "no liquid is so light");
    return table;
}

Test(render, tables_align_by_the_decimal_point) {
    report_text(report, ITEM_PRINT, "above");
    report_table(report, dose_table());
    report_text(report, ITEM_PRINT, "below");
    expect_printed("above\n\n"
                   "dose [mL]  °Bx, schön [°Bx]  word\n"
                   "---------  ----------------  ----\n"
                   "     0                 9.50  dry\n"
                   "     5                    —  日本\n"
                   "    12.25                    dry\n"
                   "   100                12.50  dry\n"
                   "— no liquid is so light\n"
                   "\nbelow\n");
}

Test(render, empty_table_keeps_its_head) {
    TableResult *table = table_new(2);
    column(table, 0, "a", UNIT_NUMBER, false);
    column(table, 1, "b", UNIT_NUMBER, false);
    report_table(report, table);
    expect_printed("a  b\n-  -\n");
}

/* 1.0500 ± 0.0020 to two digits of the uncertainty and the value to the same place: JCGM 100:2008, 7.2.6. */
static TableResult *spread_table(void) {
    TableResult *table = table_new(1);
    TableColumn *made = column(table, 0, "og", UNIT_SG, true);
    for (int row = 0; row < 2; row++) {
        table_add_row(table);
        made->cells[row].value = value_reading(1.05, UNIT_SG);
    }
    made->cells[0].spread = 0.002;
    return table;
}

Test(render, uncertainties_stand_with_their_numbers) {
    report_table(report, spread_table());
    expect_printed("        og [SG]\n---------------\n1.0500 ± 0.0020\n1.050\n");
    expect_part("json", "\"values\":[1.05,1.05],\"uncertainties\":[0.002,null]}");
    expect_part("csv", "table,og,1,1.05,SG,0.002,1.0500 ± 0.0020 SG\r\n");
    expect_part("csv", "table,og,2,1.05,SG,,1.050 SG\r\n");
    Shown shown = {.value = value_amount(5, UNIT_GAL), .spreads = mem_array(1, sizeof(double))};
    shown.spreads[0] = 0.25;
    report_show(report, "v", &shown);
    expect_part("json", "\"unit\":\"gal\",\"text\":\"5.00 ± 0.25 gal\",\"uncertainty\":0.25}");
    expect_part("csv", "show,v,,5,gal,0.25,5.00 ± 0.25 gal\r\n");
}

Test(render, a_label_that_repeats_its_value_is_left_out) {
    ListObject *list = list_new(heap, 2);
    list->items[0] = value_amount(1, UNIT_GAL);
    list->items[1] = value_amount(2, UNIT_GAL);
    add_show("[1 gal, 2 gal]", value_of_list(list));
    add_show("\"dry\"", value_string(heap, "dry"));
    add_show("5.0 gal", value_amount(5, UNIT_GAL));
    expect_printed("[1 gal, 2 gal]\ndry\n5.0 gal = 5 gal\n");
    expect_part("markdown", "- \\[1 gal, 2 gal\\]\n- dry\n- 5\\.0 gal = 5 gal\n");
    expect_part("json", "\"label\":\"[1 gal, 2 gal]\",\"value\":[1,2]");
    expect_part("html", "<tr><td></td><td class=\"s\" colspan=\"2\" dir=\"auto\">dry</td></tr>");
}

/* A terminal of 50 columns: each part has the first column again. */
Test(render, a_table_of_two_inputs_is_parted_where_it_is_too_wide) {
    static const char *const heads[] = {"day", "one gallon", "two gallons", "three gallons", "four gallons"};
    TableResult *table = table_new(5);
    table->caption = mem_copy_string("dose by batch");
    table->across = mem_copy_string("batch");
    table_add_row(table);
    for (int i = 0; i < 5; i++)
        column(table, i, heads[i], UNIT_NUMBER, true)->cells[0].value = value_number(i);
    report_table(report, table);
    RenderText state = {.units = units, .columns = 50};
    Text out = {0};
    render_text_item(&out, &state, report->items[0]);
    cr_expect_str_eq(text_string(&out), "dose by batch\n"
                                        "day  one gallon  two gallons  three gallons\n"
                                        "---  ----------  -----------  -------------\n"
                                        "  0           1            2              3\n"
                                        "\n"
                                        "day  four gallons\n"
                                        "---  ------------\n"
                                        "  0             4\n");
    text_free(&out);
}

/* ---- the other forms ---- */

static void expect_title(const char *title) {
    Text head = {0};
    text_add_string(&head, "<title>");
    text_add_string(&head, title);
    text_add_string(&head, "</title>");
    expect_part("html", text_string(&head));
    text_free(&head);
}

Test(render, the_title_is_what_is_said_first) {
    report_event(report, 20863, "rack");
    add_show("v", value_number(1));
    report_text(report, ITEM_HEADING, "Later");
    expect_title("quince.rlet");
    expect_part("html", "<h2 dir=\"auto\">Later</h2>");
}

Test(render, a_heading_that_opens_is_the_title_and_the_inputs_follow) {
    char name[] = "batch";
    report_event(report, 20863, "rack");
    report_text(report, ITEM_HEADING, "Late quince");
    report_input(report, &(InputResult){.name = name, .value = value_amount(5, UNIT_GAL), .spread = 0.1});
    expect_title("Late quince");
    expect_part("html", "<p class=\"from\"><span dir=\"auto\">batch = "
                        "<span class=\"b\">5.00 ± 0.10 gal</span></span></p>\n</header>");
}

Test(render, json_has_full_precision_and_units) {
    add_show("g", value_reading(1.0501, UNIT_SG));
    add_show("third", value_number(1.0 / 3));
    add_show("big", value_number(1e22));
    add_show("day", value_reading(20863, UNIT_DATE));
    add_show("yes", value_truth(true));
    add_show("nothing", value_none());
    expect_part("json", "\"label\":\"g\",\"value\":1.0501,\"unit\":\"SG\",\"text\":\"1.050 SG\"");
    expect_part("json", "\"value\":0.3333333333333333,\"unit\":null");
    expect_part("json", "\"label\":\"big\",\"value\":1e22,");
    expect_part("json", "\"value\":\"2027-02-14\",\"unit\":null");
    expect_part("json", "\"value\":true,\"unit\":null");
    expect_part("json", "\"value\":null,\"unit\":null");
}

Test(render, json_escapes) {
    add_show("q\"b\\", value_string(heap, "tab\tnew\nline\x01 é日"));
    expect_part("json", "\"label\":\"q\\\"b\\\\\",\"value\":\"tab\\u0009new\\nline\\u0001 é日\"");
}

Test(render, json_lists_records_and_liquids) {
    ListObject *list = list_new(heap, 2);
    list->items[0] = value_amount(5, UNIT_G);
    list->items[1] = value_string(heap, "x");
    RecordObject *record = record_new(heap, 1);
    record->fields[0].name = text_object_intern(heap, "dose at", 7);
    record->fields[0].value = value_of_list(list);
    add_show("r", value_of_record(record));
    Liquid water = {.water_kg = 0};
    add_show("w", value_of_liquid(liquid_new(heap, &water, UNIT_NUMBER)));
    expect_part("json", "\"value\":{\"dose at\":[5,\"x\"]},\"unit\":null");
    expect_part("json", "\"value\":{\"volume\":0,\"gravity\":null,\"strength\":null},\"unit\":null");
}

Test(render, json_tables) {
    report_table(report, dose_table());
    expect_part("json", "{\"label\":\"dose\",\"unit\":\"mL\",\"values\":[0,5,12.25,100]}");
    expect_part("json", "{\"label\":\"°Bx, schön\",\"unit\":\"°Bx\",\"values\":[9.5,null,null,12.5]}");
    expect_part("json", "\"reasons\":[\"no liquid is so light\"]");
}

Test(render, csv_quotes_and_rows) {
    add_show("a, \"b\"", value_amount(1.5, UNIT_GAL));
    report_text(report, ITEM_CAUTION, "two\nlines");
    report_event(report, 20863, "taste");
    report_table(report, dose_table());
    expect_part("csv", "item,label,row,value,unit,uncertainty,text\r\n");
    expect_part("csv", "show,\"a, \"\"b\"\"\",,1.5,gal,,1.5 gal\r\n");
    expect_part("csv", "caution,,,,,,\"two\nlines\"\r\n");
    expect_part("csv", "event,,,2027-02-14,,,taste\r\n");
    expect_part("csv", "table,dose,3,12.25,mL,,12.25 mL\r\n");
    expect_part("csv", "table,\"°Bx, schön\",2,,,,—\r\n");
}

Test(render, markdown_escapes_marks) {
    add_show("a*b_c", value_string(heap, "<b> | x"));
    report_text(report, ITEM_PRINT, "1. first\n- second");
    report_table(report, dose_table());
    expect_part("markdown", "- a\\*b\\_c = \\<b\\> \\| x\n");
    expect_part("markdown", "1\\. first\\\n\\- second\n");
    expect_part("markdown", "| dose \\[mL\\] | °Bx, schön \\[°Bx\\] | word |\n| ---: | ---: | --- |\n");
}

Test(render, inputs_bear_their_uncertainty) {
    InputResult input = {.name = (char[]){"og"}, .value = value_reading(1.05, UNIT_SG), .spread = 0.002};
    input.initial = input.value;
    input.from = input.to = value_none();
    report_input(report, &input);
    expect_part("text", "inputs       og = 1.05 ± 0.002 SG\n");
    expect_part("markdown", "- input: og = 1.05 ± 0.002 SG\n");
    expect_part("html", "<dd><b>og = 1.05 ± 0.002 SG</b>, default</dd>");
    expect_part("json", "\"text\":\"1.0500 ± 0.0020 SG\",\"set\":false,\"uncertainty\":0.002}");
    expect_part("csv", "input,og,,1.05,SG,0.002,1.0500 ± 0.0020 SG\r\n");
    expect_part("calendar", "og = 1.05 ± 0.002");
}

Test(render, html_escapes_and_sets_numbers_apart) {
    add_show("a < \"b\" & 'c'", value_string(heap, "</td>\x01"));
    add_show("5 gal", value_amount(5, UNIT_GAL));
    add_show("n", value_number(2));
    expect_part("html", "<tr><th scope=\"row\" dir=\"auto\">a &lt; &quot;b&quot; &amp; &#39;c&#39;</th>"
                        "<td class=\"s\" colspan=\"2\" dir=\"auto\">&lt;/td&gt;\xEF\xBF\xBD</td></tr>\n");
    expect_part("html", "<td class=\"n\">5</td><td class=\"u\">gal</td></tr>\n");
    expect_part("html", "<td class=\"n\">2</td><td class=\"u\"></td></tr>\n");
}

Test(render, html_tables) {
    report_table(report, dose_table());
    expect_part("html", "<th scope=\"col\" class=\"n\">dose <span class=\"unit\">mL</span></th>");
    expect_part("html", "<td class=\"n\">12<span class=\"f\" style=\"min-width:3ch\">.25</span></td>");
    expect_part("html", "<td class=\"n\"><span role=\"img\" aria-label=\"no value\">—</span></td>");
    expect_part("html", "<p class=\"reason\">— no liquid is so light</p>\n");
}

/* RFC 5545, section 3.1: 75 octets without the break; section 3.3.11: what is escaped. */
Test(render, calendar_folds_and_escapes) {
    report_event(report, 20863,
                 "a;b,c\\n"
                 "d\x01 ééééééééééééééééééééééééééééééé end");
    expect_part("calendar", "BEGIN:VEVENT\r\nUID:");
    expect_part("calendar", "\r\nDTSTAMP:20270214T000000Z\r\nDTSTART;VALUE=DATE:20270214\r\n"
                            "SUMMARY:a\\;b\\,c\\\\nd  ééééééééééééééééééééééééééé\r\n éééé end\r\n");
    expect_part("calendar", "TRANSP:TRANSPARENT\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n");
}

Test(render, every_form_has_every_caution) {
    report_text(report, ITEM_CAUTION, "mind the pressure");
    const RenderForm *form;
    int forms = 0;
    for (int i = 0; (form = render_form_at(i)); i++) {
        expect_part(form->name, "mind the pressure");
        forms++;
    }
    cr_expect_eq(forms, 7); /* docs/reference/program.md, "Reports" */
}
