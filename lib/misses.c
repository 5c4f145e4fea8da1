/* The places where a profile misses what its visit read. */
#include "cells.h"
#include "predictor.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
    bb_miss miss;
    double lack;
} ranked;

static int by_lack(const void *a, const void *b)
{
    const ranked *one = a, *other = b;
    if (one->lack < other->lack || one->lack > other->lack)
        return one->lack > other->lack ? -1 : 1;
    return (one->miss.cell > other->miss.cell) - (one->miss.cell < other->miss.cell);
}

static bb_status rank(const bb_predictor *predictor, const bb_cells *cells, ranked *found,
                      size_t *count)
{
    const double step = predictor->model->machine.scale_step;
    *count = 0;
    for (size_t i = 0; i < cells->place_count; i++) {
        const bb_site *place = &cells->places[i];
        bb_expected expected;
        if (place->point.target == BB_TARGET_SAND)
            continue;
        bb_status status = bb_expect(&predictor->state, &place->point, &expected, NULL);
        if (status != BB_OK)
            return status;
        const bb_replicates read = bb_cells_replicates(cells, i, step, &expected);
        if (fabs(read.mean - read.expected) < step)
            continue;
        found[(*count)++] = (ranked){{.cell = cells->readings[place->first].source,
                                      .sweeps = read.count,
                                      .read = read.mean,
                                      .expected = read.expected},
                                     bb_place_lack(&read)};
    }
    qsort(found, *count, sizeof *found, by_lack);
    return BB_OK;
}

bb_status bb_misses(const bb_predictor *predictor, const bb_visit *visit, size_t capacity,
                    bb_miss *misses, size_t *count)
{
    bb_cells cells;
    bb_status status = bb_cells_new(visit, &cells);
    if (status != BB_OK)
        return status;
    ranked *found = calloc(cells.place_count + 1, sizeof *found);
    size_t all = 0;
    status = found == NULL ? BB_MEMORY : rank(predictor, &cells, found, &all);
    if (status == BB_OK) {
        *count = all < capacity ? all : capacity;
        for (size_t i = 0; i < *count; i++)
            misses[i] = found[i].miss;
    }
    free(found);
    bb_cells_free(&cells);
    return status;
}
