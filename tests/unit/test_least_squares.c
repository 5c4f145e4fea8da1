/* The solver against the Statistical Reference Datasets of NIST, from both starts, and against
 * problems that have no answer, which it must say. */
#include "brineband.h"
#include "compare.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { ROWS_MAX = 256, COLUMNS_MAX = 11, PATH_BYTES = 128 };

/* ---------------------------------------------------------------- regressions with known answers */

/* A model's value at one row of regressors, and its derivatives by the parameters. */
typedef double (*regression)(const double *b, size_t parameters, const double *x, double *by);

/* 1, x, x^2, ... */
static double polynomial(const double *b, size_t parameters, const double *x, double *by)
{
    double sum = 0, power = 1;
    for (size_t j = 0; j < parameters; j++, power *= x[0]) {
        by[j] = power;
        sum += b[j] * power;
    }
    return sum;
}

/* 1, x1, x2, ... */
static double plane(const double *b, size_t parameters, const double *x, double *by)
{
    double sum = b[0];
    by[0] = 1;
    for (size_t j = 1; j < parameters; j++) {
        by[j] = x[j - 1];
        sum += b[j] * x[j - 1];
    }
    return sum;
}

static double saturation(const double *b, size_t parameters, const double *x, double *by)
{
    (void)parameters;
    const double left = exp(-b[1] * x[0]);
    by[0] = 1 - left;
    by[1] = b[0] * x[0] * left;
    return b[0] * (1 - left);
}

static double cubic_by_cubic(const double *b, size_t parameters, const double *x, double *by)
{
    (void)parameters;
    const double t = x[0];
    const double above = b[0] + t * (b[1] + t * (b[2] + t * b[3]));
    const double below = 1 + t * (b[4] + t * (b[5] + t * b[6]));
    const double value = above / below;
    for (int j = 0; j < 4; j++)
        by[j] = pow(t, j) / below;
    for (int j = 0; j < 3; j++)
        by[4 + j] = -value * pow(t, j + 1) / below;
    return value;
}

static double quadratic_by_quadratic(const double *b, size_t parameters, const double *x, double *by)
{
    (void)parameters;
    const double t = x[0], above = t * (t + b[1]), below = t * (t + b[2]) + b[3];
    by[0] = above / below;
    by[1] = b[0] * t / below;
    by[2] = -b[0] * above * t / (below * below);
    by[3] = -b[0] * above / (below * below);
    return b[0] * above / below;
}

static double vapour(const double *b, size_t parameters, const double *x, double *by)
{
    (void)parameters;
    const double sum = x[0] + b[2], growth = exp(b[1] / sum);
    by[0] = growth;
    by[1] = b[0] * growth / sum;
    by[2] = -b[0] * growth * b[1] / (sum * sum);
    return b[0] * growth;
}

/* NAN where the base is negative: outside the model's domain. */
static double power_law(const double *b, size_t parameters, const double *x, double *by)
{
    (void)parameters;
    const double base = b[1] + x[0], power = pow(base, -1 / b[2]);
    by[0] = power;
    by[1] = -b[0] * power / (b[2] * base);
    by[2] = b[0] * power * log(base) / (b[2] * b[2]);
    return b[0] * power;
}

static double peak(const double *b, size_t parameters, const double *x, double *by)
{
    (void)parameters;
    const double z = (x[0] - b[2]) / b[1], value = b[0] / b[1] * exp(-0.5 * z * z);
    by[0] = value / b[0];
    by[1] = value * (z * z - 1) / b[1];
    by[2] = value * z / b[1];
    return value;
}

/* The data of one set and how its model is taken. */
typedef struct {
    regression model;
    size_t rows, columns, parameters;
    double y[ROWS_MAX], x[ROWS_MAX][COLUMNS_MAX];
} dataset;

static bb_status residuals_of(const double *b, double *residuals, double *jacobian, void *context)
{
    const dataset *data = context;
    double by[COLUMNS_MAX];
    for (size_t i = 0; i < data->rows; i++) {
        residuals[i] = data->model(b, data->parameters, data->x[i], by) - data->y[i];
        for (size_t j = 0; jacobian != NULL && j < data->parameters; j++)
            jacobian[i * data->parameters + j] = by[j];
    }
    return BB_OK;
}

static void read_data(const char *name, dataset *data)
{
    char path[PATH_BYTES], column[8];
    (void)snprintf(path, sizeof path, "reference/strd/%s.csv", name);
    reference *table = reference_open(path);
    data->rows = reference_rows(table);
    ck_assert_uint_le(data->rows, ROWS_MAX);
    for (size_t i = 0; i < data->rows; i++) {
        data->y[i] = reference_number(table, i, "y");
        for (size_t j = 0; j < data->columns; j++) {
            if (data->columns == 1)
                (void)snprintf(column, sizeof column, "x");
            else
                (void)snprintf(column, sizeof column, "x%zu", j + 1);
            data->x[i][j] = reference_number(table, i, column);
        }
    }
    reference_close(table);
}

typedef struct {
    double b[COLUMNS_MAX], sd[COLUMNS_MAX], start[2][COLUMNS_MAX], rss;
} answer;

static void read_answer(const char *name, size_t parameters, bool has_starts, answer *certified)
{
    char path[PATH_BYTES];
    (void)snprintf(path, sizeof path, "reference/strd/%s_certified.csv", name);
    reference *table = reference_open(path);
    for (size_t i = 0; i < parameters; i++) {
        certified->b[i] = reference_number(table, i, "certified");
        certified->sd[i] = reference_number(table, i, "sd");
        for (int start = 0; start < 2; start++)
            certified->start[start][i] =
                has_starts ? reference_number(table, i, start == 0 ? "start1" : "start2") : 0;
    }
    ck_assert_str_eq(reference_text(table, parameters, "key"), "rss");
    certified->rss = reference_number(table, parameters, "certified");
    reference_close(table);
}

enum { STARTS = 2, TRUSTS = 2, ITERATIONS = 2000 };
static const char *const trust_names[TRUSTS] = {"damped", "dogleg"};

/* Tolerances of every linear set are those that reference figures for GSL's own linear solver
 * suggest, 10 to 1000 times its error. Refused: the trust settings (a bit each, damped first) that
 * must say, from that start, that they did not get there. */
static const struct {
    const char *name;
    regression model;
    size_t columns, parameters;
    bool nonlinear;
    double b, sd, rss; /* relative tolerances; absolute in sd and rss where those are nought */
    unsigned refused[STARTS];
} sets[] = {
    {"norris", polynomial, 1, 2, false, 1e-9, 1e-9, 1e-9, {0}},
    {"pontius", polynomial, 1, 3, false, 1e-9, 1e-9, 1e-9, {0}},
    {"longley", plane, 6, 7, false, 1e-9, 1e-9, 1e-9, {0}},
    {"wampler1", polynomial, 1, 6, false, 1e-8, 1e-9, 1e-18, {0}},
    {"wampler2", polynomial, 1, 6, false, 1e-9, 1e-9, 1e-18, {0}},
    {"wampler3", polynomial, 1, 6, false, 1e-8, 1e-9, 1e-9, {0}},
    {"wampler4", polynomial, 1, 6, false, 1e-6, 1e-9, 1e-9, {0}},
    {"wampler5", polynomial, 1, 6, false, 1e-4, 1e-9, 1e-9, {0}},
    /* Its powers are a million times its value; GSL asks the same of its sum of squares. The normal
     * equations cannot hold a condition of 6e9. */
    {"filip", polynomial, 1, 11, false, 1e-6, 1e-6, 1e-7, {1 << BB_TRUST_DOGLEG}},
    {"misra1a", saturation, 1, 2, true, 1e-6, 1e-6, 1e-9, {0}},
    {"thurber", cubic_by_cubic, 1, 7, true, 1e-6, 1e-6, 1e-9, {0}},
    {"hahn1", cubic_by_cubic, 1, 7, true, 1e-6, 1e-6, 1e-9, {0}},
    /* From its first start the dogleg walks to parameters wrong by seven orders of magnitude. */
    {"mgh09", quadratic_by_quadratic, 1, 4, true, 1e-6, 1e-6, 1e-9, {1 << BB_TRUST_DOGLEG}},
    {"mgh10", vapour, 1, 3, true, 1e-6, 1e-6, 1e-9, {1 << BB_TRUST_DAMPED}},
    {"bennett5", power_law, 1, 3, true, 1e-6, 1e-6, 1e-9, {0}},
    {"eckerle4", peak, 1, 3, true, 1e-6, 1e-6, 1e-9, {0}},
    /* The first damped step leaves the exponential without a slope. */
    {"boxbod", saturation, 1, 2, true, 1e-6, 1e-6, 1e-9, {1 << BB_TRUST_DAMPED}},
};
enum { SETS = sizeof sets / sizeof *sets };

static void check_digits(const char *quantity, const char *set, double wanted, double got,
                         double limit)
{
    char name[64];
    (void)snprintf(name, sizeof name, "%s, %s", quantity, set);
    check_close(name, "NIST StRD, certified", wanted, got,
                wanted == 0 ? absolute(limit) : relative(limit));
}

static void check_set(int set, int start, bb_trust trust)
{
    const size_t p = sets[set].parameters;
    dataset data = {.model = sets[set].model, .columns = sets[set].columns, .parameters = p};
    answer certified;
    read_data(sets[set].name, &data);
    read_answer(sets[set].name, p, sets[set].nonlinear, &certified);
    const bb_least_squares problem = {.residuals = data.rows,
                                      .parameters = p,
                                      .evaluate = residuals_of,
                                      .context = &data,
                                      .trust = trust,
                                      .tolerance = 1e-14,
                                      .max_iterations = ITERATIONS};
    double x[COLUMNS_MAX], covariance[COLUMNS_MAX * COLUMNS_MAX];
    bb_least_squares_evidence evidence;
    memcpy(x, certified.start[start], sizeof x);
    const bb_status status = bb_least_squares_solve(&problem, x, covariance, &evidence);
    if (sets[set].refused[start] >> trust & 1) {
        ck_assert_msg(status == BB_NOT_CONVERGED, "%s from start %d, %s: believed", sets[set].name,
                      start + 1, trust_names[trust]);
        return;
    }
    ck_assert_msg(status == BB_OK, "%s from start %d, %s: %s after %d steps, gradient %g, rank %zu",
                  sets[set].name, start + 1, trust_names[trust], bb_status_text(status),
                  evidence.iterations, evidence.gradient, evidence.rank);
    ck_assert_uint_eq(evidence.rank, p);
    check_close("gradient at an optimum, cosine", "orthogonality", 0, evidence.gradient,
                absolute(1e-6));
    check_digits("StRD rss", sets[set].name, certified.rss, evidence.sum_of_squares, sets[set].rss);
    const double variance = evidence.sum_of_squares / (double)(data.rows - p);
    for (size_t j = 0; j < p; j++) {
        check_digits("StRD b", sets[set].name, certified.b[j], x[j], sets[set].b);
        check_digits("StRD sd", sets[set].name, certified.sd[j],
                     sqrt(variance * covariance[j * p + j]), sets[set].sd);
    }
}

START_TEST(certified_regressions_are_met_from_every_start)
{
    for (int start = 0; start < (sets[_i].nonlinear ? STARTS : 1); start++) {
        check_set(_i, start, BB_TRUST_DAMPED);
        check_set(_i, start, BB_TRUST_DOGLEG);
    }
}
END_TEST

/* The covariance of a line's two parameters is -mean(x) / Sxx. */
START_TEST(covariance_of_a_line)
{
    dataset data = {.model = polynomial, .columns = 1, .parameters = 2};
    read_data("norris", &data);
    double mean = 0, spread = 0, x[2] = {0, 0}, covariance[4];
    for (size_t i = 0; i < data.rows; i++)
        mean += data.x[i][0] / (double)data.rows;
    for (size_t i = 0; i < data.rows; i++)
        spread += pow(data.x[i][0] - mean, 2);
    const bb_least_squares problem = {.residuals = data.rows,
                                      .parameters = 2,
                                      .evaluate = residuals_of,
                                      .context = &data,
                                      .tolerance = 1e-12,
                                      .max_iterations = ITERATIONS};
    bb_least_squares_evidence evidence;
    ck_assert_int_eq(bb_least_squares_solve(&problem, x, covariance, &evidence), BB_OK);
    check_close("covariance of a line", "-mean(x) / Sxx", -mean / spread, covariance[1],
                relative(1e-12));
    ck_assert_double_eq(covariance[1], covariance[2]);
}
END_TEST

/* ---------------------------------------------------------------- problems without an answer */

/* How often a problem was evaluated outside its domain. */
typedef struct {
    int outside;
} visits;

/* sqrt(x) - 0.1 and its likes: from 4 a full step ends below nought. */
static bb_status root(const double *x, double *residuals, double *jacobian, void *context)
{
    if (x[0] <= 0) {
        ((visits *)context)->outside++;
        return BB_RANGE;
    }
    for (int i = 0; i < 2; i++)
        residuals[i] = sqrt(x[0]) - (i == 0 ? 0.1 : 0.3);
    if (jacobian != NULL)
        jacobian[0] = jacobian[1] = 0.5 / sqrt(x[0]);
    return BB_OK;
}

/* Only x + y is ever seen. */
static bb_status twins(const double *x, double *residuals, double *jacobian, void *context)
{
    (void)context;
    for (int i = 0; i < 3; i++) {
        residuals[i] = (i + 1) * (x[0] + x[1]) - i * i;
        if (jacobian != NULL)
            jacobian[2 * i] = jacobian[2 * i + 1] = i + 1;
    }
    return BB_OK;
}

/* y is never seen. */
static bb_status blind(const double *x, double *residuals, double *jacobian, void *context)
{
    (void)context;
    for (int i = 0; i < 3; i++) {
        residuals[i] = (i + 1) * x[0] - i * i;
        if (jacobian != NULL) {
            jacobian[2 * i] = i + 1;
            jacobian[2 * i + 1] = 0;
        }
    }
    return BB_OK;
}

/* A number that is none, in a residual or in the Jacobian. */
static bb_status broken(const double *x, double *residuals, double *jacobian, void *context)
{
    const bool in_jacobian = context != NULL;
    residuals[0] = x[0] - 1;
    residuals[1] = in_jacobian ? x[1] : NAN;
    if (jacobian != NULL) {
        memcpy(jacobian, (double[]){1, 0, 0, 1}, 4 * sizeof *jacobian);
        jacobian[3] = in_jacobian ? NAN : 1;
    }
    return BB_OK;
}

/* Better for ever towards infinity. */
static bb_status endless(const double *x, double *residuals, double *jacobian, void *context)
{
    (void)context;
    residuals[0] = exp(-x[0]);
    residuals[1] = 0.5 * exp(-x[0]);
    if (jacobian != NULL) {
        jacobian[0] = -exp(-x[0]);
        jacobian[1] = -0.5 * exp(-x[0]);
    }
    return BB_OK;
}

/* Rosenbrock's valley (1960, Computer Journal 3:175): nought at (1, 1). */
static bb_status valley(const double *x, double *residuals, double *jacobian, void *context)
{
    (void)context;
    residuals[0] = 10 * (x[1] - x[0] * x[0]);
    residuals[1] = 1 - x[0];
    if (jacobian != NULL)
        memcpy(jacobian, (double[]){-20 * x[0], 10, -1, 0}, 4 * sizeof *jacobian);
    return BB_OK;
}

static bb_status solve(bb_residuals evaluate, void *context, size_t n, size_t p, bb_trust trust,
                       double *x, bb_least_squares_evidence *evidence)
{
    double covariance[4];
    const bb_least_squares problem = {.residuals = n,
                                      .parameters = p,
                                      .evaluate = evaluate,
                                      .context = context,
                                      .trust = trust,
                                      .tolerance = 1e-10,
                                      .max_iterations = 500};
    return bb_least_squares_solve(&problem, x, covariance, evidence);
}

START_TEST(a_step_out_of_the_domain_is_shortened)
{
    visits seen = {0};
    bb_least_squares_evidence evidence;
    double x[1] = {4};
    ck_assert_int_eq(solve(root, &seen, 2, 1, (bb_trust)_i, x, &evidence), BB_OK);
    ck_assert_int_gt(seen.outside, 0);
    check_close("optimum beside a domain's edge", "(0.1 + 0.3)^2 / 4", 0.04, x[0], relative(1e-9));
}
END_TEST

START_TEST(a_start_outside_the_domain_is_refused)
{
    visits seen = {0};
    bb_least_squares_evidence evidence;
    double x[1] = {-1};
    ck_assert_int_eq(solve(root, &seen, 2, 1, (bb_trust)_i, x, &evidence), BB_NOT_CONVERGED);
    ck_assert_double_eq(x[0], -1);
}
END_TEST

START_TEST(what_the_data_do_not_determine_is_refused)
{
    bb_least_squares_evidence evidence;
    double x[2] = {0.3, 0.2};
    ck_assert_int_eq(solve(twins, NULL, 3, 2, (bb_trust)_i, x, &evidence), BB_RANK);
    ck_assert_uint_eq(evidence.rank, 1);
    memcpy(x, (double[]){0.3, 0.2}, sizeof x);
    ck_assert_int_eq(solve(blind, NULL, 3, 2, (bb_trust)_i, x, &evidence), BB_RANK);
    ck_assert_uint_eq(evidence.rank, 1);
    ck_assert(isinf(evidence.condition));
}
END_TEST

START_TEST(a_number_that_is_none_is_refused)
{
    bb_least_squares_evidence evidence;
    double x[2] = {0.3, 0.2};
    bool in_jacobian = true;
    ck_assert_int_eq(solve(broken, NULL, 2, 2, (bb_trust)_i, x, &evidence), BB_NOT_CONVERGED);
    ck_assert_int_eq(solve(broken, &in_jacobian, 2, 2, (bb_trust)_i, x, &evidence),
                     BB_NOT_CONVERGED);
    ck_assert(isfinite(x[0]) && isfinite(x[1]));
}
END_TEST

START_TEST(an_optimum_at_infinity_is_refused)
{
    bb_least_squares_evidence evidence;
    double x[1] = {0};
    ck_assert_int_eq(solve(endless, NULL, 2, 1, (bb_trust)_i, x, &evidence), BB_NOT_CONVERGED);
    ck_assert_double_gt(evidence.gradient, 0.9);
}
END_TEST

START_TEST(residuals_of_nought_are_an_optimum)
{
    bb_least_squares_evidence evidence;
    double x[2] = {-1.2, 1};
    ck_assert_int_eq(solve(valley, NULL, 2, 2, (bb_trust)_i, x, &evidence), BB_OK);
    for (int j = 0; j < 2; j++)
        check_close("end of the valley", "Rosenbrock 1960", 1, x[j], absolute(1e-9));
    check_close("sum of squares there", "Rosenbrock 1960", 0, evidence.sum_of_squares,
                absolute(1e-18));
}
END_TEST

START_TEST(too_few_steps_are_not_enough)
{
    bb_least_squares_evidence evidence;
    double x[2] = {-1.2, 1};
    const bb_least_squares problem = {.residuals = 2,
                                      .parameters = 2,
                                      .evaluate = valley,
                                      .trust = (bb_trust)_i,
                                      .tolerance = 1e-10,
                                      .max_iterations = 2};
    ck_assert_int_eq(bb_least_squares_solve(&problem, x, NULL, &evidence), BB_NOT_CONVERGED);
    ck_assert_int_eq(evidence.iterations, 2);
}
END_TEST

START_TEST(a_problem_that_is_none_is_refused)
{
    const bb_least_squares good = {.residuals = 2,
                                   .parameters = 2,
                                   .evaluate = valley,
                                   .tolerance = 1e-10,
                                   .max_iterations = 100};
    bb_least_squares bad[] = {good, good, good, good, good};
    bad[0].parameters = 0;
    bad[1].residuals = 1;
    bad[2].tolerance = 1e-15;
    bad[3].tolerance = NAN;
    bad[4].max_iterations = 0;
    bb_least_squares_evidence evidence;
    double x[2] = {-1.2, 1}, nowhere[2] = {NAN, 1};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        ck_assert_int_eq(bb_least_squares_solve(&bad[i], x, NULL, &evidence), BB_RANGE);
    ck_assert_int_eq(bb_least_squares_solve(&good, nowhere, NULL, &evidence), BB_RANGE);
}
END_TEST

Suite *suite_least_squares(void);
Suite *suite_least_squares(void)
{
    Suite *suite = suite_create("least squares");
    TCase *certified = tcase_create("certified");
    tcase_set_timeout(certified, 30);
    tcase_add_loop_test(certified, certified_regressions_are_met_from_every_start, 0, SETS);
    tcase_add_test(certified, covariance_of_a_line);
    suite_add_tcase(suite, certified);
    TCase *refusals = tcase_create("refusals");
    tcase_add_loop_test(refusals, a_step_out_of_the_domain_is_shortened, 0, TRUSTS);
    tcase_add_loop_test(refusals, a_start_outside_the_domain_is_refused, 0, TRUSTS);
    tcase_add_loop_test(refusals, what_the_data_do_not_determine_is_refused, 0, TRUSTS);
    tcase_add_loop_test(refusals, a_number_that_is_none_is_refused, 0, TRUSTS);
    tcase_add_loop_test(refusals, an_optimum_at_infinity_is_refused, 0, TRUSTS);
    tcase_add_loop_test(refusals, residuals_of_nought_are_an_optimum, 0, TRUSTS);
    tcase_add_loop_test(refusals, too_few_steps_are_not_enough, 0, TRUSTS);
    tcase_add_test(refusals, a_problem_that_is_none_is_refused);
    suite_add_tcase(suite, refusals);
    return suite;
}
