/* The predictive distribution is that of the model it states. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>

#include "compare.h"
#include "outlook.h"
#include "simulate/simulate.h"

enum { DRAWS = 100000 };

static bb_profile *profile_of(truth_family family, visit_kind kind, unsigned long seed)
{
    static simulated_visit simulated;
    const simulation how = {.family = family, .kind = kind, .seed = seed};
    bb_visit visit = {0};
    bb_error error = {0};
    bb_profile *profile = NULL;
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    ck_assert_int_eq(bb_fit(&visit, NULL, &profile, &error), BB_OK);
    bb_visit_free(&visit);
    return profile;
}

static bb_predictor *predictor_of(const bb_profile *profile)
{
    bb_predictor *predictor = NULL;
    bb_error error = {0};
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
    return predictor;
}

static double sum_of(const bb_prediction *at)
{
    double sum = 0;
    for (size_t n = 0; n < at->count; n++) {
        ck_assert(at->p[n] >= 0);
        sum += at->p[n];
    }
    return sum;
}

START_TEST(every_distribution_sums_to_one)
{
    static bb_prediction at;
    bb_profile *profile = profile_of(FAMILY_INSIDE, VISIT_FULL, 22);
    bb_predictor *predictor = predictor_of(profile);
    for (int k = BB_TARGET_SAND; k < (int)profile->target_count; k++)
        for (int z = k == BB_TARGET_SAND ? 0 : BB_ZONE_AIR; z < (int)profile->zone_count; z++)
            for (double depth = 0.01; depth < 0.4; depth += 0.06) {
                ck_assert_int_eq(bb_predict(predictor, k, z, depth, NAN, &at), BB_OK);
                check_close("sum of a distribution", "probability", 1, sum_of(&at),
                            absolute(1e-12));
                ck_assert(at.low <= at.high && at.low >= profile->machine.scale_low &&
                          at.high <= profile->machine.scale_high);
            }
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

/* The shorter ways to a part of a prediction give what the whole has. */
START_TEST(what_is_masked_and_how_far_out_a_number_is_are_as_predicted)
{
    static bb_prediction at;
    bb_profile *profile = profile_of(FAMILY_DEPARTING, VISIT_FULL, 23);
    bb_predictor *predictor = predictor_of(profile);
    const bb_machine *machine = &profile->machine;
    int heard = 0, lost = 0;
    for (int k = 0; k < (int)profile->target_count; k++)
        for (int z = BB_ZONE_AIR; z < (int)profile->zone_count; z++)
            for (double depth = 0.01; depth < 0.4; depth += 0.06) {
                bool masked;
                bb_point point;
                bb_pieces pieces;
                bb_outlook outlook;
                ck_assert_int_eq(bb_predict(predictor, k, z, depth, NAN, &at), BB_OK);
                ck_assert_int_eq(bb_predict_masked(predictor, k, z, depth, NAN, &masked), BB_OK);
                ck_assert_int_eq(masked, at.over_sand && at.masked);
                heard += !masked;
                lost += masked;
                ck_assert_int_eq(bb_outlook_place(predictor, k, z, depth, NAN, &point), BB_OK);
                ck_assert_int_eq(bb_pieces_known(predictor, k, &pieces), BB_OK);
                ck_assert_int_eq(bb_outlook_at(predictor, &point, &pieces.at[0].subject, &outlook),
                                 BB_OK);
                double up_to = 0, from = 1;
                for (size_t n = 0; n < at.count; n++) {
                    up_to += at.p[n];
                    check_close("tail of a prediction", "sum of its chances", fmin(up_to, from),
                                bb_outlook_tail(&outlook, machine, bb_scale_number(machine, n)),
                                absolute(1e-9));
                    from -= at.p[n];
                }
            }
    ck_assert_int_gt(heard, 0);
    ck_assert_int_gt(lost, 0);
    bool masked = true;
    ck_assert_int_eq(bb_predict_masked(predictor, BB_TARGET_SAND, 0, 0, NAN, &masked), BB_OK);
    ck_assert(!masked);
    ck_assert_int_eq(bb_predict_masked(predictor, 0, (int)profile->zone_count, 0, NAN, &masked),
                     BB_RANGE);
    ck_assert_int_eq(bb_predict_masked(predictor, 0, 0, -0.01, NAN, &masked), BB_RANGE);
    ck_assert_int_eq(bb_predict_masked(predictor, (int)profile->target_count, 0, 0, NAN, &masked),
                     BB_RANGE);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

/* Draw the model as it is written: one jitter, one wander, one reading noise, rounded, clamped. */
static void draw(const bb_predictor *predictor, const bb_point *point, gsl_rng *random,
                 double *share, size_t count)
{
    const bb_machine *machine = &predictor->model->machine;
    bb_signal signal;
    ck_assert_int_eq(bb_signal_at(&predictor->state, point, NULL, &signal), BB_OK);
    for (int d = 0; d < DRAWS; d++) {
        bb_node node;
        bb_node_at(&predictor->state, &signal, gsl_ran_gaussian(random, 1), &node);
        const double noise = hypot(predictor->state.noise.reading, node.wander);
        const double number = node.number + gsl_ran_gaussian(random, noise);
        const double at = round((number - machine->scale_low) / machine->scale_step);
        share[(size_t)fmin(fmax(at, 0), (double)count - 1)] += 1.0 / DRAWS;
    }
}

START_TEST(a_distribution_is_what_drawing_the_model_gives)
{
    static bb_prediction at;
    static double share[BB_NUMBERS_MAX];
    bb_profile *profile = profile_of(FAMILY_INSIDE, VISIT_FULL, 31 + (unsigned long)_i);
    for (size_t i = 0; i < profile->parameter_count * profile->parameter_count; i++)
        profile->covariance[i] *= 1e-14; /* parameters as if known */
    bb_predictor *predictor = predictor_of(profile);
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, 5);
    for (int k = 0; k < (int)profile->target_count; k++) {
        const double depth = 0.03 * (k % 3 + 1);
        const bb_point point = {k % 2, k, depth, profile->beach.swing_height_m, NAN};
        ck_assert_int_eq(bb_predict(predictor, k, k % 2, depth, NAN, &at), BB_OK);
        memset(share, 0, sizeof share);
        draw(predictor, &point, random, share, at.count);
        double told = 0, drawn = 0, worst = 0;
        for (size_t n = 0; n < at.count; n++) {
            told += at.p[n];
            drawn += share[n];
            worst = fmax(worst, fabs(told - drawn));
        }
        /* Kolmogorov's limit at one in ten thousand, for this many draws */
        check_close("distribution of a number, largest gap", "100,000 draws of the model", 0, worst,
                    absolute(2.23 / sqrt(DRAWS)));
    }
    gsl_rng_free(random);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

START_TEST(what_was_never_swept_is_predicted_with_more_doubt)
{
    static bb_prediction swept, never;
    bb_profile *profile = profile_of(FAMILY_INSIDE, VISIT_FULL, 22);
    bb_predictor *predictor = predictor_of(profile);
    ck_assert_int_eq(bb_predict(predictor, 1, BB_ZONE_AIR, 0.1, NAN, &swept), BB_OK);
    ck_assert_int_eq(bb_predict_other(predictor, &profile->targets[1], NAN, BB_ZONE_AIR, 0.1, NAN,
                                      &never),
                     BB_OK);
    ck_assert(never.sd > swept.sd);
    ck_assert_int_eq(bb_predict(predictor, 1, BB_ZONE_AIR, 0, NAN, &swept), BB_RANGE);
    ck_assert_int_eq(bb_predict(predictor, 99, 0, 0.1, NAN, &swept), BB_RANGE);
    ck_assert_int_eq(bb_predict(predictor, 1, 0, NAN, NAN, &swept), BB_RANGE);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

START_TEST(what_if_nothing_changes_nothing_does)
{
    static bb_prediction at, same;
    bb_profile *profile = profile_of(FAMILY_INSIDE, VISIT_QUARTER, 4), *changed = NULL;
    bb_what_if changes = bb_what_if_nothing();
    bb_error error = {0};
    changes.swing_height_m = profile->beach.swing_height_m;
    ck_assert_int_eq(bb_profile_what_if(profile, &changes, &changed, &error), BB_OK);
    bb_predictor *one = predictor_of(profile), *other = predictor_of(changed);
    ck_assert_int_eq(bb_predict(one, 0, 0, 0.04, NAN, &at), BB_OK);
    ck_assert_int_eq(bb_predict(other, 0, 0, 0.04, NAN, &same), BB_OK);
    ck_assert(memcmp(at.p, same.p, sizeof at.p) == 0);
    bb_profile_free(changed);
    /* A higher swing hears the sand less, and the target at the same gap no better. */
    changes.swing_height_m *= 2;
    ck_assert_int_eq(bb_profile_what_if(profile, &changes, &changed, &error), BB_OK);
    bb_predictor_free(other);
    other = predictor_of(changed);
    ck_assert(other->state.noise.jitter[0] < one->state.noise.jitter[0]);
    bb_predictor_free(one);
    bb_predictor_free(other);
    bb_profile_free(changed);
    bb_profile_free(profile);
}
END_TEST

START_TEST(another_frequency_and_years_are_asked_only_where_they_are_known)
{
    bb_profile *profile = profile_of(FAMILY_INSIDE, VISIT_QUARTER, 4), *changed = NULL;
    bb_what_if frequency = bb_what_if_nothing(), years = frequency;
    bb_error error = {0};
    frequency.frequency_hz = 9e3;
    years.years = 5;
    profile->machine.frequency_kind = BB_FREQUENCY_UNKNOWN;
    ck_assert_int_eq(bb_profile_what_if(profile, &frequency, &changed, &error), BB_RANGE);
    ck_assert_ptr_nonnull(strstr(error.accepted, "works on one known frequency"));
    profile->machine.frequency_kind = BB_FREQUENCY_ONE;
    ck_assert_int_eq(bb_profile_what_if(profile, &frequency, &changed, NULL), BB_OK);
    check_close("frequency asked for, Hz", "as asked", 9e3, changed->machine.frequency_hz,
                absolute(0));
    bb_profile_free(changed);
    changed = NULL;
    for (size_t k = 0; k < profile->target_count; k++)
        profile->targets[k].years = 0;
    error = (bb_error){0};
    ck_assert_int_eq(bb_profile_what_if(profile, &years, &changed, &error), BB_RANGE);
    ck_assert_ptr_nonnull(strstr(error.accepted, "only after an aged piece"));
    profile->parameter_count--;
    years.years = NAN;
    error = (bb_error){0};
    ck_assert_int_eq(bb_profile_what_if(profile, &years, &changed, &error), BB_INPUT);
    ck_assert_ptr_null(changed);
    bb_profile_free(profile);
}
END_TEST

START_TEST(an_aged_piece_may_be_asked_about_at_another_age)
{
    bb_profile *profile = profile_of(FAMILY_INSIDE, VISIT_FULL, 7), *changed = NULL;
    bb_what_if years = bb_what_if_nothing();
    bb_error error = {0};
    years.years = 50;
    ck_assert_int_eq(bb_profile_what_if(profile, &years, &changed, &error), BB_OK);
    for (size_t k = 0; k < changed->target_count; k++)
        check_close("years asked for", "as asked", 50, changed->targets[k].years, absolute(0));
    bb_profile_free(changed);
    bb_profile_free(profile);
}
END_TEST

static double offset_of(const bb_profile *profile, int target, int zone, double *se)
{
    double offset;
    bb_predictor *predictor = predictor_of(profile);
    ck_assert_int_eq(bb_predict_offset(predictor, target, zone, 0.1, &offset, se), BB_OK);
    bb_predictor_free(predictor);
    return offset;
}

/* The offset's slope along a parameter, from profiles a little to either side. */
static double slope_of_offset(bb_profile *profile, int target, int zone, size_t parameter)
{
    bb_parameter *moved = &profile->parameters[parameter];
    const double kept = moved->estimate, step = 1e-4 * moved->sd;
    double se;
    moved->estimate = kept + step;
    const double above = offset_of(profile, target, zone, &se);
    moved->estimate = kept - step;
    const double below = offset_of(profile, target, zone, &se);
    moved->estimate = kept;
    return (above - below) / (2 * step);
}

START_TEST(the_doubt_of_an_offset_is_that_of_its_parameters)
{
    bb_profile *profile = profile_of(FAMILY_INSIDE, VISIT_FULL, 22);
    const size_t count = profile->parameter_count;
    double *slopes = calloc(count, sizeof *slopes);
    ck_assert_ptr_nonnull(slopes);
    for (int target = 0; target < (int)profile->target_count; target += 3)
        for (int zone = 0; zone < (int)profile->zone_count; zone++) {
            double se, variance = 0;
            (void)offset_of(profile, target, zone, &se);
            for (size_t i = 0; i < count; i++)
                slopes[i] = slope_of_offset(profile, target, zone, i);
            for (size_t i = 0; i < count; i++)
                for (size_t j = 0; j < count; j++)
                    variance += slopes[i] * profile->covariance[i * count + j] * slopes[j];
            check_close("standard error of an offset, numbers", "difference quotients",
                        sqrt(variance), se, relative(1e-4));
        }
    free(slopes);
    bb_profile_free(profile);
}
END_TEST

Suite *suite_predict(void);
Suite *suite_predict(void)
{
    Suite *suite = suite_create("predict");
    TCase *tests = tcase_create("numbers");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, every_distribution_sums_to_one);
    tcase_add_test(tests, what_is_masked_and_how_far_out_a_number_is_are_as_predicted);
    tcase_add_loop_test(tests, a_distribution_is_what_drawing_the_model_gives, 0, 3);
    tcase_add_test(tests, what_was_never_swept_is_predicted_with_more_doubt);
    tcase_add_test(tests, what_if_nothing_changes_nothing_does);
    tcase_add_test(tests, another_frequency_and_years_are_asked_only_where_they_are_known);
    tcase_add_test(tests, an_aged_piece_may_be_asked_about_at_another_age);
    tcase_add_test(tests, the_doubt_of_an_offset_is_that_of_its_parameters);
    suite_add_tcase(suite, tests);
    return suite;
}
