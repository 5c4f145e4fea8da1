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
        .first = calloc(3 * (numbers + 1), sizeof *path->first),
        .price = calloc(2 * numbers + 4 * table, sizeof *path->price),
    };
    if (path->forced == NULL || path->first == NULL || path->price == NULL) {
        bb_band_path_free(path);
        return BB_MEMORY;
    }
    path->within = path->first + numbers + 1;
    path->without = path->within + numbers + 1;
    path->flip = path->price + numbers;
    path->in = path->flip + numbers;
    path->out = path->in + table;
    path->came_in = path->out + table;
    path->came_out = path->came_in + table;
    bb_band_path_divide(path);
    return BB_OK;
}

void bb_band_path_free(bb_band_path *path)
{
    free(path->forced);
    free(path->first);
    free(path->price);
    *path = (bb_band_path){0};
}

void bb_band_path_divide(bb_band_path *path)
{
    const signed char *forced = path->forced;
    path->items = 0;
    for (size_t n = 0; n < path->numbers; n++) {
        if (n == 0 || forced[n] == 0 || forced[n] != forced[n - 1])
            path->first[path->items++] = n;
        path->within[n + 1] = path->within[n] + (forced[n] > 0);
        path->without[n + 1] = path->without[n] + (forced[n] < 0);
    }
    path->first[path->items] = path->numbers;
}

bool bb_band_path_obeyed(const bb_band_path *path, const bb_band_set *set)
{
    size_t within = 0, without = 0;
    for (int i = 0; i < set->count; i++) {
        const size_t low = (size_t)set->low[i], after = (size_t)set->high[i] + 1;
        within += path->within[after] - path->within[low];
        without += path->without[after] - path->without[low];
    }
    return within == path->within[path->numbers] && without == 0;
}

static int forced_at(const bb_band_path *path, size_t item)
{
    return path->forced[path->first[item]];
}

static double price_in(const bb_band_path *path, size_t item)
{
    return forced_at(path, item) < 0 ? HUGE_VAL : path->price[item];
}

static double price_out(const bb_band_path *path, size_t item)
{
    return forced_at(path, item) > 0 ? HUGE_VAL : 0.0;
}

static double lesser(double a, double b)
{
    return a < b ? a : b;
}

/* All columns are filled, for a loop of known length is fast; those beyond at_most go unread. */
double bb_band_path_least(bb_band_path *path)
{
    double *restrict in = path->in + row_of(path->items);
    double *restrict out = path->out + row_of(path->items);
    in[0] = out[0] = HUGE_VAL;
    for (size_t k = 1; k < BB_STAGES; k++)
        in[k] = out[k] = 0.0;
    for (size_t i = path->items; i-- > 0;) {
        double yes = price_in(path, i), no = price_out(path, i);
        const double *in_after = in, *out_after = out;
        in -= BB_STAGES;
        out -= BB_STAGES;
        in[0] = out[0] = HUGE_VAL;
        for (size_t k = 1; k < BB_STAGES; k++) {
            in[k] = lesser(in_after[k] + yes, out_after[k] + no);
            out[k] = lesser(out_after[k] + no, in_after[k - 1] + yes);
        }
    }
    return path->out[path->at_most + 1];
}

void bb_band_path_set(const bb_band_path *path, bb_band_set *set)
{
    size_t k = (size_t)path->at_most + 1;
    bool open = false;
    set->count = 0;
    for (size_t i = 0; i < path->items; i++) {
        const double *in_after = path->in + row_of(i + 1), *out_after = path->out + row_of(i + 1);
        double yes = price_in(path, i) + in_after[open ? k : k - 1];
        double no = price_out(path, i) + out_after[k];
        bool takes = yes < no;
        if (takes && !open) {
            k--;
            set->low[set->count++] = (int)path->first[i];
        }
        if (takes)
            set->high[set->count - 1] = (int)path->first[i + 1] - 1;
        open = takes;
    }
}

void bb_band_path_flips(bb_band_path *path, const bb_band_set *set)
{
    const size_t stages = (size_t)path->at_most + 2;
    double *restrict in = path->came_in, *restrict out = path->came_out;
    for (size_t k = 0; k < BB_STAGES; k++)
        in[k] = out[k] = HUGE_VAL;
    out[stages - 1] = 0.0;
    int range = 0;
    for (size_t i = 0; i < path->items; i++) {
        const size_t n = path->first[i];
        double yes = price_in(path, i), no = price_out(path, i);
        const double *in_after = path->in + row_of(i + 1), *out_after = path->out + row_of(i + 1);
        double *in_next = in + BB_STAGES, *out_next = out + BB_STAGES;
        double with = HUGE_VAL, without = HUGE_VAL;
        for (size_t k = 0; k + 1 < BB_STAGES; k++)
            in_next[k] = lesser(in[k], out[k + 1]) + yes;
        in_next[BB_STAGES - 1] = in[BB_STAGES - 1] + yes;
        for (size_t k = 0; k < BB_STAGES; k++)
            out_next[k] = lesser(in[k], out[k]) + no;
        for (size_t k = 1; k < stages; k++) {
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
