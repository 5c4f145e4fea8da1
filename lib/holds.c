/* Whether fresh readings are those that a profile expects, and what moved when they are not.
 *
 * Three statistics are asked: the squared distance of every place's mean from its expectation, in
 * the metric of their covariance (noise, and the doubt of the parameters, which all share); the
 * same of bare sand alone; and how far the spread of bare sand is from the one expected. Their
 * distribution is not taken from a table: sets of readings are drawn from the profile, with the
 * doubt of its parameters and of the sand's spread, and each statistic is ranked among them (Besag
 * and Clifford 1989, Biometrika 76:633). The p value is the share of sets whose lowest rank is at
 * least as low (Westfall and Young 1993, Resampling-Based Multiple Testing, the min p, from
 * memory). */
#include "holds.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "cells.h"
#include "predictor.h"

enum { DRAWS = 999, SEED = 20260509, FEWEST = 3 };

/* What is asked of a set of readings. */
enum { ALL_MEANS, SAND_MEANS, SAND_SPREADS, ASKED };

#define HOLDS_ABOVE 0.01
#define LEAST_SPREAD 0.05 /* of the variance expected: whole numbers may agree by chance */

typedef struct {
    const bb_predictor *predictor;
    bb_cells cells;
    size_t count, parameters;
    gsl_matrix *gradients;  /* places x parameters */
    gsl_matrix *root;       /* Cholesky factor of the covariance of the place means */
    gsl_matrix *theta_root; /* of the parameters' covariance */
    gsl_vector *expected, *off, *white, *draw, *along;
    struct {
        double one;      /* variance of one reading */
        double laying;   /* variance that all its readings share */
        double doubt;    /* variance of its expectation, from the parameters */
        double spread;   /* variance of the set's readings about their mean */
    } *at;               /* each place */
    double (*asked)[ASKED]; /* of the set that was read, then of those drawn */
    gsl_rng *rng;
} holding;

static bool make_room(holding *h)
{
    const size_t n = h->count, p = h->parameters;
    h->gradients = gsl_matrix_calloc(n, p);
    h->root = gsl_matrix_calloc(n, n);
    h->theta_root = gsl_matrix_calloc(p, p);
    h->expected = gsl_vector_alloc(n);
    h->off = gsl_vector_alloc(n);
    h->white = gsl_vector_alloc(n);
    h->draw = gsl_vector_alloc(p);
    h->along = gsl_vector_alloc(n);
    /* NOLINTNEXTLINE(clang-analyzer-optin.portability.UnixAPI): FEWEST readings have a place */
    h->at = calloc(n, sizeof *h->at);
    h->asked = calloc(1 + DRAWS, sizeof *h->asked);
    h->rng = gsl_rng_alloc(gsl_rng_mt19937);
    return h->gradients && h->root && h->theta_root && h->expected && h->off && h->white &&
           h->draw && h->along && h->at && h->asked && h->rng;
}

static void release(holding *h)
{
    bb_cells_free(&h->cells);
    gsl_matrix_free(h->gradients);
    gsl_matrix_free(h->root);
    gsl_matrix_free(h->theta_root);
    gsl_vector_free(h->expected);
    gsl_vector_free(h->off);
    gsl_vector_free(h->white);
    gsl_vector_free(h->draw);
    gsl_vector_free(h->along);
    free(h->at);
    free(h->asked);
    if (h->rng != NULL)
        gsl_rng_free(h->rng);
}

/* Expectations, gradients and the covariance of the place means. */
static bb_status expect_all(holding *h)
{
    const bb_predictor *predictor = h->predictor;
    const double step = predictor->model->machine.scale_step;
    for (size_t i = 0; i < h->count; i++) {
        bb_site *place = &h->cells.places[i];
        bb_expected expected;
        bb_gradient gradient;
        bb_status status = bb_signal_at(&predictor->state, &place->point, NULL, &place->signal);
        if (status == BB_OK)
            status = bb_expect(&predictor->state, &place->point, &expected, &gradient);
        if (status != BB_OK)
            return status;
        gsl_vector_set(h->expected, i, expected.mean);
        h->at[i].one = bb_reading_variance(&expected, step);
        h->at[i].laying = bb_laying_variance(&expected, step);
        place->variance = h->at[i].one / place->sweeps + h->at[i].laying;
        for (int c = 0; c < gradient.count; c++)
            if (gradient.column[c] >= 0)
                gsl_matrix_set(h->gradients, i, (size_t)gradient.column[c], gradient.value[c]);
    }
    const size_t p = h->parameters;
    gsl_matrix_const_view covariance = gsl_matrix_const_view_array(predictor->covariance, p, p);
    gsl_matrix_memcpy(h->theta_root, &covariance.matrix);
    if (gsl_linalg_cholesky_decomp1(h->theta_root) != 0)
        return BB_RANK;
    gsl_matrix *spread = gsl_matrix_alloc(h->count, p);
    if (spread == NULL)
        return BB_MEMORY;
    gsl_matrix_memcpy(spread, h->gradients);
    gsl_blas_dtrmm(CblasRight, CblasLower, CblasNoTrans, CblasNonUnit, 1, h->theta_root, spread);
    gsl_blas_dsyrk(CblasLower, CblasNoTrans, 1, spread, 0, h->root);
    gsl_matrix_free(spread);
    for (size_t i = 0; i < h->count; i++) {
        double *variance = gsl_matrix_ptr(h->root, i, i);
        h->at[i].doubt = *variance;
        *variance += h->cells.places[i].variance;
    }
    return gsl_linalg_cholesky_decomp1(h->root) == 0 ? BB_OK : BB_RANK;
}

/* Squared distance of the place means in h->off. */
static double distance(holding *h)
{
    double squared = 0;
    gsl_vector_memcpy(h->white, h->off);
    gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, h->root, h->white);
    gsl_blas_ddot(h->white, h->white, &squared);
    return squared;
}

/* One more number of a place: the mean and the sum of squares about it (Welford 1962). */
static void add_number(double number, double count, double swept, double *mean, double *squares)
{
    const double before = number - *mean;
    *mean += count / swept * before;
    *squares += count * before * (number - *mean);
}

static void set_off(holding *h, size_t place, double mean, double squares)
{
    gsl_vector_set(h->off, place, mean - gsl_vector_get(h->expected, place));
    h->at[place].spread = squares / fmax(h->cells.places[place].sweeps - 1, 1);
}

/* One number of a place whose expectation the drawn parameters have shifted. */
static double draw_number(holding *h, const bb_site *place, double shift, double wider)
{
    const bb_machine *machine = &h->predictor->model->machine;
    const bb_state *state = &h->predictor->state;
    bb_node node;
    bb_node_at(state, &place->signal, wider * gsl_ran_gaussian(h->rng, 1), &node);
    const double noise = hypot(state->noise.reading, node.wander);
    const double number = node.number + shift + gsl_ran_gaussian(h->rng, noise);
    const double steps = round((number - machine->scale_low) / machine->scale_step);
    return fmin(machine->scale_low + fmax(steps, 0) * machine->scale_step, machine->scale_high);
}

/* How much wider than expected bare sand may spread: what the sweeps that it was learned from leave
 * open, which all of a place's readings share (so that each has the prediction's own tail). */
static double draw_wider(holding *h, const bb_site *place)
{
    if (!place->signal.sand)
        return 1;
    const double freedom = h->predictor->bare[place->point.zone].number_swept + 3;
    return sqrt(freedom / gsl_ran_chisq(h->rng, freedom));
}

/* A set of readings. The parameters' doubt moves expectations along their gradients, as in every
 * prediction, and each laying has its own errors. */
static void draw_all(holding *h)
{
    for (size_t i = 0; i < h->parameters; i++)
        gsl_vector_set(h->draw, i, gsl_ran_gaussian(h->rng, 1));
    gsl_blas_dtrmv(CblasLower, CblasNoTrans, CblasNonUnit, h->theta_root, h->draw);
    gsl_blas_dgemv(CblasNoTrans, 1, h->gradients, h->draw, 0, h->along);
    for (size_t i = 0; i < h->count; i++) {
        const bb_site *place = &h->cells.places[i];
        const double shift =
            gsl_vector_get(h->along, i) + gsl_ran_gaussian(h->rng, sqrt(h->at[i].laying));
        const double wider = draw_wider(h, place);
        double mean = 0, squares = 0;
        for (double n = 1; n <= place->sweeps; n++)
            add_number(draw_number(h, place, shift, wider), 1, n, &mean, &squares);
        set_off(h, i, mean, squares);
    }
}

static void read_all(holding *h)
{
    for (size_t i = 0; i < h->count; i++) {
        const bb_site *place = &h->cells.places[i];
        double mean = 0, squares = 0, swept = 0;
        for (size_t j = place->first; j < place->first + place->count; j++) {
            const bb_reading *reading = &h->cells.readings[j];
            swept += reading->count;
            add_number(reading->number, reading->count, swept, &mean, &squares);
        }
        set_off(h, i, mean, squares);
    }
}

/* The variance of bare sand in a run of places, over the one expected; its mean, and the sweeps. */
static double sand_of(const holding *h, size_t first, size_t next, double *mean, double *swept)
{
    double squares = 0;
    *mean = *swept = 0;
    for (size_t j = first; j < next; j++) {
        const double sweeps = h->cells.places[j].sweeps;
        *swept += sweeps;
        add_number(gsl_vector_get(h->off, j), sweeps, *swept, mean, &squares);
        squares += h->at[j].spread * (sweeps - 1);
    }
    return fmax(squares / fmax(*swept - 1, 1) / h->at[first].one, LEAST_SPREAD);
}

/* Minus twice the log likelihood ratio of a normal variance. */
static double spread_distance(double ratio, double swept)
{
    return (swept - 1) * (ratio - 1 - log(ratio));
}

/* What is asked of the set in h->off and h->spread. */
static void ask(holding *h, double asked[ASKED])
{
    asked[ALL_MEANS] = distance(h);
    asked[SAND_MEANS] = asked[SAND_SPREADS] = 0;
    for (size_t i = 0, next; i < h->count; i = next) {
        double swept, mean;
        next = bb_cells_next(&h->cells, i);
        const double ratio = sand_of(h, i, next, &mean, &swept);
        if (!h->cells.places[i].signal.sand)
            continue;
        asked[SAND_MEANS] +=
            mean * mean / (h->at[i].doubt + h->at[i].one / swept + h->at[i].laying);
        asked[SAND_SPREADS] += spread_distance(ratio, swept);
    }
}

/* How much of the distance one change explains: (d' S^-1 r)^2 / (d' S^-1 d), and how large it is.
 * h->white holds the readings' own whitened distance; h->along the change's direction. */
static double explained(holding *h, double *amount)
{
    double along = 0, length = 0;
    gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, h->root, h->along);
    gsl_blas_ddot(h->along, h->white, &along);
    gsl_blas_ddot(h->along, h->along, &length);
    *amount = length > 0 ? along / length : 0;
    return length > 0 ? along * along / length : 0;
}

static void try_change(holding *h, bb_change change, int of, double *best, bb_check *check)
{
    double amount, gain = explained(h, &amount);
    if (gain > *best) {
        *best = gain;
        check->change = change;
        check->change_of = of;
        check->change_amount = amount;
    }
}

static void along_column(holding *h, int column)
{
    gsl_vector_const_view from = gsl_matrix_const_column(h->gradients, (size_t)column);
    gsl_vector_memcpy(h->along, &from.vector);
}

/* The zone whose spread is farthest from the one expected. */
static void name_spread(const holding *h, bb_check *check)
{
    double farthest = -1, swept, mean;
    check->change = BB_CHANGE_SPREAD;
    for (size_t i = 0, next; i < h->count; i = next) {
        next = bb_cells_next(&h->cells, i);
        const double ratio = sand_of(h, i, next, &mean, &swept);
        if (!h->cells.places[i].signal.sand || spread_distance(ratio, swept) <= farthest)
            continue;
        farthest = spread_distance(ratio, swept);
        check->change_of = h->cells.places[i].point.zone;
        check->change_amount = sqrt(ratio);
    }
}

static void name_change(holding *h, int farthest, bb_check *check)
{
    const bb_model *model = h->predictor->model;
    double best = 0;
    read_all(h);
    if (farthest == SAND_SPREADS) {
        name_spread(h, check);
        return;
    }
    (void)distance(h);
    for (size_t z = 0; z < model->zone_count; z++) {
        along_column(h, model->layout.residual[z]);
        try_change(h, BB_CHANGE_SALT, (int)z, &best, check);
        along_column(h, model->layout.angle[z]);
        try_change(h, BB_CHANGE_ANGLE, (int)z, &best, check);
    }
    gsl_vector_set_all(h->along, 1);
    try_change(h, BB_CHANGE_CURVE, -1, &best, check);
    for (size_t k = 0; k < model->target_count; k++) {
        for (size_t i = 0; i < h->count; i++)
            gsl_vector_set(h->along, i, h->cells.places[i].point.target == (int)k);
        try_change(h, BB_CHANGE_TARGET, (int)k, &best, check);
    }
}

static int falling(const void *one, const void *other)
{
    const double a = *(const double *)one, b = *(const double *)other;
    return (a < b) - (a > b);
}

/* Of each set its lowest rank from the far end, over all that is asked; then the share of sets
 * whose rank is at most that of the set read. farthest: which of what is asked gave it its rank, of
 * equals the one in which it is farther beyond the next set. */
static double lowest_rank_p(const holding *h, int *farthest)
{
    double sorted[1 + DRAWS], ranks[1 + DRAWS], farthest_ahead = 0;
    for (int set = 0; set <= DRAWS; set++)
        ranks[set] = INFINITY;
    for (int asked = 0; asked < ASKED; asked++) {
        for (int set = 0; set <= DRAWS; set++)
            sorted[set] = h->asked[set][asked];
        qsort(sorted, 1 + DRAWS, sizeof *sorted, falling);
        for (int set = 0; set <= DRAWS; set++) {
            int low = 0, high = 1 + DRAWS; /* sets at least as far */
            while (low < high) {
                const int middle = (low + high) / 2;
                if (sorted[middle] >= h->asked[set][asked])
                    low = middle + 1;
                else
                    high = middle;
            }
            if (set == 0) {
                const double ahead = low <= DRAWS ? h->asked[0][asked] / sorted[low] : 0;
                if (low < ranks[0] || (low == ranks[0] && ahead > farthest_ahead)) {
                    farthest_ahead = ahead;
                    *farthest = asked;
                }
            }
            ranks[set] = fmin(ranks[set], low);
        }
    }
    int as_low = 0;
    for (int set = 0; set <= DRAWS; set++)
        as_low += ranks[set] <= ranks[0];
    return as_low / (1.0 + DRAWS);
}

static bb_status test(holding *h, bb_check *check)
{
    bb_status status = expect_all(h);
    if (status != BB_OK)
        return status;
    read_all(h);
    ask(h, h->asked[0]);
    gsl_rng_set(h->rng, SEED);
    for (int draw = 1; draw <= DRAWS; draw++) {
        draw_all(h);
        ask(h, h->asked[draw]);
    }
    int farthest = 0;
    check->p_value = lowest_rank_p(h, &farthest);
    check->holds = check->p_value >= HOLDS_ABOVE;
    if (!check->holds)
        name_change(h, farthest, check);
    return BB_OK;
}

bb_status bb_holds_test(const bb_predictor *predictor, const bb_visit *fresh, bb_check *check)
{
    holding h = {.predictor = predictor, .parameters = predictor->parameter_count};
    check->p_value = NAN;
    check->change_of = -1;
    bb_status status = bb_cells_new(fresh, &h.cells);
    h.count = h.cells.place_count;
    for (size_t i = 0; i < h.count; i++)
        check->readings += h.cells.places[i].sweeps;
    if (status == BB_OK && !check->learned_from && !check->dialled_in &&
        check->readings >= FEWEST)
        status = make_room(&h) ? test(&h, check) : BB_MEMORY;
    release(&h);
    return status;
}
