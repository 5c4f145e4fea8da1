/* The fit: parameters and noise in turn until both settle, then the proof that they have. */
#include "brineband.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_sf_erf.h>

#include "cells.h"
#include "digest.h"
#include "prior.h"
#include "status.h"

enum { ROUNDS_MAX = 60, ROUND_ITERATIONS = 6, FINAL_ITERATIONS = 200 };

#define HUBER_SD 2.5
#define TURNOVER_NEAR 3.2 /* the outermost node of the jitter */
#define TURNOVER_FAR 4.0
#define SETTLED 1e-3         /* of a prior sd, and of a log noise term */
#define ROUND_TOLERANCE 1e-3 /* of the solver within a round */
#define TOLERANCE 1e-8       /* of the solver at the end */
#define RESTART_LIMIT 0.05 /* standard errors between two optima that count as one */
#define RESTART_GAIN 1e-3  /* of the sum of squares: a restart that finds less is another optimum */
#define DRIFT_SPAN_HOURS 0.5

/* All that one fit holds. */
typedef struct {
    const bb_visit *visit;
    bb_model *model;
    bb_prior prior;
    bb_fit_cell *cells;
    size_t cell_count;
    double *weight; /* of each cell's residual, 1 / numbers */
    double *theta, *other, *covariance;
    bb_answer *answers;
    bb_signal *signals;
    bb_noise noise;
    bb_noise_level level;
    bb_evidence evidence;
} fitting;

static bool teaches(const bb_cell *cell)
{
    return cell->setting == 0 && cell->has_reading;
}

/* Times count as drift when they span more than half an hour. */
static double drift_hour_of(const bb_visit *visit)
{
    double first = INFINITY, last = -INFINITY;
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (!teaches(cell) || cell->zone == BB_ZONE_AIR || isnan(cell->hour))
            continue;
        first = fmin(first, cell->hour);
        last = fmax(last, cell->hour);
    }
    return last - first > DRIFT_SPAN_HOURS ? 0.5 * (first + last) : NAN;
}

static bool same_place(const bb_point *a, const bb_point *b)
{
    return a->zone == b->zone && a->target == b->target && a->depth_m == b->depth_m &&
           a->height_m == b->height_m;
}

static void gather_cells(fitting *fit)
{
    for (size_t i = 0; i < fit->visit->cell_count; i++) {
        const bb_cell *from = &fit->visit->cells[i];
        if (!teaches(from))
            continue;
        fit->cells[fit->cell_count++] = (bb_fit_cell){
            .point = {from->zone, from->target, from->depth_m, from->height_m, from->hour},
            .reading = from->reading,
            .count = from->count,
            .source = i,
            .trust = 1,
        };
    }
    for (size_t i = 0; i < fit->cell_count; i++)
        for (size_t j = 0; j < fit->cell_count; j++)
            if (same_place(&fit->cells[i].point, &fit->cells[j].point))
                fit->cells[i].laying += fit->cells[j].count;
}

static bb_status make_room(fitting *fit)
{
    const size_t p = (size_t)fit->model->layout.count, n = fit->visit->cell_count + 1;
    fit->cells = calloc(n, sizeof *fit->cells);
    fit->weight = calloc(n, sizeof *fit->weight);
    fit->signals = calloc(n, sizeof *fit->signals);
    fit->theta = calloc(p, sizeof *fit->theta);
    fit->other = calloc(p, sizeof *fit->other);
    fit->covariance = calloc(p * p, sizeof *fit->covariance);
    fit->answers = calloc(fit->model->target_count + 1, sizeof *fit->answers);
    return fit->cells && fit->weight && fit->signals && fit->theta && fit->other &&
                   fit->covariance && fit->answers
               ? BB_OK
               : BB_MEMORY;
}

static void release(fitting *fit)
{
    free(fit->cells);
    free(fit->weight);
    free(fit->signals);
    free(fit->theta);
    free(fit->other);
    free(fit->covariance);
    free(fit->answers);
    bb_prior_free(&fit->prior);
    bb_model_free(fit->model);
}

/* A reading's residual and its slope by the expectation. At an end of the scale the reading only
 * says "at least" (or "at most"): minus twice the log of that chance is its squared residual. */
static double residual_of(const bb_machine *machine, const bb_fit_cell *cell, double mean,
                          double weight, double *slope)
{
    const double half = 0.5 * machine->scale_step;
    double side = cell->reading >= machine->scale_high  ? 1
                  : cell->reading <= machine->scale_low ? -1
                                                        : 0;
    *slope = weight;
    if (side == 0 || weight == 0)
        return weight * (mean - cell->reading);
    const double many = sqrt(cell->count * cell->trust), sd = many / weight;
    const double z = (side * (mean - cell->reading) + half) / sd;
    const double root = sqrt(fmax(2 * M_LN2 - 2 * gsl_sf_log_erfc(-z * M_SQRT1_2), 0));
    /* The hazard of the normal stays finite however far out z is. */
    *slope = root > 0 ? many * gsl_sf_hazard(-z) / (root * sd) : 0;
    return -side * many * root;
}

/* Weighted readings less their expectations, then the prior's rows. */
static bb_status residuals_at(const double *theta, double *residuals, double *jacobian,
                              void *context)
{
    fitting *fit = context;
    const size_t p = fit->prior.count;
    bb_state state;
    bb_status status = bb_state_set(&state, fit->model, theta, &fit->level, fit->answers);
    if (jacobian != NULL)
        memset(jacobian, 0, (fit->cell_count + p) * p * sizeof *jacobian);
    for (size_t i = 0; i < fit->cell_count && status == BB_OK; i++) {
        bb_expected expected;
        bb_gradient gradient;
        status = bb_expect(&state, &fit->cells[i].point, &expected,
                           jacobian == NULL ? NULL : &gradient);
        double slope;
        residuals[i] = residual_of(&fit->model->machine, &fit->cells[i], expected.mean,
                                   fit->weight[i], &slope);
        for (int c = 0; jacobian != NULL && c < gradient.count; c++)
            if (gradient.column[c] >= 0)
                jacobian[i * p + (size_t)gradient.column[c]] = slope * gradient.value[c];
    }
    for (size_t r = 0; r < p; r++) {
        const double *row = fit->prior.rows + r * p;
        double sum = 0;
        for (size_t c = 0; c < p; c++)
            sum += row[c] * (theta[c] - fit->prior.mean[c]);
        residuals[fit->cell_count + r] = sum;
    }
    if (jacobian != NULL)
        memcpy(jacobian + fit->cell_count * p, fit->prior.rows, p * p * sizeof *jacobian);
    return status;
}

/* Where the jitter may turn the sum of target and sand over, the number jumps across the scale: such
 * a reading tells of the jitter alone and does not teach the parameters. distance: standard
 * deviations of the jitter to that place. */
static double turnover_trust(const bb_signal *signal)
{
    if (signal->sand || signal->air)
        return 1;
    double distance = (cimag(signal->target) / cimag(signal->ground) + signal->residual) /
                      signal->jitter;
    return fmin(fmax((distance - TURNOVER_NEAR) / (TURNOVER_FAR - TURNOVER_NEAR), 0), 1);
}

/* Weights from the current parameters and noise: variance of a reading, Huber's trust. */
static bb_status weigh(fitting *fit, const bb_state *state)
{
    for (size_t i = 0; i < fit->cell_count; i++) {
        bb_fit_cell *cell = &fit->cells[i];
        bb_expected expected;
        bb_status status = bb_signal_at(state, &cell->point, NULL, &fit->signals[i]);
        if (status == BB_OK)
            status = bb_expect(state, &cell->point, &expected, NULL);
        if (status != BB_OK)
            return status;
        double variance = bb_cell_variance(cell, &expected, fit->model->machine.scale_step);
        double distance = fabs(cell->reading - expected.mean) / sqrt(variance);
        cell->trust = (distance > HUBER_SD ? HUBER_SD / distance : 1) *
                      turnover_trust(&fit->signals[i]);
        fit->weight[i] = sqrt(cell->count * cell->trust / variance);
    }
    return BB_OK;
}

static bb_status solve(fitting *fit, double *theta, bb_trust trust, int iterations,
                       double tolerance, double *covariance,
                       bb_least_squares_evidence *evidence)
{
    const bb_least_squares problem = {.residuals = fit->cell_count + fit->prior.count,
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

/* What the noise terms need from the parameters: each cell's signal, and how far its own reading
 * pulls its expectation. */
static bb_status ready_noise(fitting *fit, bb_state *state)
{
    const size_t p = fit->prior.count;
    bb_status status = bb_state_set(state, fit->model, fit->theta, &fit->level, fit->answers);
    for (size_t i = 0; i < fit->cell_count && status == BB_OK; i++) {
        bb_fit_cell *cell = &fit->cells[i];
        bb_expected expected;
        bb_gradient gradient;
        status = bb_signal_at(state, &cell->point, NULL, &fit->signals[i]);
        if (status == BB_OK)
            status = bb_expect(state, &cell->point, &expected, &gradient);
        if (status != BB_OK)
            break;
        double slope;
        (void)residual_of(&fit->model->machine, cell, expected.mean, fit->weight[i], &slope);
        cell->leverage = slope * slope * bb_gradient_variance(fit->covariance, p, &gradient);
    }
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
        double change = 0;
        memcpy(fit->other, fit->theta, fit->prior.count * sizeof *fit->theta);
        bb_status status = bb_state_set(&state, fit->model, fit->theta, &fit->level, fit->answers);
        if (status == BB_OK)
            status = weigh(fit, &state);
        if (status != BB_OK)
            return status;
        status = solve(fit, fit->theta, round == 1 ? BB_TRUST_DAMPED : BB_TRUST_DOGLEG,
                       round == 1 ? FINAL_ITERATIONS : ROUND_ITERATIONS, ROUND_TOLERANCE,
                       fit->covariance, &evidence);
        if (status == BB_RANK || status == BB_MEMORY)
            return status;
        status = ready_noise(fit, &state);
        if (status == BB_OK)
            status = bb_noise_step(&state, fit->signals, fit->cells, fit->cell_count, &fit->noise,
                                   &change);
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
    bb_status status = solve(fit, fit->other, BB_TRUST_DAMPED, FINAL_ITERATIONS, TOLERANCE, NULL,
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

/* Replicates of one place give the pure error; what the model leaves beside it is lack of fit. */
static bb_status lack_of_fit(fitting *fit)
{
    const size_t p = fit->prior.count;
    const double step = fit->model->machine.scale_step;
    bb_evidence *evidence = &fit->evidence;
    bb_state state;
    bb_status status = bb_state_set(&state, fit->model, fit->theta, &fit->level, fit->answers);
    double pure = 0, pure_df = 0, lack = 0, places = 0, squares = 0, sweeps = 0;
    for (size_t i = 0; i < fit->cell_count && status == BB_OK; i++) {
        double count = 0, sum = 0, square = 0;
        bool first = true;
        for (size_t j = 0; j < fit->cell_count; j++) {
            const bb_fit_cell *cell = &fit->cells[j];
            if (!same_place(&cell->point, &fit->cells[i].point))
                continue;
            first = first && j >= i;
            count += cell->count;
            sum += cell->count * cell->reading;
            square += cell->count * cell->reading * cell->reading;
        }
        if (!first)
            continue;
        bb_expected expected;
        status = bb_expect(&state, &fit->cells[i].point, &expected, NULL);
        double mean = sum / count, off = mean - expected.mean;
        double variance = expected.variance + step * step / 12;
        double group = bb_cell_variance(&fit->cells[i], &expected, step);
        pure += (square - count * mean * mean) / variance;
        squares += square - count * mean * mean;
        pure_df += count - 1;
        lack += count * off * off / group;
        places += 1;
        sweeps += count;
    }
    evidence->chi2 = pure + lack;
    double learned = (double)p; /* parameters' worth that the sweeps taught: p - tr(C R'R) */
    for (size_t r = 0; r < p; r++)
        for (size_t i = 0; i < p; i++)
            for (size_t j = 0; j < p; j++)
                learned -= fit->prior.rows[r * p + i] * fit->covariance[i * p + j] *
                           fit->prior.rows[r * p + j];
    evidence->pure_error_df = pure_df;
    evidence->lack_of_fit_df = places - learned;
    evidence->pure_error_sd = evidence->lack_of_fit_f = evidence->lack_of_fit_p = NAN;
    if (pure_df > 0)
        evidence->pure_error_sd = sqrt(squares / pure_df);
    if (pure_df > 0 && evidence->lack_of_fit_df >= 1 && pure > 0) {
        evidence->lack_of_fit_f = (lack / evidence->lack_of_fit_df) / (pure / pure_df);
        evidence->lack_of_fit_p = gsl_cdf_fdist_Q(evidence->lack_of_fit_f,
                                                  evidence->lack_of_fit_df, pure_df);
    }
    return status;
}

/* Copy of count items, never NULL on success (an empty list has room for one). */
static void *copy_of(const void *from, size_t count, size_t size)
{
    void *copy = calloc(count + 1, size);
    if (copy != NULL && count > 0)
        memcpy(copy, from, count * size);
    return copy;
}

static void count_sweeps(const fitting *fit, bb_profile *profile)
{
    for (size_t i = 0; i < fit->cell_count; i++) {
        const bb_fit_cell *cell = &fit->cells[i];
        if (cell->point.zone == BB_ZONE_AIR)
            profile->air_sweeps += cell->count;
        else
            profile->sand_sweeps += cell->count;
        if (cell->point.target >= 0)
            profile->target_sweeps[(size_t)cell->point.target * (profile->zone_count + 1) +
                                   (size_t)(cell->point.zone + 1)] += cell->count;
    }
}

static bb_status tell(const fitting *fit, bb_profile **out)
{
    const bb_visit *visit = fit->visit;
    const size_t p = fit->prior.count;
    bb_profile *profile = calloc(1, sizeof *profile);
    if (profile == NULL)
        return BB_MEMORY;
    profile->machine = visit->machine;
    profile->beach = visit->beach;
    profile->zone_count = visit->zone_count;
    profile->target_count = visit->target_count;
    profile->parameter_count = p;
    profile->zones = copy_of(visit->zones, visit->zone_count, sizeof *visit->zones);
    profile->targets = copy_of(visit->targets, visit->target_count, sizeof *visit->targets);
    profile->bare = copy_of(visit->bare, visit->zone_count, sizeof *visit->bare);
    profile->parameters = calloc(p, sizeof *profile->parameters);
    profile->covariance = copy_of(fit->covariance, p * p, sizeof *fit->covariance);
    profile->target_sweeps =
        calloc((visit->target_count + 1) * (visit->zone_count + 1), sizeof(double));
    profile->noise = fit->noise;
    profile->drift_hour = fit->model->drift_hour;
    profile->evidence = fit->evidence;
    if (!profile->zones || !profile->targets || !profile->bare || !profile->parameters ||
        !profile->covariance || !profile->target_sweeps ||
        bb_digest(visit, profile->digest) != BB_OK) {
        bb_profile_free(profile);
        return BB_MEMORY;
    }
    for (size_t i = 0; i < p; i++) {
        bb_parameter *parameter = &profile->parameters[i];
        bb_model_parameter_name(fit->model, visit->zones, (int)i, parameter->name);
        parameter->estimate = fit->theta[i];
        parameter->sd = sqrt(fit->covariance[i * p + i]);
        parameter->prior_mean = fit->prior.mean[i];
        parameter->prior_sd = fit->prior.sd[i];
    }
    count_sweeps(fit, profile);
    *out = profile;
    return BB_OK;
}

static bb_status enough(const fitting *fit, bb_error *error)
{
    for (size_t i = 0; i < fit->cell_count; i++) {
        const bb_point *point = &fit->cells[i].point;
        if (point->target == BB_TARGET_SAND || point->zone == BB_ZONE_AIR)
            return BB_OK;
    }
    return bb_error_say(error, BB_TOO_LITTLE,
                        "no bare sand and no target in air with nothing rejected: pump the coil "
                        "over bare wet sand 15 times, a pace apart, and note each number (zone wet, "
                        "target sand)");
}

static bb_status run(fitting *fit, const bb_profile *earlier, bb_error *error)
{
    enum { OPTIMA_MAX = 4 };
    const bb_visit *visit = fit->visit;
    bb_status status = bb_model_new(&visit->machine, &visit->beach, visit->zones, visit->zone_count,
                                    visit->targets, visit->target_count, drift_hour_of(visit),
                                    &fit->model, error);
    if (status == BB_OK)
        status = make_room(fit);
    if (status != BB_OK)
        return status;
    gather_cells(fit);
    status = enough(fit, error);
    if (status == BB_OK)
        status = bb_prior_new(fit->model, visit->zones, earlier, &fit->prior, error);
    if (status != BB_OK)
        return status;
    memcpy(fit->theta, fit->prior.mean, fit->prior.count * sizeof *fit->theta);
    bb_model_noise_prior(fit->model, visit->zones, &fit->noise);
    fit->level = bb_noise_level_of(&fit->noise, visit->zone_count);
    bool better = true;
    for (int optimum = 0; optimum < OPTIMA_MAX && better; optimum++) {
        status = settle(fit);
        if (status != BB_OK)
            return bb_error_say(error, status, "the fit did not settle in %d rounds", ROUNDS_MAX);
        status = prove(fit, &better, error);
        if (status != BB_OK)
            return status;
    }
    if (better)
        return bb_error_say(error, BB_NOT_CONVERGED, "every start of the fit ends elsewhere");
    fit->evidence.converged = true;
    return lack_of_fit(fit);
}

bb_status bb_fit(const bb_visit *visit, const bb_profile *prior, bb_profile **profile,
                 bb_error *error)
{
    fitting fit = {.visit = visit};
    bb_status status = run(&fit, prior, error);
    if (status == BB_OK)
        status = tell(&fit, profile);
    release(&fit);
    return status == BB_OK ? BB_OK : bb_error_say(error, status, "%s", bb_status_text(status));
}
