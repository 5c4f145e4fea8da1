/* Where fresh sweeps are predicted, and with what they are compared. */
#include "examine.h"

#include <math.h>

#include "baseline.h"

enum { DRAWS = 3000 };

#define HEARD_ABOVE 3.0 /* of signal to jitter */

const char *const place_name[PLACES] = {"swept", "unswept", "masked", "bare sand"};

typedef struct {
    const truth *t;
    bb_predictor *const *draws;
    size_t count;
    offsets baseline;
    gsl_rng *random;
    scores *sums;
} examination;

/* The mean of what each draw predicts. */
static bb_status predict_mean(const examination *of, const truth_place *place, bb_prediction *mean)
{
    const double share = 1 / (double)of->count;
    *mean = (bb_prediction){0};
    for (size_t d = 0; d < of->count; d++) {
        bb_prediction drawn;
        bb_status status = bb_predict(of->draws[d], place->target, place->zone, place->depth_m,
                                      place->height_m, &drawn);
        if (status != BB_OK)
            return status;
        mean->count = drawn.count;
        mean->mean += share * drawn.mean;
        for (size_t i = 0; i < drawn.count; i++)
            mean->p[i] += share * drawn.p[i];
    }
    return BB_OK;
}

static bb_status predict(examination *of, truth_place place, int kind)
{
    double chances[BB_NUMBERS_MAX];
    bb_prediction prediction;
    truth_distribution numbers;
    bb_status status = predict_mean(of, &place, &prediction);
    if (status != BB_OK)
        return status;
    truth_chances(of->t, &place, DRAWS, of->random, &numbers);
    baseline_chances(&of->baseline, &of->t->machine, place.zone, place.target, chances);
    if (place.target >= 0 && truth_signal_to_ground(of->t, &place) < HEARD_ABOVE)
        kind = MASKED;
    score_add(&of->sums[kind], &numbers, &prediction, chances, of->t->machine.scale_step);
    return BB_OK;
}

bb_status examine(const truth *t, const bb_visit *visit, bb_predictor *const *draws, size_t count,
                  gsl_rng *random, scores *sums)
{
    static const struct {
        double depth_m, raised_m;
        int kind[VISIT_COUNT]; /* of a piece that was laid */
    } spots[] = {{0, 0, {SWEPT, SWEPT}},        {0, 0.07, {SWEPT, UNSWEPT}},
                 {0.08, 0, {SWEPT, UNSWEPT}},   {0.04, 0, {UNSWEPT, UNSWEPT}},
                 {0.12, 0, {UNSWEPT, UNSWEPT}}, {0.16, 0, {UNSWEPT, UNSWEPT}}};
    const double swing_m = t->beach.swing_height_m;
    examination of = {.t = t, .draws = draws, .count = count, .random = random, .sums = sums};
    bb_status status = BB_OK;
    baseline_fit(visit, &of.baseline);
    for (int z = 0; z < (int)t->zone_count && status == BB_OK; z++) {
        status = predict(&of, (truth_place){z, BB_TARGET_SAND, 0, swing_m, NAN}, SAND);
        for (int k = 0; k < (int)t->target_count; k++) {
            bool laid = t->of.kind == VISIT_FULL || (z == 0 && t->target[k].laid);
            for (size_t i = 0; i < sizeof spots / sizeof *spots && status == BB_OK; i++)
                status = predict(
                    &of, (truth_place){z, k, spots[i].depth_m, swing_m + spots[i].raised_m, NAN},
                    laid ? spots[i].kind[t->of.kind] : UNSWEPT);
        }
    }
    return status;
}
