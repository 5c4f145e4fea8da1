/* The library against the simulator, which shares with it only the physics of ground and bodies:
 * the curve, the expected number, the chance of every number, and the truth recovered. */
#include "brineband.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "calibration/recovery.h"
#include "compare.h"
#include "known_truth.h"

enum { ANSWERS = TRUTH_TARGETS + 1 };

/* ---------------------------------------------------------------- curve */

START_TEST(the_curve_is_the_simulators)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (int trial = 0; trial < 100; trial++) {
        truth_scale scale;
        bb_curve curve;
        double parameters[BB_CURVE_PARAMETERS];
        scale_draw_cubic(&scale, -20, 60, random);
        parameters[0] = scale.low;
        parameters[1] = scale.high;
        for (int i = 0; i < BB_CURVE_SPANS; i++)
            parameters[2 + i] = log((scale.value[i + 1] - scale.value[i]) /
                                    (bb_curve_angle_deg[i + 1] - bb_curve_angle_deg[i]));
        bb_curve_set(&curve, parameters);
        for (double angle = -90; angle <= 90; angle += 1.5)
            check_close("curve, numbers", "tests/simulate/scale.c", scale_number(&scale, angle),
                        bb_curve_number(&curve, angle, NULL, NULL), absolute(1e-11));
    }
    gsl_rng_free(random);
}
END_TEST

/* ---------------------------------------------------------------- expectation */

static bb_point point_of(const truth_place *place)
{
    return (bb_point){place->zone, place->target, place->depth_m, place->height_m, place->hour};
}

static double expected_at(const bb_model *model, const truth *t, const double *theta,
                          const bb_point *point)
{
    bb_state state;
    bb_answer answers[ANSWERS];
    bb_expected expected;
    const bb_noise_level noise = known_noise(t);
    ck_assert_int_eq(bb_state_set(&state, model, theta, &noise, answers), BB_OK);
    ck_assert_int_eq(bb_expect(&state, point, &expected, NULL), BB_OK);
    return expected.mean;
}

/* Numbers at an end of the scale stand for all beyond it, which the expectation does not clip. */
static bool clipped(const truth_distribution *numbers)
{
    return numbers->chances[0] > 0 || numbers->chances[numbers->count - 1] > 0;
}

static void check_expectation(const truth *t, const bb_model *model, const truth_place *place,
                              gsl_rng *random)
{
    enum { DRAWS = 40000 };
    double theta[BB_PARAMETERS_MAX];
    truth_distribution numbers;
    const bb_point point = point_of(place);
    truth_chances(t, place, DRAWS, random, &numbers);
    if (clipped(&numbers))
        return;
    known_theta(t, model, theta);
    double mean = expected_at(model, t, theta, &point);
    /* Five standard errors of the draws are 0.025; the rest is rounding to whole numbers. */
    check_close("expected number, of its sd", "Monte Carlo of tests/simulate", 0,
                (mean - numbers.mean) / numbers.sd, absolute(0.03));
}

START_TEST(expectation_is_that_of_simulated_sweeps)
{
    static const double depth_m[] = {0, 0.06, 0.12};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (unsigned long seed = 1; seed <= 6; seed++) {
        const simulation of = {.family = FAMILY_INSIDE, .kind = VISIT_FULL, .seed = seed};
        truth t;
        ck_assert(truth_draw(&of, &t));
        bb_model *model = known_model(&t);
        for (int z = BB_ZONE_AIR; z < (int)t.zone_count; z++)
            for (int k = z == BB_ZONE_AIR ? 0 : BB_TARGET_SAND; k < (int)t.target_count; k += 2)
                for (size_t i = 0; i < sizeof depth_m / sizeof *depth_m; i++) {
                    const bool air = z == BB_ZONE_AIR;
                    const double height_m = t.beach.swing_height_m + (i == 1 ? 0.05 : 0);
                    const truth_place place = {z, k, depth_m[i] + (air ? 0.05 : 0),
                                               air ? 0 : height_m, t.middle_hour + 0.3};
                    check_expectation(&t, model, &place, random);
                }
        bb_model_free(model);
    }
    gsl_rng_free(random);
}
END_TEST

/* ---------------------------------------------------------------- chances */

static bb_predictor *predictor_of(const bb_profile *profile)
{
    bb_predictor *predictor = NULL;
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, NULL), BB_OK);
    return predictor;
}

static void check_chances(const truth *t, const bb_predictor *predictor, const truth_place *place,
                          gsl_rng *random)
{
    enum { DRAWS = 50000 };
    truth_distribution numbers;
    bb_prediction prediction;
    ck_assert_int_eq(bb_predict(predictor, place->target, place->zone, place->depth_m,
                                place->zone == BB_ZONE_AIR ? NAN : place->height_m, &prediction),
                     BB_OK);
    truth_chances(t, place, DRAWS, random, &numbers);
    for (size_t i = 0; i < numbers.count; i++) {
        /* five standard errors of the draws, and as many times 0.0004 for the nodes of the integral
         */
        const double p = prediction.p[i], error = sqrt(fmax(p * (1 - p), 1.0 / DRAWS) / DRAWS);
        check_close("chance of a number, of its error", "Monte Carlo of tests/simulate", 0,
                    (numbers.chances[i] - p) / (error + 0.0004), absolute(5));
    }
    if (place->zone != BB_ZONE_AIR)
        /* the simulator takes the ground between 24 heights */
        check_close("signal to ground", "tests/simulate", truth_signal_to_ground(t, place),
                    prediction.signal_to_ground, relative(5e-3));
}

START_TEST(chances_are_those_of_simulated_sweeps)
{
    static const double depth_m[] = {0.01, 0.08, 0.16};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (unsigned long seed = 1; seed <= 5; seed++) {
        const simulation of = {.family = seed % 2 ? FAMILY_INSIDE : FAMILY_STEADY,
                               .kind = VISIT_FULL,
                               .seed = seed};
        truth t;
        ck_assert(truth_draw(&of, &t));
        bb_profile *profile = known_profile(&t);
        bb_predictor *predictor = predictor_of(profile);
        for (int k = 0; k < (int)t.target_count; k += 2)
            for (size_t i = 0; i < sizeof depth_m / sizeof *depth_m; i++)
                for (int z = BB_ZONE_AIR; z < (int)t.zone_count; z += 2) {
                    const bool air = z == BB_ZONE_AIR;
                    const truth_place place = {
                        z, k, depth_m[i], air ? 0 : t.beach.swing_height_m + (i == 1 ? 0.04 : 0),
                        NAN};
                    check_chances(&t, predictor, &place, random);
                }
        bb_predictor_free(predictor);
        bb_profile_free(profile);
    }
    gsl_rng_free(random);
}
END_TEST

/* ---------------------------------------------------------------- recovery */

static simulated_visit simulated;

static void read_visit(truth_family family, visit_kind kind, unsigned long seed, bb_visit *visit)
{
    const simulation of = {.family = family, .kind = kind, .seed = seed};
    ck_assert(visit_simulate(&of, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, visit, NULL), BB_OK);
}

static bb_profile *fit(const bb_visit *visit)
{
    bb_profile *profile = NULL;
    bb_error error = {0};
    char text[BB_TEXT_BYTES] = "";
    bb_status status = bb_fit(visit, NULL, &profile, &error);
    (void)bb_error_text(&error, text, sizeof text);
    ck_assert_msg(status == BB_OK, "%s", text);
    return profile;
}

START_TEST(recovers_the_truth_within_its_doubt)
{
    enum { VISITS = 20 };
    recoveries sums = {0};
    for (unsigned long seed = 1; seed <= VISITS; seed++) {
        bb_visit visit;
        bb_profile *profile = NULL;
        read_visit(FAMILY_INSIDE, VISIT_QUARTER, seed, &visit);
        if (bb_fit(&visit, NULL, &profile, NULL) == BB_OK)
            recovery_add(&sums, &simulated.truth, profile);
        bb_profile_free(profile);
        bb_visit_free(&visit);
    }
    ck_assert(sums.count[RECOVER_READING] >= 0.9 * VISITS);
    for (int i = 0; i < RECOVER_COUNT; i++) {
        /* share inside the 90 % interval, three standard errors of a binomial below it */
        const double least = 0.9 - 3 * sqrt(0.09 / sums.count[i]);
        ck_assert_msg(sums.within[i] >= least * sums.count[i], "%s: %.0f of %.0f inside 90 %%",
                      recovery_name[i], sums.within[i], sums.count[i]);
    }
}
END_TEST

START_TEST(what_is_returned_is_proved)
{
    for (unsigned long seed = 1; seed <= 12; seed++)
        for (int family = 0; family < FAMILY_COUNT; family++) {
            bb_visit visit;
            bb_profile *profile = NULL;
            read_visit((truth_family)family, VISIT_QUARTER, seed, &visit);
            if (bb_fit(&visit, NULL, &profile, NULL) == BB_OK) {
                ck_assert(profile->evidence.converged);
                ck_assert(profile->evidence.gradient < 1e-4);
                ck_assert_uint_eq(profile->evidence.rank, profile->parameter_count);
                for (size_t i = 0; i < profile->parameter_count; i++) {
                    const bb_parameter *p = &profile->parameters[i];
                    ck_assert(isfinite(p->estimate) && p->sd > 0 && p->sd <= p->prior_sd * 1.0001);
                }
            } else {
                ck_assert_ptr_null(profile);
            }
            bb_profile_free(profile);
            bb_visit_free(&visit);
        }
}
END_TEST

/* ---------------------------------------------------------------- names and order */

static const bb_parameter *named(const bb_profile *profile, const char *name)
{
    for (size_t i = 0; i < profile->parameter_count; i++)
        if (strcmp(profile->parameters[i].name, name) == 0)
            return &profile->parameters[i];
    ck_abort_msg("no parameter %s", name);
}

/* renamed: the name a parameter of `one` has in `other`. */
static void check_same(const char *quantity, const bb_profile *one, const bb_profile *other,
                       void (*renamed)(const char *name, char *out))
{
    ck_assert_uint_eq(one->parameter_count, other->parameter_count);
    for (size_t i = 0; i < one->parameter_count; i++) {
        char name[BB_PARAMETER_BYTES];
        const bb_parameter *a = &one->parameters[i];
        renamed(a->name, name);
        const bb_parameter *b = named(other, name);
        check_close(quantity, "the visit as it was", 0, (a->estimate - b->estimate) / a->sd,
                    absolute(1e-3));
        check_close("standard error of the same", "the visit as it was", a->sd, b->sd,
                    relative(1e-3));
    }
}

static void same_name(const char *name, char *out)
{
    (void)snprintf(out, BB_PARAMETER_BYTES, "%s", name);
}

static void other_zone(const char *name, char *out)
{
    const char *rest;
    same_name(name, out);
    if (strncmp(name, "zone.wet", 8) == 0)
        rest = name + 8, (void)snprintf(out, BB_PARAMETER_BYTES, "zone.low shore%s", rest);
    if (strncmp(name, "zone.damp", 9) == 0)
        rest = name + 9, (void)snprintf(out, BB_PARAMETER_BYTES, "zone.high shore%s", rest);
}

static void swap_zones(bb_visit *visit)
{
    bb_zone zone = visit->zones[0];
    bb_bare bare = visit->bare[0];
    visit->zones[0] = visit->zones[1];
    visit->zones[1] = zone;
    visit->bare[0] = visit->bare[1];
    visit->bare[1] = bare;
    for (size_t i = 0; i < visit->cell_count; i++)
        if (visit->cells[i].zone >= 0)
            visit->cells[i].zone = 1 - visit->cells[i].zone;
    (void)snprintf(visit->zones[0].name, BB_NAME_BYTES, "high shore");
    (void)snprintf(visit->zones[1].name, BB_NAME_BYTES, "low shore");
}

START_TEST(zones_renamed_and_in_another_order)
{
    bb_visit visit;
    read_visit(FAMILY_INSIDE, VISIT_QUARTER, 2, &visit);
    bb_profile *before = fit(&visit);
    swap_zones(&visit);
    bb_profile *after = fit(&visit);
    check_same("estimate, zones renamed, of its sd", before, after, other_zone);
    bb_profile_free(before);
    bb_profile_free(after);
    bb_visit_free(&visit);
}
END_TEST

static void reverse_targets(bb_visit *visit)
{
    const int last = (int)visit->target_count - 1;
    for (int k = 0; k < last - k; k++) {
        bb_target held = visit->targets[k];
        visit->targets[k] = visit->targets[last - k];
        visit->targets[last - k] = held;
    }
    for (size_t i = 0; i < visit->cell_count; i++)
        if (visit->cells[i].target >= 0)
            visit->cells[i].target = last - visit->cells[i].target;
}

START_TEST(kit_in_another_order)
{
    bb_visit visit;
    read_visit(FAMILY_INSIDE, VISIT_QUARTER, 2, &visit);
    bb_profile *before = fit(&visit);
    reverse_targets(&visit);
    bb_profile *after = fit(&visit);
    check_same("estimate, kit reversed, of its sd", before, after, same_name);
    bb_profile_free(before);
    bb_profile_free(after);
    bb_visit_free(&visit);
}
END_TEST

Suite *suite_witness(void)
{
    Suite *suite = suite_create("witness");
    TCase *group = tcase_create("witness");
    tcase_set_timeout(group, 120);
    tcase_add_test(group, the_curve_is_the_simulators);
    tcase_add_test(group, expectation_is_that_of_simulated_sweeps);
    tcase_add_test(group, chances_are_those_of_simulated_sweeps);
    tcase_add_test(group, recovers_the_truth_within_its_doubt);
    tcase_add_test(group, what_is_returned_is_proved);
    tcase_add_test(group, zones_renamed_and_in_another_order);
    tcase_add_test(group, kit_in_another_order);
    suite_add_tcase(suite, group);
    return suite;
}
