/* The ways to spoil a visit: what goes wrong on a beach, on paper, and by intent. */
#include "adversary.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_randist.h>

static int any_number(const scene *s, gsl_rng *random)
{
    const unsigned long numbers = (unsigned long)((s->high - s->low) / s->step) + 1;
    return s->low + s->step * (int)gsl_rng_uniform_int(random, numbers);
}

static bool chance(gsl_rng *random, double share)
{
    return gsl_rng_uniform(random) < share;
}

static double log_between(gsl_rng *random, double low, double high)
{
    return exp(log(low) + (log(high) - log(low)) * gsl_rng_uniform(random));
}

/* Keep the rows for which wanted holds. */
static void keep(scene *s, bool (*wanted)(const scene_row *row))
{
    size_t kept = 0;
    for (size_t i = 0; i < s->row_count; i++)
        if (wanted(&s->row[i]))
            s->row[kept++] = s->row[i];
    s->row_count = kept;
}

static bool in_air(const scene_row *row)
{
    return row->zone == BB_ZONE_AIR;
}

static bool bare(const scene_row *row)
{
    return row->target == BB_TARGET_SAND;
}

static bool over_sand(const scene_row *row)
{
    return row->zone != BB_ZONE_AIR;
}

static bool buried(const scene_row *row)
{
    return over_sand(row) && !bare(row);
}

static bool not_bare(const scene_row *row)
{
    return !bare(row);
}

static bool not_in_first_zone(const scene_row *row)
{
    return row->zone != 0;
}

/* ---------------------------------------------------------------- what the numbers say */

static void constant(scene *s, gsl_rng *random)
{
    const int number = any_number(s, random);
    for (size_t i = 0; i < s->row_count; i++)
        s->row[i].reading = number;
}

static void nearly_constant(scene *s, gsl_rng *random)
{
    constant(s, random);
    s->row[gsl_rng_uniform_int(random, s->row_count)].reading = any_number(s, random);
}

static void all_at_one_end(scene *s, gsl_rng *random)
{
    const int number = chance(random, 0.5) ? s->low : s->high;
    for (size_t i = 0; i < s->row_count; i++)
        s->row[i].reading = number;
}

static void all_at_both_ends(scene *s, gsl_rng *random)
{
    for (size_t i = 0; i < s->row_count; i++)
        s->row[i].reading = 2 * s->row[i].reading > s->low + s->high ? s->high : s->low;
    (void)random;
}

/* A scale that ends before the coins do. */
static void short_scale(scene *s, gsl_rng *random)
{
    const double room = 0.2 + 0.5 * gsl_rng_uniform(random);
    const int end = s->low + (int)(room * (s->high - s->low));
    for (size_t i = 0; i < s->row_count; i++)
        if (s->row[i].reading > end)
            s->row[i].reading = end;
    s->high = end;
}

static void random_numbers(scene *s, gsl_rng *random)
{
    for (size_t i = 0; i < s->row_count; i++)
        s->row[i].reading = any_number(s, random);
}

static void wild_outliers(scene *s, gsl_rng *random)
{
    const double share = 0.05 + 0.6 * gsl_rng_uniform(random);
    for (size_t i = 0; i < s->row_count; i++)
        if (chance(random, share))
            s->row[i].reading = any_number(s, random);
}

static void upside_down(scene *s, gsl_rng *random)
{
    (void)random;
    for (size_t i = 0; i < s->row_count; i++)
        s->row[i].reading = s->low + s->high - s->row[i].reading;
}

/* Two far numbers at every place, as where the sum of target and sand turns over. */
static void contradicting_repeats(scene *s, gsl_rng *random)
{
    const int one = any_number(s, random), other = any_number(s, random);
    for (size_t i = 0; i < s->row_count; i++)
        if (chance(random, 0.7))
            s->row[i].reading = i % 2 ? one : other;
}

static void sand_that_jumps(scene *s, gsl_rng *random)
{
    for (size_t i = 0; i < s->row_count; i++)
        if (bare(&s->row[i]))
            s->row[i].reading = chance(random, 0.5) ? s->low : s->high;
}

/* ---------------------------------------------------------------- what was swept */

static void swapped_labels(scene *s, gsl_rng *random)
{
    int order[SCENE_TARGETS];
    for (int k = 0; k < (int)s->target_count; k++)
        order[k] = k;
    gsl_ran_shuffle(random, order, s->target_count, sizeof *order);
    for (size_t i = 0; i < s->row_count; i++)
        if (!bare(&s->row[i]) && over_sand(&s->row[i]))
            s->row[i].target = order[s->row[i].target];
}

static void two_targets(scene *s, gsl_rng *random)
{
    s->target_count = 2;
    scene_sweep_all(s, random);
}

static void one_target(scene *s, gsl_rng *random)
{
    s->target_count = 1;
    scene_sweep_all(s, random);
}

static void one_sweep(scene *s, gsl_rng *random)
{
    s->row[0] = s->row[gsl_rng_uniform_int(random, s->row_count)];
    s->row_count = 1;
}

static void few_sweeps(scene *s, gsl_rng *random)
{
    gsl_ran_shuffle(random, s->row, s->row_count, sizeof *s->row);
    s->row_count = 1 + gsl_rng_uniform_int(random, 6);
}

static void only_air(scene *s, gsl_rng *random)
{
    (void)random;
    keep(s, in_air);
}

static void only_bare_sand(scene *s, gsl_rng *random)
{
    (void)random;
    keep(s, bare);
}

static void only_buried(scene *s, gsl_rng *random)
{
    (void)random;
    keep(s, buried);
}

static void no_air(scene *s, gsl_rng *random)
{
    (void)random;
    keep(s, over_sand);
}

static void no_bare_sand(scene *s, gsl_rng *random)
{
    (void)random;
    keep(s, not_bare);
}

static void unswept_zone(scene *s, gsl_rng *random)
{
    s->zone_count = 2;
    scene_sweep_all(s, random);
    keep(s, not_in_first_zone);
}

static void same_target_often(scene *s, gsl_rng *random)
{
    for (size_t k = 1; k < s->target_count; k++)
        s->target[k] = s->target[0];
    scene_sweep_all(s, random);
}

static void huge_counts(scene *s, gsl_rng *random)
{
    for (size_t i = 0; i < s->row_count; i++)
        s->row[i].times = (int)log_between(random, 1, 1e6);
}

static void one_huge_count(scene *s, gsl_rng *random)
{
    s->row[gsl_rng_uniform_int(random, s->row_count)].times = 1000000;
}

/* ---------------------------------------------------------------- kit, beach, machine */

static void absurd_sizes(scene *s, gsl_rng *random)
{
    for (size_t k = 0; k < s->target_count; k++) {
        s->target[k].diameter_mm = log_between(random, 0.5, 1000);
        s->target[k].conductivity_MS_per_m = log_between(random, 0.01, 100);
    }
    if (chance(random, 0.5))
        scene_sweep_all(s, random);
}

static void no_sizes(scene *s, gsl_rng *random)
{
    for (size_t k = 0; k < s->target_count; k++) {
        const bool iron = chance(random, 0.3);
        s->target[k].shape = "other";
        s->target[k].group = iron ? "iron" : s->target[k].group;
        s->target[k].diameter_mm = NAN;
    }
}

static void many_targets(scene *s, gsl_rng *random)
{
    s->target_count = 32 + gsl_rng_uniform_int(random, SCENE_TARGETS - 31);
    scene_sweep_all(s, random);
}

static void many_zones(scene *s, gsl_rng *random)
{
    s->zone_count = SCENE_ZONES;
    scene_sweep_all(s, random);
}

static void aged_targets(scene *s, gsl_rng *random)
{
    static const char *const metals[] = {"copper", "aluminium", "iron", "gold 9ct"};
    for (size_t k = 0; k < s->target_count; k++) {
        s->target[k].years = chance(random, 0.3) ? 0 : log_between(random, 1, 5000);
        s->target[k].material = metals[gsl_rng_uniform_int(random, 4)];
    }
}

static void unknown_frequency(scene *s, gsl_rng *random)
{
    s->frequencies = 0;
    (void)random;
}

static void pair(scene *s, gsl_rng *random)
{
    s->frequencies = 2;
    s->khz[1] = s->khz[0] * log_between(random, 1.05, 20);
    scene_sweep_all(s, random);
}

static void black_sand(scene *s, gsl_rng *random)
{
    if (chance(random, 0.5))
        s->susceptibility = log_between(random, 1e-5, 0.5);
    else
        s->black_sand = true;
    for (size_t z = 0; z < s->zone_count; z++)
        s->zone[z].angle_deg = -90 + 100 * gsl_rng_uniform(random);
    scene_sweep_all(s, random);
}

/* Nearly nothing to conduct, or nearly nothing of it near the coil. */
static void no_salt(scene *s, gsl_rng *random)
{
    s->salinity = chance(random, 0.5) ? 0 : 0.3;
    for (size_t z = 0; z < s->zone_count; z++) {
        s->zone[z].saturation = 0.05 * gsl_rng_uniform(random);
        s->zone[z].dry_layer_cm = 100 * gsl_rng_uniform(random);
    }
    scene_sweep_all(s, random);
}

static void strange_machine(scene *s, gsl_rng *random)
{
    s->khz[0] = log_between(random, 0.1, 1000);
    s->coil_cm = log_between(random, 5, 150);
    s->swing_cm = log_between(random, 0.5, 100);
    scene_sweep_all(s, random);
}

static void strange_scale(scene *s, gsl_rng *random)
{
    static const int scales[][3] = {{0, 1, 1}, {0, 3, 1}, {-500, 500, 1}, {0, 1000, 50},
                                    {-1000, 23, 1}, {0, 100, 100}, {1, 5, 2}};
    const int *scale = scales[gsl_rng_uniform_int(random, sizeof scales / sizeof *scales)];
    s->low = scale[0];
    s->high = scale[1];
    s->step = scale[2];
    scene_sweep_all(s, random);
}

static void over_hours(scene *s, gsl_rng *random)
{
    for (size_t i = 0; i < s->row_count; i++)
        if (chance(random, 0.9))
            s->row[i].hour = 24 * gsl_rng_uniform(random);
}

static void deep_and_high(scene *s, gsl_rng *random)
{
    for (int k = 0; k < (int)s->target_count; k++)
        for (int i = 0; i < 6; i++)
            scene_sweep(s, (int)gsl_rng_uniform_int(random, s->zone_count), k,
                        log_between(random, 0.1, 200), log_between(random, 0.5, 100), 1, random);
}

static void loud_jitter(scene *s, gsl_rng *random)
{
    for (size_t z = 0; z < s->zone_count; z++)
        s->zone[z].jitter = s->zone[z].residual * log_between(random, 1, 1000);
    scene_sweep_all(s, random);
}

static void noise_everywhere(scene *s, gsl_rng *random)
{
    s->noise = (s->high - s->low) * log_between(random, 0.02, 2);
    scene_sweep_all(s, random);
}

static void as_it_should_be(scene *s, gsl_rng *random)
{
    (void)s;
    (void)random;
}

static void several_at_once(scene *s, gsl_rng *random);

const adversary adversaries[] = {
    {"as it should be", as_it_should_be},
    {"constant", constant},
    {"nearly constant", nearly_constant},
    {"all at one end", all_at_one_end},
    {"all at both ends", all_at_both_ends},
    {"short scale", short_scale},
    {"random numbers", random_numbers},
    {"wild outliers", wild_outliers},
    {"upside down", upside_down},
    {"contradicting repeats", contradicting_repeats},
    {"sand that jumps", sand_that_jumps},
    {"swapped labels", swapped_labels},
    {"two targets", two_targets},
    {"one target", one_target},
    {"one sweep", one_sweep},
    {"few sweeps", few_sweeps},
    {"only air", only_air},
    {"only bare sand", only_bare_sand},
    {"only buried", only_buried},
    {"no air", no_air},
    {"no bare sand", no_bare_sand},
    {"unswept zone", unswept_zone},
    {"same target often", same_target_often},
    {"huge counts", huge_counts},
    {"one huge count", one_huge_count},
    {"absurd sizes", absurd_sizes},
    {"no sizes", no_sizes},
    {"many targets", many_targets},
    {"many zones", many_zones},
    {"aged targets", aged_targets},
    {"unknown frequency", unknown_frequency},
    {"pair", pair},
    {"black sand", black_sand},
    {"no salt", no_salt},
    {"strange machine", strange_machine},
    {"strange scale", strange_scale},
    {"over hours", over_hours},
    {"deep and high", deep_and_high},
    {"loud jitter", loud_jitter},
    {"noise everywhere", noise_everywhere},
    {"several at once", several_at_once},
};
const size_t adversary_count = sizeof adversaries / sizeof *adversaries;

/* What it does to kit, beach and machine comes first, for those sweep anew. */
static void several_at_once(scene *s, gsl_rng *random)
{
    size_t chosen[3];
    for (int i = 0; i < 3; i++)
        chosen[i] = 1 + gsl_rng_uniform_int(random, adversary_count - 2);
    for (size_t later = 0; later < 2; later++)
        for (int i = 0; i < 3; i++)
            if ((chosen[i] < 25) == later && s->row_count > 0)
                adversaries[chosen[i]].spoil(s, random);
}
