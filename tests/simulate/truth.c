/* Draws the truth of a visit: machine, beach, sand, targets and noise. */
#include "simulate.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_math.h>
#include <gsl/gsl_randist.h>

#include "kits.h"
#include "target.h"

const char *const family_name[FAMILY_COUNT] = {"inside", "departing", "steady"};
const char *const visit_name[VISIT_COUNT] = {"full", "quarter", "two-minute"};

#define DEG (180 / M_PI)
#define LOWEST_M 0.01 /* of the heights at which the ground is computed */
#define HIGHEST_M 0.60

static double log_normal(gsl_rng *random, double median, double sd_log)
{
    return median * exp(gsl_ran_gaussian(random, sd_log));
}

static void draw_machine(truth *t, gsl_rng *random)
{
    static const double coil_cm[] = {20, 23, 28, 33};
    static const double single_khz[] = {5, 7, 10, 14, 18};
    static const double pair_khz[][2] = {{4, 12}, {5, 18}, {7, 20}};
    bb_machine *machine = &t->machine;
    int usual = t->of.family == FAMILY_STEADY ? USUAL_SCALES : SCALES;
    const number_scale *scale = &number_scales[gsl_rng_uniform_int(random, (unsigned long)usual)];
    (void)snprintf(machine->name, sizeof machine->name, "invented set %lu", t->of.seed);
    (void)snprintf(machine->settings, sizeof machine->settings, "as delivered");
    machine->scale_low = scale->low;
    machine->scale_high = scale->high;
    machine->scale_step = scale->step;
    machine->reject_bands = 2;
    machine->coil_radius_m = coil_cm[gsl_rng_uniform_int(random, 4)] / 200;
    if (gsl_rng_uniform(random) < 0.25) {
        const double *pair = pair_khz[gsl_rng_uniform_int(random, 3)];
        machine->frequency_kind = BB_FREQUENCY_PAIR;
        machine->lower_frequency_hz = pair[0] * 1e3;
        machine->frequency_hz = pair[1] * 1e3;
    } else {
        machine->frequency_kind = BB_FREQUENCY_ONE;
        machine->frequency_hz = single_khz[gsl_rng_uniform_int(random, 5)] * 1e3;
    }
}

static void draw_beach(truth *t, gsl_rng *random)
{
    bb_beach *beach = &t->beach;
    (void)snprintf(beach->name, sizeof beach->name, "invented beach %lu", t->of.seed);
    (void)snprintf(beach->date, sizeof beach->date, "2026-05-09");
    beach->low_water_min = 14 * 60 + 10;
    beach->turn_back_min = 15 * 60;
    beach->swing_height_m = (double)(3 + gsl_rng_uniform_int(random, 5)) / 100;
    beach->water_salinity = (double)(30 + gsl_rng_uniform_int(random, 8));
    beach->water_temperature_c = (double)(8 + gsl_rng_uniform_int(random, 15));
    beach->sand_porosity = 0.40;
}

/* Height of one row of the table of computed ground. */
static double height_at(int row)
{
    return LOWEST_M * pow(HIGHEST_M / LOWEST_M, (double)row / (TRUTH_HEIGHTS - 1));
}

static double between_heights(const double *column, double height_m)
{
    double row = log(height_m / LOWEST_M) / log(HIGHEST_M / LOWEST_M) * (TRUTH_HEIGHTS - 1);
    row = fmin(fmax(row, 0), TRUTH_HEIGHTS - 1);
    int below = (int)fmin(row, TRUTH_HEIGHTS - 2);
    return column[below] + (row - below) * (column[below + 1] - column[below]);
}

/* The computed ground under a zone: strength and angle by height, and what cancelling leaves. */
static bool compute_ground(truth *t, truth_zone *zone)
{
    const bb_machine *machine = &t->machine;
    const bb_beach *beach = &t->beach;
    const double omega = 2 * M_PI * machine->frequency_hz, a = machine->coil_radius_m;
    bb_ground ground = {.susceptibility = 0, .layer_m = zone->told.dry_layer_m};
    const bool paired = machine->frequency_kind == BB_FREQUENCY_PAIR;
    bb_complex upper, lower = {0, 0};
    double water_S_per_m;
    bb_status status = bb_water_conductivity(beach->water_salinity, beach->water_temperature_c,
                                             &water_S_per_m, NULL);
    if (status == BB_OK)
        status = bb_sand_conductivity(water_S_per_m, beach->sand_porosity, zone->told.saturation,
                                      &ground.sigma_S_per_m);
    for (int i = 0; i < TRUTH_HEIGHTS && status == BB_OK; i++) {
        status = bb_ground_response(&ground, omega, a, height_at(i), &upper);
        if (status == BB_OK && paired)
            status = bb_ground_response(&ground, 2 * M_PI * machine->lower_frequency_hz, a,
                                        height_at(i), &lower);
        zone->log_strength[i] = log(bb_response_strength(upper));
        zone->turn_deg[i] = bb_response_angle_deg(upper);
        zone->log_kept[i] = paired ? log(bb_cancel_survival(upper, lower, machine->frequency_hz,
                                                            machine->lower_frequency_hz))
                                   : 0;
    }
    return status == BB_OK;
}

static double draw_sounding(gsl_rng *random)
{
    double kind = gsl_rng_uniform(random);
    return kind < 0.5 ? 1 : kind < 0.75 ? gsl_ran_flat(random, 0.1, 0.6) : 0.02;
}

/* A is what the machine's cancelling leaves, a share `level` of the computed ground that the zones
 * of one beach have in common. */
static bool draw_zone(truth *t, size_t index, double level, gsl_rng *random)
{
    truth_zone *zone = &t->zone[index];
    const bool wet = index == 0;
    (void)snprintf(zone->told.name, sizeof zone->told.name, "%s", wet ? "wet" : "damp");
    zone->told.saturation = wet ? 1 : 0.5; /* as these words mean in beach.ini */
    if (!compute_ground(t, zone))
        return false;
    double strength = exp(between_heights(zone->log_strength, t->beach.swing_height_m));
    zone->residual = level * strength * exp(gsl_ran_gaussian(random, 0.5));
    zone->jitter = strength * log_normal(random, 0.0005, 0.6);
    zone->angle_deg =
        between_heights(zone->turn_deg, t->beach.swing_height_m) + gsl_ran_gaussian(random, 5);
    double drift = gsl_ran_gaussian(random, 0.3);
    zone->drift_per_hour = t->of.kind == VISIT_FULL ? drift : 0;
    double sounding = draw_sounding(random);
    zone->sounding = wet ? 1 : sounding;
    return true;
}

static bb_shape shape_of(const char *word)
{
    static const struct {
        const char *word;
        bb_shape shape;
    } shapes[] = {{"disc", BB_SHAPE_DISC}, {"ring", BB_SHAPE_RING}, {"sphere", BB_SHAPE_SPHERE}};
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++)
        if (strcmp(word, shapes[i].word) == 0)
            return shapes[i].shape;
    return BB_SHAPE_OTHER;
}

static double metres_or_nan(double mm)
{
    return mm > 0 ? mm / 1000 : NAN;
}

static void tell(const kit_row *row, bb_target *told)
{
    const bb_material *material = bb_material_find(row->material);
    memset(told, 0, sizeof *told);
    (void)snprintf(told->name, sizeof told->name, "%s", row->name);
    (void)snprintf(told->material, sizeof told->material, "%s", row->material);
    (void)snprintf(told->group, sizeof told->group, "%s", row->group);
    told->shape = shape_of(row->shape);
    told->conductivity_S_per_m = material == NULL ? NAN : material->conductivity_S_per_m;
    told->core_conductivity_S_per_m = NAN;
    told->diameter_m = metres_or_nan(row->diameter_mm);
    told->thickness_m = metres_or_nan(row->thickness_mm);
    told->bore_m = metres_or_nan(row->bore_mm);
    told->mass_kg = told->plating_m = NAN;
    told->years = row->years;
    told->keep = row->keep;
}

static double complex pole(double complex turns)
{
    return turns / (1 + turns);
}

/* A piece of which no body can be computed: iron by its angle, anything else as one pole. The
 * strengths are kept nearer to the prior's middle than its sd of 2, or half would never be heard.
 */
static void draw_unsized(const truth *t, truth_target *target, bool iron, gsl_rng *random)
{
    const double share = t->machine.lower_frequency_hz / t->machine.frequency_hz; /* 0: no pair */
    const double angle_deg = -40 + gsl_ran_gaussian(random, 20);
    const double log_turns = gsl_ran_gaussian(random, 1.2);
    const double complex turns = I * exp(log_turns);
    target->log_strength = gsl_ran_gaussian(random, 1);
    target->time = iron ? angle_deg : log_turns;
    target->alpha = 1e-6 * exp(target->log_strength) *
                    (iron ? sin(angle_deg / DEG) + I * cos(angle_deg / DEG) : pole(turns));
    target->kept = 1;
    if (share > 0)
        target->kept = iron ? 1 / share - 1 : cabs(1 - pole(share * turns) / pole(turns) / share);
}

/* The piece is not quite what the kit says: in the model's family its time constant and strength
 * err, in the departing one its sizes and its alloy too. */
static void distort(truth *t, truth_target *target, bb_body *body, gsl_rng *random)
{
    const double size = log_normal(random, 1, 0.03), thickness = log_normal(random, 1, 0.06);
    const double alloy = log_normal(random, 1, 0.15);
    if (t->of.family != FAMILY_DEPARTING)
        return;
    body->radius_m *= size;
    body->bore_radius_m *= size;
    body->thickness_m *= thickness;
    body->conductivity_S_per_m *= alloy;
    target->time = target->log_strength = NAN;
}

static bool draw_body(truth *t, truth_target *target, gsl_rng *random)
{
    const bb_machine *machine = &t->machine;
    const double time = gsl_ran_gaussian(random, 0.2), strength = gsl_ran_gaussian(random, 0.3);
    const double omega = 2 * M_PI * machine->frequency_hz * exp(time);
    bb_body body;
    bb_target_kind kind;
    bb_complex upper, lower;
    bb_status status =
        bb_target_body(&target->told, t->beach.water_temperature_c, t->severity, &body, &kind);
    if (status != BB_OK || kind != BB_KIND_BODY)
        return false;
    target->time = time;
    target->log_strength = strength;
    distort(t, target, &body, random);
    status = bb_body_polarizability(&body, omega, &upper, NULL);
    target->alpha = exp(strength) * (upper.re + I * upper.im);
    target->kept = 1;
    if (machine->frequency_kind != BB_FREQUENCY_PAIR || status != BB_OK)
        return status == BB_OK;
    const double ratio = machine->lower_frequency_hz / machine->frequency_hz;
    status = bb_body_polarizability(&body, omega * ratio, &lower, NULL);
    target->kept =
        bb_cancel_survival(upper, lower, machine->frequency_hz, machine->lower_frequency_hz);
    return status == BB_OK;
}

static bool draw_target(truth *t, const kit_row *row, truth_target *target, gsl_rng *random)
{
    tell(row, &target->told);
    target->laid = row->laid;
    if (target->told.shape != BB_SHAPE_OTHER)
        return draw_body(t, target, random);
    draw_unsized(t, target, strcmp(row->group, "iron") == 0, random);
    return true;
}

/* Sand of sd 0.9 numbers, of which 25 sweeps span four or five. The curve is drawn again until it
 * is flat enough there for the wander alone not to exceed that. */
static void steady_noise(truth *t, gsl_rng *random)
{
    const double sand_sd = 0.9, half_deg = 0.5, angle_deg = t->zone[0].angle_deg;
    double by_wander;
    t->wander_deg = gsl_ran_flat(random, 0.3, 0.8);
    for (;;) {
        by_wander = t->wander_deg * (scale_number(&t->scale, angle_deg + half_deg) -
                                     scale_number(&t->scale, angle_deg - half_deg));
        if (by_wander < 0.9 * sand_sd)
            break;
        scale_draw_cubic(&t->scale, t->machine.scale_low, t->machine.scale_high, random);
    }
    t->reading = sqrt(sand_sd * sand_sd - by_wander * by_wander);
}

static void draw_noise(truth *t, gsl_rng *random)
{
    const bb_machine *machine = &t->machine;
    const double range = machine->scale_high - machine->scale_low;
    t->reading = log_normal(random, 0.5 * fmax(machine->scale_step, range / 100), 0.4);
    t->wander_deg = log_normal(random, 2, 0.4);
    if (t->of.family == FAMILY_STEADY)
        steady_noise(t, random);
    if (t->of.family == FAMILY_DEPARTING) {
        t->turning = true;
        t->heavy_tails = gsl_rng_uniform(random) < 0.5;
        t->outliers = t->heavy_tails ? 0 : 0.02;
        t->depth_sd_m = 0.005;
        t->height_sd_m = 0.003;
    }
}

bool truth_draw(const simulation *of, truth *t)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return false;
    gsl_rng_set(random, of->seed);
    memset(t, 0, sizeof *t);
    t->of = *of;
    t->middle_hour = 13.5;
    draw_machine(t, random);
    draw_beach(t, random);
    t->severity = log_normal(random, 1, 0.7);
    const bb_machine *machine = &t->machine;
    (of->family == FAMILY_DEPARTING ? scale_draw_logistic : scale_draw_cubic)(
        &t->scale, machine->scale_low, machine->scale_high, random);

    const double level = log_normal(random, 0.001, 0.8);
    bool drawn = true;
    t->zone_count = of->kind == VISIT_TWO_MINUTE ? 1 : TRUTH_ZONES;
    for (size_t z = 0; z < t->zone_count && drawn; z++)
        drawn = draw_zone(t, z, level, random);
    const kit_rows *kit = kit_of(of->kind);
    t->target_count = kit->count;
    for (size_t k = 0; k < t->target_count && drawn; k++)
        drawn = draw_target(t, &kit->row[k], &t->target[k], random);
    draw_noise(t, random);
    gsl_rng_free(random);
    if (!drawn)
        (void)fprintf(stderr, "the physics refuses the truth of seed %lu\n", of->seed);
    return drawn;
}

void truth_move_sand(truth *t, gsl_rng *random)
{
    const double level = gsl_ran_gaussian(random, 0.4);
    for (size_t z = 0; z < t->zone_count; z++) {
        t->zone[z].residual *= exp(level + gsl_ran_gaussian(random, 0.2));
        t->zone[z].jitter *= exp(gsl_ran_gaussian(random, 0.3));
        t->zone[z].angle_deg += gsl_ran_gaussian(random, 2);
    }
}

size_t scale_count(const bb_machine *machine)
{
    return (size_t)((machine->scale_high - machine->scale_low) / machine->scale_step) + 1;
}

/* Ground at a height as a share of that at the swing height. */
static double height_share(const truth *t, const truth_place *place)
{
    const truth_zone *zone = &t->zone[place->zone];
    return exp(between_heights(zone->log_strength, place->height_m) -
               between_heights(zone->log_strength, t->beach.swing_height_m));
}

double truth_ground(const truth *t, const truth_place *place)
{
    return exp(between_heights(t->zone[place->zone].log_strength, place->height_m));
}

double truth_residual(const truth *t, const truth_place *place)
{
    const truth_zone *zone = &t->zone[place->zone];
    double hours = isnan(place->hour) ? 0 : place->hour - t->middle_hour;
    return zone->residual * height_share(t, place) * exp(zone->drift_per_hour * hours);
}

double truth_jitter(const truth *t, const truth_place *place)
{
    return t->zone[place->zone].jitter * height_share(t, place);
}

double truth_angle_deg(const truth *t, const truth_place *place)
{
    const truth_zone *zone = &t->zone[place->zone];
    return zone->angle_deg + between_heights(zone->turn_deg, place->height_m) -
           between_heights(zone->turn_deg, t->beach.swing_height_m);
}

double complex truth_response(const truth *t, const truth_place *place, double error_m)
{
    if (place->target == BB_TARGET_SAND)
        return 0;
    const double a = t->machine.coil_radius_m;
    const double gap =
        place->depth_m + error_m + (place->zone == BB_ZONE_AIR ? 0 : place->height_m);
    const double field = a * a / (2 * pow(a * a + gap * gap, 1.5)); /* H / I */
    return t->target[place->target].alpha * field * field / a;
}

double truth_signal_to_ground(const truth *t, const truth_place *place)
{
    const double ground_kept =
        exp(between_heights(t->zone[place->zone].log_kept, place->height_m));
    return cabs(truth_response(t, place, 0)) * t->target[place->target].kept /
           (truth_jitter(t, place) * ground_kept);
}
