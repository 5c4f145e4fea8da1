/* An invented profile for tests of reading and writing; its values mean nothing. */
#include "sample_profile.h"

#include "model.h"

#include <check.h>
#include <math.h>
#include <string.h>

enum { ZONES = 2, TARGETS = 3, ROOM = 32 };

static bb_zone zones[ZONES] = {
    {"wet", 1, 0.025, 2e-5, false},
    {"damp \"upper\" caf\xC3\xA9", 1.0 / 3, 0, 1e-3, true},
};

static bb_target targets[TARGETS] = {
    {.name = "ring", .shape = BB_SHAPE_RING, .material = "sterling silver",
     .conductivity_S_per_m = 5.1e7, .diameter_m = 0.0193, .thickness_m = 0.0057, .bore_m = 0.0171,
     .mass_kg = 0.00310, .core = "", .core_conductivity_S_per_m = NAN, .plating_m = NAN,
     .years = 7.5, .keep = true, .group = "gold"},
    {.name = "coin", .shape = BB_SHAPE_DISC, .material = "copper",
     .conductivity_S_per_m = 5.8001e7, .diameter_m = 0.02125, .thickness_m = 1.67 / 1000,
     .bore_m = NAN, .mass_kg = NAN, .core = "copper", .core_conductivity_S_per_m = 9.3e6,
     .plating_m = 25e-6, .years = 0, .keep = true, .group = "coin"},
    {.name = "scrap", .shape = BB_SHAPE_OTHER, .material = "", .conductivity_S_per_m = NAN,
     .diameter_m = NAN, .thickness_m = NAN, .bore_m = NAN, .mass_kg = NAN, .core = "",
     .core_conductivity_S_per_m = NAN, .plating_m = NAN, .years = 0, .keep = false, .group = ""},
};

/* Awkward to write. The slopes of the curve are all alike, so that its knots are computed without
 * an exponential and are the same everywhere. */
static const bb_parameter ends[] = {
    {.estimate = -6.5, .sd = 0.5, .prior_mean = -6, .prior_sd = 2},
    {.estimate = 98 + 1.0 / 3, .sd = 0.25, .prior_mean = 98, .prior_sd = 0.25},
};
static const bb_parameter others[] = {
    {.estimate = 0.12345678901234567, .sd = 3, .prior_mean = 1e-100, .prior_sd = 1e3},
    {.estimate = -0.0, .sd = 1e-3, .prior_mean = 5e-324, .prior_sd = 0.7},
    {.estimate = 2, .sd = 0, .prior_mean = 1, .prior_sd = 1},
};

static bb_parameter parameters[ROOM];
static double covariance[ROOM * ROOM];
static bb_bare bare[ZONES] = {
    {.swept = 25, .heard = 24, .quiet_recorded = true, .number_swept = 23,
     .counts = {[0] = 3, [2] = 12, [4] = 8},
     .last_low = -4, .last_high = 2, .before_low = -6, .before_high = 2},
    {.last_high = -1, .before_high = -1},
};
static double target_sweeps[TARGETS * (ZONES + 1)] = {5, 12, 0, 5, 10, 3, 0, 0, 1};

static bb_finds finds[] = {{"foil", {9, 0}}, {"bare sand", {0, 2}}};

static void fill_parameters(bb_profile *profile)
{
    bb_model *model = NULL;
    bb_error error = {0};
    bb_status status = bb_model_new(&profile->machine, &profile->beach, zones, ZONES, targets,
                                    TARGETS, profile->drift_hour, &model, &error);
    ck_assert_int_eq(status, BB_OK);
    ck_assert_int_le(model->layout.count, ROOM);
    profile->parameters = parameters;
    profile->parameter_count = (size_t)model->layout.count;
    profile->evidence.rank = profile->parameter_count;
    for (int i = 0; i < ROOM; i++)
        parameters[i] = (bb_parameter){.estimate = 0.25, .sd = 0.125, .prior_sd = 2};
    memcpy(parameters, ends, sizeof ends);
    memcpy(parameters + BB_CURVE_PARAMETERS, others, sizeof others);
    for (int i = 0; i < model->layout.count; i++)
        bb_model_parameter_name(model, zones, i, parameters[i].name);
    bb_model_free(model);
}

/* Correlation 2^-|i-j| is positive definite. */
static void fill_covariance(bb_profile *profile)
{
    const int count = (int)profile->parameter_count;
    profile->covariance = covariance;
    for (int i = 0; i < count; i++)
        for (int j = 0; j <= i; j++)
            covariance[i * count + j] = covariance[j * count + i] =
                parameters[i].sd * parameters[j].sd * ldexp(1, j - i);
}

bb_profile sample_profile(void)
{
    /* Static, so that the padding is zero and profiles can be compared byte for byte. */
    static bb_profile profile = {
        .machine = {.name = "shared set", .settings = "quick, gain 7", .scale_low = -6,
                    .scale_high = 98, .scale_step = 2, .frequency_kind = BB_FREQUENCY_PAIR,
                    .frequency_hz = 19100, .lower_frequency_hz = 7700,
                    .coil_radius_m = 28.6 / 100 / 2, .reject_bands = 3, .has_reject_below = true,
                    .reject_below = -2, .reject_bands_assumed = true,
                    .reject_now = {2, {{-6, 0}, {32, 36}}}},
        .beach = {.name = "invented cove", .date = "2026-05-09", .low_water_min = -1,
                  .turn_back_min = -1, .swing_height_m = 0.07, .water_salinity = 34.3,
                  .water_temperature_c = 13.1, .sand_porosity = 0.43, .susceptibility = 2e-5,
                  .black_sand_possible = true, .water_assumed = true},
        .zones = zones, .zone_count = ZONES, .targets = targets, .target_count = TARGETS,
        .noise = {{"noise.log_reading", -0.7, 0.1, -0.7, 0.7},
                  {"noise.log_wander_deg", 0.6, 0.9, 0.7, 1},
                  {{"zone.wet.log_jitter", -11.25, 0.3, -10, 2},
                   {"zone.damp.log_jitter", -12.5, 2, -12.5, 2}}},
        .bare = bare, .target_sweeps = target_sweeps, .air_sweeps = 10, .sand_sweeps = 25,
        .drift_hour = 0,
        .digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
        .evidence = {.converged = true, .rounds = 4, .iterations = 57, .gradient = 3.3e-9,
                     .condition = 812.25, .chi2 = 40.5, .restart_distance = 0.0125,
                     .pure_error_sd = 0.55, .lack_of_fit_f = 1.25, .lack_of_fit_p = 0.3,
                     .lack_of_fit_df = 4, .pure_error_df = 17},
        .finds = finds, .finds_count = 2,
    };
    fill_parameters(&profile);
    fill_covariance(&profile);
    return profile;
}
