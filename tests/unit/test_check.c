/* Fresh sweeps against a profile: exact limits, a p value uniform while nothing changed, and the
 * name of what did. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"
#include "compare.h"
#include "simulate/simulate.h"

enum { VISITS = 40, FRESH_MAX = 128, FRESH_BARE = 20 };

START_TEST(limits_agree_with_published_ones)
{
    reference *table = reference_open("reference/binomial_intervals.csv");
    for (size_t r = 0; r < reference_rows(table); r++) {
        const double x = reference_number(table, r, "x"), n = reference_number(table, r, "n");
        const double tail = 0.5 * (1 - reference_number(table, r, "conf"));
        check_close("Clopper-Pearson lower limit", "computed: mpmath, 40 digits",
                    reference_number(table, r, "cp_lower"), bb_binomial_lower(x, n, tail),
                    absolute(1e-12));
        check_close("Clopper-Pearson upper limit", "computed: mpmath, 40 digits",
                    reference_number(table, r, "cp_upper"), bb_binomial_upper(x, n, tail),
                    absolute(1e-12));
    }
    reference_close(table);
    check_close("silent sweeps that prove 5 %", "1 - 0.025^(1/n) = 0.05", 72,
                bb_binomial_trials(0.05, 0.025), absolute(0));
    check_close("upper limit of 0 in 25", "1 - 0.025^(1/25)", 1 - pow(0.025, 1.0 / 25),
                bb_binomial_upper(0, 25, 0.025), absolute(1e-12));
    check_close("upper limit of a share, far tail", "SciPy 1.10.1 beta.isf", 0.029062026015003923,
                bb_binomial_upper(99, 4922, 5e-5), absolute(1e-12));
    check_close("upper limit of a share, far tail", "SciPy 1.10.1 beta.isf", 0.02092661419840887,
                bb_binomial_upper(75, 5462, 5e-5), absolute(1e-12));
    check_close("upper limit of 0 in ten million", "1 - 0.05^(1/n)", -expm1(log(0.05) / 1e7),
                bb_binomial_upper(0, 1e7, 0.05), relative(1e-9));
    check_close("lower limit, all but one of ten million", "R 4.2.2 qbeta", 0.99999952561363692,
                bb_binomial_lower(9999999, 1e7, 0.05), relative(1e-9));
    check_close("upper limit of a million", "R 4.2.2 qbeta", 0.99905141622140636,
                bb_binomial_upper(999000, 1e6, 0.05), relative(1e-9));
    check_close("upper limit, where GSL's search has no end", "R 4.2.2 qbeta", 0.44377517738867889,
                bb_binomial_upper(2777545.0037656599, 6263511, 0.05), relative(1e-9));
}
END_TEST

static void sweep_at(const simulated_visit *simulated, gsl_rng *random, int zone, int target,
                     double depth_m, bb_visit *fresh)
{
    const double height_m = fresh->beach.swing_height_m;
    const truth_place place = {zone, target, depth_m, height_m, NAN};
    fresh->cells[fresh->cell_count++] =
        (bb_cell){.zone = zone,
                  .target = target,
                  .depth_m = depth_m,
                  .height_m = height_m,
                  .hour = NAN,
                  .heard = BB_HEARD_BLANK,
                  .has_reading = true,
                  .reading = truth_number(&simulated->truth, &place, 0, random),
                  .count = 1};
}

/* Sweeps of the truth as a visit that has the profile's zones and targets. */
static void sweep_again(const simulated_visit *simulated, gsl_rng *random, bb_visit *fresh)
{
    fresh->settings = calloc(1, sizeof *fresh->settings);
    fresh->setting_count = 1;
    fresh->cells = calloc(FRESH_MAX, sizeof *fresh->cells);
    for (size_t z = 0; z < fresh->zone_count; z++) {
        for (size_t k = 0; k < fresh->target_count; k++)
            sweep_at(simulated, random, (int)z, (int)k, 0.03, fresh);
        for (int i = 0; i < FRESH_BARE; i++)
            sweep_at(simulated, random, (int)z, BB_TARGET_SAND, 0, fresh);
    }
}

/* What is done to a fresh number before it is checked. */
typedef int (*change)(const bb_profile *profile, const bb_cell *cell);

static int leave(const bb_profile *profile, const bb_cell *cell)
{
    (void)profile;
    return cell->reading;
}

static int within(const bb_machine *machine, double number)
{
    const double steps = round((number - machine->scale_low) / machine->scale_step);
    return (int)fmin(fmax(machine->scale_low + steps * machine->scale_step, machine->scale_low),
                     machine->scale_high);
}

static int read_a_tenth_higher(const bb_profile *profile, const bb_cell *cell)
{
    const bb_machine *machine = &profile->machine;
    return within(machine, cell->reading + (machine->scale_high - machine->scale_low) / 10);
}

/* Three times the spread about the number that the profile expects. */
static int widen_the_sand(const bb_profile *profile, const bb_cell *cell)
{
    bb_predictor *predictor = NULL;
    bb_prediction sand;
    double sounding;
    if (cell->target != BB_TARGET_SAND)
        return cell->reading;
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, NULL), BB_OK);
    ck_assert_int_eq(bb_predict_sand(predictor, cell->zone, &sand, &sounding), BB_OK);
    bb_predictor_free(predictor);
    return within(&profile->machine, sand.mean + 3 * (cell->reading - sand.mean));
}

/* ---- what has changed: the truth itself, or how the machine reads it */

static void ten_times_the_salt(simulated_visit *simulated)
{
    simulated->truth.zone[0].residual *= 10;
    simulated->truth.zone[0].jitter *= 10;
}

static void turn_the_sand(simulated_visit *simulated)
{
    simulated->truth.zone[0].angle_deg += 8;
}

static void leave_the_truth(simulated_visit *simulated)
{
    (void)simulated;
}

static int read_the_second_piece_higher(const bb_profile *profile, const bb_cell *cell)
{
    return cell->target == 1 ? read_a_tenth_higher(profile, cell) : cell->reading;
}

static const struct {
    const char *what;
    void (*truth)(simulated_visit *);
    change read;
    bb_change named;
    int of;
    double share; /* of the visits in which it must be noticed */
} changes[] = {
    {"salt", ten_times_the_salt, leave, BB_CHANGE_SALT, 0, 0.25},
    {"angle", turn_the_sand, leave, BB_CHANGE_ANGLE, 0, 0.9},
    {"curve", leave_the_truth, read_a_tenth_higher, BB_CHANGE_CURVE, -1, 0.9},
    {"target", leave_the_truth, read_the_second_piece_higher, BB_CHANGE_TARGET, 1, 0.9},
    {"spread", leave_the_truth, widen_the_sand, BB_CHANGE_SPREAD, -1, 0.8},
};
enum { CHANGES = sizeof changes / sizeof *changes, CHANGED_VISITS = CASES(24, 1) };

/* Of those noticed were named when this was written: salt 8 of 9, angle 23 of 23, curve 24 of 24, a
 * piece 23 of 23, spread 17 of 20. */
START_TEST(what_changed_is_named)
{
    static simulated_visit simulated;
    const bb_bands none = {0};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    int fitted = 0, noticed[CHANGES] = {0}, named[CHANGES] = {0};
    gsl_rng_set(random, 4);
    for (unsigned long seed = 1; seed <= CHANGED_VISITS; seed++) {
        const simulation how = {.family = FAMILY_STEADY, .kind = VISIT_FULL, .seed = 700 + seed};
        bb_visit visit = {0};
        bb_error error = {0};
        bb_profile *profile = NULL;
        bb_predictor *predictor = NULL;
        ck_assert(visit_simulate(&how, &simulated));
        ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
        if (bb_fit(&visit, NULL, &profile, &error) != BB_OK)
            continue;
        fitted++;
        ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
        for (int c = 0; c < CHANGES; c++) {
            bb_visit fresh = {0};
            bb_check *check = NULL;
            simulated_visit changed = simulated;
            changes[c].truth(&changed);
            ck_assert_int_eq(bb_visit_like(profile, &fresh, &error), BB_OK);
            sweep_again(&changed, random, &fresh);
            for (size_t i = 0; i < fresh.cell_count; i++)
                fresh.cells[i].reading = changes[c].read(profile, &fresh.cells[i]);
            ck_assert_int_eq(bb_check_new(predictor, &fresh, &none, 0.95, &check, &error), BB_OK);
            noticed[c] += check->holds ? 0 : 1;
            named[c] += !check->holds && check->change == changes[c].named &&
                                (changes[c].of < 0 || check->change_of == changes[c].of)
                            ? 1
                            : 0;
            bb_check_free(check);
            bb_visit_free(&fresh);
        }
        bb_predictor_free(predictor);
        bb_profile_free(profile);
        bb_visit_free(&visit);
    }
    gsl_rng_free(random);
    for (int c = 0; c < CHANGES && !SANITIZED; c++)
        ck_assert_msg(noticed[c] >= changes[c].share * fitted && named[c] >= 0.8 * noticed[c],
                      "%s: noticed %d times of %d, named %d times", changes[c].what, noticed[c],
                      fitted, named[c]);
}
END_TEST

/* The p values of fresh sweeps on the beaches that were fitted; how many there are. */
static int p_values(double p[VISITS])
{
    static simulated_visit simulated;
    const bb_bands none = {0};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, 3);
    int count = 0;
    for (unsigned long seed = 1; seed <= VISITS; seed++) {
        const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_FULL, .seed = 500 + seed};
        bb_visit visit = {0}, fresh = {0};
        bb_error error = {0};
        bb_profile *profile = NULL;
        bb_predictor *predictor = NULL;
        bb_check *check = NULL;
        ck_assert(visit_simulate(&how, &simulated));
        ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
        if (bb_fit(&visit, NULL, &profile, &error) == BB_OK) {
            ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
            ck_assert_int_eq(bb_visit_like(profile, &fresh, &error), BB_OK);
            sweep_again(&simulated, random, &fresh);
            ck_assert_int_eq(bb_check_new(predictor, &fresh, &none, 0.95, &check, &error), BB_OK);
            p[count++] = check->p_value;
        }
        bb_check_free(check);
        bb_predictor_free(predictor);
        bb_profile_free(profile);
        bb_visit_free(&fresh);
        bb_visit_free(&visit);
    }
    gsl_rng_free(random);
    return count;
}

static int at_most(double level, const double *p, int count)
{
    int low = 0;
    for (int i = 0; i < count; i++)
        low += p[i] <= level;
    return low;
}

START_TEST(the_p_value_is_uniform_while_nothing_changed)
{
    static const double levels[] = {0.05, 0.25, 0.5, 0.75};
    double p[VISITS];
    const int count = p_values(p);
    ck_assert_int_ge(count, VISITS - 4);
    /* limits that the true share leaves once in a thousand */
    for (size_t i = 0; i < sizeof levels / sizeof *levels; i++) {
        const int low = at_most(levels[i], p, count);
        ck_assert_msg(bb_binomial_lower(low, count, 0.0005) < levels[i] &&
                          bb_binomial_upper(low, count, 0.0005) > levels[i],
                      "%d of %d p values are below %g", low, count, levels[i]);
    }
}
END_TEST

Suite *suite_check(void);
Suite *suite_check(void)
{
    Suite *suite = suite_create("check");
    TCase *tests = tcase_create("fresh sweeps");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, limits_agree_with_published_ones);
    tcase_add_test(tests, the_p_value_is_uniform_while_nothing_changed);
    tcase_add_test(tests, what_changed_is_named);
    suite_add_tcase(suite, tests);
    return suite;
}
