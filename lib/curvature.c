/* The curvature of the sum of squares by all parameters, as the variances of the places make it. */
#include "curvature.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>

#include "symmetric.h"

bb_status bb_curvature_new(const bb_prior *prior, const bb_cells *cells, bb_curvature *curvature)
{
    const size_t n = prior->count;
    const size_t places = cells->place_count + 1;
    *curvature = (bb_curvature){.count = n,
                                .prior = calloc(n * n, sizeof *curvature->prior),
                                .factor = calloc(n * n, sizeof *curvature->factor),
                                .inverse = calloc(n * n, sizeof *curvature->inverse),
                                .room = calloc(n * n, sizeof *curvature->room),
                                .variance = calloc(places, sizeof *curvature->variance),
                                .half_by = calloc(places, sizeof *curvature->half_by)};
    if (!curvature->prior || !curvature->factor || !curvature->inverse || !curvature->room ||
        !curvature->variance || !curvature->half_by) {
        bb_curvature_free(curvature);
        return BB_MEMORY;
    }
    gsl_matrix_const_view rows = gsl_matrix_const_view_array(prior->rows, n, n);
    gsl_matrix_view precision = gsl_matrix_view_array(curvature->prior, n, n);
    (void)gsl_blas_dsyrk(CblasLower, CblasTrans, 1, &rows.matrix, 0, &precision.matrix);
    return BB_OK;
}

void bb_curvature_free(bb_curvature *curvature)
{
    free(curvature->prior);
    free(curvature->factor);
    free(curvature->inverse);
    free(curvature->room);
    free(curvature->variance);
    free(curvature->half_by);
    *curvature = (bb_curvature){0};
}

static void add_gradient(const bb_gradient *gradient, double information, double *matrix,
                         size_t count)
{
    for (int i = 0; i < gradient->count; i++) {
        double *row = matrix + (size_t)gradient->column[i] * count;
        const double along = information * gradient->value[i];
        for (int j = 0; j <= i; j++)
            row[gradient->column[j]] += along * gradient->value[j];
    }
}

double bb_curvature_half_log(bb_curvature *curvature, const bb_cells *cells)
{
    const size_t n = curvature->count;
    memcpy(curvature->factor, curvature->prior, n * n * sizeof *curvature->factor);
    for (size_t i = 0, next; i < cells->place_count; i = next) {
        double information = 0;
        for (next = i; next < cells->place_count && (next == i || cells->places[next].same); next++)
            information += cells->places[next].information / curvature->variance[next];
        if (information > 0)
            add_gradient(&cells->places[i].gradient, information, curvature->factor, n);
    }
    if (!bb_symmetric_factor(curvature->factor, n))
        return NAN;
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += log(curvature->factor[i * n + i]);
    return sum;
}

void bb_curvature_invert(bb_curvature *curvature)
{
    bb_symmetric_invert(curvature->factor, curvature->count, curvature->room, curvature->inverse);
}
