/* Every derivative of the fit against differences of what it is the derivative of, at parameters
 * drawn from their priors, for visits of every kind. */
#include "adversarial/adversary.h"
#include "compare.h"
#include "jitter.h"
#include "noise.h"
#include "prior.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>

enum { SEEDS = 3 };

/* A visit made ready at one draw of its parameters. */
typedef struct {
    bb_visit visit;
    bb_model *model;
    bb_prior prior;
    bb_cells cells;
    bb_curvature curvature;
    bb_noise noise;
    bb_noise_level level;
    bb_answer *answers;
    double *theta;
    bb_state state;
} prepared;

static void prepare(size_t family, unsigned long seed, prepared *made)
{
    static scene drawn;
    memset(made, 0, sizeof *made);
    scene_draw(&drawn, family, seed);
    bb_visit *visit = &made->visit;
    ck_assert_int_eq(scene_read(&drawn, visit, NULL), BB_OK);
    ck_assert_int_eq(bb_cells_new(visit, &made->cells), BB_OK);
    ck_assert_int_eq(bb_model_new(&visit->machine, &visit->beach, visit->zones, visit->zone_count,
                                  visit->targets, visit->target_count, bb_drift_hour(visit),
                                  &made->model, NULL),
                     BB_OK);
    ck_assert_int_eq(bb_prior_new(made->model, visit->zones, NULL, &made->prior, NULL), BB_OK);
    ck_assert_int_eq(bb_curvature_new(&made->prior, &made->cells, &made->curvature), BB_OK);
    bb_model_noise_prior(made->model, visit->zones, &made->noise);
    made->level = bb_noise_level_of(&made->noise, visit->zone_count);
    made->answers = calloc(visit->target_count + 1, sizeof *made->answers);
    made->theta = calloc(made->prior.count, sizeof *made->theta);
    ck_assert(made->answers != NULL && made->theta != NULL);
    gsl_rng *random = gsl_rng_alloc(gsl_rng_taus2);
    gsl_rng_set(random, seed + 1);
    for (size_t i = 0; i < made->prior.count; i++)
        made->theta[i] = made->prior.mean[i] + 0.7 * made->prior.sd[i] * gsl_ran_gaussian(random, 1);
    gsl_rng_free(random);
    ck_assert_int_eq(
        bb_state_set(&made->state, made->model, made->theta, &made->level, made->answers), BB_OK);
}

static void release(prepared *made)
{
    bb_curvature_free(&made->curvature);
    bb_cells_free(&made->cells);
    bb_prior_free(&made->prior);
    bb_model_free(made->model);
    bb_visit_free(&made->visit);
    free(made->answers);
    free(made->theta);
}

static double mean_at(prepared *made, const bb_point *point, int column, double moved)
{
    bb_expected expected = {0};
    const double before = made->theta[column];
    made->theta[column] = before + moved;
    ck_assert_int_eq(
        bb_state_set(&made->state, made->model, made->theta, &made->level, made->answers), BB_OK);
    ck_assert_int_eq(bb_expect(&made->state, point, &expected, NULL), BB_OK);
    made->theta[column] = before;
    ck_assert_int_eq(
        bb_state_set(&made->state, made->model, made->theta, &made->level, made->answers), BB_OK);
    return expected.mean;
}

/* Both in shares of the scale for a prior sd. The answer of a worn body to severity is itself a
 * difference over a twentieth. */
static void check_point(prepared *made, const bb_point *point)
{
    const bb_machine *machine = &made->visit.machine;
    const double range = machine->scale_high - machine->scale_low;
    bb_expected expected;
    bb_gradient gradient;
    ck_assert_int_eq(bb_expect(&made->state, point, &expected, &gradient), BB_OK);
    for (int i = 0; i < gradient.count; i++) {
        const int column = gradient.column[i];
        if (column < 0)
            continue;
        const bool worn = column == made->model->layout.severity;
        const double sd = made->prior.sd[column], step = (worn ? 1e-3 : 1e-6) * sd;
        const double slope =
            (mean_at(made, point, column, step) - mean_at(made, point, column, -step)) / (2 * step);
        check_close(worn ? "slope of a number by wear" : "slope of a number", "differences",
                    slope * sd / range, gradient.value[i] * sd / range,
                    absolute(worn ? 1e-5 : 1e-6));
    }
}

START_TEST(expectations)
{
    enum { PLACES = 40 };
    for (unsigned long seed = 0; seed < SEEDS; seed++) {
        prepared made;
        prepare((size_t)_i, seed, &made);
        const size_t every = made.cells.place_count / PLACES + 1;
        for (size_t i = 0; i < made.cells.place_count; i += every)
            check_point(&made, &made.cells.places[i].point);
        release(&made);
    }
}
END_TEST

static double posterior_at(prepared *made, bb_parameter *term, double moved)
{
    term->estimate += moved;
    double value = bb_noise_log_posterior(&made->state, &made->cells, &made->curvature, &made->noise,
                                          NULL, NULL);
    term->estimate -= moved;
    return value;
}

START_TEST(noise)
{
    for (unsigned long seed = 0; seed < SEEDS; seed++) {
        prepared made;
        double gradient[BB_NOISE_TERMS_MAX], information[BB_NOISE_TERMS_MAX][BB_NOISE_TERMS_MAX];
        prepare((size_t)_i, seed, &made);
        ck_assert_int_eq(bb_cells_weigh(&made.cells, &made.state), BB_OK);
        ck_assert_int_eq(bb_cells_ready(&made.cells, &made.state), BB_OK);
        double sweeps = 0;
        for (size_t i = 0; i < made.cells.place_count; i++)
            sweeps += made.cells.places[i].sweeps;
        (void)bb_noise_log_posterior(&made.state, &made.cells, &made.curvature, &made.noise, gradient,
                                     information);
        bb_parameter *terms[] = {&made.noise.reading, &made.noise.wander, &made.noise.jitter[0]};
        for (int t = 0; t < 3; t++) {
            const double step = 1e-6;
            const double slope = (posterior_at(&made, terms[t], step) -
                                  posterior_at(&made, terms[t], -step)) / (2 * step);
            check_close("slope of the noise, a sweep", "differences", slope / sweeps,
                        gradient[t] / sweeps, absolute(1e-5));
        }
        release(&made);
    }
}
END_TEST

/* At every place with ever more jitter: few nodes say what all of them say. */
START_TEST(few_nodes)
{
    prepared made;
    prepare((size_t)_i, 0, &made);
    ck_assert_int_eq(bb_cells_weigh(&made.cells, &made.state), BB_OK);
    for (size_t i = 0; i < made.cells.place_count; i++) {
        const bb_site *place = &made.cells.places[i];
        for (double scale = 1e-5; scale < 1; scale *= 1.7) {
            bb_signal signal = place->signal;
            double few[3], all[3];
            const int number = (int)made.cells.readings[place->first].number;
            signal.jitter *= scale;
            check_close("log chance of a number", "all nodes",
                        bb_noise_reading_log(&made.state, &signal, number, true, all),
                        bb_noise_reading_log(&made.state, &signal, number, false, few),
                        absolute(1e-8));
            for (int t = 0; t < 3; t++)
                check_close("its slope by the noise", "all nodes", all[t], few[t], absolute(1e-7));
        }
    }
    release(&made);
}
END_TEST

/* Expectation and spread of the number over the jitter. */
static void over_jitter(const bb_state *state, const bb_signal *signal, const bb_deviates *over,
                        double *mean, double *spread)
{
    double square = 0, total = 0;
    *mean = 0;
    for (int i = 0; i < over->count; i++) {
        bb_node node;
        bb_node_at(state, signal, over->deviate[i], &node);
        *mean += over->weight[i] * node.number;
        square += over->weight[i] * node.number * node.number;
        total += over->weight[i];
    }
    check_close("weights of the deviates", "one", 1, total, absolute(1e-14));
    *spread = square - *mean * *mean;
}

/* The same of the fit's own deviates. */
START_TEST(few_deviates)
{
    prepared made;
    bb_deviates all = {.count = BB_DEVIATES};
    double total = 0;
    for (int i = 0; i < BB_DEVIATES; i++) {
        all.deviate[i] = 0.8 * (i - BB_DEVIATES / 2);
        total += all.weight[i] = exp(-0.5 * all.deviate[i] * all.deviate[i]);
    }
    for (int i = 0; i < BB_DEVIATES; i++)
        all.weight[i] /= total;
    prepare((size_t)_i, 0, &made);
    const double s0 = made.state.noise.reading;
    ck_assert_int_eq(bb_cells_weigh(&made.cells, &made.state), BB_OK);
    for (size_t i = 0; i < made.cells.place_count; i++)
        for (double scale = 1e-5; scale < 1; scale *= 1.07) {
            bb_signal signal = made.cells.places[i].signal;
            bb_deviates few;
            double mean, spread, few_mean, few_spread;
            signal.jitter *= scale;
            bb_deviates_of_jitter(&made.state, &signal, &few);
            if (few.count == 1 || few.count == BB_DEVIATES)
                continue;
            over_jitter(&made.state, &signal, &all, &mean, &spread);
            over_jitter(&made.state, &signal, &few, &few_mean, &few_spread);
            check_close("expectation, in reading noise", "all deviates", mean / s0, few_mean / s0,
                        absolute(1e-8));
            check_close("variance, in reading noise", "all deviates", spread / (s0 * s0),
                        few_spread / (s0 * s0), absolute(1e-7));
        }
    release(&made);
}
END_TEST

START_TEST(curve)
{
    const double parameters[BB_CURVE_PARAMETERS] = {-3, 85, 0.3, -0.2, 1, 0.1, -1, 0.5, 0.2, -0.4};
    bb_curve made;
    bb_curve_set(&made, parameters);
    for (double angle = -89.5; angle < 90; angle += 3) {
        double above, below;
        (void)bb_curve_number(&made, angle + 1e-5, &above, NULL);
        (void)bb_curve_number(&made, angle - 1e-5, &below, NULL);
        check_close("bend of the curve, per deg2", "differences", (above - below) / 2e-5,
                    bb_curve_bend(&made, angle), absolute(1e-8));
    }
}
END_TEST

Suite *suite_gradients(void);
Suite *suite_gradients(void)
{
    Suite *suite = suite_create("gradients");
    TCase *group = tcase_create("gradients");
    tcase_set_timeout(group, 120);
    tcase_add_loop_test(group, expectations, 0, (int)adversary_count);
    tcase_add_loop_test(group, noise, 0, (int)adversary_count);
    tcase_add_loop_test(group, few_nodes, 0, (int)adversary_count);
    tcase_add_loop_test(group, few_deviates, 0, (int)adversary_count);
    tcase_add_test(group, curve);
    suite_add_tcase(suite, group);
    return suite;
}
