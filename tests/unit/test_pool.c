/* Random effects of one quantity against published data, and what theory says of any. */
#include "brineband.h"
#include "compare.h"

#include <check.h>
#include <math.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>

enum { MOST = 32 };

typedef struct {
    size_t count;
    double estimate[MOST], variance[MOST];
} data;

static data read_data(const char *name)
{
    reference *table =
        reference_open(strcmp(name, "bcg_log_rr") == 0 ? "reference/bcg.csv"
                                                       : "reference/homogeneous4.csv");
    data made = {.count = reference_rows(table)};
    for (size_t i = 0; i < made.count; i++) {
        made.estimate[i] = reference_number(table, i, "yi");
        made.variance[i] = reference_number(table, i, "vi");
    }
    reference_close(table);
    return made;
}

static void turn(data *of, size_t by)
{
    data copy = *of;
    for (size_t i = 0; i < of->count; i++) {
        of->estimate[i] = copy.estimate[(i + by) % of->count];
        of->variance[i] = copy.variance[(i + by) % of->count];
    }
}

START_TEST(published_data_in_any_order)
{
    reference *table = reference_open("reference/random_effects.csv");
    for (size_t row = 0; row < reference_rows(table); row++) {
        const char *method = reference_text(table, row, "method"), *source = "mpmath, 40 digits; R metafor";
        if (strcmp(method, "FE") == 0)
            continue;
        data of = read_data(reference_text(table, row, "dataset"));
        for (size_t by = 0; by < of.count; by++) {
            bb_pooled got;
            ck_assert_int_eq(bb_pool(of.estimate, of.variance, of.count,
                                     strcmp(method, "DL") == 0 ? BB_POOL_DERSIMONIAN_LAIRD
                                                               : BB_POOL_PAULE_MANDEL, &got),
                             BB_OK);
            const double se = reference_number(table, row, "se"),
                         free_se = reference_number(table, row, "se_hksj_mKH_untruncated");
            check_close("pooled mean", source, reference_number(table, row, "mu"), got.mean,
                        relative(1e-9));
            check_close("variance between visits", source, reference_number(table, row, "tau2"),
                        got.tau2, absolute(1e-9));
            check_close("Cochran's Q", source, reference_number(table, row, "Q"), got.q,
                        relative(1e-9));
            check_close("typical variance", source, reference_number(table, row, "typical_v"),
                        got.typical_variance, relative(1e-9));
            check_close("I2, per cent", source, reference_number(table, row, "I2_typical_v_pct"),
                        100 * got.i2, absolute(1e-9));
            check_close("se of the pooled mean", source, se, got.se, relative(1e-9));
            check_close("Knapp-Hartung se, with its floor", source, fmax(se, free_se),
                        got.se_knapp_hartung, relative(1e-9));
            turn(&of, 1);
        }
    }
    reference_close(table);
}
END_TEST

START_TEST(doubling_and_adding)
{
    const data of = read_data("homogeneous4");
    data twice = {.count = 2 * of.count};
    for (size_t i = 0; i < twice.count; i++) {
        twice.estimate[i] = of.estimate[i % of.count];
        twice.variance[i] = of.variance[i % of.count];
    }
    bb_pooled one, two;
    ck_assert_int_eq(bb_pool(of.estimate, of.variance, of.count, BB_POOL_PAULE_MANDEL, &one), BB_OK);
    ck_assert_int_eq(bb_pool(twice.estimate, twice.variance, twice.count, BB_POOL_PAULE_MANDEL,
                             &two), BB_OK);
    check_close("pooled mean", "theory: each twice", one.mean, two.mean, relative(1e-12));
    check_close("Cochran's Q", "theory: each twice", 2 * one.q, two.q, relative(1e-12));
    check_close("se of the pooled mean", "theory: each twice", one.se / sqrt(2), two.se,
                relative(1e-12));
}
END_TEST

START_TEST(equal_variances_are_a_sample)
{
    const double estimate[] = {1, 2, 4, 9}, variance[] = {1e-12, 1e-12, 1e-12, 1e-12};
    bb_pooled got;
    ck_assert_int_eq(bb_pool(estimate, variance, 4, BB_POOL_PAULE_MANDEL, &got), BB_OK);
    check_close("variance between visits", "theory: of a sample", 38.0 / 3, got.tau2,
                relative(1e-9));
    const double room = gsl_cdf_tdist_Pinv(0.95, 3) * sqrt(38.0 / 3 * 1.25);
    check_close("90 % of a new visit", "theory: of a sample", 4 + room, got.new_high,
                relative(1e-6));
    double weight[4], shift[4];
    bb_pool_without(estimate, variance, 4, got.tau2, weight, shift);
    check_close("pull of one visit", "theory: mean with less mean without", 4 - 7.0 / 3, shift[3],
                relative(1e-9));
}
END_TEST

START_TEST(limits_of_a_new_visit)
{
    reference *table = reference_open("reference/next_visit.csv");
    for (size_t row = 0; row < reference_rows(table); row++) {
        const char *name = reference_text(table, row, "dataset"),
                   *source = reference_text(table, row, "source");
        const data of = read_data(name);
        for (int method = 0; method < 2; method++) {
            bb_pooled got;
            ck_assert_int_eq(bb_pool(of.estimate, of.variance, of.count, (bb_pool_method)method,
                                     &got), BB_OK);
            check_close("90 % of a new visit", source, reference_number(table, row, "low"),
                        got.new_low, absolute(1e-6));
            check_close("90 % of a new visit", source, reference_number(table, row, "high"),
                        got.new_high, absolute(1e-6));
        }
    }
    reference_close(table);
}
END_TEST

/* Visits as good as exact, and up to as doubtful as they truly differ. */
START_TEST(new_visit_is_covered)
{
    enum { TRIES = 1000 };
    static const size_t counts[] = {3, 4, 6, 10, 20};
    static const double within[] = {0.01, 0.3, 1};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (size_t w = 0; w < sizeof within / sizeof *within; w++) {
        double inside = 0, tries = 0;
        for (size_t c = 0; c < sizeof counts / sizeof *counts; c++)
            for (int i = 0; i < TRIES; i++, tries++) {
                double estimate[MOST], variance[MOST];
                for (size_t k = 0; k < counts[c]; k++) {
                    variance[k] = within[w] * exp(gsl_ran_gaussian(random, 0.7));
                    estimate[k] = gsl_ran_gaussian(random, 1) +
                                  gsl_ran_gaussian(random, sqrt(variance[k]));
                }
                bb_pooled got;
                ck_assert_int_eq(bb_pool(estimate, variance, counts[c], BB_POOL_PAULE_MANDEL,
                                         &got), BB_OK);
                const double fresh = gsl_ran_gaussian(random, 1);
                inside += fresh >= got.new_low && fresh <= got.new_high;
            }
        check_close("coverage of a new visit, per cent", "nominal 90 %", 90, 100 * inside / tries,
                    absolute(2));
    }
    gsl_rng_free(random);
}
END_TEST

/* One visit that claims to be exact: Paule and Mandel's weights stay near equal as long as the
 * visits differ, those of equal visits would be its alone. */
START_TEST(a_tight_member_is_one_among_others)
{
    const double estimate[] = {0, 1, -1, 2}, variance[] = {1e-8, 0.1, 0.1, 0.1};
    bb_pooled got;
    double weight[4], shift[4];
    ck_assert_int_eq(bb_pool(estimate, variance, 4, BB_POOL_PAULE_MANDEL, &got), BB_OK);
    bb_pool_without(estimate, variance, 4, got.tau2, weight, shift);
    ck_assert(weight[0] < 0.3);
    bb_pool_without(estimate, variance, 4, 0, weight, shift);
    ck_assert(weight[0] > 0.999);
}
END_TEST

START_TEST(one_and_none)
{
    const double estimate[] = {3}, variance[] = {4}, bad[] = {0};
    bb_pooled got;
    ck_assert_int_eq(bb_pool(estimate, variance, 1, BB_POOL_PAULE_MANDEL, &got), BB_OK);
    ck_assert(got.mean == 3 && got.se == 2 && got.tau2 == 0 && isnan(got.new_low));
    ck_assert_int_eq(bb_pool(estimate, variance, 0, BB_POOL_PAULE_MANDEL, &got), BB_RANGE);
    ck_assert_int_eq(bb_pool(estimate, bad, 1, BB_POOL_PAULE_MANDEL, &got), BB_RANGE);
}
END_TEST

Suite *suite_pool(void);
Suite *suite_pool(void)
{
    Suite *suite = suite_create("pool");
    TCase *tests = tcase_create("pool");
    tcase_add_test(tests, published_data_in_any_order);
    tcase_add_test(tests, doubling_and_adding);
    tcase_add_test(tests, equal_variances_are_a_sample);
    tcase_add_test(tests, limits_of_a_new_visit);
    tcase_add_test(tests, new_visit_is_covered);
    tcase_add_test(tests, a_tight_member_is_one_among_others);
    tcase_add_test(tests, one_and_none);
    suite_add_tcase(suite, tests);
    return suite;
}
