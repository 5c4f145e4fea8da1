/* Comparing a number with its check value, and reading tables of check values. */
#include "compare.h"

#include <check.h>
#include <csv.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- comparing */

typedef struct {
    char quantity[64], source[64];
    size_t cases;
    double worst;
    tolerance limit;
} tally;

static struct {
    tally *rows;
    size_t count;
} all;

static tally *tally_of(const char *quantity, const char *source, tolerance limit)
{
    for (size_t i = 0; i < all.count; i++) {
        tally *row = &all.rows[i];
        if (strncmp(row->quantity, quantity, sizeof row->quantity - 1) == 0 &&
            strncmp(row->source, source, sizeof row->source - 1) == 0 &&
            row->limit.limit == limit.limit && row->limit.relative == limit.relative)
            return row;
    }
    tally *rows = realloc(all.rows, (all.count + 1) * sizeof *rows);
    ck_assert_ptr_nonnull(rows);
    all.rows = rows;
    tally *row = &all.rows[all.count++];
    *row = (tally){.limit = limit};
    (void)snprintf(row->quantity, sizeof row->quantity, "%s", quantity);
    (void)snprintf(row->source, sizeof row->source, "%s", source);
    return row;
}

static double difference_of(double wanted, double got, tolerance limit)
{
    if (isnan(wanted) && isnan(got))
        return 0;
    if (wanted == got)
        return 0;
    double difference = fabs(got - wanted) / (limit.relative ? fabs(wanted) : 1);
    return isnan(difference) ? INFINITY : difference;
}

void check_close_at(const char *quantity, const char *source, double wanted, double got,
                    tolerance limit, const char *file, int line)
{
    double difference = difference_of(wanted, got, limit);
    tally *row = tally_of(quantity, source, limit);
    row->cases++;
    row->worst = fmax(row->worst, difference);
    ck_assert_msg(difference <= limit.limit,
                  "%s:%d: %s (%s): wanted %.17g, got %.17g, %s difference %.3g, limit %.3g", file,
                  line, quantity, source, wanted, got, limit.relative ? "relative" : "absolute",
                  difference, limit.limit);
}

void compare_report(void)
{
    if (all.count == 0)
        return;
    printf("%-32s %-36s %6s %10s %10s\n", "quantity", "source", "cases", "worst", "tolerance");
    for (size_t i = 0; i < all.count; i++) {
        const tally *row = &all.rows[i];
        printf("%-32s %-36s %6zu %10.2g %10.2g%s\n", row->quantity, row->source, row->cases,
               row->worst, row->limit.limit, row->limit.relative ? " of it" : "");
    }
    free(all.rows);
    all.rows = NULL;
    all.count = 0;
}

/* ---------------------------------------------------------------- check values */

struct reference {
    const char *path;
    char **fields; /* all rows one after the other, each `columns` long; the header is row 0 */
    size_t count, columns, in_row;
    bool remark;
};

static void take_field(void *text, size_t length, void *data)
{
    reference *table = data;
    table->remark |= table->in_row == 0 && length > 0 && ((const char *)text)[0] == '#';
    table->in_row++;
    if (table->remark)
        return;
    char **fields = realloc(table->fields, (table->count + 1) * sizeof *fields);
    ck_assert_ptr_nonnull(fields);
    table->fields = fields;
    char *copy = calloc(length + 1, 1);
    ck_assert_ptr_nonnull(copy);
    if (length > 0)
        memcpy(copy, text, length);
    fields[table->count++] = copy;
}

static void take_row(int end, void *data)
{
    (void)end;
    reference *table = data;
    if (!table->remark) {
        if (table->columns == 0)
            table->columns = table->in_row;
        ck_assert_msg(table->in_row == table->columns, "%s: row %zu has %zu fields, its header %zu",
                      table->path, table->count / table->columns, table->in_row, table->columns);
    }
    table->in_row = 0;
    table->remark = false;
}

reference *reference_open(const char *path)
{
    FILE *file = fopen(path, "rb");
    ck_assert_msg(file != NULL, "%s: %s (run from the top of the tree)", path, strerror(errno));
    reference *table = calloc(1, sizeof *table);
    ck_assert_ptr_nonnull(table);
    table->path = path;
    struct csv_parser parser;
    ck_assert_int_eq(csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI), 0);
    char bytes[4096];
    for (size_t got; (got = fread(bytes, 1, sizeof bytes, file)) > 0;)
        ck_assert_msg(csv_parse(&parser, bytes, got, take_field, take_row, table) == got, "%s: %s",
                      path, csv_strerror(csv_error(&parser)));
    ck_assert_int_eq(csv_fini(&parser, take_field, take_row, table), 0);
    csv_free(&parser);
    (void)fclose(file);
    ck_assert_msg(table->columns > 0 && table->count > table->columns, "%s: no rows", path);
    return table;
}

void reference_close(reference *table)
{
    for (size_t i = 0; i < table->count; i++)
        free(table->fields[i]);
    free(table->fields);
    free(table);
}

size_t reference_rows(const reference *table)
{
    return table->count / table->columns - 1;
}

const char *reference_text(const reference *table, size_t row, const char *column)
{
    ck_assert_msg(row < reference_rows(table), "%s: no row %zu", table->path, row);
    for (size_t i = 0; i < table->columns; i++)
        if (strcmp(table->fields[i], column) == 0)
            return table->fields[(row + 1) * table->columns + i];
    ck_abort_msg("%s: no column %s", table->path, column);
}

double reference_number(const reference *table, size_t row, const char *column)
{
    const char *text = reference_text(table, row, column);
    char *end;
    double number = strtod(text, &end);
    ck_assert_msg(end != text && *end == '\0', "%s: row %zu, %s: found \"%s\", accepted a number",
                  table->path, row + 1, column, text);
    return number;
}

bool reference_empty(const reference *table, size_t row, const char *column)
{
    return *reference_text(table, row, column) == '\0';
}
