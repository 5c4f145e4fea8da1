/* Draws from the posterior of a visit. */
#include "posterior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>

#include "noise.h"

enum { BURN_IN = 30000, STEPS_A_DRAW = 400, LEARN_EVERY = 1000, LEARN_FROM = 20 };

#define SPREAD 2.38  /* of a step in posterior sds, over the root of the dimensions */
#define JITTER 1e-6  /* of a variance, that the covariance of steps may be factored */
#define CERTAIN 1e-9 /* of the fit's variances: what a draw leaves its parameters */

typedef struct {
    const bb_profile *fitted;
    bb_model *model;
    bb_cells cells;
    bb_answer *answers;
    size_t parameters, count;     /* count: with the noise terms */
    double *rows, *mean;          /* of the prior */
    double *start, *here, *there; /* points: parameters, then noise terms */
    double *deviates;
    double log, taken;            /* of the posterior here; steps taken */
    double *sum, *square, passed; /* of the points passed, about the start */
    double *covariance;           /* of a draw's parameters */
    bb_parameter *drawn;
    gsl_matrix *factor; /* of the covariance of steps */
} chain;

static double prior_log(const chain *c, const double *point, bb_noise *noise)
{
    const size_t p = c->parameters;
    double squares = 0;
    for (size_t i = 0; i < p; i++) {
        double off = 0;
        for (size_t j = 0; j < p; j++)
            off += c->rows[i * p + j] * (point[j] - c->mean[j]);
        squares += off * off;
    }
    for (size_t i = p; i < c->count; i++) {
        bb_parameter *term = bb_noise_term(noise, i - p);
        const double off = (point[i] - term->prior_mean) / term->prior_sd;
        term->estimate = point[i];
        squares += off * off;
    }
    return -0.5 * squares;
}

/* Of all that was read and believed, without a constant. */
static double log_at(const chain *c, const double *point)
{
    bb_noise noise = c->fitted->noise;
    double total = prior_log(c, point, &noise), score[3];
    bb_state state;
    const bb_noise_level level = bb_noise_level_of(&noise, c->model->zone_count);
    bb_status status = bb_state_set(&state, c->model, point, &level, c->answers);
    for (size_t i = 0; i < c->cells.place_count && status == BB_OK; i++) {
        const bb_site *place = &c->cells.places[i];
        const bb_reading *readings = c->cells.readings + place->first;
        bb_signal signal;
        status = bb_signal_at(&state, &place->point, NULL, &signal);
        for (size_t j = 0; j < place->count && status == BB_OK; j++)
            total += readings[j].count *
                     bb_noise_reading_log(&state, &signal, (int)readings[j].number, false, score);
    }
    return status == BB_OK && isfinite(total) ? total : -INFINITY;
}

/* Covariance of two coordinates: of the points passed, before there are any the fit's. */
static double covariance_of(const chain *c, size_t i, size_t j)
{
    const size_t p = c->parameters;
    if (c->passed > 0)
        return c->square[i * c->count + j] / c->passed -
               c->sum[i] / c->passed * (c->sum[j] / c->passed);
    if (i < p)
        return c->fitted->covariance[i * p + j];
    bb_noise noise = c->fitted->noise;
    return i == j ? pow(bb_noise_term(&noise, i - p)->sd, 2) : 0;
}

static void learn_steps(chain *c)
{
    const double share = SPREAD * SPREAD / (double)c->count;
    for (size_t i = 0; i < c->count; i++)
        for (size_t j = 0; j <= i; j++)
            gsl_matrix_set(c->factor, i, j,
                           share * covariance_of(c, i, j) * (i == j ? 1 + JITTER : 1));
    (void)gsl_linalg_cholesky_decomp1(c->factor);
}

static void note(chain *c)
{
    for (size_t i = 0; i < c->count; i++) {
        const double off = c->here[i] - c->start[i];
        c->sum[i] += off;
        for (size_t j = 0; j <= i; j++)
            c->square[i * c->count + j] += off * (c->here[j] - c->start[j]);
    }
    c->passed++;
}

static void walk(chain *c, int steps, bool learning, gsl_rng *random)
{
    for (int s = 1; s <= steps; s++) {
        for (size_t i = 0; i < c->count; i++) {
            c->deviates[i] = gsl_ran_ugaussian(random);
            c->there[i] = c->here[i];
            for (size_t j = 0; j <= i; j++)
                c->there[i] += gsl_matrix_get(c->factor, i, j) * c->deviates[j];
        }
        const double there = log_at(c, c->there);
        if (gsl_rng_uniform_pos(random) < exp(there - c->log)) {
            memcpy(c->here, c->there, c->count * sizeof *c->here);
            c->log = there;
            c->taken++;
        }
        if (learning)
            note(c);
        if (learning && s % LEARN_EVERY == 0 && s >= LEARN_FROM * (int)c->count)
            learn_steps(c);
    }
}

static bb_status make_room(chain *c)
{
    const size_t p = c->parameters, n = c->count;
    c->answers = calloc(c->model->target_count + 1, sizeof *c->answers);
    c->drawn = calloc(p, sizeof *c->drawn);
    c->factor = gsl_matrix_calloc(n, n);
    double **const rooms[] = {&c->rows,     &c->mean, &c->start,  &c->here,      &c->there,
                              &c->deviates, &c->sum,  &c->square, &c->covariance};
    const size_t sizes[] = {p * p, p, n, n, n, n, n, n * n, p * p};
    bool all = c->answers != NULL && c->drawn != NULL && c->factor != NULL;
    for (size_t i = 0; i < sizeof rooms / sizeof *rooms; i++)
        all = (*rooms[i] = calloc(sizes[i], sizeof **rooms[i])) != NULL && all;
    return all ? BB_OK : BB_MEMORY;
}

static bb_status begin(chain *c, const bb_visit *visit, const bb_profile *fitted)
{
    const size_t p = c->parameters = fitted->parameter_count;
    c->fitted = fitted;
    c->count = p + 2 + fitted->zone_count;
    bb_status status = bb_model_of(fitted, &c->model, NULL);
    if (status == BB_OK)
        status = bb_cells_new(visit, &c->cells);
    for (size_t i = 0; i < c->cells.place_count && status == BB_OK; i++)
        if (c->cells.places[i].point.zone >= 0)
            status = bb_model_remember(c->model, c->cells.places[i].point.zone,
                                       c->cells.places[i].point.height_m);
    if (status == BB_OK)
        status = make_room(c);
    if (status != BB_OK)
        return status;
    bb_noise noise = fitted->noise;
    bb_model_prior(c->model, c->rows, c->mean);
    for (size_t i = 0; i < c->count; i++)
        c->start[i] =
            i < p ? fitted->parameters[i].estimate : bb_noise_term(&noise, i - p)->estimate;
    for (size_t i = 0; i < p; i++)
        c->covariance[i * p + i] = CERTAIN * fitted->covariance[i * p + i];
    memcpy(c->here, c->start, c->count * sizeof *c->here);
    memcpy(c->drawn, fitted->parameters, p * sizeof *c->drawn);
    c->log = log_at(c, c->here);
    learn_steps(c);
    return BB_OK;
}

static void end(chain *c)
{
    bb_model_free(c->model);
    bb_cells_free(&c->cells);
    free(c->answers);
    free(c->drawn);
    gsl_matrix_free(c->factor);
    double *const rooms[] = {c->rows,     c->mean, c->start,  c->here,      c->there,
                             c->deviates, c->sum,  c->square, c->covariance};
    for (size_t i = 0; i < sizeof rooms / sizeof *rooms; i++)
        free(rooms[i]);
}

/* What would be predicted if the chain stood at the truth. */
static bb_status predictor_here(const chain *c, bb_predictor **predictor)
{
    bb_profile profile = *c->fitted;
    profile.parameters = c->drawn;
    profile.covariance = c->covariance;
    for (size_t i = 0; i < c->count; i++) {
        bb_parameter *at =
            i < c->parameters ? &c->drawn[i] : bb_noise_term(&profile.noise, i - c->parameters);
        at->estimate = c->here[i];
    }
    return bb_predictor_new(&profile, predictor, NULL);
}

bb_status posterior_draw(const bb_visit *visit, const bb_profile *fitted, gsl_rng *random,
                         bb_predictor *draws[POSTERIOR_DRAWS], double *taken)
{
    chain c = {0};
    for (int d = 0; d < POSTERIOR_DRAWS; d++)
        draws[d] = NULL;
    bb_status status = begin(&c, visit, fitted);
    if (status == BB_OK)
        walk(&c, BURN_IN, true, random);
    c.taken = 0;
    for (int d = 0; d < POSTERIOR_DRAWS && status == BB_OK; d++) {
        walk(&c, STEPS_A_DRAW, false, random);
        status = predictor_here(&c, &draws[d]);
    }
    *taken = c.taken / (POSTERIOR_DRAWS * STEPS_A_DRAW);
    end(&c);
    return status;
}

void posterior_free(bb_predictor *draws[POSTERIOR_DRAWS])
{
    for (int d = 0; d < POSTERIOR_DRAWS; d++)
        bb_predictor_free(draws[d]);
}
