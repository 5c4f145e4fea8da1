/* The curvature of the sum of squares by all parameters, as the variances of the places make it. */
#include "curvature.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

bb_status bb_curvature_new(const bb_prior *prior, const bb_cells *cells, bb_curvature *curvature)
{
    const size_t n = prior->count;
    *curvature = (bb_curvature){.count = n,
                                .prior = calloc(n * n, sizeof *curvature->prior),
                                .matrix = calloc(n * n, sizeof *curvature->matrix),
                                .variance = calloc(cells->place_count + 1, sizeof(double))};
    if (!curvature->prior || !curvature->matrix || !curvature->variance) {
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
    *curvature = (bb_curvature){0};
}

static void add_place(bb_curvature *curvature, const bb_site *place, double variance)
{
    const bb_gradient *gradient = &place->gradient;
    for (int i = 0; i < gradient->count; i++) {
        if (gradient->column[i] < 0)
            continue;
        const size_t row = (size_t)gradient->column[i];
        const double along = place->information / variance * gradient->value[i];
        for (int j = 0; j < gradient->count; j++)
            if (gradient->column[j] >= 0 && gradient->column[j] <= gradient->column[i])
                curvature->matrix[row * curvature->count + (size_t)gradient->column[j]] +=
                    along * gradient->value[j];
    }
}

double bb_curvature_half_log(bb_curvature *curvature, const bb_cells *cells)
{
    const size_t n = curvature->count;
    gsl_matrix_view matrix = gsl_matrix_view_array(curvature->matrix, n, n);
    memcpy(curvature->matrix, curvature->prior, n * n * sizeof *curvature->matrix);
    for (size_t i = 0; i < cells->place_count; i++)
        if (cells->places[i].information > 0)
            add_place(curvature, &cells->places[i], curvature->variance[i]);
    if (gsl_linalg_cholesky_decomp1(&matrix.matrix) != 0)
        return NAN;
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += log(curvature->matrix[i * n + i]);
    return sum;
}

bool bb_curvature_invert(bb_curvature *curvature)
{
    gsl_matrix_view matrix =
        gsl_matrix_view_array(curvature->matrix, curvature->count, curvature->count);
    return gsl_linalg_cholesky_invert(&matrix.matrix) == 0;
}

double bb_curvature_leverage(const bb_curvature *curvature, const bb_cells *cells, size_t place)
{
    const bb_site *of = &cells->places[place];
    return of->information / curvature->variance[place] *
           bb_gradient_variance(curvature->matrix, curvature->count, &of->gradient);
}
