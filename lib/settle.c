/* Settling: parameters and noise in turn until a turn leads nowhere. */
#include "fitting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "anderson.h"
#include "factor.h"

enum { ROUND_ITERATIONS = 6, PLAIN_ROUNDS = 2, SWINGING_ROUNDS = 24, HALVING_ROUNDS = 12 };

#define SETTLED 1e-2         /* standard errors that a whole turn still moves */
#define NEAR 0.1             /* standard errors from where the fit was kept: it leads there */
#define FARTHEST_AHEAD 3.0   /* times the turn's own length, or prior sds if that is shorter */
#define RISING 2.0           /* a turn that leads so many times farther than the last starts anew */
#define ROUND_TOLERANCE 1e-6 /* of half the sum of squares, within a round */
#define ROUND_LEFT 1e-2      /* of what the noise had to gain: the parameters move before its next climb */

double bb_fit_distance(const bb_fitting *fit, const double *other)
{
    const size_t p = fit->prior.count;
    double farthest = 0;
    for (size_t i = 0; i < p; i++)
        farthest =
            fmax(farthest, fabs(other[i] - fit->theta[i]) / sqrt(fit->covariance[i * p + i]));
    return farthest;
}

size_t bb_fit_point_count(const bb_fitting *fit)
{
    return fit->prior.count + 2 + fit->model->zone_count;
}

static void point_get(bb_fitting *fit, double *point)
{
    const size_t p = fit->prior.count;
    for (size_t i = 0; i < p; i++)
        point[i] = (fit->theta[i] - fit->prior.mean[i]) / fit->prior.sd[i];
    for (size_t t = 0; p + t < bb_fit_point_count(fit); t++) {
        const bb_parameter *term = bb_noise_term(&fit->noise, t);
        point[p + t] = (term->estimate - term->prior_mean) / term->prior_sd;
    }
}

void bb_fit_point_set(bb_fitting *fit, const double *point)
{
    const size_t p = fit->prior.count;
    for (size_t i = 0; i < p; i++)
        fit->theta[i] = fit->prior.mean[i] + point[i] * fit->prior.sd[i];
    for (size_t t = 0; p + t < bb_fit_point_count(fit); t++) {
        bb_parameter *term = bb_noise_term(&fit->noise, t);
        term->estimate = term->prior_mean + point[p + t] * term->prior_sd;
    }
    fit->level = bb_noise_level_of(&fit->noise, fit->model->zone_count);
}

bb_status bb_fit_stand(bb_fitting *fit, bb_state *state)
{
    bb_status status = bb_state_set(state, fit->model, fit->theta, &fit->level, fit->answers);
    if (status == BB_OK)
        status = bb_cells_weigh(&fit->cells, state);
    return status == BB_OK ? bb_cells_ready(&fit->cells, state) : status;
}

/* The covariance as the cells that are ready have it. */
static bb_status set_covariance(bb_fitting *fit)
{
    bb_curvature *curvature = &fit->curvature;
    for (size_t i = 0; i < fit->cells.place_count; i++)
        curvature->variance[i] = fit->cells.places[i].variance;
    if (!isfinite(bb_curvature_half_log(curvature, &fit->cells)))
        return BB_RANK;
    bb_factor_inverse(curvature->matrix, curvature->count, fit->covariance);
    return BB_OK;
}

/* One turn: parameters with the weights of this point, then noise with the parameters held. left: the
 * share of its gain that the noise may leave to later turns. moved: how far that led, in standard
 * errors; blocked: whether the way down was cut short before it led anywhere. */
static bb_status turn(bb_fitting *fit, bool whole, double left, bb_noise_bend *bend,
                      double *moved, bool *blocked)
{
    bb_state state;
    double change = 0, sum_of_squares;
    memcpy(fit->other, fit->theta, fit->prior.count * sizeof *fit->theta);
    bb_status status = bb_state_set(&state, fit->model, fit->theta, &fit->level, fit->answers);
    if (status == BB_OK)
        status = bb_cells_weigh(&fit->cells, &state);
    if (status != BB_OK)
        return status;
    status = bb_fit_descend(fit, fit->theta, whole ? BB_FIT_ITERATIONS : ROUND_ITERATIONS,
                            ROUND_TOLERANCE, &sum_of_squares);
    if (status == BB_MEMORY)
        return status;
    *blocked = status == BB_NOT_CONVERGED && bb_fit_distance(fit, fit->other) == 0;
    status = bb_state_set(&state, fit->model, fit->theta, &fit->level, fit->answers);
    if (status == BB_OK)
        status = bb_cells_ready(&fit->cells, &state);
    if (status == BB_OK)
        status = set_covariance(fit);
    if (status == BB_OK)
        status = bb_noise_settle(&state, &fit->cells, &fit->curvature, &fit->noise, bend, left,
                                 &change);
    fit->level = bb_noise_level_of(&fit->noise, fit->model->zone_count);
    *moved = fmax(change, bb_fit_distance(fit, fit->other));
    return status;
}

static double longest(const double *from, const double *to, size_t count)
{
    double most = 0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, fabs(to[i] - from[i]));
    return most;
}

/* Where to go on after a turn from point: ahead of it by acceleration where that can be believed,
 * and half way where turns have swung for long. */
static void advance(bb_fitting *fit, int round, bool rising, double *point, bb_anderson *history)
{
    const size_t count = bb_fit_point_count(fit);
    double *turned = point + count, *ahead = point + 2 * count;
    if (round <= PLAIN_ROUNDS)
        return;
    point_get(fit, turned);
    if (round > SWINGING_ROUNDS) {
        const int swung = round - SWINGING_ROUNDS + HALVING_ROUNDS;
        const double share = 1 / (1 + (double)swung / HALVING_ROUNDS);
        for (size_t i = 0; i < count; i++)
            ahead[i] = point[i] + share * (turned[i] - point[i]);
        bb_fit_point_set(fit, ahead);
        return;
    }
    if (rising)
        bb_anderson_forget(history);
    memcpy(ahead, turned, count * sizeof *ahead);
    bb_anderson_step(history, point, ahead);
    if (longest(point, ahead, count) <= FARTHEST_AHEAD * fmax(1, longest(point, turned, count)))
        bb_fit_point_set(fit, ahead);
    else
        bb_anderson_forget(history);
}

/* Whether the fit is back where it was kept, with about the noise it had there. */
static bool is_home(bb_fitting *fit)
{
    if (bb_fit_distance(fit, fit->kept.theta) > NEAR)
        return false;
    for (size_t t = 0; t < 2 + fit->model->zone_count; t++) {
        const bb_parameter *here = bb_noise_term(&fit->noise, t);
        if (fabs(here->estimate - bb_noise_term(&fit->kept.noise, t)->estimate) > NEAR * here->sd)
            return false;
    }
    return true;
}

bb_status bb_fit_settle(bb_fitting *fit, bool homeward)
{
    bb_anderson history;
    bb_noise_bend bend = {.known = false};
    double *point = calloc(3 * bb_fit_point_count(fit), sizeof *point);
    bb_status status =
        point == NULL ? BB_MEMORY : bb_anderson_new(&history, bb_fit_point_count(fit));
    if (status != BB_OK) {
        free(point);
        return status;
    }
    double moved = INFINITY, before;
    bool back = false, blocked = false;
    for (int round = 1; round <= BB_FIT_ROUNDS && status == BB_OK; round++) {
        point_get(fit, point);
        before = moved;
        const bool whole = round == 1 || round > SWINGING_ROUNDS || blocked || fit->careful;
        const double left = whole && round > 1 ? 0 : ROUND_LEFT;
        status = turn(fit, whole, left, &bend, &moved, &blocked);
        blocked = blocked && !whole;
        if (round >= SWINGING_ROUNDS)
            bb_cells_note_trust(&fit->cells, round == SWINGING_ROUNDS);
        fit->evidence.rounds++;
        back = status == BB_OK && homeward && is_home(fit);
        if (status != BB_OK || back || (!blocked && moved < SETTLED))
            break;
        advance(fit, round, moved > RISING * before, point, &history);
    }
    bb_anderson_free(&history);
    free(point);
    return status == BB_OK && !back && !(moved < SETTLED) ? BB_NOT_CONVERGED : status;
}
