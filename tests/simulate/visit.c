/* Sweeps over a drawn truth, in the order a searcher would make them. */
#include "simulate.h"

#include <math.h>

#include <gsl/gsl_randist.h>

#define DAY_SEEDS 1000003 /* between the seeds of one beach's days */
#define AIR_GAP_M 0.10
#define START_HOUR 13.0
#define SWEEP_HOURS (1.0 / 158) /* a full visit's sweeps over sand take an hour */

/* The sweeping of one visit: where the next sweep goes and the errors it makes. */
typedef struct {
    simulated_visit *visit;
    gsl_rng *random;
    int laying;
    double hour; /* of the next sweep, NAN in a visit without times */
} sweeping;

static void sweep(sweeping *of, truth_place place, double error_m)
{
    simulated_visit *visit = of->visit;
    const truth *t = &visit->truth;
    truth_sweep *made = &visit->sweep[visit->count++];
    if (place.zone != BB_ZONE_AIR) {
        place.hour = of->hour;
        of->hour += SWEEP_HOURS;
    }
    *made = (truth_sweep){.place = place, .laying = of->laying, .heard = true};
    if (place.target == BB_TARGET_SAND)
        made->heard = gsl_rng_uniform(of->random) < t->zone[place.zone].sounding;
    made->reading = truth_number(t, &place, error_m, of->random);
    if (gsl_rng_uniform(of->random) < t->outliers)
        made->reading =
            t->machine.scale_low +
            t->machine.scale_step * (int)gsl_rng_uniform_int(of->random, scale_count(&t->machine));
}

/* Sweeps of one piece that lies where it was put, its depth out by one error for all of them. */
static void lay(sweeping *of, truth_place place, int sweeps)
{
    double error_m = place.zone == BB_ZONE_AIR || place.target == BB_TARGET_SAND
                         ? 0
                         : gsl_ran_gaussian(of->random, of->visit->truth.depth_sd_m);
    of->laying++;
    for (int i = 0; i < sweeps; i++)
        sweep(of, place, error_m);
}

static void bench(sweeping *of, int sweeps)
{
    for (int k = 0; k < (int)of->visit->truth.target_count; k++)
        lay(of, (truth_place){BB_ZONE_AIR, k, AIR_GAP_M, 0, NAN}, sweeps);
}

static void pump(sweeping *of, int zone, int sweeps)
{
    const truth *t = &of->visit->truth;
    lay(of, (truth_place){zone, BB_TARGET_SAND, 0, t->beach.swing_height_m, NAN},
        t->of.bare_sweeps > 0 ? t->of.bare_sweeps : sweeps);
}

/* A piece in the sand at each of the places: depth, and how much the coil is raised. */
typedef struct {
    double depth_m, raised_m;
} spot;

static void try_piece(sweeping *of, int zone, int target, size_t count, const spot *spots)
{
    const double swing_m = of->visit->truth.beach.swing_height_m;
    for (size_t i = 0; i < count; i++)
        lay(of, (truth_place){zone, target, spots[i].depth_m, swing_m + spots[i].raised_m, NAN}, 2);
}

static void sweep_full(sweeping *of)
{
    static const spot spots[] = {{0, 0}, {0, 0.07}, {0.08, 0}};
    bench(of, 3);
    for (int z = 0; z < TRUTH_ZONES; z++) {
        pump(of, z, 25);
        for (int k = 0; k < (int)of->visit->truth.target_count; k++)
            try_piece(of, z, k, sizeof spots / sizeof *spots, spots);
    }
}

static void sweep_quarter(sweeping *of)
{
    static const spot spots[] = {{0, 0}, {0, 0.06}};
    bench(of, 2);
    pump(of, 0, 20);
    const truth *t = &of->visit->truth;
    for (int k = 0; k < (int)t->target_count; k++)
        if (t->target[k].laid)
            try_piece(of, 0, k, sizeof spots / sizeof *spots, spots);
    pump(of, 1, 15);
}

static void sweep_two_minutes(sweeping *of)
{
    pump(of, 0, 15);
}

bool visit_simulate(const simulation *wanted, simulated_visit *visit)
{
    return visit_simulate_day(wanted, 0, visit);
}

bool visit_simulate_day(const simulation *wanted, unsigned long day, simulated_visit *visit)
{
    static void (*const kinds[VISIT_COUNT])(sweeping *) = {sweep_full, sweep_quarter,
                                                           sweep_two_minutes};
    sweeping walk = {.visit = visit,
                     .random = gsl_rng_alloc(gsl_rng_mt19937),
                     .hour = wanted->kind == VISIT_FULL ? START_HOUR : NAN};
    visit->count = 0;
    bool drawn = walk.random != NULL && truth_draw(wanted, &visit->truth);
    if (drawn) {
        gsl_rng_set(walk.random, wanted->seed + 0x5eed + DAY_SEEDS * day);
        if (day > 0)
            truth_move_sand(&visit->truth, walk.random);
        kinds[wanted->kind](&walk);
    }
    gsl_rng_free(walk.random);
    return drawn;
}
