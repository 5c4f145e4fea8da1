/* Which sweeps of a target lie outside what the profile expects of them. Bare sand has none: its
 * own readings are part of its prediction. */
#include "predictor.h"

#include <math.h>
#include <stdlib.h>

#define TAIL 0.005 /* either side of the central 99 % */

typedef struct {
    bb_suspect suspect;
    double chance; /* of a reading as far out or farther on its side */
} ranked;

/* The chance of a reading as far out, and the central range of the predictive distribution. */
static double weigh(const bb_prediction *prediction, const bb_machine *machine, int reading,
                    bb_suspect *suspect)
{
    double up_to = 0, below = 0, cumulative = 0;
    bool low = false, high = false;
    for (size_t i = 0; i < prediction->count; i++) {
        const int number = bb_scale_number(machine, i);
        cumulative += prediction->p[i];
        if (number <= reading)
            up_to = cumulative;
        if (number < reading)
            below = cumulative;
        if (!low && cumulative >= TAIL) {
            suspect->low = number;
            low = true;
        }
        if (!high && cumulative >= 1 - TAIL) {
            suspect->high = number;
            high = true;
        }
    }
    suspect->expected = prediction->mean;
    return fmax(fmin(up_to, 1 - below), 0);
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
    bb_expected_there expected = {0};
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (cell->target == BB_TARGET_SAND || cell->setting != 0 || !cell->has_reading)
            continue;
        bb_status status = bb_expect_there(predictor, cell, &expected);
        if (status != BB_OK)
            return status;
        ranked *row = &found[*count];
        *row = (ranked){.suspect = {.cell = i}};
        row->chance = weigh(&expected.prediction, &visit->machine, cell->reading, &row->suspect);
        *count += row->chance < TAIL;
    }
    return BB_OK;
}

bb_status bb_suspects(const bb_profile *profile, const bb_visit *visit, size_t capacity,
                      bb_suspect *suspects, size_t *count)
{
    bb_predictor *predictor = NULL;
    bb_status status = bb_predictor_new(profile, &predictor, NULL);
    if (status != BB_OK)
        return status;
    ranked *found = calloc(visit->cell_count + 1, sizeof *found);
    size_t all = 0;
    status = found == NULL ? BB_MEMORY : find(predictor, visit, found, &all);
    if (status == BB_OK) {
        qsort(found, all, sizeof *found, by_chance);
        *count = all < capacity ? all : capacity;
        for (size_t i = 0; i < *count; i++)
            suspects[i] = found[i].suspect;
    }
    free(found);
    bb_predictor_free(predictor);
    return status;
}
