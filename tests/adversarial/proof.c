/* Finds out again whether a profile is an optimum of its visit: residuals from expectations alone,
 * derivatives by differences, curvature and covariance from those. */
#include "proof.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>

#include "noise.h"
#include "prior.h"

const char *const proof_words[PROOF_COUNT] = {
    "holds",         "evidence",    "numbers",       "covariance",   "gradient",
    "lower nearby",  "noise moves", "no chances",    "unreadable",   "no advice"};

#define GRADIENT_LARGEST 1e-4  /* that a fit may report */
#define NEWTON_LARGEST 0.1     /* standard errors */
#define SD_RATIO 1.1           /* between standard errors told and found again */
#define NOISE_LARGEST 0.1      /* standard errors */
#define LOWER_BY 0.05          /* of half the sum of squares */
#define DIFFERENCE 1e-3        /* standard errors, of a central difference */

/* The problem of a visit with the weights of a profile's own optimum. */
typedef struct {
    bb_model *model;
    bb_prior prior;
    bb_cells cells;
    bb_curvature curvature;
    bb_noise_level level;
    bb_answer *answers;
    double *theta;
    size_t rows, parameters;
} problem;

static void problem_free(problem *p)
{
    bb_curvature_free(&p->curvature);
    bb_cells_free(&p->cells);
    bb_prior_free(&p->prior);
    bb_model_free(p->model);
    free(p->answers);
    free(p->theta);
}

static bb_status problem_new(const bb_visit *visit, const bb_profile *earlier,
                             const bb_profile *profile, problem *p)
{
    bb_status status = bb_cells_new(visit, &p->cells);
    if (status == BB_OK)
        status = bb_model_new(&visit->machine, &visit->beach, visit->zones, visit->zone_count,
                              visit->targets, visit->target_count, bb_drift_hour(visit), &p->model,
                              NULL);
    if (status == BB_OK)
        status = bb_prior_new(p->model, visit->zones, earlier, &p->prior, NULL);
    if (status == BB_OK)
        status = bb_curvature_new(&p->prior, &p->cells, &p->curvature);
    if (status != BB_OK)
        return status;
    p->parameters = p->prior.count;
    p->rows = p->cells.row_count + p->parameters;
    p->level = bb_noise_level_of(&profile->noise, visit->zone_count);
    p->answers = calloc(visit->target_count + 1, sizeof *p->answers);
    p->theta = calloc(p->parameters, sizeof *p->theta);
    if (p->answers == NULL || p->theta == NULL)
        return BB_MEMORY;
    for (size_t i = 0; i < p->parameters; i++)
        p->theta[i] = profile->parameters[i].estimate;
    bb_state state;
    status = bb_state_set(&state, p->model, p->theta, &p->level, p->answers);
    return status == BB_OK ? bb_cells_weigh(&p->cells, &state) : status;
}

static bb_status residuals_at(problem *p, const double *theta, double *residuals)
{
    bb_state state;
    bb_status status = bb_state_set(&state, p->model, theta, &p->level, p->answers);
    for (size_t r = 0; r < p->cells.row_count && status == BB_OK; r++) {
        const bb_row *row = &p->cells.rows[r];
        bb_expected expected = {0};
        double slope;
        status = bb_expect(&state, &p->cells.places[row->place].point, &expected, NULL);
        residuals[r] =
            bb_row_residual(&p->model->machine, &p->cells, row, expected.mean, &slope);
    }
    for (size_t i = 0; i < p->parameters; i++) {
        double sum = 0;
        for (size_t j = 0; j < p->parameters; j++)
            sum += p->prior.rows[i * p->parameters + j] * (theta[j] - p->prior.mean[j]);
        residuals[p->cells.row_count + i] = sum;
    }
    return status;
}

static double half_square(const double *residuals, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += residuals[i] * residuals[i];
    return sum / 2;
}

/* ---------------------------------------------------------------- one question each */

static proof_failure fail(proof *found, proof_failure failure, double figure)
{
    found->failure = failure;
    found->figure = figure;
    return failure;
}

static bool usable(const bb_parameter *parameter)
{
    return isfinite(parameter->estimate) && isfinite(parameter->sd) && parameter->sd > 0 &&
           isfinite(parameter->prior_mean) && parameter->prior_sd > 0;
}

static proof_failure ask_numbers(const bb_profile *profile, proof *found)
{
    const bb_evidence *told = &profile->evidence;
    if (!told->converged || told->rank != profile->parameter_count ||
        !(told->gradient <= GRADIENT_LARGEST) || !isfinite(told->condition) ||
        !isfinite(told->chi2) || !isfinite(told->restart_distance))
        return fail(found, PROOF_EVIDENCE, told->gradient);
    for (size_t i = 0; i < profile->parameter_count; i++)
        if (!usable(&profile->parameters[i]))
            return fail(found, PROOF_NUMBERS, (double)i);
    if (!usable(&profile->noise.reading) || !usable(&profile->noise.wander))
        return fail(found, PROOF_NUMBERS, -1);
    for (size_t z = 0; z < profile->zone_count; z++)
        if (!usable(&profile->noise.jitter[z]))
            return fail(found, PROOF_NUMBERS, -2);
    return PROOF_HOLDS;
}

/* Scaled to correlations, so that units do not matter. factor: its Cholesky factor. */
static proof_failure ask_covariance(const bb_profile *profile, gsl_matrix *factor, proof *found)
{
    const size_t n = profile->parameter_count;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            const double one = profile->covariance[i * n + j], other = profile->covariance[j * n + i];
            const double scale = profile->parameters[i].sd * profile->parameters[j].sd;
            if (!(fabs(one - other) <= 1e-9 * scale))
                return fail(found, PROOF_COVARIANCE, one - other);
            gsl_matrix_set(factor, i, j, one / scale);
        }
    for (size_t i = 0; i < n; i++)
        if (fabs(gsl_matrix_get(factor, i, i) - 1) > 1e-9)
            return fail(found, PROOF_COVARIANCE, gsl_matrix_get(factor, i, i));
    return gsl_linalg_cholesky_decomp1(factor) == 0 ? PROOF_HOLDS
                                                    : fail(found, PROOF_COVARIANCE, NAN);
}

/* One column of derivatives, in units of the standard error told. Of two steps the flatter answer
 * counts: where a node of the jitter crosses the fold of the angle within a step, the difference is
 * not of the slope. */
static bb_status differences(problem *p, size_t j, double sd, double *moved, double *ends,
                             gsl_vector *column)
{
    static const double steps[] = {DIFFERENCE, DIFFERENCE / 10};
    for (size_t s = 0; s < 2; s++) {
        for (size_t end = 0; end < 2; end++) {
            memcpy(moved, p->theta, p->parameters * sizeof *moved);
            moved[j] = p->theta[j] + (end ? 1 : -1) * steps[s] * sd;
            bb_status status = residuals_at(p, moved, ends + end * p->rows);
            if (status != BB_OK)
                return status;
        }
        for (size_t r = 0; r < p->rows; r++) {
            const double slope = (ends[p->rows + r] - ends[r]) / (2 * steps[s]);
            if (s == 0 || fabs(slope) < fabs(gsl_vector_get(column, r)))
                gsl_vector_set(column, r, slope);
        }
    }
    return BB_OK;
}

/* Gradient and curvature by differences. */
static bb_status slopes(problem *p, const bb_profile *profile, const double *residuals,
                        gsl_matrix *jacobian, gsl_vector *gradient, gsl_matrix *curvature)
{
    double *moved = calloc(p->parameters, sizeof *moved), *ends = calloc(2 * p->rows, sizeof *ends);
    bb_status status = moved && ends ? BB_OK : BB_MEMORY;
    for (size_t j = 0; j < p->parameters && status == BB_OK; j++) {
        gsl_vector_view column = gsl_matrix_column(jacobian, j);
        status = differences(p, j, profile->parameters[j].sd, moved, ends, &column.vector);
    }
    gsl_vector_const_view now = gsl_vector_const_view_array(residuals, p->rows);
    (void)gsl_blas_dgemv(CblasTrans, 1, jacobian, &now.vector, 0, gradient);
    (void)gsl_blas_dsyrk(CblasLower, CblasTrans, 1, jacobian, 0, curvature);
    free(moved);
    free(ends);
    return status;
}

static proof_failure ask_gradient(gsl_vector *gradient, gsl_matrix *curvature, proof *found)
{
    if (gsl_linalg_cholesky_decomp1(curvature) != 0)
        return fail(found, PROOF_COVARIANCE, INFINITY);
    (void)gsl_linalg_cholesky_svx(curvature, gradient);
    (void)gsl_linalg_cholesky_invert(curvature);
    found->sd_low = INFINITY;
    for (size_t j = 0; j < gradient->size; j++) {
        const double ratio = sqrt(gsl_matrix_get(curvature, j, j));
        found->newton = fmax(found->newton, fabs(gsl_vector_get(gradient, j)));
        found->sd_low = fmin(found->sd_low, ratio);
        found->sd_high = fmax(found->sd_high, ratio);
    }
    if (!(found->newton <= NEWTON_LARGEST))
        return fail(found, PROOF_GRADIENT, found->newton);
    if (!(found->sd_high <= SD_RATIO && found->sd_low >= 1 / SD_RATIO))
        return fail(found, PROOF_COVARIANCE,
                    found->sd_high > SD_RATIO ? found->sd_high : found->sd_low);
    return PROOF_HOLDS;
}

/* Steps drawn from the covariance, short and long. */
static bb_status ask_lower(problem *p, const bb_profile *profile, const gsl_matrix *factor,
                           unsigned long seed, double now, proof *found)
{
    enum { DRAWS = 24 };
    gsl_rng *random = gsl_rng_alloc(gsl_rng_taus2);
    gsl_vector *draw = gsl_vector_alloc(p->parameters);
    double *moved = calloc(p->parameters, sizeof *moved),
           *residuals = calloc(p->rows, sizeof *residuals);
    bb_status status = random && draw && moved && residuals ? BB_OK : BB_MEMORY;
    for (int i = 0; i < DRAWS && status == BB_OK; i++) {
        const double length = (i % 3 + 1) / 2.0;
        gsl_rng_set(random, seed + (unsigned long)i);
        for (size_t j = 0; j < p->parameters; j++)
            gsl_vector_set(draw, j, length * gsl_ran_gaussian(random, 1));
        (void)gsl_blas_dtrmv(CblasLower, CblasNoTrans, CblasNonUnit, factor, draw);
        for (size_t j = 0; j < p->parameters; j++)
            moved[j] = p->theta[j] + profile->parameters[j].sd * gsl_vector_get(draw, j);
        status = residuals_at(p, moved, residuals);
        const double lower = now - half_square(residuals, p->rows);
        if (status == BB_OK && lower > LOWER_BY)
            (void)fail(found, PROOF_LOWER, lower);
    }
    gsl_rng_free(random);
    gsl_vector_free(draw);
    free(moved);
    free(residuals);
    return status;
}

static double moved_by(const bb_parameter *told, const bb_parameter *next)
{
    return fabs(next->estimate - told->estimate) / told->sd;
}

static bb_status ask_noise(problem *p, const bb_profile *profile, proof *found)
{
    bb_state state;
    const bb_noise *told = &profile->noise;
    bb_noise noise = *told;
    bb_noise_bend bend = {.known = false};
    double change;
    bb_status status = bb_state_set(&state, p->model, p->theta, &p->level, p->answers);
    if (status == BB_OK)
        status = bb_cells_ready(&p->cells, &state);
    if (status == BB_OK)
        status = bb_noise_settle(&state, &p->cells, &p->curvature, &noise, &bend, 0, &change);
    found->noise = fmax(moved_by(&told->reading, &noise.reading),
                        moved_by(&told->wander, &noise.wander));
    for (size_t z = 0; z < profile->zone_count; z++)
        found->noise = fmax(found->noise, moved_by(&told->jitter[z], &noise.jitter[z]));
    if (status == BB_OK && !(found->noise <= NOISE_LARGEST))
        (void)fail(found, PROOF_NOISE, found->noise);
    return status;
}

static bool is_distribution(const bb_prediction *prediction, const bb_machine *machine)
{
    double sum = 0;
    for (size_t i = 0; i < prediction->count; i++) {
        if (!(prediction->p[i] >= 0))
            return false;
        sum += prediction->p[i];
    }
    return fabs(sum - 1) < 1e-9 && prediction->mean >= machine->scale_low - 1e-6 &&
           prediction->mean <= machine->scale_high + 1e-6 && isfinite(prediction->sd) &&
           prediction->low <= prediction->high &&
           (!prediction->over_sand || prediction->signal_to_ground >= 0);
}

static bb_status ask_chances(const bb_profile *profile, proof *found)
{
    static const double depths_m[] = {0, 0.1, 0.4};
    bb_predictor *predictor = NULL;
    bb_prediction at;
    bb_status status = bb_predictor_new(profile, &predictor, NULL);
    for (int z = BB_ZONE_AIR; z < (int)profile->zone_count && status == BB_OK; z++) {
        if (z >= 0)
            status = bb_predict_sand(predictor, z, &at, NULL);
        if (status == BB_OK && z >= 0 && !is_distribution(&at, &profile->machine))
            (void)fail(found, PROOF_CHANCES, -1);
        const int step = profile->target_count * profile->zone_count > 16 ? 7 : 1;
        for (int k = 0; k < (int)profile->target_count && status == BB_OK; k += step)
            for (int depth = z == BB_ZONE_AIR; depth < 3 && status == BB_OK; depth++) {
                status = bb_predict(predictor, k, z, depths_m[depth], NAN, &at);
                if (status == BB_OK && !is_distribution(&at, &profile->machine))
                    (void)fail(found, PROOF_CHANCES, k);
            }
    }
    bb_predictor_free(predictor);
    return status;
}

static proof_failure ask_file(const bb_profile *profile, proof *found)
{
    char *text = NULL;
    bb_profile *again = NULL;
    bb_status status = bb_profile_write(profile, false, &text, NULL);
    if (status == BB_OK)
        status = bb_profile_read(text, strlen(text), "profile.json", &again, NULL);
    free(text);
    bb_profile_free(again);
    return status == BB_OK ? PROOF_HOLDS : fail(found, PROOF_FILE, status);
}

/* ---------------------------------------------------------------- all of them */

static bb_status ask_optimum(problem *p, const bb_profile *profile, unsigned long seed, proof *found)
{
    const size_t n = p->parameters;
    gsl_matrix *factor = gsl_matrix_alloc(n, n), *jacobian = gsl_matrix_alloc(p->rows, n),
               *curvature = gsl_matrix_alloc(n, n);
    gsl_vector *gradient = gsl_vector_alloc(n);
    double *residuals = calloc(p->rows, sizeof *residuals);
    bb_status status =
        factor && jacobian && curvature && gradient && residuals ? BB_OK : BB_MEMORY;
    if (status == BB_OK && ask_covariance(profile, factor, found) == PROOF_HOLDS) {
        status = residuals_at(p, p->theta, residuals);
        if (status == BB_OK)
            status = slopes(p, profile, residuals, jacobian, gradient, curvature);
        if (status == BB_OK && ask_gradient(gradient, curvature, found) == PROOF_HOLDS)
            status = ask_lower(p, profile, factor, seed, half_square(residuals, p->rows), found);
    }
    gsl_matrix_free(factor);
    gsl_matrix_free(jacobian);
    gsl_matrix_free(curvature);
    gsl_vector_free(gradient);
    free(residuals);
    return status;
}

bb_status prove_profile(const bb_visit *visit, const bb_profile *earlier, const bb_profile *profile,
                        unsigned long seed, proof *found)
{
    *found = (proof){.failure = PROOF_HOLDS};
    if (ask_numbers(profile, found) != PROOF_HOLDS)
        return BB_OK;
    problem p = {0};
    bb_status status = problem_new(visit, earlier, profile, &p);
    if (status == BB_OK)
        status = ask_optimum(&p, profile, seed, found);
    if (status == BB_OK && found->failure == PROOF_HOLDS)
        status = ask_noise(&p, profile, found);
    if (status == BB_OK && found->failure == PROOF_HOLDS)
        status = ask_chances(profile, found);
    if (status == BB_OK && found->failure == PROOF_HOLDS)
        (void)ask_file(profile, found);
    problem_free(&p);
    return status;
}

bool refusal_teaches(bb_status status, const bb_error *error)
{
    char text[4 * BB_TEXT_BYTES];
    (void)bb_error_text(error, text, sizeof text);
    return status != BB_MEMORY && error->status == status &&
           (strstr(text, "sweep") != NULL || strstr(text, "pump") != NULL);
}
