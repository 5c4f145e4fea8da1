/* Which sweeps are one cell: a hash table from what was swept to how often. */
#include "sweep_cells.h"

#include "copy.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_SLOTS = 256 };

/* Order of two cells; 0 when they are one. An hour not given comes before all. */
static int compare(const bb_cell *one, const bb_cell *other)
{
    double one_hour = isnan(one->hour) ? -1 : one->hour;
    double other_hour = isnan(other->hour) ? -1 : other->hour;
#define BY(left, right)                                                                            \
    if ((left) != (right))                                                                         \
    return (left) < (right) ? -1 : 1
    BY(one->zone, other->zone);
    BY(one->target, other->target);
    BY(one->depth_m, other->depth_m);
    BY(one->height_m, other->height_m);
    BY(one->setting, other->setting);
    BY(one_hour, other_hour);
    BY(one->heard, other->heard);
    BY(one->has_reading, other->has_reading);
    BY(one->reading, other->reading);
#undef BY
    return 0;
}

static int compare_any(const void *one, const void *other)
{
    return compare(one, other);
}

static uint64_t bits(double value)
{
    uint64_t pattern;
    memcpy(&pattern, &value, sizeof pattern);
    return pattern;
}

/* Multiply and shift, with the 64-bit golden ratio. */
static uint64_t mix(uint64_t hash, uint64_t value)
{
    hash = (hash ^ value) * 0x9e3779b97f4a7c15U;
    return hash ^ hash >> 32;
}

static uint64_t hash_of(const bb_cell *cell)
{
    uint64_t hash = mix(0, (uint64_t)(uint32_t)cell->zone << 32 | (uint32_t)cell->target);
    hash = mix(hash, bits(cell->depth_m));
    hash = mix(hash, bits(cell->height_m));
    hash = mix(hash, isnan(cell->hour) ? 0 : bits(cell->hour + 1));
    hash = mix(hash, (uint64_t)(uint32_t)cell->setting << 32 | (uint32_t)cell->reading);
    return mix(hash, (uint64_t)(cell->heard + 1) << 1 | cell->has_reading);
}

/* Slot of the cell, or the free one where it belongs. */
static size_t slot_of(const bb_sweep_cells *cells, const bb_cell *cell)
{
    size_t mask = cells->slot_count - 1;
    size_t slot = hash_of(cell) & mask;
    while (cells->slots[slot] != 0 && compare(&cells->cells[cells->slots[slot] - 1], cell) != 0)
        slot = (slot + 1) & mask;
    return slot;
}

static bb_status grow_slots(bb_sweep_cells *cells)
{
    size_t count = cells->slot_count == 0 ? FIRST_SLOTS : 2 * cells->slot_count;
    size_t *slots = calloc(count, sizeof *slots);
    if (slots == NULL)
        return BB_MEMORY;
    free(cells->slots);
    cells->slots = slots;
    cells->slot_count = count;
    for (size_t i = 0; i < cells->count; i++)
        slots[slot_of(cells, &cells->cells[i])] = i + 1;
    return BB_OK;
}

bb_status bb_sweep_cells_add(bb_sweep_cells *cells, const bb_cell *sweep, size_t *index)
{
    if (2 * cells->count >= cells->slot_count && grow_slots(cells) != BB_OK)
        return BB_MEMORY;
    size_t slot = slot_of(cells, sweep);
    if (cells->slots[slot] != 0) {
        *index = cells->slots[slot] - 1;
        cells->counts[*index] += sweep->count;
        return BB_OK;
    }
    bb_cell *grown = bb_grown(cells->cells, cells->count + 1, &cells->room, sizeof *grown);
    if (grown == NULL)
        return BB_MEMORY;
    cells->cells = grown;
    double *counts = bb_grown(cells->counts, cells->count + 1, &cells->counts_room, sizeof *counts);
    if (counts == NULL)
        return BB_MEMORY;
    cells->counts = counts;
    *index = cells->count++;
    cells->cells[*index] = *sweep;
    cells->counts[*index] = sweep->count;
    cells->slots[slot] = cells->count;
    return BB_OK;
}

bb_cell *bb_sweep_cells_take(bb_sweep_cells *cells)
{
    bb_cell *taken = cells->cells;
    for (size_t i = 0; i < cells->count; i++)
        taken[i].count = cells->counts[i];
    if (cells->count > 1)
        qsort(taken, cells->count, sizeof *taken, compare_any);
    cells->cells = NULL;
    bb_sweep_cells_free(cells);
    return taken;
}

void bb_sweep_cells_free(bb_sweep_cells *cells)
{
    free(cells->cells);
    free(cells->counts);
    free(cells->slots);
    *cells = (bb_sweep_cells){0};
}
