/* The cheapest set of ranges when every number has a price: dynamic programming over the scale,
 * in or out of a range, by the number of ranges left. */
#include "band_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Column k + 1 of a table is for k ranges left; column 0 stays forbidden, so that opening a range
 * is always a step to the left. */
static size_t row_of(size_t n)
{
    return n * BB_STAGES;
}

bb_status bb_band_path_new(size_t numbers, bb_band_path *path)
{
    size_t table = row_of(numbers + 1);
    *path = (bb_band_path){
        .numbers = numbers,
        .forced = calloc(numbers, sizeof *path->forced),
        .price = calloc(2 * numbers + 4 * table, sizeof *path->price),
    };
    if (path->forced == NULL || path->price == NULL) {
        bb_band_path_free(path);
        return BB_MEMORY;
    }
    path->flip = path->price + numbers;
    path->in = path->flip + numbers;
    path->out = path->in + table;
    path->came_in = path->out + table;
    path->came_out = path->came_in + table;
    return BB_OK;
}

void bb_band_path_free(bb_band_path *path)
{
    free(path->forced);
    free(path->price);
    *path = (bb_band_path){0};
}

static double price_in(const bb_band_path *path, size_t n)
{
    return path->forced[n] < 0 ? HUGE_VAL : path->price[n];
}

static double price_out(const bb_band_path *path, size_t n)
{
    return path->forced[n] > 0 ? HUGE_VAL : 0.0;
}

static double lesser(double a, double b)
{
    return a < b ? a : b;
}

double bb_band_path_least(bb_band_path *path)
{
    size_t stages = (size_t)path->at_most + 2;
    double *in = path->in + row_of(path->numbers), *out = path->out + row_of(path->numbers);
    in[0] = out[0] = HUGE_VAL;
    for (size_t k = 1; k < stages; k++)
        in[k] = out[k] = 0.0;
    for (size_t n = path->numbers; n-- > 0;) {
        double yes = price_in(path, n), no = price_out(path, n);
        const double *in_after = in, *out_after = out;
        in -= BB_STAGES;
        out -= BB_STAGES;
        in[0] = out[0] = HUGE_VAL;
        for (size_t k = 1; k < stages; k++) {
            in[k] = lesser(in_after[k] + yes, out_after[k] + no);
            out[k] = lesser(out_after[k] + no, in_after[k - 1] + yes);
        }
    }
    return path->out[stages - 1];
}

void bb_band_path_set(const bb_band_path *path, bb_band_set *set)
{
    size_t k = (size_t)path->at_most + 1;
    bool open = false;
    set->count = 0;
    for (size_t n = 0; n < path->numbers; n++) {
        const double *in_after = path->in + row_of(n + 1), *out_after = path->out + row_of(n + 1);
        double yes = price_in(path, n) + in_after[open ? k : k - 1];
        double no = price_out(path, n) + out_after[k];
        bool takes = yes < no;
        if (takes && !open) {
            k--;
            set->low[set->count++] = (int)n;
        }
        if (takes)
            set->high[set->count - 1] = (int)n;
        open = takes;
    }
}

void bb_band_path_flips(bb_band_path *path, const bb_band_set *set)
{
    size_t stages = (size_t)path->at_most + 2;
    double *in = path->came_in, *out = path->came_out;
    for (size_t k = 0; k < stages; k++)
        in[k] = out[k] = HUGE_VAL;
    out[stages - 1] = 0.0;
    int range = 0;
    for (size_t n = 0; n < path->numbers; n++) {
        double yes = price_in(path, n), no = price_out(path, n);
        const double *in_after = path->in + row_of(n + 1), *out_after = path->out + row_of(n + 1);
        double *in_next = in + BB_STAGES, *out_next = out + BB_STAGES;
        double with = HUGE_VAL, without = HUGE_VAL;
        for (size_t k = 0; k < stages; k++) {
            double opened = k + 1 < stages ? out[k + 1] : HUGE_VAL;
            in_next[k] = lesser(in[k], opened) + yes;
            out_next[k] = lesser(in[k], out[k]) + no;
            if (k == 0)
                continue;
            with = lesser(with, in_next[k] + in_after[k]);
            without = lesser(without, out_next[k] + out_after[k]);
        }
        while (range < set->count && set->high[range] < (int)n)
            range++;
        bool member = range < set->count && set->low[range] <= (int)n;
        path->flip[n] = member ? without : with;
        in = in_next;
        out = out_next;
    }
}
