/* The noise terms: reading noise, wander of the sand's angle and jitter of its residual, from the
 * probability of every whole number read.
 *
 * One scoring step per call (Berndt, Hall, Hall and Hausman 1974): the information is the sum of
 * squared score of the sweeps plus that of the priors, the step is shortened until the
 * probability rises. */
#include "cells.h"
#include "predictor.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

enum { TERMS_MAX = 2 + BB_ZONES_MAX, HALVINGS = 12 };

#define OUTLIER_SHARE 0.01
#define LONGEST_STEP 1.0
#define FAR_SD 9.0 /* a node so far from a number gives it nothing */
#define SQRT_HALF 0.70710678118654752440
#define SQRT_2PI 2.50662827463100050242

/* Distance of the edges of a number's interval in standard deviations, infinite at the ends. */
static void edges(const bb_machine *machine, int number, double mean, double sd, double *below,
                  double *above)
{
    const double half = 0.5 * machine->scale_step;
    *below = number <= machine->scale_low ? -INFINITY : (number - half - mean) / sd;
    *above = number >= machine->scale_high ? INFINITY : (number + half - mean) / sd;
}

/* Probability between two edges, taken from the nearer tail so that it keeps its digits. */
static double between(double below, double above)
{
    return below > 0 ? 0.5 * (erfc(below * SQRT_HALF) - erfc(above * SQRT_HALF))
                     : 0.5 * (erfc(-above * SQRT_HALF) - erfc(-below * SQRT_HALF));
}

double bb_number_chance(const bb_machine *machine, int number, double mean, double sd)
{
    double below, above;
    edges(machine, number, mean, sd, &below, &above);
    return between(below, above);
}

static double density(double z)
{
    return isinf(z) ? 0 : exp(-0.5 * z * z) / SQRT_2PI;
}

/* One place's nodes with the noise on them. */
typedef struct {
    int count;
    struct {
        double weight, number, sd;
        double pull_xi; /* d number / d ln of what spreads the nodes */
        double spread, wander; /* variances: between nodes, from the ground's wander */
    } at[BB_NODES];
    double variance;
    double share[3]; /* of it, from s0, w and J */
} noisy_nodes;

static void set_nodes(const bb_state *state, const bb_signal *signal, noisy_nodes *nodes)
{
    const double s0 = state->noise.reading;
    double mean = 0, square = 0, wander = 0;
    nodes->count = signal->air ? 1 : BB_NODES;
    for (int i = 0; i < nodes->count; i++) {
        const double xi = signal->air ? 0 : bb_node_xi(i);
        const double weight = signal->air ? 1 : bb_node_weight[i];
        bb_node node;
        bb_node_at(state, signal, xi, &node);
        const double pull = signal->air ? 0 : node.slope * node.by_jitter;
        /* Between nodes the number moves on: each node stands for its whole step. */
        const double spread = pull * pull * bb_node_step * bb_node_step / 12;
        nodes->at[i].weight = weight;
        nodes->at[i].number = node.number;
        nodes->at[i].pull_xi = pull * xi;
        nodes->at[i].spread = spread;
        nodes->at[i].wander = node.wander * node.wander;
        nodes->at[i].sd = sqrt(s0 * s0 + node.wander * node.wander + spread);
        mean += weight * node.number;
        square += weight * node.number * node.number;
        wander += weight * node.wander * node.wander;
    }
    const double moved = fmax(square - mean * mean, 0);
    nodes->variance = s0 * s0 + wander + moved;
    nodes->share[0] = s0 * s0;
    nodes->share[1] = signal->sand ? moved : wander;
    nodes->share[2] = signal->sand ? 0 : moved;
}

/* Log probability of one reading and its derivatives by ln s0, ln w and ln J. */
static double reading_score(const bb_machine *machine, const noisy_nodes *nodes, bool sand,
                            double s0, int number, double score[3])
{
    double chance = 0, by[3] = {0, 0, 0};
    for (int i = 0; i < nodes->count; i++) {
        const double weight = nodes->at[i].weight, sd = nodes->at[i].sd;
        double below, above;
        edges(machine, number, nodes->at[i].number, sd, &below, &above);
        if (below > FAR_SD || above < -FAR_SD)
            continue;
        chance += weight * between(below, above);
        const double above_density = density(above), below_density = density(below);
        const double by_mean = weight * (below_density - above_density) / sd;
        const double by_sd = weight * ((isinf(below) ? 0 : below * below_density) -
                                       (isinf(above) ? 0 : above * above_density)) / sd;
        const double by_jitter = by_mean * nodes->at[i].pull_xi + by_sd * nodes->at[i].spread / sd;
        by[0] += by_sd * s0 * s0 / sd;
        by[1] += sand ? by_jitter : by_sd * nodes->at[i].wander / sd;
        by[2] += sand ? 0 : by_jitter;
    }
    const double numbers = (double)bb_scale_count(machine);
    const double total = (1 - OUTLIER_SHARE) * chance + OUTLIER_SHARE / numbers;
    for (int i = 0; i < 3; i++)
        score[i] = (1 - OUTLIER_SHARE) * by[i] / total;
    return log(total);
}

static bb_parameter *term(bb_noise *noise, size_t index)
{
    return index == 0 ? &noise->reading : index == 1 ? &noise->wander : &noise->jitter[index - 2];
}

/* Log posterior of the noise; gradient and information may be NULL together. The half log variance
 * of a place's leverage gives back what the fitted parameters took. */
static double log_posterior(bb_state *state, const bb_cells *cells, const bb_noise *noise,
                            double *gradient, double information[TERMS_MAX][TERMS_MAX])
{
    const bb_machine *machine = &state->model->machine;
    const size_t terms = 2 + state->model->zone_count;
    bb_noise copy = *noise;
    double total = 0;
    const bb_noise_level before = state->noise;
    state->noise = bb_noise_level_of(noise, state->model->zone_count);
    for (size_t t = 0; t < terms; t++) {
        const bb_parameter *p = term(&copy, t);
        double distance = (p->estimate - p->prior_mean) / p->prior_sd;
        total -= 0.5 * distance * distance;
        if (gradient != NULL) {
            gradient[t] = -distance / p->prior_sd;
            memset(information[t], 0, sizeof information[t]);
            information[t][t] = 1 / (p->prior_sd * p->prior_sd);
        }
    }
    for (size_t i = 0; i < cells->place_count; i++) {
        const bb_site *place = &cells->places[i];
        const int zone = place->point.zone;
        bb_signal signal = place->signal;
        if (zone >= 0)
            signal.jitter *= state->noise.jitter[zone] / before.jitter[zone];
        noisy_nodes nodes;
        set_nodes(state, &signal, &nodes);
        total += 0.5 * place->leverage * log(nodes.variance);
        const size_t at[3] = {0, 1, zone >= 0 ? 2 + (size_t)zone : 0};
        const int used = zone >= 0 ? 3 : 2;
        for (int a = 0; gradient != NULL && a < used; a++)
            gradient[at[a]] += place->leverage * nodes.share[a] / nodes.variance;
        for (size_t j = place->first; j < place->first + place->count; j++) {
            const bb_reading *reading = &cells->readings[j];
            double score[3];
            total += reading->count * reading_score(machine, &nodes, signal.sand,
                                                    state->noise.reading, (int)reading->number,
                                                    score);
            for (int a = 0; gradient != NULL && a < used; a++) {
                gradient[at[a]] += reading->count * score[a];
                for (int b = 0; b < used; b++)
                    information[at[a]][at[b]] += reading->count * score[a] * score[b];
            }
        }
    }
    state->noise = before;
    return total;
}

/* Inverse information in place; false when it is not positive definite. */
static bool invert(double information[TERMS_MAX][TERMS_MAX], size_t terms)
{
    gsl_matrix_view matrix = gsl_matrix_view_array_with_tda(information[0], terms, terms, TERMS_MAX);
    return gsl_linalg_cholesky_decomp1(&matrix.matrix) == 0 &&
           gsl_linalg_cholesky_invert(&matrix.matrix) == 0;
}

bb_status bb_noise_step(bb_state *state, const bb_cells *cells, double share, bb_noise *noise,
                        double *change)
{
    const size_t terms = 2 + state->model->zone_count;
    double gradient[TERMS_MAX], information[TERMS_MAX][TERMS_MAX], step[TERMS_MAX], longest = 0;
    const double start = log_posterior(state, cells, noise, gradient, information);
    if (!isfinite(start) || !invert(information, terms))
        return BB_NOT_CONVERGED;
    for (size_t t = 0; t < terms; t++) {
        step[t] = 0;
        for (size_t u = 0; u < terms; u++)
            step[t] += information[t][u] * gradient[u];
        term(noise, t)->sd = sqrt(information[t][t]);
        longest = fmax(longest, fabs(step[t]));
    }
    /* Half a step is tried beside each whole one: the scores alone tend to overshoot. */
    double best = start, taken = 0, scale = longest > LONGEST_STEP ? LONGEST_STEP / longest : 1;
    for (int halving = 0; halving < HALVINGS; halving++, scale /= 2) {
        bb_noise trial = *noise;
        for (size_t t = 0; t < terms; t++)
            term(&trial, t)->estimate += scale * step[t];
        double value = log_posterior(state, cells, &trial, NULL, NULL);
        if (taken > 0 && !(value > best))
            break;
        if (value >= best) {
            best = value;
            taken = scale;
        }
    }
    for (size_t t = 0; t < terms; t++)
        term(noise, t)->estimate += share * taken * step[t];
    *change = taken * longest;
    return BB_OK;
}
