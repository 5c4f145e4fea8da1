/* What each part of a profile consists of. */
#include "profile_fields.h"

#include "target.h"

#define LARGE 1e300 /* accepted of a figure without a bound of its own */

#define FIELD(key, kind, presence, member, low, high, quantity, names)                             \
    {key, kind, presence, offsetof(PART, member), low, high, quantity, names}
#define NUMBER(key, member, low, high)                                                             \
    FIELD(key, BB_FIELD_NUMBER, BB_REQUIRED, member, low, high, NONE, NULL)
#define NUMBER_OR_NULL(key, member, low, high)                                                     \
    FIELD(key, BB_FIELD_NUMBER, BB_NULLABLE, member, low, high, NONE, NULL)
#define QUANTITY(key, member, quantity)                                                            \
    FIELD(key, BB_FIELD_QUANTITY, BB_REQUIRED, member, 0, 0, BB_QUANTITY_##quantity, NULL)
#define QUANTITY_OR_NULL(key, member, quantity)                                                    \
    FIELD(key, BB_FIELD_QUANTITY, BB_NULLABLE, member, 0, 0, BB_QUANTITY_##quantity, NULL)
#define WHOLE(key, member, low, high)                                                              \
    FIELD(key, BB_FIELD_WHOLE, BB_REQUIRED, member, low, high, NONE, NULL)
#define COUNT(key, member, high)                                                                   \
    FIELD(key, BB_FIELD_COUNT, BB_REQUIRED, member, 0, high, NONE, NULL)
#define FLAG(key, member)                                                                          \
    FIELD(key, BB_FIELD_FLAG, BB_REQUIRED, member, 0, 1, NONE, NULL)
#define CHOICE(key, member, names)                                                                 \
    FIELD(key, BB_FIELD_CHOICE, BB_REQUIRED, member, 0, 0, NONE, names)
#define TEXT(key, presence, member)                                                                \
    FIELD(key, BB_FIELD_WORDS, presence, member, 1, sizeof(((PART *)0)->member) - 1, NONE, NULL)
#define OTHER(key) {key, BB_FIELD_OTHER, BB_REQUIRED, 0, 0, 0, NONE, NULL}
#define OTHER_OR_NONE(key) {key, BB_FIELD_OTHER, BB_OPTIONAL, 0, 0, 0, NONE, NULL}
#define NONE ((bb_quantity)0)
#define TABLE(fields) {fields, sizeof(fields) / sizeof *(fields)}

static const char *const frequency_kinds[] = {"one", "pair", "unknown", NULL};
static const char *const shapes[] = {bb_shape_words[BB_SHAPE_DISC], bb_shape_words[BB_SHAPE_RING],
                                     bb_shape_words[BB_SHAPE_SPHERE],
                                     bb_shape_words[BB_SHAPE_OTHER], NULL};

#define PART bb_profile_head
static const bb_field whole[] = {
    TEXT("format", BB_REQUIRED, format),
    WHOLE("version", version, 1, BB_PROFILE_VERSION),
    TEXT("program", BB_REQUIRED, program),
    OTHER("machine"),
    OTHER("beach"),
    OTHER("zones"),
    OTHER("scale_knots"),
    OTHER("targets"),
    OTHER("parameters"),
    OTHER("covariance"),
    OTHER("noise"),
    OTHER("sand"),
    OTHER("data"),
    OTHER("diagnostics"),
    OTHER_OR_NONE("finds"), /* only where digs were counted */
};
const bb_fields bb_profile_fields = TABLE(whole);
#undef PART

#define PART bb_machine
static const bb_field machine[] = {
    TEXT("name", BB_NULLABLE, name),
    TEXT("settings", BB_NULLABLE, settings),
    WHOLE("scale_low", scale_low, -1000000, 1000000),
    WHOLE("scale_high", scale_high, -1000000, 1000000),
    WHOLE("scale_step", scale_step, 1, 1000000),
    CHOICE("frequency_kind", frequency_kind, frequency_kinds),
    QUANTITY("frequency_khz", frequency_hz, FREQUENCY),
    QUANTITY_OR_NULL("lower_frequency_khz", lower_frequency_hz, FREQUENCY),
    FLAG("frequency_assumed", frequency_assumed),
    QUANTITY("coil_diameter_cm", coil_radius_m, COIL_DIAMETER),
    FLAG("coil_assumed", coil_assumed),
    WHOLE("reject_bands", reject_bands, 1, BB_BANDS_MAX),
    FLAG("reject_bands_assumed", reject_bands_assumed),
    OTHER("reject_now"),
    OTHER("reject_below"),
};
const bb_fields bb_machine_fields = TABLE(machine);
#undef PART

/* Its times of day are never written. */
#define PART bb_beach
static const bb_field beach[] = {
    TEXT("name", BB_OPTIONAL, name),
    TEXT("date", BB_NULLABLE, date),
    QUANTITY("swing_height_cm", swing_height_m, HEIGHT),
    FLAG("swing_height_assumed", swing_height_assumed),
    QUANTITY("water_salinity", water_salinity, SALINITY),
    QUANTITY("water_temperature_c", water_temperature_c, TEMPERATURE),
    FLAG("water_assumed", water_assumed),
    QUANTITY("sand_porosity", sand_porosity, POROSITY),
    FLAG("porosity_assumed", porosity_assumed),
    QUANTITY("susceptibility_si", susceptibility, SUSCEPTIBILITY),
    FLAG("black_sand_possible", black_sand_possible),
};
const bb_fields bb_beach_fields = TABLE(beach);
#undef PART

#define PART bb_zone
static const bb_field zone[] = {
    TEXT("name", BB_REQUIRED, name),
    QUANTITY("saturation", saturation, SATURATION),
    QUANTITY("dry_layer_cm", dry_layer_m, DRY_LAYER),
    QUANTITY("susceptibility_si", susceptibility, SUSCEPTIBILITY),
    FLAG("wetness_assumed", wetness_assumed),
};
const bb_fields bb_zone_fields = TABLE(zone);
#undef PART

#define PART bb_knot
static const bb_field knot[] = {
    NUMBER("angle_deg", angle_deg, -90, 90),
    NUMBER("number", number, -1e7, 1e7),
};
const bb_fields bb_knot_fields = TABLE(knot);
#undef PART

#define PART bb_target
static const bb_field target[] = {
    TEXT("name", BB_REQUIRED, name),
    CHOICE("shape", shape, shapes),
    TEXT("material", BB_NULLABLE, material),
    QUANTITY_OR_NULL("conductivity_MS_per_m", conductivity_S_per_m, CONDUCTIVITY),
    QUANTITY_OR_NULL("diameter_mm", diameter_m, DIAMETER),
    QUANTITY_OR_NULL("thickness_mm", thickness_m, THICKNESS),
    QUANTITY_OR_NULL("bore_mm", bore_m, BORE),
    QUANTITY_OR_NULL("mass_g", mass_kg, MASS),
    TEXT("core", BB_NULLABLE, core),
    QUANTITY_OR_NULL("core_conductivity_MS_per_m", core_conductivity_S_per_m, CONDUCTIVITY),
    QUANTITY_OR_NULL("plating_um", plating_m, PLATING),
    QUANTITY("years", years, YEARS),
    FLAG("keep", keep),
    TEXT("group", BB_NULLABLE, group),
};
const bb_fields bb_target_fields = TABLE(target);
#undef PART

#define PART bb_parameter
#define PARAMETER(largest)                                                                         \
    TEXT("name", BB_REQUIRED, name),                                                               \
    NUMBER("estimate", estimate, -(largest), largest),                                             \
    NUMBER("sd", sd, 0, largest),                                                                  \
    NUMBER("prior_mean", prior_mean, -(largest), largest),                                         \
    NUMBER("prior_sd", prior_sd, 1e-9, largest),                                                   \
    OTHER("learned")
static const bb_field parameter[] = {PARAMETER(1e7)};
const bb_fields bb_parameter_fields = TABLE(parameter);
static const bb_field logarithm[] = {PARAMETER(50)};
const bb_fields bb_logarithm_fields = TABLE(logarithm);
#undef PART

static const bb_field noise[] = {
    OTHER("ln_reading_numbers"),
    OTHER("ln_wander_deg"),
    OTHER("ln_jitter"), /* of a response, one a zone */
};
const bb_fields bb_noise_fields = TABLE(noise);

#define PART bb_bare
static const bb_field bare[] = {
    NUMBER("swept", swept, 0, BB_SWEEPS_MAX),
    NUMBER("heard", heard, 0, BB_SWEEPS_MAX),
    FLAG("quiet_recorded", quiet_recorded),
    NUMBER("number_swept", number_swept, 0, BB_SWEEPS_MAX),
    OTHER("numbers"),
    OTHER("last_range"),
    OTHER("before_range"),
};
const bb_fields bb_bare_fields = TABLE(bare);
#undef PART

#define PART bb_profile
static const bb_field data[] = {
    NUMBER("air_sweeps", air_sweeps, 0, BB_SWEEPS_MAX),
    NUMBER("sand_sweeps", sand_sweeps, 0, BB_SWEEPS_MAX),
    OTHER_OR_NONE("air_before"),
    OTHER_OR_NONE("left_out"),
    OTHER_OR_NONE("hard_to_believe"),
    OTHER_OR_NONE("read_though_lost"),
    TEXT("digest", BB_NULLABLE, digest),
    OTHER("salt_drifts"),
    OTHER_OR_NONE("pooled_visits"), /* of a club's profile alone */
    OTHER_OR_NONE("any_machine"),
    OTHER("target_sweeps"),
};
const bb_fields bb_data_fields = TABLE(data);
#undef PART

#define PART bb_evidence
static const bb_field evidence[] = {
    FLAG("converged", converged),
    WHOLE("rounds", rounds, 0, 1000000),
    WHOLE("iterations", iterations, 0, 1000000000),
    NUMBER_OR_NULL("gradient", gradient, 0, LARGE),
    COUNT("rank", rank, BB_PROFILE_PARAMETERS_MAX),
    NUMBER_OR_NULL("condition", condition, 0, LARGE),
    NUMBER_OR_NULL("chi2", chi2, 0, LARGE),
    NUMBER_OR_NULL("restart_distance", restart_distance, 0, LARGE),
    NUMBER_OR_NULL("pure_error_sd", pure_error_sd, 0, LARGE),
    NUMBER_OR_NULL("lack_of_fit_f", lack_of_fit_f, 0, LARGE),
    NUMBER_OR_NULL("lack_of_fit_p", lack_of_fit_p, 0, 1),
    NUMBER_OR_NULL("lack_of_fit_df", lack_of_fit_df, 0, BB_SWEEPS_MAX),
    NUMBER_OR_NULL("pure_error_df", pure_error_df, 0, BB_SWEEPS_MAX),
};
const bb_fields bb_evidence_fields = TABLE(evidence);
#undef PART

#define PART bb_finds
static const bb_field finds[] = {
    TEXT("group", BB_REQUIRED, group),
    OTHER("dug"), /* one a zone */
};
const bb_fields bb_finds_fields = TABLE(finds);
#undef PART

void bb_profile_knots(const bb_profile *profile, bb_knot knots[BB_CURVE_KNOTS])
{
    double parameters[BB_CURVE_PARAMETERS] = {0};
    for (size_t i = 0; i < BB_CURVE_PARAMETERS && i < profile->parameter_count; i++)
        parameters[i] = profile->parameters[i].estimate;
    bb_curve curve;
    bb_curve_set(&curve, parameters);
    for (int i = 0; i < BB_CURVE_KNOTS; i++)
        knots[i] = (bb_knot){bb_curve_angle_deg[i], curve.value[i]};
}
