/* The test of lack of fit against pure error, on published data with replicates. */
#include "brineband.h"
#include "compare.h"
#include "lack_of_fit.h"

#include <check.h>
#include <math.h>
#include <stdio.h>

enum { ROWS_MAX = 64, PARAMETERS_MAX = 3 };

typedef struct {
    size_t rows, parameters;
    double x[ROWS_MAX], y[ROWS_MAX];
} replicated;

static double value(const replicated *data, const double *b, double x)
{
    double sum = 0;
    for (size_t j = data->parameters; j-- > 0;)
        sum = sum * x + b[j];
    return sum;
}

static bb_status polynomial(const double *b, double *residuals, double *jacobian, void *context)
{
    const replicated *data = context;
    for (size_t i = 0; i < data->rows; i++) {
        residuals[i] = value(data, b, data->x[i]) - data->y[i];
        for (size_t j = 0; jacobian != NULL && j < data->parameters; j++)
            jacobian[i * data->parameters + j] = pow(data->x[i], (double)j);
    }
    return BB_OK;
}

static void read_data(const reference *cases, size_t row, replicated *data)
{
    char path[64];
    (void)snprintf(path, sizeof path, "reference/%s.csv", reference_text(cases, row, "data"));
    reference *table = reference_open(path);
    data->rows = reference_rows(table);
    ck_assert_uint_le(data->rows, ROWS_MAX);
    for (size_t i = 0; i < data->rows; i++) {
        data->x[i] = reference_number(table, i, reference_text(cases, row, "x"));
        data->y[i] = reference_number(table, i, reference_text(cases, row, "y"));
    }
    reference_close(table);
}

/* Rows of one x are replicates; each place is added where its x comes first. */
static bb_fit_error sums_of(const replicated *data, const double *b, double variance)
{
    bb_fit_error sums = {0};
    for (size_t i = 0; i < data->rows; i++) {
        bb_replicates place = {.expected = value(data, b, data->x[i]), .variance = variance};
        bool first = true;
        for (size_t k = 0; k < data->rows; k++) {
            if (data->x[k] != data->x[i])
                continue;
            first = first && k >= i;
            place.count++;
            place.mean += data->y[k];
        }
        if (!first)
            continue;
        place.mean /= place.count;
        for (size_t k = 0; k < data->rows; k++)
            if (data->x[k] == data->x[i])
                place.squares += pow(data->y[k] - place.mean, 2);
        bb_fit_error_add(&sums, &place);
    }
    return sums;
}

START_TEST(published_tests_of_lack_of_fit)
{
    reference *cases = reference_open("reference/lack_of_fit.csv");
    for (size_t row = 0; row < reference_rows(cases); row++) {
        replicated data = {.parameters = (size_t)reference_number(cases, row, "degree") + 1};
        double b[PARAMETERS_MAX] = {0};
        read_data(cases, row, &data);
        const bb_least_squares problem = {.residuals = data.rows,
                                          .parameters = data.parameters,
                                          .evaluate = polynomial,
                                          .context = &data,
                                          .tolerance = 1e-14,
                                          .max_iterations = 100};
        bb_least_squares_evidence evidence;
        ck_assert_int_eq(bb_least_squares_solve(&problem, b, NULL, &evidence), BB_OK);
        const bb_fit_error sums = sums_of(&data, b, 1);
        const bb_lack_of_fit test = bb_lack_of_fit_test(&sums, (double)data.parameters);
        const double p = reference_number(cases, row, "p"), f = reference_number(cases, row, "f");
        check_close("pure error, sum of squares", "R, published data",
                    reference_number(cases, row, "sspe"), sums.pure, relative(1e-10));
        check_close("lack of fit, sum of squares", "R, published data",
                    reference_number(cases, row, "sslof"), sums.lack, relative(1e-10));
        ck_assert_double_eq(sums.pure_df, reference_number(cases, row, "pure_df"));
        ck_assert_double_eq(test.lack_df, reference_number(cases, row, "lack_df"));
        check_close("lack of fit, F", "R, published data", f, test.f, relative(1e-10));
        /* printed to two digits where it is below 1e-9 */
        check_close("lack of fit, chance", "R, published data", p, test.p,
                    relative(p < 1e-9 ? 0.01 : 1e-10));
        check_close("pure error, sd", "R, published data",
                    sqrt(reference_number(cases, row, "sspe") / sums.pure_df), test.pure_sd,
                    relative(1e-10));
    }
    reference_close(cases);
}
END_TEST

/* One variance for all places is a change of unit, which F does not see. */
START_TEST(f_has_no_unit)
{
    const replicated data = {
        .rows = 6, .parameters = 2, .x = {0, 0, 1, 1, 2, 2}, .y = {0, 1, 3, 2, 2, 2.5}};
    const double b[] = {0.5, 1};
    const bb_fit_error plain = sums_of(&data, b, 1), scaled = sums_of(&data, b, 7);
    const bb_lack_of_fit one = bb_lack_of_fit_test(&plain, 2), other = bb_lack_of_fit_test(&scaled, 2);
    ck_assert(isfinite(one.f));
    check_close("lack of fit, F", "change of unit", one.f, other.f, relative(1e-14));
    ck_assert_double_eq(one.pure_sd, other.pure_sd);
}
END_TEST

/* What the readings of a place share widens the miss that is allowed, not their spread. */
START_TEST(a_shared_error_is_no_lack_of_fit)
{
    bb_fit_error sums = {0};
    const bb_replicates place = {
        .count = 4, .mean = 3, .squares = 6, .expected = 1, .variance = 2, .shared = 0.5};
    bb_fit_error_add(&sums, &place);
    check_close("lack of fit, shared error", "(3 - 1)^2 / (2 / 4 + 0.5)", 4, sums.lack,
                relative(1e-15));
    check_close("pure error, shared error", "6 / 2", 3, sums.pure, relative(1e-15));
}
END_TEST

START_TEST(without_replicates_there_is_no_test)
{
    bb_fit_error sums = {0};
    for (int i = 0; i < 5; i++)
        bb_fit_error_add(&sums, &(bb_replicates){.count = 1, .mean = i, .variance = 1});
    bb_lack_of_fit test = bb_lack_of_fit_test(&sums, 2);
    ck_assert(isnan(test.f) && isnan(test.p) && isnan(test.pure_sd));
    /* replicates that agree to the last digit have no error to compare with */
    bb_fit_error_add(&sums, &(bb_replicates){.count = 9, .mean = 1, .variance = 1});
    test = bb_lack_of_fit_test(&sums, 2);
    ck_assert(isnan(test.f) && isnan(test.p));
    ck_assert_double_eq(test.pure_sd, 0);
    /* as many parameters as places */
    bb_fit_error_add(&sums, &(bb_replicates){.count = 2, .squares = 1, .variance = 1});
    ck_assert(isnan(bb_lack_of_fit_test(&sums, 7).f));
    ck_assert(isfinite(bb_lack_of_fit_test(&sums, 6).f));
}
END_TEST

Suite *suite_lack_of_fit(void);
Suite *suite_lack_of_fit(void)
{
    Suite *suite = suite_create("lack of fit");
    TCase *group = tcase_create("lack of fit");
    tcase_add_test(group, published_tests_of_lack_of_fit);
    tcase_add_test(group, f_has_no_unit);
    tcase_add_test(group, a_shared_error_is_no_lack_of_fit);
    tcase_add_test(group, without_replicates_there_is_no_test);
    suite_add_tcase(suite, group);
    return suite;
}
