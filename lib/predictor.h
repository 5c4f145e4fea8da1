/* A profile made ready to predict. */
#ifndef BB_PREDICTOR_H
#define BB_PREDICTOR_H

#include "model.h"

struct bb_predictor {
    bb_model *model;
    bb_state state;
    double *theta;
    double *covariance; /* parameter_count squared */
    size_t parameter_count;
    bb_answer *answers;
    bb_zone *zones;
    bb_target *targets;
    bb_bare *bare;
    double *target_sweeps; /* as in the profile */
    bb_target_number *read_though_lost;
    size_t read_though_lost_count;
    double air_sweeps; /* of its visit and of those before it */
    int pooled_visits;
    char digest[BB_DIGEST_BYTES]; /* of the sweeps it was learned from */
};

/* Add weight times the normal (mean, sd) integrated over each number to p; numbers so far out that they
 * have less than 1e-11 get nothing, the ends of the scale what lies beyond them. */
void bb_normal_add(const bb_machine *machine, double mean, double sd, double weight, double *p);

/* Without air sweeps the machine's curve is not known, and the bare numbers that a zone has speak
 * alone; where there are none either, the prior is all there is. */
bool bb_sand_modelled(const bb_predictor *predictor, int zone);

/* What is expected where sweeps were made. Start with cell NULL. */
typedef struct {
    const bb_cell *cell;
    bb_prediction prediction;
} bb_expected_there;

/* Expect for this cell, whose place is worked out anew only where it is not the last one's. BB_RANGE. */
bb_status bb_expect_there(const bb_predictor *predictor, const bb_cell *cell,
                          bb_expected_there *expected);

/* Mean, sd and the 5 and 95 % numbers of a distribution over the scale. */
void bb_prediction_summary(const bb_machine *machine, bb_prediction *prediction);

#endif
