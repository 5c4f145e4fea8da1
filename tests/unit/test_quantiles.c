/* The distributions taken from GSL, against tables from elsewhere. */
#include "compare.h"

#include <check.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdio.h>

static const int freedoms[] = {1, 2, 3, 4, 5, 7, 10, 12, 15, 20, 30, 38, 60, 120};

START_TEST(student_t)
{
    reference *table = reference_open("reference/student_t_quantiles.csv");
    for (size_t row = 0; row < reference_rows(table); row++) {
        const double p = reference_number(table, row, "p");
        for (size_t i = 0; i < sizeof freedoms / sizeof *freedoms; i++) {
            char column[16];
            (void)snprintf(column, sizeof column, "nu_%d", freedoms[i]);
            const double t = reference_number(table, row, column), nu = freedoms[i];
            check_close("Student t, quantile", "mpmath", t, gsl_cdf_tdist_Pinv(p, nu),
                        relative(1e-11));
            check_close("Student t, upper chance", "mpmath", 1 - p, gsl_cdf_tdist_Q(t, nu),
                        relative(1e-11));
            /* t squared is F on 1 and nu degrees of freedom */
            check_close("F on 1 and nu, upper chance", "mpmath, as t squared", 2 * (1 - p),
                        gsl_cdf_fdist_Q(t * t, 1, nu), relative(1e-11));
        }
        check_close("normal, quantile", "mpmath", reference_number(table, row, "nu_inf"),
                    gsl_cdf_ugaussian_Pinv(p), relative(1e-11));
    }
    reference_close(table);
}
END_TEST

START_TEST(chi_squared)
{
    reference *table = reference_open("reference/chi2_quantiles.csv");
    for (size_t row = 0; row < reference_rows(table); row++) {
        const double p = reference_number(table, row, "p"), nu = reference_number(table, row, "nu"),
                     quantile = reference_number(table, row, "quantile");
        check_close("chi-squared, quantile", "mpmath", quantile, gsl_cdf_chisq_Pinv(p, nu),
                    relative(1e-11));
        check_close("chi-squared, lower chance", "mpmath", p, gsl_cdf_chisq_P(quantile, nu),
                    relative(1e-11));
    }
    reference_close(table);
}
END_TEST

START_TEST(densities_in_closed_form)
{
    const double pi = 3.14159265358979323846;
    for (double t = -4; t <= 4; t += 0.5) {
        check_close("Student t, density", "Cauchy, closed form", 1 / (pi * (1 + t * t)),
                    gsl_ran_tdist_pdf(t, 1), relative(1e-13));
        check_close("Student t, density", "two degrees, closed form", pow(2 + t * t, -1.5),
                    gsl_ran_tdist_pdf(t, 2), relative(1e-13));
    }
    check_close("F on 18 and 20, upper chance", "NIST e-Handbook 4.6.1, R", 0.05,
                gsl_cdf_fdist_Q(2.15112442712183, 18, 20), relative(1e-11));
}
END_TEST

Suite *suite_quantiles(void);
Suite *suite_quantiles(void)
{
    Suite *suite = suite_create("quantiles");
    TCase *group = tcase_create("quantiles");
    tcase_add_test(group, student_t);
    tcase_add_test(group, chi_squared);
    tcase_add_test(group, densities_in_closed_form);
    suite_add_tcase(suite, group);
    return suite;
}
