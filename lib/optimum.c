/* The optimum of a fit, proved: other starts must end there, and its own weights must keep it. */
#include "fitting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "status.h"

#define RESTART_TOLERANCE 1e-4  /* of half the sum of squares, of another start: 0.014 sd */
#define DESCENT_TOLERANCE 1e-11 /* likewise, at the end */
#define TOLERANCE 1e-6          /* of the solver that proves the end */
#define RESTART_LIMIT 0.05      /* standard errors between two optima that count as one */
#define RESTART_GAIN 1e-3       /* of the sum of squares: less is another optimum */
#define RIVAL_DISTANCE 1.0      /* standard errors: a rival nearer than this is within the doubt */
#define RIVAL_EXCESS 6.0        /* of the sum of squares: twenty times less likely */
#define VARIANCE_RATIO 1.1      /* between the variances of two solves that count as one */
#define WEAK_SALT (-2.0)        /* prior sds, of the salt's level and jitter */
#define LIKELIER 0.1            /* of a log probability: optima nearer than this are as likely */

/* What a fit that cannot be believed asks for. */
#define SWEEP_AGAIN                                                                                \
    "sweep each piece again in air and pump bare sand 15 times, and look for readings that "       \
    "contradict each other"

/* From the other point with the weights held: where that ends, and how far from the optimum. */
static bb_status solve_other(bb_fitting *fit, double *sum_of_squares, double *distance)
{
    bb_status status =
        bb_fit_descend(fit, fit->other, BB_FIT_ITERATIONS, RESTART_TOLERANCE, sum_of_squares);
    *distance = bb_fit_distance(fit, fit->other);
    return status;
}

/* Another start, on the far side of the prior from the optimum. */
static void far_side(bb_fitting *fit, double share)
{
    for (size_t i = 0; i < fit->prior.count; i++)
        fit->other[i] = fit->prior.mean[i] - share * (fit->theta[i] - fit->prior.mean[i]);
}

/* Along what every target shares the sum may have two valleys that no start from the prior's middle
 * parts: the rival is set where it is lower within the standard errors, if there is such a
 * place. */
static bb_status look_around(bb_fitting *fit, double sum_of_squares, bool *lower)
{
    const bb_layout *at = &fit->model->layout;
    const int shared[] = {at->frequency, at->severity, at->level};
    static const double away_sd[] = {1, -1, 2, -2};
    enum { SHARED = sizeof shared / sizeof *shared, AWAY = sizeof away_sd / sizeof *away_sd };
    const size_t p = fit->prior.count, rows = fit->cells.row_count + p;
    double *residuals = calloc(rows, sizeof *residuals);
    bb_status status = residuals == NULL ? BB_MEMORY : BB_OK;
    *lower = false;
    for (int k = 0; k < SHARED * AWAY && status == BB_OK && !*lower; k++) {
        const int j = shared[k / AWAY];
        if (j < 0)
            continue;
        const double *column = fit->covariance + (size_t)j * p;
        const double steps = away_sd[k % AWAY] / sqrt(column[j]);
        double sum = 0;
        for (size_t i = 0; i < p; i++)
            fit->other[i] = fit->theta[i] + steps * column[i];
        status = bb_fit_residuals(fit, fit->other, residuals, NULL);
        for (size_t r = 0; r < rows; r++)
            sum += residuals[r] * residuals[r];
        *lower = status == BB_OK && sum < sum_of_squares - RESTART_GAIN;
        if (*lower)
            memcpy(fit->rival, fit->other, p * sizeof *fit->rival);
    }
    free(residuals);
    return status == BB_MEMORY ? status : BB_OK;
}

/* The last bb_fit_solve, all the way; its evidence is the fit's. */
static bb_status finish(bb_fitting *fit, double *sum_of_squares, bb_error *error)
{
    bb_least_squares_evidence evidence = {0};
    bb_status status =
        bb_fit_descend(fit, fit->theta, BB_FIT_ITERATIONS, DESCENT_TOLERANCE, sum_of_squares);
    if (status != BB_MEMORY)
        status = bb_fit_solve(fit, fit->theta, BB_TRUST_DOGLEG, BB_FIT_ITERATIONS, TOLERANCE,
                              fit->covariance, &evidence);
    if (status == BB_NOT_CONVERGED)
        status = bb_fit_solve(fit, fit->theta, BB_TRUST_DAMPED, BB_FIT_ITERATIONS, TOLERANCE,
                              fit->covariance, &evidence);
    fit->evidence.gradient = evidence.gradient;
    fit->evidence.rank = evidence.rank;
    fit->evidence.condition = evidence.condition;
    *sum_of_squares = evidence.sum_of_squares;
    return status == BB_OK
               ? BB_OK
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

static bb_status start_again(bb_fitting *fit, double sum_of_squares, other_starts *found)
{
    double there, distance;
    bb_status status = solve_other(fit, &there, &distance);
    fit->evidence.restart_distance = fmin(fit->evidence.restart_distance, distance);
    const bool lower = there < sum_of_squares - RESTART_GAIN;
    found->lower = found->lower || lower;
    found->agrees = !lower && distance < RESTART_LIMIT;
    if (!found->agrees && there - sum_of_squares < found->excess) {
        found->excess = there - sum_of_squares;
        found->distance = distance;
        memcpy(fit->rival, fit->other, fit->prior.count * sizeof *fit->rival);
    }
    return status == BB_MEMORY ? status : BB_OK;
}

/* From the far side of the prior, then, if only rivals were found there, from the far side of the
 * lowest of them. */
static bb_status look_for_others(bb_fitting *fit, double sum_of_squares, other_starts *found)
{
    static const double shares[] = {0.5, 0, -0.5};
    enum { SHARES = sizeof shares / sizeof *shares };
    *found = (other_starts){.excess = INFINITY};
    bb_status status = BB_OK;
    fit->evidence.restart_distance = INFINITY;
    for (int i = 0; i <= SHARES && status == BB_OK && !found->agrees; i++) {
        if (i < SHARES)
            far_side(fit, shares[i]);
        for (size_t j = 0; i == SHARES && j < fit->prior.count; j++)
            fit->other[j] = 2 * fit->theta[j] - fit->rival[j];
        status = start_again(fit, sum_of_squares, found);
    }
    if (status == BB_OK && found->agrees && !found->lower)
        status = look_around(fit, sum_of_squares, &found->lower);
    return status;
}

/* Log probability of all that was read and believed, where the fit stands; -INFINITY without one.
 */
static double log_posterior(bb_fitting *fit)
{
    bb_state state;
    double squares = 0;
    bb_status status = bb_fit_stand(fit, &state);
    if (status != BB_OK)
        return -INFINITY;
    for (size_t i = 0; i < fit->prior.count; i++) {
        const double residual = bb_fit_prior_residual(fit, fit->theta, i);
        squares += residual * residual;
    }
    const double log =
        bb_noise_log_posterior(&state, &fit->cells, &fit->curvature, &fit->noise, NULL, NULL) -
        0.5 * squares;
    return isfinite(log) ? log : -INFINITY;
}

static void keep(bb_fitting *fit)
{
    const size_t p = fit->prior.count;
    const bb_standing before = fit->kept;
    fit->kept = fit->earlier;
    fit->earlier = before;
    memcpy(fit->kept.theta, fit->theta, p * sizeof *fit->theta);
    memcpy(fit->kept.covariance, fit->covariance, p * p * sizeof *fit->covariance);
    fit->kept.noise = fit->noise;
    fit->kept.evidence = fit->evidence;
}

static bb_status go_back(bb_fitting *fit, const bb_standing *to)
{
    const size_t p = fit->prior.count;
    bb_state state;
    memcpy(fit->theta, to->theta, p * sizeof *fit->theta);
    memcpy(fit->covariance, to->covariance, p * p * sizeof *fit->covariance);
    fit->noise = to->noise;
    fit->level = bb_noise_level_of(&fit->noise, fit->model->zone_count);
    fit->evidence = to->evidence;
    return bb_fit_stand(fit, &state);
}

/* Starts until one agrees with the optimum. *elsewhere when one contradicts it, which then is the
 * place to settle from; *contested when it only rivals it and others agree. */
static bb_status prove(bb_fitting *fit, double sum_of_squares, bool *elsewhere, bool *contested,
                       bb_error *error)
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
    const bool rivalled = found.excess < RIVAL_EXCESS && found.distance > RIVAL_DISTANCE;
    *elsewhere = found.lower || rivalled;
    *contested = rivalled && found.agrees && !found.lower;
    if (*elsewhere) {
        fit->kept.evidence = fit->evidence;
        fit->kept.log = log_posterior(fit);
    }
    if (*elsewhere)
        memcpy(fit->theta, fit->rival, fit->prior.count * sizeof *fit->theta);
    return BB_OK;
}

/* The optimum must be that of its own weights and noise: weigh there, solve and step once more.
 * *elsewhere when that leads away, which then is the place to settle from. */
static bb_status confirm(bb_fitting *fit, bool *elsewhere)
{
    const size_t p = fit->prior.count;
    bb_state state;
    bb_noise noise = fit->noise;
    bb_noise_bend bend = {.known = false};
    double change = 0, widest = 1, sum_of_squares;
    bb_status status = bb_fit_stand(fit, &state);
    if (status == BB_OK)
        status = bb_noise_settle(&state, &fit->cells, &fit->curvature, &noise, &bend, 0,
                                 &change);
    memcpy(fit->other, fit->theta, p * sizeof *fit->theta);
    if (status == BB_OK)
        status =
            bb_fit_descend(fit, fit->other, BB_FIT_ITERATIONS, DESCENT_TOLERANCE, &sum_of_squares);
    if (status == BB_OK)
        status = bb_fit_covariance(fit, fit->other, fit->again);
    if (status != BB_OK && status != BB_NOT_CONVERGED)
        return status;
    for (size_t i = 0; i < p && status == BB_OK; i++) {
        const double ratio = fit->again[i * p + i] / fit->covariance[i * p + i];
        widest = fmax(widest, fmax(ratio, 1 / ratio));
    }
    *elsewhere = status != BB_OK ||
                 fmax(change, bb_fit_distance(fit, fit->other)) > RESTART_LIMIT ||
                 widest > VARIANCE_RATIO;
    if (*elsewhere)
        memcpy(fit->theta, fit->other, p * sizeof *fit->theta);
    return BB_OK;
}

/* Whether the fit has come back to where it settled before: then that was proved from a second
 * start. */
static bool is_back(bb_fitting *fit)
{
    fit->evidence.restart_distance = bb_fit_distance(fit, fit->kept.theta);
    return fit->evidence.restart_distance < RESTART_LIMIT;
}

/* The likelier of two optima, each of which leads to the other. */
static bb_status choose_likelier(bb_fitting *fit)
{
    return go_back(fit, fit->kept.log < fit->earlier.log ? &fit->earlier : &fit->kept);
}

/* From where the fit stands to an optimum that other starts and its own weights confirm. By the
 * weights of each, two optima may each lie lower than the other: then the likelier is the one. */
static bb_status find_optimum(bb_fitting *fit, bb_error *error)
{
    enum { OPTIMA_MAX = 4 };
    bool elsewhere = true, contested = false;
    for (int optimum = 0; optimum < OPTIMA_MAX && elsewhere; optimum++) {
        double sum_of_squares;
        bb_status status = bb_fit_settle(fit, false);
        if (status != BB_OK)
            return bb_error_say(error, status, "the fit did not settle in %d rounds: " SWEEP_AGAIN,
                                BB_FIT_ROUNDS);
        const bool was_contested = contested;
        contested = false;
        if (was_contested && log_posterior(fit) <= fit->kept.log) {
            status = go_back(fit, &fit->kept);
            elsewhere = false;
        } else if (optimum > 1 && bb_fit_distance(fit, fit->earlier.theta) < RESTART_LIMIT) {
            status = choose_likelier(fit);
            elsewhere = false;
        } else {
            status = finish(fit, &sum_of_squares, error);
            if (status != BB_OK)
                return status;
            elsewhere = optimum == 0 || !is_back(fit);
            keep(fit);
            if (elsewhere)
                status = prove(fit, sum_of_squares, &elsewhere, &contested, error);
        }
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

/* A reading that the optimum calls lost to the salt pulls nowhere, so the optimum cannot tell by
 * itself that a weaker salt would have let the piece be heard: look from there too, and go where it
 * is likelier. */
static bb_status hear_the_lost(bb_fitting *fit, bb_error *error)
{
    const size_t zones = fit->model->zone_count;
    if (bb_cells_lost(&fit->cells) == 0)
        return BB_OK;
    keep(fit);
    fit->kept.log = log_posterior(fit);
    double *point = calloc(bb_fit_point_count(fit), sizeof *point);
    if (point == NULL)
        return BB_MEMORY;
    point[fit->model->layout.level] = WEAK_SALT;
    for (size_t z = 0; z < zones; z++)
        point[fit->prior.count + 2 + z] = WEAK_SALT;
    bb_fit_point_set(fit, point);
    free(point);
    const bb_status status = bb_fit_settle(fit, true);
    if (status == BB_OK && log_posterior(fit) > fit->kept.log + LIKELIER)
        return find_optimum(fit, error);
    return status == BB_MEMORY ? status : go_back(fit, &fit->kept);
}

/* Rounds that stop short of their ends are quick; where they lead to no optimum, those that do not may
 * go on to one. */
bb_status bb_fit_optimum(bb_fitting *fit, bb_error *error)
{
    bb_error said = {0};
    bb_status status = find_optimum(fit, &said);
    if (status == BB_NOT_CONVERGED && !bb_cells_undecided(&fit->cells, NULL)) {
        said = (bb_error){0};
        fit->careful = true;
        status = find_optimum(fit, &said);
    }
    return status == BB_OK ? hear_the_lost(fit, error)
                           : bb_error_say(error, status, "%s", said.accepted);
}
