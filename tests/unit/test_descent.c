/* The fast descent on sums of squares whose ends are published. */
#include "compare.h"
#include "descent.h"

#include <check.h>
#include <math.h>
#include <string.h>

enum { COUNT_MAX = 4, ROWS_MAX = 20 };

#define SOURCE "More, Garbow and Hillstrom 1981, ACM Trans. Math. Softw. 7:17, from memory"

typedef struct {
    const char *name;
    size_t count;
    int rows;
    double start[COUNT_MAX], sum, tolerance;
    void (*row)(int i, const double *x, double *residual, double *slope);
} problem;

static void rosenbrock(int i, const double *x, double *residual, double *slope)
{
    *residual = i == 0 ? 10 * (x[1] - x[0] * x[0]) : 1 - x[0];
    slope[0] = i == 0 ? -20 * x[0] : -1;
    slope[1] = i == 0 ? 10 : 0;
}

/* Its end here is not its lowest; the residuals there are large. */
static void freudenstein_roth(int i, const double *x, double *residual, double *slope)
{
    const double y = x[1];
    *residual = i == 0 ? -13 + x[0] + ((5 - y) * y - 2) * y : -29 + x[0] + ((y + 1) * y - 14) * y;
    slope[0] = 1;
    slope[1] = i == 0 ? 10 * y - 3 * y * y - 2 : 3 * y * y + 2 * y - 14;
}

static void brown_dennis(int i, const double *x, double *residual, double *slope)
{
    const double t = (i + 1) / 5.0;
    const double one = x[0] + t * x[1] - exp(t), other = x[2] + x[3] * sin(t) - cos(t);
    *residual = one * one + other * other;
    slope[0] = 2 * one;
    slope[1] = 2 * one * t;
    slope[2] = 2 * other;
    slope[3] = 2 * other * sin(t);
}

static const problem problems[] = {
    {"Rosenbrock", 2, 2, {-1.2, 1}, 0, 1e-10, rosenbrock},
    {"Freudenstein and Roth", 2, 2, {0.5, -2}, 48.98425, 1e-4, freudenstein_roth},
    {"Brown and Dennis", 4, 20, {25, 5, -5, -1}, 85822.2, 0.05, brown_dennis},
};

static bb_status evaluate(const double *x, double *half_sum, double *gradient, double *curvature,
                          void *context)
{
    const problem *of = context;
    const size_t n = of->count;
    *half_sum = 0;
    memset(gradient, 0, n * sizeof *gradient);
    memset(curvature, 0, n * n * sizeof *curvature);
    for (int r = 0; r < of->rows; r++) {
        double residual, slope[COUNT_MAX];
        of->row(r, x, &residual, slope);
        *half_sum += 0.5 * residual * residual;
        for (size_t i = 0; i < n; i++) {
            gradient[i] += slope[i] * residual;
            for (size_t j = 0; j <= i; j++)
                curvature[i * n + j] += slope[i] * slope[j];
        }
    }
    return BB_OK;
}

START_TEST(published_sums_are_reached)
{
    problem of = problems[_i];
    const bb_descent descent = {.count = of.count,
                                .evaluate = evaluate,
                                .context = &of,
                                .max_iterations = 60,
                                .tolerance = 1e-12};
    double x[COUNT_MAX], half_sum;
    int iterations;
    memcpy(x, of.start, sizeof x);
    ck_assert_int_eq(bb_descend(&descent, x, &half_sum, &iterations), BB_OK);
    check_close(of.name, SOURCE, of.sum, 2 * half_sum, absolute(of.tolerance));
}
END_TEST

/* Steps without end and starts without a sum are told. */
static bb_status nowhere(const double *x, double *half_sum, double *gradient, double *curvature,
                         void *context)
{
    (void)context;
    *half_sum = x[0] > 0 ? NAN : x[0];
    *gradient = 1;
    *curvature = 0;
    return BB_OK;
}

START_TEST(what_has_no_end_is_told)
{
    const bb_descent descent = {
        .count = 1, .evaluate = nowhere, .max_iterations = 50, .tolerance = 1e-12};
    double x = 0, half_sum;
    int iterations;
    ck_assert_int_eq(bb_descend(&descent, &x, &half_sum, &iterations), BB_NOT_CONVERGED);
    x = 1;
    ck_assert_int_eq(bb_descend(&descent, &x, &half_sum, &iterations), BB_NOT_CONVERGED);
}
END_TEST

Suite *suite_descent(void);
Suite *suite_descent(void)
{
    Suite *suite = suite_create("descent");
    TCase *group = tcase_create("descent");
    tcase_add_loop_test(group, published_sums_are_reached, 0,
                        (int)(sizeof problems / sizeof *problems));
    tcase_add_test(group, what_has_no_end_is_told);
    suite_add_tcase(suite, group);
    return suite;
}
