/* The factor that keeps zeros, against GSL's own. */
#include "compare.h"
#include "factor.h"

#include <check.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_rng.h>
#include <math.h>

enum { COUNT = 40, SHARED = 12, OWN = 2, READINGS = 400 };

/* Positive definite, as a fit's is: every reading meets the shared parameters and two of its own. */
static void set_matrix(gsl_rng *random, double *matrix)
{
    for (size_t i = 0; i < COUNT * COUNT; i++)
        matrix[i] = i % (COUNT + 1) == 0 ? 0.1 : 0;
    for (int reading = 0; reading < READINGS; reading++) {
        double row[COUNT] = {0};
        const size_t own = SHARED + OWN * gsl_rng_uniform_int(random, (COUNT - SHARED) / OWN);
        for (size_t j = 0; j < COUNT; j++)
            if (j < SHARED || (j >= own && j < own + OWN))
                row[j] = gsl_rng_uniform(random) - 0.5;
        for (size_t i = 0; i < COUNT; i++)
            for (size_t j = 0; j < COUNT; j++)
                matrix[i * COUNT + j] += row[i] * row[j];
    }
}

START_TEST(solutions_squares_and_inverse_are_gsls)
{
    static double factor[COUNT * COUNT], theirs[COUNT * COUNT], inverse[COUNT * COUNT];
    gsl_rng *random = gsl_rng_alloc(gsl_rng_taus2);
    for (unsigned long seed = 1; seed <= 20; seed++) {
        gsl_rng_set(random, seed);
        set_matrix(random, factor);
        for (size_t i = 0; i < COUNT * COUNT; i++)
            theirs[i] = factor[i];
        gsl_matrix_view matrix = gsl_matrix_view_array(theirs, COUNT, COUNT);
        ck_assert_int_eq(gsl_linalg_cholesky_decomp1(&matrix.matrix), 0);
        ck_assert_int_eq(gsl_linalg_cholesky_invert(&matrix.matrix), 0);
        ck_assert(bb_factor(factor, COUNT));
        ck_assert_double_eq(factor[(COUNT - 1) * COUNT + SHARED], 0); /* another target's */
        bb_factor_inverse(factor, COUNT, inverse);
        double b[COUNT], square[COUNT], solution[COUNT];
        for (size_t i = 0; i < COUNT; i++)
            b[i] = square[i] = solution[i] = gsl_rng_uniform(random) - 0.5;
        bb_factor_solve(factor, COUNT, solution);
        double expected = 0;
        for (size_t i = 0; i < COUNT; i++) {
            double sum = 0;
            for (size_t j = 0; j < COUNT; j++) {
                check_close("inverse of a curvature", "GSL's Cholesky", theirs[i * COUNT + j],
                            inverse[i * COUNT + j], absolute(1e-13));
                sum += theirs[i * COUNT + j] * b[j];
            }
            expected += b[i] * sum;
            check_close("solution by a factor", "GSL's Cholesky", sum, solution[i],
                        absolute(1e-13));
        }
        check_close("square by a factor", "GSL's Cholesky", expected,
                    bb_factor_square(factor, COUNT, square), absolute(1e-13));
    }
    gsl_rng_free(random);
}
END_TEST

START_TEST(what_is_not_positive_has_no_factor)
{
    double turned[] = {1, 2, 2, 1}, unknown[] = {NAN, 0, 0, 1}, nothing[] = {0};
    ck_assert(!bb_factor(turned, 2));
    ck_assert(!bb_factor(unknown, 2));
    ck_assert(!bb_factor(nothing, 1));
}
END_TEST

Suite *suite_factor(void);
Suite *suite_factor(void)
{
    Suite *suite = suite_create("factor");
    TCase *all = tcase_create("all");
    tcase_add_test(all, solutions_squares_and_inverse_are_gsls);
    tcase_add_test(all, what_is_not_positive_has_no_factor);
    suite_add_tcase(suite, all);
    return suite;
}
