/* How far along the machine's scale the pieces swept reach: what lies beyond them is not learned. */
#include "predictor.h"
#include "zone.h"

#include <math.h>

static void count_ends(const bb_visit *visit, bb_kit_span *span)
{
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (cell->target == BB_TARGET_SAND || cell->setting != 0 || !cell->has_reading)
            continue;
        span->readings += cell->count;
        span->at_low_end += cell->reading == visit->machine.scale_low ? cell->count : 0;
        span->at_high_end += cell->reading == visit->machine.scale_high ? cell->count : 0;
    }
}

bb_status bb_kit_span_of(const bb_predictor *predictor, const bb_visit *visit, bb_kit_span *span)
{
    double low = INFINITY, high = -INFINITY;
    *span = (bb_kit_span){0};
    if (visit->target_count != predictor->model->target_count)
        return BB_RANGE;
    for (size_t t = 0; t < visit->target_count; t++) {
        double angle;
        const size_t in_air = bb_sweeps_index(predictor->model->zone_count, t, BB_ZONE_AIR);
        if (!(predictor->target_sweeps[in_air] > 0))
            continue;
        bb_status status = bb_air_angle(predictor, (int)t, &angle);
        if (status != BB_OK)
            return status;
        span->air_pieces++;
        low = fmin(low, angle);
        high = fmax(high, angle);
    }
    span->angles_apart_deg = span->air_pieces > 0 ? high - low : 0;
    count_ends(visit, span);
    return BB_OK;
}
