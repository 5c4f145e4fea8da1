/* Visits that nobody would hope for: what a searcher could type, drawn to mislead the fit. */
#ifndef ADVERSARY_H
#define ADVERSARY_H

#include <stdbool.h>
#include <stdio.h>

#include <gsl/gsl_rng.h>

#include "brineband.h"

enum { SCENE_TARGETS = 64, SCENE_ZONES = BB_ZONES_MAX, SCENE_ROWS = 4096 };

typedef struct {
    const char *shape, *group;
    const char *material; /* NULL: the conductivity alone */
    double conductivity_MS_per_m, diameter_mm, years; /* NAN where not given */
    double log_time, log_strength; /* how far the piece itself is from what is written */
} scene_target;

typedef struct {
    double saturation, dry_layer_cm;
    double residual, jitter, angle_deg; /* of the truth, the first two as shares of the ground */
} scene_zone;

/* One row of sweeps.csv. */
typedef struct {
    int zone, target; /* index, or BB_ZONE_AIR and BB_TARGET_SAND */
    double depth_cm;
    double height_cm, hour; /* NAN where not given */
    int times, reading;
} scene_row;

/* A visit as it is written down, and the truth that its readings begin from. */
typedef struct {
    int low, high, step;
    double khz[2];
    int frequencies; /* 0 for not known, 1, or 2 for a pair */
    double coil_cm, swing_cm, salinity, temperature_c, porosity, susceptibility; /* NAN: not given */
    bool black_sand;
    scene_target target[SCENE_TARGETS];
    size_t target_count;
    scene_zone zone[SCENE_ZONES];
    size_t zone_count;
    double bend, noise; /* the machine's curve is a power of the angle; numbers */
    scene_row row[SCENE_ROWS];
    size_t row_count;
} scene;

/* An ordinary visit: 3 to 8 spheres in air and at some depths in one or two zones, bare sand. */
void scene_plain(scene *drawn, gsl_rng *random);

/* Sweep a target (or bare sand) once for each row wanted; readings by the scene's truth. */
void scene_sweep(scene *drawn, int zone, int target, double depth_cm, double height_cm, int rows,
                 gsl_rng *random);
/* The bench, bare sand in each zone, and each target at three depths, as the plain scene does. */
void scene_sweep_all(scene *drawn, gsl_rng *random);

/* A way to spoil a scene. */
typedef struct {
    const char *name;
    void (*spoil)(scene *drawn, gsl_rng *random);
} adversary;
extern const adversary adversaries[];
extern const size_t adversary_count;

/* One visit of a family, the same for the same seed. */
void scene_draw(scene *drawn, size_t family, unsigned long seed);

/* One of its typed files; drawn is a scene. */
void scene_print(const void *drawn, size_t file, FILE *out);
/* Printed and read back by the library, as any visit is. */
bb_status scene_read(const scene *drawn, bb_visit *visit, bb_error *error);

#endif
