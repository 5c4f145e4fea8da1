/* The fit: from a visit to its profile. */
#include "fitting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "copy.h"
#include "digest.h"
#include "fitted.h"
#include "status.h"

static bool room_to_stand(bb_standing *standing, size_t p)
{
    standing->theta = calloc(p, sizeof *standing->theta);
    standing->covariance = calloc(p * p, sizeof *standing->covariance);
    return standing->theta != NULL && standing->covariance != NULL;
}

static bb_status make_room(bb_fitting *fit)
{
    const size_t p = (size_t)fit->model->layout.count;
    fit->theta = calloc(p, sizeof *fit->theta);
    fit->other = calloc(p, sizeof *fit->other);
    fit->rival = calloc(p, sizeof *fit->rival);
    fit->covariance = calloc(p * p, sizeof *fit->covariance);
    fit->again = calloc(p * p, sizeof *fit->again);
    fit->scaled_prior = calloc(p * p, sizeof *fit->scaled_prior);
    fit->answers = calloc(fit->model->target_count + 1, sizeof *fit->answers);
    return room_to_stand(&fit->kept, p) && room_to_stand(&fit->earlier, p) && fit->theta &&
                   fit->other && fit->rival && fit->covariance && fit->again &&
                   fit->scaled_prior && fit->answers
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
    free(fit->earlier.theta);
    free(fit->earlier.covariance);
    free(fit->covariance);
    free(fit->again);
    free(fit->scaled_prior);
    free(fit->answers);
    bb_curvature_free(&fit->curvature);
    bb_cells_free(&fit->cells);
    bb_prior_free(&fit->prior);
    bb_model_free(fit->model);
}

static bb_status enough(const bb_cells *cells, const bb_visit *visit, bb_error *error)
{
    double swept = 0, heard = 0;
    for (size_t i = 0; i < cells->place_count; i++) {
        const bb_point *point = &cells->places[i].point;
        if (point->target == BB_TARGET_SAND || point->zone == BB_ZONE_AIR)
            return BB_OK;
    }
    for (size_t z = 0; z < visit->zone_count; z++) {
        swept += visit->bare[z].swept;
        heard += visit->bare[z].heard;
    }
    if (swept > 0 && heard == 0)
        return bb_error_say(error, BB_TOO_LITTLE,
                            "bare sand was quiet, which needs no reject, and no target was swept in air "
                            "with nothing rejected: sweep each piece of the kit in air, 5 and 10 cm from "
                            "the coil (zone air), to learn the machine's numbers");
    return bb_error_say(
        error, BB_TOO_LITTLE,
        "no bare sand and no target in air with nothing rejected: pump the coil "
        "over bare wet sand 15 times, a pace apart, and note each number (zone wet, "
        "target sand)");
}

static bb_status prepare(bb_fitting *fit, const bb_visit *visit, const bb_profile *earlier,
                         bb_error *error)
{
    bb_status status = bb_cells_new(visit, &fit->cells);
    if (status == BB_OK)
        status = enough(&fit->cells, visit, error);
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

/* undecided: a flag a cell of the visit, set where a fit that did not settle could not tell whether
 * the salt drowned the piece; NULL: not asked. */
static bb_status fit_all(const bb_visit *visit, const bb_profile *prior, bb_profile **profile,
                         bool *undecided, bb_error *error)
{
    bb_fitting fit = {0};
    bb_status status = prepare(&fit, visit, prior, error);
    if (status == BB_OK)
        status = bb_fit_optimum(&fit, error);
    if (status == BB_NOT_CONVERGED)
        (void)bb_cells_undecided(&fit.cells, undecided);
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
        if (status == BB_OK && prior != NULL && prior->pooled_visits == 0)
            (*profile)->air_before = prior->air_before + prior->air_sweeps;
    }
    release(&fit);
    return status == BB_OK ? BB_OK : bb_error_say(error, status, "%s", bb_status_text(status));
}

bb_status bb_fit(const bb_visit *visit, const bb_profile *prior, bb_profile **profile,
                 bb_error *error)
{
    return fit_all(visit, prior, profile, NULL, error);
}

/* undecided: a flag a cell of less. Returns the sweeps that are left out more. */
static double leave_out(const bb_visit *visit, const bool *undecided, bool *left_out, bb_visit *less)
{
    double sweeps = 0;
    size_t kept = 0, seen = 0;
    for (size_t i = 0; i < visit->cell_count; i++) {
        if (left_out[i])
            continue;
        left_out[i] = undecided[seen++];
        if (left_out[i])
            sweeps += visit->cells[i].count;
        else
            less->cells[kept++] = visit->cells[i];
    }
    less->cell_count = kept;
    return sweeps;
}

bb_status bb_fit_leaving_out(const bb_visit *visit, const bb_profile *prior, bool *left_out,
                             bb_profile **profile, bb_error *error)
{
    enum { TRIES = 3 };
    const size_t count = visit->cell_count;
    bb_visit less = *visit;
    bb_error last = {0};
    bb_profile *made = NULL;
    bool *undecided = calloc(count + 1, sizeof *undecided);
    less.cells = bb_copy(visit->cells, count, sizeof *visit->cells);
    bb_status status = undecided && less.cells ? BB_NOT_CONVERGED : BB_MEMORY;
    double more = 1, sweeps = 0;
    memset(left_out, 0, count * sizeof *left_out);
    for (int i = 0; i < TRIES && status == BB_NOT_CONVERGED && more > 0; i++) {
        last = (bb_error){0};
        memset(undecided, 0, count * sizeof *undecided);
        status = fit_all(&less, prior, &made, undecided, &last);
        more = status == BB_NOT_CONVERGED ? leave_out(visit, undecided, left_out, &less) : 0;
        sweeps += more;
    }
    if (made != NULL)
        made->left_out = sweeps;
    if (made != NULL && sweeps > 0)
        status = bb_digest(visit, made->digest);
    free(undecided);
    free(less.cells);
    if (status != BB_OK) {
        bb_profile_free(made);
        return bb_error_say(error, status, "%s",
                            *last.accepted != '\0' ? last.accepted : bb_status_text(status));
    }
    *profile = made;
    return BB_OK;
}
