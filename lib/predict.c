/* A profile made ready to predict, and the chance of each whole number for a target at a place. */
#include "outlook.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cells.h"
#include "copy.h"
#include "status.h"

#define NEVER 1e-11 /* chance of a number that no node need add */
#define SQRT_HALF 0.70710678118654752440

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
    made->read_though_lost_count = profile->read_though_lost_count;
    made->read_though_lost = bb_copy(profile->read_though_lost, made->read_though_lost_count,
                                     sizeof *made->read_though_lost);
    made->theta = calloc(p, sizeof *made->theta);
    made->answers = calloc(targets + 1, sizeof *made->answers);
    made->air_sweeps = profile->air_sweeps + profile->air_before;
    made->pooled_visits = profile->pooled_visits;
    memcpy(made->digest, profile->digest, sizeof made->digest);
    if (!made->zones || !made->targets || !made->bare || !made->covariance ||
        !made->target_sweeps || !made->read_though_lost || !made->theta || !made->answers)
        return BB_MEMORY;
    bb_status status = bb_model_of(profile, &made->model, error);
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
    if (profile->any_machine)
        return bb_error_say(error, BB_TOO_LITTLE, "this club's profile knows beaches but no "
                            "machine, so no number: sweep your own visit and fit it with --prior "
                            "and this profile");
    bb_predictor *made = calloc(1, sizeof *made);
    if (made == NULL)
        return bb_out_of_memory(error);
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
    free(predictor->read_though_lost);
    free(predictor);
}

void bb_prediction_summary(const bb_machine *machine, bb_prediction *prediction)
{
    double mean = 0, square = 0, cumulative = 0;
    bool low = false, high = false;
    for (size_t i = 0; i < prediction->count; i++) {
        const int number = bb_scale_number(machine, i);
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
        const double off = bb_scale_number(machine, i) - mean;
        square += prediction->p[i] * off * off;
    }
    prediction->mean = mean;
    prediction->sd = sqrt(square);
}

void bb_normal_add(const bb_machine *machine, double mean, double sd, double weight, double *p)
{
    const double step = machine->scale_step, last = (double)bb_scale_count(machine) - 1;
    const double centre = (mean - machine->scale_low) / step, width = sd / step;
    const double reach = width * sqrt(2 * fmax(log(weight / NEVER), 0)); /* tail < exp(-z^2/2) */
    const double from = fmin(fmax(floor(centre - reach), 0), last);
    const double to = fmin(fmax(ceil(centre + reach), 0), last);
    double below = 0;
    for (size_t i = (size_t)from; i <= (size_t)to; i++) {
        const bool end = (double)i == to;
        const double above = end ? 1 : 0.5 * erfc((centre - (double)i - 0.5) / width * SQRT_HALF);
        p[i] += weight * (above - below);
        below = above;
    }
}

bb_status bb_predict_pieces(const bb_predictor *predictor, const bb_point *point,
                            const bb_pieces *pieces, bb_prediction *prediction)
{
    const bb_machine *machine = &predictor->model->machine;
    bb_outlook outlook;
    memset(prediction, 0, sizeof *prediction);
    prediction->count = bb_scale_count(machine);
    for (int k = 0; k < pieces->count; k++) {
        bb_status status = bb_outlook_at(predictor, point, &pieces->at[k].subject, &outlook);
        if (status != BB_OK)
            return status;
        for (int i = 0; i < outlook.count; i++) {
            const bb_outlook_node *node = &outlook.node[i];
            bb_normal_add(machine, node->number, bb_outlook_node_sd(node),
                          pieces->at[k].weight * node->weight, prediction->p);
        }
        if (k == pieces->middle) {
            prediction->over_sand = outlook.over_sand;
            prediction->masked = outlook.masked;
            prediction->signal_to_ground = outlook.signal_to_ground;
        }
    }
    bb_prediction_summary(machine, prediction);
    return BB_OK;
}

bb_status bb_predict(const bb_predictor *predictor, int target, int zone, double depth_m,
                     double height_m, bb_prediction *prediction)
{
    bb_point point;
    bb_pieces pieces;
    if (target == BB_TARGET_SAND)
        return bb_predict_sand(predictor, zone, prediction, NULL);
    bb_status status =
        bb_outlook_known(predictor, target, zone, depth_m, height_m, &point, &pieces);
    return status == BB_OK ? bb_predict_pieces(predictor, &point, &pieces, prediction) : status;
}

bb_status bb_predict_masked(const bb_predictor *predictor, int target, int zone, double depth_m,
                            double height_m, bool *masked)
{
    bb_point point;
    bb_pieces pieces;
    bb_outlook outlook;
    *masked = false;
    if (target == BB_TARGET_SAND)
        return BB_OK;
    bb_status status =
        bb_outlook_known(predictor, target, zone, depth_m, height_m, &point, &pieces);
    if (status == BB_OK)
        status = bb_outlook_detect(predictor, &point, &pieces.at[0].subject, &outlook);
    if (status == BB_OK)
        *masked = outlook.masked;
    return status;
}

bb_status bb_expect_there(const bb_predictor *predictor, const bb_cell *cell,
                          bb_expected_there *expected)
{
    if (expected->cell != NULL && bb_same_laying(expected->cell, cell))
        return BB_OK;
    bb_status status =
        bb_predict(predictor, cell->target, cell->zone, cell->depth_m,
                   cell->height_m > 0 ? cell->height_m : NAN, &expected->prediction);
    expected->cell = status == BB_OK ? cell : NULL;
    return status;
}

bb_status bb_predict_other(const bb_predictor *predictor, const bb_target *target, double sd_log,
                           int zone, double depth_m, double height_m, bb_prediction *prediction)
{
    bb_point point;
    bb_pieces pieces;
    bb_status status =
        bb_outlook_place(predictor, BB_TARGET_SAND, zone, depth_m, height_m, &point);
    if (status == BB_OK)
        status = bb_pieces_other(predictor, target, sd_log, &pieces);
    return status == BB_OK ? bb_predict_pieces(predictor, &point, &pieces, prediction) : status;
}
