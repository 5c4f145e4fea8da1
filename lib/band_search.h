/* Sets of at most K ranges of numbers that keep the sums of several rows within limits. */
#ifndef BB_BAND_SEARCH_H
#define BB_BAND_SEARCH_H

#include "brineband.h"

#include <stdint.h>

/* A set of ranges, as indices of the scale. */
typedef struct {
    int count;
    int low[BB_BANDS_MAX], high[BB_BANDS_MAX];
} bb_band_set;

/* Rows of whole-number weights: a set's sum over row r is wanted at most limit[r]. Whole numbers
 * make sums exact in any order. */
typedef struct {
    size_t numbers, rows;
    int64_t *prefix; /* rows x (numbers + 1): sums of the first n weights */
    int64_t *limit;  /* INT64_MAX: free */
    int64_t *base;   /* a goal's value is the largest sum - base of its rows */
    double *unit;    /* of a row's weights, for the prices */
} bb_band_rows;

/* What is made smallest: the largest sum - base over rows first to last - 1. */
typedef struct {
    size_t first, last;
    double floor; /* no value lies below it, in units */
    int64_t step; /* no smaller gain counts */
} bb_band_goal;

bb_status bb_band_rows_new(size_t numbers, size_t rows, bb_band_rows *made);
void bb_band_rows_free(bb_band_rows *rows);

static inline const int64_t *bb_band_row(const bb_band_rows *rows, size_t row)
{
    return rows->prefix + row * (rows->numbers + 1);
}

static inline int64_t bb_band_sum(const bb_band_rows *rows, size_t row, const bb_band_set *set)
{
    const int64_t *prefix = bb_band_row(rows, row);
    int64_t sum = 0;
    for (int i = 0; i < set->count; i++)
        sum += prefix[set->high[i] + 1] - prefix[set->low[i]];
    return sum;
}

bool bb_band_within(const bb_band_rows *rows, const bb_band_set *set);
int64_t bb_band_value(const bb_band_rows *rows, const bb_band_goal *goal, const bb_band_set *set);
/* Limit a goal's rows so that its value is at most value. */
void bb_band_demand(bb_band_rows *rows, const bb_band_goal *goal, int64_t value);

/* ---------------------------------------------------------------- the cheapest set */

/* Numbers that must be in or out of the set, and a price for each item: a free number, or all
 * numbers in a row that must be in, or out. */
typedef struct {
    size_t numbers, items;
    int at_most;
    signed char *forced; /* of a number: 1 in, -1 out, 0 free */
    size_t *first;       /* number of each item, then numbers */
    size_t *within, *without; /* numbers below each that must be in, that must be out */
    double *price;       /* of an item */
    double *in, *out;           /* (items + 1) x BB_STAGES: least cost from here on */
    double *came_in, *came_out; /* least cost up to here */
    double *flip;               /* of a number; see bb_band_path_flips */
} bb_band_path;

enum { BB_STAGES = BB_BANDS_MAX + 2 };

bb_status bb_band_path_new(size_t numbers, bb_band_path *path);
void bb_band_path_free(bb_band_path *path);
/* Make the items of the forced numbers as they are; the prices are then to be set. */
void bb_band_path_divide(bb_band_path *path);
/* Whether a set obeys the forced numbers as they were divided. */
bool bb_band_path_obeyed(const bb_band_path *path, const bb_band_set *set);
/* The least sum of prices over a set of at most at_most ranges that obeys the forced numbers
 * (HUGE_VAL: there is none), and a set that reaches it. */
double bb_band_path_least(bb_band_path *path);
void bb_band_path_set(const bb_band_path *path, bb_band_set *set);
/* After bb_band_path_least: for each free number the least sum with its state other than in set. */
void bb_band_path_flips(bb_band_path *path, const bb_band_set *set);

/* ---------------------------------------------------------------- prices */

enum { BB_BAND_ACTIVE = 40, BB_BAND_SIDE = BB_BAND_ACTIVE + 1 };

typedef enum {
    BB_COLUMN_SET,    /* a set of ranges, a share of the mix */
    BB_COLUMN_SLACK,  /* room below a row's limit */
    BB_COLUMN_BREACH, /* excess over it, at a forbidding cost */
    BB_COLUMN_VALUE   /* the goal's value above its floor */
} bb_band_column_kind;

typedef struct {
    bb_band_column_kind kind;
    bool stale; /* a set that does not obey the forced numbers: its share must go */
    size_t row; /* of a slack or a breach, in the programme */
    bb_band_set set;
} bb_band_column;

/* The linear program over mixes of sets. Row 0: the shares add up to one. */
typedef struct {
    const bb_band_goal *goal;
    size_t side;                 /* rows */
    size_t active[BB_BAND_SIDE]; /* the row of the search that programme row i stands for */
    double rhs[BB_BAND_SIDE];
    double inverse[BB_BAND_SIDE][BB_BAND_SIDE]; /* of the basis */
    bb_band_column basis[BB_BAND_SIDE];
    double amount[BB_BAND_SIDE], dual[BB_BAND_SIDE];
} bb_band_programme;

/* Called with every set that the prices come upon. True ends the search. */
typedef struct bb_band_visitor {
    bool (*meet)(struct bb_band_visitor *visitor, const bb_band_set *set);
    void *own;
    size_t met;     /* sets collected */
    double level;   /* a bound of the goal above it ends the branch, in units */
    double ceiling; /* no level need be higher */
} bb_band_visitor;

typedef enum {
    BB_PRICED,   /* the programme is solved */
    BB_CUT,      /* no set that obeys the forced numbers is within limits and level */
    BB_ENDED     /* the visitor has what it wants */
} bb_band_priced;

void bb_band_programme_begin(bb_band_programme *p, const bb_band_rows *rows,
                             const bb_band_goal *goal);
/* Solve, from the basis as it is. The path holds the forced numbers; its prices, tables and flips
 * are those of the last pricing. *work grows by the items priced. */
bb_band_priced bb_band_price(bb_band_programme *p, const bb_band_rows *rows, bb_band_path *path,
                             bb_band_visitor *visitor, double *bound, double *work);

/* ---------------------------------------------------------------- the search */

typedef struct {
    bb_band_rows *rows;
    bb_band_path path;
    bb_band_programme root;
    bb_band_programme **programmes; /* one a depth */
    size_t programme_count;
    size_t *trail; /* numbers forced, in order */
    size_t trail_length;
    double work, work_limit; /* items priced */
    double proved; /* by the last search: no set within the limits has a lower value of the goal */
} bb_band_search;

/* The share of the usual limit of work that a caller asks for, 0 standing for all of it. */
double bb_patience_of(double asked);

bb_status bb_band_search_new(bb_band_rows *rows, int at_most, double patience,
                             bb_band_search *search);
void bb_band_search_free(bb_band_search *search);

/* Make a goal smallest among the sets within the limits; best is one of them. On BB_OK it is
 * optimal to within the goal's step, and the goal's limits are set to its value.
 * BB_NOT_CONVERGED: the work limit was reached; best is the best met. So below. */
bb_status bb_band_minimise(bb_band_search *search, const bb_band_goal *goal, bb_band_set *best);

/* The same for a goal of one row in whole units, from no set; guide is another goal whose limits
 * hold. BB_TOO_LITTLE: no set is within the limits. */
bb_status bb_band_fewest(bb_band_search *search, const bb_band_goal *count,
                         const bb_band_goal *guide, bb_band_set *best);

/* A set within the limits, the best in the guide's direction first. met: 0 or 1. */
bb_status bb_band_find(bb_band_search *search, const bb_band_goal *guide, bb_band_set *set,
                       size_t *met);

/* Sets within the limits, at most capacity of them, in no order. goal guides the search. */
bb_status bb_band_collect(bb_band_search *search, const bb_band_goal *goal, size_t capacity,
                          bb_band_set *sets, size_t *count);

/* The lexicographically lowest set within the limits of those with as many ranges as best, which
 * is one of them. No set with fewer may be within the limits. */
bb_status bb_band_lowest(bb_band_search *search, const bb_band_goal *goal, bb_band_set *best);

#endif
