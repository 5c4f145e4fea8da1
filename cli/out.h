/* Words on standard output, wrapped to 80 columns, tables, and JSON. */
#ifndef OUT_H
#define OUT_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum { OUT_COLUMNS = 80 };

/* A paragraph. */
void say(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The answer: a paragraph in bold where standard output is a terminal and NO_COLOR is not set. */
void say_answer(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* A label, and from the column indent on a paragraph; under a longer label it starts a line. */
void say_item(size_t indent, const char *label, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void say_gap(void);
/* Words from column at on, each following line from column indent on. */
void put_wrapped(FILE *file, size_t at, size_t indent, const char *text);

/* The sign where the locale has UTF-8, else plain ASCII. */
bool out_utf8(void);
const char *plus_minus(void);

/* "1 sweep", "2 sweeps"; buffer holds the text and is returned. */
typedef struct {
    char text[96];
} phrase;
const char *counted(phrase *buffer, double count, const char *singular, const char *plural);
/* A number with as many digits as its doubt allows: "23.4", "120". */
const char *rounded(phrase *buffer, double value, double doubt);

/* A table: columns as wide as their widest cell, two spaces apart, names cut to fit 80 columns.
 * A title that starts with < stands left, others right. */
struct table {
    size_t columns, cells;
    char **text;
};
void table_begin(struct table *table, size_t columns, const char *const *titles);
void table_cell(struct table *table, const char *format, ...) __attribute__((format(printf, 2, 3)));
void table_print(const struct table *table);
void table_free(struct table *table);
void table_end(struct table *table); /* prints and frees it */

/* That the command was asked for JSON, and whether it has still to say it. */
void json_expect(void);
bool json_is_due(void);

/* Print one JSON object, keys in the order they were set, and release it. */
void say_json(json_t *object);
/* One member more, or all those of another object; they end the program with OUTCOME_SYSTEM when
 * memory ran out for either. */
void json_add(json_t *list, json_t *member);
void json_join(json_t *object, json_t *more);
json_t *json_number_or_null(double value); /* null unless finite */
json_t *json_count(double count);          /* a whole number */

#endif
