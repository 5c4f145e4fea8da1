/* Sweeps gathered into cells: memory for the distinct ones alone. */
#ifndef BB_SWEEP_CELLS_H
#define BB_SWEEP_CELLS_H

#include "brineband.h"

typedef struct {
    bb_cell *cells;
    double *counts; /* of their sweeps, which go up again and again: close together */
    size_t count, room, counts_room;
    size_t *slots; /* index of a cell + 1, 0 where free */
    size_t slot_count;
} bb_sweep_cells;

/* Adds sweep->count sweeps to their cell; line and laying are kept of the first. index: which cell.
 * BB_MEMORY. */
bb_status bb_sweep_cells_add(bb_sweep_cells *cells, const bb_cell *sweep, size_t *index);

/* Sorts the cells and gives them up; the caller frees them. NULL when there are none. */
bb_cell *bb_sweep_cells_take(bb_sweep_cells *cells);

void bb_sweep_cells_free(bb_sweep_cells *cells);

#endif
