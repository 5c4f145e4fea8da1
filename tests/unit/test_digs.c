/* What was dug: reading it, scoring past calls, and finds by the hour. */
#include "brineband.h"
#include "compare.h"
#include "small_visit.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bb_digs read_digs(const bb_profile *profile, const char *text)
{
    bb_digs digs = {0};
    bb_error error = {0};
    char message[1024];
    bb_status status = bb_digs_read(text, strlen(text), "digs.csv", profile, &digs, &error);
    bb_error_text(&error, message, sizeof message);
    ck_assert_msg(status == BB_OK, "%s", message);
    return digs;
}

/* ---------------------------------------------------------------- reading */

START_TEST(digs_are_read_by_group_piece_or_nothing)
{
    bb_profile *profile = small_profile();
    bb_digs digs = read_digs(profile, "found,where,zone,reading,minutes,depth_cm,lat,lon,time,note\n"
                                      "stud,the cut,wet,14 15,12.5,7,-51.25,179.5,23:59,a\n"
                                      "Small Gold,the cut,damp,14,,,,,,\n"
                                      "nothing,,wet,23,,,,,,\n"
                                      ",weed line,wet,,30,,,,,\n");
    static const char *const groups[] = {"small gold", "small gold", "bare sand", ""};
    static const int spots[] = {0, 0, -1, 1};
    ck_assert_uint_eq(digs.count, 4);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_str_eq(digs.digs[i].found, groups[i]);
        ck_assert_int_eq(digs.digs[i].spot, spots[i]);
        ck_assert_int_eq(digs.digs[i].keep, i < 2);
    }
    ck_assert_uint_eq(digs.digs[0].reading_count, 2);
    ck_assert_int_eq(digs.digs[0].readings[1], 15);
    ck_assert_int_eq(digs.digs[1].zone, 1);
    ck_assert(isnan(digs.digs[1].depth_m));
    check_close("depth, m", "as typed", 0.07, digs.digs[0].depth_m, absolute(0));
    check_close("time, minutes", "as typed", 12.5, digs.digs[0].minutes, absolute(0));
    ck_assert_str_eq(digs.spots[1], "weed line");
    bb_digs_free(&digs);
    bb_profile_free(profile);
}
END_TEST

START_TEST(a_second_file_is_added_and_a_bad_one_leaves_all_as_it_was)
{
    bb_profile *profile = small_profile();
    bb_digs digs = read_digs(profile, "zone,reading,found,where\nwet,23,sand,cut\n");
    static const char more[] = "zone,reading,found,where\nwet,30,foil,cut\nwet,31,foil,bar\n";
    static const char bad[] = "zone,reading,found,where\nwet,30,foil,lee\nwet,31,foils,lee\n";
    ck_assert_int_eq(bb_digs_read(more, strlen(more), "b.csv", profile, &digs, NULL), BB_OK);
    ck_assert_uint_eq(digs.count, 3);
    ck_assert_int_eq(digs.digs[1].spot, 0);
    ck_assert_int_eq(bb_digs_read(bad, strlen(bad), "c.csv", profile, &digs, NULL), BB_INPUT);
    ck_assert_uint_eq(digs.count, 3);
    ck_assert_uint_eq(digs.spot_count, 2);
    bb_digs_free(&digs);
    bb_digs_free(&digs);
    bb_digs_free(NULL);
    bb_profile_free(profile);
}
END_TEST

START_TEST(every_invalid_row_is_refused_at_its_place)
{
    bb_profile *profile = small_profile();
    reference *cases = reference_open("tests/data/invalid_digs.csv");
    for (size_t row = 0; row < reference_rows(cases); row++) {
        char text[1024], wanted[1024], message[1024];
        bb_digs digs = {0};
        bb_error error = {0};
        (void)snprintf(text, sizeof text, "%s", reference_text(cases, row, "text"));
        for (char *end; (end = strchr(text, '|')) != NULL;)
            *end = '\n';
        (void)snprintf(wanted, sizeof wanted, "d.csv:%s", reference_text(cases, row, "message"));
        bb_status status = bb_digs_read(text, strlen(text), "d.csv", profile, &digs, &error);
        bb_error_text(&error, message, sizeof message);
        ck_assert_msg(status == BB_INPUT && strcmp(message, wanted) == 0,
                      "%s:\n  wanted %s\n  got    %s", reference_text(cases, row, "case"), wanted,
                      message);
        ck_assert_ptr_null(digs.digs);
    }
    reference_close(cases);
    bb_profile_free(profile);
}
END_TEST

START_TEST(spots_are_a_thousand_at_most)
{
    enum { SPOTS_MAX = 1000 };
    bb_profile *profile = small_profile();
    bb_digs digs = {0};
    bb_error error = {0};
    char *text = NULL, message[256];
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    ck_assert_ptr_nonnull(out);
    (void)fputs("zone,reading,found,where\n", out);
    for (int i = 0; i <= SPOTS_MAX; i++)
        (void)fprintf(out, "wet,23,foil,spot %d\n", i);
    ck_assert_int_eq(fclose(out), 0);
    const size_t last = strlen("wet,23,foil,spot 1000\n");
    ck_assert_int_eq(bb_digs_read(text, length, "d.csv", profile, &digs, &error), BB_INPUT);
    bb_error_text(&error, message, sizeof message);
    ck_assert_str_eq(message,
                     "d.csv:1002:4: found one spot more, accepted at most 1000 different spots");
    ck_assert_int_eq(bb_digs_read(text, length - last, "d.csv", profile, &digs, NULL), BB_OK);
    ck_assert_uint_eq(digs.spot_count, SPOTS_MAX);
    free(text);
    bb_digs_free(&digs);
    bb_profile_free(profile);
}
END_TEST

/* ---------------------------------------------------------------- the score */

START_TEST(the_brier_score_and_its_parts_are_exact)
{
    static const char source[] = "computed exactly: reference/brier.csv";
    static const size_t levels[] = {1, 3, 6, 9}, calls[] = {4, 5, 4, 7}, came[] = {1, 2, 3, 6};
    reference *table = reference_open("reference/brier.csv");
    double chance[64];
    bool outcome[64];
    const size_t count = reference_rows(table);
    bb_brier brier;
    for (size_t row = 0; row < count; row++) {
        chance[row] = reference_number(table, row, "f");
        outcome[row] = reference_number(table, row, "o") > 0;
    }
    ck_assert_int_eq(bb_brier_score(chance, outcome, count, &brier), BB_OK);
    check_close("Brier score", source, 0.19, brier.score, absolute(1e-15));
    check_close("reliability", source, 17 / 1400.0, brier.reliability, absolute(1e-15));
    check_close("resolution", source, 87 / 1400.0, brier.resolution, absolute(1e-15));
    check_close("uncertainty", source, 0.24, brier.uncertainty, absolute(1e-15));
    check_close("skill", source, 1 - 0.19 / 0.24, brier.skill, absolute(1e-15));
    for (size_t i = 0; i < 4; i++) {
        const bb_brier_bin *bin = &brier.bins[levels[i]];
        ck_assert_uint_eq(bin->calls, calls[i]);
        ck_assert_uint_eq(bin->came, came[i]);
    }
    reference_close(table);
}
END_TEST

/* Chances that differ within a bin: the three parts still add up. */
START_TEST(the_parts_add_up_for_any_chances)
{
    double chance[97];
    bool came[97];
    bb_brier brier;
    for (size_t i = 0; i < 97; i++) {
        chance[i] = i % 11 == 0 ? NAN : fmod(0.618034 * (double)i, 1.0);
        came[i] = i * i % 7 < 3;
    }
    ck_assert_int_eq(bb_brier_score(chance, came, 97, &brier), BB_OK);
    ck_assert_uint_eq(brier.calls, 88);
    check_close("sum of the three parts", "the score", brier.score,
                brier.reliability - brier.resolution + brier.uncertainty, absolute(1e-14));
}
END_TEST

START_TEST(scores_of_few_and_wrong_chances)
{
    bb_brier brier;
    const double sure = 1, none = NAN, wrong = 1.5, below = -0.1;
    const bool yes = true;
    ck_assert_int_eq(bb_brier_score(&none, &yes, 1, &brier), BB_TOO_LITTLE);
    ck_assert_int_eq(bb_brier_score(&sure, &yes, 0, &brier), BB_TOO_LITTLE);
    ck_assert_int_eq(bb_brier_score(&wrong, &yes, 1, &brier), BB_RANGE);
    ck_assert_int_eq(bb_brier_score(&below, &yes, 1, &brier), BB_RANGE);
    ck_assert_int_eq(bb_brier_score(&sure, &yes, 1, &brier), BB_OK);
    ck_assert(brier.score == 0 && isnan(brier.se) && isnan(brier.skill));
    ck_assert_uint_eq(brier.bins[BB_BRIER_BINS - 1].calls, 1);
}
END_TEST

/* ---------------------------------------------------------------- what they add up to */

START_TEST(calls_are_those_of_judge)
{
    bb_profile *profile = small_profile();
    bb_digs digs = read_digs(profile, "zone,reading,found,depth_cm,minutes\ndamp,38 37,bead,9,\n"
                                      "wet,,,,30\nwet,30,foil,,\n");
    double chance[3];
    const bb_judge_options options = {.only_kit = false, .depth_m = NAN};
    ck_assert_int_eq(bb_digs_calls(profile, &digs, chance, NULL), BB_OK);
    ck_assert(isnan(chance[1]));
    for (int i = 0; i < 3; i += 2) {
        bb_judge *judge = NULL;
        bb_judgement found;
        const bb_dig *dig = &digs.digs[i];
        ck_assert_int_eq(bb_judge_new(profile, dig->zone, &options, &judge, NULL), BB_OK);
        ck_assert_int_eq(
            bb_judge_readings(judge, dig->readings, dig->reading_count, false, &found), BB_OK);
        check_close("chance called", "judge", found.keep.probability, chance[i], absolute(1e-12));
        bb_judge_free(judge);
    }
    bb_digs_free(&digs);
    bb_profile_free(profile);
}
END_TEST

START_TEST(finds_are_counted_by_group_and_zone)
{
    bb_profile *profile = small_profile();
    bb_digs digs = read_digs(profile, "zone,reading,found\nwet,30,foil\nwet,31,scrap\n"
                                      "damp,30,foil\nwet,23,nothing\n");
    bb_finds *finds = NULL;
    size_t count = 0;
    ck_assert_int_eq(bb_digs_count(profile, &digs, &finds, &count), BB_OK);
    ck_assert_uint_eq(count, 2);
    ck_assert_str_eq(finds[0].group, "foil");
    ck_assert(finds[0].dug[0] == 2 && finds[0].dug[1] == 1);
    ck_assert_str_eq(finds[1].group, "bare sand");
    ck_assert(finds[1].dug[0] == 1 && finds[1].dug[1] == 0);
    free(finds);
    profile->zone_count = 1; /* digs of a zone that the profile has not are not its own */
    ck_assert_int_eq(bb_digs_count(profile, &digs, &finds, &count), BB_OK);
    ck_assert_uint_eq(count, 2);
    ck_assert(finds[0].dug[0] == 2 && finds[0].dug[1] == 0);
    free(finds);
    profile->zone_count = 2;
    bb_digs_free(&digs);
    bb_profile_free(profile);
}
END_TEST

START_TEST(finds_by_the_hour_have_exact_limits)
{
    static const char source[] = "Garwood 1936: reference/poisson_limits.csv";
    reference *table = reference_open("reference/poisson_limits.csv");
    for (size_t row = 0; row < reference_rows(table); row++) {
        bb_dig dug[51] = {{.minutes = 150}};
        const size_t kept = (size_t)reference_number(table, row, "count");
        for (size_t i = 1; i <= kept; i++)
            dug[i] = (bb_dig){.reading_count = 1, .keep = true};
        const bb_digs digs = {.digs = dug, .count = kept + 1};
        const bb_spot_rate rate = bb_digs_rate(&digs, 0);
        ck_assert_uint_eq(rate.holes, kept);
        check_close("lower limit, an hour", source, reference_number(table, row, "low") / 2.5,
                    rate.low, absolute(1e-9));
        check_close("upper limit, an hour", source, reference_number(table, row, "high") / 2.5,
                    rate.high, absolute(1e-9));
        ck_assert(isnan(bb_digs_rate(&digs, 1).per_hour));
    }
    reference_close(table);
}
END_TEST

START_TEST(a_copy_of_a_profile_has_its_own_finds)
{
    bb_profile *profile = small_profile(), *copy = NULL;
    profile->finds = calloc(1, sizeof *profile->finds);
    ck_assert_ptr_nonnull(profile->finds);
    profile->finds_count = 1;
    profile->finds[0] = (bb_finds){.group = "foil", .dug = {9}};
    ck_assert_int_eq(bb_profile_copy(profile, &copy), BB_OK);
    bb_profile_free(profile);
    ck_assert_str_eq(copy->finds[0].group, "foil");
    bb_profile_free(copy);
}
END_TEST

Suite *suite_digs(void)
{
    Suite *suite = suite_create("digs");
    TCase *cases = tcase_create("digs");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, digs_are_read_by_group_piece_or_nothing);
    tcase_add_test(cases, a_second_file_is_added_and_a_bad_one_leaves_all_as_it_was);
    tcase_add_test(cases, every_invalid_row_is_refused_at_its_place);
    tcase_add_test(cases, spots_are_a_thousand_at_most);
    tcase_add_test(cases, the_brier_score_and_its_parts_are_exact);
    tcase_add_test(cases, the_parts_add_up_for_any_chances);
    tcase_add_test(cases, scores_of_few_and_wrong_chances);
    tcase_add_test(cases, calls_are_those_of_judge);
    tcase_add_test(cases, finds_are_counted_by_group_and_zone);
    tcase_add_test(cases, finds_by_the_hour_have_exact_limits);
    tcase_add_test(cases, a_copy_of_a_profile_has_its_own_finds);
    suite_add_tcase(suite, cases);
    return suite;
}
