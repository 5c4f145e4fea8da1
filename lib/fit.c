/* The fit: parameters and noise in turn until both settle, then the proof that they have. */
#include "brineband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "anderson.h"
#include "cells.h"
#include "descent.h"
#include "fitted.h"
#include "noise.h"
#include "prior.h"
#include "status.h"

enum { ROUNDS_MAX = 80, ROUND_ITERATIONS = 6, PLAIN_ROUNDS = 2, SWINGING_ROUNDS = 24, HALVING_ROUNDS = 12, FINAL_ITERATIONS = 200 };

#define SETTLED 1e-2         /* standard errors that a whole turn still moves */
#define FARTHEST_AHEAD 3.0  /* times the turn's own length, or prior sds if that is shorter */
#define RISING 2.0           /* a turn that leads so many times farther than the last starts anew */
#define ROUND_TOLERANCE 1e-6   /* of half the sum of squares, within a round */
#define RESTART_TOLERANCE 1e-6 /* likewise, of another start */
#define DESCENT_TOLERANCE 1e-11 /* likewise, at the end */
#define TOLERANCE 1e-6         /* of the solver that proves the end */
#define RESTART_LIMIT 0.05 /* standard errors between two optima that count as one */
#define RIVAL_DISTANCE 1.0 /* standard errors: a rival optimum nearer than this is within the doubt */
#define RIVAL_EXCESS 6.0   /* of the sum of squares: one worse than this is twenty times less likely */
#define LOOK_AROUND_SD 1.5 /* how far from the optimum a lower valley is looked for */
#define VARIANCE_RATIO 1.1 /* between the variances of two solves that count as one */
#define WEAK_SALT (-2.0)   /* prior sds, of the salt's level and jitter, at which small pieces are heard */
#define LIKELIER 0.1       /* of a log probability: optima nearer than this are as likely */
#define RESTART_GAIN 1e-3  /* of the sum of squares: a restart that finds less is another optimum */

/* What a fit that cannot be believed asks for. */
#define SWEEP_AGAIN                                                                                \
    "sweep each piece again in air and pump bare sand 15 times, and look for readings that "        \
    "contradict each other"

/* All that one fit holds. */
typedef struct {
    bb_model *model;
    bb_prior prior;
    bb_cells cells;
    bb_curvature curvature;
    double *theta, *other, *rival, *settled; /* rival: where another start ended */
    double *covariance, *again; /* again: of a second solve */
    double *scaled_prior;       /* curvature of the prior in prior sds */
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
    fit->rival = calloc(p, sizeof *fit->rival);
    fit->settled = calloc(p, sizeof *fit->settled);
    fit->covariance = calloc(p * p, sizeof *fit->covariance);
    fit->again = calloc(p * p, sizeof *fit->again);
    fit->scaled_prior = calloc(p * p, sizeof *fit->scaled_prior);
    fit->answers = calloc(fit->model->target_count + 1, sizeof *fit->answers);
    return fit->theta && fit->other && fit->rival && fit->settled && fit->covariance &&
                   fit->again && fit->scaled_prior && fit->answers
               ? BB_OK
               : BB_MEMORY;
}

static void release(fitting *fit)
{
    free(fit->theta);
    free(fit->other);
    free(fit->rival);
    free(fit->settled);
    free(fit->covariance);
    free(fit->again);
    free(fit->scaled_prior);
    free(fit->answers);
    bb_curvature_free(&fit->curvature);
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

/* The solver sees deviations from the prior in prior sds, so that neither the unit nor the origin of
 * a scale has a say in where it stops. */
static bb_status scaled_residuals_at(const double *scaled, double *residuals, double *jacobian,
                                     void *context)
{
    const fitting *fit = context;
    const size_t p = fit->prior.count;
    double theta[BB_PARAMETERS_MAX];
    for (size_t i = 0; i < p; i++)
        theta[i] = fit->prior.mean[i] + fit->prior.sd[i] * scaled[i];
    bb_status status = residuals_at(theta, residuals, jacobian, context);
    for (size_t r = 0; jacobian != NULL && r < fit->cells.row_count + p; r++)
        for (size_t c = 0; c < p; c++)
            jacobian[r * p + c] *= fit->prior.sd[c];
    return status;
}

static bb_status solve(fitting *fit, double *theta, bb_trust trust, int iterations,
                       double tolerance, double *covariance,
                       bb_least_squares_evidence *evidence)
{
    const size_t p = fit->prior.count;
    const bb_least_squares problem = {.residuals = fit->cells.row_count + p,
                                      .parameters = p,
                                      .evaluate = scaled_residuals_at,
                                      .context = fit,
                                      .trust = trust,
                                      .tolerance = tolerance,
                                      .max_iterations = iterations};
    double scaled[BB_PARAMETERS_MAX];
    for (size_t i = 0; i < p; i++)
        scaled[i] = (theta[i] - fit->prior.mean[i]) / fit->prior.sd[i];
    bb_status status = bb_least_squares_solve(&problem, scaled, covariance, evidence);
    for (size_t i = 0; i < p; i++)
        theta[i] = fit->prior.mean[i] + fit->prior.sd[i] * scaled[i];
    for (size_t i = 0; covariance != NULL && i < p * p; i++)
        covariance[i] *= fit->prior.sd[i / p] * fit->prior.sd[i % p];
    fit->evidence.iterations += evidence->iterations;
    return status;
}

/* One row's part of gradient and curvature, the latter's lower triangle. */
static void add_row(const bb_gradient *gradient, double residual, double slope, double *slopes,
                    double *curvature, size_t p)
{
    for (int i = 0; i < gradient->count; i++)
        slopes[gradient->column[i]] += slope * gradient->value[i] * residual;
    bb_gradient_add_square(gradient, slope * slope, curvature, p);
}

/* The prior's part of the half sum, its gradient and its curvature. */
static double add_prior(const fitting *fit, const double *scaled, double *slopes, double *curvature)
{
    const size_t p = fit->prior.count;
    double twice = 0;
    memcpy(curvature, fit->scaled_prior, p * p * sizeof *curvature);
    for (size_t i = 0; i < p; i++)
        slopes[i] = 0;
    for (size_t i = 0; i < p; i++) {
        const double *row = curvature + i * p;
        for (size_t j = 0; j < i; j++) {
            slopes[i] += row[j] * scaled[j];
            slopes[j] += row[j] * scaled[i];
        }
        slopes[i] += row[i] * scaled[i];
    }
    for (size_t i = 0; i < p; i++)
        twice += slopes[i] * scaled[i];
    return 0.5 * twice;
}

/* Half the sum of squares, its gradient and curvature at scaled parameters, row by row. */
static bb_status half_sum_at(const double *scaled, double *half_sum, double *slopes,
                             double *curvature, void *context)
{
    fitting *fit = context;
    const bb_cells *cells = &fit->cells;
    const size_t p = fit->prior.count;
    double theta[BB_PARAMETERS_MAX] = {0};
    bb_state state;
    bb_expected expected = {0};
    bb_gradient gradient = {0};
    for (size_t i = 0; i < p; i++)
        theta[i] = fit->prior.mean[i] + fit->prior.sd[i] * scaled[i];
    bb_status status = bb_state_set(&state, fit->model, theta, &fit->level, fit->answers);
    bool looked = false;
    *half_sum = add_prior(fit, scaled, slopes, curvature);
    for (size_t r = 0; r < cells->row_count && status == BB_OK; r++) {
        const bb_row *row = &cells->rows[r];
        double slope;
        const bb_site *place = &cells->places[row->place];
        if (r > 0 && cells->rows[r - 1].place != row->place)
            looked = looked && place->same;
        if (row->many == 0)
            continue;
        if (!looked) {
            status = bb_expect(&state, &place->point, &expected, &gradient);
            for (int c = 0; c < gradient.count; c++)
                gradient.value[c] *= fit->prior.sd[gradient.column[c]];
            looked = true;
        }
        const double residual =
            bb_row_residual(&fit->model->machine, cells, row, expected.mean, &slope);
        *half_sum += 0.5 * residual * residual;
        add_row(&gradient, residual, slope, slopes, curvature, p);
    }
    return status;
}

/* The fast way down. */
static bb_status descend(fitting *fit, double *theta, int iterations, double tolerance,
                         double *sum_of_squares)
{
    const size_t p = fit->prior.count;
    const bb_descent descent = {.count = p,
                                .evaluate = half_sum_at,
                                .context = fit,
                                .max_iterations = iterations,
                                .tolerance = tolerance};
    double scaled[BB_PARAMETERS_MAX];
    int taken;
    for (size_t i = 0; i < p; i++)
        scaled[i] = (theta[i] - fit->prior.mean[i]) / fit->prior.sd[i];
    bb_status status = bb_descend(&descent, scaled, sum_of_squares, &taken);
    for (size_t i = 0; i < p; i++)
        theta[i] = fit->prior.mean[i] + fit->prior.sd[i] * scaled[i];
    *sum_of_squares *= 2;
    fit->evidence.iterations += taken;
    return status;
}

/* Between the point and another, in standard errors: the largest of any parameter. */
static double distance_in_sd(const fitting *fit, const double *other)
{
    const size_t p = fit->prior.count;
    double farthest = 0;
    for (size_t i = 0; i < p; i++)
        farthest = fmax(farthest, fabs(other[i] - fit->theta[i]) /
                                      sqrt(fit->covariance[i * p + i]));
    return farthest;
}

/* The point of the iteration: parameters and noise terms, from their priors in prior sds. */
static size_t point_count(const fitting *fit)
{
    return fit->prior.count + 2 + fit->model->zone_count;
}

static bb_parameter *noise_term(fitting *fit, size_t index)
{
    return index == 0   ? &fit->noise.reading
           : index == 1 ? &fit->noise.wander
                        : &fit->noise.jitter[index - 2];
}

static void point_get(fitting *fit, double *point)
{
    const size_t p = fit->prior.count;
    for (size_t i = 0; i < p; i++)
        point[i] = (fit->theta[i] - fit->prior.mean[i]) / fit->prior.sd[i];
    for (size_t t = 0; p + t < point_count(fit); t++)
        point[p + t] = (noise_term(fit, t)->estimate - noise_term(fit, t)->prior_mean) /
                       noise_term(fit, t)->prior_sd;
}

static void point_set(fitting *fit, const double *point)
{
    const size_t p = fit->prior.count;
    for (size_t i = 0; i < p; i++)
        fit->theta[i] = fit->prior.mean[i] + point[i] * fit->prior.sd[i];
    for (size_t t = 0; p + t < point_count(fit); t++)
        noise_term(fit, t)->estimate =
            noise_term(fit, t)->prior_mean + point[p + t] * noise_term(fit, t)->prior_sd;
    fit->level = bb_noise_level_of(&fit->noise, fit->model->zone_count);
}

/* The cells weighed and ready where the fit stands. */
static bb_status stand(fitting *fit, bb_state *state)
{
    bb_status status = bb_state_set(state, fit->model, fit->theta, &fit->level, fit->answers);
    if (status == BB_OK)
        status = bb_cells_weigh(&fit->cells, state);
    return status == BB_OK ? bb_cells_ready(&fit->cells, state) : status;
}

/* The covariance as the cells that are ready have it. */
static bb_status set_covariance(fitting *fit)
{
    bb_curvature *curvature = &fit->curvature;
    for (size_t i = 0; i < fit->cells.place_count; i++)
        curvature->variance[i] = fit->cells.places[i].variance;
    if (!isfinite(bb_curvature_half_log(curvature, &fit->cells)))
        return BB_RANK;
    bb_curvature_invert(curvature);
    memcpy(fit->covariance, curvature->matrix,
           curvature->count * curvature->count * sizeof *fit->covariance);
    return BB_OK;
}

/* One turn: parameters with the weights of this point, then noise with the parameters held. moved:
 * how far that led, in standard errors. */
static bb_status turn(fitting *fit, int iterations, double *moved)
{
    bb_state state;
    double change = 0, sum_of_squares;
    memcpy(fit->other, fit->theta, fit->prior.count * sizeof *fit->theta);
    bb_status status = bb_state_set(&state, fit->model, fit->theta, &fit->level, fit->answers);
    if (status == BB_OK)
        status = bb_cells_weigh(&fit->cells, &state);
    if (status != BB_OK)
        return status;
    status = descend(fit, fit->theta, iterations, ROUND_TOLERANCE, &sum_of_squares);
    if (status == BB_MEMORY)
        return status;
    status = bb_state_set(&state, fit->model, fit->theta, &fit->level, fit->answers);
    if (status == BB_OK)
        status = bb_cells_ready(&fit->cells, &state);
    if (status == BB_OK)
        status = set_covariance(fit);
    if (status == BB_OK)
        status = bb_noise_settle(&state, &fit->cells, &fit->curvature, &fit->noise, &change);
    fit->level = bb_noise_level_of(&fit->noise, fit->model->zone_count);
    *moved = fmax(change, distance_in_sd(fit, fit->other));
    return status;
}

static double longest(const double *from, const double *to, size_t count)
{
    double most = 0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, fabs(to[i] - from[i]));
    return most;
}

/* Where to go on after a turn from point: ahead of it by acceleration where that can be believed, and
 * half way where turns have swung for long. */
static void advance(fitting *fit, int round, bool rising, double *point, bb_anderson *history)
{
    const size_t count = point_count(fit);
    double *turned = point + count, *ahead = point + 2 * count;
    if (round <= PLAIN_ROUNDS)
        return;
    point_get(fit, turned);
    if (round > SWINGING_ROUNDS) {
        const double share = 1.0 / (1 + (double)(round - SWINGING_ROUNDS + HALVING_ROUNDS) / HALVING_ROUNDS);
        for (size_t i = 0; i < count; i++)
            ahead[i] = point[i] + share * (turned[i] - point[i]);
        point_set(fit, ahead);
        return;
    }
    if (rising)
        bb_anderson_forget(history);
    memcpy(ahead, turned, count * sizeof *ahead);
    bb_anderson_step(history, point, ahead);
    if (longest(point, ahead, count) <= FARTHEST_AHEAD * fmax(1, longest(point, turned, count)))
        point_set(fit, ahead);
    else
        bb_anderson_forget(history);
}

/* Turn until a turn leads nowhere. */
static bb_status settle(fitting *fit)
{
    bb_anderson history;
    double *point = calloc(3 * point_count(fit), sizeof *point);
    bb_status status = point == NULL ? BB_MEMORY : bb_anderson_new(&history, point_count(fit));
    if (status != BB_OK) {
        free(point);
        return status;
    }
    double moved = INFINITY, before;
    for (int round = 1; round <= ROUNDS_MAX && status == BB_OK; round++) {
        point_get(fit, point);
        before = moved;
        status = turn(fit, round == 1 || round > SWINGING_ROUNDS ? FINAL_ITERATIONS : ROUND_ITERATIONS, &moved);
        fit->evidence.rounds++;
        if (status != BB_OK || moved < SETTLED)
            break;
        advance(fit, round, moved > RISING * before, point, &history);
    }
    bb_anderson_free(&history);
    free(point);
    return status == BB_OK && !(moved < SETTLED) ? BB_NOT_CONVERGED : status;
}

/* From the other point with the weights held: where that ends, and how far from the optimum. */
static bb_status solve_other(fitting *fit, double *sum_of_squares, double *distance)
{
    bb_status status =
        descend(fit, fit->other, FINAL_ITERATIONS, RESTART_TOLERANCE, sum_of_squares);
    *distance = distance_in_sd(fit, fit->other);
    return status;
}

/* Another start, on the far side of the prior from the optimum. */
static void far_side(fitting *fit, double share)
{
    for (size_t i = 0; i < fit->prior.count; i++)
        fit->other[i] = fit->prior.mean[i] - share * (fit->theta[i] - fit->prior.mean[i]);
}

/* Along what every target shares the sum may have two valleys that no start from the prior's middle
 * parts: the other point is set where it is lower within the standard errors, if there is such a
 * place. */
static bb_status look_around(fitting *fit, double sum_of_squares, bool *lower)
{
    const bb_layout *at = &fit->model->layout;
    const int shared[] = {at->frequency, at->severity, at->level};
    const size_t p = fit->prior.count, rows = fit->cells.row_count + p;
    double *residuals = calloc(rows, sizeof *residuals);
    bb_status status = residuals == NULL ? BB_MEMORY : BB_OK;
    *lower = false;
    for (size_t k = 0; k < 2 * sizeof shared / sizeof *shared && status == BB_OK && !*lower; k++) {
        const int j = shared[k / 2];
        if (j < 0)
            continue;
        const double *column = fit->covariance + (size_t)j * p;
        const double steps = (k % 2 ? 1 : -1) * LOOK_AROUND_SD / sqrt(column[j]);
        double sum = 0;
        for (size_t i = 0; i < p; i++)
            fit->other[i] = fit->theta[i] + steps * column[i];
        status = residuals_at(fit->other, residuals, NULL, fit);
        for (size_t r = 0; r < rows; r++)
            sum += residuals[r] * residuals[r];
        *lower = status == BB_OK && sum < sum_of_squares - RESTART_GAIN;
    }
    free(residuals);
    return status == BB_MEMORY ? status : BB_OK;
}

/* The last solve, all the way; its evidence is the fit's. */
static bb_status finish(fitting *fit, double *sum_of_squares, bb_error *error)
{
    bb_least_squares_evidence evidence = {0};
    bb_status status = descend(fit, fit->theta, FINAL_ITERATIONS, DESCENT_TOLERANCE, sum_of_squares);
    if (status != BB_MEMORY)
        status = solve(fit, fit->theta, BB_TRUST_DOGLEG, FINAL_ITERATIONS, TOLERANCE,
                       fit->covariance, &evidence);
    if (status == BB_NOT_CONVERGED)
        status = solve(fit, fit->theta, BB_TRUST_DAMPED, FINAL_ITERATIONS, TOLERANCE,
                       fit->covariance, &evidence);
    fit->evidence.gradient = evidence.gradient;
    fit->evidence.rank = evidence.rank;
    fit->evidence.condition = evidence.condition;
    *sum_of_squares = evidence.sum_of_squares;
    return status == BB_OK ? BB_OK
                           : bb_error_say(error, status,
                                          "the fit stopped short of an optimum (gradient %.1e, rank "
                                          "%zu of %zu): " SWEEP_AGAIN,
                                          evidence.gradient, evidence.rank, fit->prior.count);
}

/* What other starts found. */
typedef struct {
    bool agrees, lower;
    double excess, distance; /* of the lowest rival: sum of squares, standard errors */
} other_starts;

static bb_status start_again(fitting *fit, double sum_of_squares, other_starts *found)
{
    double there, distance;
    bb_status status = solve_other(fit, &there, &distance);
    fit->evidence.restart_distance = fmin(fit->evidence.restart_distance, distance);
    found->lower = there < sum_of_squares - RESTART_GAIN;
    found->agrees = !found->lower && distance < RESTART_LIMIT;
    if (!found->agrees && there - sum_of_squares < found->excess) {
        found->excess = there - sum_of_squares;
        found->distance = distance;
        memcpy(fit->rival, fit->other, fit->prior.count * sizeof *fit->rival);
    }
    return status == BB_MEMORY ? status : BB_OK;
}

/* From the far side of the prior, then, if only rivals were found there, from the far side of the
 * lowest of them. */
static bb_status look_for_others(fitting *fit, double sum_of_squares, other_starts *found)
{
    static const double shares[] = {0.5, 0, -0.5};
    enum { SHARES = sizeof shares / sizeof *shares };
    *found = (other_starts){.excess = INFINITY};
    bb_status status = BB_OK;
    fit->evidence.restart_distance = INFINITY;
    for (int i = 0; i <= SHARES && status == BB_OK && !found->agrees && !found->lower; i++) {
        if (i < SHARES)
            far_side(fit, shares[i]);
        for (size_t j = 0; i == SHARES && j < fit->prior.count; j++)
            fit->other[j] = 2 * fit->theta[j] - fit->rival[j];
        status = start_again(fit, sum_of_squares, found);
    }
    if (status == BB_OK && found->agrees)
        status = look_around(fit, sum_of_squares, &found->lower);
    return status;
}

/* Starts until one agrees with the optimum and none contradicts it; *elsewhere when one does, which
 * then is the place to settle from. */
static bb_status prove(fitting *fit, double sum_of_squares, bool *elsewhere, bb_error *error)
{
    other_starts found;
    bb_status status = look_for_others(fit, sum_of_squares, &found);
    if (status != BB_OK)
        return status;
    if (!found.agrees && !found.lower)
        return bb_error_say(error, BB_NOT_CONVERGED,
                            "two starts of the fit end at different answers (%.2g standard errors "
                            "apart): sweep a few more targets in air",
                            fit->evidence.restart_distance);
    const bool contested = found.excess < RIVAL_EXCESS && found.distance > RIVAL_DISTANCE;
    *elsewhere = found.lower || contested;
    if (*elsewhere)
        memcpy(fit->theta, found.lower ? fit->other : fit->rival,
               fit->prior.count * sizeof *fit->theta);
    return BB_OK;
}

/* The optimum must be that of its own weights and noise: weigh there, solve and step once more.
 * *elsewhere when that leads away, which then is the place to settle from. */
static bb_status confirm(fitting *fit, bool *elsewhere)
{
    const size_t p = fit->prior.count;
    bb_state state;
    bb_least_squares_evidence evidence;
    bb_noise noise = fit->noise;
    double change = 0, widest = 1, sum_of_squares;
    bb_status status = stand(fit, &state);
    if (status == BB_OK)
        status = bb_noise_settle(&state, &fit->cells, &fit->curvature, &noise, &change);
    memcpy(fit->other, fit->theta, p * sizeof *fit->theta);
    if (status == BB_OK)
        status = descend(fit, fit->other, FINAL_ITERATIONS, DESCENT_TOLERANCE, &sum_of_squares);
    if (status == BB_OK || status == BB_NOT_CONVERGED)
        status = solve(fit, fit->other, BB_TRUST_DOGLEG, FINAL_ITERATIONS, TOLERANCE, fit->again,
                       &evidence);
    if (status != BB_OK && status != BB_NOT_CONVERGED)
        return status;
    for (size_t i = 0; i < p && status == BB_OK; i++) {
        const double ratio = fit->again[i * p + i] / fit->covariance[i * p + i];
        widest = fmax(widest, fmax(ratio, 1 / ratio));
    }
    *elsewhere = status != BB_OK || fmax(change, distance_in_sd(fit, fit->other)) > RESTART_LIMIT ||
                 widest > VARIANCE_RATIO;
    if (*elsewhere)
        memcpy(fit->theta, fit->other, p * sizeof *fit->theta);
    return BB_OK;
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
    if (status == BB_OK)
        status = bb_curvature_new(&fit->prior, &fit->cells, &fit->curvature);
    if (status != BB_OK)
        return status;
    const size_t p = fit->prior.count;
    for (size_t i = 0; i < p * p; i++)
        fit->scaled_prior[i] =
            fit->curvature.prior[i] * fit->prior.sd[i / p] * fit->prior.sd[i % p];
    memcpy(fit->theta, fit->prior.mean, p * sizeof *fit->theta);
    fit->level = bb_noise_level_of(&fit->noise, visit->zone_count);
    return BB_OK;
}

/* Whether the fit has come back to where it settled before: then that was proved from a second
 * start. */
static bool is_back(fitting *fit)
{
    fit->evidence.restart_distance = distance_in_sd(fit, fit->settled);
    return fit->evidence.restart_distance < RESTART_LIMIT;
}

/* From where the fit stands to an optimum that other starts and its own weights confirm. */
static bb_status find_optimum(fitting *fit, bb_error *error)
{
    enum { OPTIMA_MAX = 4 };
    bool elsewhere = true;
    for (int optimum = 0; optimum < OPTIMA_MAX && elsewhere; optimum++) {
        double sum_of_squares;
        bb_status status = settle(fit);
        if (status != BB_OK)
            return bb_error_say(error, status, "the fit did not settle in %d rounds: " SWEEP_AGAIN,
                                ROUNDS_MAX);
        status = finish(fit, &sum_of_squares, error);
        if (status != BB_OK)
            return status;
        elsewhere = optimum == 0 || !is_back(fit);
        memcpy(fit->settled, fit->theta, fit->prior.count * sizeof *fit->theta);
        if (elsewhere)
            status = prove(fit, sum_of_squares, &elsewhere, error);
        if (status == BB_OK && !elsewhere)
            status = confirm(fit, &elsewhere);
        if (status != BB_OK)
            return status;
    }
    if (elsewhere)
        return bb_error_say(error, BB_NOT_CONVERGED,
                            "every start of the fit ends elsewhere: " SWEEP_AGAIN);
    return BB_OK;
}

/* Log probability of all that was read and believed, where the fit stands; -INFINITY without one. */
static double log_posterior(fitting *fit)
{
    const size_t p = fit->prior.count;
    bb_state state;
    double squares = 0;
    bb_status status = stand(fit, &state);
    if (status != BB_OK)
        return -INFINITY;
    for (size_t i = 0; i < p; i++) {
        double row = 0;
        for (size_t c = 0; c < p; c++)
            row += fit->prior.rows[i * p + c] * (fit->theta[c] - fit->prior.mean[c]);
        squares += row * row;
    }
    const double log = bb_noise_log_posterior(&state, &fit->cells, &fit->curvature, &fit->noise,
                                              NULL, NULL) - 0.5 * squares;
    return isfinite(log) ? log : -INFINITY;
}

/* A reading that the optimum calls lost to the salt pulls nowhere, so the optimum cannot tell by
 * itself that a weaker salt would have let the piece be heard: look from there too, and go where it is
 * likelier. */
static bb_status hear_the_lost(fitting *fit, bb_error *error)
{
    const size_t p = fit->prior.count, zones = fit->model->zone_count;
    if (bb_cells_lost(&fit->cells) == 0)
        return BB_OK;
    const fitting kept = *fit;
    const double lost = log_posterior(fit);
    memcpy(fit->settled, fit->theta, p * sizeof *fit->settled);
    memcpy(fit->again, fit->covariance, p * p * sizeof *fit->again);
    double *point = calloc(point_count(fit), sizeof *point);
    if (point == NULL)
        return BB_MEMORY;
    point[fit->model->layout.level] = WEAK_SALT;
    for (size_t z = 0; z < zones; z++)
        point[p + 2 + z] = WEAK_SALT;
    point_set(fit, point);
    free(point);
    const bb_status status = settle(fit);
    if (status == BB_OK && log_posterior(fit) > lost + LIKELIER)
        return find_optimum(fit, error);
    fit->noise = kept.noise;
    fit->level = kept.level;
    fit->evidence = kept.evidence;
    memcpy(fit->theta, fit->settled, p * sizeof *fit->theta);
    memcpy(fit->covariance, fit->again, p * p * sizeof *fit->covariance);
    bb_state state;
    return status == BB_MEMORY ? status : stand(fit, &state);
}

bb_status bb_fit(const bb_visit *visit, const bb_profile *prior, bb_profile **profile,
                 bb_error *error)
{
    fitting fit = {0};
    bb_status status = prepare(&fit, visit, prior, error);
    if (status == BB_OK)
        status = find_optimum(&fit, error);
    if (status == BB_OK)
        status = hear_the_lost(&fit, error);
    if (status == BB_OK) {
        fit.evidence.converged = true;
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
