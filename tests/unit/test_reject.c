/* The reject report: what bare readings say alone, and what it says when it cannot be sure. */
#include "brineband.h"

#include <check.h>
#include <math.h>

#include <gsl/gsl_cdf.h>

#include "sand_number.h"
#include "small_visit.h"

/* ---------------------------------------------------------------- the number of bare sand */

enum { NUMBERS = 81 };
static const bb_machine eighty = {.scale_low = 0, .scale_high = 80, .scale_step = 1};

/* Numbers 19 to 27, 24 of them, mean 23, sd 2 sqrt(24 / 23). */
static bb_bare steady_sand(void)
{
    bb_bare bare = {0};
    const double counts[] = {2, 4, 12, 4, 2};
    for (int i = 0; i < 5; i++)
        bare.counts[19 + 2 * i] = counts[i];
    return bare;
}

/* Kernels as reference/model.md gives them, by another road: the sums written out. */
START_TEST(each_bare_reading_has_its_kernel)
{
    const bb_bare bare = steady_sand();
    double p[NUMBERS];
    const double width = 0.85 * 2 * sqrt(24.0 / 23) * pow(24, -0.2);
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, p), BB_OK);
    for (int n = 0; n < NUMBERS; n++) {
        double expected = 0;
        for (int from = 19; from <= 27; from += 2) {
            double above = n == 80 ? 1 : gsl_cdf_tdist_P((n + 0.5 - from) / width, 5);
            double below = n == 0 ? 0 : gsl_cdf_tdist_P((n - 0.5 - from) / width, 5);
            expected += bare.counts[from] / 24 * (above - below);
        }
        ck_assert_double_eq_tol(p[n], expected, 1e-12);
    }
}
END_TEST

START_TEST(a_stray_reading_widens_nothing)
{
    bb_bare bare = steady_sand();
    double without[NUMBERS], with[NUMBERS], sum = 0;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, without), BB_OK);
    bare.counts[60] = 1;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, with), BB_OK);
    const double outliers = (1 + 50 * 0.01) / (25 + 50.0);
    for (int n = 0; n < NUMBERS; n++) {
        ck_assert_double_eq_tol(with[n], (1 - outliers) * without[n] + outliers / NUMBERS, 1e-12);
        sum += with[n];
    }
    ck_assert_double_eq_tol(sum, 1, 1e-12);
}
END_TEST

START_TEST(two_readings_of_one_far_number_are_sand)
{
    bb_bare bare = steady_sand();
    double p[NUMBERS];
    bare.counts[60] = 2;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, p), BB_OK);
    ck_assert_double_gt(p[60], 5 * p[45]);
    /* Nor is a reading at the edge of the others, or one where the model expects it. */
    bare = steady_sand();
    bare.counts[31] = 1;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, p), BB_OK);
    ck_assert_double_gt(p[31], 0.01);
    double model[NUMBERS] = {[23] = 0.5, [60] = 0.5};
    bare.counts[31] = 0;
    bare.counts[60] = 1;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, model, p), BB_OK);
    ck_assert_double_gt(p[60], 5 * 0.5 / (25 + 5));
}
END_TEST

/* ---------------------------------------------------------------- the range of bare readings */

static const bb_machine ten = {.scale_low = 0, .scale_high = 9, .scale_step = 1};

static bb_bare_range range_of(const int *numbers, int count)
{
    bb_bare bare = {0};
    for (int i = 0; i < count; i++)
        bare.counts[numbers[i]] += 1;
    return bb_bare_range_of(&bare, &ten);
}

START_TEST(the_range_of_no_number_of_one_and_of_some)
{
    static const int some[] = {4, 7, 4, 5};
    ck_assert_double_eq(range_of(NULL, 0).read, 0);
    bb_bare_range one = range_of(some, 1);
    ck_assert_double_eq(one.outside_at_most, 1);
    ck_assert(isnan(one.sd) && one.low == 4 && one.high == 4);
    bb_bare_range all = range_of(some, 4);
    ck_assert(all.low == 4 && all.high == 7 && all.lone_ends == 1);
    ck_assert_double_eq_tol(all.sd, sqrt(2), 1e-12); /* of 4 4 5 7, by hand */
    ck_assert_double_eq_tol(all.outside_at_most, 2.0 / 5, 1e-15);
}
END_TEST

/* Wilks 1941: 93 observations for a range that holds 95 % with 95 % confidence (from memory). */
START_TEST(ninety_three_numbers_hold_95_in_100)
{
    bb_bare bare = {.counts = {46, 46}};
    ck_assert_double_lt(bb_bare_range_of(&bare, &ten).inside_at_least, 0.95);
    bare.counts[0] = 47;
    const double held = bb_bare_range_of(&bare, &ten).inside_at_least;
    ck_assert_double_ge(held, 0.95);
    /* Confidence that the range of n holds a share b: 1 - n b^(n-1) + (n-1) b^n. */
    ck_assert_double_eq_tol(1 - 93 * pow(held, 92) + 92 * pow(held, 93), 0.95, 1e-9);
}
END_TEST

/* Every series of four whole numbers, the first three read and the fourth to come: its chance to lie
 * outside the range is below 2 / 4 with ties, and nears it where ties are few. */
START_TEST(whole_numbers_fall_outside_no_more_often_than_said)
{
    for (int kinds = 2; kinds <= 10; kinds++) {
        double outside = 0, series = pow(kinds, 4), said = 0;
        for (int i = 0; i < (int)series; i++) {
            const int read[] = {i % kinds, i / kinds % kinds, i / kinds / kinds % kinds};
            const int next = i / kinds / kinds / kinds;
            const bb_bare_range range = range_of(read, 3);
            outside += next < range.low || next > range.high;
            said = range.outside_at_most;
        }
        ck_assert_double_eq(said, 0.5);
        ck_assert_double_lt(outside / series, said);
        /* Of k equally likely numbers the least of four is alone, and so last, with a chance of
         * sum of j^3 over k^4, j below k; the greatest likewise. */
        const double alone = pow((kinds - 1) * kinds / 2, 2) / series;
        ck_assert_double_eq_tol(outside / series, 2 * alone, 1e-12);
    }
}
END_TEST

START_TEST(a_stopped_search_still_answers)
{
    bb_profile *profile = small_profile();
    bb_predictor *predictor = NULL;
    bb_reject *whole = NULL, *part = NULL;
    bb_reject_options options = bb_reject_defaults();
    options.at_most = BB_BANDS_MAX;
    options.quiet = 0.9;
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, NULL), BB_OK);
    ck_assert_int_eq(bb_reject_new(predictor, &options, &whole, NULL), BB_OK);
    options.patience = 1e-9;
    ck_assert_int_eq(bb_reject_new(predictor, &options, &part, NULL), BB_OK);
    ck_assert(whole->chosen.proved && !whole->undecided);
    ck_assert_int_eq(whole->chosen.fewest, whole->chosen.numbers);
    if (part->undecided) {
        ck_assert_int_eq(part->verdict, BB_VERDICT_SHORT);
    } else if (!part->chosen.proved) {
        ck_assert_int_le(part->chosen.fewest, whole->chosen.numbers);
        ck_assert_int_ge(part->chosen.numbers, whole->chosen.numbers);
    }
    ck_assert(part->undecided || !part->chosen.proved);
    bb_reject_free(whole);
    bb_reject_free(part);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

Suite *suite_reject(void);
Suite *suite_reject(void)
{
    Suite *suite = suite_create("reject");
    TCase *limits = tcase_create("limits");
    tcase_add_test(limits, a_stopped_search_still_answers);
    suite_add_tcase(suite, limits);
    TCase *range = tcase_create("the range of bare readings");
    tcase_add_test(range, the_range_of_no_number_of_one_and_of_some);
    tcase_add_test(range, ninety_three_numbers_hold_95_in_100);
    tcase_add_test(range, whole_numbers_fall_outside_no_more_often_than_said);
    suite_add_tcase(suite, range);
    TCase *sand = tcase_create("the number of bare sand");
    tcase_add_test(sand, each_bare_reading_has_its_kernel);
    tcase_add_test(sand, a_stray_reading_widens_nothing);
    tcase_add_test(sand, two_readings_of_one_far_number_are_sand);
    suite_add_tcase(suite, sand);
    return suite;
}
