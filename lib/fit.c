/* The fit: parameters and noise in turn until both settle, then the proof that they have. */
#include "brineband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cells.h"
#include "fitted.h"
#include "prior.h"
#include "status.h"

enum { ROUNDS_MAX = 60, ROUND_ITERATIONS = 6, SWING_ROUNDS = 8, FINAL_ITERATIONS = 200 };

#define SETTLED 1e-3         /* of a prior sd, and of a log noise term */
#define ROUND_TOLERANCE 1e-3 /* of the solver within a round */
#define RESTART_TOLERANCE 1e-5
#define TOLERANCE 1e-6       /* of the solver at the end */
#define RESTART_LIMIT 0.05 /* standard errors between two optima that count as one */
#define RESTART_GAIN 1e-3  /* of the sum of squares: a restart that finds less is another optimum */

/* All that one fit holds. */
typedef struct {
    bb_model *model;
    bb_prior prior;
    bb_cells cells;
    double *theta, *other, *covariance;
    bb_answer *answers;
    bb_noise noise;
    bb_noise_level level;
    bb_evidence evidence;
} fitting;

static bb_status make_room(fitting *fit)
{
    const size_t p = (size_t)fit->model->layout.count;
    fit->theta = calloc(p, sizeof *fit->theta);
    fit->other = calloc(p, sizeof *fit->other);
    fit->covariance = calloc(p * p, sizeof *fit->covariance);
    fit->answers = calloc(fit->model->target_count + 1, sizeof *fit->answers);
    return fit->theta && fit->other && fit->covariance && fit->answers ? BB_OK : BB_MEMORY;
}

static void release(fitting *fit)
{
    free(fit->theta);
    free(fit->other);
    free(fit->covariance);
    free(fit->answers);
    bb_cells_free(&fit->cells);
    bb_prior_free(&fit->prior);
    bb_model_free(fit->model);
}

/* The rows of the readings, then the prior's. */
static bb_status residuals_at(const double *theta, double *residuals, double *jacobian,
                              void *context)
{
    fitting *fit = context;
    const bb_cells *cells = &fit->cells;
    const size_t p = fit->prior.count;
    bb_state state;
    bb_expected expected = {0};
    bb_gradient gradient = {0};
    bb_status status = bb_state_set(&state, fit->model, theta, &fit->level, fit->answers);
    if (jacobian != NULL)
        memset(jacobian, 0, cells->row_count * p * sizeof *jacobian);
    for (size_t r = 0; r < cells->row_count && status == BB_OK; r++) {
        const bb_row *row = &cells->rows[r];
        if (r == 0 || cells->rows[r - 1].place != row->place)
            status = bb_expect(&state, &cells->places[row->place].point, &expected,
                               jacobian == NULL ? NULL : &gradient);
        double slope;
        residuals[r] =
            bb_row_residual(&fit->model->machine, cells, row, expected.mean, &slope);
        for (int c = 0; jacobian != NULL && c < gradient.count; c++)
            if (gradient.column[c] >= 0)
                jacobian[r * p + (size_t)gradient.column[c]] = slope * gradient.value[c];
    }
    for (size_t i = 0; i < p; i++) {
        const double *row = fit->prior.rows + i * p;
        double sum = 0;
        for (size_t c = 0; c < p; c++)
            sum += row[c] * (theta[c] - fit->prior.mean[c]);
        residuals[cells->row_count + i] = sum;
    }
    if (jacobian != NULL)
        memcpy(jacobian + cells->row_count * p, fit->prior.rows, p * p * sizeof *jacobian);
    return status;
}

static bb_status solve(fitting *fit, double *theta, bb_trust trust, int iterations,
                       double tolerance, double *covariance,
                       bb_least_squares_evidence *evidence)
{
    const bb_least_squares problem = {.residuals = fit->cells.row_count + fit->prior.count,
                                      .parameters = fit->prior.count,
                                      .evaluate = residuals_at,
                                      .context = fit,
                                      .trust = trust,
                                      .tolerance = tolerance,
                                      .max_iterations = iterations};
    bb_status status = bb_least_squares_solve(&problem, theta, covariance, evidence);
    fit->evidence.iterations += evidence->iterations;
    return status;
}

static double largest_move(const fitting *fit, const double *from, const double *to)
{
    double largest = 0;
    for (size_t i = 0; i < fit->prior.count; i++)
        largest = fmax(largest, fabs(to[i] - from[i]) / fit->prior.sd[i]);
    return largest;
}

/* Parameters with the weights held, then noise and weights with the parameters held, in turn. */
static bb_status settle(fitting *fit)
{
    for (int round = 1; round <= ROUNDS_MAX; round++) {
        bb_state state;
        bb_least_squares_evidence evidence;
        /* Going all the way each time can swing for ever between two sets of weights. */
        const double share = 1 / (1 + floor((double)round / SWING_ROUNDS));
        double change = 0;
        memcpy(fit->other, fit->theta, fit->prior.count * sizeof *fit->theta);
        bb_status status = bb_state_set(&state, fit->model, fit->theta, &fit->level, fit->answers);
        if (status == BB_OK)
            status = bb_cells_weigh(&fit->cells, &state, share);
        if (status != BB_OK)
            return status;
        status = solve(fit, fit->theta, BB_TRUST_DOGLEG,
                       round == 1 ? FINAL_ITERATIONS : ROUND_ITERATIONS, ROUND_TOLERANCE,
                       fit->covariance, &evidence);
        if (status == BB_RANK || status == BB_MEMORY)
            return status;
        status = bb_state_set(&state, fit->model, fit->theta, &fit->level, fit->answers);
        if (status == BB_OK)
            status = bb_cells_ready(&fit->cells, &state, fit->covariance);
        if (status == BB_OK)
            status = bb_noise_step(&state, &fit->cells, share, &fit->noise, &change);
        if (status != BB_OK)
            return status;
        fit->level = bb_noise_level_of(&fit->noise, fit->model->zone_count);
        fit->evidence.rounds = round;
        if (fmax(change, largest_move(fit, fit->other, fit->theta)) < SETTLED)
            return BB_OK;
    }
    return BB_NOT_CONVERGED;
}

/* Another start, on the far side of the prior from the optimum, with the weights held. */
static bb_status restart(fitting *fit, double share, double *sum_of_squares, double *distance)
{
    const size_t p = fit->prior.count;
    bb_least_squares_evidence evidence;
    for (size_t i = 0; i < p; i++)
        fit->other[i] = fit->prior.mean[i] - share * (fit->theta[i] - fit->prior.mean[i]);
    bb_status status = solve(fit, fit->other, BB_TRUST_DOGLEG, FINAL_ITERATIONS, RESTART_TOLERANCE, NULL,
                             &evidence);
    *sum_of_squares = evidence.sum_of_squares;
    *distance = 0;
    for (size_t i = 0; i < p; i++)
        *distance = fmax(*distance, fabs(fit->other[i] - fit->theta[i]) /
                                        sqrt(fit->covariance[i * p + i]));
    return status;
}

/* The final solve and restarts until one agrees with it; *better when one finds less, which then
 * is the place to settle from again. */
static bb_status prove(fitting *fit, bool *better, bb_error *error)
{
    *better = false;
    static const double shares[] = {0.5, 0, -0.5};
    enum { SHARES = sizeof shares / sizeof *shares };
    const size_t p = fit->prior.count;
    bb_least_squares_evidence evidence;
    bb_status status = solve(fit, fit->theta, BB_TRUST_DOGLEG, FINAL_ITERATIONS, TOLERANCE,
                             fit->covariance, &evidence);
    if (status == BB_NOT_CONVERGED)
        status = solve(fit, fit->theta, BB_TRUST_DAMPED, FINAL_ITERATIONS, TOLERANCE,
                       fit->covariance, &evidence);
    fit->evidence.gradient = evidence.gradient;
    fit->evidence.rank = evidence.rank;
    fit->evidence.condition = evidence.condition;
    if (status != BB_OK)
        return bb_error_say(error, status, "the fit stopped short of an optimum (gradient %.1e, "
                            "rank %zu of %zu)", evidence.gradient, evidence.rank, p);
    fit->evidence.restart_distance = INFINITY;
    for (int i = 0; i < SHARES; i++) {
        double sum_of_squares, distance;
        status = restart(fit, shares[i], &sum_of_squares, &distance);
        if (status == BB_MEMORY)
            return status;
        if (sum_of_squares < evidence.sum_of_squares - RESTART_GAIN) {
            memcpy(fit->theta, fit->other, p * sizeof *fit->theta);
            *better = true;
            return BB_OK;
        }
        fit->evidence.restart_distance = fmin(fit->evidence.restart_distance, distance);
        if (distance < RESTART_LIMIT)
            return BB_OK;
    }
    return bb_error_say(error, BB_NOT_CONVERGED,
                        "two starts of the fit end at different answers (%.2g standard errors "
                        "apart): sweep a few more targets in air", fit->evidence.restart_distance);
}

static bb_status enough(const bb_cells *cells, bb_error *error)
{
    for (size_t i = 0; i < cells->place_count; i++) {
        const bb_point *point = &cells->places[i].point;
        if (point->target == BB_TARGET_SAND || point->zone == BB_ZONE_AIR)
            return BB_OK;
    }
    return bb_error_say(error, BB_TOO_LITTLE,
                        "no bare sand and no target in air with nothing rejected: pump the coil "
                        "over bare wet sand 15 times, a pace apart, and note each number (zone wet, "
                        "target sand)");
}

static bb_status prepare(fitting *fit, const bb_visit *visit, const bb_profile *earlier,
                         bb_error *error)
{
    bb_status status = bb_cells_new(visit, &fit->cells);
    if (status == BB_OK)
        status = enough(&fit->cells, error);
    if (status == BB_OK)
        status = bb_model_new(&visit->machine, &visit->beach, visit->zones, visit->zone_count,
                              visit->targets, visit->target_count, bb_drift_hour(visit),
                              &fit->model, error);
    for (size_t i = 0; i < fit->cells.place_count && status == BB_OK; i++)
        if (fit->cells.places[i].point.zone >= 0)
            status = bb_model_remember(fit->model, fit->cells.places[i].point.zone,
                                       fit->cells.places[i].point.height_m);
    if (status == BB_OK)
        status = make_room(fit);
    if (status == BB_OK)
        status = bb_prior_new(fit->model, visit->zones, earlier, &fit->prior, error);
    if (status == BB_OK)
        status = bb_prior_noise(fit->model, visit->zones, earlier, &fit->noise, error);
    if (status != BB_OK)
        return status;
    memcpy(fit->theta, fit->prior.mean, fit->prior.count * sizeof *fit->theta);
    fit->level = bb_noise_level_of(&fit->noise, visit->zone_count);
    return BB_OK;
}

static bb_status run(fitting *fit, bb_error *error)
{
    enum { OPTIMA_MAX = 4 };
    bool better = true;
    for (int optimum = 0; optimum < OPTIMA_MAX && better; optimum++) {
        bb_status status = settle(fit);
        if (status != BB_OK)
            return bb_error_say(error, status, "the fit did not settle in %d rounds", ROUNDS_MAX);
        status = prove(fit, &better, error);
        if (status != BB_OK)
            return status;
    }
    if (better)
        return bb_error_say(error, BB_NOT_CONVERGED, "every start of the fit ends elsewhere");
    fit->evidence.converged = true;
    return BB_OK;
}

bb_status bb_fit(const bb_visit *visit, const bb_profile *prior, bb_profile **profile,
                 bb_error *error)
{
    fitting fit = {0};
    bb_status status = prepare(&fit, visit, prior, error);
    if (status == BB_OK)
        status = run(&fit, error);
    if (status == BB_OK) {
        const bb_fitted fitted = {.visit = visit,
                                  .model = fit.model,
                                  .prior = &fit.prior,
                                  .cells = &fit.cells,
                                  .theta = fit.theta,
                                  .covariance = fit.covariance,
                                  .noise = &fit.noise,
                                  .evidence = fit.evidence,
                                  .answers = fit.answers};
        status = bb_fitted_profile(&fitted, profile);
    }
    release(&fit);
    return status == BB_OK ? BB_OK : bb_error_say(error, status, "%s", bb_status_text(status));
}
