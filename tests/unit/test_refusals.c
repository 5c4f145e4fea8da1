/* What a call may not be asked: each argument just outside the range its contract states. The small
 * visit has zones 0 and 1, targets 0 to 4. */
#include "copy.h"
#include "small_visit.h"

#include <check.h>
#include <math.h>
#include <stdint.h>

static bb_profile *profile;
static bb_predictor *predictor;

static void make(void)
{
    bb_error error = {0};
    profile = small_profile();
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
}

static void release(void)
{
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}

static const struct {
    const char *what;
    int target, zone;
    double depth_m, height_m;
    bb_status predicted, shifted;
} places[] = {
    {"a place like any other", 0, 1, 0.1, NAN, BB_OK, BB_OK},
    {"in air, from where no shift is", 0, BB_ZONE_AIR, 0.1, NAN, BB_OK, BB_RANGE},
    {"no such target", 5, 1, 0.1, NAN, BB_RANGE, BB_RANGE},
    {"bare sand, which has no shift", BB_TARGET_SAND, 1, 0.1, NAN, BB_OK, BB_RANGE},
    {"no such zone", 0, 2, 0.1, NAN, BB_RANGE, BB_RANGE},
    {"below air", 0, BB_ZONE_AIR - 1, 0.1, NAN, BB_RANGE, BB_RANGE},
    {"above the sand", 0, 1, -0.01, NAN, BB_RANGE, BB_RANGE},
    {"too deep", 0, 1, 2.01, NAN, BB_RANGE, BB_RANGE},
    {"no depth", 0, 1, NAN, NAN, BB_RANGE, BB_RANGE},
    {"touching the coil in air", 0, BB_ZONE_AIR, 0, NAN, BB_RANGE, BB_RANGE},
    {"the coil on the ground", 0, 1, 0.1, 0, BB_RANGE, BB_OK},
    {"the coil too high", 0, 1, 0.1, 2.01, BB_RANGE, BB_OK},
};

START_TEST(a_place_out_of_range_is_not_predicted)
{
    bb_prediction prediction;
    double shift, se;
    const bb_status predicted = bb_predict(predictor, places[_i].target, places[_i].zone,
                                           places[_i].depth_m, places[_i].height_m, &prediction);
    const bb_status shifted = bb_predict_offset(predictor, places[_i].target, places[_i].zone,
                                                places[_i].depth_m, &shift, &se);
    ck_assert_msg(predicted == places[_i].predicted && shifted == places[_i].shifted,
                  "%s: predicted %d, shifted %d", places[_i].what, predicted, shifted);
}
END_TEST

START_TEST(only_zones_have_sand)
{
    static const int none[] = {BB_ZONE_AIR, 2};
    bb_prediction prediction;
    double low, high;
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        ck_assert_int_eq(bb_predict_sand(predictor, none[i], &prediction, &low), BB_RANGE);
        ck_assert_int_eq(bb_predict_sand_middle(predictor, none[i], &low, &high), BB_RANGE);
    }
}
END_TEST

static const int below[] = {-1}, above[] = {2};
static const struct {
    const char *what;
    bb_reject_options options;
} asked[] = {
    {"quiet below 0", {.quiet = -0.01}},
    {"quiet above 1", {.quiet = 1.01}},
    {"quiet no number", {.quiet = NAN}},
    {"loss below 0", {.max_loss = -0.01}},
    {"loss above 1", {.max_loss = 1.01}},
    {"depth above the sand", {.to_depth_m = -0.01}},
    {"depth too deep", {.to_depth_m = 0.51}},
    {"too many bands", {.at_most = BB_BANDS_MAX + 1}},
    {"patience below 0", {.patience = -1}},
    {"zone below the first", {.zones = below, .zone_count = 1}},
    {"zone past the last", {.zones = above, .zone_count = 1}},
};

START_TEST(a_wish_out_of_range_is_not_chosen_for)
{
    bb_reject *choice = NULL;
    bb_error error = {0};
    const bb_status status = bb_reject_new(predictor, &asked[_i].options, &choice, &error);
    ck_assert_msg(status == BB_RANGE && choice == NULL && error.status == BB_RANGE, "%s: %d",
                  asked[_i].what, status);
}
END_TEST

START_TEST(a_round_has_one_reading_or_more_and_not_too_many)
{
    const bb_judge_options options = {true, NAN};
    bb_judge *judge = NULL;
    bb_practice *practice = NULL;
    bb_round round;
    bb_error error = {0};
    ck_assert_int_eq(bb_judge_new(profile, 0, &options, &judge, &error), BB_OK);
    ck_assert_int_eq(bb_practice_new(judge, 1, &practice), BB_OK);
    ck_assert_int_eq(bb_practice_draw(practice, 0, &round), BB_RANGE);
    ck_assert_int_eq(bb_practice_draw(practice, BB_REPEATS_MAX + 1, &round), BB_RANGE);
    ck_assert_int_eq(bb_practice_draw(practice, BB_REPEATS_MAX, &round), BB_OK);
    bb_practice_free(practice);
    bb_judge_free(judge);
}
END_TEST

START_TEST(sweeps_of_another_kit_or_beach_are_not_checked)
{
    static const bb_bands bands = {.count = 0};
    bb_visit fresh = {.zone_count = profile->zone_count, .target_count = profile->target_count + 1};
    bb_check *check = NULL;
    bb_kit_span span;
    bb_error error = {0};
    ck_assert_int_eq(bb_check_new(predictor, &fresh, &bands, 0.95, &check, &error), BB_RANGE);
    ck_assert_int_eq(bb_kit_span_of(predictor, &fresh, &span), BB_RANGE);
    fresh.target_count--;
    ck_assert_int_eq(bb_check_new(predictor, &fresh, &bands, 1, &check, &error), BB_RANGE);
    ck_assert_int_eq(bb_check_new(predictor, &fresh, &bands, -0.01, &check, &error), BB_RANGE);
    fresh.zone_count++;
    ck_assert_int_eq(bb_check_new(predictor, &fresh, &bands, 0.95, &check, &error), BB_RANGE);
    ck_assert(check == NULL);
}
END_TEST

static const struct {
    const char *what;
    size_t parameters, candidates;
    double variance;
    size_t runs;
    int most;
    bb_status status;
} designs[] = {
    {"one like any other", 1, 2, 1, 2, 1, BB_OK},
    {"without a limit for each", 1, 2, 1, 5, 0, BB_OK},
    {"no parameter", 0, 2, 1, 1, 0, BB_RANGE},
    {"no candidate", 1, 0, 1, 1, 0, BB_RANGE},
    {"a candidate without doubt", 1, 2, 0, 1, 0, BB_RANGE},
    {"a limit below 0", 1, 2, 1, 1, -1, BB_RANGE},
    {"more runs than the limit lets", 1, 2, 1, 3, 1, BB_RANGE},
};

START_TEST(a_design_that_cannot_be_is_not_chosen)
{
    static const double covariance[] = {1}, gradient[] = {1, 2};
    const double variance[] = {1, designs[_i].variance};
    const bb_design_problem problem = {.parameters = designs[_i].parameters,
                                       .covariance = covariance,
                                       .candidates = designs[_i].candidates,
                                       .gradient = gradient,
                                       .variance = variance,
                                       .runs = designs[_i].runs,
                                       .most = designs[_i].most};
    int times[] = {0, 0};
    double before, after;
    const bb_status status = bb_design_choose(&problem, times, &before, &after);
    ck_assert_msg(status == designs[_i].status, "%s: %d", designs[_i].what, status);
    if (status == BB_OK)
        ck_assert_uint_eq((size_t)(times[0] + times[1]), problem.runs);
}
END_TEST

START_TEST(no_numbers_and_more_than_there_are_get_no_ranges)
{
    const bb_judge_options options = {true, NAN};
    const bb_judge *judges[1];
    bb_judge *judge = NULL;
    bb_number_ranges *ranges = NULL;
    bb_error error = {0};
    ck_assert_int_eq(bb_judge_new(profile, 0, &options, &judge, &error), BB_OK);
    judges[0] = judge;
    ck_assert_int_eq(bb_number_ranges_new(judges, 0, 5, &ranges), BB_RANGE);
    ck_assert_int_eq(bb_number_ranges_new(judges, 1, 0, &ranges), BB_RANGE);
    ck_assert_int_eq(bb_number_ranges_new(judges, 1, 82, &ranges), BB_RANGE);
    ck_assert_ptr_null(ranges);
    ck_assert_int_eq(bb_number_ranges_new(judges, 1, 81, &ranges), BB_OK);
    bb_number_ranges_free(ranges);
    bb_judge_free(judge);
}
END_TEST

static bb_status flat(const double *x, double *residuals, double *jacobian, void *context)
{
    (void)context;
    residuals[0] = x[0];
    if (jacobian != NULL)
        jacobian[0] = 1;
    return BB_OK;
}

START_TEST(a_solver_has_its_limits)
{
    static const struct {
        double tolerance;
        int iterations;
    } limits[] = {{0.1, 20}, {1e-15, 20}, {1e-8, 0}};
    for (size_t i = 0; i < sizeof limits / sizeof *limits; i++) {
        double x = 1, covariance;
        bb_least_squares_evidence evidence;
        const bb_least_squares problem = {.residuals = 1,
                                          .parameters = 1,
                                          .evaluate = flat,
                                          .tolerance = limits[i].tolerance,
                                          .max_iterations = limits[i].iterations};
        ck_assert_int_eq(bb_least_squares_solve(&problem, &x, &covariance, &evidence), BB_RANGE);
        ck_assert(x == 1);
    }
}
END_TEST

START_TEST(sweeps_are_read_once_into_a_visit_with_a_beach)
{
    static const struct {
        size_t cells, zones, targets;
        int step;
    } wrong[] = {{1, 1, 1, 1},
                 {0, BB_ZONES_MAX + 1, 1, 1},
                 {0, 1, BB_TARGETS_MAX + 1, 1},
                 {0, 1, 1, 0}};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        bb_visit visit = {.cell_count = wrong[i].cells,
                          .zone_count = wrong[i].zones,
                          .target_count = wrong[i].targets,
                          .machine.scale_step = wrong[i].step};
        bb_sweeps_reader *reader = NULL;
        bb_error error = {0};
        ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, &error), BB_RANGE);
        ck_assert_ptr_null(reader);
    }
}
END_TEST

START_TEST(numbers_off_the_scale_have_no_odds)
{
    const bb_judge_options options = {true, NAN};
    const int off[] = {profile->machine.scale_high + 1};
    bb_judge *judge = NULL;
    bb_error error = {0};
    double chance;
    ck_assert_int_eq(bb_judge_new(profile, 0, &options, &judge, &error), BB_OK);
    ck_assert_int_eq(bb_judge_keep(judge, off, 1, &chance), BB_RANGE);
    ck_assert_int_eq(bb_judge_keep(judge, off, 0, &chance), BB_RANGE);
    bb_judge_free(judge);
}
END_TEST

START_TEST(a_list_longer_than_memory_does_not_grow)
{
    size_t room = 0;
    ck_assert_ptr_null(bb_grown(NULL, SIZE_MAX / 2, &room, sizeof room));
    ck_assert_uint_eq(room, 0);
}
END_TEST

Suite *suite_refusals(void);
Suite *suite_refusals(void)
{
    Suite *suite = suite_create("refusals");
    TCase *tests = tcase_create("out of range");
    tcase_add_unchecked_fixture(tests, make, release);
    tcase_add_loop_test(tests, a_place_out_of_range_is_not_predicted, 0,
                        sizeof places / sizeof *places);
    tcase_add_test(tests, a_solver_has_its_limits);
    tcase_add_test(tests, sweeps_are_read_once_into_a_visit_with_a_beach);
    tcase_add_test(tests, numbers_off_the_scale_have_no_odds);
    tcase_add_test(tests, only_zones_have_sand);
    tcase_add_loop_test(tests, a_wish_out_of_range_is_not_chosen_for, 0,
                        sizeof asked / sizeof *asked);
    tcase_add_test(tests, a_round_has_one_reading_or_more_and_not_too_many);
    tcase_add_test(tests, sweeps_of_another_kit_or_beach_are_not_checked);
    tcase_add_loop_test(tests, a_design_that_cannot_be_is_not_chosen, 0,
                        sizeof designs / sizeof *designs);
    tcase_add_test(tests, no_numbers_and_more_than_there_are_get_no_ranges);
    tcase_add_test(tests, a_list_longer_than_memory_does_not_grow);
    suite_add_tcase(suite, tests);
    return suite;
}
