/* The curvature of the sum of squares by all parameters, as the variances of the places make it. */
#include "curvature.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>

#include "factor.h"

bb_status bb_curvature_new(const bb_prior *prior, const bb_cells *cells, bb_curvature *curvature)
{
    const size_t n = prior->count;
    const size_t places = cells->place_count + 1;
    *curvature = (bb_curvature){.count = n,
                                .prior = calloc(n * n, sizeof *curvature->prior),
                                .matrix = calloc(n * n, sizeof *curvature->matrix),
                                .variance = calloc(places, sizeof *curvature->variance),
                                .half_by = calloc(places, sizeof *curvature->half_by),
                                .line = calloc(n + 1, sizeof *curvature->line)};
    if (!curvature->prior || !curvature->matrix || !curvature->variance || !curvature->half_by ||
        !curvature->line) {
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
    free(curvature->matrix);
    free(curvature->variance);
    free(curvature->half_by);
    free(curvature->line);
    *curvature = (bb_curvature){0};
}

double bb_curvature_half_log(bb_curvature *curvature, const bb_cells *cells)
{
    const size_t n = curvature->count;
    memcpy(curvature->matrix, curvature->prior, n * n * sizeof *curvature->matrix);
    for (size_t i = 0, next; i < cells->place_count; i = next) {
        double information = 0;
        next = bb_cells_next(cells, i);
        for (size_t j = i; j < next; j++)
            information += cells->places[j].information / curvature->variance[j];
        if (information > 0)
            bb_gradient_add_square(&cells->places[i].gradient, information, curvature->matrix, n);
    }
    if (!bb_factor(curvature->matrix, n))
        return NAN;
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += log(curvature->matrix[i * n + i]);
    return sum;
}

double bb_curvature_variance(bb_curvature *curvature, const bb_gradient *gradient)
{
    memset(curvature->line, 0, curvature->count * sizeof *curvature->line);
    for (int i = 0; i < gradient->count; i++)
        curvature->line[gradient->column[i]] = gradient->value[i];
    return bb_factor_square(curvature->matrix, curvature->count, curvature->line);
}
