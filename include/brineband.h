/* brineband: how a metal finder's numbers shift over salt sand, and which of them to reject.
 *
 * The way of the data: read -> model -> fit -> predict -> reject -> check.
 *
 * Every function is free of global state, prints nothing, and opens no file: it takes text and
 * buffers, and returns 0 (BB_OK) or the one code for its cause. Results go through pointers and
 * are untouched on failure unless said otherwise. SI units inside, with the unit in every name.
 * Distinct objects may be used from distinct threads.
 *
 * SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BRINEBAND_H
#define BRINEBAND_H

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The version of the package. Which programs go with which library, the soname alone tells. */
#define BB_VERSION "0.1.0"

/* What leaves the shared library. */
#if defined(__GNUC__)
#define BB_API __attribute__((visibility("default")))
#else
#define BB_API
#endif

/* ---------------------------------------------------------------- limits of what may be read */

enum {
    BB_NAME_BYTES = 64,    /* a target, zone, group, material or setting name, with its final NUL */
    BB_TEXT_BYTES = 256,   /* free words, with the final NUL */
    BB_PARAMETER_BYTES = BB_NAME_BYTES + 32, /* a fitted quantity's name, likewise */
    BB_DIGEST_BYTES = 65,  /* SHA-256 in hexadecimal, likewise */
    BB_NUMBERS_MAX = 1024, /* numbers on a machine's scale */
    BB_BANDS_MAX = 8,      /* separate ranges rejected at once */
    BB_ZONES_MAX = 16,     /* zones of one visit */
    BB_TARGETS_MAX = 256   /* targets of one kit */
};

/* ---------------------------------------------------------------- status and errors */

/* 0 is done; every other value is one cause of failure. */
typedef enum {
    BB_OK = 0,
    BB_INPUT,         /* a file says something that is not accepted; bb_error tells where and what */
    BB_RANGE,         /* an argument lies outside the range stated for it */
    BB_UNKNOWN,       /* a name that is not known */
    BB_TOO_LITTLE,    /* the data cannot support an answer; bb_error says what to measure */
    BB_NOT_CONVERGED, /* a solver did not reach its stopping rule */
    BB_RANK,          /* a least-squares problem does not determine its parameters */
    BB_MEMORY         /* memory ran out */
} bb_status;

/* One plain sentence fragment for a status, never NULL. */
BB_API const char *bb_status_text(bb_status status);

/* Where and why something failed. The first error set wins; later ones are ignored.
 * line 0: not about a file. column: field number (1 first) in a csv, byte (1 first) in ini and json. */
typedef struct {
    bb_status status;
    char path[BB_TEXT_BYTES];
    long line;
    long column;
    char found[BB_TEXT_BYTES];
    char accepted[2 * BB_TEXT_BYTES]; /* also carries the whole message when line is 0 */
} bb_error;

/* Write "PATH:LINE:COLUMN: found ..., accepted ..." (or the message, when line is 0) as at most
 * size bytes with the final NUL. Returns the length it would have, like snprintf. */
BB_API int bb_error_text(const bb_error *error, char *text, size_t size);

/* ---------------------------------------------------------------- what a visit holds */

/* A complex number that C++ reads too. */
typedef struct {
    double re, im;
} bb_complex;

/* Closed ranges of whole numbers of the machine's scale, in rising order, disjoint. */
typedef struct {
    int count;
    struct {
        int low, high;
    } band[BB_BANDS_MAX];
} bb_bands;

/* What is known of the frequencies that a machine sends. */
typedef enum {
    BB_FREQUENCY_ONE,    /* one known frequency */
    BB_FREQUENCY_PAIR,   /* a salt-cancelling pair, both known */
    BB_FREQUENCY_UNKNOWN /* "one", "several" or left out: assumed, with a wide doubt */
} bb_frequency_kind;

/* The machine and its setting: section [machine] of beach.ini. */
typedef struct {
    char name[BB_TEXT_BYTES];
    char settings[BB_TEXT_BYTES];
    int scale_low, scale_high, scale_step; /* numbers are low, low + step, ..., high */
    bb_frequency_kind frequency_kind;
    double frequency_hz;       /* the number's own frequency: the only one, or f2 of a pair */
    double lower_frequency_hz; /* f1 of a pair, else 0 */
    double coil_radius_m;
    int reject_bands; /* 1 to BB_BANDS_MAX */
    bb_bands reject_now;
    bool has_reject_below;
    int reject_below;
    bool frequency_assumed, coil_assumed, reject_bands_assumed;
} bb_machine;

/* The beach and the day: section [beach] of beach.ini. */
typedef struct {
    char name[BB_TEXT_BYTES];
    char date[BB_NAME_BYTES]; /* YYYY-MM-DD or empty */
    int low_water_min;        /* minutes after midnight, -1 when not given */
    int turn_back_min;
    double swing_height_m;
    double water_salinity;      /* practical salinity */
    double water_temperature_c; /* ITS-90 */
    double sand_porosity;       /* 0 to 1 */
    double susceptibility;      /* SI, volume */
    bool black_sand_possible;   /* black sand may be there and its susceptibility was not given */
    bool swing_height_assumed;
    bool water_assumed; /* its salinity (or a word for it) or its temperature was not given */
    bool porosity_assumed;
} bb_beach;

/* A stretch of sand that is alike: a section [zone NAME] of beach.ini. */
typedef struct {
    char name[BB_NAME_BYTES];
    double saturation; /* share of the pores that hold water, 0 to 1 */
    double dry_layer_m;
    double susceptibility; /* SI, volume: the beach's unless the zone's own was given */
    bool wetness_assumed;
} bb_zone;

/* The form of a piece. Other: none that can be computed. */
typedef enum { BB_SHAPE_DISC, BB_SHAPE_RING, BB_SHAPE_SPHERE, BB_SHAPE_OTHER } bb_shape;

/* "disc", "ring", "sphere" or "other". */
BB_API const char *bb_shape_text(bb_shape shape);

/* A known target. NAN where a size was not given. */
typedef struct {
    char name[BB_NAME_BYTES];
    bb_shape shape;
    char material[BB_NAME_BYTES]; /* a name of reference/materials.csv, or empty for a bare number */
    double conductivity_S_per_m;  /* at 20 degC, NAN when not known */
    double diameter_m, thickness_m, bore_m, mass_kg;
    char core[BB_NAME_BYTES]; /* a material name, empty when not layered */
    double core_conductivity_S_per_m;
    double plating_m;
    double years; /* in salt sand, 0 for new */
    bool keep;
    char group[BB_NAME_BYTES];
    long line; /* where the kit says so, 0 from elsewhere */
} bb_target;

/* The groups known by name; a kit may have words of its own. */
#define BB_GROUP_SMALL_GOLD "small gold"
#define BB_GROUP_GOLD "gold"
#define BB_GROUP_SILVER "silver"
#define BB_GROUP_COIN "coin"
#define BB_GROUP_FOIL "foil"
#define BB_GROUP_JUNK "junk"
#define BB_GROUP_IRON "iron"
#define BB_GROUP_SAND "bare sand" /* where nothing lies */

enum { BB_ZONE_AIR = -1, BB_TARGET_SAND = -1 };

/* Whether a sweep sounded; blank where that was not written down. */
typedef enum { BB_HEARD_BLANK = -1, BB_HEARD_NO = 0, BB_HEARD_YES = 1 } bb_heard;

/* All sweeps of one zone, target, depth, height, setting, number (and, with times, tenth of an
 * hour). Sweeps made under different settings are different cells. */
typedef struct {
    int zone;         /* index, or BB_ZONE_AIR */
    int target;       /* index, or BB_TARGET_SAND */
    double depth_m;   /* below the sand's surface; in air the gap to the coil; 0 for bare sand */
    double height_m;  /* of the coil over the sand; in air 0 */
    double hour;      /* hours after midnight to a tenth, NAN without a time */
    int setting;      /* index into settings; 0 is "nothing rejected" */
    bb_heard heard;
    bool has_reading; /* false: swept, nothing shown */
    int reading;
    double count;     /* sweeps in the cell, at least 1 */
    long line;        /* of the first one */
    int laying;       /* sweeps of one laying share it, 0 first */
} bb_cell;

/* A setting named in the sweeps: words, and its bands where the words are bands. */
typedef struct {
    char name[BB_NAME_BYTES];
    bool has_bands;
    bb_bands bands;
} bb_setting;

/* Bare-sand sweeps of one zone with nothing rejected. */
typedef struct {
    double swept;               /* sweeps of any kind */
    double heard;               /* of them, those that sounded or showed a number */
    bool quiet_recorded;        /* some sweep was recorded as not heard */
    double number_swept;        /* sweeps that showed a number */
    double counts[BB_NUMBERS_MAX]; /* of each number of the scale */
    int last_low, last_high;     /* range of the last five numbers; 0 and -1 when there were none */
    int before_low, before_high; /* range of those before them, likewise */
} bb_bare;

/* Bare sweeps of a zone that are enough to fit, and enough whatever they read. */
enum { BB_BARE_LEAST = 15, BB_BARE_ENOUGH = 25 };

/* Further bare sweeps that a zone wants: up to the least, and on to enough unless the last five
 * numbers stayed within the range of those before. 0 when it has what it needs. */
BB_API int bb_bare_wanted(const bb_bare *bare);

/* All that was read of one beach, one machine setting and one tide. */
typedef struct {
    bb_machine machine;
    bb_beach beach;
    bb_zone *zones;
    size_t zone_count;
    bb_target *targets;
    size_t target_count;
    bool without_kit; /* set before the sweeps are read: these name their targets, of no known size */
    bb_cell *cells;
    size_t cell_count;
    bb_setting *settings; /* [0] is "nothing rejected" */
    size_t setting_count;
    bb_bare *bare; /* one a zone */
    double sweep_count;
} bb_visit;

/* Bare sand of a zone with the hour: sweeps with a number and a time of day. */
typedef struct {
    double sweeps;
    double hours;  /* from the first to the last; this and what follows NAN with fewer than four, or
                    * all at one time */
    double change; /* of the number over them, by a straight line */
    double p_value; /* of one so large where nothing changes, two-sided (Student's t) */
} bb_bare_trend;

/* zone: index. */
BB_API bb_bare_trend bb_bare_trend_of(const bb_visit *visit, size_t zone);

/* Release what a visit holds and clear it. A zeroed visit is empty and may be freed. */
BB_API void bb_visit_free(bb_visit *visit);

/* ---------------------------------------------------------------- numbers and bands */

/* Is the number one that the machine can show? All other numbers here must be. */
BB_API bool bb_scale_holds(const bb_machine *machine, long number);

/* How many numbers a machine can show, the index of one (0 first), and the one at an index. */
BB_API size_t bb_scale_count(const bb_machine *machine);
BB_API size_t bb_scale_index(const bb_machine *machine, int number);
BB_API int bb_scale_number(const bb_machine *machine, size_t index);

/* Is the number within a band? Are all bands the same? */
BB_API bool bb_bands_hold(const bb_bands *bands, int number);
BB_API bool bb_bands_same(const bb_bands *a, const bb_bands *b);

/* ---------------------------------------------------------------- read */

/* Parse beach.ini (sections machine, beach and zones) into an empty visit. What is left out gets
 * its usual value and a flag ..._assumed; only scale_low and scale_high must be there.
 * text: UTF-8, length bytes, not necessarily NUL-terminated; path is only quoted in errors.
 * BB_INPUT with the place in *error, BB_MEMORY; the visit is untouched then. */
BB_API bb_status bb_beach_read(const char *text, size_t length, const char *path, bb_visit *visit,
                               bb_error *error);

/* Parse kit.csv into a visit whose beach has been read and that has no targets yet (BB_RANGE
 * else). Same errors. */
BB_API bb_status bb_kit_read(const char *text, size_t length, const char *path, bb_visit *visit,
                             bb_error *error);

/* Sweeps are read in pieces of any size, so that an archive needs no more memory than its
 * distinct cells. The visit's beach and kit come first; it has no cells yet (BB_RANGE else).
 * Nothing of the visit changes before bb_sweeps_end, which gives it its cells (sorted by zone,
 * target, depth, height, setting, hour and number, so that the order of the rows leaves no trace
 * but in the numbering of layings), bare-sand counts, zones when beach.ini named none, and targets
 * when it is without a kit.
 * visit, path and error must outlive the reader. bb_sweeps_free may be called at any time (also
 * on NULL). After an error every call returns it again. */
typedef struct bb_sweeps_reader bb_sweeps_reader;
BB_API bb_status bb_sweeps_begin(bb_visit *visit, const char *path, bb_sweeps_reader **reader,
                                 bb_error *error);
BB_API bb_status bb_sweeps_feed(bb_sweeps_reader *reader, const char *bytes, size_t length);
BB_API bb_status bb_sweeps_end(bb_sweeps_reader *reader);
BB_API void bb_sweeps_free(bb_sweeps_reader *reader);

/* All sweeps at once, from a text in memory. The same errors; the visit is untouched by them. */
BB_API bb_status bb_sweeps_read(const char *text, size_t length, const char *path, bb_visit *visit,
                                bb_error *error);

/* Parse "12-15,33-34" (or "none") against a machine's scale: each band (-?number)-(-?number)
 * or one number, rising, at least one number apart, on the machine's step; the dash may be an en
 * dash. BB_INPUT says what is accepted. */
BB_API bb_status bb_bands_read(const char *text, const bb_machine *machine, bb_bands *bands,
                               bb_error *error);

/* The name among count names (name_bytes apart) nearest to word by edit distance, or NULL when
 * none is near (more than a third of the letters differ). */
BB_API const char *bb_nearest_name(const char *word, const char *names, size_t count,
                                   size_t name_bytes);

/* ---------------------------------------------------------------- water, sand, ground */

/* Electrical conductivity of sea water at the surface. salinity 0 to 42 (practical), temperature -2
 * to 35 degC (ITS-90). PSS-78 (UNESCO Technical Papers in Marine Science 44) solved for
 * conductivity, with C(35, 15 degC IPTS-68, 0) = 4.2914 S/m and t68 = 1.00024 t90; below 2 the
 * extension of Hill, Dauphinee and Woods (1986), scaled to meet it at 2.
 * relative_error (may be NULL): what the scale's own 0.002 in salinity amounts to, at most 1: 5e-5
 * at 35, 1e-3 at 2. The solution itself errs by less than 1e-12. BB_RANGE outside. */
BB_API bb_status bb_water_conductivity(double salinity, double temperature_c,
                                       double *sigma_S_per_m, double *relative_error);

/* Archie (1942): sigma = sigma_water * porosity^cementation * saturation^saturation_exponent.
 * water 0 S/m and up, porosity 0 to 1 exclusive, saturation 0 to 1, both exponents 1 to 5. BB_RANGE
 * outside, or where porosity^cementation is above the Hashin-Shtrikman (1962) bound
 * 2 porosity / (3 - porosity), which no insulating grains allow. */
BB_API bb_status bb_archie_conductivity(double water_S_per_m, double porosity, double saturation,
                                        double cementation, double saturation_exponent,
                                        double *sigma_S_per_m);

/* The same with cementation 1.5 and saturation exponent 2: clean beach sand. */
BB_API bb_status bb_sand_conductivity(double water_S_per_m, double porosity, double saturation,
                                      double *sigma_S_per_m);

/* Relative sd of that for sand of an unknown beach: 0.1 in cementation (natural sands 1.4 to 1.6:
 * Jackson, Taylor Smith and Stanford 1978, from memory) and 0.03 in porosity (beaches 0.35 to 0.45:
 * common practice, no source). porosity 0 to 1 exclusive. */
BB_API double bb_sand_relative_sd(double porosity);

/* Sand under an upper layer (thickness 0: none); both of one susceptibility. */
typedef struct {
    double sigma_S_per_m;       /* of the sand, 0 to 10 */
    double susceptibility;      /* SI, volume, 0 to 1 */
    double layer_m;             /* thickness of the upper layer, 0 to 10 */
    double layer_sigma_S_per_m; /* its conductivity, 0 to 10; not read when there is none */
} bb_ground;

/* Response P = -dZ/(j omega mu0 a) of coincident circular loops of radius a at height h over the
 * ground: positive real and imaginary parts over salt, negative real part over magnetic sand.
 * omega above 0 to 1e7 rad/s, radius above 0 to 10 m, height above 0. Quasi-static (no displacement
 * current), thin loops, flat layers (Dodd and Deeds 1968; Ward and Hohmann 1988). Each part is
 * right to 1e-7 relative for |kappa| = a sqrt(omega mu0 sigma) 1e-4 to 3 and h/a 0.02 to 2. */
BB_API bb_status bb_ground_response(const bb_ground *ground, double omega_rad_per_s,
                                    double radius_m, double height_m, bb_complex *response);

/* 2 pi f: rad/s from Hz. */
BB_API double bb_angular_frequency(double frequency_hz);

/* atan2(re, im) in degrees: -90 purely permeable, 0 purely resistive, 90 a perfect conductor. */
BB_API double bb_response_angle_deg(bb_complex response);
/* Its modulus. */
BB_API double bb_response_strength(bb_complex response);

/* What a salt-cancelling pair keeps of one thing's responses at both frequencies (above 0): upper -
 * (upper_hz / lower_hz) lower, free of all that is proportional to frequency; and its strength as a
 * share of the upper response (NAN for none). A model of the principle, not of any machine. */
BB_API bb_complex bb_cancelled(bb_complex upper, bb_complex lower, double upper_hz,
                               double lower_hz);
BB_API double bb_cancel_survival(bb_complex upper, bb_complex lower, double upper_hz,
                                 double lower_hz);

/* ---------------------------------------------------------------- bodies */

/* A non-magnetic disc, ring (of rectangular section) or sphere; a sphere may be permeable. */
typedef struct {
    bb_shape shape;
    double radius_m;      /* outer */
    double thickness_m;   /* axial; unused for a sphere */
    double bore_radius_m; /* of a ring */
    double conductivity_S_per_m;
    double permeability; /* relative */
} bb_body;

/* Magnetic polarizability in an axial field, with positive real part for a conductor:
 * alpha = sum r_n j w tau_n / (1 + j w tau_n), m^3, and its derivative by ln w (may be NULL).
 * omega rad/s > 0. BB_RANGE for sizes that make no body, and for a permeable disc or ring.
 * Accuracy: a sphere 1e-12 relative (Wait 1951); a disc or ring, read from a table of a spectral
 * solution, 1e-3 degrees in angle and 1e-5 in strength for a wall of 0.001 to 0.95 radii, a
 * thickness of 2e-5 to 4 and any omega up to 1000 mean time constants; beyond, 0.1 degrees and 1 %
 * (reference/model.md). */
BB_API bb_status bb_body_polarizability(const bb_body *body, double omega_rad_per_s,
                                        bb_complex *alpha_m3, bb_complex *slope_m3);

/* One term r_n j w tau_n / (1 + j w tau_n) of a polarizability. */
typedef struct {
    double strength_m3;     /* r_n */
    double time_constant_s; /* tau_n */
} bb_mode;

/* The modes, strongest first: at most capacity of them are written, *count is how many there are
 * (at most 100). Their first moment, sum r_n tau_n, is exact to 1e-9; the strongest are good to 1e-7
 * relative, the last stand for all that are left out. BB_RANGE for a permeable body, which has no
 * such sum here; BB_MEMORY; BB_NOT_CONVERGED. */
BB_API bb_status bb_body_modes(const bb_body *body, size_t capacity, bb_mode *modes, size_t *count);

/* A metal of reference/materials.csv, compiled in. */
typedef struct {
    const char *name;
    double conductivity_S_per_m; /* at 20 degC */
    double temperature_per_K;
    double density_kg_per_m3;
    double permeability;
    const char *source;
} bb_material;

/* How many metals are known, and each of them: NULL from the count on. */
BB_API size_t bb_material_count(void);
BB_API const bb_material *bb_material_at(size_t index);
/* The metal of that name, NULL when not known. */
BB_API const bb_material *bb_material_find(const char *name); /* NULL when not known */

/* Ready-made targets of reference/catalogue.csv, compiled in; *known_sd_log (may be NULL) is the
 * spread of ln time constant over pieces of that kind. */
BB_API size_t bb_catalogue_count(void);
BB_API bb_status bb_catalogue_at(size_t index, bb_target *target, double *known_sd_log);

/* ---------------------------------------------------------------- the profile */

/* One fitted quantity. */
typedef struct {
    char name[BB_PARAMETER_BYTES];
    double estimate, sd, prior_mean, prior_sd;
} bb_parameter;

/* Did the sweeps narrow it: sd at most 0.9 of prior_sd? Else it is assumed. */
BB_API bool bb_parameter_learned(const bb_parameter *parameter);

/* A learned ratio with the limits that hold it nine times in ten. */
typedef struct {
    bool learned; /* false: nothing told of it, and the rest is the prior's */
    double estimate, low, high;
} bb_ratio;

/* Noise of the machine and of the ground: natural logarithms, with their standard errors. */
typedef struct {
    bb_parameter reading;            /* ln s0, numbers */
    bb_parameter wander;             /* ln w, degrees */
    bb_parameter jitter[BB_ZONES_MAX]; /* ln J of each zone */
} bb_noise;

/* How a fit came to its end, for whoever doubts it. */
typedef struct {
    bool converged;
    int rounds;             /* of parameters and noise in turn */
    int iterations;         /* of the solver, all rounds */
    double gradient;        /* largest scaled gradient component, 0 at an optimum */
    size_t rank;
    double condition;       /* of the scaled Jacobian */
    double chi2;            /* weighted, of the readings alone */
    double restart_distance; /* largest difference between both optima, in standard errors */
    double pure_error_sd, lack_of_fit_f, lack_of_fit_p; /* NAN without replicates */
    double lack_of_fit_df, pure_error_df;
} bb_evidence;

/* Finds of one group dug in each zone. */
typedef struct {
    char group[BB_NAME_BYTES];
    double dug[BB_ZONES_MAX];
} bb_finds;

/* A number that was read over a target, as often as sweeps says. */
typedef struct {
    int target, zone, number;
    double sweeps;
} bb_target_number;

/* What one visit taught. Everything that predict, reject and check need, and no place. */
typedef struct {
    bb_machine machine;
    bb_beach beach;
    bb_zone *zones;
    size_t zone_count;
    bb_target *targets;
    size_t target_count;
    bb_parameter *parameters; /* in the order of the model, see bb_model_parameters */
    size_t parameter_count;
    double *covariance; /* parameter_count squared, row by row */
    bb_noise noise;
    bb_bare *bare;          /* one a zone */
    double *target_sweeps;  /* target_count x (zone_count + 1), air first: sweeps that taught */
    double air_sweeps, sand_sweeps; /* with nothing rejected */
    double air_before;      /* in air with this machine in earlier visits, whose profile it began from */
    double left_out;        /* other sweeps, of which it cannot be told whether the salt drowned them */
    double hard_to_believe; /* readings that bb_suspects named to whoever wrote it, 0 from bb_fit */
    double drift_hour;      /* hour about which the salt level drifts (0 once read back, for times of
                             * day are not written), NAN without */
    bb_target_number *read_though_lost; /* over targets that it calls masked at any depth there: see
                                         * bb_read_though_lost; none from bb_fit */
    size_t read_though_lost_count;
    char digest[BB_DIGEST_BYTES]; /* SHA-256 of the canonical cells, in hexadecimal */
    int pooled_visits;      /* a club's profile: visits it was merged from; 0 for a visit's own */
    bool any_machine;       /* a club's profile that knows only what is the beach's */
    bb_evidence evidence;
    bb_finds *finds; /* of groups and of bare sand; they set the base rates */
    size_t finds_count;
} bb_profile;

/* Do the readings of a profile's visit lie further from what it expects than repeats differ among
 * themselves: is lack_of_fit_p below 0.01? False where that is NAN. */
BB_API bool bb_profile_misses(const bb_profile *profile);

/* Times the tables' rate at which metal corrodes on this beach; not learned where the kit has no aged
 * piece. Limits of the normal on the logarithm. */
BB_API bb_ratio bb_corrosion_ratio(const bb_profile *profile);

/* Times by which the sand's answer in a zone grows in an hour; not learned where sweeps carry no times
 * half an hour apart. */
BB_API bb_ratio bb_hourly_ratio(const bb_profile *profile, size_t zone);

/* Release a profile; NULL is none. */
BB_API void bb_profile_free(bb_profile *profile);

/* A copy that shares nothing. BB_MEMORY. */
BB_API bb_status bb_profile_copy(const bb_profile *profile, bb_profile **copy);

/* Profile to JSON text (reference/profile.schema.json) and back. The text is malloc'd and
 * NUL-terminated, the caller frees it. It holds no time of day, no line of a file, and the beach's
 * name only with_place. Every number reads back to the last bit, lengths too when they were once
 * typed in the unit of their key. BB_RANGE when the reader would refuse the text: the error names
 * the field. Reading accepts at most 8 MiB and checks every field and limit: BB_INPUT with the
 * place in *error. BB_MEMORY. *text and *profile are untouched on failure. */
BB_API bb_status bb_profile_write(const bb_profile *profile, bool with_place, char **text,
                                  bb_error *error);
BB_API bb_status bb_profile_read(const char *text, size_t length, const char *path,
                                 bb_profile **profile, bb_error *error);

/* Make a profile fit to be shown to strangers: no name of the machine, the date cut to its month. */
BB_API void bb_profile_anonymise(bb_profile *profile);

/* ---------------------------------------------------------------- least squares */

/* Residuals at x (parameters long) and, where jacobian is not NULL, their derivatives, row by row
 * (residuals x parameters). Any status but BB_OK marks x as outside the model's domain; the solver
 * then takes a shorter step. */
typedef bb_status (*bb_residuals)(const double *x, double *residuals, double *jacobian,
                                  void *context);

/* How steps are made. Damped: Levenberg-Marquardt on a QR factorisation, hard to mislead and exact
 * for badly conditioned problems. Dogleg: full Gauss-Newton steps from the start on the normal
 * equations, several times as fast where priors keep the condition below some 1e5. */
typedef enum { BB_TRUST_DAMPED, BB_TRUST_DOGLEG } bb_trust;

/* The sum of squares to be made small. */
typedef struct {
    size_t residuals, parameters; /* residuals >= parameters >= 1 */
    bb_residuals evaluate;
    void *context;
    bb_trust trust;
    double tolerance;   /* of the relative step and the scaled gradient; 1e-14 to 1e-2 */
    int max_iterations; /* at least 1 */
} bb_least_squares;

/* How a solution was reached, and how well it is determined. */
typedef struct {
    int iterations;
    double sum_of_squares;
    double gradient;  /* largest |J_j . f| / (|J_j| |f|): the cosine between a column and the residuals */
    size_t rank;      /* of the Jacobian with its columns scaled to one */
    double condition; /* of the same, an estimate by its triangular factor */
} bb_least_squares_evidence;

/* Minimise half the sum of squared residuals from x (start in, optimum out) by GSL's trust region
 * (Moré 1978). covariance (may be NULL): parameters squared, (J'J)^-1 without a scale. BB_OK only when the stopping rule was met, the
 * gradient is small, the rank full and the standard errors finite; else BB_NOT_CONVERGED or
 * BB_RANK, with x at the best point and the evidence filled in. BB_RANGE, BB_MEMORY. */
BB_API bb_status bb_least_squares_solve(const bb_least_squares *problem, double *x,
                                        double *covariance, bb_least_squares_evidence *evidence);

/* ---------------------------------------------------------------- fit */

/* Learn a profile from a visit. prior (may be NULL): another profile whose estimates become the
 * prior. BB_TOO_LITTLE when no zone has a bare sweep and no target was swept in air; the message
 * says what to sweep. BB_NOT_CONVERGED or BB_RANK when the fit cannot be believed. On failure no
 * profile is returned. */
BB_API bb_status bb_fit(const bb_visit *visit, const bb_profile *prior, bb_profile **profile,
                        bb_error *error);

/* As bb_fit; but where the fit does not settle, for it cannot tell whether the salt drowned some pieces
 * or let them be heard, those sweeps are left out and it is fitted again. left_out: cell_count flags,
 * set for the cells that were. */
BB_API bb_status bb_fit_leaving_out(const bb_visit *visit, const bb_profile *prior, bool *left_out,
                                    bb_profile **profile, bb_error *error);

/* ---------------------------------------------------------------- predict */

/* The predictive distribution of the number of one target. */
typedef struct {
    size_t count;             /* of numbers: p[i] is the chance of scale_low + i * scale_step */
    double p[BB_NUMBERS_MAX];
    double mean, sd;
    int low, high;            /* where the cumulative chance reaches 0.05 and 0.95 */
    bool over_sand;           /* false in air and for bare sand: then the next two mean nothing */
    bool masked;              /* too deep to hear through the salt */
    double signal_to_ground;
} bb_prediction;

/* What a profile predicts. Holds its own copy of all it needs. */
typedef struct bb_predictor bb_predictor;
/* BB_TOO_LITTLE for a club's profile that knows no machine. */
BB_API bb_status bb_predictor_new(const bb_profile *profile, bb_predictor **predictor,
                                  bb_error *error);
BB_API void bb_predictor_free(bb_predictor *predictor);

/* target: index into the profile's targets, or BB_TARGET_SAND; or a target that was never swept,
 * through bb_predict_other. zone: index or BB_ZONE_AIR. depth_m 0 to 2 (in air the gap to the
 * coil, above 0; not used for bare sand). height_m above 0, or NAN for the visit's swing height. */
BB_API bb_status bb_predict(const bb_predictor *predictor, int target, int zone, double depth_m,
                            double height_m, bb_prediction *prediction);
BB_API bb_status bb_predict_other(const bb_predictor *predictor, const bb_target *target,
                                  double sd_log, int zone, double depth_m, double height_m,
                                  bb_prediction *prediction);

/* masked of bb_predict, without the work that its numbers take; false in air and for bare sand. */
BB_API bb_status bb_predict_masked(const bb_predictor *predictor, int target, int zone,
                                   double depth_m, double height_m, bool *masked);

/* What leads from the expected number of a piece, clean, in air to the one expected where it lies, in
 * numbers: clean_in_air + corrosion + salt + depth is the mean of bb_predict there. Each changes one
 * thing and keeps those before it; in another order the same things would take other shares. */
typedef struct {
    double clean_in_air;
    double corrosion; /* what its years in salt took off it, in air; 0 for a piece not aged */
    double salt;      /* then laid on the sand, at the same swing height; 0 in air */
    double depth;     /* then buried to the depth, where the sand counts for more; 0 in air */
} bb_shift_parts;

/* As bb_predict and bb_predict_other take a place; BB_RANGE also for bare sand. */
BB_API bb_status bb_predict_parts(const bb_predictor *predictor, int target, int zone,
                                  double depth_m, double height_m, bb_shift_parts *parts);
BB_API bb_status bb_predict_other_parts(const bb_predictor *predictor, const bb_target *target,
                                        double sd_log, int zone, double depth_m, double height_m,
                                        bb_shift_parts *parts);

/* How far a zone's sand and the depth shift a target's expected number from its number in air, and
 * the standard error of that shift (the doubt that both share falls out). target: index into the
 * profile's targets; zone: index; depth_m 0 to 2. */
BB_API bb_status bb_predict_offset(const bb_predictor *predictor, int target, int zone,
                                   double depth_m, double *offset, double *offset_se);

/* Where the middle of the numbers of bare sand should lie, nine in ten: on this sand as far as it is
 * known, by a club's profile on the next visit's. In numbers, not rounded, within the scale. */
BB_API bb_status bb_predict_sand_middle(const bb_predictor *predictor, int zone, double *low,
                                        double *high);

/* The number of a bare-sand sweep that sounds (p), and the share of bare sweeps that sound. */
BB_API bb_status bb_predict_sand(const bb_predictor *predictor, int zone, bb_prediction *prediction,
                                 double *sounding_share);

/* What would change: NAN leaves a quantity as the profile has it. */
typedef struct {
    double frequency_hz;        /* above 0; not for a machine whose own is not known, nor a pair */
    double coil_radius_m;       /* above 0 */
    double swing_height_m;      /* above 0 */
    double water_salinity;      /* 0 to 42 */
    double water_temperature_c; /* -2 to 35 */
    double saturation;          /* of every zone, 0 to 1 */
    double dry_layer_m;         /* on every zone, 0 to 2 */
    double years;               /* in salt sand, of every piece, 0 to 1000 */
} bb_what_if;

/* No change: every quantity NAN. */
BB_API bb_what_if bb_what_if_nothing(void);

/* A profile as it would be then: the ground's strength, jitter and angle move with the computed
 * physics, all that was fitted beside it is carried over. Free with bb_profile_free. BB_RANGE, with
 * the reason, for what lies outside the model. */
BB_API bb_status bb_profile_what_if(const bb_profile *profile, const bb_what_if *changes,
                                    bb_profile **changed, bb_error *error);

/* ---------------------------------------------------------------- choose bands */

/* The fewest rejected numbers under limits, over any distributions of the caller.
 * sand: zones rows of numbers, each the chance that a bare sweep sounds with that number (a row
 * may sum to less than 1); loss: losses rows, each the chance that a kept target shows it. Every
 * entry 0 to 1, every row's sum at most 1; either may be NULL when it has no rows. */
typedef struct {
    size_t numbers; /* of the scale, 1 to BB_NUMBERS_MAX */
    size_t zones, losses;
    const double *sand, *loss;
    int at_most;     /* bands, 0 to BB_BANDS_MAX */
    double quiet;    /* silence wanted of each zone, 0 to 1 */
    double max_loss; /* largest loss allowed to each row, 0 to 1 */
    double patience; /* share of the usual limit of work (under 0.1 s); 0: all of it */
} bb_band_problem;

/* A set of bands as indices of the scale (0 first), in rising order with at least one number
 * between two of them, and what it does. */
typedef struct {
    int count;
    struct {
        int low, high;
    } band[BB_BANDS_MAX];
    int numbers;          /* rejected */
    double worst_silence; /* of the zones: 1 less what still sounds; 1 without zones */
    double mean_silence;
    double worst_loss; /* 0 without rows */
    bool proved;       /* the search ended: it is the one the rule asks for */
    int fewest;        /* proved: no set within the limits has fewer numbers */
    double most_silence; /* of gold first, proved: no set within max_loss is quieter; else 1 */
    double least_loss;   /* of quiet first, proved: no set as quiet loses less; else 0 */
} bb_band_choice;

/* The fewest numbers that leave every zone at least quiet and no row of loss above max_loss (both
 * to 1e-12); of these sets those of the largest mean silence (ties to 1e-9), of these those of the
 * smallest worst loss (ties to 1e-9), of these those of the fewest bands, of these the
 * lexicographically lowest list of bands. Exact: the set that trying every one would find, save
 * that a gain in silence or loss below 1e-10 may be passed over.
 * BB_OK. BB_TOO_LITTLE: no set is within the limits; *choice untouched. BB_NOT_CONVERGED: the
 * limit of work was reached (rows without shape over a long scale); *choice holds the best set
 * met, if any was, within the limits yet not proved the fewest, with what was proved beside it;
 * untouched otherwise.
 * BB_RANGE, BB_MEMORY. */
BB_API bb_status bb_bands_choose(const bb_band_problem *problem, bb_band_choice *choice);

/* For when no set is within both limits. Gold first: among the sets within max_loss, the fewest
 * numbers whose worst silence is within 0.01 of the best there is (the empty set is always one).
 * Quiet first: among the sets that reach quiet, the fewest numbers whose worst loss is within 0.001
 * of the smallest: to the last bit of loss it would leave out a number of the sand, and reject
 * others for it. Ties and statuses as above; after BB_NOT_CONVERGED the best silence or loss may be
 * missed too. */
BB_API bb_status bb_bands_gold_first(const bb_band_problem *problem, bb_band_choice *choice);
BB_API bb_status bb_bands_quiet_first(const bb_band_problem *problem, bb_band_choice *choice);

/* The largest worst silence (to 1e-9) within max_loss by at most this many numbers (0 or more),
 * then the fewest of them: what a narrower setting would give. Statuses as above. */
BB_API bb_status bb_bands_of_numbers(const bb_band_problem *problem, int numbers,
                                     bb_band_choice *choice);

/* The trade-off shown to the user: choices[b] for each b from 0 to at_most is what bb_bands_choose
 * gives with at most b bands or, where none is within the limits, bb_bands_gold_first; their
 * numbers, worst_silence and worst_loss tell what a further band buys. choices has room for
 * at_most + 1. BB_NOT_CONVERGED when any of them is not proved. */
BB_API bb_status bb_bands_frontier(const bb_band_problem *problem, bb_band_choice *choices);

/* Score given bands (choice->count and choice->band set; the rest is filled in). BB_RANGE when
 * they are out of order, touch, or leave the scale. */
BB_API bb_status bb_bands_score(const bb_band_problem *problem, bb_band_choice *choice);

/* ---------------------------------------------------------------- counts */

/* Exact limits of a share when so many of so many trials were counted (Clopper and Pearson 1934).
 * counted 0 to trials (need not be whole), trials above 0, tail 0 to 1 exclusive: the chance left
 * beyond this limit. To 1e-9 of itself for up to ten million trials. */
#define BB_TAIL_95 0.025 /* on either side of a 95 % interval */
BB_API double bb_binomial_lower(double counted, double trials, double tail);
BB_API double bb_binomial_upper(double counted, double trials, double tail);

/* Trials of which none may count for the upper limit to fall to share (0 to 1 exclusive). */
BB_API double bb_binomial_trials(double share, double tail);

/* What numbers read on bare sand say of the next one, whatever its distribution: nothing is asked
 * but that the pumps are alike. */
typedef struct {
    double read;   /* numbers read; 0: the rest is without meaning */
    int low, high; /* their range */
    double sd;     /* with read - 1, numbers; NAN for one */
    int lone_ends; /* ends of the range that were read once */
    /* Chance that the next number lies outside the range: 2 / (read + 1) exactly where no two
     * numbers are ever alike, at most that where they may be (whole numbers). 1 for one. */
    double outside_at_most;
    /* Share of all pumps that the range holds, at least, but in one case of twenty (Wilks 1941,
     * Annals of Mathematical Statistics 12:91; held more often where numbers tie). */
    double inside_at_least;
} bb_bare_range;

/* The range of a zone's bare numbers. */
BB_API bb_bare_range bb_bare_range_of(const bb_bare *bare, const bb_machine *machine);

/* ---------------------------------------------------------------- which numbers to reject */

/* What is asked of a choice of bands. */
typedef struct {
    double quiet;       /* silence wanted of each zone, 0 to 1; the design's 0.95 */
    double max_loss;    /* largest loss of a kept target, 0 to 1; 0.05 */
    double to_depth_m;  /* losses are averaged from the surface to here, 0 to 0.5; 0.10 */
    int at_most;        /* bands, 0 to BB_BANDS_MAX; below 0: as many as the machine has */
    bool with_catalogue; /* small gold of the catalogue that the kit lacks binds too */
    const int *zones; /* indices, NULL for every zone whose bare sweeps say what to silence, or that
                       * nothing need be (all, where none do) */
    size_t zone_count;
    const bb_bands *own; /* a setting to score beside the choice, or NULL */
    double patience;     /* see bb_band_problem; 0: the usual */
} bb_reject_options;

/* 0.95 quiet, 0.05 lost to 10 cm, as many bands as the machine has, every zone. */
BB_API bb_reject_options bb_reject_defaults(void);

/* What a choice of bands is worth. */
typedef enum {
    BB_VERDICT_OK,       /* within both limits, and learned here */
    BB_VERDICT_SHORT,    /* no set of bands is within both limits */
    BB_VERDICT_UNPROVED  /* what decides the loss, or the silence, was assumed, not learned here */
} bb_verdict;

/* Why a choice is unproved, and the one sweep that would decide it. */
typedef enum {
    BB_PROOF_WHOLE,
    BB_PROOF_NO_AIR,        /* no target was swept in air */
    BB_PROOF_POOLED,        /* the profile is a club's: learned on other visits' sand */
    BB_PROOF_NO_BARE,       /* the sand of a chosen zone was never swept bare */
    BB_PROOF_NO_SMALL_GOLD, /* no kept small gold is in the kit */
    BB_PROOF_NOT_ON_SAND,   /* small gold is in the kit, but was not swept on this sand */
    BB_PROOF_DOUBTFUL,      /* learned here, but too little: see over_limit */
    BB_PROOF_READ_THOUGH_LOST /* a kept target that is not audible was read here, and in part silenced */
} bb_proof;

/* A zone that is to be quiet. */
typedef struct {
    int zone;
    double bare_sweeps;
    double sounding_share; /* of bare sweeps, with nothing rejected */
    double middle_low, middle_high; /* bb_predict_sand_middle, from a club's profile; else NAN */
    bb_bare_range read;
} bb_reject_zone;

/* A kept target in one of these zones. */
typedef struct {
    bb_target target;
    int index;              /* in the profile's targets, -1 from the catalogue */
    int zone;
    double swept;           /* sweeps of it here that taught the profile */
    double read;            /* of a target that is not audible: numbers read over it here all the same */
    int read_low, read_high; /* the lowest and the highest of them */
    bool binds;             /* its loss is held to the limit */
    bool audible;           /* false: masked at every depth, there is no loss to speak of */
    double masked_from_m;   /* shallowest depth from which it is masked on, NAN when not within 0.5 m */
} bb_reject_target;

/* What one set of bands does. silenced: one a zone; lost: one a target row, NAN when not audible; read_lost: of the
 * numbers read over one that is not audible the share that is rejected, NAN without any. */
typedef struct {
    bb_bands bands;
    int numbers;
    double *silenced, *silenced_low; /* silenced_low: with the sounding share at its 95 % limit */
    double *silenced_low_more; /* the same, had BB_BARE_ENOUGH bare sweeps been made that sound as often */
    double *lost, *read_lost;
    double worst_silence, worst_loss; /* of the chosen zones, of the rows that bind */
    /* What the search for it proved, as in bb_band_choice; true of bands that were given. */
    bool proved;
    int fewest;
    double most_silence, least_loss;
} bb_reject_score;

/* A choice of bands, with all that it was made from. */
typedef struct {
    bb_verdict verdict;
    bool undecided; /* BB_VERDICT_SHORT, but the limit of work came before the search was sure */
    bb_proof proof;
    bool bare_only; /* bare sand is all that was swept: the two-minute visit */
    bb_reject_zone *zones;
    size_t zone_count;
    bb_reject_target *targets;
    size_t target_count;
    size_t numbers;     /* of the scale */
    double *sand;       /* zone_count x numbers: chance that a bare sweep sounds with that number */
    double *loss;       /* target_count x numbers: chance that the target shows it */
    bb_reject_score chosen;      /* the answer; with BB_VERDICT_SHORT the gold-first choice */
    /* What the chosen bands may cost for all that the doubt of the fit allows, one a target row of the
     * kit, NAN elsewhere: 19 of 20 losses lie below lost_high; over_limit: chance of more than max_loss. */
    double *lost_high, *over_limit;
    size_t doubted; /* with BB_PROOF_DOUBTFUL the row of those that bind with the largest over_limit, with
                     * BB_PROOF_READ_THOUGH_LOST the row read most often */
    bb_reject_score quiet_first; /* only with BB_VERDICT_SHORT */
    bb_reject_score own;         /* only when asked for */
    /* Silence against loss, rising silence: the fewest numbers for silences in turn whatever they
     * cost, and for each count of bands from 0 to at_most what bb_bands_frontier gives. Searched with
     * a share of the patience: see each one's proved. */
    bb_reject_score *frontier;
    size_t frontier_count;
    double quiet, max_loss, to_depth_m;
    int at_most;
} bb_reject;

/* Which numbers to reject, from a profile. BB_OK with any verdict; BB_RANGE for an option out of
 * range; BB_MEMORY. */
BB_API bb_status bb_reject_new(const bb_predictor *predictor, const bb_reject_options *options,
                               bb_reject **reject, bb_error *error);
BB_API void bb_reject_free(bb_reject *reject);

/* Score any bands against the same distributions. Free with bb_reject_score_free. */
BB_API bb_status bb_reject_score_bands(const bb_reject *reject, const bb_machine *machine,
                                       const bb_bands *bands, bb_reject_score *score);
BB_API void bb_reject_score_free(bb_reject_score *score);

/* What would help where no setting is both quiet and safe. */
typedef enum {
    BB_REMEDY_BARE_SWEEPS, /* amount: bare sweeps in all, in each zone */
    BB_REMEDY_SMALL_GOLD,  /* amount: sweeps of each kept small piece of gold, in each zone */
    BB_REMEDY_HEIGHT,      /* amount: swing height, m */
    BB_REMEDY_COIL,        /* amount: coil diameter, m */
    BB_REMEDY_FREQUENCY,   /* amount: Hz */
    BB_REMEDY_ZONE         /* another zone alone; amount: its index */
} bb_remedy_kind;

/* One change, and what it would bring. */
typedef struct {
    bb_remedy_kind kind;
    double amount;
    double silence;      /* of the worst zone then, within the loss allowed; at least */
    double gain;         /* over what is reached now within it */
} bb_remedy;

enum { BB_REMEDIES_MAX = 16 };

/* The remedies that gain anything (more than 0.005), largest gain first, each computed by choosing
 * again under the changed circumstances (a quick search: on long scales more may be reached). Of
 * sweeps still to be made it is the mean over 32 drawn from what the profile expects, always the
 * same ones, each followed by a choice. Returns BB_OK also when none does. */
BB_API bb_status bb_remedies(const bb_profile *profile, const bb_reject_options *options,
                             bb_remedy remedies[BB_REMEDIES_MAX], size_t *count, bb_error *error);

/* ---------------------------------------------------------------- plan */

/* A design of experiments: which of the candidates to run, runs in all, one candidate as often as
 * it pays. Parameters have a covariance beforehand; a run of candidate c measures gradient_c . theta
 * with variance_c. With interests, the weighted sum of their variances is made small; without, the
 * determinant of the covariance (D-optimality). */
typedef struct {
    size_t parameters;
    const double *covariance; /* parameters squared, positive definite */
    size_t candidates;
    const double *gradient; /* candidates x parameters */
    const double *variance; /* candidates, above 0 */
    size_t interests;       /* 0: the determinant */
    const double *interest; /* interests x parameters */
    const double *weight;   /* interests */
    size_t runs;
    int most; /* runs of one candidate; 0: no limit, else runs is at most candidates x most */
} bb_design_problem;

/* Greedy choice, then exchanges (Fedorov 1972) until none gains: a good design, the best one in
 * small cases, without a proof that it is. times: candidates counts that sum to runs. before, after:
 * the weighted sum of variances, or the log determinant of the covariance. BB_RANGE, BB_MEMORY. */
BB_API bb_status bb_design_choose(const bb_design_problem *problem, int *times, double *before,
                                  double *after);

/* How much may be asked of a plan. */
typedef struct {
    int sweeps;       /* to plan in all, pumps and sweeps at home among them, no more; 0: as many as
                       * the minutes hold */
    double minutes;   /* on the sand, NAN for no limit; what is done at home does not count */
} bb_plan_options;

/* One stop: a target at a place, swept so often. */
typedef struct {
    int zone, target;  /* BB_ZONE_AIR first: at home */
    double depth_m, height_m;
    int sweeps;
    double minutes; /* it takes, with its share of laying and walking */
} bb_plan_stop;

/* Sweeps to make next, and what they are worth. */
typedef struct {
    bb_plan_stop *stops; /* in walking order */
    size_t stop_count;
    int sweeps;
    double minutes_home, minutes_sand;
    double doubt_before, doubt_after; /* numbers: typical sd of what will be decided */
    bool cut; /* the minutes did not hold all that was asked */
} bb_plan;

/* The next sweeps that most reduce the doubt of the numbers on which the reject choice rests. From
 * a profile of the visit, or (NULL) from the prior and whatever was swept. */
BB_API bb_status bb_plan_new(const bb_visit *visit, const bb_profile *profile,
                             const bb_plan_options *options, bb_plan **plan, bb_error *error);
BB_API void bb_plan_free(bb_plan *plan);

/* The most of so many bare sweeps (1 to 1e6) that sound in the loudest zone, but in one case of
 * twenty, while a setting does what its score says. */
BB_API int bb_reject_recheck(const bb_reject_score *score, int sweeps);

/* ---------------------------------------------------------------- what plots show */

/* The machine's number at a response angle, -90 to 90 degrees, and the standard error that the fit
 * leaves it. BB_RANGE. */
BB_API bb_status bb_machine_curve(const bb_predictor *predictor, double angle_deg, double *number,
                                  double *number_se);

/* The response angle, degrees, at which a target of the profile stands in air. BB_RANGE. */
BB_API bb_status bb_air_angle(const bb_predictor *predictor, int target, double *angle_deg);

/* How far along the scale the pieces swept with nothing rejected reach. */
typedef struct {
    size_t air_pieces;       /* how many were swept in air */
    double angles_apart_deg; /* between the response angles of the furthest two of them */
    double readings;         /* of pieces, anywhere */
    double at_low_end, at_high_end; /* of these, at the lowest and the highest number of the scale */
} bb_kit_span;

/* predictor: of a profile learned from this visit, or from one with the same kit (BB_RANGE else). */
BB_API bb_status bb_kit_span_of(const bb_predictor *predictor, const bb_visit *visit,
                                bb_kit_span *span);

/* A number read with nothing rejected, beside what is expected where it was read. */
typedef struct {
    size_t cell;         /* of the visit */
    double expected, sd; /* numbers: of the predictive distribution */
    double off;          /* reading less expected, in standard deviations */
} bb_departure;

/* All that a visit read with nothing rejected, in the order of its cells: the first capacity of
 * them are written, *count is how many there are. The visit must have the profile's zones and
 * targets. BB_RANGE. */
BB_API bb_status bb_departures(const bb_predictor *predictor, const bb_visit *visit,
                               size_t capacity, bb_departure *departures, size_t *count);

/* Into the profile what the visit read, with nothing rejected, over targets in zones where the predictor,
 * made of that profile, calls them masked on the very surface: what a setting costs there the sweeps can
 * tell and the model cannot. BB_MEMORY, BB_RANGE. */
BB_API bb_status bb_read_though_lost(const bb_predictor *predictor, const bb_visit *visit,
                                     bb_profile *profile);

/* A sweep that the model finds hard to believe. */
typedef struct {
    size_t cell;
    double expected, low, high; /* numbers: mean and central 99 % range */
} bb_suspect;

/* Sweeps outside their central 99 % range, worst first, at most capacity of them. Bare sand, whose own
 * numbers are part of its prediction, is held against the middle and the spread of its zone's others,
 * and must lie beyond 99.9 %. The visit must have the profile's zones and targets. BB_MEMORY,
 * BB_RANGE. */
BB_API bb_status bb_suspects(const bb_predictor *predictor, const bb_visit *visit, size_t capacity,
                             bb_suspect *suspects, size_t *count);

/* One place where a profile misses: what was read there in the mean, and what it expects. */
typedef struct {
    size_t cell;           /* of the visit: the first read there */
    double sweeps;
    double read, expected; /* numbers */
} bb_miss;

/* The places, of pieces swept with nothing rejected, where a profile expects a number or more off
 * what was read: the furthest off, as the lack of fit counts them, first, at most capacity of them.
 * The visit must have the profile's zones and targets. BB_MEMORY, BB_RANGE. */
BB_API bb_status bb_misses(const bb_predictor *predictor, const bb_visit *visit, size_t capacity,
                           bb_miss *misses, size_t *count);

/* ---------------------------------------------------------------- a club's visits together */

/* How the variance between visits is estimated. */
typedef enum { BB_POOL_PAULE_MANDEL, BB_POOL_DERSIMONIAN_LAIRD } bb_pool_method;

/* One quantity over visits. With one visit there is no spread between them: NAN. */
typedef struct {
    size_t count;
    double mean, se;               /* weights 1 / (variance + tau2) */
    double se_knapp_hartung;       /* never below se: the usual floor */
    double mean_low, mean_high;    /* 95 %, Student t with count - 1 degrees of freedom */
    double new_low, new_high;      /* 90 % of a new visit, over all variances the data allow */
    double tau2;                   /* variance between visits */
    double q, q_p;                 /* Cochran's Q of equal visits, and its upper tail chance */
    double typical_variance;       /* within a visit (Higgins and Thompson 2002) */
    double i2;                     /* tau2 / (tau2 + typical_variance), not the one from Q */
} bb_pooled;

/* Pool count estimates with their variances (finite, above 0), in any order: Paule and Mandel 1982
 * or DerSimonian and Laird 1986 for the variance between, Knapp and Hartung 2003 for the interval;
 * the limits of a new visit by the Q profile (Viechtbauer 2007), whatever the method. Right to 1e-9
 * relative, those limits to 1e-6. BB_RANGE, BB_MEMORY. */
BB_API bb_status bb_pool(const double *estimate, const double *variance, size_t count,
                         bb_pool_method method, bb_pooled *pooled);

/* Each one's share of the weights, and how far it moves the mean against the others alone, with the
 * variance between held: room for count each. Same ranges; shift NAN for a single one. */
BB_API void bb_pool_without(const double *estimate, const double *variance, size_t count,
                            double tau2, double *weight, double *shift);

/* One visit's part in a pooled quantity. */
typedef struct {
    size_t visit; /* which of the profiles added, 0 first */
    double estimate, sd;
    double weight; /* share of all weights */
    double shift;  /* of the mean by this visit, against the others alone (tau2 held); NAN if alone */
} bb_merge_entry;

/* What a pooled quantity is. */
typedef enum {
    BB_MERGE_SALT,   /* ln of what the machine leaves of the sand's signal, over its usual share */
    BB_MERGE_ANGLE,  /* degrees, of the sand's answer from the computed one */
    BB_MERGE_JITTER, /* ln of the jitter, over its usual share of the computed signal */
    BB_MERGE_READING, /* ln of the reading noise, numbers; of the machine, in no zone */
    BB_MERGE_WANDER, /* ln of the wander of the sand's angle, degrees; likewise */
    BB_MERGE_PARAMETER, /* of the machine's curve or of a piece, as the profile names it */
    BB_MERGE_KINDS
} bb_merge_kind;

/* One quantity that visits share, pooled, with the part of each visit. */
typedef struct {
    bb_merge_kind kind;
    char name[BB_PARAMETER_BYTES]; /* of the zone or parameter; empty for noise of the machine */
    bb_pooled pooled;
    bb_merge_entry *entries; /* pooled.count, by the visits' digests */
} bb_merge_quantity;

/* What became of a profile. */
typedef enum {
    BB_MERGE_COUNTED,
    BB_MERGE_TWICE,     /* the same sweeps were there already */
    BB_MERGE_POOLED,    /* it is a club's profile itself */
    BB_MERGE_FROM_PRIOR /* it was fitted from another profile, whose visits would count again */
} bb_merge_fate;

/* How profiles are pooled. */
typedef struct {
    bb_pool_method method;
    bool any_machine; /* pool only what is the beach's, over different machines */
} bb_merge_options;

/* Profiles being pooled. */
typedef struct bb_merge bb_merge;

/* Profiles are added one by one and not kept: memory grows by some hundred bytes each. */
BB_API bb_status bb_merge_begin(const bb_merge_options *options, bb_merge **merge,
                                bb_error *error);

/* path is only quoted in errors. BB_INPUT, naming the field, for another machine or setting or
 * for a piece that goes by a name already taken by a different one; nothing changes then. */
BB_API bb_status bb_merge_add(bb_merge *merge, const bb_profile *profile, const char *path,
                              bb_merge_fate *fate, bb_error *error);

/* The club's profile: pooled means, and a covariance that holds what differs between visits. The
 * order in which profiles were added leaves no trace. quantities (owned by merge) may be NULL.
 * BB_TOO_LITTLE when no profile was counted. */
BB_API bb_status bb_merge_end(bb_merge *merge, bb_profile **club,
                              const bb_merge_quantity **quantities, size_t *quantity_count,
                              bb_error *error);
BB_API void bb_merge_free(bb_merge *merge);

/* Whether a visit contradicts what its fit began from. */
typedef struct {
    size_t from_prior, from_today; /* quantities: sd above 0.9 of the prior's, or not */
    const bb_parameter *furthest;  /* in the profile; NULL when nothing was learned today */
    double standard_errors;        /* of it from its prior mean, by the variance that was taken off */
    double p; /* chance of one so far off among all that were learned (Bonferroni), NAN without */
} bb_prior_contest;
/* The contest of a profile that was fitted from a prior. */
BB_API bb_prior_contest bb_prior_contest_of(const bb_profile *profile);

/* ---------------------------------------------------------------- check with fresh sweeps */

/* Whether a setting keeps a zone quiet. */
typedef enum {
    BB_CHECK_TOO_FEW, /* the exact limits lie on both sides of what is wanted */
    BB_CHECK_HOLDS,   /* even the upper limit of what sounds is within 1 - quiet */
    BB_CHECK_LIKELY,  /* what sounded is within it, its upper limit is not yet */
    BB_CHECK_NOISY    /* even the lower limit of what sounds is above it */
} bb_check_verdict;

/* What bare sweeps say of one zone under a setting. */
typedef struct {
    int zone;
    double bare_sweeps, sounded;
    double sounded_low, sounded_high; /* exact 95 % limits of the share */
    double sweeps_to_prove;           /* further silent sweeps that would make it hold, 0 when it does */
    bb_check_verdict verdict;
} bb_check_zone;

/* What sweeps say of one target under a setting. */
typedef struct {
    int target;
    double swept, silenced;
    double silenced_low, silenced_high; /* exact 95 % limits of the share */
} bb_check_target;

/* What the sweeps made under one setting say of it. */
typedef struct {
    char name[BB_NAME_BYTES]; /* empty for the setting asked about */
    bool has_bands;
    bb_bands bands;
    bb_check_zone *zones;
    size_t zone_count;
    bb_check_target *targets;
    size_t target_count;
} bb_check_setting;

/* What moved, when a profile holds no longer: the one change that explains most. */
typedef enum {
    BB_CHANGE_NONE,
    BB_CHANGE_SALT,  /* the strength of the sand's answer in a zone; amount: its logarithm */
    BB_CHANGE_ANGLE, /* the angle of the sand's answer in a zone; amount: degrees */
    BB_CHANGE_CURVE, /* the machine's numbers as a whole; amount: numbers */
    BB_CHANGE_TARGET, /* one target reads otherwise; amount: numbers */
    BB_CHANGE_SPREAD /* bare sand of a zone spreads otherwise; amount: times its standard deviation */
} bb_change;

/* What fresh sweeps say of the settings, and of the profile. */
typedef struct {
    bb_check_setting *settings; /* [0] is the one asked about */
    size_t setting_count;
    bool learned_from; /* the very sweeps that the profile was learned from: they prove nothing */
    double readings;  /* fresh numbers with nothing rejected, against which the profile is tested */
    bool dialled_in;  /* sweeps said to reject nothing read as made with the bands that are checked */
    double p_value;   /* NAN when there are fewer than three, none is fresh, or dialled_in */
    bool holds;       /* p_value at least 0.01; meaningless where it is NAN */
    bb_change change; /* set when it does not */
    int change_of;    /* the zone or target it concerns, -1 for none */
    double change_amount;
} bb_check;

/* Sweeps of a visit that has the profile's machine, zones and targets (bb_visit_like) against bands.
 * A sweep sounded when it was heard, or, where that was left blank, when its number lies outside the
 * bands. The profile is tested against 999 sets of readings drawn from it (always the same ones),
 * so that the p value is uniform when nothing has changed. quiet: 0 to 1. */
BB_API bb_status bb_check_new(const bb_predictor *predictor, const bb_visit *fresh,
                              const bb_bands *bands, double quiet, bb_check **check,
                              bb_error *error);
BB_API void bb_check_free(bb_check *check);

/* An empty visit with a profile's machine, beach, zones and targets, to read sweeps into. */
BB_API bb_status bb_visit_like(const bb_profile *profile, bb_visit *visit, bb_error *error);

/* ---------------------------------------------------------------- judge a number */

enum {
    BB_CLASSES_MAX = BB_TARGETS_MAX + 16, /* groups of one kit, of the catalogue, and bare sand */
    BB_REPEATS_MAX = 32                   /* readings of one target */
};

/* What may lie under a number. */
typedef struct {
    bool only_kit;  /* leave out the ready-made targets of the catalogue */
    double depth_m; /* 0 to 2, or NAN when not known: 0 to 20 cm, all alike */
} bb_judge_options;

/* How likely, with the 5 to 95 % range that the doubt of the fit (and of base rates learned from
 * finds) gives it. */
typedef struct {
    double probability, low, high;
} bb_odds;

/* One group that may lie under a number. */
typedef struct {
    char group[BB_NAME_BYTES];
    bool keep;        /* some piece of the group must still sound */
    double base_rate; /* of what sounds in the zone, before the number was seen */
    bb_odds odds;
} bb_class;

/* What to do about a number. */
typedef enum { BB_ADVICE_DIG, BB_ADVICE_WORTH_A_DIG, BB_ADVICE_LIKELY_NOT } bb_advice;

/* "dig", "worth a dig" or "likely not". */
BB_API const char *bb_advice_text(bb_advice advice);

/* What lies under a number, as far as readings tell. */
typedef struct {
    size_t class_count;
    bb_class classes[BB_CLASSES_MAX]; /* the likeliest first; they sum to one */
    bb_odds keep;                     /* of all groups worth keeping */
    bb_odds small_gold_or_foil;       /* no number parts the two; NAN where one has no piece */
    bb_advice advice;
    bool rates_learned; /* base rates come from finds, else they are even */
    bool strange;       /* a reading that hardly anything here shows */
    bool several;       /* the readings look like more than one thing */
    bool ordnance;      /* iron is likely enough that the caution must be shown */
} bb_judgement;

/* What may lie under a number in one zone of a profile; made once, it judges many. Groups of kit and
 * catalogue and bare sand are alike beforehand (or as finds say), and within a group its pieces and
 * the depths at which they can be heard. zone: index. BB_RANGE, BB_TOO_LITTLE when the sand's number
 * is not known, BB_MEMORY. */
typedef struct bb_judge bb_judge;
BB_API bb_status bb_judge_new(const bb_profile *profile, int zone, const bb_judge_options *options,
                              bb_judge **judge, bb_error *error);
BB_API void bb_judge_free(bb_judge *judge);

/* Judge one target by count readings (1 to BB_REPEATS_MAX, numbers of the scale, BB_RANGE else).
 * Readings share the error of the fit, of the piece and of its depth, which is not averaged away.
 * iron_sound: the machine was heard to say iron as well; it multiplies the odds of iron by
 * four (judgement, no source) and never decides. "likely not" only when there are two readings or
 * more and each alone, and all together, are iron at 95 % at least at the low end of the range. */
BB_API bb_status bb_judge_readings(const bb_judge *judge, const int *readings, size_t count,
                                   bool iron_sound, bb_judgement *judgement);

/* Only how likely something worth keeping is: keep.probability of the judgement, without its range,
 * many times as fast. Same statuses. */
BB_API bb_status bb_judge_keep(const bb_judge *judge, const int *readings, size_t count,
                               double *probability);

/* ---------------------------------------------------------------- ranges of numbers */

/* A stretch of the scale, without ends where next to nothing is shown. */
typedef struct {
    int low, high;  /* numbers */
    double *chance; /* of each group, when one of these numbers is read: they sum to 1 */
} bb_number_range;

/* A scale cut into stretches. */
typedef struct {
    size_t group_count;
    char (*groups)[BB_NAME_BYTES]; /* as the judges have them, bare sand the last */
    size_t count;
    bb_number_range *ranges; /* in rising order */
    double *chances;
} bb_number_ranges;

/* Cut the scale into the fewest stretches, at most at_most (1 to the numbers of the scale), that
 * tell 0.9 of what the single numbers tell about the group (mutual information; exact, by dynamic
 * programming), from what judges of one profile, one a zone, hold for likely. BB_RANGE, BB_MEMORY. */
BB_API bb_status bb_number_ranges_new(const bb_judge *const *judges, size_t judge_count,
                                      size_t at_most, bb_number_ranges **ranges);
BB_API void bb_number_ranges_free(bb_number_ranges *ranges);

/* ---------------------------------------------------------------- what was dug */

/* One hole, or (without readings) time spent at a spot. Where it was on the earth, the hour and the
 * remark are checked while reading and then forgotten: no part of the library keeps them. */
typedef struct {
    int zone;
    int spot; /* index into the spots, -1 where none was named */
    size_t reading_count;
    int readings[BB_REPEATS_MAX];
    char found[BB_NAME_BYTES]; /* a group, "bare sand" for an empty hole; empty without readings */
    bool keep;                 /* of a group worth keeping */
    double depth_m;            /* NAN when not given */
    double minutes;            /* 0 when not given */
} bb_dig;

/* Holes as they were written down, and the spots they name. */
typedef struct {
    bb_dig *digs;
    size_t count;
    char (*spots)[BB_NAME_BYTES]; /* the user's own words, in the order they come */
    size_t spot_count;
} bb_digs;

/* Parse a csv of digs behind those already in *digs (zeroed: none): columns zone, reading, found,
 * and optionally depth_cm, where, time, minutes, lat, lon, note. Zones and numbers are the
 * profile's; found is a group, a piece of its kit or of the catalogue, or nothing. A row with
 * neither reading nor found but with minutes counts time alone. BB_INPUT with the place in *error,
 * BB_MEMORY; *digs is untouched then. */
BB_API bb_status bb_digs_read(const char *text, size_t length, const char *path,
                              const bb_profile *profile, bb_digs *digs, bb_error *error);
BB_API void bb_digs_free(bb_digs *digs);

/* For each dig, how likely the profile called something worth keeping before the hole was made:
 * by its readings and zone alone, its depth not known. Digs without readings get NAN. chance: room
 * for digs->count. Statuses of bb_judge_new. */
BB_API bb_status bb_digs_calls(const bb_profile *profile, const bb_digs *digs, double *chance,
                               bb_error *error);

enum { BB_BRIER_BINS = 10 };

/* Calls of one tenth, 0 to 10 % first, and how often there was something to keep. */
typedef struct {
    size_t calls, came;
    double called;    /* mean of the chances called, NAN in an empty bin */
    double low, high; /* exact 95 % limits of the share that came */
} bb_brier_bin;

/* How good called chances were: the Brier score and its parts. */
typedef struct {
    size_t calls, came;
    double expected, expected_sd; /* of how many come, were every chance called right */
    double score, se;   /* mean of (chance - outcome)^2, and its standard error (NAN for one call) */
    double reliability; /* 0 when what is called at p comes in a share p */
    double resolution;  /* how far the calls part what comes from what does not */
    double uncertainty; /* the score of calling the overall share each time */
    double skill;       /* 1 - score/uncertainty, NAN where all or none came */
    bb_brier_bin bins[BB_BRIER_BINS]; /* 0 to below 0.1, and so on; the last with 1 */
} bb_brier;

/* Brier (1950) score of called chances (0 to 1; NAN: no call) against what came, in Murphy's (1973)
 * three parts by ten bins: score = reliability - resolution + uncertainty, exactly, for the spread
 * within bins counts to the resolution (Stephenson, Coelho and Jolliffe 2008). BB_TOO_LITTLE
 * without a call; BB_RANGE. */
BB_API bb_status bb_brier_score(const double *chance, const bool *came, size_t count,
                                bb_brier *brier);

/* What was dug in each zone, by group, each group that was found once. *finds is malloc'd. BB_MEMORY. */
BB_API bb_status bb_digs_count(const bb_profile *profile, const bb_digs *digs, bb_finds **finds,
                               size_t *count);

/* Things worth keeping found at one spot, by the hour. */
typedef struct {
    size_t holes, kept;
    double hours;               /* 0 where no minutes were given: then there is no rate */
    double per_hour, low, high; /* with exact 95 % limits (Garwood 1936); NAN without hours */
} bb_spot_rate;

/* spot: index, or -1 for what was dug where no spot was named. */
BB_API bb_spot_rate bb_digs_rate(const bb_digs *digs, int spot);

/* ---------------------------------------------------------------- practise */

/* Something that sounds, invented from what a judge expects here. */
typedef struct {
    char group[BB_NAME_BYTES];
    char target[BB_NAME_BYTES]; /* empty for bare sand */
    bool keep;                  /* of a group worth keeping */
    double depth_m;             /* NAN for bare sand */
    size_t reading_count;
    int readings[BB_REPEATS_MAX];
} bb_round;

/* Invented rounds by a seed: the same seed gives the same rounds. Groups are met at the judge's base
 * rates, pieces, depths and readings by its distributions, so that its probabilities are right for
 * them. The judge must outlive it. */
typedef struct bb_practice bb_practice;
BB_API bb_status bb_practice_new(const bb_judge *judge, unsigned long seed, bb_practice **practice);
BB_API void bb_practice_free(bb_practice *practice);

/* The next round with so many readings, 1 to BB_REPEATS_MAX (BB_RANGE else). On failure the round is
 * not to be used. */
BB_API bb_status bb_practice_draw(bb_practice *practice, size_t readings, bb_round *round);

/* How a learner did. Zeroed to begin with. */
typedef struct {
    int dug_keep, left_keep;   /* things to keep */
    int dug_other, left_other; /* holes for nothing, and holes spared */
} bb_practice_score;

/* Add one round and what the learner did about it. */
BB_API void bb_practice_count(const bb_round *round, bool dug, bb_practice_score *score);

#ifdef __cplusplus
}
#endif
#endif
