/* The fit recovers an invented truth within its stated doubt, and its answer does not hang on how
 * the visit was written down. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"
#include "compare.h"
#include "digest.h"
#include "simulate/simulate.h"

enum { VISITS = 24, DRAWS = 4 };

static bool simulated_profile(const simulation *how, simulated_visit *simulated, bb_profile **profile)
{
    bb_visit visit = {0};
    bb_error error = {0};
    ck_assert(visit_simulate(how, simulated));
    ck_assert_int_eq(simulated_visit_read(simulated, &visit, &error), BB_OK);
    bb_status status = bb_fit(&visit, NULL, profile, &error);
    bb_visit_free(&visit);
    return status == BB_OK;
}

/* Share of fresh readings inside the central range that should hold nine in ten (randomised PIT), over
 * every target and zone at depths that were not swept. */
START_TEST(nine_readings_in_ten_fall_where_nine_should)
{
    static simulated_visit simulated;
    static bb_prediction at;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    int inside = 0, all = 0, fitted = 0;
    gsl_rng_set(random, 7);
    for (unsigned long seed = 1; seed <= VISITS; seed++) {
        const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_FULL, .seed = 1000 + seed};
        bb_profile *profile = NULL;
        bb_predictor *predictor = NULL;
        bb_error error = {0};
        if (!simulated_profile(&how, &simulated, &profile))
            continue;
        fitted++;
        ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
        const bb_machine *machine = &profile->machine;
        for (size_t k = 0; k < profile->target_count; k++)
            for (size_t z = 0; z < profile->zone_count; z++) {
                const truth_place place = {(int)z, (int)k, 0.05,
                                           profile->beach.swing_height_m, NAN};
                ck_assert_int_eq(bb_predict(predictor, (int)k, (int)z, 0.05, NAN, &at), BB_OK);
                for (int d = 0; d < DRAWS && !at.masked; d++) {
                    int number = truth_number(&simulated.truth, &place, 0, random);
                    double below = 0;
                    for (int n = machine->scale_low; n < number; n += machine->scale_step)
                        below += at.p[(n - machine->scale_low) / machine->scale_step];
                    double chance = at.p[(number - machine->scale_low) / machine->scale_step];
                    double u = below + gsl_rng_uniform(random) * chance;
                    inside += u > 0.05 && u < 0.95;
                    all++;
                }
            }
        bb_predictor_free(predictor);
        bb_profile_free(profile);
    }
    gsl_rng_free(random);
    ck_assert_int_ge(fitted, VISITS - 2);
    check_close("share of readings in the 90 % range", "simulated visits, their own truth", 0.90,
                (double)inside / all, absolute(0.03));
}
END_TEST

/* Reverse the rows of the sweeps and of the kit. */
static void write_differently(bb_visit *visit)
{
    for (size_t i = 0, j = visit->cell_count; i + 1 < j; i++) {
        bb_cell cell = visit->cells[i];
        visit->cells[i] = visit->cells[--j];
        visit->cells[j] = cell;
    }
    for (size_t z = 0; z < visit->zone_count; z++)
        (void)strcat(visit->zones[z].name, " strip");
}

START_TEST(rows_in_another_order_and_other_names_give_the_same_answer)
{
    static simulated_visit simulated;
    const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_QUARTER, .seed = 11};
    bb_visit visit = {0};
    bb_error error = {0};
    bb_profile *one = NULL, *other = NULL;
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    ck_assert_int_eq(bb_fit(&visit, NULL, &one, &error), BB_OK);
    write_differently(&visit);
    ck_assert_int_eq(bb_fit(&visit, NULL, &other, &error), BB_OK);
    for (size_t i = 0; i < one->parameter_count; i++) {
        check_close("parameter after another writing", "the first writing",
                    one->parameters[i].estimate, other->parameters[i].estimate, absolute(1e-9));
        check_close("standard error after another writing", "the first writing",
                    one->parameters[i].sd, other->parameters[i].sd, relative(1e-9));
    }
    ck_assert_str_eq(one->digest, other->digest);
    bb_profile_free(one);
    bb_profile_free(other);
    bb_visit_free(&visit);
}
END_TEST

START_TEST(a_shifted_scale_shifts_the_answer)
{
    enum { SHIFT = 37 };
    static simulated_visit simulated;
    static bb_prediction at, shifted;
    const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_QUARTER, .seed = 11};
    bb_visit visit = {0};
    bb_error error = {0};
    bb_profile *profile[2] = {NULL, NULL};
    bb_predictor *predictor[2] = {NULL, NULL};
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    ck_assert_int_eq(bb_fit(&visit, NULL, &profile[0], &error), BB_OK);
    visit.machine.scale_low += SHIFT;
    visit.machine.scale_high += SHIFT;
    for (size_t i = 0; i < visit.cell_count; i++)
        visit.cells[i].reading += SHIFT;
    ck_assert_int_eq(bb_fit(&visit, NULL, &profile[1], &error), BB_OK);
    for (int i = 0; i < 2; i++)
        ck_assert_int_eq(bb_predictor_new(profile[i], &predictor[i], &error), BB_OK);
    ck_assert_int_eq(bb_predict(predictor[0], 0, 0, 0.04, NAN, &at), BB_OK);
    ck_assert_int_eq(bb_predict(predictor[1], 0, 0, 0.04, NAN, &shifted), BB_OK);
    /* A fit settles to a thousandth of a prior's sd, where it stands on the scale decides which. */
    check_close("mean on a shifted scale, sds", "the first scale", 0,
                (shifted.mean - at.mean - SHIFT) / at.sd, absolute(1e-3));
    check_close("sd on a shifted scale, numbers", "the first scale", at.sd, shifted.sd,
                relative(1e-3));
    for (int i = 0; i < 2; i++) {
        bb_predictor_free(predictor[i]);
        bb_profile_free(profile[i]);
    }
    bb_visit_free(&visit);
}
END_TEST

START_TEST(bare_sand_alone_gives_its_number_and_no_more)
{
    static simulated_visit simulated;
    static bb_prediction sand;
    const simulation how = {.family = FAMILY_STEADY, .kind = VISIT_TWO_MINUTE, .seed = 5};
    bb_profile *profile = NULL;
    bb_predictor *predictor = NULL;
    bb_error error = {0};
    ck_assert(simulated_profile(&how, &simulated, &profile));
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
    ck_assert_int_eq(bb_predict_sand(predictor, 0, &sand, NULL), BB_OK);
    double read = 0, sum = 0;
    for (size_t n = 0; n < sand.count; n++) {
        read += profile->bare[0].counts[n];
        sum += profile->bare[0].counts[n] *
               (profile->machine.scale_low + (double)n * profile->machine.scale_step);
    }
    check_close("sand's number, numbers", "mean of the bare readings", sum / read, sand.mean,
                absolute(1.0));
    for (size_t i = 0; i < profile->parameter_count; i++)
        if (strncmp(profile->parameters[i].name, "target.", 7) == 0)
            ck_assert(profile->parameters[i].sd > 0.9 * profile->parameters[i].prior_sd);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

START_TEST(without_bare_sand_or_air_it_asks_for_them)
{
    static simulated_visit simulated;
    const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_QUARTER, .seed = 2};
    bb_visit visit = {0};
    bb_error error = {0};
    bb_profile *profile = NULL;
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    size_t kept = 0;
    for (size_t i = 0; i < visit.cell_count; i++)
        if (visit.cells[i].zone != BB_ZONE_AIR && visit.cells[i].target != BB_TARGET_SAND)
            visit.cells[kept++] = visit.cells[i];
    visit.cell_count = kept;
    ck_assert_int_eq(bb_fit(&visit, NULL, &profile, &error), BB_TOO_LITTLE);
    ck_assert_ptr_null(profile);
    ck_assert_ptr_nonnull(strstr(error.accepted, "bare"));
    bb_visit_free(&visit);
}
END_TEST

static double left_out_as_read_back(const bb_profile *profile)
{
    bb_error error = {0};
    bb_profile *back = NULL;
    char *text = NULL;
    ck_assert_int_eq(bb_profile_write(profile, true, &text, &error), BB_OK);
    ck_assert_int_eq(bb_profile_read(text, strlen(text), "p.json", &back, &error), BB_OK);
    const double sweeps = back->left_out;
    bb_profile_free(back);
    free(text);
    return sweeps;
}

/* Visits found by build/calibration --visit full --verbose: pieces at the edge of what the salt drowns,
 * which keep a fit from settling. Without their sweeps all six fit when this was written. */
START_TEST(sweeps_that_keep_a_fit_from_settling_are_left_out_and_named)
{
    static const simulation hard[] = {
        {.family = FAMILY_INSIDE, .seed = 57},     {.family = FAMILY_INSIDE, .seed = 132},
        {.family = FAMILY_INSIDE, .seed = 156},    {.family = FAMILY_STEADY, .seed = 22},
        {.family = FAMILY_DEPARTING, .seed = 127}, {.family = FAMILY_STEADY, .seed = 209}};
    enum { HARD = CASES(sizeof hard / sizeof *hard, 1) };
    static simulated_visit simulated;
    int refused = 0, mended = 0;
    for (int i = 0; i < HARD; i++) {
        bb_visit visit = {0};
        bb_profile *whole = NULL, *less = NULL, *alone = NULL;
        bb_error error = {0};
        bool left_out[SWEEPS_MAX];
        ck_assert(visit_simulate(&hard[i], &simulated));
        ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
        const bool settles = bb_fit(&visit, NULL, &whole, &error) == BB_OK;
        refused += settles ? 0 : 1;
        error = (bb_error){0};
        if (!settles && bb_fit_leaving_out(&visit, NULL, left_out, &less, &error) == BB_OK) {
            char digest[BB_DIGEST_BYTES];
            mended++;
            ck_assert_int_eq(bb_digest(&visit, digest), BB_OK);
            ck_assert_str_eq(less->digest, digest);
            double sweeps = 0;
            size_t kept = 0;
            for (size_t c = 0; c < visit.cell_count; c++) {
                if (left_out[c])
                    ck_assert_int_ge(visit.cells[c].target, 0);
                if (left_out[c])
                    sweeps += visit.cells[c].count;
                else
                    visit.cells[kept++] = visit.cells[c];
            }
            visit.cell_count = kept;
            ck_assert_double_gt(sweeps, 0);
            ck_assert_double_eq(less->left_out, sweeps);
            ck_assert_double_eq(left_out_as_read_back(less), sweeps);
            ck_assert_int_eq(bb_fit(&visit, NULL, &alone, &error), BB_OK);
            for (size_t p = 0; p < alone->parameter_count; p++)
                ck_assert_double_eq(alone->parameters[p].estimate, less->parameters[p].estimate);
        }
        bb_profile_free(whole);
        bb_profile_free(less);
        bb_profile_free(alone);
        bb_visit_free(&visit);
    }
    ck_assert_int_gt(refused, 0);
    ck_assert_int_ge(2 * mended, refused);
}
END_TEST

START_TEST(where_a_fit_settles_nothing_is_left_out)
{
    static simulated_visit simulated;
    const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_QUARTER, .seed = 3};
    bb_visit visit = {0};
    bb_error error = {0};
    bb_profile *plain = NULL, *less = NULL;
    bool left_out[SWEEPS_MAX];
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    ck_assert_int_eq(bb_fit(&visit, NULL, &plain, &error), BB_OK);
    ck_assert_int_eq(bb_fit_leaving_out(&visit, NULL, left_out, &less, &error), BB_OK);
    ck_assert_double_eq(less->left_out, 0);
    for (size_t c = 0; c < visit.cell_count; c++)
        ck_assert(!left_out[c]);
    for (size_t p = 0; p < plain->parameter_count; p++)
        ck_assert_double_eq(plain->parameters[p].estimate, less->parameters[p].estimate);
    bb_profile_free(plain);
    bb_profile_free(less);
    bb_visit_free(&visit);
}
END_TEST

/* The model errs at a place by what no number of sweeps there averages out. */
START_TEST(millions_of_sweeps_tell_no_more_than_thousands)
{
    static simulated_visit simulated;
    const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_QUARTER, .seed = 11};
    const double times[] = {1e5, 1e7};
    bb_visit visit = {0};
    bb_error error = {0};
    bb_profile *profile[2] = {NULL, NULL};
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    for (int k = 0; k < 2; k++) {
        for (size_t i = 0; i < visit.cell_count; i++)
            visit.cells[i].count *= times[k];
        ck_assert_int_eq(bb_fit(&visit, NULL, &profile[k], &error), BB_OK);
    }
    for (size_t i = 0; i < profile[0]->parameter_count; i++) {
        const bb_parameter *some = &profile[0]->parameters[i], *more = &profile[1]->parameters[i];
        check_close("estimate from more sweeps, of its sd", "a hundredth of them", 0,
                    (more->estimate - some->estimate) / some->sd, absolute(0.02));
        check_close("standard error from more sweeps", "a hundredth of them", some->sd, more->sd,
                    relative(0.01));
    }
    for (int k = 0; k < 2; k++)
        bb_profile_free(profile[k]);
    bb_visit_free(&visit);
}
END_TEST

Suite *suite_fit(void);
Suite *suite_fit(void)
{
    Suite *suite = suite_create("fit");
    TCase *tests = tcase_create("visits");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, nine_readings_in_ten_fall_where_nine_should);
    tcase_add_test(tests, rows_in_another_order_and_other_names_give_the_same_answer);
    tcase_add_test(tests, a_shifted_scale_shifts_the_answer);
    tcase_add_test(tests, bare_sand_alone_gives_its_number_and_no_more);
    tcase_add_test(tests, without_bare_sand_or_air_it_asks_for_them);
    tcase_add_test(tests, sweeps_that_keep_a_fit_from_settling_are_left_out_and_named);
    tcase_add_test(tests, where_a_fit_settles_nothing_is_left_out);
    tcase_add_test(tests, millions_of_sweeps_tell_no_more_than_thousands);
    suite_add_tcase(suite, tests);
    return suite;
}
