/* What a profile says of the machine's curve, and how far readings lie from what it expects. */
#include "predictor.h"

#include <math.h>

/* ---------------------------------------------------------------- the curve */

static bool off_curve(double angle_deg)
{
    return !(angle_deg >= bb_curve_angle_deg[0] &&
             angle_deg <= bb_curve_angle_deg[BB_CURVE_KNOTS - 1]);
}

/* The curve's parameters are the first ones of all. */
static double curve_variance(const bb_predictor *predictor, const bb_curve_weights *weights)
{
    const bb_curve *curve = &predictor->state.curve;
    bb_gradient gradient = {.count = BB_CURVE_PARAMETERS};
    for (int i = 0; i < BB_CURVE_PARAMETERS; i++) {
        gradient.column[i] = i;
        for (int end = 0; end < 2; end++) {
            const int knot = weights->span + end;
            gradient.value[i] += weights->value[end] * curve->value_by[knot][i] +
                                 weights->slope[end] * curve->slope_by[knot][i];
        }
    }
    return bb_gradient_variance(predictor->covariance, predictor->parameter_count, &gradient);
}

bb_status bb_machine_curve(const bb_predictor *predictor, double angle_deg, double *number,
                           double *number_se)
{
    if (off_curve(angle_deg))
        return BB_RANGE;
    bb_curve_weights weights;
    *number = bb_curve_number(&predictor->state.curve, angle_deg, NULL, &weights);
    *number_se = sqrt(fmax(curve_variance(predictor, &weights), 0));
    return BB_OK;
}

bb_status bb_air_angle(const bb_predictor *predictor, int target, double *angle_deg)
{
    if (target < 0 || target >= (int)predictor->model->target_count)
        return BB_RANGE;
    const bb_point point = {BB_ZONE_AIR, target, BB_BENCH_M, 0, NAN};
    bb_signal signal;
    bb_status status =
        bb_signal_at(&predictor->state, &point, &predictor->answers[target], &signal);
    if (status == BB_OK)
        *angle_deg =
            bb_response_angle_deg((bb_complex){creal(signal.target), cimag(signal.target)});
    return status;
}

/* ---------------------------------------------------------------- readings */

bb_status bb_departures(const bb_predictor *predictor, const bb_visit *visit, size_t capacity,
                        bb_departure *departures, size_t *count)
{
    bb_expected_there expected = {0};
    *count = 0;
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (cell->setting != 0 || !cell->has_reading)
            continue;
        bb_status status = bb_expect_there(predictor, cell, &expected);
        if (status != BB_OK)
            return status;
        const bb_prediction *there = &expected.prediction;
        if (*count < capacity)
            departures[*count] = (bb_departure){i, there->mean, there->sd,
                                                (cell->reading - there->mean) / there->sd};
        ++*count;
    }
    return BB_OK;
}
