/* What one would do without a model: each piece's number in air plus one offset a zone. */
#ifndef BASELINE_H
#define BASELINE_H

#include "brineband.h"

typedef struct {
    double air[BB_TARGETS_MAX];                           /* mean number in air, NAN if none */
    double offset[BB_ZONES_MAX], offset_sd[BB_ZONES_MAX]; /* of a new sweep of a piece */
    double sand[BB_ZONES_MAX], sand_sd[BB_ZONES_MAX];     /* of a new bare sweep */
    double air_sd;
} offsets;

void baseline_fit(const bb_visit *visit, offsets *fitted);

/* Chance of each number of the scale, by a normal. zone and target as in bb_cell. */
void baseline_chances(const offsets *fitted, const bb_machine *machine, int zone, int target,
                      double *chances);

#endif
