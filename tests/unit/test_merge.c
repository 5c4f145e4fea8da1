/* A club's visits together, on invented days of one beach. */
#include "compare.h"
#include "simulate/simulate.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DAYS = 3 };

static bb_profile *days[DAYS];

static void fit_days(void)
{
    static simulated_visit simulated;
    const simulation of = {.family = FAMILY_INSIDE, .kind = VISIT_FULL, .seed = 7};
    for (unsigned long day = 0; day < DAYS; day++) {
        bb_visit visit = {0};
        bb_error error = {0};
        ck_assert(visit_simulate_day(&of, day, &simulated));
        ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
        ck_assert_int_eq(bb_fit(&visit, NULL, &days[day], &error), BB_OK);
        bb_visit_free(&visit);
    }
}

static void free_days(void)
{
    for (int day = 0; day < DAYS; day++)
        bb_profile_free(days[day]);
}

static bb_profile *merge_of(const int *order, size_t count)
{
    const bb_merge_options options = {0};
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_error error = {0};
    bb_profile *club = NULL;
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    for (size_t i = 0; i < count; i++)
        ck_assert_int_eq(bb_merge_add(merge, days[order[i]], "member", &fate, &error), BB_OK);
    ck_assert_int_eq(bb_merge_end(merge, &club, NULL, NULL, &error), BB_OK);
    bb_merge_free(merge);
    return club;
}

START_TEST(order_and_repeats_leave_no_trace)
{
    static const int order[] = {0, 1, 2}, other[] = {2, 0, 2, 1, 0};
    bb_profile *one = merge_of(order, 3), *two = merge_of(other, 5);
    ck_assert_int_eq(one->pooled_visits, DAYS);
    ck_assert_int_eq(two->pooled_visits, DAYS);
    ck_assert_uint_eq(one->parameter_count, two->parameter_count);
    for (size_t i = 0; i < one->parameter_count; i++) {
        ck_assert_str_eq(one->parameters[i].name, two->parameters[i].name);
        check_close("club, estimate", "files in another order", one->parameters[i].estimate,
                    two->parameters[i].estimate, absolute(1e-9));
        check_close("club, sd", "files in another order", one->parameters[i].sd,
                    two->parameters[i].sd, relative(1e-9));
    }
    bb_profile_free(one);
    bb_profile_free(two);
}
END_TEST

START_TEST(survives_the_file)
{
    static const int order[] = {0, 1, 2};
    bb_profile *club = merge_of(order, 3), *back = NULL;
    bb_error error = {0};
    char *text = NULL;
    bb_profile_anonymise(club);
    ck_assert_int_eq(bb_profile_write(club, false, &text, &error), BB_OK);
    ck_assert_int_eq(bb_profile_read(text, strlen(text), "club.json", &back, &error), BB_OK);
    ck_assert_int_eq(back->pooled_visits, DAYS);
    ck_assert_str_eq(back->machine.name, "");
    ck_assert_uint_eq(strlen(back->beach.date), strlen("2026-05"));
    free(text);
    bb_profile_free(back);
    bb_profile_free(club);
}
END_TEST

START_TEST(a_club_is_a_prior_but_not_a_visit)
{
    static const int order[] = {0, 1};
    static simulated_visit simulated;
    const simulation of = {.family = FAMILY_INSIDE, .kind = VISIT_FULL, .seed = 7};
    const bb_merge_options options = {0};
    bb_profile *club = merge_of(order, 2), *third = NULL;
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_visit visit = {0};
    bb_error error = {0};
    ck_assert(visit_simulate_day(&of, 2, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    ck_assert_int_eq(bb_fit(&visit, club, &third, &error), BB_OK);
    ck_assert(bb_prior_contest_of(third).p > 0.01);
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, club, "club", &fate, &error), BB_OK);
    ck_assert_int_eq(fate, BB_MERGE_POOLED);
    ck_assert_int_eq(bb_merge_add(merge, third, "third", &fate, &error), BB_OK);
    ck_assert_int_eq(fate, BB_MERGE_FROM_PRIOR);
    bb_profile *none = NULL;
    ck_assert_int_eq(bb_merge_end(merge, &none, NULL, NULL, &error), BB_TOO_LITTLE);
    ck_assert_ptr_null(none);
    bb_merge_free(merge);
    bb_profile_free(third);
    bb_profile_free(club);
    bb_visit_free(&visit);
}
END_TEST

/* What a merge of profiles says of one quantity; NULL pooled.entries where none does. */
static bb_merge_quantity quantity_in(bb_profile *const *profiles, size_t count, bb_merge_kind kind,
                                     const char *name)
{
    const bb_merge_options options = {0};
    const bb_merge_quantity *all = NULL;
    size_t all_count = 0;
    bb_merge_quantity found = {0};
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_error error = {0};
    bb_profile *club = NULL;
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    for (size_t i = 0; i < count; i++)
        ck_assert_int_eq(bb_merge_add(merge, profiles[i], "member", &fate, &error), BB_OK);
    ck_assert_int_eq(bb_merge_end(merge, &club, &all, &all_count, &error), BB_OK);
    for (size_t i = 0; i < all_count; i++)
        if (all[i].kind == kind && strcmp(all[i].name, name) == 0) {
            found = all[i];
            found.entries = calloc(found.pooled.count, sizeof *found.entries);
            memcpy(found.entries, all[i].entries, found.pooled.count * sizeof *found.entries);
        }
    ck_assert_ptr_nonnull(found.entries);
    bb_profile_free(club);
    bb_merge_free(merge);
    return found;
}

static bb_profile *copy_of(const bb_profile *profile)
{
    bb_profile *copy = NULL;
    ck_assert_int_eq(bb_profile_copy(profile, &copy), BB_OK);
    return copy;
}

START_TEST(leaving_one_out_moves_the_mean_as_it_said)
{
    const bb_merge_quantity all = quantity_in(days, DAYS, BB_MERGE_SALT, "wet");
    bb_merge_quantity without = quantity_in(days + 1, DAYS - 1, BB_MERGE_SALT, "wet");
    size_t first = 0;
    while (all.entries[first].visit != 0)
        first++;
    ck_assert(all.pooled.tau2 == 0 && without.pooled.tau2 == 0);
    check_close("club, salt level", "theory: mean without a visit",
                all.pooled.mean - all.entries[first].shift, without.pooled.mean, absolute(1e-12));
    free(all.entries);
    free(without.entries);
}
END_TEST

START_TEST(each_visit_twice_halves_the_variance)
{
    bb_profile *twice[2 * DAYS];
    for (int i = 0; i < 2 * DAYS; i++) {
        twice[i] = copy_of(days[i % DAYS]);
        if (i >= DAYS)
            twice[i]->digest[0] = twice[i]->digest[0] == '0' ? '1' : '0';
    }
    const bb_merge_quantity one = quantity_in(days, DAYS, BB_MERGE_SALT, "damp"),
                            two = quantity_in(twice, 2 * DAYS, BB_MERGE_SALT, "damp");
    ck_assert(one.pooled.tau2 == 0 && two.pooled.tau2 == 0);
    check_close("club, salt level", "theory: each twice", one.pooled.mean, two.pooled.mean,
                absolute(1e-12));
    check_close("club, se of the salt level", "theory: each twice", one.pooled.se / sqrt(2),
                two.pooled.se, relative(1e-12));
    check_close("club, Cochran's Q", "theory: each twice", 2 * one.pooled.q, two.pooled.q,
                absolute(1e-12));
    free(one.entries);
    free(two.entries);
    for (int i = 0; i < 2 * DAYS; i++)
        bb_profile_free(twice[i]);
}
END_TEST

START_TEST(a_visit_is_known_by_its_sweeps_not_by_its_name)
{
    const bb_merge_options options = {0};
    bb_profile *copy = copy_of(days[0]);
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_error error = {0};
    (void)strcpy(copy->beach.date, "1999-12-31");
    (void)strcpy(copy->beach.name, "elsewhere");
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, days[0], "one", &fate, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, copy, "two", &fate, &error), BB_OK);
    ck_assert_int_eq(fate, BB_MERGE_TWICE);
    bb_merge_free(merge);
    bb_profile_free(copy);
}
END_TEST

/* The weight on the wet sand's angle of a member that claims it to a thousandth of its doubt. */
static double weight_of_tight(double shift_deg)
{
    bb_profile *tight = copy_of(days[1]);
    const size_t n = tight->parameter_count;
    double weight = NAN;
    for (size_t i = 0; i < n; i++)
        if (strcmp(tight->parameters[i].name, "zone.wet.angle_deg") == 0) {
            for (size_t j = 0; j < n; j++)
                tight->covariance[i * n + j] = tight->covariance[j * n + i] *= 1e-3;
            tight->covariance[i * n + i] *= 1e-3;
            tight->parameters[i].sd *= 1e-3;
            tight->parameters[i].estimate += shift_deg;
        }
    bb_profile *members[DAYS] = {days[0], tight, days[2]};
    const bb_merge_quantity angle = quantity_in(members, DAYS, BB_MERGE_ANGLE, "wet");
    for (size_t i = 0; i < angle.pooled.count; i++)
        if (angle.entries[i].visit == 1)
            weight = angle.entries[i].weight;
    free(angle.entries);
    bb_profile_free(tight);
    return weight;
}

START_TEST(a_tight_member_shows_its_weight_and_loses_it_where_visits_differ)
{
    ck_assert_double_gt(weight_of_tight(0), 0.5);
    ck_assert_double_lt(weight_of_tight(30), 0.5);
}
END_TEST

/* ---------------------------------------------------------------- what may not be pooled */

typedef struct {
    const char *field;
    void (*spoil)(bb_profile *profile);
} clash;

static void spoil_scale_low(bb_profile *p) { p->machine.scale_low -= p->machine.scale_step; }
static void spoil_scale_high(bb_profile *p) { p->machine.scale_high += p->machine.scale_step; }
static void spoil_scale_step(bb_profile *p) { p->machine.scale_step *= 2; }
static void spoil_coil(bb_profile *p) { p->machine.coil_radius_m *= 1.01; }
static void spoil_frequency(bb_profile *p) { p->machine.frequency_hz *= 1.01; }
static void spoil_kind(bb_profile *p) { p->machine.frequency_kind = BB_FREQUENCY_UNKNOWN; }
static void spoil_lower(bb_profile *p) { p->machine.lower_frequency_hz += 1000; }
static void spoil_settings(bb_profile *p) { (void)strcpy(p->machine.settings, "another"); }
static void spoil_name(bb_profile *p) { (void)strcpy(p->machine.name, "another"); }
static void spoil_shape(bb_profile *p) { p->targets[0].shape = BB_SHAPE_OTHER; }
static void spoil_metal(bb_profile *p) { (void)strcpy(p->targets[0].material, "another"); }
static void spoil_material(bb_profile *p) { p->targets[0].conductivity_S_per_m *= 1.01; }
static void spoil_diameter(bb_profile *p) { p->targets[0].diameter_m *= 1.01; }
static void spoil_thickness(bb_profile *p) { p->targets[0].thickness_m *= 1.01; }
static void spoil_bore(bb_profile *p) { p->targets[1].bore_m *= 1.001; }
static void spoil_mass(bb_profile *p) { p->targets[0].mass_kg = 0.001; }
static void spoil_core(bb_profile *p) { (void)strcpy(p->targets[0].core, "another"); }
static void spoil_core_metal(bb_profile *p) { p->targets[0].core_conductivity_S_per_m = 1e6; }
static void spoil_plating(bb_profile *p) { p->targets[0].plating_m = 1e-5; }
static void spoil_years(bb_profile *p) { p->targets[5].years += 1; }

static const clash machine_clashes[] = {
    {"scale_low", spoil_scale_low},     {"scale_high", spoil_scale_high},
    {"scale_step", spoil_scale_step},   {"coil_diameter_cm", spoil_coil},
    {"frequency_khz", spoil_frequency}, {"frequency_khz", spoil_kind},
    {"frequency_khz", spoil_lower},     {"settings", spoil_settings},
    {"name", spoil_name},
};
static const clash piece_clashes[] = {
    {"shape", spoil_shape},
    {"material", spoil_metal},
    {"material", spoil_material},
    {"diameter_mm", spoil_diameter},
    {"thickness_mm", spoil_thickness},
    {"bore_mm", spoil_bore},
    {"mass_g", spoil_mass},
    {"core", spoil_core},
    {"core", spoil_core_metal},
    {"plating_um", spoil_plating},
    {"years", spoil_years},
};

/* Refused with the field's name, and as if it had never been added. */
static void check_clash(const clash *of)
{
    const bb_merge_options options = {0};
    bb_profile *copy = copy_of(days[1]), *club = NULL;
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_error error = {0};
    char wanted[64];
    of->spoil(copy);
    (void)snprintf(wanted, sizeof wanted, "its %s differs", of->field);
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, days[0], "one", &fate, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, copy, "two", &fate, &error), BB_INPUT);
    ck_assert_msg(strncmp(error.accepted, "two: ", 5) == 0 &&
                  strstr(error.accepted, wanted) != NULL, "%s: %s", of->field, error.accepted);
    ck_assert_int_eq(bb_merge_end(merge, &club, NULL, NULL, &error), BB_OK);
    ck_assert_int_eq(club->pooled_visits, 1);
    bb_profile_free(club);
    bb_merge_free(merge);
    bb_profile_free(copy);
}

START_TEST(a_profile_without_a_digest_is_refused)
{
    const bb_merge_options options = {0};
    bb_profile *copy = copy_of(days[1]);
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_error error = {0};
    *copy->digest = '\0';
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, copy, "one", &fate, &error), BB_INPUT);
    ck_assert_msg(strncmp(error.accepted, "one: it has no digest", 21) == 0, "%s", error.accepted);
    bb_merge_free(merge);
    bb_profile_free(copy);
}
END_TEST

START_TEST(only_the_beach_is_pooled_over_machines)
{
    const bb_merge_options options = {.any_machine = true};
    bb_profile *copy = copy_of(days[1]), *club = NULL;
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_error error = {0};
    const bb_merge_quantity *all = NULL;
    size_t count = 0;
    spoil_settings(copy);
    spoil_name(copy);
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, days[0], "one", &fate, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, copy, "two", &fate, &error), BB_OK);
    ck_assert_int_eq(bb_merge_end(merge, &club, &all, &count, &error), BB_OK);
    ck_assert_int_eq(club->pooled_visits, 2);
    ck_assert(club->any_machine && club->target_count == 0 && *club->machine.name == '\0');
    for (size_t i = 0; i < count; i++)
        ck_assert_int_le(all[i].kind, BB_MERGE_JITTER);
    bb_profile_free(club);
    bb_merge_free(merge);
    bb_profile_free(copy);
}
END_TEST

/* The day once more, its sweeps told apart by their digest. */
static bb_profile *day_by_digest(unsigned number)
{
    bb_profile *copy = copy_of(days[0]);
    char digits[9];
    (void)snprintf(digits, sizeof digits, "%08x", number);
    memcpy(copy->digest, digits, 8);
    return copy;
}

START_TEST(a_club_of_many_knows_each_again)
{
    enum { MANY = 40 };
    const bb_merge_options options = {0};
    bb_merge *merge = NULL;
    bb_error error = {0};
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    for (unsigned i = 0; i < 2 * MANY; i++) {
        bb_profile *member = day_by_digest(i % MANY);
        bb_merge_fate fate;
        ck_assert_int_eq(bb_merge_add(merge, member, "member", &fate, &error), BB_OK);
        ck_assert_int_eq(fate, i < MANY ? BB_MERGE_COUNTED : BB_MERGE_TWICE);
        bb_profile_free(member);
    }
    bb_merge_free(merge);
}
END_TEST

/* What only one member says of the beach: its name is dropped, what it assumed stays assumed. */
START_TEST(what_one_member_assumed_is_assumed)
{
    const bb_merge_options options = {0};
    bb_profile *first = day_by_digest(1), *second = day_by_digest(2), *club = NULL;
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_error error = {0};
    first->beach.swing_height_assumed = first->beach.water_assumed = false;
    first->beach.porosity_assumed = false;
    first->machine.name[0] = '\0';
    second->beach.swing_height_assumed = second->beach.water_assumed = true;
    second->beach.porosity_assumed = true;
    for (size_t z = 0; z < first->zone_count; z++) {
        first->zones[z].wetness_assumed = z == 0;
        second->zones[z].wetness_assumed = true;
    }
    (void)strcpy(second->machine.name, "another");
    (void)strcpy(second->beach.name, "elsewhere");
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, first, "one", &fate, &error), BB_OK);
    ck_assert_int_eq(bb_merge_add(merge, second, "two", &fate, &error), BB_OK);
    ck_assert_int_eq(bb_merge_end(merge, &club, NULL, NULL, &error), BB_OK);
    ck_assert_int_eq(fate, BB_MERGE_COUNTED);
    ck_assert(club->beach.swing_height_assumed);
    ck_assert(club->beach.water_assumed);
    ck_assert(club->beach.porosity_assumed);
    ck_assert(club->zones[0].wetness_assumed);
    ck_assert_str_eq(club->beach.name, "");
    bb_profile_free(club);
    bb_merge_free(merge);
    bb_profile_free(first);
    bb_profile_free(second);
}
END_TEST

/* A zone or a piece, and its parameters, by another name. */
static void rename_first(bb_profile *profile, bool zone, const char *name)
{
    char *own = zone ? profile->zones[0].name : profile->targets[0].name;
    char before[2 * BB_NAME_BYTES];
    const int length = snprintf(before, sizeof before, "%s.%s.", zone ? "zone" : "target", own);
    for (size_t i = 0; i < profile->parameter_count; i++) {
        bb_parameter *parameter = &profile->parameters[i];
        char rest[32];
        if (strncmp(parameter->name, before, (size_t)length) != 0)
            continue;
        (void)snprintf(rest, sizeof rest, "%s", parameter->name + length);
        (void)snprintf(parameter->name, sizeof parameter->name, "%s.%.15s.%s",
                       zone ? "zone" : "target", name, rest);
    }
    (void)strcpy(own, name);
}

/* More names than a club has room for. */
static void check_crowd(bool zones)
{
    const bb_merge_options options = {0};
    bb_merge *merge = NULL;
    bb_merge_fate fate;
    bb_error error = {0};
    bb_status status = BB_OK;
    unsigned i = 0;
    ck_assert_int_eq(bb_merge_begin(&options, &merge, &error), BB_OK);
    for (; status == BB_OK && i < 400; i++) {
        bb_profile *member = day_by_digest(i);
        char name[BB_NAME_BYTES];
        (void)snprintf(name, sizeof name, "number %u", i);
        rename_first(member, zones, name);
        status = bb_merge_add(merge, member, "last", &fate, &error);
        bb_profile_free(member);
    }
    ck_assert_int_eq(status, BB_INPUT);
    ck_assert_msg(strncmp(error.accepted, zones ? "last: more than 16 zones"
                                                : "last: more than 256 pieces", 24) == 0,
                  "%s", error.accepted);
    bb_merge_free(merge);
}

START_TEST(a_club_has_only_so_many_zones_and_pieces)
{
    check_crowd(_i == 0);
}
END_TEST

START_TEST(another_machine_is_named)
{
    check_clash(&machine_clashes[_i]);
}
END_TEST

START_TEST(another_piece_is_named)
{
    check_clash(&piece_clashes[_i]);
}
END_TEST

Suite *suite_merge(void);
Suite *suite_merge(void)
{
    Suite *suite = suite_create("merge");
    TCase *tests = tcase_create("club");
    tcase_set_timeout(tests, 120);
    tcase_add_unchecked_fixture(tests, fit_days, free_days);
    tcase_add_test(tests, order_and_repeats_leave_no_trace);
    tcase_add_test(tests, survives_the_file);
    tcase_add_test(tests, a_club_is_a_prior_but_not_a_visit);
    tcase_add_test(tests, leaving_one_out_moves_the_mean_as_it_said);
    tcase_add_test(tests, each_visit_twice_halves_the_variance);
    tcase_add_test(tests, a_visit_is_known_by_its_sweeps_not_by_its_name);
    tcase_add_test(tests, a_tight_member_shows_its_weight_and_loses_it_where_visits_differ);
    tcase_add_test(tests, a_profile_without_a_digest_is_refused);
    tcase_add_test(tests, only_the_beach_is_pooled_over_machines);
    tcase_add_test(tests, a_club_of_many_knows_each_again);
    tcase_add_test(tests, what_one_member_assumed_is_assumed);
    tcase_add_loop_test(tests, a_club_has_only_so_many_zones_and_pieces, 0, 2);
    tcase_add_loop_test(tests, another_machine_is_named, 0,
                        sizeof machine_clashes / sizeof *machine_clashes);
    tcase_add_loop_test(tests, another_piece_is_named, 0,
                        sizeof piece_clashes / sizeof *piece_clashes);
    suite_add_tcase(suite, tests);
    return suite;
}
