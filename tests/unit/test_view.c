/* What plots show of a profile, against the profile's own knots, against differences of whole
 * predictors, and against what is predicted. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compare.h"
#include "predictor.h"
#include "profile_fields.h"
#include "simulate/simulate.h"

static bb_visit visit;
static bb_profile *profile;
static bb_predictor *predictor;

static bb_predictor *predictor_of(const bb_profile *of)
{
    bb_predictor *made = NULL;
    bb_error error = {0};
    ck_assert_int_eq(bb_predictor_new(of, &made, &error), BB_OK);
    return made;
}

static void learn(void)
{
    static simulated_visit simulated;
    const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_QUARTER, .seed = 7};
    bb_error error = {0};
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    ck_assert_int_eq(bb_fit(&visit, NULL, &profile, &error), BB_OK);
    predictor = predictor_of(profile);
}

static void forget(void)
{
    bb_predictor_free(predictor);
    bb_profile_free(profile);
    bb_visit_free(&visit);
}

START_TEST(the_curve_goes_through_the_profiles_knots)
{
    bb_knot knots[BB_CURVE_KNOTS];
    bb_profile_knots(profile, knots);
    double number, se, before = -HUGE_VAL;
    for (int i = 0; i < BB_CURVE_KNOTS; i++) {
        ck_assert_int_eq(bb_machine_curve(predictor, knots[i].angle_deg, &number, &se), BB_OK);
        check_close("curve at a knot, numbers", "the profile's scale_knots", knots[i].number,
                    number, absolute(1e-9));
    }
    for (double angle = -90; angle <= 90; angle += 0.5) {
        ck_assert_int_eq(bb_machine_curve(predictor, angle, &number, &se), BB_OK);
        ck_assert(number >= before && se > 0 && isfinite(se));
        before = number;
    }
    ck_assert_int_eq(bb_machine_curve(predictor, 90.1, &number, &se), BB_RANGE);
    ck_assert_int_eq(bb_machine_curve(predictor, NAN, &number, &se), BB_RANGE);
}
END_TEST

/* The number at an angle when one parameter of the profile is moved. */
static double moved(size_t parameter, double by, double angle_deg)
{
    double number, se;
    profile->parameters[parameter].estimate += by;
    bb_predictor *other = predictor_of(profile);
    profile->parameters[parameter].estimate -= by;
    ck_assert_int_eq(bb_machine_curve(other, angle_deg, &number, &se), BB_OK);
    bb_predictor_free(other);
    return number;
}

START_TEST(its_standard_error_is_that_of_the_parameters_covariance)
{
    static const double angles[] = {-65, 3, 30, 77};
    const size_t count = profile->parameter_count;
    double *slope = calloc(count, sizeof *slope);
    ck_assert_ptr_nonnull(slope);
    for (size_t a = 0; a < sizeof angles / sizeof *angles; a++) {
        double variance = 0, number, se;
        for (size_t i = 0; i < count; i++)
            slope[i] = (moved(i, 1e-4, angles[a]) - moved(i, -1e-4, angles[a])) / 2e-4;
        for (size_t i = 0; i < count; i++)
            for (size_t j = 0; j < count; j++)
                variance += slope[i] * profile->covariance[i * count + j] * slope[j];
        ck_assert_int_eq(bb_machine_curve(predictor, angles[a], &number, &se), BB_OK);
        check_close("standard error of the curve, numbers", "central differences", sqrt(variance),
                    se, relative(1e-4));
    }
    free(slope);
}
END_TEST

START_TEST(a_piece_in_air_reads_the_curve_at_its_angle)
{
    static bb_prediction at;
    double angle, number, se;
    for (int k = 0; k < (int)profile->target_count; k++) {
        ck_assert_int_eq(bb_air_angle(predictor, k, &angle), BB_OK);
        ck_assert_int_eq(bb_machine_curve(predictor, angle, &number, &se), BB_OK);
        ck_assert_int_eq(bb_predict(predictor, k, BB_ZONE_AIR, 0.1, NAN, &at), BB_OK);
        if (number > profile->machine.scale_low + 4 * at.sd + 1 &&
            number < profile->machine.scale_high - 4 * at.sd - 1)
            check_close("number in air", "mean of the predictive distribution", at.mean, number,
                        absolute(0.02));
    }
    ck_assert_int_eq(bb_air_angle(predictor, -1, &angle), BB_RANGE);
    ck_assert_int_eq(bb_air_angle(predictor, (int)profile->target_count, &angle), BB_RANGE);
}
END_TEST

START_TEST(departures_are_counted_in_the_doubt_of_their_prediction)
{
    static bb_prediction at;
    bb_departure *found = calloc(visit.cell_count, sizeof *found);
    size_t count = 0, again = 0;
    ck_assert_int_eq(bb_departures(predictor, &visit, visit.cell_count, found, &count), BB_OK);
    ck_assert_uint_gt(count, 10);
    for (size_t i = 0; i < count; i++) {
        const bb_cell *cell = &visit.cells[found[i].cell];
        ck_assert(cell->has_reading && cell->setting == 0);
        ck_assert_int_eq(bb_predict(predictor, cell->target, cell->zone, cell->depth_m,
                                    cell->height_m > 0 ? cell->height_m : NAN, &at),
                         BB_OK);
        check_close("departure, numbers", "reading less the mean predicted",
                    cell->reading - at.mean, found[i].off * at.sd, absolute(1e-9));
    }
    ck_assert_int_eq(bb_departures(predictor, &visit, 2, found, &again), BB_OK);
    ck_assert_uint_eq(again, count);
    free(found);
}
END_TEST

static bool same_place(const bb_cell *a, const bb_cell *b)
{
    return a->setting == 0 && a->has_reading && a->zone == b->zone && a->target == b->target &&
           a->depth_m == b->depth_m && a->height_m == b->height_m;
}

START_TEST(the_furthest_miss_is_the_place_that_was_misread)
{
    enum { SLIP = 15 };
    bb_cell *cells = visit.cells, *spoilt = calloc(visit.cell_count, sizeof *spoilt);
    size_t at = 0, count = 0;
    double sweeps = 0, sum = 0;
    bb_miss misses[2];
    memcpy(spoilt, cells, visit.cell_count * sizeof *spoilt);
    while (cells[at].zone != BB_ZONE_AIR || cells[at].target == BB_TARGET_SAND ||
           !cells[at].has_reading)
        at++;
    const int slip = cells[at].reading > profile->machine.scale_low + SLIP ? -SLIP : SLIP;
    for (size_t i = 0; i < visit.cell_count; i++)
        if (same_place(&cells[i], &cells[at])) {
            spoilt[i].reading += slip;
            sweeps += spoilt[i].count;
            sum += spoilt[i].count * spoilt[i].reading;
        }
    visit.cells = spoilt;
    ck_assert_int_eq(bb_misses(predictor, &visit, 2, misses, &count), BB_OK);
    visit.cells = cells;
    ck_assert_uint_ge(count, 1);
    ck_assert(same_place(&spoilt[misses[0].cell], &cells[at]));
    check_close("read at the place misread", "mean of its sweeps", sum / sweeps, misses[0].read,
                absolute(1e-9));
    check_close("sweeps there", "counted", sweeps, misses[0].sweeps, absolute(0));
    check_close("expected less read", "the slip", -slip, misses[0].expected - misses[0].read,
                absolute(3));
    free(spoilt);
}
END_TEST

/* The visit with the cells given, for as long as a call takes. */
static bb_visit with_cells(bb_cell *cells)
{
    bb_visit other = visit;
    other.cells = cells;
    return other;
}

START_TEST(numbers_at_an_end_are_those_of_pieces_with_nothing_rejected)
{
    bb_cell *cells = calloc(visit.cell_count, sizeof *cells);
    double low = 0, readings = 0;
    bb_kit_span span;
    memcpy(cells, visit.cells, visit.cell_count * sizeof *cells);
    for (size_t i = 0; i < visit.cell_count; i++) {
        if (cells[i].target == BB_TARGET_SAND)
            continue;
        cells[i].setting = i % 3 == 0;
        cells[i].has_reading = i % 3 != 1;
        cells[i].reading = visit.machine.scale_low + (i % 2 == 0 ? 0 : visit.machine.scale_step);
        readings += i % 3 == 2 ? cells[i].count : 0;
        low += i % 3 == 2 && i % 2 == 0 ? cells[i].count : 0;
    }
    ck_assert(low > 0 && low < readings);
    const bb_visit changed = with_cells(cells);
    ck_assert_int_eq(bb_kit_span_of(predictor, &changed, &span), BB_OK);
    check_close("sweeps of pieces that count", "counted", readings, span.readings, absolute(0));
    check_close("of them at the lowest number", "counted", low, span.at_low_end, absolute(0));
    check_close("of them at the highest number", "none", 0, span.at_high_end, absolute(0));
    free(cells);
}
END_TEST

START_TEST(the_hardest_to_believe_comes_first)
{
    enum { SLIPS = 3, MOST = 64 };
    bb_cell *cells = calloc(visit.cell_count, sizeof *cells);
    bb_suspect suspects[MOST];
    size_t slips[SLIPS], made = 0, count = 0;
    memcpy(cells, visit.cells, visit.cell_count * sizeof *cells);
    for (size_t i = 0; i < visit.cell_count && made < SLIPS; i++)
        if (cells[i].zone == BB_ZONE_AIR && cells[i].has_reading &&
            (made == 0 || cells[i].target != cells[slips[made - 1]].target)) {
            const int off = 12 + 3 * (int)made;
            cells[i].reading += cells[i].reading > visit.machine.scale_low + off ? -off : off;
            slips[made++] = i;
        }
    ck_assert_uint_eq(made, SLIPS);
    const bb_visit changed = with_cells(cells);
    ck_assert_int_eq(bb_suspects(predictor, &changed, MOST, suspects, &count), BB_OK);
    ck_assert_uint_ge(count, SLIPS);
    for (size_t k = 0; k < SLIPS; k++) {
        size_t at = 0;
        while (at < count && suspects[at].cell != slips[k])
            at++;
        ck_assert_msg(at < SLIPS, "slip %zu is not among the first suspects", k);
    }
    free(cells);
}
END_TEST

Suite *suite_view(void);
Suite *suite_view(void)
{
    Suite *suite = suite_create("view");
    TCase *tests = tcase_create("view");
    tcase_set_timeout(tests, 60);
    tcase_add_unchecked_fixture(tests, learn, forget);
    tcase_add_test(tests, the_curve_goes_through_the_profiles_knots);
    tcase_add_test(tests, its_standard_error_is_that_of_the_parameters_covariance);
    tcase_add_test(tests, a_piece_in_air_reads_the_curve_at_its_angle);
    tcase_add_test(tests, departures_are_counted_in_the_doubt_of_their_prediction);
    tcase_add_test(tests, the_furthest_miss_is_the_place_that_was_misread);
    tcase_add_test(tests, numbers_at_an_end_are_those_of_pieces_with_nothing_rejected);
    tcase_add_test(tests, the_hardest_to_believe_comes_first);
    suite_add_tcase(suite, tests);
    return suite;
}
