/* The rows of a fit, and the two ways down their sum of squares. */
#include "fitting.h"

#include <string.h>

#include "descent.h"
#include "factor.h"

double bb_fit_prior_residual(const bb_fitting *fit, const double *theta, size_t row)
{
    const size_t p = fit->prior.count;
    const double *of = fit->prior.rows + row * p;
    double sum = 0;
    for (size_t c = 0; c < p; c++)
        sum += of[c] * (theta[c] - fit->prior.mean[c]);
    return sum;
}

/* Deviations from the prior in prior sds. */
static void scale(const bb_fitting *fit, const double *theta, double *scaled)
{
    for (size_t i = 0; i < fit->prior.count; i++)
        scaled[i] = (theta[i] - fit->prior.mean[i]) / fit->prior.sd[i];
}

static void scale_back(const bb_fitting *fit, const double *scaled, double *theta)
{
    for (size_t i = 0; i < fit->prior.count; i++)
        theta[i] = fit->prior.mean[i] + fit->prior.sd[i] * scaled[i];
}

static void scale_covariance_back(const bb_fitting *fit, double *covariance)
{
    const size_t p = fit->prior.count;
    for (size_t i = 0; i < p * p; i++)
        covariance[i] *= fit->prior.sd[i / p] * fit->prior.sd[i % p];
}

bb_status bb_fit_residuals(const bb_fitting *fit, const double *theta, double *residuals,
                           double *jacobian)
{
    const bb_cells *cells = &fit->cells;
    const size_t p = fit->prior.count;
    bb_state state;
    bb_expected expected = {0};
    bb_gradient gradient = {0};
    bb_status status = bb_state_set(&state, fit->model, theta, &fit->level, fit->answers);
    if (jacobian != NULL)
        memset(jacobian, 0, cells->row_count * p * sizeof *jacobian);
    for (size_t r = 0; r < cells->row_count && status == BB_OK; r++) {
        const bb_row *row = &cells->rows[r];
        if (r == 0 || cells->rows[r - 1].place != row->place)
            status = bb_expect(&state, &cells->places[row->place].point, &expected,
                               jacobian == NULL ? NULL : &gradient);
        double slope;
        residuals[r] = bb_row_residual(&fit->model->machine, cells, row, expected.mean, &slope);
        for (int c = 0; jacobian != NULL && c < gradient.count; c++)
            jacobian[r * p + (size_t)gradient.column[c]] = slope * gradient.value[c];
    }
    for (size_t i = 0; i < p; i++)
        residuals[cells->row_count + i] = bb_fit_prior_residual(fit, theta, i);
    if (jacobian != NULL)
        memcpy(jacobian + cells->row_count * p, fit->prior.rows, p * p * sizeof *jacobian);
    return status;
}

/* The solver sees deviations from the prior in prior sds, so that neither the unit nor the origin
 * of a scale has a say in where it stops. */
static bb_status scaled_residuals_at(const double *scaled, double *residuals, double *jacobian,
                                     void *context)
{
    const bb_fitting *fit = context;
    const size_t p = fit->prior.count;
    double theta[BB_PARAMETERS_MAX];
    scale_back(fit, scaled, theta);
    bb_status status = bb_fit_residuals(fit, theta, residuals, jacobian);
    for (size_t r = 0; jacobian != NULL && r < fit->cells.row_count + p; r++)
        for (size_t c = 0; c < p; c++)
            jacobian[r * p + c] *= fit->prior.sd[c];
    return status;
}

bb_status bb_fit_solve(bb_fitting *fit, double *theta, bb_trust trust, int iterations,
                       double tolerance, double *covariance, bb_least_squares_evidence *evidence)
{
    const size_t p = fit->prior.count;
    const bb_least_squares problem = {.residuals = fit->cells.row_count + p,
                                      .parameters = p,
                                      .evaluate = scaled_residuals_at,
                                      .context = fit,
                                      .trust = trust,
                                      .tolerance = tolerance,
                                      .max_iterations = iterations};
    double scaled[BB_PARAMETERS_MAX];
    scale(fit, theta, scaled);
    bb_status status = bb_least_squares_solve(&problem, scaled, covariance, evidence);
    scale_back(fit, scaled, theta);
    scale_covariance_back(fit, covariance);
    fit->evidence.iterations += evidence->iterations;
    return status;
}

/* One row's part of gradient and curvature, the latter's lower triangle. */
static void add_row(const bb_gradient *gradient, double residual, double slope, double *slopes,
                    double *curvature, size_t p)
{
    for (int i = 0; i < gradient->count; i++)
        slopes[gradient->column[i]] += slope * gradient->value[i] * residual;
    bb_gradient_add_square(gradient, slope * slope, curvature, p);
}

/* The prior's part of the half sum, its gradient and its curvature. */
static double add_prior(const bb_fitting *fit, const double *scaled, double *slopes,
                        double *curvature)
{
    const size_t p = fit->prior.count;
    double twice = 0;
    memcpy(curvature, fit->scaled_prior, p * p * sizeof *curvature);
    for (size_t i = 0; i < p; i++)
        slopes[i] = 0;
    for (size_t i = 0; i < p; i++) {
        const double *row = curvature + i * p;
        for (size_t j = 0; j < i; j++) {
            slopes[i] += row[j] * scaled[j];
            slopes[j] += row[j] * scaled[i];
        }
        slopes[i] += row[i] * scaled[i];
    }
    for (size_t i = 0; i < p; i++)
        twice += slopes[i] * scaled[i];
    return 0.5 * twice;
}

/* Half the sum of squares, its gradient and curvature at scaled parameters, row by row. */
static bb_status half_sum_at(const double *scaled, double *half_sum, double *slopes,
                             double *curvature, void *context)
{
    bb_fitting *fit = context;
    const bb_cells *cells = &fit->cells;
    const size_t p = fit->prior.count;
    double theta[BB_PARAMETERS_MAX] = {0};
    bb_state state;
    bb_expected expected = {0};
    bb_gradient gradient = {0};
    scale_back(fit, scaled, theta);
    bb_status status = bb_state_set(&state, fit->model, theta, &fit->level, fit->answers);
    bool looked = false;
    *half_sum = add_prior(fit, scaled, slopes, curvature);
    for (size_t r = 0; r < cells->row_count && status == BB_OK; r++) {
        const bb_row *row = &cells->rows[r];
        double slope;
        const bb_site *place = &cells->places[row->place];
        if (r > 0 && cells->rows[r - 1].place != row->place)
            looked = looked && place->same;
        if (row->many == 0)
            continue;
        if (!looked) {
            status = bb_expect(&state, &place->point, &expected, &gradient);
            for (int c = 0; c < gradient.count; c++)
                gradient.value[c] *= fit->prior.sd[gradient.column[c]];
            looked = true;
        }
        const double residual =
            bb_row_residual(&fit->model->machine, cells, row, expected.mean, &slope);
        *half_sum += 0.5 * residual * residual;
        add_row(&gradient, residual, slope, slopes, curvature, p);
    }
    return status;
}

bb_status bb_fit_covariance(bb_fitting *fit, const double *theta, double *covariance)
{
    double scaled[BB_PARAMETERS_MAX], slopes[BB_PARAMETERS_MAX], half_sum;
    double *curvature = fit->curvature.matrix;
    scale(fit, theta, scaled);
    bb_status status = half_sum_at(scaled, &half_sum, slopes, curvature, fit);
    if (status == BB_OK && !bb_factor(curvature, fit->prior.count))
        status = BB_RANK;
    if (status != BB_OK)
        return status;
    bb_factor_inverse(curvature, fit->prior.count, covariance);
    scale_covariance_back(fit, covariance);
    return BB_OK;
}

bb_status bb_fit_descend(bb_fitting *fit, double *theta, int iterations, double tolerance,
                         double *sum_of_squares)
{
    const size_t p = fit->prior.count;
    const bb_descent descent = {.count = p,
                                .evaluate = half_sum_at,
                                .context = fit,
                                .max_iterations = iterations,
                                .tolerance = tolerance};
    double scaled[BB_PARAMETERS_MAX];
    int taken;
    scale(fit, theta, scaled);
    bb_status status = bb_descend(&descent, scaled, sum_of_squares, &taken);
    scale_back(fit, scaled, theta);
    *sum_of_squares *= 2;
    fit->evidence.iterations += taken;
    return status;
}
