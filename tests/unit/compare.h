/* Comparing a number with its check value, and reading tables of check values.
 *
 * Every comparison is also counted: the end of `make check` prints, a line for each quantity and
 * source, how many cases there were and the worst difference beside the tolerance. */
#ifndef COMPARE_H
#define COMPARE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double limit;
    bool relative; /* limit is a share of |wanted| */
} tolerance;

static inline tolerance absolute(double limit)
{
    return (tolerance){limit, false};
}

static inline tolerance relative(double limit)
{
    return (tolerance){limit, true};
}

/* Fail the running test unless got is within limit of wanted, printing wanted, got, difference
 * and limit. quantity carries its unit ("angle, degrees"); source says where wanted comes from.
 * A NAN agrees only with a NAN. */
#define check_close(quantity, source, wanted, got, limit)                                          \
    check_close_at(quantity, source, wanted, got, limit, __FILE__, __LINE__)
void check_close_at(const char *quantity, const char *source, double wanted, double got,
                    tolerance limit, const char *file, int line);

/* The table of all comparisons so far, on standard output. */
void compare_report(void);

/* A csv of check values with a header row; lines that start with # are skipped. A missing file,
 * column or number fails the running test and says which. */
typedef struct reference reference;
reference *reference_open(const char *path); /* from the top of the tree: "reference/x.csv" */
void reference_close(reference *table);
size_t reference_rows(const reference *table);
const char *reference_text(const reference *table, size_t row, const char *column);
double reference_number(const reference *table, size_t row, const char *column);
bool reference_empty(const reference *table, size_t row, const char *column);

#endif
