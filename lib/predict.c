/* The chance of each whole number for a target at a place: the jitter of the sand's residual in
 * fine equal steps, at each a normal of reading noise, wander and the doubt of the parameters. */
#include "predictor.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cells.h"
#include "copy.h"
#include "status.h"

enum { FINE_NODES = 81 };

#define FINE_REACH 6.0 /* standard deviations of the jitter covered on either side */
#define DEEPEST_M 2.0
#define MASKED_BELOW 3.0 /* signal to ground */

size_t bb_scale_count(const bb_machine *machine)
{
    return (size_t)((machine->scale_high - machine->scale_low) / machine->scale_step) + 1;
}

/* The parameters must be those of the model that the profile's own machine and kit make. */
static bb_status same_parameters(const bb_profile *profile, const bb_model *model, bb_error *error)
{
    if (profile->parameter_count != (size_t)model->layout.count)
        return bb_error_say(error, BB_INPUT, "the profile has %zu parameters where its machine, "
                            "zones and targets need %d", profile->parameter_count,
                            model->layout.count);
    size_t stranger = bb_model_stranger(model, profile->zones, profile->parameters,
                                        profile->parameter_count);
    if (stranger < profile->parameter_count)
        return bb_error_say(error, BB_INPUT, "the profile's parameter %zu, %s, is none of its model",
                            stranger + 1, profile->parameters[stranger].name);
    return BB_OK;
}

static bb_status fill(bb_predictor *made, const bb_profile *profile, bb_error *error)
{
    const size_t p = profile->parameter_count, zones = profile->zone_count,
                 targets = profile->target_count;
    made->parameter_count = p;
    made->zones = bb_copy(profile->zones, zones, sizeof *made->zones);
    made->targets = bb_copy(profile->targets, targets, sizeof *made->targets);
    made->bare = bb_copy(profile->bare, zones, sizeof *made->bare);
    made->covariance = bb_copy(profile->covariance, p * p, sizeof *made->covariance);
    made->target_sweeps =
        bb_copy(profile->target_sweeps, targets * (zones + 1), sizeof *made->target_sweeps);
    made->theta = calloc(p, sizeof *made->theta);
    made->answers = calloc(targets + 1, sizeof *made->answers);
    made->air_sweeps = profile->air_sweeps;
    if (!made->zones || !made->targets || !made->bare || !made->covariance ||
        !made->target_sweeps || !made->theta || !made->answers)
        return BB_MEMORY;
    bb_status status = bb_model_new(&profile->machine, &profile->beach, profile->zones, zones,
                                    profile->targets, targets, profile->drift_hour, &made->model,
                                    error);
    if (status == BB_OK)
        status = same_parameters(profile, made->model, error);
    if (status != BB_OK)
        return status;
    for (size_t i = 0; i < p; i++)
        made->theta[i] = profile->parameters[i].estimate;
    bb_noise_level level = bb_noise_level_of(&profile->noise, zones);
    return bb_state_set(&made->state, made->model, made->theta, &level, made->answers);
}

bb_status bb_predictor_new(const bb_profile *profile, bb_predictor **predictor, bb_error *error)
{
    bb_predictor *made = calloc(1, sizeof *made);
    if (made == NULL)
        return bb_error_say(error, BB_MEMORY, "memory ran out");
    bb_status status = fill(made, profile, error);
    if (status != BB_OK) {
        bb_predictor_free(made);
        return bb_error_say(error, status, "%s", bb_status_text(status));
    }
    *predictor = made;
    return BB_OK;
}

void bb_predictor_free(bb_predictor *predictor)
{
    if (predictor == NULL)
        return;
    bb_model_free(predictor->model);
    free(predictor->theta);
    free(predictor->covariance);
    free(predictor->answers);
    free(predictor->zones);
    free(predictor->targets);
    free(predictor->bare);
    free(predictor->target_sweeps);
    free(predictor);
}

void bb_prediction_summary(const bb_machine *machine, bb_prediction *prediction)
{
    double mean = 0, square = 0, cumulative = 0;
    bool low = false, high = false;
    for (size_t i = 0; i < prediction->count; i++) {
        int number = machine->scale_low + (int)i * machine->scale_step;
        mean += prediction->p[i] * number;
        cumulative += prediction->p[i];
        if (!low && cumulative >= 0.05) {
            prediction->low = number;
            low = true;
        }
        if (!high && cumulative >= 0.95) {
            prediction->high = number;
            high = true;
        }
    }
    for (size_t i = 0; i < prediction->count; i++) {
        double off = machine->scale_low + (double)i * machine->scale_step - mean;
        square += prediction->p[i] * off * off;
    }
    prediction->mean = mean;
    prediction->sd = sqrt(square);
}

void bb_normal_add(const bb_machine *machine, double mean, double sd, double weight, double *p)
{
    const double step = machine->scale_step, last = (double)bb_scale_count(machine) - 1;
    double from = fmin(fmax(floor((mean - 8 * sd - machine->scale_low) / step), 0), last);
    double to = fmin(fmax(ceil((mean + 8 * sd - machine->scale_low) / step), 0), last);
    for (size_t i = (size_t)from; i <= (size_t)to; i++)
        p[i] += weight * bb_number_chance(machine, machine->scale_low + (int)i * machine->scale_step,
                                          mean, sd);
}

/* A never-swept or swept target as one prediction needs it. */
typedef struct {
    const bb_model_target *target;
    bb_answer answer;
    double time;
    bool swept;
} subject;

/* The share of the ground, and the strength of the target, that a salt-cancelling pair keeps. */
static bb_status cancel(const bb_predictor *predictor, const subject *of,
                        const bb_point *point, const bb_signal *signal, double *strength,
                        double *ground_kept)
{
    const bb_model *model = predictor->model;
    const double f2 = model->machine.frequency_hz, f1 = model->machine.lower_frequency_hz;
    const bb_ground *ground = &model->zone[point->zone].ground;
    const double radius_m = model->machine.coil_radius_m;
    bb_complex upper, lower;
    bb_answer answer;
    bb_status status = bb_ground_response(ground, model->omega, radius_m, point->height_m, &upper);
    if (status == BB_OK)
        status = bb_ground_response(ground, model->omega * f1 / f2, radius_m, point->height_m,
                                    &lower);
    if (status == BB_OK)
        status = bb_state_answer(&predictor->state, of->target, of->time, log(f1 / f2),
                                 &answer);
    if (status != BB_OK)
        return status;
    double complex at_f1 = cabs(of->answer.alpha) > 0
                               ? signal->target / of->answer.alpha * answer.alpha
                               : 0;
    *strength = bb_response_strength(
        bb_cancelled((bb_complex){creal(signal->target), cimag(signal->target)},
                     (bb_complex){creal(at_f1), cimag(at_f1)}, f2, f1));
    *ground_kept = bb_response_strength(upper) > 0 ? bb_cancel_survival(upper, lower, f2, f1) : 1;
    return BB_OK;
}

/* What detects a target: its own response against the jitter of the ground's, both as the machine
 * takes them. */
static bb_status signal_to_ground(const bb_predictor *predictor, const subject *of,
                                  const bb_point *point, const bb_signal *signal, double *ratio)
{
    double strength = cabs(signal->target), ground_kept = 1;
    bb_status status = BB_OK;
    if (predictor->model->machine.frequency_kind == BB_FREQUENCY_PAIR)
        status = cancel(predictor, of, point, signal, &strength, &ground_kept);
    *ratio = strength / (signal->jitter * ground_kept);
    return status;
}

static bb_status place(const bb_predictor *predictor, int zone, double depth_m, double height_m,
                       bb_point *point)
{
    const bool air = zone == BB_ZONE_AIR;
    if (zone < BB_ZONE_AIR || zone >= (int)predictor->model->zone_count || !(depth_m >= 0) ||
        depth_m > DEEPEST_M || (air && depth_m <= 0))
        return BB_RANGE;
    if (isnan(height_m))
        height_m = predictor->model->swing_height_m;
    if (!(height_m > 0) || height_m > DEEPEST_M)
        return BB_RANGE;
    *point = (bb_point){zone, BB_TARGET_SAND, depth_m, air ? 0 : height_m, NAN};
    return BB_OK;
}

/* Variance of the number at one node beyond the noise: the parameters' doubt and, for a target that
 * was never swept, the spread of its kind. */
static double doubt(const bb_predictor *predictor, const bb_point *point, const bb_signal *signal,
                    const bb_node *node, const bb_model_target *other)
{
    bb_gradient gradient;
    bb_pull pull = {0};
    bb_pull_add(signal, node, 1, &pull);
    bb_gradient_set(&predictor->state, point, signal, &pull, &gradient);
    double variance = bb_gradient_variance(predictor->covariance, predictor->parameter_count,
                                           &gradient);
    if (other != NULL) {
        double by_time = gradient.value[gradient.count - 2] * other->sd_time;
        double by_strength = gradient.value[gradient.count - 1] * other->sd_strength;
        variance += by_time * by_time + by_strength * by_strength;
    }
    return variance;
}

static bb_status predict(const bb_predictor *predictor, const bb_point *point,
                         const subject *of, bb_prediction *prediction)
{
    const bb_state *state = &predictor->state;
    const bb_machine *machine = &predictor->model->machine;
    bb_signal signal;
    bb_status status = bb_signal_at(state, point, &of->answer, &signal);
    if (status != BB_OK)
        return status;
    memset(prediction, 0, sizeof *prediction);
    prediction->count = bb_scale_count(machine);
    const int nodes = signal.air ? 1 : FINE_NODES;
    const double step = nodes > 1 ? 2 * FINE_REACH / (nodes - 1) : 0;
    double total = 0;
    for (int i = 0; i < nodes; i++) {
        bb_node node;
        double xi = nodes > 1 ? -FINE_REACH + i * step : 0, weight = exp(-0.5 * xi * xi);
        bb_node_at(state, &signal, xi, &node);
        double spread = node.slope * node.by_jitter * step;
        double variance = state->noise.reading * state->noise.reading + node.wander * node.wander +
                          spread * spread / 12 +
                          doubt(predictor, point, &signal, &node,
                                of->swept ? NULL : of->target);
        bb_normal_add(machine, node.number, sqrt(variance), weight, prediction->p);
        total += weight;
    }
    for (size_t i = 0; i < prediction->count; i++)
        prediction->p[i] /= total;
    bb_prediction_summary(machine, prediction);
    if (!signal.air) {
        prediction->over_sand = true;
        status = signal_to_ground(predictor, of, point, &signal,
                                  &prediction->signal_to_ground);
        prediction->masked = prediction->signal_to_ground < MASKED_BELOW;
    }
    return status;
}

bb_status bb_predict(const bb_predictor *predictor, int target, int zone, double depth_m,
                     double height_m, bb_prediction *prediction)
{
    bb_point point;
    if (target == BB_TARGET_SAND)
        return bb_predict_sand(predictor, zone, prediction, NULL);
    bb_status status = place(predictor, zone, depth_m, height_m, &point);
    if (status != BB_OK || target < 0 || target >= (int)predictor->model->target_count)
        return BB_RANGE;
    point.target = target;
    const subject known = {
        .target = &predictor->model->target[target],
        .answer = predictor->answers[target],
        .time = predictor->theta[predictor->model->layout.first_target + 2 * target],
        .swept = true,
    };
    return predict(predictor, &point, &known, prediction);
}

bb_status bb_predict_other(const bb_predictor *predictor, const bb_target *target, double sd_log,
                           int zone, double depth_m, double height_m, bb_prediction *prediction)
{
    bb_point point;
    bb_model_target kind;
    bb_status status = place(predictor, zone, depth_m, height_m, &point);
    if (status == BB_OK)
        status = bb_model_target_set(predictor->model, target, sd_log, &kind);
    subject other = {.target = &kind, .time = kind.mean_time};
    if (status == BB_OK)
        status = bb_state_answer(&predictor->state, &kind, other.time, 0, &other.answer);
    return status == BB_OK ? predict(predictor, &point, &other, prediction) : status;
}
