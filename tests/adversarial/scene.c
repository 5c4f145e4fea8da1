/* A visit before it is spoilt: a few spheres over salt sand. */
#include "adversary.h"

#include <complex.h>
#include <math.h>

#include <gsl/gsl_randist.h>

static double between(gsl_rng *random, double low, double high)
{
    return low + (high - low) * gsl_rng_uniform(random);
}

static double log_between(gsl_rng *random, double low, double high)
{
    return exp(between(random, log(low), log(high)));
}

/* ---------------------------------------------------------------- what a sweep shows */

static double omega_of(const scene *s)
{
    return bb_angular_frequency(1000 * s->khz[s->frequencies == 2]);
}

static double complex alpha_of(const scene *s, const scene_target *target)
{
    const double omega = omega_of(s) * exp(target->log_time);
    bb_complex alpha = {0}, slope;
    const bb_body body = {.shape = BB_SHAPE_SPHERE,
                          .radius_m = 0.0005 * target->diameter_mm,
                          .conductivity_S_per_m = 1e6 * target->conductivity_MS_per_m,
                          .permeability = 1};
    if (isnan(target->diameter_mm) || isnan(target->conductivity_MS_per_m) ||
        bb_body_polarizability(&body, omega, &alpha, &slope) != BB_OK)
        return exp(target->log_strength) * 1e-6 * I / (1 + I * exp(-target->log_time));
    return exp(target->log_strength) * (alpha.re + I * alpha.im);
}

static double complex ground_of(const scene *s, const scene_zone *zone, double height_m)
{
    double water = 0, sand = 0;
    bb_complex response = {0};
    (void)bb_water_conductivity(s->salinity, s->temperature_c, &water, NULL);
    (void)bb_sand_conductivity(water, s->porosity, zone->saturation, &sand);
    const bb_ground ground = {.sigma_S_per_m = sand,
                              .susceptibility = isnan(s->susceptibility) ? 0 : s->susceptibility,
                              .layer_m = 0.01 * zone->dry_layer_cm};
    (void)bb_ground_response(&ground, omega_of(s), 0.005 * s->coil_cm, height_m, &response);
    const double strength = hypot(response.re, response.im), angle = zone->angle_deg * 0.0174532925;
    return strength * (sin(angle) + I * cos(angle));
}

static double complex target_of(const scene *s, const scene_row *row)
{
    const double a = 0.005 * s->coil_cm, height = isnan(row->height_cm) ? s->swing_cm : row->height_cm;
    const double gap = 0.01 * (row->depth_cm + (row->zone == BB_ZONE_AIR ? 0 : height));
    return alpha_of(s, &s->target[row->target]) * a * a * a / (4 * pow(a * a + gap * gap, 3));
}

static int to_scale(const scene *s, double number)
{
    const double steps = round((number - s->low) / s->step), most = (s->high - s->low) / s->step;
    return s->low + s->step * (int)fmin(fmax(steps, 0), most);
}

static int reading_of(const scene *s, const scene_row *row, gsl_rng *random)
{
    double complex total = 0;
    if (row->zone != BB_ZONE_AIR) {
        const scene_zone *zone = &s->zone[row->zone];
        const double height = isnan(row->height_cm) ? s->swing_cm : row->height_cm;
        total += ground_of(s, zone, 0.01 * height) *
                 (zone->residual + zone->jitter * gsl_ran_gaussian(random, 1));
    }
    if (row->target != BB_TARGET_SAND)
        total += target_of(s, row);
    const double angle = cimag(total) == 0 ? copysign(90, creal(total))
                                           : atan(creal(total) / cimag(total)) * 57.29577951308232;
    const double share = pow((angle + 90) / 180, s->bend);
    return to_scale(s, s->low + (s->high - s->low) * share + gsl_ran_gaussian(random, s->noise));
}

void scene_sweep(scene *s, int zone, int target, double depth_cm, double height_cm, int rows,
                 gsl_rng *random)
{
    for (int i = 0; i < rows && s->row_count < SCENE_ROWS; i++) {
        scene_row row = {.zone = zone,
                         .target = target,
                         .depth_cm = target == BB_TARGET_SAND ? NAN : depth_cm,
                         .height_cm = zone == BB_ZONE_AIR ? NAN : height_cm,
                         .hour = NAN,
                         .times = 1};
        row.reading = reading_of(s, &row, random);
        s->row[s->row_count++] = row;
    }
}

/* ---------------------------------------------------------------- an ordinary visit */

static const char *const groups[] = {"small gold", "gold", "coin", "foil", "junk"};
enum { GROUPS = sizeof groups / sizeof *groups };

void scene_sweep_all(scene *s, gsl_rng *random)
{
    s->row_count = 0;
    for (int k = 0; k < (int)s->target_count; k++)
        scene_sweep(s, BB_ZONE_AIR, k, 10, NAN, 2, random);
    for (int z = 0; z < (int)s->zone_count; z++) {
        scene_sweep(s, z, BB_TARGET_SAND, 0, NAN, 12, random);
        for (int k = 0; k < (int)s->target_count; k++)
            for (int depth = 0; depth < 3; depth++)
                scene_sweep(s, z, k, 5 * depth, NAN, 2, random);
    }
}

void scene_plain(scene *s, gsl_rng *random)
{
    static const int highs[] = {40, 80, 99, 300};
    *s = (scene){.low = gsl_rng_uniform(random) < 0.2 ? -10 : 0,
                 .high = highs[gsl_rng_uniform_int(random, 4)],
                 .step = 1,
                 .khz = {between(random, 4, 20), 0},
                 .frequencies = 1,
                 .coil_cm = between(random, 15, 35),
                 .swing_cm = between(random, 2, 10),
                 .salinity = 35,
                 .temperature_c = 12,
                 .porosity = 0.4,
                 .susceptibility = NAN,
                 .target_count = 3 + gsl_rng_uniform_int(random, 6),
                 .zone_count = 1 + gsl_rng_uniform_int(random, 2),
                 .bend = between(random, 0.6, 1.8)};
    s->noise = 0.005 * (s->high - s->low);
    for (size_t k = 0; k < SCENE_TARGETS; k++)
        s->target[k] = (scene_target){.shape = "sphere",
                                      .group = groups[gsl_rng_uniform_int(random, GROUPS)],
                                      .conductivity_MS_per_m = log_between(random, 2, 58),
                                      .diameter_mm = log_between(random, 4, 25),
                                      .years = 0,
                                      .log_time = gsl_ran_gaussian(random, 0.2),
                                      .log_strength = gsl_ran_gaussian(random, 0.3)};
    for (size_t z = 0; z < SCENE_ZONES; z++) {
        const double residual = 0.002 * exp(gsl_ran_gaussian(random, 1));
        s->zone[z] = (scene_zone){.saturation = z == 0 ? 1 : between(random, 0.3, 1),
                                  .residual = residual,
                                  .jitter = residual * between(random, 0.05, 1),
                                  .angle_deg = gsl_ran_gaussian(random, 5) + 2};
    }
    scene_sweep_all(s, random);
}

void scene_draw(scene *drawn, size_t family, unsigned long seed)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_taus2);
    gsl_rng_set(random, seed * 1000003 + family * 7919 + 1);
    scene_plain(drawn, random);
    adversaries[family].spoil(drawn, random);
    gsl_rng_free(random);
}
