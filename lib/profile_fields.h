/* The fields of a profile's parts, in the order they are written, with the range of each. */
#ifndef BB_PROFILE_FIELDS_H
#define BB_PROFILE_FIELDS_H

#include "curve.h"
#include "json_fields.h"

#define BB_PROFILE_FORMAT "brineband-profile"
enum {
    BB_PROFILE_VERSION = 1,
    BB_PROFILE_PARAMETERS_MAX = 1024,
    BB_POOLED_MAX = 1000000, /* visits of a club */
    BB_TARGET_NUMBERS_MAX = 16384
};
#define BB_SWEEPS_MAX 1e12 /* more than a life of sweeping */
#define BB_DUG_MAX 1e9
#define BB_ESTIMATE_MAX 200.0 /* of logarithms, and of angles in degrees */

/* What tells a profile from other files. */
typedef struct {
    char format[BB_NAME_BYTES];
    int version;
    char program[BB_NAME_BYTES]; /* version of the program that wrote it */
} bb_profile_head;

/* A point of the machine's curve, for those who have not our formula: it follows from the
 * parameters. */
typedef struct {
    double angle_deg, number;
} bb_knot;

extern const bb_fields bb_profile_fields; /* of a bb_profile_head, and the sections by name */
extern const bb_fields bb_machine_fields;
extern const bb_fields bb_beach_fields;
extern const bb_fields bb_zone_fields;
extern const bb_fields bb_knot_fields;
extern const bb_fields bb_target_fields;
extern const bb_fields bb_parameter_fields;
extern const bb_fields bb_logarithm_fields; /* a parameter whose exponential is used */
extern const bb_fields bb_noise_fields;
extern const bb_fields bb_bare_fields;
extern const bb_fields bb_data_fields;
extern const bb_fields bb_evidence_fields;
extern const bb_fields bb_finds_fields;

/* The curve at its knots, as the first BB_CURVE_PARAMETERS parameters have it. */
void bb_profile_knots(const bb_profile *profile, bb_knot knots[BB_CURVE_KNOTS]);

#endif
