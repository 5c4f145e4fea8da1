/* Nonlinear least squares by GSL, and the proof that an end is an optimum. */
#include "brineband.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <gsl/gsl_permute_vector.h>

#include "status.h"

BB_CALLS_GSL;

/* A step out of the model's domain looks like this long residual, so that it is never taken. */
#define FAR_RESIDUAL 1e60
/* An optimum's residuals stand square on every column of the Jacobian: nearly so where the stopping
 * rule was met, closely where it was not. */
#define GRADIENT_LIMIT 1e-4
#define GRADIENT_SMALL 1e-5
/* Residuals that end in rounding have no direction left: then the Gauss-Newton step that they ask
 * for is below this share of every parameter. */
#define STEP_LIMIT 1e-10
/* Share of the sum of squares below which it cannot tell two points apart. */
#define SUM_ROUNDING 1e-10

static bool finite_all(const double *values, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(values[i]))
            return false;
    return true;
}

/* What GSL carries to the functions below. */
typedef struct {
    const bb_least_squares *problem;
    gsl_vector *scratch; /* residuals that go with a Jacobian and are not asked for */
} carried;

static int residuals_at(const gsl_vector *x, void *context, gsl_vector *residuals)
{
    const bb_least_squares *problem = ((const carried *)context)->problem;
    bb_status status = problem->evaluate(x->data, residuals->data, NULL, problem->context);
    if (status != BB_OK || !finite_all(residuals->data, residuals->size))
        gsl_vector_set_all(residuals, FAR_RESIDUAL);
    return GSL_SUCCESS;
}

static int jacobian_at(const gsl_vector *x, void *context, gsl_matrix *jacobian)
{
    const carried *with = context;
    bb_status status = with->problem->evaluate(x->data, with->scratch->data, jacobian->data,
                                               with->problem->context);
    bool usable = status == BB_OK && finite_all(jacobian->data, jacobian->size1 * jacobian->size2);
    return usable ? GSL_SUCCESS : GSL_EBADFUNC;
}

/* Column norms of the Jacobian; a column of nothing counts as norm one, and lowers the rank. */
static void column_norms(const gsl_matrix *jacobian, gsl_vector *norms)
{
    for (size_t j = 0; j < jacobian->size2; j++) {
        gsl_vector_const_view column = gsl_matrix_const_column(jacobian, j);
        double norm = gsl_blas_dnrm2(&column.vector);
        gsl_vector_set(norms, j, norm > 0 ? norm : 1);
    }
}

static double scaled_gradient(const gsl_matrix *jacobian, const gsl_vector *residuals,
                              const gsl_vector *norms)
{
    double length = gsl_blas_dnrm2(residuals), worst = 0;
    if (!(length > 0))
        return 0;
    for (size_t j = 0; j < jacobian->size2; j++) {
        gsl_vector_const_view column = gsl_matrix_const_column(jacobian, j);
        double along = 0;
        gsl_blas_ddot(&column.vector, residuals, &along);
        worst = fmax(worst, fabs(along) / (gsl_vector_get(norms, j) * length));
    }
    return worst;
}

/* Room for the pivoted factorisation of the scaled Jacobian, and for one step by it. */
typedef struct {
    gsl_matrix *scaled, *inverse;
    gsl_vector *norms, *tau, *work, *step, *rotated;
    gsl_permutation *order;
} factor_room;

static bool factor_room_new(factor_room *room, size_t n, size_t p)
{
    *room = (factor_room){gsl_matrix_alloc(n, p), gsl_matrix_alloc(p, p),   gsl_vector_alloc(p),
                          gsl_vector_alloc(p),    gsl_vector_alloc(3 * p), gsl_vector_alloc(p),
                          gsl_vector_alloc(n),    gsl_permutation_alloc(p)};
    return room->scaled && room->inverse && room->norms && room->tau && room->work && room->step &&
           room->rotated && room->order;
}

static void factor_room_free(factor_room *room)
{
    gsl_matrix_free(room->scaled);
    gsl_matrix_free(room->inverse);
    gsl_vector_free(room->norms);
    gsl_vector_free(room->tau);
    gsl_vector_free(room->work);
    gsl_vector_free(room->step);
    gsl_vector_free(room->rotated);
    gsl_permutation_free(room->order);
}

static void rank_and_condition(factor_room *room, const gsl_matrix *jacobian,
                               bb_least_squares_evidence *evidence)
{
    const size_t n = jacobian->size1, p = jacobian->size2;
    int sign;
    gsl_matrix_memcpy(room->scaled, jacobian);
    for (size_t j = 0; j < p; j++) {
        gsl_vector_view column = gsl_matrix_column(room->scaled, j);
        gsl_vector_scale(&column.vector, 1 / gsl_vector_get(room->norms, j));
    }
    gsl_vector_view norm = gsl_vector_subvector(room->work, 0, p);
    gsl_linalg_QRPT_decomp(room->scaled, room->tau, room->order, &sign, &norm.vector);
    const double smallest = DBL_EPSILON * (double)n * fabs(gsl_matrix_get(room->scaled, 0, 0));
    evidence->rank = 0;
    while (evidence->rank < p &&
           fabs(gsl_matrix_get(room->scaled, evidence->rank, evidence->rank)) > smallest)
        evidence->rank++;
    evidence->condition = INFINITY;
    if (evidence->rank < p)
        return;
    double reciprocal = 0;
    gsl_matrix_view triangle = gsl_matrix_submatrix(room->scaled, 0, 0, p, p);
    gsl_linalg_tri_rcond(CblasUpper, &triangle.matrix, &reciprocal, room->work);
    evidence->condition = 1 / reciprocal;
}

/* (J'J)^-1 = S P (R'R)^-1 P' S with R the triangle, P the pivoting, S the scaling. */
static void covariance_of(factor_room *room, size_t p, double *covariance)
{
    gsl_matrix_set_zero(room->inverse);
    for (size_t i = 0; i < p; i++)
        for (size_t j = i; j < p; j++)
            gsl_matrix_set(room->inverse, i, j, gsl_matrix_get(room->scaled, i, j));
    gsl_linalg_tri_invert(CblasUpper, CblasNonUnit, room->inverse);
    for (size_t i = 0; i < p; i++)
        for (size_t j = 0; j <= i; j++) {
            gsl_vector_const_view ri = gsl_matrix_const_subrow(room->inverse, i, i, p - i);
            gsl_vector_const_view rj = gsl_matrix_const_subrow(room->inverse, j, i, p - i);
            double product = 0;
            gsl_blas_ddot(&ri.vector, &rj.vector, &product);
            size_t row = gsl_permutation_get(room->order, i);
            size_t column = gsl_permutation_get(room->order, j);
            product /= gsl_vector_get(room->norms, row) * gsl_vector_get(room->norms, column);
            covariance[row * p + column] = covariance[column * p + row] = product;
        }
}

/* The Gauss-Newton step -S P R^-1 Q' f, exact to the condition of the Jacobian and not its square. */
static void newton_step(factor_room *room, const gsl_vector *residuals)
{
    const size_t p = room->step->size;
    gsl_matrix_const_view triangle = gsl_matrix_const_submatrix(room->scaled, 0, 0, p, p);
    gsl_vector_const_view along = gsl_vector_const_subvector(room->rotated, 0, p);
    gsl_vector_memcpy(room->rotated, residuals);
    gsl_linalg_QR_QTvec(room->scaled, room->tau, room->rotated);
    gsl_vector_memcpy(room->step, &along.vector);
    gsl_blas_dtrsv(CblasUpper, CblasNoTrans, CblasNonUnit, &triangle.matrix, room->step);
    gsl_permute_vector_inverse(room->order, room->step);
    gsl_vector_div(room->step, room->norms);
    gsl_vector_scale(room->step, -1);
}

static bool negligible(const gsl_vector *step, const gsl_vector *x)
{
    for (size_t j = 0; j < x->size; j++)
        if (!(fabs(gsl_vector_get(step, j)) <= STEP_LIMIT * fabs(gsl_vector_get(x, j))))
            return false;
    return true;
}

/* Take the step from where the trust region ended, unless the sum of squares rises with it. */
static void polish(const bb_least_squares *problem, factor_room *room, double *x,
                   bb_least_squares_evidence *evidence)
{
    double *moved = room->work->data, *residuals = room->rotated->data, sum = 0;
    for (size_t j = 0; j < problem->parameters; j++)
        moved[j] = x[j] + gsl_vector_get(room->step, j);
    bb_status status = problem->evaluate(moved, residuals, NULL, problem->context);
    (void)gsl_blas_ddot(room->rotated, room->rotated, &sum);
    if (status == BB_OK && sum <= evidence->sum_of_squares * (1 + SUM_ROUNDING)) {
        memcpy(x, moved, problem->parameters * sizeof *x);
        evidence->sum_of_squares = sum;
    }
}

/* What the end of the trust region is worth. x: there, moved to the optimum. */
static bb_status prove(const bb_least_squares *problem,
                       const gsl_multifit_nlinear_workspace *work, bool ended, double *x,
                       double *covariance, bb_least_squares_evidence *evidence)
{
    const gsl_matrix *jacobian = gsl_multifit_nlinear_jac(work);
    const gsl_vector *residuals = gsl_multifit_nlinear_residual(work);
    const size_t n = jacobian->size1, p = jacobian->size2;
    factor_room room;
    bb_status status = BB_MEMORY;
    if (factor_room_new(&room, n, p)) {
        (void)gsl_blas_ddot(residuals, residuals, &evidence->sum_of_squares);
        column_norms(jacobian, room.norms);
        evidence->gradient = scaled_gradient(jacobian, residuals, room.norms);
        rank_and_condition(&room, jacobian, evidence);
        const bool far = !(evidence->sum_of_squares < FAR_RESIDUAL);
        if (evidence->rank == p && ended && !far) {
            newton_step(&room, residuals);
            if (evidence->gradient > GRADIENT_LIMIT &&
                negligible(room.step, gsl_multifit_nlinear_position(work)))
                evidence->gradient = 0;
            polish(problem, &room, x, evidence);
        }
        const bool square =
            !far && evidence->gradient <= (ended ? GRADIENT_LIMIT : GRADIENT_SMALL);
        status = evidence->rank < p ? BB_RANK : square ? BB_OK : BB_NOT_CONVERGED;
        if (covariance != NULL && evidence->rank == p) {
            covariance_of(&room, p, covariance);
            if (!finite_all(covariance, p * p))
                status = BB_RANK;
        }
    }
    factor_room_free(&room);
    return status;
}

bb_status bb_least_squares_solve(const bb_least_squares *problem, double *x, double *covariance,
                                 bb_least_squares_evidence *evidence)
{
    const size_t n = problem->residuals, p = problem->parameters;
    if (p < 1 || n < p || problem->max_iterations < 1 || !(problem->tolerance >= 1e-14) ||
        problem->tolerance > 1e-2 || !finite_all(x, p))
        return BB_RANGE;
    memset(evidence, 0, sizeof *evidence);
    gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
    const bool dogleg = problem->trust == BB_TRUST_DOGLEG;
    how.trs = dogleg ? gsl_multifit_nlinear_trs_ddogleg : gsl_multifit_nlinear_trs_lm;
    how.solver = dogleg ? gsl_multifit_nlinear_solver_cholesky : gsl_multifit_nlinear_solver_qr;
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, n, p);
    carried with = {problem, gsl_vector_alloc(n)};
    if (work == NULL || with.scratch == NULL) {
        gsl_multifit_nlinear_free(work);
        gsl_vector_free(with.scratch);
        return BB_MEMORY;
    }
    gsl_multifit_nlinear_fdf system = {.f = residuals_at, .df = jacobian_at, .n = n, .p = p,
                                       .params = &with};
    gsl_vector_const_view start = gsl_vector_const_view_array(x, p);
    int outcome = gsl_multifit_nlinear_init(&start.vector, &system, work), reason = 0;
    if (outcome == GSL_SUCCESS)
        outcome = gsl_multifit_nlinear_driver((size_t)problem->max_iterations, problem->tolerance,
                                              problem->tolerance, 0, NULL, NULL, &reason, work);
    /* GSL_ENOPROG: no shorter sum can be found, which at an optimum is the end. */
    const bool ended = outcome == GSL_SUCCESS || reason == GSL_ENOPROG;
    bb_status status = outcome == GSL_ENOMEM ? BB_MEMORY : BB_NOT_CONVERGED;
    memcpy(x, gsl_multifit_nlinear_position(work)->data, p * sizeof *x);
    if (outcome != GSL_ENOMEM && outcome != GSL_EBADFUNC)
        status = prove(problem, work, ended, x, covariance, evidence);
    evidence->iterations = (int)gsl_multifit_nlinear_niter(work);
    gsl_multifit_nlinear_free(work);
    gsl_vector_free(with.scratch);
    return status;
}
