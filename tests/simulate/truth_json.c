/* The truth of a simulated visit as JSON, with what a great many sweeps would show. */
#include "simulate.h"

#include <math.h>

enum { DRAWS = 20000, STEP_DEG = 5 };

static void print_number(const char *key, double number, const char *after, FILE *out)
{
    if (isnan(number))
        (void)fprintf(out, "\"%s\": null%s", key, after);
    else
        (void)fprintf(out, "\"%s\": %.10g%s", key, number, after);
}

static void print_zones(const truth *t, FILE *out)
{
    (void)fprintf(out, "  \"zones\": [");
    for (size_t z = 0; z < t->zone_count; z++) {
        const truth_zone *zone = &t->zone[z];
        (void)fprintf(out, "%s\n    {\"zone\": \"%s\", ", z == 0 ? "" : ",", zone->told.name);
        print_number("residual", zone->residual, ", ", out);
        print_number("jitter", zone->jitter, ", ", out);
        print_number("angle_deg", zone->angle_deg, ", ", out);
        print_number("drift_per_hour", zone->drift_per_hour, ", ", out);
        print_number("sounding", zone->sounding, "}", out);
    }
    (void)fprintf(out, "\n  ],\n");
}

static void print_targets(const truth *t, FILE *out)
{
    (void)fprintf(out, "  \"targets\": [");
    for (size_t k = 0; k < t->target_count; k++) {
        const truth_target *target = &t->target[k];
        (void)fprintf(out, "%s\n    {\"target\": \"%s\", ", k == 0 ? "" : ",", target->told.name);
        print_number("time", target->time, ", ", out);
        print_number("log_strength", target->log_strength, ", ", out);
        print_number("alpha_X_m3", creal(target->alpha), ", ", out);
        print_number("alpha_R_m3", cimag(target->alpha), "}", out);
    }
    (void)fprintf(out, "\n  ],\n");
}

static void print_curve(const truth *t, FILE *out)
{
    (void)fprintf(out, "  \"scale\": [");
    for (int angle_deg = -90; angle_deg <= 90; angle_deg += STEP_DEG)
        (void)fprintf(out, "%s[%d, %.6g]", angle_deg == -90 ? "" : ", ", angle_deg,
                      scale_number(&t->scale, angle_deg));
    (void)fprintf(out, "],\n");
}

static void print_chances(const truth *t, const truth_place *place, bool first, gsl_rng *random,
                          FILE *out)
{
    const bool air = place->zone == BB_ZONE_AIR, sand = place->target == BB_TARGET_SAND;
    truth_distribution numbers;
    truth_chances(t, place, DRAWS, random, &numbers);
    (void)fprintf(out, "%s\n    {\"zone\": \"%s\", \"target\": \"%s\", ", first ? "" : ",",
                  air ? "air" : t->zone[place->zone].told.name,
                  sand ? "sand" : t->target[place->target].told.name);
    print_number("depth_cm", sand ? NAN : 100 * place->depth_m, ", ", out);
    print_number("mean", numbers.mean, ", ", out);
    print_number("sd", numbers.sd, ", ", out);
    size_t from = 0, to = numbers.count;
    while (!(numbers.chances[from] > 0))
        from++;
    while (!(numbers.chances[to - 1] > 0))
        to--;
    (void)fprintf(out, "\"from\": %d, \"p\": [",
                  t->machine.scale_low + (int)from * t->machine.scale_step);
    for (size_t i = from; i < to; i++)
        (void)fprintf(out, "%s%.6g", i == from ? "" : ", ", numbers.chances[i]);
    (void)fprintf(out, "]}");
}

static void print_grid(const truth *t, gsl_rng *random, FILE *out)
{
    static const double depth_m[] = {0, 0.05, 0.10, 0.15};
    const double swing_m = t->beach.swing_height_m, air_gap_m = 0.10;
    bool first = true;
    (void)fprintf(out, "  \"numbers\": [");
    for (int k = 0; k < (int)t->target_count; k++, first = false)
        print_chances(t, &(truth_place){BB_ZONE_AIR, k, air_gap_m, 0, NAN}, first, random, out);
    for (int z = 0; z < (int)t->zone_count; z++) {
        truth_place place = {z, BB_TARGET_SAND, 0, swing_m, NAN};
        print_chances(t, &place, first, random, out);
        first = false;
        for (place.target = 0; place.target < (int)t->target_count; place.target++)
            for (size_t i = 0; i < sizeof depth_m / sizeof *depth_m; i++) {
                place.depth_m = depth_m[i];
                print_chances(t, &place, false, random, out);
            }
    }
    (void)fprintf(out, "\n  ]\n");
}

bool truth_print(const simulated_visit *visit, FILE *out)
{
    const truth *t = &visit->truth;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return false;
    gsl_rng_set(random, t->of.seed + 0x7207);
    (void)fprintf(out, "{\n  \"family\": \"%s\", \"visit\": \"%s\", \"seed\": %lu,\n  ",
                  family_name[t->of.family], visit_name[t->of.kind], t->of.seed);
    print_number("reading_noise", t->reading, ", ", out);
    print_number("wander_deg", t->wander_deg, ", ", out);
    print_number("severity", t->severity, ",\n", out);
    print_curve(t, out);
    print_zones(t, out);
    print_targets(t, out);
    print_grid(t, random, out);
    (void)fprintf(out, "}\n");
    gsl_rng_free(random);
    return true;
}
