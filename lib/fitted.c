/* From a settled fit to the profile that carries it, with the test of its fit against replicates. */
#include "fitted.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "copy.h"
#include "digest.h"
#include "lack_of_fit.h"
#include "zone.h"

/* Parameters' worth that the sweeps taught: p - tr(C R'R), with R the prior's rows. */
static double learned(const bb_fitted *fitted)
{
    const size_t p = fitted->prior->count;
    double taught = (double)p;
    for (size_t r = 0; r < p; r++) {
        const double *row = fitted->prior->rows + r * p;
        for (size_t i = 0; i < p; i++)
            for (size_t j = 0; row[i] != 0 && j < p; j++)
                taught -= row[i] * fitted->covariance[i * p + j] * row[j];
    }
    return taught;
}

/* Replicates at one place give the pure error; what the model leaves beside it is lack of fit. */
static bb_status lack_of_fit(const bb_fitted *fitted, bb_evidence *evidence)
{
    const bb_cells *cells = fitted->cells;
    const bb_noise_level level = bb_noise_level_of(fitted->noise, fitted->model->zone_count);
    const double step = fitted->model->machine.scale_step;
    bb_fit_error sums = {0};
    bb_state state;
    bb_status status =
        bb_state_set(&state, fitted->model, fitted->theta, &level, fitted->answers);
    for (size_t i = 0; i < cells->place_count && status == BB_OK; i++) {
        bb_expected expected = {0};
        status = bb_expect(&state, &cells->places[i].point, &expected, NULL);
        const bb_replicates place = bb_cells_replicates(cells, i, step, &expected);
        bb_fit_error_add(&sums, &place);
    }
    const bb_lack_of_fit test = bb_lack_of_fit_test(&sums, learned(fitted));
    evidence->chi2 = sums.pure + sums.lack;
    evidence->pure_error_df = sums.pure_df;
    evidence->lack_of_fit_df = test.lack_df;
    evidence->pure_error_sd = test.pure_sd;
    evidence->lack_of_fit_f = test.f;
    evidence->lack_of_fit_p = test.p;
    return status;
}

static void count_sweeps(const bb_cells *cells, bb_profile *profile)
{
    for (size_t i = 0; i < cells->place_count; i++) {
        const bb_site *place = &cells->places[i];
        *(place->point.zone == BB_ZONE_AIR ? &profile->air_sweeps : &profile->sand_sweeps) +=
            place->sweeps;
        if (place->point.target >= 0)
            profile->target_sweeps[bb_sweeps_index(profile->zone_count, (size_t)place->point.target,
                                                   place->point.zone)] += place->sweeps;
    }
}

static void name_parameters(const bb_fitted *fitted, bb_profile *profile)
{
    const size_t p = fitted->prior->count;
    for (size_t i = 0; i < p; i++) {
        bb_parameter *parameter = &profile->parameters[i];
        bb_model_parameter_name(fitted->model, profile->zones, (int)i, parameter->name);
        parameter->estimate = fitted->theta[i];
        parameter->sd = sqrt(fitted->covariance[i * p + i]);
        parameter->prior_mean = fitted->prior->mean[i];
        parameter->prior_sd = fitted->prior->sd[i];
    }
}

bb_status bb_fitted_profile(const bb_fitted *fitted, bb_profile **out)
{
    const bb_visit *visit = fitted->visit;
    const size_t p = fitted->prior->count, zones = visit->zone_count, targets = visit->target_count;
    bb_profile *profile = calloc(1, sizeof *profile);
    if (profile == NULL)
        return BB_MEMORY;
    *profile = (bb_profile){
        .machine = visit->machine,
        .beach = visit->beach,
        .zones = bb_copy(visit->zones, zones, sizeof *visit->zones),
        .zone_count = zones,
        .targets = bb_copy(visit->targets, targets, sizeof *visit->targets),
        .target_count = targets,
        .parameters = calloc(p, sizeof *profile->parameters),
        .parameter_count = p,
        .covariance = bb_copy(fitted->covariance, p * p, sizeof *fitted->covariance),
        .noise = *fitted->noise,
        .bare = bb_copy(visit->bare, zones, sizeof *visit->bare),
        .target_sweeps = calloc((targets + 1) * (zones + 1), sizeof *profile->target_sweeps),
        .drift_hour = fitted->model->drift_hour,
        .evidence = fitted->evidence,
    };
    bool made = profile->zones && profile->targets && profile->parameters &&
                profile->covariance && profile->bare && profile->target_sweeps;
    bb_status status = made ? lack_of_fit(fitted, &profile->evidence) : BB_MEMORY;
    if (status == BB_OK)
        status = bb_digest(visit, profile->digest);
    if (status != BB_OK) {
        bb_profile_free(profile);
        return status;
    }
    name_parameters(fitted, profile);
    count_sweeps(fitted->cells, profile);
    *out = profile;
    return BB_OK;
}
