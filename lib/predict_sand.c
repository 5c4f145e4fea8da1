/* What a profile predicts for bare sand. */
#include "predictor.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

#include "constants.h"
#include "sand_number.h"

static double number_at(double angle_deg, const void *context)
{
    const bb_state *state = context;
    return bb_curve_number(&state->curve, angle_deg, NULL, NULL);
}

/* Only the number at the sand's angle is learned, not the angle and the curve apart, so its doubt
 * takes their covariance whole. */
static bb_status at_sand_angle(const bb_predictor *predictor, int zone, bb_signal *signal,
                               double *variance)
{
    const bb_state *state = &predictor->state;
    const bb_point point = {zone, BB_TARGET_SAND, 0, predictor->model->swing_height_m, NAN};
    bb_node node;
    bb_pull pull = {0};
    bb_gradient gradient;
    bb_status status = bb_signal_at(state, &point, NULL, signal);
    if (status != BB_OK)
        return status;
    bb_node_at(state, signal, 0, &node);
    bb_pull_add(signal, &node, 1, &pull);
    bb_gradient_set(state, &point, signal, &pull, &gradient);
    *variance = bb_gradient_variance(predictor->covariance, predictor->parameter_count, &gradient);
    return BB_OK;
}

static bb_status model_part(const bb_predictor *predictor, int zone, double *p)
{
    const bb_state *state = &predictor->state;
    const bb_bare *bare = &predictor->bare[zone];
    bb_signal signal;
    double doubt;
    bb_status status = at_sand_angle(predictor, zone, &signal, &doubt);
    if (status == BB_OK)
        bb_sand_model(&predictor->model->machine, signal.angle_deg, state->noise.wander,
                      bare->number_swept + 3, number_at, state,
                      sqrt(state->noise.reading * state->noise.reading + doubt), p);
    return status;
}

bb_status bb_predict_sand_middle(const bb_predictor *predictor, int zone, double *low,
                                 double *high)
{
    if (zone < 0 || zone >= (int)predictor->model->zone_count)
        return BB_RANGE;
    const bb_machine *machine = &predictor->model->machine;
    bb_signal signal;
    double variance;
    bb_status status = at_sand_angle(predictor, zone, &signal, &variance);
    if (status != BB_OK)
        return status;
    const double middle = number_at(signal.angle_deg, &predictor->state),
                 room = gsl_cdf_ugaussian_Pinv(BB_NINE_IN_TEN) * sqrt(variance);
    *low = fmax(middle - room, machine->scale_low);
    *high = fmin(middle + room, machine->scale_high);
    return BB_OK;
}

bool bb_sand_modelled(const bb_predictor *predictor, int zone)
{
    return predictor->air_sweeps > 0 || predictor->bare[zone].number_swept == 0;
}

bb_status bb_predict_sand(const bb_predictor *predictor, int zone, bb_prediction *prediction,
                          double *sounding_share)
{
    if (zone < 0 || zone >= (int)predictor->model->zone_count)
        return BB_RANGE;
    const bb_machine *machine = &predictor->model->machine;
    const bb_bare *bare = &predictor->bare[zone];
    double model[BB_NUMBERS_MAX];
    memset(prediction, 0, sizeof *prediction);
    prediction->count = bb_scale_count(machine);
    const bool modelled = bb_sand_modelled(predictor, zone);
    bb_status status = modelled ? model_part(predictor, zone, model) : BB_OK;
    if (status == BB_OK)
        status = bb_sand_mix(bare, machine, modelled ? model : NULL, prediction->p);
    if (status != BB_OK)
        return status;
    bb_prediction_summary(machine, prediction);
    if (sounding_share != NULL)
        *sounding_share = bb_sounding_share(bare);
    return BB_OK;
}
