/* How a csv file becomes rows: the one place that knows libcsv.
 *
 * The parser is fed one physical line at a time, so that the line of a field is known exactly even
 * with remarks, empty lines and line breaks inside quotes. */
#include "table.h"

#include "known_lines.h"
#include "names.h"
#include "text.h"

#include <csv.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct bb_table {
    const bb_table_form *form;
    const char *path;
    bb_error *error;
    bb_status status;
    struct csv_parser parser;

    char pending[BB_ROW_BYTES]; /* the start of a line whose end has not come yet */
    size_t pending_length;
    long line;
    bool in_row;     /* the row goes on, inside quotes */
    size_t row_read; /* bytes of the row read so far */
    bool has_header;
    size_t header_fields;
    size_t field_of[BB_COLUMNS_MAX]; /* field of each column + 1, 0 where the header has none */

    char row[BB_ROW_BYTES + BB_COLUMNS_MAX]; /* fields of the row, each NUL-terminated */
    size_t row_length;
    bool row_filled; /* some field of it is not empty */
    size_t field_count;
    struct {
        size_t start;
        long line;
    } fields[BB_COLUMNS_MAX];
    long field_line; /* where the next field starts */

    bb_known_lines *known; /* NULL where nothing is taken again */
    const char *key;       /* the line but for its field apart */
    size_t key_length;     /* 0: the line is not to be known again */
    size_t kind;           /* of the field apart, 0 without that column */
    char shortened[BB_KNOWN_LINE_BYTES];
};

static bb_place place_of(const bb_table *table, long line, size_t field)
{
    return (bb_place){table->error, table->path, line, (long)field + 1};
}

static void fail(bb_table *table, bb_status status)
{
    if (table->status == BB_OK)
        table->status = status;
}

bb_place bb_table_place(const bb_table *table, size_t column)
{
    size_t field = table->field_of[column] == 0 ? 0 : table->field_of[column] - 1;
    long line = field < table->field_count ? table->fields[field].line : table->fields[0].line;
    return place_of(table, line, field);
}

const char *bb_table_text(const bb_table *table, size_t column)
{
    size_t field = table->field_of[column];
    if (field == 0 || field > table->field_count)
        return "";
    return table->row + table->fields[field - 1].start;
}

long bb_table_line(const bb_table *table)
{
    return table->fields[0].line;
}

void bb_table_keep(bb_table *table, uint32_t meaning)
{
    if (table->key_length > 0)
        bb_known_lines_keep(table->known, table->key, table->key_length, table->kind, meaning);
}

/* ---- header */

static bb_names column_names(const bb_table *table)
{
    return BB_NAMES(table->form->columns, table->form->column_count);
}

static bb_status read_column(bb_table *table, size_t field)
{
    const char *word = table->row + table->fields[field].start;
    bb_names names = column_names(table);
    bb_place place = place_of(table, table->fields[field].line, field);
    long column = bb_name_find(&names, word);
    char found[BB_QUOTE_BYTES];
    if (column < 0)
        return bb_refuse_name(&place, word, "a column of this file", &names);
    if (table->field_of[column] != 0)
        return bb_refuse(&place, bb_quote(word, found), "each column once; it is also field %zu",
                         table->field_of[column]);
    table->field_of[column] = field + 1;
    return BB_OK;
}

static bb_status know_lines(bb_table *table)
{
    const bb_table_form *form = table->form;
    if (form->take_again == NULL)
        return BB_OK;
    table->known = bb_known_lines_new(table->field_of[form->apart] > 0 ? form->kinds : 1);
    return table->known != NULL ? BB_OK : bb_out_of_memory(table->error);
}

static bb_status read_header(bb_table *table)
{
    table->has_header = true;
    table->header_fields = table->field_count;
    for (size_t field = 0; field < table->field_count; field++) {
        bb_status status = read_column(table, field);
        if (status != BB_OK)
            return status;
    }
    for (size_t column = 0; column < table->form->column_count; column++) {
        if (!table->form->columns[column].required || table->field_of[column] != 0)
            continue;
        bb_place place = place_of(table, table->fields[0].line, table->field_count);
        return bb_refuse(&place, "the end of the header", "a column %s as well",
                         table->form->columns[column].name);
    }
    return know_lines(table);
}

static bb_status refuse_missing_header(const bb_table *table)
{
    char header[BB_COLUMNS_MAX * (BB_COLUMN_BYTES + 1)] = "";
    size_t length = 0;
    for (size_t column = 0; column < table->form->column_count; column++)
        if (table->form->columns[column].required)
            length += (size_t)snprintf(header + length, sizeof header - length, "%s%s",
                                       length > 0 ? "," : "", table->form->columns[column].name);
    bb_place place = place_of(table, table->line > 0 ? table->line : 1, 0);
    return bb_refuse(&place, "no header", "a first line such as %s", header);
}

/* ---- rows */

static bb_status refuse_long_row(bb_table *table, long line)
{
    bb_place place = place_of(table, line, table->field_count);
    return bb_refuse(&place, table->in_row ? "a row that does not end" : "a long line",
                     "at most %d bytes in a row%s", BB_ROW_BYTES,
                     table->in_row ? "; is a quote not closed?" : "");
}

static bb_status refuse_extra_field(bb_table *table)
{
    char found[BB_QUOTE_BYTES];
    bb_place place = place_of(table, table->field_line, table->field_count);
    (void)snprintf(found, sizeof found, "a field more than the header has");
    return bb_refuse(&place, found, "at most %zu fields; decimals take a point, not a comma",
                     table->has_header ? table->header_fields : (size_t)BB_COLUMNS_MAX);
}

static bool blank_at(const char *bytes, size_t at)
{
    return bytes[at] == ' ' || bytes[at] == '\t';
}

/* A field that stands in the row's room from start on; blanks around it are cut off. */
static void add_field(bb_table *table, size_t start, size_t length)
{
    if (table->field_count == BB_COLUMNS_MAX ||
        (table->has_header && table->field_count == table->header_fields)) {
        fail(table, refuse_extra_field(table));
        return;
    }
    while (length > 0 && blank_at(table->row, start + length - 1))
        length--;
    for (; length > 0 && blank_at(table->row, start); start++)
        length--;
    table->row[start + length] = '\0';
    table->row_filled |= length > 0;
    table->fields[table->field_count].start = start;
    table->fields[table->field_count].line = table->field_line;
    table->field_count++;
    table->field_line = table->line;
}

static void end_row(bb_table *table)
{
    if (table->status != BB_OK)
        return;
    table->in_row = false;
    if (!table->row_filled) /* nothing but separators */
        return;
    if (!table->has_header)
        fail(table, read_header(table));
    else
        fail(table, table->form->take_row(table->form->context, table));
}

/* The same, as libcsv calls them. */
static void take_field(void *bytes, size_t length, void *context)
{
    bb_table *table = context;
    if (table->status != BB_OK)
        return;
    if (length > 0)
        memcpy(table->row + table->row_length, bytes, length);
    add_field(table, table->row_length, length);
    table->row_length += length + 1;
}

static void take_row(int end, void *context)
{
    (void)end;
    end_row(context);
}

/* ---- lines */

static char separator_of(const char *line, size_t length)
{
    bool quoted = false;
    for (size_t i = 0; i < length; i++) {
        if (line[i] == '"')
            quoted = !quoted;
        else if (!quoted && (line[i] == ',' || line[i] == ';'))
            return line[i];
    }
    return ',';
}

static bool is_remark(const char *line, size_t length)
{
    size_t at = 0;
    while (at < length && blank_at(line, at))
        at++;
    return at == length || line[at] == '#';
}

static bb_status refuse_byte(bb_table *table, const char *line, size_t at)
{
    size_t field = table->in_row ? table->field_count : 0;
    unsigned char separator = csv_get_delim(&table->parser);
    for (size_t i = 0; i < at; i++)
        field += (unsigned char)line[i] == separator;
    char found[BB_QUOTE_BYTES];
    (void)snprintf(found, sizeof found, "the byte 0x%02x", (unsigned)(unsigned char)line[at]);
    bb_place place = place_of(table, table->line, field);
    return bb_refuse(&place, found, "text in UTF-8 without control characters");
}

static void parse(bb_table *table, const char *bytes, size_t length)
{
    if (table->status != BB_OK ||
        csv_parse(&table->parser, bytes, length, take_field, take_row, table) == length)
        return;
    if (csv_error(&table->parser) != CSV_EPARSE) {
        fail(table, bb_out_of_memory(table->error));
        return;
    }
    bb_place place = place_of(table, table->line, table->field_count);
    fail(table, bb_refuse(&place, "a quote in the middle of a field",
                          "quotes around a whole field, doubled inside it"));
}

/* A row without quotes, as nearly all are: libcsv takes half as long again over it. */
static void split(bb_table *table, const char *line, size_t length)
{
    const char separator = (char)csv_get_delim(&table->parser);
    memcpy(table->row, line, length);
    table->row[length] = separator;
    for (size_t start = 0, at = 0; table->status == BB_OK && at <= length; at++)
        if (table->row[at] == separator) {
            add_field(table, start, at - start);
            start = at + 1;
        }
    end_row(table);
}

static void start_row(bb_table *table, const char *line, size_t length)
{
    table->in_row = true;
    table->row_read = table->row_length = table->field_count = 0;
    table->row_filled = false;
    table->field_line = table->line;
    if (!table->has_header)
        csv_set_delim(&table->parser, (unsigned char)separator_of(line, length));
}

static size_t field_end(const char *line, size_t at, size_t length, char separator)
{
    while (at < length && line[at] != separator)
        at++;
    return at;
}

/* Sets the kind of a line without quotes and the key it is known by, if it is to be known. */
static void set_key(bb_table *table, const char *line, size_t length)
{
    const char separator = (char)csv_get_delim(&table->parser);
    const size_t field = table->field_of[table->form->apart];
    table->key = line;
    table->key_length = length;
    table->kind = 0;
    if (field == 0)
        return;
    char apart[BB_COLUMN_BYTES];
    size_t start = 0, end = field_end(line, 0, length, separator), at = 1;
    for (; at < field && end < length; at++) {
        start = end + 1;
        end = field_end(line, start, length, separator);
    }
    if (at < field)
        return;
    const size_t cut = end - start;
    table->key_length = 0;
    if (cut >= sizeof apart || length - cut > sizeof table->shortened)
        return;
    memcpy(apart, line + start, cut);
    apart[cut] = '\0';
    if (!table->form->kind_of(apart, &table->kind))
        return;
    memcpy(table->shortened, line, start);
    memcpy(table->shortened + start, line + end, length - end);
    table->key = table->shortened;
    table->key_length = length - cut;
}

/* An archive of millions says few things, again and again. */
static bool take_known(bb_table *table, const char *line, size_t length)
{
    uint32_t meaning = 0, like = 0;
    table->key_length = 0;
    if (table->known == NULL || table->in_row)
        return false;
    set_key(table, line, length);
    if (!bb_known_lines_find(table->known, table->key, table->key_length, table->kind, &meaning,
                             &like))
        return false;
    table->form->take_again(table->form->context, meaning, like, table->line);
    return true;
}

static void take_line(bb_table *table, const char *line, size_t length)
{
    table->line++;
    if (length > 0 && line[length - 1] == '\r')
        length--;
    if (table->line == 1) {
        size_t mark = bb_text_mark(line, length);
        line += mark;
        length -= mark;
    }
    if (take_known(table, line, length))
        return;
    size_t accepted = bb_text_accepted(line, length);
    if (accepted < length) {
        fail(table, refuse_byte(table, line, accepted));
        return;
    }
    const bool goes_on = table->in_row;
    if (!goes_on) {
        if (is_remark(line, length))
            return;
        start_row(table, line, length);
    }
    table->row_read += length + 1;
    if (table->row_read > BB_ROW_BYTES) {
        fail(table, refuse_long_row(table, table->field_line));
        return;
    }
    if (goes_on || memchr(line, '"', length) != NULL) {
        table->key_length = 0;
        parse(table, line, length);
        parse(table, "\n", 1);
    } else {
        split(table, line, length);
    }
}

static void take_end_of_line(bb_table *table, const char *bytes, size_t length)
{
    if (table->pending_length == 0) {
        take_line(table, bytes, length);
        return;
    }
    memcpy(table->pending + table->pending_length, bytes, length);
    length += table->pending_length;
    table->pending_length = 0;
    take_line(table, table->pending, length);
}

/* ---- the table */

bb_status bb_table_open(const bb_table_form *form, const char *path, bb_error *error,
                        bb_table **table)
{
    bb_table *made = calloc(1, sizeof *made);
    if (made == NULL || csv_init(&made->parser, CSV_STRICT) != 0) {
        free(made);
        return bb_out_of_memory(error);
    }
    made->form = form;
    made->path = path;
    made->error = error;
    *table = made;
    return BB_OK;
}

bb_status bb_table_feed(bb_table *table, const char *bytes, size_t length)
{
    while (length > 0 && table->status == BB_OK) {
        const char *end = memchr(bytes, '\n', length);
        size_t part = end == NULL ? length : (size_t)(end - bytes);
        if (table->pending_length + part > BB_ROW_BYTES) {
            fail(table, refuse_long_row(table, table->line + 1));
        } else if (end == NULL) {
            memcpy(table->pending + table->pending_length, bytes, part);
            table->pending_length += part;
        } else {
            take_end_of_line(table, bytes, part++);
        }
        bytes += part;
        length -= part;
    }
    return table->status;
}

bb_status bb_table_close(bb_table *table)
{
    if (table->status == BB_OK && table->pending_length > 0)
        take_end_of_line(table, "", 0);
    if (table->status == BB_OK && table->in_row) {
        bb_place place = place_of(table, table->field_line, table->field_count);
        fail(table, bb_refuse(&place, "a quote that is never closed", "a quote at its end"));
    }
    if (table->status == BB_OK && !table->has_header)
        fail(table, refuse_missing_header(table));
    return table->status;
}

void bb_table_free(bb_table *table)
{
    if (table == NULL)
        return;
    csv_free(&table->parser);
    bb_known_lines_free(table->known);
    free(table);
}
