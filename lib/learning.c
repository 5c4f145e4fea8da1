/* What a mean of sweeps teaches of the parameters, by the linear model about where they are. */
#include "learning.h"

void bb_gradient_row(const bb_gradient *gradient, double *row)
{
    for (int i = 0; i < gradient->count; i++)
        if (gradient->column[i] >= 0)
            row[gradient->column[i]] += gradient->value[i];
}

bb_status bb_laying_expect(const bb_state *state, const bb_point *point, double sweeps, double *row,
                           double *mean, double *variance)
{
    bb_expected expected;
    bb_gradient gradient;
    bb_status status = bb_expect(state, point, &expected, &gradient);
    if (status != BB_OK)
        return status;
    const double step = state->model->machine.scale_step;
    *mean = expected.mean;
    *variance =
        bb_reading_variance(&expected, step) / sweeps + bb_laying_variance(&expected, step);
    bb_gradient_row(&gradient, row);
    return BB_OK;
}

double bb_mean_absorb(double *covariance, size_t parameters, const double *row, double variance,
                      double *gain)
{
    double all = variance;
    for (size_t a = 0; a < parameters; a++) {
        gain[a] = 0;
        for (size_t b = 0; b < parameters; b++)
            gain[a] += covariance[a * parameters + b] * row[b];
        all += row[a] * gain[a];
    }
    for (size_t a = 0; a < parameters; a++)
        for (size_t b = 0; b < parameters; b++)
            covariance[a * parameters + b] -= gain[a] * gain[b] / all;
    for (size_t a = 0; a < parameters; a++)
        gain[a] /= all;
    return all;
}
