/* From a club's sums to the profile that a newcomer starts with. */
#include "merge.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "copy.h"
#include "prior.h"
#include "status.h"

/* The usual move from visit to visit counts as much as so many visits' evidence on it, so that a
 * few visits that happen to agree promise no more than they can; judgement, no source. */
#define MOVE_VISITS 2.0

/* ---------------------------------------------------------------- quantities */

static const char *move_name(bb_merge_kind kind, const char *name)
{
    static const char *const names[BB_MERGE_KINDS] = {[BB_MERGE_SALT] = ".log_salt",
                                                      [BB_MERGE_ANGLE] = ".angle_deg",
                                                      [BB_MERGE_JITTER] = ".log_jitter",
                                                      [BB_MERGE_READING] = ".log_reading",
                                                      [BB_MERGE_WANDER] = ".log_wander_deg"};
    return kind == BB_MERGE_PARAMETER ? name : names[kind];
}

/* What differs between visits, by the usual move and by what the visits show. */
static double between(const bb_merge_quantity *quantity)
{
    const double move = bb_visit_move(move_name(quantity->kind, quantity->name));
    const double seen = (double)quantity->pooled.count - 1;
    return (MOVE_VISITS * move * move + seen * quantity->pooled.tau2) / (MOVE_VISITS + seen);
}

typedef struct {
    const char *digest;
    bb_finding finding;
} named_finding;

static int by_digest(const void *a, const void *b)
{
    return strcmp(((const named_finding *)a)->digest, ((const named_finding *)b)->digest);
}

static void sort_findings(const bb_merge *merge, const bb_merge_sum *sum, named_finding *sorted)
{
    for (size_t i = 0; i < sum->count; i++)
        sorted[i] = (named_finding){merge->digests[sum->findings[i].member], sum->findings[i]};
    qsort(sorted, sum->count, sizeof *sorted, by_digest);
}

static bb_status fill_entries(const bb_merge *merge, const named_finding *sorted, double *figures,
                              bb_merge_quantity *quantity)
{
    const size_t count = quantity->pooled.count;
    double *estimate = figures, *variance = figures + count, *weight = figures + 2 * count,
           *shift = figures + 3 * count;
    for (size_t i = 0; i < count; i++) {
        estimate[i] = sorted[i].finding.estimate;
        variance[i] = sorted[i].finding.variance;
    }
    bb_status status = bb_pool(estimate, variance, count, merge->options.method, &quantity->pooled);
    if (status != BB_OK)
        return status;
    bb_pool_without(estimate, variance, count, quantity->pooled.tau2, weight, shift);
    for (size_t i = 0; i < count; i++)
        quantity->entries[i] = (bb_merge_entry){.visit = merge->visits[sorted[i].finding.member],
                                                .estimate = estimate[i],
                                                .sd = sqrt(variance[i]),
                                                .weight = weight[i],
                                                .shift = shift[i]};
    return BB_OK;
}

static bb_status pool_sum(const bb_merge *merge, const bb_merge_sum *sum,
                          bb_merge_quantity *quantity)
{
    named_finding *sorted = calloc(sum->count, sizeof *sorted);
    double *figures = calloc(4 * sum->count, sizeof *figures);
    *quantity = (bb_merge_quantity){.kind = sum->kind, .pooled = {.count = sum->count}};
    memcpy(quantity->name, sum->name, sizeof quantity->name);
    quantity->entries = calloc(sum->count, sizeof *quantity->entries);
    bb_status status = sorted && figures && quantity->entries ? BB_OK : BB_MEMORY;
    if (status == BB_OK) {
        sort_findings(merge, sum, sorted);
        status = fill_entries(merge, sorted, figures, quantity);
    }
    free(sorted);
    free(figures);
    return status;
}

static int by_kind_and_name(const void *a, const void *b)
{
    const bb_merge_quantity *one = a, *other = b;
    if (one->kind != other->kind)
        return one->kind < other->kind ? -1 : 1;
    return strcmp(one->name, other->name);
}

static bb_status pool_sums(bb_merge *merge)
{
    for (size_t i = 0; i < merge->quantity_count; i++)
        free(merge->quantities[i].entries);
    free(merge->quantities);
    merge->quantity_count = 0;
    merge->quantities = calloc(merge->sum_count + 1, sizeof *merge->quantities);
    bb_status status = merge->quantities == NULL ? BB_MEMORY : BB_OK;
    for (size_t i = 0; i < merge->sum_count && status == BB_OK; i++)
        status = pool_sum(merge, &merge->sums[i], &merge->quantities[merge->quantity_count++]);
    if (status == BB_OK)
        qsort(merge->quantities, merge->quantity_count, sizeof *merge->quantities,
              by_kind_and_name);
    return status;
}

static const bb_merge_quantity *quantity_of(const bb_merge *merge, bb_merge_kind kind,
                                            const char *name)
{
    for (size_t i = 0; i < merge->quantity_count; i++)
        if (merge->quantities[i].kind == kind && strcmp(merge->quantities[i].name, name) == 0)
            return &merge->quantities[i];
    return NULL;
}

/* What the next visit may find, sharpened by the model's own prior (mean and variance, in and
 * out). */
static void believe(const bb_merge *merge, bb_merge_kind kind, const char *name, double origin,
                    double *mean, double *variance)
{
    const bb_merge_quantity *quantity = quantity_of(merge, kind, name);
    if (quantity == NULL)
        return;
    const double spread = between(quantity) + quantity->pooled.se_knapp_hartung *
                                                  quantity->pooled.se_knapp_hartung;
    const double precision = 1 / spread + 1 / *variance;
    *mean = ((quantity->pooled.mean + origin) / spread + *mean / *variance) / precision;
    *variance = 1 / precision;
}

/* ---------------------------------------------------------------- setting */

static int zones_by_name(const void *a, const void *b)
{
    return strcmp(((const bb_zone *)a)->name, ((const bb_zone *)b)->name);
}

static int targets_by_name(const void *a, const void *b)
{
    return strcmp(((const bb_target *)a)->name, ((const bb_target *)b)->name);
}

static void set_beach(const bb_merge *merge, bb_beach *beach)
{
    const double visits = (double)merge->member_count;
    *beach = merge->beach;
    beach->low_water_min = beach->turn_back_min = -1;
    beach->swing_height_m /= visits;
    beach->water_salinity /= visits;
    beach->water_temperature_c /= visits;
    beach->sand_porosity /= visits;
    beach->susceptibility /= visits;
}

static void set_machine(const bb_merge *merge, bb_machine *machine)
{
    *machine = merge->machine;
    machine->reject_now = (bb_bands){0};
    machine->has_reject_below = false;
    machine->reject_below = 0;
    if (merge->options.any_machine)
        machine->name[0] = machine->settings[0] = '\0';
}

static void set_zones(const bb_merge *merge, bb_profile *club)
{
    for (size_t z = 0; z < merge->zone_count; z++) {
        const bb_zone_sum *sum = &merge->zones[z];
        club->zones[z] = (bb_zone){.saturation = sum->saturation / sum->visits,
                                   .dry_layer_m = sum->dry_layer_m / sum->visits,
                                   .susceptibility = sum->susceptibility / sum->visits,
                                   .wetness_assumed = sum->wetness_assumed};
        memcpy(club->zones[z].name, sum->zone.name, BB_NAME_BYTES);
    }
    qsort(club->zones, club->zone_count, sizeof *club->zones, zones_by_name);
}

static size_t zone_at(const bb_merge *merge, const char *name)
{
    size_t at = 0;
    while (strcmp(merge->zones[at].zone.name, name) != 0)
        at++;
    return at;
}

/* Numbers of other days say nothing of today's, but sand that no visit heard stays quiet. */
static void set_bare(const bb_merge *merge, bb_profile *club)
{
    for (size_t z = 0; z < club->zone_count; z++) {
        const bb_zone_sum *sum = &merge->zones[zone_at(merge, club->zones[z].name)];
        const bool quiet = sum->swept > 0 && sum->heard == 0;
        club->bare[z] = (bb_bare){.last_high = -1,
                                  .before_high = -1,
                                  .swept = quiet ? sum->swept : 0,
                                  .quiet_recorded = quiet};
    }
}

static void set_targets(const bb_merge *merge, bb_profile *club)
{
    memcpy(club->targets, merge->targets, merge->target_count * sizeof *club->targets);
    qsort(club->targets, club->target_count, sizeof *club->targets, targets_by_name);
    for (size_t k = 0; k < club->target_count; k++) {
        size_t from = 0;
        double *sweeps = club->target_sweeps + k * (club->zone_count + 1);
        while (strcmp(merge->targets[from].name, club->targets[k].name) != 0)
            from++;
        sweeps[0] = merge->sweeps[from][0];
        for (size_t z = 0; z < club->zone_count; z++)
            sweeps[z + 1] = merge->sweeps[from][zone_at(merge, club->zones[z].name) + 1];
    }
}

static bb_status set_out(const bb_merge *merge, bb_profile *club)
{
    club->zone_count = merge->zone_count;
    club->target_count = merge->target_count;
    club->zones = calloc(club->zone_count + 1, sizeof *club->zones);
    club->targets = calloc(club->target_count + 1, sizeof *club->targets);
    club->bare = calloc(club->zone_count + 1, sizeof *club->bare);
    club->target_sweeps = calloc((club->target_count + 1) * (club->zone_count + 1),
                                 sizeof *club->target_sweeps);
    if (!club->zones || !club->targets || !club->bare || !club->target_sweeps)
        return BB_MEMORY;
    set_machine(merge, &club->machine);
    set_beach(merge, &club->beach);
    set_zones(merge, club);
    set_bare(merge, club);
    set_targets(merge, club);
    club->air_sweeps = merge->air_sweeps;
    club->sand_sweeps = merge->sand_sweeps;
    club->drift_hour = NAN;
    club->pooled_visits = (int)merge->member_count;
    club->any_machine = merge->options.any_machine;
    return BB_OK;
}

/* ---------------------------------------------------------------- parameters */

/* The club's profile in the making, with the model's own prior. */
typedef struct {
    const bb_merge *merge;
    bb_profile *club;
    bb_model *model;
    bb_prior prior;
    double *rows, *mean;
} making;

static size_t shared_at(const bb_merge *merge, const char *name)
{
    size_t at = 0;
    while (at < merge->shared_count && strcmp(merge->shared[at].name, name) != 0)
        at++;
    return at;
}

/* Information of all visits and of the prior on the parameters index[0..s); gain beside it. */
static void shared_sums(const making *of, const size_t *index, gsl_matrix *information,
                        gsl_vector *gain)
{
    const bb_merge *merge = of->merge;
    const size_t s = gain->size, n = of->prior.count;
    size_t from[BB_SHARED_MAX];
    for (size_t i = 0; i < s; i++)
        from[i] = shared_at(merge, of->club->parameters[index[i]].name);
    for (size_t i = 0; i < s; i++) {
        double sum = from[i] < merge->shared_count ? merge->shared[from[i]].weighted : 0;
        for (size_t j = 0; j < s; j++) {
            const bool known = from[i] < merge->shared_count && from[j] < merge->shared_count;
            const double prior = bb_prior_precision(of->rows, n, index[i], index[j]);
            const double *found = merge->information;
            sum += prior * of->mean[index[j]];
            gsl_matrix_set(information, i, j,
                           prior + (known ? 0.5 * (found[from[i] * BB_SHARED_MAX + from[j]] +
                                                   found[from[j] * BB_SHARED_MAX + from[i]])
                                          : 0));
        }
        gsl_vector_set(gain, i, sum);
    }
}

/* Curve and pieces: all visits' information together, and on it what moves between visits. */
static bb_status set_shared(const making *of)
{
    bb_profile *club = of->club;
    const size_t n = of->prior.count;
    size_t index[BB_SHARED_MAX] = {0}, s = 0;
    for (size_t i = 0; i < n; i++)
        if (bb_is_shared(&of->model->layout, i))
            index[s++] = i;
    gsl_matrix *information = gsl_matrix_alloc(s, s);
    gsl_vector *gain = gsl_vector_alloc(s);
    bb_status status = information == NULL || gain == NULL ? BB_MEMORY : BB_OK;
    if (status == BB_OK) {
        shared_sums(of, index, information, gain);
        if (gsl_linalg_cholesky_decomp1(information) == 0) {
            gsl_linalg_cholesky_svx(information, gain);
            gsl_linalg_cholesky_invert(information);
        } else {
            status = BB_RANK;
        }
    }
    for (size_t i = 0; i < s && status == BB_OK; i++) {
        bb_parameter *parameter = &club->parameters[index[i]];
        const bb_merge_quantity *quantity =
            quantity_of(of->merge, BB_MERGE_PARAMETER, parameter->name);
        const double move = bb_visit_move(parameter->name);
        const bool moves = shared_at(of->merge, parameter->name) < of->merge->shared_count;
        parameter->estimate = gsl_vector_get(gain, i);
        for (size_t j = 0; j < s; j++)
            club->covariance[index[i] * n + index[j]] = gsl_matrix_get(information, i, j);
        club->covariance[index[i] * n + index[i]] +=
            quantity != NULL ? between(quantity) : moves ? move * move : 0;
    }
    gsl_matrix_free(information);
    gsl_vector_free(gain);
    return status;
}

static double prior_variance(const making *of, size_t index)
{
    return of->prior.sd[index] * of->prior.sd[index];
}

static void set_parameter(const making *of, size_t index, double estimate, double variance)
{
    of->club->parameters[index].estimate = estimate;
    of->club->covariance[index * of->prior.count + index] = variance;
}

/* A zone's salt level is the sum of a part all zones share and its own; the doubt is split between
 * them as the model's prior splits it. */
static void set_salt(const making *of)
{
    const bb_layout *at = &of->model->layout;
    const size_t zones = of->club->zone_count, level = (size_t)at->level;
    double mean[BB_ZONES_MAX], variance[BB_ZONES_MAX], common = 0, least = INFINITY, found = 0;
    for (size_t z = 0; z < zones; z++) {
        mean[z] = 0;
        variance[z] = prior_variance(of, level) + prior_variance(of, (size_t)at->residual[z]);
        if (quantity_of(of->merge, BB_MERGE_SALT, of->club->zones[z].name) == NULL)
            continue;
        believe(of->merge, BB_MERGE_SALT, of->club->zones[z].name, 0, &mean[z], &variance[z]);
        common += mean[z];
        least = fmin(least, variance[z]);
        found++;
    }
    if (found == 0)
        return;
    const double own = prior_variance(of, (size_t)at->residual[0]);
    const double shared = least * prior_variance(of, level) / (prior_variance(of, level) + own);
    common /= found;
    set_parameter(of, level, common, shared);
    for (size_t z = 0; z < zones; z++)
        if (quantity_of(of->merge, BB_MERGE_SALT, of->club->zones[z].name) != NULL)
            set_parameter(of, (size_t)at->residual[z], mean[z] - common, variance[z] - shared);
}

static void set_angles(const making *of)
{
    for (size_t z = 0; z < of->club->zone_count; z++) {
        const size_t index = (size_t)of->model->layout.angle[z];
        double mean = of->mean[index], variance = prior_variance(of, index);
        believe(of->merge, BB_MERGE_ANGLE, of->club->zones[z].name, of->mean[index], &mean,
                &variance);
        set_parameter(of, index, mean, variance);
    }
}

static void set_one_noise(const making *of, bb_merge_kind kind, const char *name,
                          bb_parameter *noise, double origin)
{
    double variance = noise->prior_sd * noise->prior_sd;
    believe(of->merge, kind, name, origin, &noise->estimate, &variance);
    noise->sd = sqrt(variance);
}

static void set_noise(const making *of)
{
    bb_noise *noise = &of->club->noise;
    bb_model_noise_prior(of->model, of->club->zones, noise);
    set_one_noise(of, BB_MERGE_READING, "", &noise->reading, 0);
    set_one_noise(of, BB_MERGE_WANDER, "", &noise->wander, 0);
    for (size_t z = 0; z < of->club->zone_count; z++)
        set_one_noise(of, BB_MERGE_JITTER, of->club->zones[z].name, &noise->jitter[z],
                      noise->jitter[z].prior_mean);
}

static bb_status set_parameters(making *of)
{
    bb_profile *club = of->club;
    const size_t n = of->prior.count;
    club->parameter_count = n;
    club->parameters = calloc(n, sizeof *club->parameters);
    club->covariance = calloc(n * n, sizeof *club->covariance);
    of->rows = bb_copy(of->prior.rows, n * n, sizeof *of->rows);
    if (!club->parameters || !club->covariance || !of->rows)
        return BB_MEMORY;
    of->mean = of->prior.mean;
    bb_status status = bb_prior_covariance(&of->prior, club->covariance);
    for (size_t i = 0; i < n; i++) {
        bb_model_parameter_name(of->model, club->zones, (int)i, club->parameters[i].name);
        club->parameters[i].estimate = club->parameters[i].prior_mean = of->mean[i];
        club->parameters[i].prior_sd = of->prior.sd[i];
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++)
            club->covariance[j * n + i] = club->covariance[i * n + j];
    if (status == BB_OK)
        status = set_shared(of);
    if (status != BB_OK)
        return status;
    set_salt(of);
    set_angles(of);
    set_noise(of);
    for (size_t i = 0; i < n; i++)
        club->parameters[i].sd = sqrt(club->covariance[i * n + i]);
    return BB_OK;
}

static bb_status make_club(const bb_merge *merge, bb_profile *club, bb_error *error)
{
    making of = {.merge = merge, .club = club};
    bb_status status = set_out(merge, club);
    if (status == BB_OK)
        status = bb_model_of(club, &of.model, error);
    if (status == BB_OK)
        status = bb_prior_new(of.model, club->zones, NULL, &of.prior, error);
    if (status == BB_OK)
        status = set_parameters(&of);
    club->evidence = (bb_evidence){.converged = true,
                                   .rank = club->parameter_count,
                                   .gradient = NAN,
                                   .condition = NAN,
                                   .chi2 = NAN,
                                   .restart_distance = NAN,
                                   .pure_error_sd = NAN,
                                   .lack_of_fit_f = NAN,
                                   .lack_of_fit_p = NAN,
                                   .lack_of_fit_df = NAN,
                                   .pure_error_df = NAN};
    free(of.rows);
    bb_prior_free(&of.prior);
    bb_model_free(of.model);
    return status;
}

bb_status bb_merge_end(bb_merge *merge, bb_profile **out, const bb_merge_quantity **quantities,
                       size_t *quantity_count, bb_error *error)
{
    if (merge->member_count == 0)
        return bb_error_say(error, BB_TOO_LITTLE, "no visit's own profile is among them: merge "
                            "needs profiles that fit wrote without --prior");
    bb_profile *club = calloc(1, sizeof *club);
    bb_status status = club == NULL ? BB_MEMORY : pool_sums(merge);
    if (status == BB_OK)
        status = make_club(merge, club, error);
    if (status != BB_OK) {
        bb_profile_free(club);
        return bb_error_say(error, status, "%s", bb_status_text(status));
    }
    *out = club;
    if (quantities != NULL) {
        *quantities = merge->quantities;
        *quantity_count = merge->quantity_count;
    }
    return BB_OK;
}
