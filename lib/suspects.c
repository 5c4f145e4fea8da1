/* Which sweeps lie outside what is expected of them: of a target by the profile, of bare sand by the
 * others of its zone, for its own readings are part of its prediction. */
#include "cells.h"
#include "outlook.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#define TAIL 0.005           /* either side of the central 99 % */
#define SAND_TAIL 0.0005     /* likewise of bare sand, whose numbers have no known distribution */
#define SD_OF_MEDIAN 1.4826  /* normal sd over the median distance from the median */
#define FEWEST_BARE 8        /* to tell one of them from the rest; judgement, no source */

typedef struct {
    bb_suspect suspect;
    double chance; /* of a reading as far out or farther on its side */
} ranked;

/* Sets the mean and the central range of the predictive distribution. */
static void say_expected(const bb_prediction *prediction, const bb_machine *machine,
                         bb_suspect *suspect)
{
    double cumulative = 0;
    bool low = false, high = false;
    for (size_t i = 0; i < prediction->count; i++) {
        cumulative += prediction->p[i];
        if (!low && cumulative >= TAIL) {
            suspect->low = bb_scale_number(machine, i);
            low = true;
        }
        if (!high && cumulative >= 1 - TAIL) {
            suspect->high = bb_scale_number(machine, i);
            high = true;
        }
    }
    suspect->expected = prediction->mean;
}

/* What is expected where the target lay, kept while it lies there. */
typedef struct {
    const bb_cell *cell; /* of which it is known, NULL at first */
    bb_outlook outlook;
} outlook_there;

/* The chance of a reading as far out or farther on its side. */
static bb_status weigh(const bb_predictor *predictor, const bb_cell *cell, outlook_there *there,
                       double *chance)
{
    bb_point point;
    bb_pieces pieces;
    bb_status status = BB_OK;
    if (there->cell == NULL || !bb_same_laying(there->cell, cell)) {
        status = bb_outlook_known(predictor, cell->target, cell->zone, cell->depth_m,
                                  cell->height_m > 0 ? cell->height_m : NAN, &point, &pieces);
        if (status == BB_OK)
            status = bb_outlook_at(predictor, &point, &pieces.at[0].subject, &there->outlook);
        there->cell = status == BB_OK ? cell : NULL;
    }
    if (status == BB_OK)
        *chance = bb_outlook_tail(&there->outlook, &predictor->model->machine, cell->reading);
    return status;
}

/* The least value at or below which half of the counts lie. */
static double middle_of(const double *counts, size_t count, double all)
{
    double below = 0;
    size_t i = 0;
    while (i + 1 < count && (below += counts[i]) < all / 2)
        i++;
    return (double)i;
}

/* A zone's bare sand: the middle number and the spread about it, by medians, which one slip of the
 * pen does not move; at least the machine's own noise. */
typedef struct {
    double middle, spread, freedom;
} bare_sand;

static bare_sand bare_sand_of(const bb_predictor *predictor, const bb_bare *bare)
{
    const bb_machine *machine = &predictor->model->machine;
    const size_t count = bb_scale_count(machine);
    double distances[BB_NUMBERS_MAX] = {0};
    const double middle = middle_of(bare->counts, count, bare->number_swept);
    for (size_t i = 0; i < count; i++)
        distances[(size_t)fabs((double)i - middle)] += bare->counts[i];
    const double distance = middle_of(distances, count, bare->number_swept);
    return (bare_sand){
        .middle = machine->scale_low + middle * machine->scale_step,
        .spread = fmax(SD_OF_MEDIAN * machine->scale_step * distance,
                       hypot(predictor->state.noise.reading, machine->scale_step / sqrt(12))),
        .freedom = bare->number_swept - 1};
}

/* The chance of a bare number so far out, and the central range. */
static double weigh_sand(const bare_sand *sand, int reading, bb_suspect *suspect)
{
    const double room = sand->spread * gsl_cdf_tdist_Qinv(TAIL, sand->freedom);
    suspect->expected = sand->middle;
    suspect->low = ceil(sand->middle - room);
    suspect->high = floor(sand->middle + room);
    return gsl_cdf_tdist_Q(fabs(reading - sand->middle) / sand->spread, sand->freedom);
}

static int by_chance(const void *a, const void *b)
{
    const ranked *one = a, *other = b;
    if (one->chance < other->chance || one->chance > other->chance)
        return one->chance < other->chance ? -1 : 1;
    return (one->suspect.cell > other->suspect.cell) - (one->suspect.cell < other->suspect.cell);
}

static bb_status find(const bb_predictor *predictor, const bb_visit *visit, ranked *found,
                      size_t *count)
{
    outlook_there there = {.cell = NULL};
    bb_expected_there expected = {0};
    bare_sand bare[BB_ZONES_MAX];
    for (size_t z = 0; z < visit->zone_count; z++)
        bare[z] = bare_sand_of(predictor, &visit->bare[z]);
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        const bool sand = cell->target == BB_TARGET_SAND;
        if (cell->setting != 0 || !cell->has_reading ||
            (sand && visit->bare[cell->zone].number_swept < FEWEST_BARE))
            continue;
        ranked *row = &found[*count];
        *row = (ranked){.suspect = {.cell = i}};
        if (sand) {
            row->chance = weigh_sand(&bare[cell->zone], cell->reading, &row->suspect);
            *count += row->chance < SAND_TAIL;
            continue;
        }
        bb_status status = weigh(predictor, cell, &there, &row->chance);
        const bool suspect = status == BB_OK && row->chance < TAIL;
        if (suspect)
            status = bb_expect_there(predictor, cell, &expected);
        if (status != BB_OK)
            return status;
        if (suspect)
            say_expected(&expected.prediction, &visit->machine, &row->suspect);
        *count += suspect;
    }
    return BB_OK;
}

bb_status bb_suspects(const bb_predictor *predictor, const bb_visit *visit, size_t capacity,
                      bb_suspect *suspects, size_t *count)
{
    ranked *found = calloc(visit->cell_count + 1, sizeof *found);
    size_t all = 0;
    bb_status status = found == NULL ? BB_MEMORY : find(predictor, visit, found, &all);
    if (status == BB_OK) {
        qsort(found, all, sizeof *found, by_chance);
        *count = all < capacity ? all : capacity;
        for (size_t i = 0; i < *count; i++)
            suspects[i] = found[i].suspect;
    }
    free(found);
    return status;
}
