/* How much of a number's distance from that of the clean piece in air is corrosion, salt and depth. */
#include "outlook.h"

#include <math.h>

/* The pieces as they are, and as they were before they lost metal. */
typedef struct {
    bb_pieces now, clean;
} piece_states;

static bb_status known_states(const bb_predictor *predictor, int target, piece_states *of)
{
    bb_status status = bb_pieces_known(predictor, target, &of->now);
    if (status != BB_OK)
        return status;
    bb_target fresh = of->now.kind.source;
    fresh.years = 0;
    of->clean = of->now;
    bb_subject *subject = &of->clean.at[0].subject;
    subject->kind = &of->clean.kind;
    status = bb_model_target_set(predictor->model, &fresh, NAN, &of->clean.kind);
    return status == BB_OK ? bb_state_answer(&predictor->state, &of->clean.kind, subject->time, 0,
                                             &subject->answer)
                           : status;
}

static bb_status other_states(const bb_predictor *predictor, const bb_target *target,
                              double sd_log, piece_states *of)
{
    bb_target fresh = *target;
    fresh.years = 0;
    bb_status status = bb_pieces_other(predictor, target, sd_log, &of->now);
    return status == BB_OK ? bb_pieces_other(predictor, &fresh, sd_log, &of->clean) : status;
}

/* Each step from the clean piece in air to the piece there changes one thing. In air the place
 * itself stands for the first two, so that nothing is left for salt and depth. */
static bb_status walk(const bb_predictor *predictor, const bb_point *here, const piece_states *of,
                      bb_shift_parts *parts)
{
    enum { CLEAN, AGED, SURFACE, THERE, STEPS };
    const bool air = here->zone == BB_ZONE_AIR;
    bb_point bench = *here, surface = *here;
    if (!air) {
        bench = (bb_point){BB_ZONE_AIR, here->target, BB_BENCH_M, 0, NAN};
        surface.depth_m = 0;
    }
    const struct {
        const bb_point *point;
        const bb_pieces *pieces;
    } steps[STEPS] = {[CLEAN] = {&bench, &of->clean},
                      [AGED] = {&bench, &of->now},
                      [SURFACE] = {&surface, &of->now},
                      [THERE] = {here, &of->now}};
    double number[STEPS];
    for (int i = 0; i < STEPS; i++) {
        bb_prediction at;
        bb_status status = bb_predict_pieces(predictor, steps[i].point, steps[i].pieces, &at);
        if (status != BB_OK)
            return status;
        number[i] = at.mean;
    }
    *parts = (bb_shift_parts){.clean_in_air = number[CLEAN],
                              .corrosion = number[AGED] - number[CLEAN],
                              .salt = number[SURFACE] - number[AGED],
                              .depth = number[THERE] - number[SURFACE]};
    return BB_OK;
}

bb_status bb_predict_parts(const bb_predictor *predictor, int target, int zone, double depth_m,
                           double height_m, bb_shift_parts *parts)
{
    bb_point here;
    piece_states of;
    bb_status status = bb_outlook_place(predictor, target, zone, depth_m, height_m, &here);
    if (status == BB_OK)
        status = known_states(predictor, target, &of);
    return status == BB_OK ? walk(predictor, &here, &of, parts) : status;
}

bb_status bb_predict_other_parts(const bb_predictor *predictor, const bb_target *target,
                                 double sd_log, int zone, double depth_m, double height_m,
                                 bb_shift_parts *parts)
{
    bb_point here;
    piece_states of;
    bb_status status =
        bb_outlook_place(predictor, BB_TARGET_SAND, zone, depth_m, height_m, &here);
    if (status == BB_OK)
        status = other_states(predictor, target, sd_log, &of);
    return status == BB_OK ? walk(predictor, &here, &of, parts) : status;
}
