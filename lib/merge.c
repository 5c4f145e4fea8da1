/* Adding visits to a club one by one: what each found beside its prior, and what may not be pooled. */
#include "merge.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

#include "copy.h"
#include "prior.h"
#include "status.h"

enum { FIRST_ROOM = 16 };

#define LEARNED 0.81 /* of the prior's variance: above it the visit taught too little to count */
#define SAME_PRIOR 1e-6

/* What one profile brings, beside itself. */
typedef struct {
    const bb_profile *profile;
    const char *path;
    bb_model *model;
    double *rows, *mean; /* the model's own prior */
    bb_noise noise;      /* likewise */
    size_t n;
} newcomer;

bb_status bb_merge_begin(const bb_merge_options *options, bb_merge **out, bb_error *error)
{
    bb_merge *merge = calloc(1, sizeof *merge);
    if (merge != NULL) {
        merge->options = *options;
        merge->information = calloc((size_t)BB_SHARED_MAX * BB_SHARED_MAX,
                                    sizeof *merge->information);
    }
    if (merge == NULL || merge->information == NULL) {
        bb_merge_free(merge);
        return bb_out_of_memory(error);
    }
    *out = merge;
    return BB_OK;
}

void bb_merge_free(bb_merge *merge)
{
    if (merge == NULL)
        return;
    for (size_t i = 0; i < merge->sum_count; i++)
        free(merge->sums[i].findings);
    for (size_t i = 0; i < merge->quantity_count; i++)
        free(merge->quantities[i].entries);
    free(merge->sums);
    free(merge->quantities);
    free(merge->digests);
    free(merge->visits);
    free(merge->slots);
    free(merge->information);
    free(merge);
}

/* ---------------------------------------------------------------- the same visit twice */

static size_t slot_of(const bb_merge *merge, const char *digest)
{
    size_t hash = 0;
    for (int i = 0; i < 12; i++)
        hash = hash * 31 + (unsigned char)digest[i];
    size_t slot = hash % merge->slot_count;
    while (merge->slots[slot] != 0 && strcmp(merge->digests[merge->slots[slot] - 1], digest) != 0)
        slot = (slot + 1) % merge->slot_count;
    return slot;
}

static bool is_known(const bb_merge *merge, const char *digest)
{
    return merge->slot_count > 0 && merge->slots[slot_of(merge, digest)] != 0;
}

/* Room for one more member: slots are never more than half full. */
static bb_status make_room(bb_merge *merge)
{
    if (merge->member_count < merge->member_room)
        return BB_OK;
    const size_t room = merge->member_room == 0 ? FIRST_ROOM : 2 * merge->member_room;
    bb_digest_text *digests = realloc(merge->digests, room * sizeof *digests);
    if (digests != NULL)
        merge->digests = digests;
    size_t *visits = realloc(merge->visits, room * sizeof *visits);
    if (visits != NULL)
        merge->visits = visits;
    size_t *slots = calloc(2 * room, sizeof *slots);
    if (digests == NULL || visits == NULL || slots == NULL) {
        free(slots);
        return BB_MEMORY;
    }
    free(merge->slots);
    merge->slots = slots;
    merge->slot_count = 2 * room;
    merge->member_room = room;
    for (size_t m = 0; m < merge->member_count; m++)
        merge->slots[slot_of(merge, merge->digests[m])] = m + 1;
    return BB_OK;
}

/* ---------------------------------------------------------------- what may not be pooled */

static bb_status refuse(bb_error *error, const char *path, const char *what, const char *field)
{
    return bb_error_say(error, BB_INPUT, "%s: %s: its %s differs", path, what, field);
}

static bb_status check_machine(const bb_merge *merge, const newcomer *of, bb_error *error)
{
    const bb_machine *own = &of->profile->machine, *club = &merge->machine;
    if (merge->options.any_machine || merge->member_count == 0)
        return BB_OK;
    const char *field = bb_machine_difference(club, own);
    if (field == NULL && *own->name != '\0' && *club->name != '\0' &&
        strcmp(own->name, club->name) != 0)
        field = "name";
    return field == NULL ? BB_OK
                         : refuse(error, of->path,
                                  "of another machine or setting than the profiles before it",
                                  field);
}

static bool same(double a, double b)
{
    return (isnan(a) && isnan(b)) || fabs(a - b) <= 1e-9 * fabs(a);
}

static const char *target_difference(const bb_target *a, const bb_target *b)
{
    return a->shape != b->shape                                  ? "shape"
           : strcmp(a->material, b->material) != 0               ? "material"
           : !same(a->conductivity_S_per_m, b->conductivity_S_per_m) ? "material"
           : !same(a->diameter_m, b->diameter_m)                 ? "diameter_mm"
           : !same(a->thickness_m, b->thickness_m)               ? "thickness_mm"
           : !same(a->bore_m, b->bore_m)                         ? "bore_mm"
           : !same(a->mass_kg, b->mass_kg)                       ? "mass_g"
           : strcmp(a->core, b->core) != 0                       ? "core"
           : !same(a->core_conductivity_S_per_m, b->core_conductivity_S_per_m) ? "core"
           : !same(a->plating_m, b->plating_m)                   ? "plating_um"
           : !same(a->years, b->years)                           ? "years"
                                                                 : NULL;
}

static size_t target_named(const bb_merge *merge, const char *name)
{
    size_t at = 0;
    while (at < merge->target_count && strcmp(merge->targets[at].name, name) != 0)
        at++;
    return at;
}

static size_t zone_named(const bb_merge *merge, const char *name)
{
    size_t at = 0;
    while (at < merge->zone_count && strcmp(merge->zones[at].zone.name, name) != 0)
        at++;
    return at;
}

static bb_status check_targets(const bb_merge *merge, const newcomer *of, bb_error *error)
{
    size_t fresh = 0;
    if (merge->options.any_machine)
        return BB_OK;
    for (size_t k = 0; k < of->profile->target_count; k++) {
        const bb_target *target = &of->profile->targets[k];
        const size_t at = target_named(merge, target->name);
        const char *field =
            at < merge->target_count ? target_difference(target, &merge->targets[at]) : NULL;
        if (field != NULL)
            return bb_error_say(error, BB_INPUT, "%s: its piece \"%s\" is not the one of that name "
                                "in the profiles before it: its %s differs; give one of them "
                                "another name", of->path, target->name, field);
        fresh += at == merge->target_count;
    }
    return merge->target_count + fresh <= BB_TARGETS_MAX
               ? BB_OK
               : bb_error_say(error, BB_INPUT, "%s: more than %d pieces by different names",
                              of->path, BB_TARGETS_MAX);
}

static bb_status check_zones(const bb_merge *merge, const newcomer *of, bb_error *error)
{
    size_t fresh = 0;
    for (size_t z = 0; z < of->profile->zone_count; z++)
        fresh += zone_named(merge, of->profile->zones[z].name) == merge->zone_count;
    return merge->zone_count + fresh <= BB_ZONES_MAX
               ? BB_OK
               : bb_error_say(error, BB_INPUT, "%s: more than %d zones by different names",
                              of->path, BB_ZONES_MAX);
}

static bb_status check(const bb_merge *merge, const newcomer *of, bb_error *error)
{
    if (strlen(of->profile->digest) + 1 != BB_DIGEST_BYTES)
        return bb_error_say(error, BB_INPUT, "%s: it has no digest, by which the same visit would "
                            "be known again", of->path);
    bb_status status = check_machine(merge, of, error);
    if (status == BB_OK)
        status = check_targets(merge, of, error);
    return status == BB_OK ? check_zones(merge, of, error) : status;
}

/* ---------------------------------------------------------------- what the visit found */

bool bb_is_shared(const bb_layout *at, size_t index)
{
    const int i = (int)index;
    return i < BB_CURVE_PARAMETERS || i == at->frequency || i == at->severity ||
           i >= at->first_target;
}

double bb_prior_precision(const double *rows, size_t n, size_t i, size_t j)
{
    double sum = 0;
    if (i != j && (i >= BB_CURVE_PARAMETERS || j >= BB_CURVE_PARAMETERS))
        return 0;
    for (size_t r = 0; r < BB_CURVE_PARAMETERS && i < BB_CURVE_PARAMETERS; r++)
        sum += rows[r * n + i] * rows[r * n + j];
    return i < BB_CURVE_PARAMETERS ? sum : rows[i * n + i] * rows[i * n + i];
}

static bb_status get_ready(newcomer *of, bb_error *error)
{
    const bb_profile *profile = of->profile;
    bb_status status = bb_model_of(profile, &of->model, error);
    if (status != BB_OK)
        return status;
    of->n = (size_t)of->model->layout.count;
    if (profile->parameter_count != of->n ||
        bb_model_stranger(of->model, profile->zones, profile->parameters, of->n) != of->n)
        return bb_error_say(error, BB_INPUT, "%s: its parameters are not those of its kit and zones",
                            of->path);
    of->rows = calloc(of->n * of->n, sizeof *of->rows);
    of->mean = calloc(of->n, sizeof *of->mean);
    if (of->rows == NULL || of->mean == NULL)
        return bb_out_of_memory(error);
    bb_model_prior(of->model, of->rows, of->mean);
    bb_model_noise_prior(of->model, profile->zones, &of->noise);
    return BB_OK;
}

static void release(newcomer *of)
{
    bb_model_free(of->model);
    free(of->rows);
    free(of->mean);
}

static bool differs(double a, double b)
{
    return fabs(a - b) > SAME_PRIOR * (1 + fabs(b));
}

/* Its prior is not the model's own: it stood on another profile's shoulders. */
static bool from_prior(const newcomer *of)
{
    const bb_parameter *reading = &of->profile->noise.reading;
    bool other = differs(reading->prior_mean, of->noise.reading.prior_mean) ||
                 differs(reading->prior_sd, of->noise.reading.prior_sd);
    for (size_t i = 0; i < of->n && !other; i++) {
        const bb_parameter *parameter = &of->profile->parameters[i];
        other = differs(parameter->prior_mean, of->mean[i]) ||
                (i >= BB_CURVE_PARAMETERS &&
                 differs(parameter->prior_sd, 1 / of->rows[i * of->n + i]));
    }
    return other;
}

static bb_merge_sum *sum_named(bb_merge *merge, bb_merge_kind kind, const char *name)
{
    for (size_t i = 0; i < merge->sum_count; i++)
        if (merge->sums[i].kind == kind && strcmp(merge->sums[i].name, name) == 0)
            return &merge->sums[i];
    bb_merge_sum *sums =
        bb_grown(merge->sums, merge->sum_count + 1, &merge->sum_room, sizeof *sums);
    if (sums == NULL)
        return NULL;
    merge->sums = sums;
    bb_merge_sum *made = &merge->sums[merge->sum_count++];
    *made = (bb_merge_sum){.kind = kind};
    (void)snprintf(made->name, sizeof made->name, "%s", name);
    return made;
}

/* A quantity's estimate from this visit's sweeps alone: what its prior gave is taken out again.
 * Counted from origin, where the physics puts it. */
static bb_status add_finding(bb_merge *merge, bb_merge_kind kind, const char *name,
                             double estimate, double variance, double prior_mean,
                             double prior_variance, double origin)
{
    if (!(variance > 0) || !(variance <= LEARNED * prior_variance))
        return BB_OK;
    bb_merge_sum *sum = sum_named(merge, kind, name);
    if (sum == NULL)
        return BB_MEMORY;
    bb_finding *findings = bb_grown(sum->findings, sum->count + 1, &sum->room, sizeof *findings);
    if (findings == NULL)
        return BB_MEMORY;
    sum->findings = findings;
    const double own = 1 / (1 / variance - 1 / prior_variance);
    sum->findings[sum->count++] = (bb_finding){
        .member = merge->member_count,
        .estimate = own * (estimate / variance - prior_mean / prior_variance) - origin,
        .variance = own};
    return BB_OK;
}

static bb_status add_noise(bb_merge *merge, bb_merge_kind kind, const char *name,
                           const bb_parameter *found, const bb_parameter *prior, double origin)
{
    return add_finding(merge, kind, name, found->estimate, found->sd * found->sd, prior->prior_mean,
                       prior->prior_sd * prior->prior_sd, origin);
}

static double prior_variance(const newcomer *of, int index)
{
    const double row = of->rows[(size_t)index * of->n + (size_t)index];
    return 1 / (row * row);
}

static bb_status add_zone(bb_merge *merge, const newcomer *of, size_t z)
{
    const bb_layout *at = &of->model->layout;
    const bb_profile *profile = of->profile;
    const char *name = profile->zones[z].name;
    const size_t level = (size_t)at->level, own = (size_t)at->residual[z],
                 angle = (size_t)at->angle[z];
    const double *c = profile->covariance;
    bb_status status = add_finding(
        merge, BB_MERGE_SALT, name,
        profile->parameters[level].estimate + profile->parameters[own].estimate,
        c[level * of->n + level] + c[own * of->n + own] + 2 * c[level * of->n + own], 0,
        prior_variance(of, at->level) + prior_variance(of, at->residual[z]), 0);
    if (status == BB_OK)
        status = add_finding(merge, BB_MERGE_ANGLE, name, profile->parameters[angle].estimate,
                             c[angle * of->n + angle], of->mean[angle],
                             prior_variance(of, at->angle[z]), of->mean[angle]);
    if (status == BB_OK)
        status = add_noise(merge, BB_MERGE_JITTER, name, &profile->noise.jitter[z],
                           &of->noise.jitter[z], of->noise.jitter[z].prior_mean);
    return status;
}

static bb_status add_findings(bb_merge *merge, const newcomer *of)
{
    const bb_profile *profile = of->profile;
    bb_status status = BB_OK;
    for (size_t z = 0; z < profile->zone_count && status == BB_OK; z++)
        status = add_zone(merge, of, z);
    if (status != BB_OK || merge->options.any_machine)
        return status;
    status = add_noise(merge, BB_MERGE_READING, "", &profile->noise.reading, &of->noise.reading, 0);
    if (status == BB_OK)
        status = add_noise(merge, BB_MERGE_WANDER, "", &profile->noise.wander, &of->noise.wander, 0);
    for (size_t i = (size_t)of->model->layout.first_target; i < of->n && status == BB_OK; i++)
        status = add_finding(merge, BB_MERGE_PARAMETER, profile->parameters[i].name,
                             profile->parameters[i].estimate, profile->covariance[i * of->n + i],
                             of->mean[i], prior_variance(of, (int)i), 0);
    return status;
}

/* ---------------------------------------------------------------- curve and pieces */

static size_t shared_named(bb_merge *merge, const char *name)
{
    size_t at = 0;
    while (at < merge->shared_count && strcmp(merge->shared[at].name, name) != 0)
        at++;
    if (at == merge->shared_count)
        (void)snprintf(merge->shared[merge->shared_count++].name, sizeof merge->shared->name, "%s",
                       name);
    return at;
}

/* The information of a visit's sweeps on what it shares with others, L = C^-1 - P^-1, weakened by
 * what moves between visits, T (diagonal): L* = L - L S M^-1 S L with S = sqrt T and
 * M = 1 + S L S, so that no visit weighs more than its own day allows. gain: L (estimate). Only the
 * lower triangle of L* is set. */
static bb_status weaken(gsl_matrix *information, gsl_vector *gain, const double *move)
{
    const size_t n = gain->size;
    gsl_matrix *m = gsl_matrix_alloc(n, n), *half = gsl_matrix_alloc(n, n);
    gsl_vector *seen = gsl_vector_alloc(n);
    const bool room = m != NULL && half != NULL && seen != NULL;
    bool done = room;
    for (size_t i = 0; i < n && done; i++) {
        gsl_vector_set(seen, i, move[i] * gsl_vector_get(gain, i));
        for (size_t j = 0; j < n; j++) {
            const double value = move[i] * gsl_matrix_get(information, i, j);
            gsl_matrix_set(half, i, j, value);
            gsl_matrix_set(m, i, j, value * move[j] + (i == j));
        }
    }
    done = done && gsl_linalg_cholesky_decomp1(m) == 0 &&
           gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, m, seen) == 0 &&
           gsl_blas_dtrsm(CblasLeft, CblasLower, CblasNoTrans, CblasNonUnit, 1, m, half) == 0 &&
           gsl_blas_dgemv(CblasTrans, -1, half, seen, 1, gain) == 0 &&
           gsl_blas_dsyrk(CblasLower, CblasTrans, -1, half, 1, information) == 0;
    gsl_matrix_free(m);
    gsl_matrix_free(half);
    gsl_vector_free(seen);
    return done ? BB_OK : room ? BB_RANK : BB_MEMORY;
}

/* Information and gain of the shared parameters, index[0..s). */
static bool shared_information(const newcomer *of, const size_t *index, gsl_matrix *information,
                               gsl_vector *gain)
{
    const size_t s = gain->size;
    for (size_t i = 0; i < s; i++)
        for (size_t j = 0; j < s; j++)
            gsl_matrix_set(information, i, j, of->profile->covariance[index[i] * of->n + index[j]]);
    if (gsl_linalg_cholesky_decomp1(information) != 0 ||
        gsl_linalg_cholesky_invert(information) != 0)
        return false;
    for (size_t i = 0; i < s; i++) {
        double sum = 0;
        for (size_t j = 0; j < s; j++) {
            const double prior = bb_prior_precision(of->rows, of->n, index[i], index[j]);
            sum += gsl_matrix_get(information, i, j) * of->profile->parameters[index[j]].estimate -
                   prior * of->mean[index[j]];
            gsl_matrix_set(information, i, j, gsl_matrix_get(information, i, j) - prior);
        }
        gsl_vector_set(gain, i, sum);
    }
    return true;
}

static bb_status add_shared(bb_merge *merge, const newcomer *of)
{
    size_t index[BB_SHARED_MAX], place[BB_SHARED_MAX], s = 0;
    double move[BB_SHARED_MAX];
    for (size_t i = 0; i < of->n; i++)
        if (bb_is_shared(&of->model->layout, i)) {
            index[s] = i;
            move[s++] = bb_visit_move(of->profile->parameters[i].name);
        }
    gsl_matrix *information = gsl_matrix_alloc(s, s);
    gsl_vector *gain = gsl_vector_alloc(s);
    bb_status status = information == NULL || gain == NULL ? BB_MEMORY : BB_OK;
    if (status == BB_OK && !shared_information(of, index, information, gain))
        status = BB_RANK;
    if (status == BB_OK)
        status = weaken(information, gain, move);
    for (size_t i = 0; i < s && status == BB_OK; i++)
        place[i] = shared_named(merge, of->profile->parameters[index[i]].name);
    for (size_t i = 0; i < s && status == BB_OK; i++) {
        merge->shared[place[i]].weighted += gsl_vector_get(gain, i);
        for (size_t j = 0; j < s; j++)
            merge->information[place[i] * BB_SHARED_MAX + place[j]] +=
                gsl_matrix_get(information, i > j ? i : j, i > j ? j : i);
    }
    gsl_matrix_free(information);
    gsl_vector_free(gain);
    return status;
}

/* ---------------------------------------------------------------- beach, zones and kit */

static void add_beach(bb_merge *merge, const newcomer *of)
{
    const bb_beach *own = &of->profile->beach;
    bb_beach *sum = &merge->beach;
    sum->swing_height_m += own->swing_height_m;
    sum->water_salinity += own->water_salinity;
    sum->water_temperature_c += own->water_temperature_c;
    sum->sand_porosity += own->sand_porosity;
    sum->susceptibility += own->susceptibility;
    sum->black_sand_possible = sum->black_sand_possible || own->black_sand_possible;
    sum->swing_height_assumed = sum->swing_height_assumed || own->swing_height_assumed;
    sum->water_assumed = sum->water_assumed || own->water_assumed;
    sum->porosity_assumed = sum->porosity_assumed || own->porosity_assumed;
    if (strcmp(own->date, sum->date) > 0)
        memcpy(sum->date, own->date, sizeof sum->date);
    if (merge->member_count == 0)
        memcpy(sum->name, own->name, sizeof sum->name);
    else if (strcmp(own->name, sum->name) != 0)
        sum->name[0] = '\0';
}

static void add_zones_and_kit(bb_merge *merge, const newcomer *of)
{
    const bb_profile *profile = of->profile;
    size_t at[BB_ZONES_MAX];
    for (size_t z = 0; z < profile->zone_count; z++) {
        const bb_zone *own = &profile->zones[z];
        at[z] = zone_named(merge, own->name);
        bb_zone_sum *sum = &merge->zones[at[z]];
        if (at[z] == merge->zone_count)
            merge->zones[merge->zone_count++] = (bb_zone_sum){.zone = *own};
        sum->saturation += own->saturation;
        sum->dry_layer_m += own->dry_layer_m;
        sum->susceptibility += own->susceptibility;
        sum->wetness_assumed = sum->wetness_assumed || own->wetness_assumed;
        sum->visits++;
    }
    if (merge->options.any_machine)
        return;
    merge->air_sweeps += profile->air_sweeps;
    merge->sand_sweeps += profile->sand_sweeps;
    for (size_t k = 0; k < profile->target_count; k++) {
        const double *sweeps = profile->target_sweeps + k * (profile->zone_count + 1);
        const size_t target = target_named(merge, profile->targets[k].name);
        if (target == merge->target_count)
            merge->targets[merge->target_count++] = profile->targets[k];
        else if (merge->base == merge->member_count)
            merge->targets[target] = profile->targets[k];
        merge->sweeps[target][0] += sweeps[0];
        for (size_t z = 0; z < profile->zone_count; z++)
            merge->sweeps[target][at[z] + 1] += sweeps[z + 1];
    }
}

/* ---------------------------------------------------------------- adding */

static bb_status count_in(bb_merge *merge, const newcomer *of)
{
    const bb_profile *profile = of->profile;
    bb_status status = make_room(merge);
    if (status == BB_OK && !merge->options.any_machine)
        status = add_shared(merge, of);
    if (status == BB_OK)
        status = add_findings(merge, of);
    if (status != BB_OK)
        return status;
    const size_t member = merge->member_count;
    memcpy(merge->digests[member], profile->digest, BB_DIGEST_BYTES);
    merge->visits[member] = merge->added;
    merge->slots[slot_of(merge, profile->digest)] = member + 1;
    if (member == 0 || strcmp(profile->digest, merge->digests[merge->base]) < 0) {
        char known[BB_TEXT_BYTES];
        memcpy(known, merge->machine.name, sizeof known);
        merge->base = member;
        merge->machine = profile->machine;
        if (*merge->machine.name == '\0')
            memcpy(merge->machine.name, known, sizeof known);
    }
    if (*merge->machine.name == '\0')
        memcpy(merge->machine.name, profile->machine.name, sizeof merge->machine.name);
    add_beach(merge, of);
    add_zones_and_kit(merge, of);
    merge->member_count++;
    return BB_OK;
}

bb_status bb_merge_add(bb_merge *merge, const bb_profile *profile, const char *path,
                       bb_merge_fate *fate, bb_error *error)
{
    newcomer of = {.profile = profile, .path = path};
    bb_status status = BB_OK;
    *fate = profile->pooled_visits > 0                ? BB_MERGE_POOLED
            : is_known(merge, profile->digest)        ? BB_MERGE_TWICE
                                                      : BB_MERGE_COUNTED;
    if (*fate == BB_MERGE_COUNTED) {
        status = check(merge, &of, error);
        if (status == BB_OK)
            status = get_ready(&of, error);
        if (status == BB_OK && from_prior(&of))
            *fate = BB_MERGE_FROM_PRIOR;
        else if (status == BB_OK)
            status = count_in(merge, &of);
    }
    release(&of);
    if (status == BB_OK)
        merge->added++;
    return status == BB_OK ? BB_OK : bb_error_say(error, status, "%s: %s", path,
                                                  bb_status_text(status));
}
