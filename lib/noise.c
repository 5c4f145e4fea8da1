/* The noise terms: reading noise, wander of the sand's angle and jitter of its residual, from the
 * probability of every whole number read.
 *
 * One scoring step per call (Berndt, Hall, Hall and Hausman 1974): the information is the sum of
 * squared score of the sweeps plus that of the priors, the step is shortened until the
 * probability rises. */
#include "cells.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

enum { TERMS_MAX = 2 + BB_ZONES_MAX, HALVINGS = 12 };

#define OUTLIER_SHARE 0.01
#define LONGEST_STEP 1.0
#define SQRT_HALF 0.70710678118654752440
#define SQRT_2PI 2.50662827463100050242

double bb_cell_variance(const bb_fit_cell *cell, const bb_expected *expected, double step)
{
    return expected->variance + step * step / 12 +
           cell->laying * expected->depth_sd * expected->depth_sd;
}

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

/* Log probability of a cell's readings and its derivatives by ln s0, ln w and ln J. The half log
 * variance of its leverage gives back what the fitted parameters took. */
static double cell_score(const bb_state *state, const bb_fit_cell *cell, const bb_signal *signal,
                         double score[3])
{
    const bb_machine *machine = &state->model->machine;
    const int first = signal->air ? BB_NODES / 2 : 0, last = BB_NODES - 1 - first;
    const double s0 = state->noise.reading;
    double chance = 0, by[3] = {0, 0, 0}, mean = 0, square = 0, wander = 0;
    for (int i = first; i <= last; i++) {
        bb_node node;
        double xi = bb_node_xi(i), weight = signal->air ? 1 : bb_node_weight[i], below, above;
        bb_node_at(state, signal, xi, &node);
        mean += weight * node.number;
        square += weight * node.number * node.number;
        wander += weight * node.wander * node.wander;
        double pull = node.slope * node.by_jitter;
        /* Between nodes the number moves on: each node stands for its whole step. */
        double spread = signal->air ? 0 : pull * pull * bb_node_step * bb_node_step / 12;
        double sd = sqrt(s0 * s0 + node.wander * node.wander + spread);
        edges(machine, (int)cell->reading, node.number, sd, &below, &above);
        chance += weight * between(below, above);
        double above_density = density(above), below_density = density(below);
        double by_mean = weight * (below_density - above_density) / sd;
        double by_sd = weight * ((isinf(below) ? 0 : below * below_density) -
                                 (isinf(above) ? 0 : above * above_density)) / sd;
        double by_jitter = by_mean * pull * xi + by_sd * spread / sd;
        by[0] += by_sd * s0 * s0 / sd;
        by[1] += signal->sand ? by_jitter : by_sd * node.wander * node.wander / sd;
        by[2] += signal->sand ? 0 : by_jitter;
    }
    const double numbers =
        1 + (double)(machine->scale_high - machine->scale_low) / machine->scale_step;
    const double total = (1 - OUTLIER_SHARE) * chance + OUTLIER_SHARE / numbers;
    const double moved = fmax(square - mean * mean, 0), variance = s0 * s0 + wander + moved;
    const double share[3] = {s0 * s0, signal->sand ? moved : wander, signal->sand ? 0 : moved};
    for (int i = 0; i < 3; i++)
        score[i] = cell->count * (1 - OUTLIER_SHARE) * by[i] / total +
                   cell->leverage * share[i] / variance;
    return cell->count * log(total) + 0.5 * cell->leverage * log(variance);
}

static bb_parameter *term(bb_noise *noise, size_t index)
{
    return index == 0 ? &noise->reading : index == 1 ? &noise->wander : &noise->jitter[index - 2];
}

/* Log posterior of the noise; gradient and information may be NULL together. */
static double log_posterior(bb_state *state, const bb_signal *signals, const bb_fit_cell *cells,
                            size_t count, const bb_noise *noise, double *gradient,
                            double information[TERMS_MAX][TERMS_MAX])
{
    const size_t terms = 2 + state->model->zone_count;
    bb_noise copy = *noise;
    double total = 0;
    bb_noise_level before = state->noise;
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
    for (size_t i = 0; i < count; i++) {
        bb_signal signal = signals[i];
        const int zone = cells[i].point.zone;
        if (zone >= 0 && before.jitter[zone] > 0)
            signal.jitter *= state->noise.jitter[zone] / before.jitter[zone];
        double score[3];
        total += cell_score(state, &cells[i], &signal, score);
        if (gradient == NULL)
            continue;
        const size_t at[3] = {0, 1, zone >= 0 ? 2 + (size_t)zone : 0};
        const int used = zone >= 0 ? 3 : 2;
        for (int a = 0; a < used; a++) {
            gradient[at[a]] += score[a];
            for (int b = 0; b < used; b++)
                information[at[a]][at[b]] += score[a] * score[b] / cells[i].count;
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

bb_status bb_noise_step(bb_state *state, const bb_signal *signals, const bb_fit_cell *cells,
                        size_t count, bb_noise *noise, double *change)
{
    const size_t terms = 2 + state->model->zone_count;
    double gradient[TERMS_MAX], information[TERMS_MAX][TERMS_MAX], step[TERMS_MAX], longest = 0;
    const double start = log_posterior(state, signals, cells, count, noise, gradient, information);
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
        double value = log_posterior(state, signals, cells, count, &trial, NULL, NULL);
        if (taken > 0 && !(value > best))
            break;
        if (value >= best) {
            best = value;
            taken = scale;
        }
    }
    for (size_t t = 0; t < terms; t++)
        term(noise, t)->estimate += taken * step[t];
    *change = taken * longest;
    return BB_OK;
}
