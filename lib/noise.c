/* The noise terms: reading noise, wander of the sand's angle and jitter of its residual, from the
 * probability of every whole number read.
 *
 * A quasi-Newton climb whose first curvature is that of the scores (Berndt, Hall, Hall and Hausman
 * 1974): the sum of squared score of the sweeps plus that of the priors. The next climb goes on with
 * the curvature that the last one learned. */
#include "noise.h"

#include "constants.h"
#include "jitter.h"
#include "predictor.h"
#include "repeats.h"

#include <limits.h>
#include <math.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

enum { TERMS_MAX = BB_NOISE_TERMS_MAX, HALVINGS = 12, STEPS_MAX = 30, NODES = 19, SEEN_MAX = 32 };
enum { NONE = INT_MIN / 2 }; /* no number of any scale, nor beside one */

/* exp(-xi^2/2) at xi = -3.6, -3.2, ..., 3.6, scaled to sum to one. */
static const double node_weight[NODES] = {
    2.447927593208423e-04, 9.537599091938334e-04, 3.166594414742120e-03, 8.958982795739024e-03,
    2.159920899204406e-02, 4.437413227689341e-02, 7.768457310165890e-02, 1.158917647787735e-01,
    1.473273075042639e-01, 1.595977669347409e-01, 1.473273075042639e-01, 1.158917647787735e-01,
    7.768457310165890e-02, 4.437413227689341e-02, 2.159920899204406e-02, 8.958982795739024e-03,
    3.166594414742120e-03, 9.537599091938334e-04, 2.447927593208423e-04};

#define LONGEST_STEP 1.0
#define DECREMENT 1e-6 /* twice what the log posterior has still to gain */
#define FAR 1.0        /* with more to gain, curvature learned before says little */
#define FAR_SD 9.0 /* a node so far from a number gives it nothing */
#define SQRT_HALF 0.70710678118654752440
#define SQRT_2PI 2.50662827463100050242

/* Distance of the edges of the numbers from low to high in standard deviations, infinite at the ends. */
static void edges(const bb_machine *machine, int low, int high, double mean, double per_sd,
                  double *below, double *above)
{
    const double half = 0.5 * machine->scale_step;
    *below = low <= machine->scale_low ? -INFINITY : (low - half - mean) * per_sd;
    *above = high >= machine->scale_high ? INFINITY : (high + half - mean) * per_sd;
}

/* Probability between two edges, taken from the nearer tail so that it keeps its digits. */
static double between(double below, double above)
{
    return below > 0 ? 0.5 * (erfc(below * SQRT_HALF) - erfc(above * SQRT_HALF))
                     : 0.5 * (erfc(-above * SQRT_HALF) - erfc(-below * SQRT_HALF));
}

double bb_band_chance(const bb_machine *machine, int low, int high, double mean, double sd)
{
    double below, above;
    edges(machine, low, high, mean, 1 / sd, &below, &above);
    return between(below, above);
}

double bb_number_chance(const bb_machine *machine, int number, double mean, double sd)
{
    return bb_band_chance(machine, number, number, mean, sd);
}

/* An edge between two numbers as a node sees it: in standard deviations, and the chance on either
 * side of it. The numbers there share it. */
typedef struct {
    double z, below, above, density;
} edge;

static edge edge_at(double z)
{
    const double tail = 0.5 * erfc(fabs(z) * SQRT_HALF);
    return (edge){.z = isinf(z) ? 0 : z,
                  .below = z > 0 ? 1 - tail : tail,
                  .above = z > 0 ? tail : 1 - tail,
                  .density = exp(-0.5 * z * z) / SQRT_2PI};
}

/* One place's nodes with the noise on them. What spreads the nodes, whose logarithm they move with,
 * is the jitter, and the wander over bare sand. */
typedef struct {
    int count;
    struct {
        double weight, number, per_sd;      /* per_sd: one over the standard deviation */
        double weight_by, number_by, sd_by; /* derivatives by the logarithm of what spreads them */
        double wander, wander_by;           /* variance, from the ground's wander */
        edge top;                           /* of the number looked at last, */
        int top_of;                         /* this one, or NONE */
    } at[NODES + 1];
    double variance;
    double half_by[3]; /* half its derivatives by ln s0, ln w and ln J */
    struct {
        int number;
        double log, score[3];
    } seen[SEEN_MAX]; /* numbers whose chance has been taken */
    int seen_count;
} noisy_nodes;

/* The angle turns and the total response grows with the logarithm of what spreads the nodes. */
static void add_node(const bb_state *state, const bb_signal *signal, double turnover,
                     const bb_stretch *over, noisy_nodes *nodes)
{
    const double s0 = state->noise.reading;
    const double cut = over->width_by != 0 ? turnover : 0; /* which shrinks as the jitter grows */
    bb_node node;
    bb_node_at(state, signal, over->middle, &node);
    const double moved = over->middle - cut * over->middle_by, turned = node.by_jitter * moved;
    const double bent = node.slope > 0 ? turned * bb_curve_bend(&state->curve, node.angle_deg) /
                                             node.slope
                                       : 0;
    const double grown = signal->sand ? 0
                                      : signal->jitter * moved *
                                            (node.by_x * cimag(signal->ground) -
                                             node.by_r * creal(signal->ground)) / BB_DEG;
    /* Between nodes the number moves on: each node stands for its whole stretch. */
    const double pull = node.slope * node.by_jitter;
    const double spread = pull * pull * over->width * over->width / 12;
    const double wander = node.wander * node.wander, sd = sqrt(s0 * s0 + wander + spread);
    const double widened = over->width > 0 ? -cut * over->width_by / over->width : 0;
    const int i = nodes->count++;
    nodes->at[i].weight = over->weight;
    nodes->at[i].weight_by = -cut * over->weight_by;
    nodes->at[i].number = node.number;
    nodes->at[i].per_sd = 1 / sd;
    nodes->at[i].number_by = pull * moved;
    nodes->at[i].wander = wander;
    nodes->at[i].top_of = NONE;
    nodes->at[i].wander_by = 2 * wander * (bent - grown);
    nodes->at[i].sd_by =
        (2 * spread * (1 + bent - 2 * grown + widened) + nodes->at[i].wander_by) / (2 * sd);
}

static void add_all_nodes(const bb_state *state, const bb_signal *signal, noisy_nodes *nodes)
{
    const double turnover = bb_turnover(signal);
    for (int i = 0; i < NODES; i++) {
        bb_stretch over[2];
        const int count = bb_stretches(BB_CHANCE_STEP * (i - NODES / 2), BB_CHANCE_STEP,
                                       node_weight[i], turnover, over);
        for (int k = 0; k < count; k++)
            add_node(state, signal, turnover, &over[k], nodes);
    }
}

static void add_few_nodes(const bb_state *state, const bb_signal *signal, const bb_few_nodes *few,
                          noisy_nodes *nodes)
{
    bb_deviates at;
    bb_few_deviates(few, &at);
    for (int i = 0; i < at.count; i++) {
        const bb_stretch over = {
            .middle = at.deviate[i], .width = BB_CHANCE_STEP, .weight = at.weight[i]};
        add_node(state, signal, -INFINITY, &over, nodes);
    }
}

/* few: NULL for all nodes. */
static void set_nodes(const bb_state *state, const bb_signal *signal, const bb_few_nodes *few,
                      noisy_nodes *nodes)
{
    const double s0 = state->noise.reading;
    const bb_stretch whole = {.width = BB_CHANCE_STEP, .weight = 1};
    nodes->count = nodes->seen_count = 0;
    if (signal->air)
        add_node(state, signal, -INFINITY, &whole, nodes);
    else if (few != NULL)
        add_few_nodes(state, signal, few, nodes);
    else
        add_all_nodes(state, signal, nodes);
    double mean = 0, square = 0, wander = 0, mean_by = 0, square_by = 0, wander_by = 0;
    for (int i = 0; i < nodes->count; i++) {
        const double weight = nodes->at[i].weight, weight_by = nodes->at[i].weight_by;
        const double number = nodes->at[i].number;
        mean += weight * number;
        square += weight * number * number;
        wander += weight * nodes->at[i].wander;
        mean_by += weight * nodes->at[i].number_by + weight_by * number;
        square_by += (2 * weight * nodes->at[i].number_by + weight_by * number) * number;
        wander_by += weight * nodes->at[i].wander_by + weight_by * nodes->at[i].wander;
    }
    const double half_spread_by = 0.5 * (wander_by + square_by - 2 * mean * mean_by);
    nodes->variance = s0 * s0 + wander + fmax(square - mean * mean, 0);
    nodes->half_by[0] = s0 * s0;
    nodes->half_by[1] = signal->sand ? half_spread_by : wander;
    nodes->half_by[2] = signal->sand ? 0 : half_spread_by;
}

/* Log probability of one reading and its derivatives by ln s0, ln w and ln J. */
static double reading_score(const bb_machine *machine, noisy_nodes *nodes, bool sand, double s0,
                            int number, double score[3])
{
    double chance = 0, by[3] = {0, 0, 0};
    for (int i = 0; i < nodes->count; i++) {
        const double weight = nodes->at[i].weight, per_sd = nodes->at[i].per_sd;
        double below, above;
        edges(machine, number, number, nodes->at[i].number, per_sd, &below, &above);
        if (below > FAR_SD || above < -FAR_SD)
            continue;
        const bool next = nodes->at[i].top_of == number - machine->scale_step;
        const edge bottom = next ? nodes->at[i].top : edge_at(below), top = edge_at(above);
        nodes->at[i].top = top;
        nodes->at[i].top_of = number;
        const double within = bottom.z > 0 ? bottom.above - top.above : top.below - bottom.below;
        const double by_mean = weight * per_sd * (bottom.density - top.density);
        const double by_sd = weight * per_sd * (bottom.z * bottom.density - top.z * top.density);
        const double by_spread = by_mean * nodes->at[i].number_by + by_sd * nodes->at[i].sd_by +
                                 nodes->at[i].weight_by * within;
        chance += weight * within;
        by[0] += by_sd * s0 * s0 * per_sd;
        by[1] += sand ? by_spread : by_sd * nodes->at[i].wander * per_sd;
        by[2] += sand ? 0 : by_spread;
    }
    const double numbers = (double)bb_scale_count(machine);
    const double total = (1 - BB_OUTLIER_SHARE) * chance + BB_OUTLIER_SHARE / numbers;
    for (int i = 0; i < 3; i++)
        score[i] = (1 - BB_OUTLIER_SHARE) * by[i] / total;
    return log(total);
}

double bb_noise_reading_log(const bb_state *state, const bb_signal *signal, int number,
                            bool all_nodes, double score[3])
{
    noisy_nodes nodes;
    set_nodes(state, signal, all_nodes ? NULL : bb_few_nodes_of_chance(state, signal), &nodes);
    return reading_score(&state->model->machine, &nodes, signal->sand, state->noise.reading, number,
                         score);
}

bb_parameter *bb_noise_term(bb_noise *noise, size_t index)
{
    return index == 0 ? &noise->reading : index == 1 ? &noise->wander : &noise->jitter[index - 2];
}

/* The terms that a place's readings tell of. */
typedef struct {
    size_t at[3];
    int used;
} touched;

static touched touched_by(const bb_site *place)
{
    const int zone = place->point.zone;
    return (touched){{0, 1, zone >= 0 ? 2 + (size_t)zone : 0}, zone >= 0 ? 3 : 2};
}

static double prior_log(bb_noise *noise, size_t terms, double *gradient,
                        double information[TERMS_MAX][TERMS_MAX])
{
    double total = 0;
    for (size_t t = 0; t < terms; t++) {
        const bb_parameter *p = bb_noise_term(noise, t);
        double distance = (p->estimate - p->prior_mean) / p->prior_sd;
        total -= 0.5 * distance * distance;
        if (gradient != NULL) {
            gradient[t] = -distance / p->prior_sd;
            memset(information[t], 0, sizeof information[t]);
            information[t][t] = 1 / (p->prior_sd * p->prior_sd);
        }
    }
    return total;
}

/* The same number may be read again at the same nodes. */
static double seen_score(const bb_state *state, noisy_nodes *nodes, bool sand, int number,
                         double score[3])
{
    int i = 0;
    while (i < nodes->seen_count && nodes->seen[i].number != number)
        i++;
    const bool seen = i < nodes->seen_count;
    if (i == SEEN_MAX)
        nodes->seen_count = i = 0;
    if (!seen) {
        nodes->seen[i].number = number;
        nodes->seen[i].log = reading_score(&state->model->machine, nodes, sand,
                                           state->noise.reading, number, nodes->seen[i].score);
        nodes->seen_count++;
    }
    memcpy(score, nodes->seen[i].score, 3 * sizeof *score);
    return nodes->seen[i].log;
}

static double place_log(const bb_state *state, const bb_cells *cells, const bb_site *place,
                        noisy_nodes *nodes, double *gradient,
                        double information[TERMS_MAX][TERMS_MAX])
{
    const touched to = touched_by(place);
    const double worth = bb_cells_worth(place);
    double total = 0;
    for (size_t j = place->first; j < place->first + place->count; j++) {
        const bb_reading *reading = &cells->readings[j];
        const double many = worth * reading->count;
        double score[3];
        total += many *
                 seen_score(state, nodes, place->signal.sand, (int)reading->number, score);
        for (int a = 0; gradient != NULL && a < to.used; a++) {
            gradient[to.at[a]] += many * score[a];
            for (int b = 0; b < to.used; b++)
                information[to.at[a]][to.at[b]] += many * score[a] * score[b];
        }
    }
    return total;
}

/* A place's nodes at the noise of the state. before: the noise at which the cells were made ready. */
static void place_nodes(const bb_state *state, const bb_site *place, const bb_noise_level *before,
                        noisy_nodes *nodes)
{
    const int zone = place->point.zone;
    bb_signal signal = place->signal;
    if (zone >= 0)
        signal.jitter *= state->noise.jitter[zone] / before->jitter[zone];
    set_nodes(state, &signal, bb_few_nodes_of_chance(state, &signal), nodes);
}

/* What the determinant says of the noise terms. */
static void add_leverages(const bb_cells *cells, bb_curvature *curvature, double *gradient)
{
    for (size_t i = 0, next; i < cells->place_count; i = next) {
        double leverage = 0;
        next = bb_cells_next(cells, i);
        for (size_t j = i; j < next; j++)
            leverage += cells->places[j].information /
                        (curvature->variance[j] * curvature->variance[j]);
        if (leverage > 0)
            leverage *= bb_curvature_variance(curvature, &cells->places[i].gradient);
        const touched to = touched_by(&cells->places[i]);
        for (int a = 0; a < to.used; a++)
            gradient[to.at[a]] += leverage * curvature->half_by[i][a];
    }
}

double bb_noise_log_posterior(bb_state *state, const bb_cells *cells, bb_curvature *curvature,
                              const bb_noise *noise, double *gradient,
                              double information[TERMS_MAX][TERMS_MAX])
{
    const bb_noise_level before = state->noise;
    bb_noise copy = *noise;
    double total = prior_log(&copy, 2 + state->model->zone_count, gradient, information);
    noisy_nodes nodes = {0};
    state->noise = bb_noise_level_of(noise, state->model->zone_count);
    for (size_t i = 0; i < cells->place_count; i++) {
        const bb_site *place = &cells->places[i];
        if (!place->same)
            place_nodes(state, place, &before, &nodes);
        total += place_log(state, cells, place, &nodes, gradient, information);
        curvature->variance[i] = nodes.variance + place->beside;
        memcpy(curvature->half_by[i], nodes.half_by, sizeof nodes.half_by);
    }
    total -= bb_curvature_half_log(curvature, cells);
    if (gradient != NULL && isfinite(total))
        add_leverages(cells, curvature, gradient);
    state->noise = before;
    return total;
}

/* Inverse of the information; false when it is not positive definite. */
static bool invert(double information[TERMS_MAX][TERMS_MAX], size_t terms,
                   double inverse[TERMS_MAX][TERMS_MAX])
{
    memcpy(inverse, information, TERMS_MAX * sizeof *inverse);
    gsl_matrix_view matrix = gsl_matrix_view_array_with_tda(inverse[0], terms, terms, TERMS_MAX);
    return gsl_linalg_cholesky_decomp1(&matrix.matrix) == 0 &&
           gsl_linalg_cholesky_invert(&matrix.matrix) == 0;
}

static double along(const double *a, const double *b, size_t terms)
{
    double sum = 0;
    for (size_t t = 0; t < terms; t++)
        sum += a[t] * b[t];
    return sum;
}

/* The curvature seen over a step that the gradient fell by `fell` (Broyden, Fletcher, Goldfarb and
 * Shanno 1970). */
static void update(double inverse[TERMS_MAX][TERMS_MAX], const double *step, const double *fell,
                   size_t terms)
{
    const double curvature = along(step, fell, terms);
    double turned[TERMS_MAX];
    if (!(curvature > 0))
        return;
    for (size_t t = 0; t < terms; t++)
        turned[t] = along(inverse[t], fell, terms);
    const double along_step = (1 + along(fell, turned, terms) / curvature) / curvature;
    for (size_t t = 0; t < terms; t++)
        for (size_t u = 0; u < terms; u++)
            inverse[t][u] += along_step * step[t] * step[u] -
                             (turned[t] * step[u] + step[t] * turned[u]) / curvature;
}

/* How far along the direction the posterior may be looked for. */
static double first_share(const double *direction, size_t terms)
{
    double longest = 0;
    for (size_t t = 0; t < terms; t++)
        longest = fmax(longest, fabs(direction[t]));
    return longest > LONGEST_STEP ? LONGEST_STEP / longest : 1;
}

/* Where the climb stands. */
typedef struct {
    double value, gradient[TERMS_MAX], information[TERMS_MAX][TERMS_MAX];
} foothold;

static void look(bb_state *state, const bb_cells *cells, bb_curvature *curvature,
                 const bb_noise *noise, foothold *at)
{
    at->value = bb_noise_log_posterior(state, cells, curvature, noise, at->gradient,
                                       at->information);
}

/* Along the direction the longest step, of its halves, with which the posterior rises; 0 for none. */
static double climb(bb_state *state, const bb_cells *cells, bb_curvature *curvature,
                    const double *direction, bb_noise *noise, foothold *at)
{
    const size_t terms = 2 + state->model->zone_count;
    double share = first_share(direction, terms);
    for (int halving = 0; halving < HALVINGS; halving++, share /= 2) {
        bb_noise trial = *noise;
        foothold there;
        for (size_t t = 0; t < terms; t++)
            bb_noise_term(&trial, t)->estimate += share * direction[t];
        look(state, cells, curvature, &trial, &there);
        if (there.value > at->value) {
            *at = there;
            *noise = trial;
            return share;
        }
    }
    return 0;
}

/* The way up that the curvature shows, and what there is to gain on it, twice. */
static double ascent(double inverse[TERMS_MAX][TERMS_MAX], const double *gradient,
                     double *direction, size_t terms)
{
    for (size_t t = 0; t < terms; t++)
        direction[t] = along(inverse[t], gradient, terms);
    return along(direction, gradient, terms);
}

bb_status bb_noise_settle(bb_state *state, const bb_cells *cells, bb_curvature *curvature,
                          bb_noise *noise, bb_noise_bend *bend, double left, double *change)
{
    const size_t terms = 2 + state->model->zone_count;
    bb_noise start = *noise;
    double direction[TERMS_MAX] = {0}, spread[TERMS_MAX][TERMS_MAX] = {{0}};
    foothold at = {0};
    look(state, cells, curvature, noise, &at);
    if (!isfinite(at.value))
        return BB_NOT_CONVERGED;
    double gain = bend->known ? ascent(bend->inverse, at.gradient, direction, terms) : INFINITY;
    if (gain > FAR) {
        bend->known = invert(at.information, terms, bend->inverse);
        if (!bend->known)
            return BB_NOT_CONVERGED;
        gain = ascent(bend->inverse, at.gradient, direction, terms);
    }
    const double enough = fmax(DECREMENT, left * gain);
    for (int step = 0; step < STEPS_MAX && bend->known && gain >= enough; step++) {
        double fell[TERMS_MAX];
        memcpy(fell, at.gradient, sizeof fell);
        const double taken = climb(state, cells, curvature, direction, noise, &at);
        for (size_t t = 0; t < terms; t++) {
            direction[t] *= taken;
            fell[t] -= at.gradient[t];
        }
        update(bend->inverse, direction, fell, terms);
        gain = ascent(bend->inverse, at.gradient, direction, terms);
        bend->known = taken > 0;
    }
    *change = 0;
    const bool known = invert(at.information, terms, spread);
    for (size_t t = 0; t < terms; t++) {
        if (known)
            bb_noise_term(noise, t)->sd = sqrt(spread[t][t]);
        *change = fmax(*change, fabs(bb_noise_term(noise, t)->estimate - bb_noise_term(&start, t)->estimate) /
                                    bb_noise_term(noise, t)->sd);
    }
    return BB_OK;
}
