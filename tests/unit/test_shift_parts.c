/* Corrosion, salt and depth add up to what a place does to a number, and each is its own physics. */
#include <check.h>
#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "compare.h"
#include "small_visit.h"

static const char beach[] = "[machine]\nscale_low = 0\nscale_high = 200\nfrequency_khz = 7\n"
                            "coil_diameter_cm = 28\n[beach]\nswing_height_cm = 5\nwater = sea\n"
                            "water_temperature_c = 12\n[zone wet]\n[zone damp]\n";
static const char kit[] = "target,shape,material,diameter_mm,years,group\n"
                          "bead,sphere,gold 9ct,8,0,gold\n"
                          "ball,sphere,brass,9,40,coin\n"
                          "bolt,other,iron,,40,iron\n";
static const char sweeps[] = "zone,target,depth_cm,reading\n"
                             "air,bead,10,95 95 94\nair,ball,10,120 121 120\nair,bolt,5,10 11 10\n"
                             "wet,sand,,57 58 57 56 58 57 57 56\nwet,bead,0,93 94\nwet,ball,5,118\n";
enum { BEAD, BALL, BOLT, TARGETS };
static const double pi = 3.14159265358979323846, coil_m = 0.14, height_m = 0.05, hertz = 7e3;

static bb_parameter *named(bb_profile *profile, const char *name)
{
    for (size_t i = 0; i < profile->parameter_count; i++)
        if (strcmp(profile->parameters[i].name, name) == 0)
            return &profile->parameters[i];
    ck_abort_msg("no parameter %s", name);
    return NULL;
}

/* Parameters as if known, a reading noise of one number, sand that neither jitters nor wanders: the
 * mean of a number is then the curve's at the angle, but for 3e-9 that rounding leaves. */
static bb_profile *still_profile(void)
{
    bb_profile *profile = profile_of(beach, kit, sweeps);
    for (size_t i = 0; i < profile->parameter_count * profile->parameter_count; i++)
        profile->covariance[i] *= 1e-14;
    profile->noise.reading.estimate = 0;
    profile->noise.wander.estimate = -40;
    for (size_t z = 0; z < profile->zone_count; z++)
        profile->noise.jitter[z].estimate = -60;
    named(profile, "corrosion.log")->estimate = 0.3;
    named(profile, "target.ball.log_time")->estimate = 0.1;
    named(profile, "target.ball.log_strength")->estimate = -0.2;
    return profile;
}

static bb_predictor *predictor_of(const bb_profile *profile)
{
    bb_predictor *predictor = NULL;
    bb_error error = {0};
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
    return predictor;
}

static bb_shift_parts parts_of(const bb_predictor *predictor, int target, int zone, double depth_m)
{
    bb_shift_parts parts;
    ck_assert_int_eq(bb_predict_parts(predictor, target, zone, depth_m, NAN, &parts), BB_OK);
    return parts;
}

static double mean_of(const bb_predictor *predictor, int target, int zone, double depth_m)
{
    static bb_prediction at;
    ck_assert_int_eq(bb_predict(predictor, target, zone, depth_m, NAN, &at), BB_OK);
    return at.mean;
}

START_TEST(the_parts_add_up_to_the_number_expected)
{
    static bb_prediction at;
    bb_profile *profile = profile_of(beach, kit, sweeps);
    bb_predictor *predictor = predictor_of(profile);
    for (int k = 0; k < TARGETS; k++)
        for (int z = BB_ZONE_AIR; z < (int)profile->zone_count; z++)
            for (double depth = 0.01; depth < 0.4; depth += 0.09) {
                const bb_shift_parts is = parts_of(predictor, k, z, depth);
                bb_shift_parts other;
                check_close("parts of a shift, added up, numbers", "mean predicted less clean",
                            mean_of(predictor, k, z, depth) - is.clean_in_air,
                            is.corrosion + is.salt + is.depth, absolute(1e-10));
                ck_assert(z >= 0 || (is.salt == 0 && is.depth == 0));
                ck_assert(k == BALL || is.corrosion == 0);
                ck_assert_int_eq(bb_predict_other_parts(predictor, &profile->targets[k], NAN, z,
                                                        depth, NAN, &other), BB_OK);
                ck_assert_int_eq(bb_predict_other(predictor, &profile->targets[k], NAN, z, depth,
                                                  NAN, &at), BB_OK);
                check_close("parts of a shift, added up, numbers", "mean predicted less clean",
                            at.mean - other.clean_in_air,
                            other.corrosion + other.salt + other.depth, absolute(1e-10));
            }
    check_close("a piece on the sand: pull by depth, numbers", "none to add", 0,
                parts_of(predictor, BEAD, 0, 0).depth, absolute(0));
    bb_shift_parts none;
    ck_assert_int_eq(bb_predict_parts(predictor, BB_TARGET_SAND, 0, 0.1, NAN, &none), BB_RANGE);
    ck_assert_int_eq(bb_predict_parts(predictor, BEAD, BB_ZONE_AIR, 0, NAN, &none), BB_RANGE);
    ck_assert_int_eq(bb_predict_parts(predictor, TARGETS, 0, 0.1, NAN, &none), BB_RANGE);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

START_TEST(where_the_salt_vanishes_so_does_its_pull)
{
    bb_profile *profile = still_profile();
    named(profile, "salt.log_level")->estimate = -60;
    bb_predictor *predictor = predictor_of(profile);
    for (int k = 0; k < TARGETS; k++) {
        const bb_shift_parts is = parts_of(predictor, k, 0, 0.15);
        check_close("pull of vanishing salt, numbers", "nothing pulls", 0, is.salt, absolute(1e-9));
        check_close("pull by depth in it, numbers", "nothing pulls", 0, is.depth, absolute(1e-9));
    }
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

static double entry(const char *path, const char *material, const char *column)
{
    reference *table = reference_open(path);
    double value = NAN;
    for (size_t i = 0; i < reference_rows(table); i++)
        if (strcmp(reference_text(table, i, "material"), material) == 0)
            value = reference_number(table, i, column);
    reference_close(table);
    return value;
}

/* Wait 1951, Geophysics 16:666: 2 pi R^3 (1 - 3 (k coth k - 1) / k^2), k^2 = j omega mu0 sigma R^2. */
static double complex wait_sphere(double radius_m, double omega, double sigma)
{
    const double complex k = csqrt(I * omega * 4e-7 * pi * sigma) * radius_m;
    return 2 * pi * pow(radius_m, 3) * (1 - 3 * (k / ctanh(k) - 1) / (k * k));
}

/* The ball of the kit, with its metal lost or not. */
static double complex ball(bb_profile *profile, bool worn)
{
    const double sigma = entry("reference/materials.csv", "brass", "conductivity_MS_per_m") * 1e6 /
                         (1 + entry("reference/materials.csv", "brass", "temperature_per_K") *
                                  (profile->beach.water_temperature_c - 20));
    const double lost_m = 1e-6 * 40 *
                          entry("reference/corrosion_rates.csv", "brass", "um_per_year") *
                          exp(named(profile, "corrosion.log")->estimate);
    const double omega = 2 * pi * hertz * exp(named(profile, "target.ball.log_time")->estimate);
    return wait_sphere(0.0045 - (worn ? lost_m : 0), omega, sigma);
}

static double curve_at(const bb_predictor *predictor, double complex response)
{
    double number, se;
    const double angle = atan2(creal(response), cimag(response)) * 180 / pi;
    ck_assert_int_eq(bb_machine_curve(predictor, angle, &number, &se), BB_OK);
    return number;
}

START_TEST(corrosion_is_the_turn_between_two_spheres)
{
    bb_profile *profile = still_profile();
    bb_predictor *predictor = predictor_of(profile);
    const double clean = curve_at(predictor, ball(profile, false)),
                 worn = curve_at(predictor, ball(profile, true));
    ck_assert(clean - worn > 5 && worn > 8 && clean < 192); /* far from the ends of the scale */
    for (int zone = BB_ZONE_AIR; zone < 2; zone++) {
        const bb_shift_parts is = parts_of(predictor, BALL, zone, 0.1);
        check_close("clean in air, number", "Wait 1951's sphere through the curve", clean,
                    is.clean_in_air, absolute(1e-6));
        check_close("pull by corrosion, numbers", "two of Wait 1951's spheres", worn - clean,
                    is.corrosion, absolute(1e-6));
    }
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

/* What the coil takes from the ball in the wet zone: (H/I)^2 / a of a loop on its axis, and the share of
 * the sand's own response that the machine leaves. */
static double complex over_sand(bb_profile *profile, double depth_m)
{
    const double gap = height_m + depth_m;
    const double field = coil_m * coil_m / (2 * pow(coil_m * coil_m + gap * gap, 1.5));
    const double angle = named(profile, "zone.wet.angle_deg")->estimate * pi / 180;
    bb_ground ground = {0};
    bb_complex sand;
    double water;
    ck_assert_int_eq(bb_water_conductivity(profile->beach.water_salinity,
                                           profile->beach.water_temperature_c, &water, NULL),
                     BB_OK);
    ck_assert_int_eq(bb_sand_conductivity(water, profile->beach.sand_porosity,
                                          profile->zones[0].saturation, &ground.sigma_S_per_m),
                     BB_OK);
    ground.layer_m = profile->zones[0].dry_layer_m;
    ck_assert_int_eq(bb_ground_response(&ground, 2 * pi * hertz, coil_m, height_m, &sand), BB_OK);
    const double left = 0.002 * bb_response_strength(sand) *
                        exp(named(profile, "salt.log_level")->estimate +
                            named(profile, "zone.wet.log_salt")->estimate);
    return exp(named(profile, "target.ball.log_strength")->estimate) * ball(profile, true) * field *
               field / coil_m +
           left * (sin(angle) + I * cos(angle));
}

START_TEST(salt_and_depth_are_the_turns_of_the_sum_with_the_sand)
{
    bb_profile *profile = still_profile();
    bb_predictor *predictor = predictor_of(profile);
    const double air = curve_at(predictor, ball(profile, true)),
                 surface = curve_at(predictor, over_sand(profile, 0));
    for (double depth = 0.02; depth < 0.15; depth += 0.04) {
        const bb_shift_parts is = parts_of(predictor, BALL, 0, depth);
        check_close("pull by salt, numbers", "the model's sum, written out", surface - air, is.salt,
                    absolute(1e-6));
        check_close("pull by depth, numbers", "the model's sum, written out",
                    curve_at(predictor, over_sand(profile, depth)) - surface, is.depth,
                    absolute(1e-6));
        ck_assert(is.salt < -0.01 && is.depth < -0.01);
    }
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

Suite *suite_shift_parts(void);
Suite *suite_shift_parts(void)
{
    Suite *suite = suite_create("shift_parts");
    TCase *tests = tcase_create("parts");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, the_parts_add_up_to_the_number_expected);
    tcase_add_test(tests, where_the_salt_vanishes_so_does_its_pull);
    tcase_add_test(tests, corrosion_is_the_turn_between_two_spheres);
    tcase_add_test(tests, salt_and_depth_are_the_turns_of_the_sum_with_the_sand);
    suite_add_tcase(suite, tests);
    return suite;
}
