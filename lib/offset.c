/* How far a beach shifts a target's number from its number in air. */
#include "predictor.h"

#include <math.h>

bb_status bb_predict_offset(const bb_predictor *predictor, int target, int zone, double depth_m,
                            double *offset, double *offset_se)
{
    const bb_model *model = predictor->model;
    if (target < 0 || (size_t)target >= model->target_count || zone < 0 ||
        (size_t)zone >= model->zone_count || !(depth_m >= 0) || depth_m > BB_DEEPEST_M)
        return BB_RANGE;
    const bb_point air = {BB_ZONE_AIR, target, BB_BENCH_M, 0, NAN};
    const bb_point here = {zone, target, depth_m, model->swing_height_m, NAN};
    bb_expected in_air, on_sand;
    bb_gradient away, gradient;
    bb_status status = bb_expect(&predictor->state, &air, &in_air, &away);
    if (status == BB_OK)
        status = bb_expect(&predictor->state, &here, &on_sand, &gradient);
    if (status != BB_OK)
        return status;
    /* What is touched in air is touched on the sand too, in the same order, between the zone's own. */
    for (int i = 0, j = 0; i < gradient.count && j < away.count; i++)
        if (gradient.column[i] == away.column[j])
            gradient.value[i] -= away.value[j++];
    *offset = on_sand.mean - in_air.mean;
    *offset_se = sqrt(bb_gradient_variance(predictor->covariance, predictor->parameter_count,
                                           &gradient));
    return BB_OK;
}
