/* Whole-number rows over a scale, and what a set of ranges sums to in each. */
#include "band_search.h"

#include <stdlib.h>

bb_status bb_band_rows_new(size_t numbers, size_t rows, bb_band_rows *made)
{
    *made = (bb_band_rows){
        .numbers = numbers,
        .rows = rows,
        .prefix = calloc(rows * (numbers + 1), sizeof *made->prefix),
        .limit = calloc(rows, sizeof *made->limit),
        .base = calloc(rows, sizeof *made->base),
        .unit = calloc(rows, sizeof *made->unit),
    };
    if (made->prefix == NULL || made->limit == NULL || made->base == NULL || made->unit == NULL) {
        bb_band_rows_free(made);
        return BB_MEMORY;
    }
    return BB_OK;
}

void bb_band_rows_free(bb_band_rows *rows)
{
    free(rows->prefix);
    free(rows->limit);
    free(rows->base);
    free(rows->unit);
    *rows = (bb_band_rows){0};
}

bool bb_band_within(const bb_band_rows *rows, const bb_band_set *set)
{
    for (size_t r = 0; r < rows->rows; r++)
        if (bb_band_sum(rows, r, set) > rows->limit[r])
            return false;
    return true;
}

int64_t bb_band_value(const bb_band_rows *rows, const bb_band_goal *goal, const bb_band_set *set)
{
    int64_t largest = INT64_MIN;
    for (size_t r = goal->first; r < goal->last; r++) {
        int64_t value = bb_band_sum(rows, r, set) - rows->base[r];
        largest = value > largest ? value : largest;
    }
    return largest;
}

void bb_band_demand(bb_band_rows *rows, const bb_band_goal *goal, int64_t value)
{
    for (size_t r = goal->first; r < goal->last; r++)
        rows->limit[r] = value + rows->base[r];
}
