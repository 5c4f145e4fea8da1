/* A csv file with a header, read in pieces: rows of fields and the place of each. */
#ifndef BB_TABLE_H
#define BB_TABLE_H

#include "place.h"

#include <stdbool.h>
#include <stdint.h>

enum {
    BB_COLUMN_BYTES = 16,
    BB_COLUMNS_MAX = 32, /* fields of a row */
    BB_ROW_BYTES = 8192  /* of a row, its quoted line breaks included */
};

typedef struct {
    char name[BB_COLUMN_BYTES];
    bool required;
} bb_column;

typedef struct bb_table bb_table;

typedef struct {
    const bb_column *columns;
    size_t column_count;
    bb_status (*take_row)(void *context, bb_table *table);
    void *context;
    /* Takes a line that was kept again, with its meaning; like: its meaning when it was first kept, of
     * another kind. NULL: no line is kept. */
    void (*take_again)(void *context, uint32_t meaning, uint32_t like, long line);
    /* The column of which a line that is kept has only the kind. */
    size_t apart, kinds;
    /* 0 of no text; false of text that must be read. */
    bool (*kind_of)(const char *text, size_t *kind);
} bb_table_form;

/* form, path and error must outlive the table. */
bb_status bb_table_open(const bb_table_form *form, const char *path, bb_error *error,
                        bb_table **table);

/* The first failure stops all reading and is returned ever after. */
bb_status bb_table_feed(bb_table *table, const char *bytes, size_t length);
bb_status bb_table_close(bb_table *table);
void bb_table_free(bb_table *table);

/* Text of a column of this row, without spaces around it, empty when it is not there. */
const char *bb_table_text(const bb_table *table, size_t column);
bb_place bb_table_place(const bb_table *table, size_t column);
long bb_table_line(const bb_table *table);

/* From take_row: where such a line comes again take_again may have it, with this meaning. */
void bb_table_keep(bb_table *table, uint32_t meaning);

#endif
