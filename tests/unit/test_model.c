/* The machine's curve and the expected reading: monotone, and with the gradient they claim. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"
#include "compare.h"
#include "model.h"
#include "simulate/simulate.h"

enum { CURVES = CASES(2000, 100), PARAMETERS_MAX = 128 };

static double uniform(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state / 4294967296.0;
}

START_TEST(the_curve_rises_for_any_parameters)
{
    unsigned state = 1;
    for (int c = 0; c < CURVES; c++) {
        double parameters[BB_CURVE_PARAMETERS] = {-20 + 10 * uniform(&state),
                                                  60 + 10 * uniform(&state)};
        for (int i = 2; i < BB_CURVE_PARAMETERS; i++)
            parameters[i] = 12 * (uniform(&state) - 0.5);
        bb_curve curve;
        bb_curve_set(&curve, parameters);
        double before = bb_curve_number(&curve, -90, NULL, NULL);
        check_close("curve at -90 degrees, numbers", "its own low end", parameters[0], before,
                    absolute(1e-12));
        for (double angle = -89.9; angle < 90.05; angle += 0.1) {
            double slope, number = bb_curve_number(&curve, fmin(angle, 90), &slope, NULL);
            ck_assert_msg(number >= before - 1e-12 && slope >= -1e-12, "curve %d falls at %g", c,
                          angle);
            before = number;
        }
        check_close("curve at 90 degrees, numbers", "its own high end", parameters[1], before,
                    absolute(1e-9));
    }
}
END_TEST

/* A model of a simulated visit, at parameters off the prior's mean. */
typedef struct {
    bb_visit visit;
    bb_model *model;
    double theta[PARAMETERS_MAX], rows[PARAMETERS_MAX * PARAMETERS_MAX];
    bb_answer *answers;
    bb_noise_level level;
    bb_state state;
} setting;

static void set_up(setting *of, visit_kind kind, unsigned long seed)
{
    static simulated_visit simulated;
    const simulation how = {.family = FAMILY_INSIDE, .kind = kind, .seed = seed};
    bb_error error = {0};
    memset(of, 0, sizeof *of);
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &of->visit, &error), BB_OK);
    const bb_visit *visit = &of->visit;
    ck_assert_int_eq(bb_model_new(&visit->machine, &visit->beach, visit->zones, visit->zone_count,
                                  visit->targets, visit->target_count, 13.5, &of->model, &error),
                     BB_OK);
    ck_assert_int_le(of->model->layout.count, PARAMETERS_MAX);
    bb_noise noise;
    bb_model_prior(of->model, of->rows, of->theta);
    bb_model_noise_prior(of->model, visit->zones, &noise);
    of->level = bb_noise_level_of(&noise, visit->zone_count);
    for (size_t z = 0; z < visit->zone_count; z++)
        of->level.jitter[z] *= 0.2;
    for (int i = 2; i < of->model->layout.count; i++)
        of->theta[i] += 0.1 * sin(7.0 * i);
    of->answers = calloc(visit->target_count + 1, sizeof *of->answers);
}

static void tear_down(setting *of)
{
    free(of->answers);
    bb_model_free(of->model);
    bb_visit_free(&of->visit);
}

static double mean_at(setting *of, const bb_point *point, bb_gradient *gradient)
{
    bb_expected expected;
    ck_assert_int_eq(
        bb_state_set(&of->state, of->model, of->theta, &of->level, of->answers), BB_OK);
    ck_assert_int_eq(bb_expect(&of->state, point, &expected, gradient), BB_OK);
    return expected.mean;
}

static void check_gradient(setting *of, const bb_point *point)
{
    const double step = 1e-5;
    double told[PARAMETERS_MAX] = {0};
    bb_gradient gradient;
    (void)mean_at(of, point, &gradient);
    for (int c = 0; c < gradient.count; c++)
        if (gradient.column[c] >= 0)
            told[gradient.column[c]] += gradient.value[c];
    for (int i = 0; i < of->model->layout.count; i++) {
        const double here = of->theta[i];
        of->theta[i] = here + step;
        const double above = mean_at(of, point, NULL);
        of->theta[i] = here - step;
        const double below = mean_at(of, point, NULL);
        of->theta[i] = here;
        const double wanted = (above - below) / (2 * step);
        check_close("gradient of a reading, of 1 or itself", "central differences", 0,
                    (told[i] - wanted) / fmax(1, fabs(wanted)), absolute(2e-5));
    }
}

START_TEST(the_gradient_is_that_of_the_expectation)
{
    setting of;
    set_up(&of, VISIT_FULL, (unsigned long)_i + 1);
    for (size_t c = 0; c < of.visit.cell_count; c += 7) {
        const bb_cell *cell = &of.visit.cells[c];
        const bb_point point = {cell->zone, cell->target, cell->depth_m, cell->height_m, cell->hour};
        check_gradient(&of, &point);
    }
    tear_down(&of);
}
END_TEST

START_TEST(a_fading_target_goes_over_into_the_bare_sand)
{
    setting of;
    set_up(&of, VISIT_FULL, 3);
    of.level.wander = 1e-9;
    for (int sign = -1; sign <= 1; sign += 2) {
        bb_point sand = {0, BB_TARGET_SAND, 0, of.model->swing_height_m, NAN};
        bb_point target = {0, 0, 2.0, of.model->swing_height_m, NAN};
        bb_signal bare, faded;
        bb_node at_sand, at_target;
        (void)mean_at(&of, &sand, NULL);
        ck_assert_int_eq(bb_signal_at(&of.state, &sand, NULL, &bare), BB_OK);
        ck_assert_int_eq(bb_signal_at(&of.state, &target, NULL, &faded), BB_OK);
        faded.target *= 1e-9;
        faded.residual *= sign; /* the machine's own cancelling may leave either sign */
        faded.jitter = 0;
        bb_node_at(&of.state, &bare, 0, &at_sand);
        bb_node_at(&of.state, &faded, 0, &at_target);
        check_close("number of a faded target", "that of bare sand", at_sand.number,
                    at_target.number, absolute(1e-6));
    }
    tear_down(&of);
}
END_TEST

START_TEST(a_scale_whose_ends_cross_is_no_scale)
{
    setting of;
    set_up(&of, VISIT_FULL, 1);
    const double low = of.theta[0];
    const double above[] = {1e-9, 0, -1e-9, -20, NAN};
    for (size_t i = 0; i < sizeof above / sizeof *above; i++) {
        of.theta[1] = low + above[i];
        ck_assert_int_eq(
            bb_state_set(&of.state, of.model, of.theta, &of.level, of.answers),
            above[i] > 0 ? BB_OK : BB_RANGE);
    }
    tear_down(&of);
}
END_TEST

Suite *suite_model(void);
Suite *suite_model(void)
{
    Suite *suite = suite_create("model");
    TCase *tests = tcase_create("reading");
    tcase_add_test(tests, the_curve_rises_for_any_parameters);
    tcase_add_loop_test(tests, the_gradient_is_that_of_the_expectation, 0, 3);
    tcase_add_test(tests, a_fading_target_goes_over_into_the_bare_sand);
    tcase_add_test(tests, a_scale_whose_ends_cross_is_no_scale);
    suite_add_tcase(suite, tests);
    return suite;
}
