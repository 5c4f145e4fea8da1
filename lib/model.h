/* The physical model: from parameters to the expected number of a sweep, with its gradient. */
#ifndef BB_MODEL_H
#define BB_MODEL_H

#include <complex.h>

#include "shaped_body.h"
#include "curve.h"
#include "target.h"

enum {
    BB_LIFTS_MAX = 16,    /* heights whose ground is remembered */
    BB_GRADIENT_MAX = 20, /* columns that one sweep can touch */
    BB_PARAMETERS_MAX = BB_CURVE_PARAMETERS + 3 + 3 * BB_ZONES_MAX + 2 * BB_TARGETS_MAX
};

#define BB_RESIDUAL_SHARE 0.002 /* of the ground's signal that a machine's own cancelling leaves   \
                                 */
#define BB_UNKNOWN_STRENGTH_M3 1e-6 /* sum of r of a piece without sizes */
#define BB_DEPTH_ERROR_M 0.005      /* of one laying */
#define BB_LAYING_WORTH 100.0       /* sweeps: no laying, however often swept, tells more */
#define BB_DEEPEST_M 2.0            /* that is asked about */
#define BB_BENCH_M 0.10 /* gap in air: any will do, for there the angle is the target's own */

/* How one target answers, apart from its parameters. */
typedef struct {
    bb_target_kind kind;
    bb_target source;
    double mean_time, sd_time;         /* prior of its time parameter (log, or degrees for iron) */
    double mean_strength, sd_strength; /* prior of its log strength */
    bool aged;
    bb_shaped_body body; /* of BB_KIND_BODY, as new */
} bb_model_target;

/* The ground at another height against that at the swing height. */
typedef struct {
    double height_m;
    double ratio;     /* of strengths */
    double shift_deg; /* of the angle */
} bb_lift;

typedef struct {
    bb_ground ground;
    bb_lift lifts[BB_LIFTS_MAX]; /* worked out beforehand */
    size_t lift_count;
    double strength, angle_deg; /* of the computed ground response at the swing height */
    bb_complex response;
    double angle_sd_deg;
} bb_model_zone;

/* Where each parameter stands; -1 where a visit has no such parameter. Targets come last and
 * touch only their own two. */
typedef struct {
    int frequency, severity, level;
    int residual[BB_ZONES_MAX], angle[BB_ZONES_MAX], drift[BB_ZONES_MAX];
    int first_target;
    int count;
} bb_layout;

typedef struct {
    bb_machine machine;
    double swing_height_m, temperature_c;
    double omega; /* rad/s, of the machine's number */
    size_t zone_count, target_count;
    bb_model_zone zone[BB_ZONES_MAX];
    bb_model_target *target;
    bb_layout layout;
    double drift_hour; /* about which the salt level drifts, NAN when it does not */
} bb_model;

/* Build the model of a machine, a beach and a kit. drift_hour: NAN for none. */
bb_status bb_model_new(const bb_machine *machine, const bb_beach *beach, const bb_zone *zones,
                       size_t zone_count, const bb_target *targets, size_t target_count,
                       double drift_hour, bb_model **model, bb_error *error);
/* The model that a profile's parameters belong to. */
bb_status bb_model_of(const bb_profile *profile, bb_model **model, bb_error *error);
void bb_model_free(bb_model *model);

/* Work out the ground of a zone at a height; remembered, so that a fit does it once. */
bb_status bb_model_lift(const bb_model *model, int zone, double height_m, bb_lift *lift);
bb_status bb_model_remember(bb_model *model, int zone, double height_m);

/* Name of a parameter as profiles carry it. */
void bb_model_parameter_name(const bb_model *model, const bb_zone *zones, int index,
                             char name[BB_PARAMETER_BYTES]);

/* Position of the first of count parameters whose name is not the model's at its place, count when
 * all are: there may still be too few of them. */
size_t bb_model_stranger(const bb_model *model, const bb_zone *zones,
                         const bb_parameter *parameters, size_t count);

/* The prior as rows of a least-squares problem: row . (theta - mean) has unit variance.
 * rows: count x count, row by row; mean: count. */
void bb_model_prior(const bb_model *model, double *rows, double *mean);

/* Noise of the reading, wander of the ground's angle, jitter of each zone, as the model uses them.
 */
typedef struct {
    double reading; /* s0, numbers */
    double wander;  /* w, degrees */
    double jitter[BB_ZONES_MAX];
} bb_noise_level;

void bb_model_noise_prior(const bb_model *model, const bb_zone *zones, bb_noise *noise);
bb_noise_level bb_noise_level_of(const bb_noise *noise, size_t zone_count);

/* A target's polarizability with its derivatives by its time parameter, by log
 * frequency and by log severity. */
typedef struct {
    double complex alpha, by_time, by_frequency, by_severity;
} bb_answer;

/* One set of parameters made ready for many sweeps. Borrow its arrays from the caller. */
typedef struct {
    const bb_model *model;
    const double *theta;
    bb_curve curve;
    bb_noise_level noise;
    bb_answer *answer; /* one a target */
} bb_state;

/* answers: room for target_count. BB_RANGE where the scale's high end is not above its low end. */
bb_status bb_state_set(bb_state *state, const bb_model *model, const double *theta,
                       const bb_noise_level *noise, bb_answer *answers);

/* How a target answers with a time parameter, at the state's frequency moved by log_shift. */
bb_status bb_state_answer(const bb_state *state, const bb_model_target *target, double time,
                          double log_shift, bb_answer *answer);

/* A target as the model takes it: its body, kind and priors. sd_log: spread of its log time
 * constant, or NAN for the usual one. */
bb_status bb_model_target_set(const bb_model *model, const bb_target *target, double sd_log,
                              bb_model_target *out);

/* A place of measurement. */
typedef struct {
    int zone, target;
    double depth_m, height_m, hour;
} bb_point;

/* What reaches the coil from there: target, ground residual and its jitter. */
typedef struct {
    double complex target, by_time, by_frequency, by_severity; /* P of the target, derivatives */
    double falloff_per_m;                                      /* d ln|target| / d gap */
    double residual, jitter;                                   /* A and J at that height */
    double angle_deg;                                          /* of the ground at that height */
    double complex ground;                                     /* unit response at that angle */
    double hours;                                              /* since drift_hour */
    bool sand, air;
} bb_signal;

bb_status bb_signal_at(const bb_state *state, const bb_point *point, const bb_answer *answer,
                       bb_signal *signal);

/* One value of the jitter and what the machine would show. */
typedef struct {
    double angle_deg;
    double number, slope;         /* G and dG/dangle */
    double by_x, by_r, by_jitter; /* of the angle (degrees) by the total response and by xi */
    double residual;              /* A + J xi */
    double wander;                /* sd of the number from the wander of the ground's angle */
    bb_curve_weights curve;
} bb_node;

/* xi: standard normal deviate of the jitter (of the angle's wander for bare sand). */
void bb_node_at(const bb_state *state, const bb_signal *signal, double xi, bb_node *node);

/* Derivatives of a number, or of a weighted sum of numbers, by what the parameters act through. */
typedef struct {
    double knot_value[BB_CURVE_KNOTS], knot_slope[BB_CURVE_KNOTS];
    double x, r;  /* by the total response */
    double angle; /* by the ground's angle, per degree */
} bb_pull;

void bb_pull_add(const bb_signal *signal, const bb_node *node, double weight, bb_pull *pull);

/* Gradient of a number by the parameters that its point touches, in their order, first all of the
 * curve; column -1 stands for the two that a piece never swept does not have, after all others. */
typedef struct {
    int count;
    int column[BB_GRADIENT_MAX];
    double value[BB_GRADIENT_MAX];
} bb_gradient;

void bb_gradient_set(const bb_state *state, const bb_point *point, const bb_signal *signal,
                     const bb_pull *pull, bb_gradient *gradient);

/* Adds weight times its square to the lower triangle of a matrix of all parameters (count squared);
 * every column has a parameter. */
void bb_gradient_add_square(const bb_gradient *gradient, double weight, double *matrix, size_t count);

/* Variance that a covariance of all parameters (count squared) gives a number with this gradient.
 */
double bb_gradient_variance(const double *covariance, size_t count, const bb_gradient *gradient);

/* The angle of a response, modulo 180 degrees, so that a residual of either sign reads as the same
 * sand: as the target fades the total goes over into the bare ground without a jump. */
double bb_folded_angle_deg(double x, double r);

/* Expectation and variance of the reading over the jitter; gradient may be NULL. */
typedef struct {
    double mean;
    double variance; /* reading noise, jitter and wander; not rounding */
    double depth_sd; /* of the mean, from the depth error of one laying */
} bb_expected;

/* Of one reading, a whole number of steps; of the mean of a laying, however often it is swept. */
double bb_reading_variance(const bb_expected *expected, double step);
double bb_laying_variance(const bb_expected *expected, double step);

bb_status bb_expect(const bb_state *state, const bb_point *point, bb_expected *expected,
                    bb_gradient *gradient);

#endif
