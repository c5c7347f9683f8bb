/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* read(file): a table of comma-separated values (RFC 4180) as a list of records. Semicolons or tabs between
 * the cells, and commas in numbers, are read too where the call asks for them or the file leaves no doubt.
 *
 * The whole file is parsed into cells first; then every column settles what it is (a unit in its heading,
 * dates, plain numbers, or texts), and only then are values made: a column never changes its kind half-way.
 * A script may read below its own folder only; where a path leads is asked of the system, links resolved. */
#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <string.h>

#include <csv.h>

#include "base/file.h"
#include "base/mem.h"
#include "front/literal.h"
#include "numbers/calendar.h"
#include "numbers/format.h"
#include "runtime/native_tables.h"

enum { COLUMNS_MOST = 10000 };

/* ---- the file ---- */

static bool fail_file(Call *call, MessageId id, const char *name, const char *more) {
    return native_fail(call, 0, id, ARGS(name, more));
}

/* The real path of a file below the script's folder; the caller frees it. NULL after a fault. */
static char *resolve(Call *call, const TextObject *name) {
    Text joined = {0};
    const char *folder = call->context->folder;
    if (!folder || name->length == 0 || strlen(name->bytes) != name->length) {
        fail_file(call, MSG_READ_ABSENT, name->bytes, "");
        return NULL;
    }
    if (name->bytes[0] != '/') {
        text_add_string(&joined, folder);
        text_add_char(&joined, '/');
    }
    text_add_string(&joined, name->bytes);
    char *path = file_resolved(text_string(&joined));
    int reason = errno;
    text_free(&joined);
    if (path && file_is_below(path, folder))
        return path;
    bool absent = reason == ENOENT || reason == ENOTDIR;
    fail_file(call,
              path     ? MSG_READ_OUTSIDE
              : absent ? MSG_READ_ABSENT
                       : MSG_READ_FAILED,
              name->bytes, strerror(reason));
    mem_free(path);
    return NULL;
}

static bool fail_outcome(Call *call, FileOutcome outcome, const char *name, int reason) {
    static const MessageId messages[] = {[FILE_ABSENT] = MSG_READ_ABSENT,
                                         [FILE_IS_FOLDER] = MSG_READ_IRREGULAR,
                                         [FILE_IRREGULAR] = MSG_READ_IRREGULAR,
                                         [FILE_LARGE] = MSG_READ_LARGE,
                                         [FILE_BROKEN] = MSG_READ_FAILED};
    return outcome == FILE_DONE || fail_file(call, messages[outcome], name, strerror(reason));
}

static bool load(Call *call, const TextObject *name, Text *content) {
    int descriptor, reason = 0;
    size_t size;
    char *path = resolve(call, name);
    if (!path)
        return false;
    FileOutcome outcome = file_open(path, true, &descriptor, &size, &reason);
    mem_free(path);
    if (outcome == FILE_DONE && !heap_allows(call->arith.heap, 2 * size, call->arith.fault)) {
        file_close(descriptor);
        return false;
    }
    if (outcome == FILE_DONE)
        outcome = file_read(descriptor, content, &reason);
    return fail_outcome(call, outcome, name->bytes, reason);
}

/* ---- cells ---- */

typedef struct Cell {
    size_t start; /* in Table.bytes */
    size_t length;
} Cell;

typedef struct Column {
    TextObject *name;
    UnitId unit;
    enum { COLUMN_EMPTY, COLUMN_UNIT, COLUMN_SINCE, COLUMN_DATE, COLUMN_NUMBER, COLUMN_TEXT } type;
    double earliest; /* COLUMN_SINCE: the first moment, in days */
} Column;

typedef struct Table {
    Call *call;
    const char *file;
    Text bytes;  /* of all cells */
    Cell *cells; /* row after row, the heading's first */
    size_t cell_count, cell_capacity;
    int *lines; /* row of the file, by row of the table */
    int row_count, row_capacity;
    Column *columns;
    char separator, decimal;
    int width;         /* columns of the heading; 0 before it */
    int fields;        /* of the row being read */
    int line;          /* row of the file being read, from 1 */
    bool after_return; /* the last row ended with CR: an LF after it is the same end */
    bool failed;
} Table;

static void table_clear(Table *table) {
    text_free(&table->bytes);
    mem_free(table->cells);
    mem_free(table->lines);
    mem_free(table->columns);
}

/* "FILE, row 3, column gravity: …"; column from 0, or -1 for the whole row. */
static MessageArg place(const Table *table, int line, int column) {
    MessageArg row = arg_whole(line);
    if (column < 0)
        return arg_phrase(PHRASE_AT_ROW, ARGS(table->file, row));
    bool named = column < table->width && table->columns && table->columns[column].name;
    MessageArg number = arg_whole((long long)column + 1);
    return named ? arg_phrase(PHRASE_AT_NAMED,
                              ARGS(table->file, row, number, table->columns[column].name->bytes))
                 : arg_phrase(PHRASE_AT_COLUMN, ARGS(table->file, row, number));
}

static bool fail_at(Table *table, int line, int column, MessageId id, MessageArg detail, const char *more) {
    table->failed = true;
    return native_fail(table->call, 0, id, ARGS(place(table, line, column), detail, more));
}

static bool fail_place(Table *table, int line, int column, MessageId id) {
    return fail_at(table, line, column, id, arg_text(""), "");
}

static void on_field(void *field, size_t length, void *context) {
    Table *table = context;
    table->after_return = false;
    if (table->failed)
        return;
    if (++table->fields > COLUMNS_MOST) {
        fail_place(table, table->line, -1, MSG_READ_COLUMNS);
        return;
    }
    if (table->cell_count == table->cell_capacity && /* a file of commas is many cells in few bytes */
        !heap_allows(table->call->arith.heap, 2 * table->cell_capacity * sizeof(Cell),
                     table->call->arith.fault)) {
        table->failed = true;
        return;
    }
    MEM_GROW(table->cells, table->cell_count, table->cell_capacity);
    table->cells[table->cell_count++] = (Cell){table->bytes.length, length};
    text_add(&table->bytes, field, length);
}

static const char *cell_bytes(const Table *table, Cell cell) {
    return text_string(&table->bytes) + cell.start;
}

static MessageArg cell_text(const Table *table, Cell cell) {
    char *shown = mem_copy(cell_bytes(table, cell), cell.length);
    MessageArg arg = arg_text(shown);
    mem_free(shown);
    return arg;
}

/* A table saved with other signs than commas is one column to us: better said at once than as a strange unit,
 * or as a row with more cells, which are halves of numbers. */
static bool one_column_is_meant(Table *table) {
    const char *bytes = cell_bytes(table, table->cells[0]);
    bool semicolons = memchr(bytes, ';', table->cells[0].length) != NULL;
    bool tabs = memchr(bytes, '\t', table->cells[0].length) != NULL;
    return !(semicolons || tabs) || fail_at(table, table->line, -1, MSG_READ_SEPARATOR,
                                            arg_words(semicolons ? PHRASE_SEMICOLONS : PHRASE_TABS), "");
}

static bool fail_widths(Table *table) {
    table->failed = true;
    return native_fail(
        table->call, 0, MSG_READ_WIDTH,
        ARGS(place(table, table->line, -1), arg_whole(table->fields), arg_whole(table->width)));
}

static void end_row(Table *table) {
    if (table->width == 0)
        table->width = table->fields;
    if (table->width == 1 && !one_column_is_meant(table))
        return;
    if (table->fields != table->width)
        fail_widths(table);
    MEM_GROW(table->lines, table->row_count, table->row_capacity);
    table->lines[table->row_count++] = table->line;
}

/* Every line end comes here, those of blank lines too, so that rows are counted as an editor shows them (a
 * quoted cell of several lines is one row). */
static void on_row(int end, void *context) {
    Table *table = context;
    bool second_half = end == '\n' && table->after_return && table->fields == 0;
    table->after_return = end == '\r';
    if (table->failed || second_half)
        return;
    if (table->fields > 0)
        end_row(table);
    table->fields = 0;
    table->line++;
}

/* ---- what is between cells, and in numbers ---- */

static int count_sign(const char *bytes, size_t length, char sign) {
    int count = 0;
    bool quoted = false;
    for (size_t i = 0; i < length; i++) {
        quoted = quoted != (bytes[i] == '"');
        count += !quoted && bytes[i] == sign;
    }
    return count;
}

static size_t line_length(const char *bytes, size_t length) {
    size_t end = 0;
    while (end < length && bytes[end] != '\n' && bytes[end] != '\r')
        end++;
    return end;
}

/* Semicolons or tabs where the heading has them, no comma, and the next row has as many; else commas. */
static char guessed_separator(const char *bytes, size_t length) {
    size_t heading = line_length(bytes, length), next = heading;
    while (next < length && (bytes[next] == '\n' || bytes[next] == '\r'))
        next++;
    size_t second = line_length(bytes + next, length - next);
    int semicolons = count_sign(bytes, heading, ';'), tabs = count_sign(bytes, heading, '\t');
    char sign = semicolons ? ';' : '\t';
    bool sure = (semicolons > 0) != (tabs > 0) && count_sign(bytes, heading, ',') == 0;
    bool goes_on = second == 0 || count_sign(bytes + next, second, sign) == semicolons + tabs;
    return sure && goes_on ? sign : ',';
}

/* What a comma or a point in the number of a cell says of all the table's numbers. */
typedef enum DecimalSign { SIGN_NONE, SIGN_COMMA, SIGN_DOUBT, SIGN_POINT } DecimalSign;

/* 1,5 and 0,125 and 1050,250 have a decimal comma; that of 1,050 may part thousands, except for a specific
 * gravity, which is never a thousand. */
static DecimalSign sign_in(const char *bytes, size_t length, UnitId unit) {
    size_t start = length && (*bytes == '-' || *bytes == '+'), whole = 0, behind = 0;
    while (start + whole < length && isdigit((unsigned char)bytes[start + whole]))
        whole++;
    size_t at = start + whole;
    if (whole == 0 || at >= length || (bytes[at] != ',' && bytes[at] != '.'))
        return SIGN_NONE;
    while (at + 1 + behind < length && isdigit((unsigned char)bytes[at + 1 + behind]))
        behind++;
    if (behind == 0 || at + 1 + behind < length)
        return SIGN_NONE;
    if (bytes[at] == '.')
        return SIGN_POINT;
    return behind == 3 && whole <= 3 && bytes[start] != '0' && unit != UNIT_SG ? SIGN_DOUBT : SIGN_COMMA;
}

/* ---- the table ---- */

/* Spaces belong to a cell (RFC 4180, 2.4). */
static int no_blank(unsigned char c) {
    (void)c;
    return 0;
}

static bool parse(Table *table, const Text *content) {
    struct csv_parser parser;
    const char *bytes = text_string(content);
    size_t length = content->length, bad = 0;
    if (length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
        bytes += 3;
        length -= 3;
    }
    table->line = 1;
    const char *zero = memchr(bytes, '\0', length); /* no text holds one */
    bool valid = utf8_is_valid(bytes, length, &bad);
    if (zero && (valid || (size_t)(zero - bytes) < bad))
        bad = (size_t)(zero - bytes);
    if (!valid || zero) {
        for (size_t i = 0; i < bad; i++)
            table->line += bytes[i] == '\n';
        return fail_place(table, table->line, -1, MSG_READ_ENCODING);
    }
    table->separator = table->separator ? table->separator : guessed_separator(bytes, length);
    csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_REPALL_NL);
    csv_set_realloc_func(&parser, mem_resize);
    csv_set_free_func(&parser, mem_free);
    csv_set_space_func(&parser, no_blank);
    csv_set_delim(&parser, (unsigned char)table->separator);
    bool whole = csv_parse(&parser, bytes, length, on_field, on_row, table) == length &&
                 csv_fini(&parser, on_field, on_row, table) == 0;
    csv_free(&parser);
    if (table->failed)
        return false;
    if (!whole)
        return fail_place(table, table->line, table->fields, MSG_READ_QUOTES);
    return table->row_count > 0 || fail_file(table->call, MSG_READ_EMPTY, table->file, "");
}

/* ---- columns ---- */

/* How many bytes at the start, or the end, of a cell are a space: a no-break one (U+00A0) has two. */
static size_t blank_at(const char *bytes, size_t length, bool end) {
    static const char no_break[] = {(char)0xC2, (char)0xA0};
    if (length == 0)
        return 0;
    char edge = bytes[end ? length - 1 : 0];
    if (edge == ' ' || edge == '\t')
        return 1;
    return length >= 2 && memcmp(end ? bytes + length - 2 : bytes, no_break, 2) == 0 ? 2 : 0;
}

static Cell trimmed(const Table *table, Cell cell) {
    for (size_t blank; (blank = blank_at(cell_bytes(table, cell), cell.length, false)) > 0;) {
        cell.start += blank;
        cell.length -= blank;
    }
    for (size_t blank; (blank = blank_at(cell_bytes(table, cell), cell.length, true)) > 0;)
        cell.length -= blank;
    return cell;
}

/* `gravity [SG]`: the name, and what is in brackets at the end. */
static bool split_heading(const Table *table, Cell heading, Cell *name, Cell *unit) {
    const char *bytes = cell_bytes(table, heading);
    *name = heading;
    *unit = (Cell){heading.start, 0};
    if (heading.length == 0 || bytes[heading.length - 1] != ']')
        return true;
    size_t open = heading.length;
    while (open > 0 && bytes[open - 1] != '[')
        open--;
    if (open == 0)
        return false;
    *unit = (Cell){heading.start + open, heading.length - open - 1};
    *name = trimmed(table, (Cell){heading.start, open - 1});
    return true;
}

/* A heading such as `t [68F]`: the unit begins behind so many bytes. */
static void hint_unit_alone(const Table *table, Cell name, Cell unit, size_t number) {
    char *column = mem_copy(cell_bytes(table, name), name.length);
    char *rest = mem_copy(cell_bytes(table, unit) + number, unit.length - number);
    fault_hint(table->call->arith.fault, HINT_HEADING_UNIT_ALONE, ARGS(column, rest));
    mem_free(column);
    mem_free(rest);
}

static bool name_column(Table *table, int at) {
    Cell name, unit;
    Column *column = &table->columns[at];
    Fault *fault = table->call->arith.fault;
    bool closed = split_heading(table, trimmed(table, table->cells[at]), &name, &unit);
    if (!closed || name.length == 0)
        return fail_place(table, table->lines[0], at, MSG_READ_HEADING);
    Text composed = {0};
    text_add_composed(&composed, cell_bytes(table, name), name.length);
    column->name = text_object_intern(table->call->arith.heap, text_string(&composed), composed.length);
    text_free(&composed);
    for (int i = 0; i < at; i++)
        if (table->columns[i].name == column->name)
            return fail_place(table, table->lines[0], at, MSG_READ_HEADING_TWICE);
    if (unit.length == 0)
        return true;
    Fault why = {0};
    column->type = COLUMN_UNIT;
    const Call *call = table->call;
    if (literal_read_unit(call->context->registry, call->module, cell_bytes(table, unit), unit.length,
                          &column->unit, &why))
        return true;
    fail_at(table, table->lines[0], at, MSG_READ_UNIT, cell_text(table, unit), "");
    size_t number = strspn(cell_bytes(table, unit), "+-.,0123456789 ");
    if (number > 0 && number < unit.length)
        hint_unit_alone(table, name, unit, number);
    else
        fault_because(fault, &why);
    fault_clear(&why);
    return false;
}

static Cell cell_at(const Table *table, int row, int column) {
    return table->cells[(size_t)row * (size_t)table->width + (size_t)column];
}

static bool fail_cell(Table *table, int row, int at, MessageId id, const char *more) {
    Cell cell = trimmed(table, cell_at(table, row, at));
    return fail_at(table, table->lines[row], at, id, cell_text(table, cell), more);
}

static bool is_between_digits(const char *bytes, size_t length, size_t at) {
    return at > 0 && at + 1 < length && isdigit((unsigned char)bytes[at - 1]) &&
           isdigit((unsigned char)bytes[at + 1]);
}

/* A cell with commas in its numbers, as scripts write them. False when it has a point in one: it may part
 * thousands. */
static bool add_pointed(Text *out, const char *bytes, size_t length) {
    for (size_t i = 0; i < length; i++) {
        bool between = is_between_digits(bytes, length, i);
        if (between && bytes[i] == '.')
            return false;
        text_add_char(out, between && bytes[i] == ',' ? '.' : bytes[i]);
    }
    return true;
}

/* A cell under a unit, or without one as a literal. Nearly all cells are plain decimals: those are read at
 * once, which is what the reader of literals would make of them. */
static bool read_cell(const Table *table, Cell cell, const UnitId *unit, Literal *literal, Fault *why) {
    const Registry *registry = table->call->context->registry;
    const char *bytes = cell_bytes(table, cell);
    double number;
    Text pointed = {0};
    bool read = table->decimal != ',' || add_pointed(&pointed, bytes, cell.length);
    bytes = pointed.length ? text_string(&pointed) : bytes;
    if (read && format_read(bytes, cell.length, &number))
        *literal = (Literal){.value = value_quantity(registry->units, number, unit ? *unit : UNIT_NUMBER)};
    else
        read = read &&
               (unit ? literal_read_number(registry, *unit, bytes, cell.length, literal, why)
                     : literal_read(registry, NULL, bytes, cell.length, literal, why)) &&
               literal_is_exact(literal, why);
    text_free(&pointed);
    return read;
}

/* A date of no calendar among dates is a slip of the pen, and must not turn the column into texts. */
static bool refuse_impossible_dates(Table *table, int at) {
    int impossible = 0;
    CalendarDate date;
    for (int row = 1; row < table->row_count; row++) {
        Cell cell = trimmed(table, cell_at(table, row, at));
        if (cell.length == 0)
            continue;
        if (!calendar_read(cell_bytes(table, cell), cell.length, &date))
            return true; /* texts */
        if (!impossible && !calendar_is_valid(date))
            impossible = row;
    }
    if (!impossible)
        return true;
    fail_cell(table, impossible, at, MSG_READ_DATE, "");
    table->call->arith.fault->cause = MSG_DATE_IMPOSSIBLE;
    return false;
}

/* All dates, all plain numbers, or texts. Cells left empty say nothing. */
static bool settle_column(Table *table, int at) {
    bool dates = true, numbers = true, any = false;
    Literal literal;
    Fault why = {0};
    for (int row = 1; row < table->row_count && (dates || numbers); row++) {
        Cell cell = trimmed(table, cell_at(table, row, at));
        if (cell.length == 0)
            continue;
        any = true;
        bool quantity = read_cell(table, cell, NULL, &literal, &why) && value_is_quantity(literal.value);
        numbers = numbers && quantity && literal.value.unit == UNIT_NUMBER;
        dates = dates && quantity && literal.value.unit == UNIT_DATE;
    }
    fault_clear(&why);
    table->columns[at].type = !any      ? COLUMN_EMPTY
                              : numbers ? COLUMN_NUMBER
                              : dates   ? COLUMN_DATE
                                        : COLUMN_TEXT;
    return dates || numbers || refuse_impossible_dates(table, at);
}

/* A column headed with a unit of time may hold moments in place of numbers: dates, with times of day or
 * without. Its first cell says which; then it holds the time since the earliest. A value of the language is a
 * whole day or a time, so this is how the hours of a logger come in. */
static bool settle_moments(Table *table, int at) {
    Column *column = &table->columns[at];
    bool zoned = false, first_zoned = false;
    double days = 0;
    if (!unit_same_kind(table->call->arith.units, column->unit, UNIT_DAY))
        return true;
    for (int row = 1; row < table->row_count; row++) {
        Cell cell = trimmed(table, cell_at(table, row, at));
        if (cell.length == 0)
            continue;
        bool read = calendar_read_moment(cell_bytes(table, cell), cell.length, &days, &zoned);
        bool first = column->type == COLUMN_UNIT;
        if (first && !read)
            return true; /* numbers */
        if (!first && (!read || zoned != first_zoned))
            return fail_cell(table, row, at, MSG_READ_MOMENT, "");
        column->earliest = first ? days : fmin(column->earliest, days);
        column->type = COLUMN_SINCE;
        first_zoned = zoned;
    }
    return true;
}

static bool settle_columns(Table *table) {
    for (int at = 0; at < table->width; at++)
        if (table->columns[at].type == COLUMN_UNIT ? !settle_moments(table, at) : !settle_column(table, at))
            return false;
    return true;
}

/* To the millisecond: what the days lose to rounding is put back. */
static Value time_since(const Table *table, const Column *column, double days) {
    double seconds = nearbyint(86400e3 * (days - column->earliest)) / 1e3;
    return value_amount(seconds / unit_ratio(table->call->arith.units, column->unit, UNIT_S), column->unit);
}

static bool fail_number(Table *table, int row, int at, Fault *why) {
    fail_cell(table, row, at, MSG_READ_NUMBER, "");
    fault_because(table->call->arith.fault, why);
    Cell cell = trimmed(table, cell_at(table, row, at));
    DecimalSign sign = sign_in(cell_bytes(table, cell), cell.length, table->columns[at].unit);
    if (table->decimal == ',' && why->id != MSG_UNIT_ALREADY)
        fault_hint(table->call->arith.fault, HINT_COMMA_IN_FORCE, NO_ARGS);
    else if (sign == SIGN_COMMA || sign == SIGN_DOUBT)
        fault_hint(table->call->arith.fault, HINT_DECIMAL_COMMA, NO_ARGS);
    if (why->id == MSG_UNIT_ALREADY)
        fault_hint(table->call->arith.fault, HINT_HEADING_HAS_UNIT, NO_ARGS);
    return false;
}

/* A cell of a column that is not of texts; one that is left empty is none. */
static bool number_value(Table *table, int row, int at, Value *value) {
    const Column *column = &table->columns[at];
    Cell cell = trimmed(table, cell_at(table, row, at));
    Literal literal = {.value = value_none()};
    Fault why = {0};
    double days;
    bool ignored, read = true;
    if (cell.length > 0 && column->type == COLUMN_SINCE) {
        calendar_read_moment(cell_bytes(table, cell), cell.length, &days, &ignored);
        literal.value = time_since(table, column, days);
    } else if (cell.length > 0) {
        const UnitId *unit = column->type == COLUMN_UNIT ? &column->unit : NULL;
        read = read_cell(table, cell, unit, &literal, &why) || fail_number(table, row, at, &why);
    }
    fault_clear(&why);
    *value = literal.value;
    return read;
}

static bool cell_value(Table *table, int row, int at, Value *value) {
    Cell whole = cell_at(table, row, at);
    if (table->columns[at].type != COLUMN_TEXT)
        return number_value(table, row, at, value);
    *value = whole.length ? value_text(table->call->arith.heap, cell_bytes(table, whole), whole.length)
                          : value_none();
    return true;
}

/* ---- records ---- */

static bool make_records(Table *table) {
    Heap *heap = table->call->arith.heap;
    size_t width = (size_t)table->width, rows = (size_t)table->row_count - 1;
    size_t record_bytes = sizeof(RecordObject) + width * sizeof(struct Field);
    if (!heap_allows(heap, rows * (sizeof(Value) + record_bytes) + table->bytes.length,
                     table->call->arith.fault))
        return false;
    ListObject *list = list_new(heap, (uint32_t)rows);
    for (int row = 1; row < table->row_count; row++) {
        RecordObject *record = record_new(heap, (uint32_t)width);
        for (int at = 0; at < table->width; at++) {
            record->fields[at].name = table->columns[at].name;
            if (!cell_value(table, row, at, &record->fields[at].value))
                return false;
        }
        list->items[row - 1] = value_of_record(record);
    }
    table->call->result = value_of_list(list);
    return true;
}

/* Commas in numbers where one is surely meant so, and no number has a point. */
static char guessed_decimal(const Table *table) {
    bool any = false;
    for (int row = 1; row < table->row_count && table->separator != ','; row++) {
        for (int at = 0; at < table->width; at++) {
            Cell cell = trimmed(table, cell_at(table, row, at));
            DecimalSign sign = sign_in(cell_bytes(table, cell), cell.length, table->columns[at].unit);
            if (sign == SIGN_POINT)
                return '.';
            any = any || sign == SIGN_COMMA;
        }
    }
    return any ? ',' : '.';
}

/* How many bytes at the start of a cell are a number as people write it: digits, signs, and what may part
 * them. */
static size_t numeric_start(const char *bytes, size_t length, bool *digits) {
    size_t at = 0, blank;
    for (*digits = false; at < length; at += blank ? blank : 1) {
        blank = blank_at(bytes + at, length - at, false);
        bool digit = isdigit((unsigned char)bytes[at]);
        *digits = *digits || digit;
        if (!digit && !blank && !strchr("+-.,'", bytes[at]))
            break;
    }
    return at;
}

/* `22.5 L`, `1.012,5`, `3,50 €`: a number, alone or with a unit or the sign of a currency. */
static bool looks_numeric(const Table *table, Cell cell) {
    static const char *const currencies[] = {"€", "£", "$"};
    const char *bytes = cell_bytes(table, cell);
    bool digits;
    size_t number = numeric_start(bytes, cell.length, &digits), rest = cell.length - number;
    if (!digits || rest == 0)
        return digits;
    for (size_t i = 0; i < sizeof currencies / sizeof *currencies; i++)
        if (rest == strlen(currencies[i]) && memcmp(bytes + number, currencies[i], rest) == 0)
            return true;
    UnitId unit;
    Fault why = {0};
    bool is_unit = literal_read_unit(table->call->context->registry, table->call->module, bytes + number,
                                     rest, &unit, &why);
    fault_clear(&why);
    return is_unit;
}

/* `3.10.2026`, `3/10/26`: three numbers with the same sign between them. */
static bool looks_dated(const Table *table, Cell cell) {
    const char *bytes = cell_bytes(table, cell);
    int numbers = 0;
    char sign = 0;
    for (size_t at = 0; at < cell.length; at++) {
        bool digit = isdigit((unsigned char)bytes[at]);
        bool first = digit && (at == 0 || !isdigit((unsigned char)bytes[at - 1]));
        numbers += first;
        if (digit)
            continue;
        if (!strchr("./-", bytes[at]) || (sign && bytes[at] != sign) || at == 0 || at + 1 == cell.length)
            return false;
        sign = bytes[at];
    }
    return numbers == 3 && sign;
}

/* A column of texts in which each cell looks like a number, or each like a date: the first that is to blame
 * is said. */
static void note_texts(const Table *table, int at) {
    int numeric = 0, dated = 0, filled = 0, blamed = 0, first = 0;
    Literal literal;
    Fault why = {0};
    for (int row = 1; row < table->row_count && filled == (numeric > dated ? numeric : dated); row++) {
        Cell cell = trimmed(table, cell_at(table, row, at));
        if (cell.length == 0)
            continue;
        filled++;
        dated += looks_dated(table, cell);
        numeric += looks_numeric(table, cell);
        bool plain = read_cell(table, cell, NULL, &literal, &why) && value_is_plain(literal.value);
        blamed = blamed || plain ? blamed : row;
        first = first ? first : row;
    }
    fault_clear(&why);
    if (filled == 0 || (dated < filled && numeric < filled))
        return;
    int row = dated == filled ? first : blamed;
    MessageId id = dated == filled ? NOTE_READ_LOOKS_DATED : NOTE_READ_LOOKS_NUMERIC;
    native_note(
        table->call, id,
        ARGS(place(table, table->lines[row], at), cell_text(table, trimmed(table, cell_at(table, row, at)))));
}

/* What was guessed is said, and how to say it in the script. */
static void note_guess(const Table *table, bool separator, bool decimal) {
    const char *sign = table->separator == ';' ? ";" : table->separator == '\t' ? "\\t" : "|";
    MessageArg signs = arg_phrase(table->separator == ';' ? PHRASE_SEMICOLONS : PHRASE_TABS, NO_ARGS);
    MessageId id = !separator ? NOTE_READ_GUESSED_DECIMAL
                   : decimal  ? NOTE_READ_GUESSED_BOTH
                              : NOTE_READ_GUESSED;
    native_note(table->call, id, ARGS(table->file, signs, sign));
}

/* An argument that is one of a few signs; `none`, which leaves it to the file, is 0. */
static bool take_sign(Call *call, int index, const char *signs, char *sign) {
    *sign = 0;
    if (native_absent(call, index))
        return true;
    const TextObject *text = native_text(call, index);
    *sign = text->bytes[0];
    if (text->length == 1 && strchr(signs, *sign))
        return true;
    return native_fail(call, index, MSG_READ_SIGN, ARGS(call->formula->params[index].label, text->bytes));
}

static bool make_table(Table *table, const Text *content) {
    bool guesses = !table->separator, guesses_decimal = !table->decimal;
    if (!parse(table, content))
        return false;
    table->columns = mem_array((size_t)table->width, sizeof *table->columns);
    for (int at = 0; at < table->width; at++)
        if (!name_column(table, at))
            return false;
    table->decimal = guesses_decimal ? guessed_decimal(table) : table->decimal;
    bool separator = guesses && table->separator != ',', decimal = guesses_decimal && table->decimal == ',';
    if (!settle_columns(table) || !make_records(table))
        return false;
    if (separator || decimal)
        note_guess(table, separator, decimal);
    for (int at = 0; at < table->width; at++)
        if (table->columns[at].type == COLUMN_TEXT)
            note_texts(table, at);
    return true;
}

static bool read_native(Call *call) {
    const TextObject *name = native_text(call, 0);
    Table table = {.call = call, .file = name->bytes};
    Text content = {0};
    if (!take_sign(call, 1, ",;|\t", &table.separator) || !take_sign(call, 2, ".,", &table.decimal))
        return false;
    if (table.separator == ',' && table.decimal == ',')
        return native_fail(call, 2, MSG_READ_SIGNS_ALIKE, NO_ARGS);
    bool done = load(call, name, &content);
    if (done) {
        done = make_table(&table, &content);
        table_clear(&table);
    }
    text_free(&content);
    return done;
}

static const Native rows[] = {
    NATIVE(read),
};

const NativeTable native_data_table = NATIVE_TABLE(rows);
