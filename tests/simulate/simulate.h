/* Invented visits: a truth drawn at random and the sweeps it would give.
 *
 * The tests' witness: what it shares with the library is the physics of ground and bodies alone.
 * The machine's curve, the mixing of target and sand, the noise and the random numbers are its
 * own, so that an error in the library's model shows as a difference. */
#ifndef SIMULATE_H
#define SIMULATE_H

#include <complex.h>
#include <stdio.h>

#include <gsl/gsl_rng.h>

#include "brineband.h"
#include "scale.h"

enum { TRUTH_ZONES = 2, TRUTH_TARGETS = 9, TRUTH_HEIGHTS = 24, BARE_MAX = 150, SWEEPS_MAX = 512 };

/* Families of truths.
 * inside: the model's own priors; those of them that are wide on purpose only in the part where
 *   most pieces can be heard near the surface: ln A about ln(0.001 of the computed ground), sd 0.8,
 *   the zones apart by sd 0.5; ln J about ln(0.0005 of it), sd 0.6; ln s0 and ln w sd 0.4; a piece
 *   without a body with half its spread.
 * departing: another curve, wrong sizes and alloys, heavy tails or outliers, depth and height
 *   errors, a ground whose angle truly turns.
 * steady: as inside, over sand that wanders 0.3 to 0.8 degrees and spans 4 or 5 numbers. */
typedef enum { FAMILY_INSIDE, FAMILY_DEPARTING, FAMILY_STEADY, FAMILY_COUNT } truth_family;
extern const char *const family_name[FAMILY_COUNT];

/* full: 9 targets in air and in two zones, on the sand, under it and with the coil raised; 25 bare
 *   sweeps a zone; over an hour, with times.
 * quarter: 6 targets in air, 20 bare wet and 15 bare damp sweeps, 4 pieces on the wet sand at two
 *   heights of the coil.
 * two-minute: 15 bare wet sweeps. */
typedef enum { VISIT_FULL, VISIT_QUARTER, VISIT_TWO_MINUTE, VISIT_COUNT } visit_kind;
extern const char *const visit_name[VISIT_COUNT];

typedef struct {
    truth_family family;
    visit_kind kind;
    unsigned long seed;
    int bare_sweeps; /* in each zone that has any, to BARE_MAX; 0 for the visit's own number */
    bool untold;     /* the searcher knows no frequency of the machine */
} simulation;

typedef struct {
    bb_zone told;
    /* The computed ground, by height: ln strength, angle, ln of the share that salt cancelling
     * leaves (0 without it). */
    double log_strength[TRUTH_HEIGHTS], turn_deg[TRUTH_HEIGHTS], log_kept[TRUTH_HEIGHTS];
    double residual, jitter;                                     /* A and J at the swing height */
    double angle_deg;                                            /* psi at the swing height */
    double drift_per_hour;                                       /* of log A */
    double sounding; /* share of bare sweeps that sound */
} truth_zone;

typedef struct {
    bb_target told;
    double time; /* lambda; of a piece without a body ln(omega tau), of iron the angle (deg) */
    double log_strength;  /* beta; both NAN where wrong sizes make the truth no multiple of them */
    double complex alpha; /* m^3, with beta */
    double kept;          /* share of its strength that salt cancelling leaves, 1 without */
    bool laid;            /* on the sand in a quarter-hour visit */
} truth_target;

typedef struct {
    simulation of;
    bb_machine machine; /* as the searcher types them */
    bb_beach beach;
    size_t zone_count, target_count;
    truth_zone zone[TRUTH_ZONES];
    truth_target target[TRUTH_TARGETS];
    truth_scale scale;
    double reading, wander_deg;     /* s0 (numbers) and w */
    double severity;                /* of corrosion */
    double middle_hour;             /* about which A drifts */
    bool heavy_tails, turning;      /* Student noise; the ground's angle itself turns */
    double outliers;                /* share of readings spread over the scale */
    double depth_sd_m, height_sd_m; /* of a laying, of a sweep */
} truth;

typedef struct {
    int zone, target; /* as in bb_cell */
    double depth_m, height_m, hour;
} truth_place;

typedef struct {
    truth_place place;
    int laying;
    bool heard; /* with a number, unless it was not */
    int reading;
} truth_sweep;

typedef struct {
    truth truth;
    size_t count;
    truth_sweep sweep[SWEEPS_MAX];
} simulated_visit;

/* Draw a truth. False, with a message on standard error, where the physics refuses it. */
bool truth_draw(const simulation *of, truth *drawn);
/* The same beach on another day. */
void truth_move_sand(truth *truth, gsl_rng *random);

/* The number of one sweep without outliers, for a piece laid deeper by error_m than it was noted.
 */
int truth_number(const truth *truth, const truth_place *place, double error_m, gsl_rng *random);

/* The chance of each number at a place laid without error, by Monte Carlo: draws sweeps without
 * outliers into clean (which also gives their mean and sd), outliers mixed in for chances. */
typedef struct {
    size_t count;
    double mean, sd;                /* of honest sweeps */
    double chances[BB_NUMBERS_MAX]; /* of every sweep, outliers too */
} truth_distribution;
void truth_chances(const truth *truth, const truth_place *place, int draws, gsl_rng *random,
                   truth_distribution *out);

/* A in a zone at a height and hour (NAN: the middle of the visit), J and psi (degrees). */
double truth_residual(const truth *truth, const truth_place *place);
double truth_jitter(const truth *truth, const truth_place *place);
double truth_angle_deg(const truth *truth, const truth_place *place);
/* Strength of the ground's response as it is computed from water and sand. */
double truth_ground(const truth *truth, const truth_place *place);
/* The response of the target there, as it reaches the coil. */
double complex truth_response(const truth *truth, const truth_place *place, double error_m);
/* That response against the jitter of the ground, both as the machine detects them. */
double truth_signal_to_ground(const truth *truth, const truth_place *place);

size_t scale_count(const bb_machine *machine);

/* Draw a truth and sweep it as its kind of visit does. */
bool visit_simulate(const simulation *of, simulated_visit *visit);
/* Another day, 1 and up, with that visit's machine, kit and beach: the sand has moved, ln A by sd 0.4
 * in all zones and 0.2 in each, its angle by 2 degrees, ln J by 0.3. */
bool visit_simulate_day(const simulation *of, unsigned long day, simulated_visit *visit);

/* One of the files that the searcher would have typed; visit is a simulated_visit. */
void visit_print(const void *visit, size_t file, FILE *out);
/* The truth beside it, as JSON: its parameters, and the distribution of numbers at a grid. */
bool truth_print(const simulated_visit *visit, FILE *out);

/* The same visit, printed and read back by the library. */
bb_status simulated_visit_read(const simulated_visit *simulated, bb_visit *visit, bb_error *error);

#endif
