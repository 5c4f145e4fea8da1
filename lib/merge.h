/* A club's visits as they add up, before they make one profile. */
#ifndef BB_MERGE_H
#define BB_MERGE_H

#include "model.h"

enum { BB_SHARED_MAX = BB_CURVE_PARAMETERS + 2 + 2 * BB_TARGETS_MAX };

typedef char bb_digest_text[BB_DIGEST_BYTES];

/* One visit's finding of one quantity. */
typedef struct {
    size_t member;
    double estimate, variance;
} bb_finding;

typedef struct {
    bb_merge_kind kind;
    char name[BB_PARAMETER_BYTES];
    bb_finding *findings;
    size_t count, room;
} bb_merge_sum;

/* A zone by its name: sums of what its visits say of it. */
typedef struct {
    bb_zone zone; /* its name */
    double saturation, dry_layer_m, susceptibility, visits;
    double swept, heard; /* bare */
    bool wetness_assumed;
} bb_zone_sum;

/* What the parameters of curve and pieces were found to be: sums of information (inverse
 * covariance without the prior) and of information times estimate. */
typedef struct {
    char name[BB_PARAMETER_BYTES];
    double weighted;
} bb_shared;

struct bb_merge {
    bb_merge_options options;
    size_t added; /* profiles, counted or not */

    bb_digest_text *digests; /* of the members */
    size_t *visits;          /* which of the added each member is */
    size_t member_count, member_room;
    size_t *slots; /* members + 1 by digest, open addressing */
    size_t slot_count;

    size_t base; /* the member with the lowest digest: its machine stands for all */
    bb_machine machine;
    bb_beach beach; /* sums of its lengths and of the water's */

    bb_zone_sum zones[BB_ZONES_MAX];
    size_t zone_count;
    bb_target targets[BB_TARGETS_MAX];
    size_t target_count;
    double sweeps[BB_TARGETS_MAX][BB_ZONES_MAX + 1]; /* air first */
    double air_sweeps, sand_sweeps;

    bb_merge_sum *sums;
    size_t sum_count, sum_room;

    bb_shared shared[BB_SHARED_MAX];
    size_t shared_count;
    double *information; /* BB_SHARED_MAX squared */

    bb_merge_quantity *quantities; /* once ended */
    size_t quantity_count;
};

/* What one profile brings, beside itself. */
typedef struct {
    const bb_profile *profile;
    const char *path;
    bb_model *model;
    double *rows, *mean; /* the model's own prior */
    bb_noise noise;      /* likewise */
    size_t n;
} bb_newcomer;

/* Work out what a profile brings; release it also after a failure. */
bb_status bb_newcomer_ready(bb_newcomer *of, bb_error *error);
void bb_newcomer_release(bb_newcomer *of);

/* Is its prior not the model's own? Then it stood on another profile's shoulders. */
bool bb_newcomer_from_prior(const bb_newcomer *of);

/* Add what it found: quantity by quantity, and the information on curve and pieces. */
bb_status bb_merge_findings(bb_merge *merge, const bb_newcomer *of);
bb_status bb_merge_shared(bb_merge *merge, const bb_newcomer *of);

/* Precision of the model's own prior of shared parameters i and j (the curve's belong together). */
double bb_prior_precision(const double *rows, size_t n, size_t i, size_t j);

/* Is a parameter of the machine's curve, its frequency, the corrosion or a piece. */
bool bb_is_shared(const bb_layout *at, size_t index);

#endif
