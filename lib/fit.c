/* The fit: from a visit to its profile. */
#include "fitting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fitted.h"
#include "status.h"

static bb_status make_room(bb_fitting *fit)
{
    const size_t p = (size_t)fit->model->layout.count;
    fit->theta = calloc(p, sizeof *fit->theta);
    fit->other = calloc(p, sizeof *fit->other);
    fit->rival = calloc(p, sizeof *fit->rival);
    fit->kept.theta = calloc(p, sizeof *fit->kept.theta);
    fit->kept.covariance = calloc(p * p, sizeof *fit->kept.covariance);
    fit->covariance = calloc(p * p, sizeof *fit->covariance);
    fit->again = calloc(p * p, sizeof *fit->again);
    fit->scaled_prior = calloc(p * p, sizeof *fit->scaled_prior);
    fit->answers = calloc(fit->model->target_count + 1, sizeof *fit->answers);
    return fit->theta && fit->other && fit->rival && fit->kept.theta && fit->kept.covariance &&
                   fit->covariance && fit->again && fit->scaled_prior && fit->answers
               ? BB_OK
               : BB_MEMORY;
}

static void release(bb_fitting *fit)
{
    free(fit->theta);
    free(fit->other);
    free(fit->rival);
    free(fit->kept.theta);
    free(fit->kept.covariance);
    free(fit->covariance);
    free(fit->again);
    free(fit->scaled_prior);
    free(fit->answers);
    bb_curvature_free(&fit->curvature);
    bb_cells_free(&fit->cells);
    bb_prior_free(&fit->prior);
    bb_model_free(fit->model);
}

static bb_status enough(const bb_cells *cells, bb_error *error)
{
    for (size_t i = 0; i < cells->place_count; i++) {
        const bb_point *point = &cells->places[i].point;
        if (point->target == BB_TARGET_SAND || point->zone == BB_ZONE_AIR)
            return BB_OK;
    }
    return bb_error_say(
        error, BB_TOO_LITTLE,
        "no bare sand and no target in air with nothing rejected: pump the coil "
        "over bare wet sand 15 times, a pace apart, and note each number (zone wet, "
        "target sand)");
}

static bb_status prepare(bb_fitting *fit, const bb_profile *earlier, bb_error *error)
{
    const bb_visit *visit = fit->visit;
    bb_status status = bb_cells_new(visit, &fit->cells);
    if (status == BB_OK)
        status = enough(&fit->cells, error);
    if (status == BB_OK)
        status = bb_model_new(&visit->machine, &visit->beach, visit->zones, visit->zone_count,
                              visit->targets, visit->target_count, bb_drift_hour(visit),
                              &fit->model, error);
    for (size_t i = 0; i < fit->cells.place_count && status == BB_OK; i++)
        if (fit->cells.places[i].point.zone >= 0)
            status = bb_model_remember(fit->model, fit->cells.places[i].point.zone,
                                       fit->cells.places[i].point.height_m);
    if (status == BB_OK)
        status = make_room(fit);
    if (status == BB_OK)
        status = bb_prior_new(fit->model, visit->zones, earlier, &fit->prior, error);
    if (status == BB_OK)
        status = bb_prior_noise(fit->model, visit->zones, earlier, &fit->noise, error);
    if (status == BB_OK)
        status = bb_curvature_new(&fit->prior, &fit->cells, &fit->curvature);
    if (status != BB_OK)
        return status;
    const size_t p = fit->prior.count;
    for (size_t i = 0; i < p * p; i++)
        fit->scaled_prior[i] =
            fit->curvature.prior[i] * fit->prior.sd[i / p] * fit->prior.sd[i % p];
    memcpy(fit->theta, fit->prior.mean, p * sizeof *fit->theta);
    fit->level = bb_noise_level_of(&fit->noise, visit->zone_count);
    return BB_OK;
}

bb_status bb_fit(const bb_visit *visit, const bb_profile *prior, bb_profile **profile,
                 bb_error *error)
{
    bb_fitting fit = {.visit = visit};
    bb_status status = prepare(&fit, prior, error);
    if (status == BB_OK)
        status = bb_fit_optimum(&fit, error);
    if (status == BB_OK) {
        fit.evidence.converged = true;
        const bb_fitted fitted = {.visit = visit,
                                  .model = fit.model,
                                  .prior = &fit.prior,
                                  .cells = &fit.cells,
                                  .theta = fit.theta,
                                  .covariance = fit.covariance,
                                  .noise = &fit.noise,
                                  .evidence = fit.evidence,
                                  .answers = fit.answers};
        status = bb_fitted_profile(&fitted, profile);
    }
    release(&fit);
    return status == BB_OK ? BB_OK : bb_error_say(error, status, "%s", bb_status_text(status));
}
