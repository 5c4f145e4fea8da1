/* Profiles as JSON: what is written reads back to the last bit, and what strangers send is either
 * a profile or refused at its place. */
#include "cases.h"
#include "compare.h"
#include "model.h"
#include "sample_profile.h"
#include "small_visit.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLE "tests/data/profile.json"
#define INVALID "tests/data/invalid_profiles/cases.tsv"

/* ---------------------------------------------------------------- helpers */

static char *read_file(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    ck_assert_msg(file != NULL, "%s cannot be opened (run from the top of the tree)", path);
    ck_assert_int_eq(fseek(file, 0, SEEK_END), 0);
    long end = ftell(file);
    ck_assert_int_gt(end, 0);
    rewind(file);
    char *text = malloc((size_t)end + 1);
    ck_assert_ptr_nonnull(text);
    ck_assert_uint_eq(fread(text, 1, (size_t)end, file), (size_t)end);
    (void)fclose(file);
    text[end] = '\0';
    *length = (size_t)end;
    return text;
}

static char *write_profile(const bb_profile *profile, bool with_place)
{
    char *text = NULL, message[1024] = "";
    bb_error error = {0};
    bb_status status = bb_profile_write(profile, with_place, &text, &error);
    bb_error_text(&error, message, sizeof message);
    ck_assert_msg(status == BB_OK, "%s", message);
    return text;
}

static bb_profile *read_profile(const char *text)
{
    char message[1024] = "";
    bb_profile *profile = NULL;
    bb_error error = {0};
    bb_status status = bb_profile_read(text, strlen(text), "p.json", &profile, &error);
    bb_error_text(&error, message, sizeof message);
    ck_assert_msg(status == BB_OK, "%s", message);
    return profile;
}

static void check_bytes(const char *what, const void *wanted, const void *got, size_t size)
{
    ck_assert_msg(memcmp(wanted, got, size) == 0, "%s: not the same bits", what);
}

/* Long texts: only where they part is shown. */
static void check_same_text(const char *wanted, const char *got)
{
    size_t same = 0;
    while (wanted[same] != '\0' && wanted[same] == got[same])
        same++;
    ck_assert_msg(wanted[same] == got[same], "byte %zu: wanted %.60s, got %.60s", same,
                  wanted + same, got + same);
}

/* A first occurrence replaced; the caller frees it. */
static char *replaced(const char *text, const char *old, const char *new)
{
    const char *at = strstr(text, old);
    ck_assert_msg(at != NULL, "the sample has no %s", old);
    size_t size = strlen(text) + strlen(new) + 1;
    char *changed = malloc(size);
    ck_assert_ptr_nonnull(changed);
    (void)snprintf(changed, size, "%.*s%s%s", (int)(at - text), text, new, at + strlen(old));
    return changed;
}

/* ---------------------------------------------------------------- writing and back */

START_TEST(the_sample_is_written_as_the_file_says)
{
    size_t length;
    bb_profile profile = sample_profile();
    char *text = write_profile(&profile, true), *file = read_file(SAMPLE, &length);
    char *wanted = replaced(file, "\"program\": \"0.1.0\"", "\"program\": \"" BB_VERSION "\"");
    check_same_text(wanted, text);
    free(text);
    free(file);
    free(wanted);
}
END_TEST

START_TEST(reading_returns_every_bit)
{
    const bb_profile wanted = sample_profile();
    char *text = write_profile(&wanted, true);
    bb_profile *got = read_profile(text);
    size_t zones = wanted.zone_count, targets = wanted.target_count, n = wanted.parameter_count;
    ck_assert_uint_eq(got->zone_count, zones);
    ck_assert_uint_eq(got->target_count, targets);
    ck_assert_uint_eq(got->parameter_count, n);
    check_bytes("machine", &wanted.machine, &got->machine, sizeof wanted.machine);
    check_bytes("beach", &wanted.beach, &got->beach, sizeof wanted.beach);
    check_bytes("zones", wanted.zones, got->zones, zones * sizeof *wanted.zones);
    check_bytes("targets", wanted.targets, got->targets, targets * sizeof *wanted.targets);
    check_bytes("parameters", wanted.parameters, got->parameters, n * sizeof *wanted.parameters);
    check_bytes("covariance", wanted.covariance, got->covariance,
                n * n * sizeof *wanted.covariance);
    check_bytes("noise", &wanted.noise, &got->noise, sizeof wanted.noise);
    check_bytes("bare", wanted.bare, got->bare, zones * sizeof *wanted.bare);
    check_bytes("target sweeps", wanted.target_sweeps, got->target_sweeps,
                targets * (zones + 1) * sizeof *wanted.target_sweeps);
    check_bytes("air sweeps", &wanted.air_sweeps, &got->air_sweeps, sizeof wanted.air_sweeps);
    check_bytes("sand sweeps", &wanted.sand_sweeps, &got->sand_sweeps, sizeof wanted.sand_sweeps);
    check_bytes("digest", wanted.digest, got->digest, sizeof wanted.digest);
    check_bytes("evidence", &wanted.evidence, &got->evidence, sizeof wanted.evidence);
    ck_assert_uint_eq(got->finds_count, wanted.finds_count);
    check_bytes("finds", wanted.finds, got->finds, wanted.finds_count * sizeof *wanted.finds);
    check_bytes("drift hour", &wanted.drift_hour, &got->drift_hour, sizeof wanted.drift_hour);
    free(text);
    bb_profile_free(got);
}
END_TEST

START_TEST(place_time_of_day_and_lines_stay_here)
{
    bb_profile profile = sample_profile();
    bb_target first = profile.targets[0];
    profile.beach.low_water_min = 14 * 60 + 10;
    profile.beach.turn_back_min = 15 * 60;
    profile.drift_hour = 14.25;
    profile.targets[0].line = 4711;
    char *text = write_profile(&profile, false);
    profile.targets[0] = first;
    ck_assert_ptr_null(strstr(text, "invented cove"));
    ck_assert_ptr_null(strstr(text, "14.25"));
    ck_assert_ptr_null(strstr(text, "4711"));
    bb_profile *got = read_profile(text);
    ck_assert_str_eq(got->beach.name, "");
    ck_assert_int_eq(got->beach.low_water_min, -1);
    ck_assert_int_eq(got->beach.turn_back_min, -1);
    ck_assert_double_eq(got->drift_hour, 0);
    free(text);
    bb_profile_free(got);
}
END_TEST

START_TEST(a_byte_order_mark_and_carriage_returns_are_accepted)
{
    size_t length;
    char *wanted = read_file(SAMPLE, &length);
    char *marked = malloc(2 * length + 4), *to = marked;
    ck_assert_ptr_nonnull(marked);
    memcpy(to, "\xEF\xBB\xBF", 3);
    to += 3;
    for (const char *from = wanted; *from != '\0'; from++) {
        if (*from == '\n')
            *to++ = '\r';
        *to++ = *from;
    }
    *to = '\0';
    bb_profile *got = read_profile(marked);
    bb_profile sample = sample_profile();
    ck_assert_uint_eq(got->parameter_count, sample.parameter_count);
    check_bytes("covariance", sample.covariance, got->covariance,
                sample.parameter_count * sample.parameter_count * sizeof *sample.covariance);
    free(wanted);
    free(marked);
    bb_profile_free(got);
}
END_TEST

/* An empty kit on an empty beach leaves the machine's curve, and is still a profile. */
START_TEST(a_profile_without_targets_and_zones_is_read)
{
    enum { CURVE = 10 };
    static double covariance[CURVE * CURVE];
    bb_profile profile = sample_profile();
    for (int i = 0; i < CURVE; i++)
        covariance[i * CURVE + i] = profile.parameters[i].sd * profile.parameters[i].sd;
    profile.covariance = covariance;
    profile.zone_count = profile.target_count = 0;
    profile.parameter_count = profile.evidence.rank = CURVE;
    char *text = write_profile(&profile, false);
    bb_profile *got = read_profile(text);
    ck_assert_uint_eq(got->zone_count + got->target_count, 0);
    ck_assert_uint_eq(got->parameter_count, CURVE);
    free(text);
    bb_profile_free(got);
}
END_TEST

START_TEST(nothing_is_written_that_would_be_refused)
{
    bb_profile profile = sample_profile();
    char *text = NULL, message[512];
    bb_error error = {0};
    bb_parameter first = profile.parameters[0];
    profile.parameters[0].estimate = NAN;
    ck_assert_int_eq(bb_profile_write(&profile, true, &text, &error), BB_RANGE);
    bb_error_text(&error, message, sizeof message);
    ck_assert_str_eq(message, "parameters[0].estimate: found null, "
                              "accepted a number from -10000000 to 10000000");
    profile.parameters[0] = first;

    bb_zone zone = profile.zones[0];
    error = (bb_error){0};
    (void)snprintf(profile.zones[0].name, sizeof profile.zones[0].name, "\xFF");
    ck_assert_int_eq(bb_profile_write(&profile, true, &text, &error), BB_RANGE);
    bb_error_text(&error, message, sizeof message);
    ck_assert_str_eq(message, "zones[0].name: found text that is not plain, "
                              "accepted 1 to 63 bytes of plain text");
    profile.zones[0] = zone;
    ck_assert_ptr_null(text);
}
END_TEST

static void check_same_predictions(const bb_profile *one, const bb_profile *other)
{
    bb_predictor *predictors[2];
    bb_error error = {0};
    ck_assert_int_eq(bb_predictor_new(one, &predictors[0], &error), BB_OK);
    ck_assert_int_eq(bb_predictor_new(other, &predictors[1], &error), BB_OK);
    for (int target = BB_TARGET_SAND; target < (int)one->target_count; target++)
        for (int zone = target == BB_TARGET_SAND ? 0 : BB_ZONE_AIR; zone < (int)one->zone_count;
             zone++) {
            static bb_prediction got[2];
            memset(got, 0, sizeof got);
            for (int i = 0; i < 2; i++)
                ck_assert_int_eq(bb_predict(predictors[i], target, zone, 0.08, NAN, &got[i]),
                                 BB_OK);
            check_bytes("prediction", &got[0], &got[1], sizeof got[0]);
        }
    bb_predictor_free(predictors[0]);
    bb_predictor_free(predictors[1]);
}

START_TEST(a_profile_read_back_predicts_the_same_bits)
{
    static const char beach[] = "[machine]\nscale_low = 0\nscale_high = 80\n"
                                "frequency_khz = 7.1\ncoil_diameter_cm = 27.9\n"
                                "[beach]\nname = invented cove\nswing_height_cm = 5.7\n"
                                "[zone wet]\nsaturation = 1\n";
    static const char kit[] = "target,shape,material,diameter_mm,thickness_mm,group\n"
                              "coin,disc,copper,21.3,1.7,coin\nlump,other,,,,junk\n";
    static const char sweeps[] =
        "zone,target,depth_cm,reading\nair,coin,7.3,66 66 67\nair,lump,7.3,40 41 40\n"
        "wet,sand,,4 5 5 6 4 3 5 4 5 5 6 4 5 4 5\nwet,coin,6.9,64 65 63\nwet,lump,4.1,37 36\n";
    bb_profile *profile = profile_of(beach, kit, sweeps);
    char *text = write_profile(profile, false);
    bb_profile *got = read_profile(text);
    char *again = write_profile(got, false);
    check_same_text(text, again);
    check_same_predictions(profile, got);
    free(text);
    free(again);
    bb_profile_free(profile);
    bb_profile_free(got);
}
END_TEST

/* The largest visit there may be: its profile stays within what a reader accepts. */
START_TEST(the_largest_profile_is_read)
{
    static char beach[4096] = "[machine]\nscale_low = 0\nscale_high = 1023\n"
                              "frequency_khz = several\n";
    static char kit[16384] = "target,shape,material,diameter_mm,thickness_mm,years\n";
    bb_visit visit = {0};
    bb_error error = {0};
    bb_model *model = NULL;
    for (int z = 0; z < BB_ZONES_MAX; z++)
        (void)snprintf(beach + strlen(beach), 64, "[zone wet %d]\nsaturation = 1\n", z);
    for (int k = 0; k < BB_TARGETS_MAX; k++)
        (void)snprintf(kit + strlen(kit), 64, "coin number %d,disc,copper,21.3,1.7,3\n", k);
    ck_assert_int_eq(bb_beach_read(beach, strlen(beach), "beach.ini", &visit, &error), BB_OK);
    ck_assert_int_eq(bb_kit_read(kit, strlen(kit), "kit.csv", &visit, &error), BB_OK);
    ck_assert_int_eq(bb_model_new(&visit.machine, &visit.beach, visit.zones, visit.zone_count,
                                  visit.targets, visit.target_count, 0, &model, &error), BB_OK);
    const size_t count = (size_t)model->layout.count;
    ck_assert_uint_eq(count, BB_PARAMETERS_MAX);
    bb_profile profile = sample_profile();
    profile.machine = visit.machine;
    profile.beach = visit.beach;
    profile.zones = visit.zones;
    profile.zone_count = visit.zone_count;
    profile.targets = visit.targets;
    profile.target_count = visit.target_count;
    profile.parameter_count = count;
    profile.parameters = calloc(count, sizeof *profile.parameters);
    profile.covariance = calloc(count * count, sizeof *profile.covariance);
    profile.bare = calloc(BB_ZONES_MAX, sizeof *profile.bare);
    profile.target_sweeps = calloc(BB_TARGETS_MAX * (BB_ZONES_MAX + 1), sizeof(double));
    ck_assert(profile.parameters && profile.covariance && profile.bare && profile.target_sweeps);
    for (size_t i = 0; i < count; i++) {
        bb_parameter *parameter = &profile.parameters[i];
        *parameter = (bb_parameter){.estimate = (double)i / 7, .sd = sqrt(2) / 3, .prior_sd = 1};
        bb_model_parameter_name(model, visit.zones, (int)i, parameter->name);
        for (size_t k = 0; k < count; k++)
            profile.covariance[i * count + k] =
                2.0 / 9 * pow(0.99, fabs((double)i - (double)k)) * (i == k ? 1 : 1.0 / 3);
        profile.covariance[i * count + i] = parameter->sd * parameter->sd;
    }
    for (int z = 0; z < BB_ZONES_MAX; z++) {
        bb_bare *bare = &profile.bare[z];
        profile.noise.jitter[z] = profile.noise.jitter[0];
        bare->swept = bare->heard = bare->number_swept = BB_NUMBERS_MAX;
        bare->last_high = bare->before_high = -1;
        for (int i = 0; i < BB_NUMBERS_MAX; i++)
            bare->counts[i] = 1;
    }
    char *text = write_profile(&profile, false);
    bb_profile *got = read_profile(text);
    check_bytes("covariance", profile.covariance, got->covariance,
                count * count * sizeof *profile.covariance);
    check_bytes("bare", profile.bare, got->bare, BB_ZONES_MAX * sizeof *profile.bare);
    free(text);
    free(profile.parameters);
    free(profile.covariance);
    free(profile.bare);
    free(profile.target_sweeps);
    bb_profile_free(got);
    bb_model_free(model);
    bb_visit_free(&visit);
}
END_TEST

/* ---------------------------------------------------------------- hostile files */

/* What reads can be predicted from: every chance is one, and they sum to 1. */
static void check_predicts(const bb_profile *profile)
{
    bb_predictor *predictor = NULL;
    bb_prediction got;
    bb_error error = {0};
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
    int target = (int)profile->target_count - 1, zone = (int)profile->zone_count - 1;
    ck_assert_int_eq(bb_predict(predictor, target, zone, 0.1, NAN, &got), BB_OK);
    double sum = 0;
    for (size_t i = 0; i < got.count; i++)
        sum += got.p[i];
    ck_assert_msg(fabs(sum - 1) < 1e-6, "the chances sum to %.17g", sum);
    bb_predictor_free(predictor);
}

/* Bodies take a tenth of a second to solve: one accepted profile in so many is predicted from. */
enum { PREDICT_EVERY = 250 };

/* Any text is a profile or is refused with a place; never a crash (see make sanitize). */
static bb_status check_survives(const char *text, size_t length)
{
    bb_profile *profile = NULL;
    bb_error error = {0};
    bb_status status = bb_profile_read(text, length, "p.json", &profile, &error);
    if (status == BB_OK) {
        static size_t accepted;
        ck_assert_ptr_nonnull(profile);
        if (accepted++ % PREDICT_EVERY == 0)
            check_predicts(profile);
        bb_profile_free(profile);
        return status;
    }
    ck_assert_int_eq(status, BB_INPUT);
    ck_assert_ptr_null(profile);
    ck_assert_int_ge(error.line, 1);
    ck_assert_int_ge(error.column, 1);
    for (const char *at = error.found; *at != '\0'; at++)
        ck_assert_msg((unsigned char)*at >= 0x20 && *at != 0x7F, "a control character is told");
    return status;
}

/* In a buffer of its own size, so that a sanitizer sees a byte read too far. */
static bb_status check_survives_exactly(const char *text, size_t length)
{
    char *exact = malloc(length > 0 ? length : 1);
    ck_assert_ptr_nonnull(exact);
    memcpy(exact, text, length);
    bb_status status = check_survives(exact, length);
    free(exact);
    return status;
}

START_TEST(cut_off_anywhere_it_is_refused)
{
    size_t length;
    char *text = read_file(SAMPLE, &length);
    for (size_t kept = 0; kept < length - 1; kept += CASES(1, 7)) /* the last byte is a line feed */
        ck_assert_int_eq(check_survives_exactly(text, kept), BB_INPUT);
    free(text);
}
END_TEST

START_TEST(any_byte_may_be_wrong)
{
    static const unsigned char flips[] = {0x01, 0x20, 0x04, 0x80, 0x10, 0xFF, 0x02};
    size_t length;
    char *text = read_file(SAMPLE, &length);
    for (size_t at = 0; at < length; at += CASES(1, 5)) {
        char right = text[at];
        text[at] = (char)(right ^ flips[at % sizeof flips]);
        (void)check_survives_exactly(text, length);
        text[at] = right;
    }
    free(text);
}
END_TEST

START_TEST(a_line_swapped_with_another_does_no_harm)
{
    size_t length, lines = 0;
    char *text = read_file(SAMPLE, &length), *joined = malloc(length + 1);
    char *line[256];
    ck_assert_ptr_nonnull(joined);
    for (char *at = strtok(text, "\n"); at != NULL; at = strtok(NULL, "\n"))
        line[lines++] = at;
    ck_assert_uint_lt(lines, 256);
    for (size_t i = 0; i < lines; i++)
        for (size_t k = 0; k < i; k += 1 + k / 2) {
            size_t used = 0;
            for (size_t n = 0; n < lines; n++) {
                const char *from = line[n == i ? k : n == k ? i : n];
                used += (size_t)snprintf(joined + used, length + 1 - used, "%s\n", from);
            }
            (void)check_survives(joined, used);
        }
    free(text);
    free(joined);
}
END_TEST

static void check_message(const char *text, size_t length, const char *wanted)
{
    bb_profile *profile = NULL;
    bb_error error = {0};
    char message[1024];
    ck_assert_int_eq(bb_profile_read(text, length, "p.json", &profile, &error), BB_INPUT);
    bb_error_text(&error, message, sizeof message);
    ck_assert_str_eq(message, wanted);
    ck_assert_ptr_null(profile);
}

START_TEST(large_deep_and_many_are_bounded)
{
    enum { LARGE = (8 << 20) + 1 };
    char *text = malloc(LARGE);
    ck_assert_ptr_nonnull(text);
    memset(text, ' ', LARGE);
    check_message(text, LARGE, "p.json:1:1: found 8388609 bytes, accepted at most 8388608 bytes");
    memset(text, '[', LARGE);
    check_message(text, 1000, "p.json:1:17: found one more list or object, accepted at most 16 "
                              "inside each other and 65536 in all");
    text[0] = '\n';
    for (size_t i = 1; i + 3 < LARGE; i += 3)
        memcpy(text + i, "[],", 3);
    check_message(text, LARGE - 2, "p.json:2:196609: found one more list or object, accepted at "
                                   "most 16 inside each other and 65536 in all");
    free(text);
}
END_TEST

/* Columns of a tab-separated case: name, text to replace, its replacement, the error, and whether
 * the schema refuses it too (checked by tests/schema.py). Text "*": the whole file is replaced. */
enum { NAME, OLD, NEW, MESSAGE, SCHEMA, COLUMNS };

static void check_case(const char *sample, char *row)
{
    char *column[COLUMNS], wanted[1024];
    for (int i = 0; i < COLUMNS; i++) {
        column[i] = row;
        char *tab = strchr(row, '\t');
        ck_assert_msg((tab == NULL) == (i == COLUMNS - 1), INVALID ": %d columns: %s", i + 1,
                      column[0]);
        if (tab != NULL) {
            *tab = '\0';
            row = tab + 1;
        }
    }
    char *text = strcmp(column[OLD], "*") == 0 ? replaced("*", "*", column[NEW])
                                               : replaced(sample, column[OLD], column[NEW]);
    (void)snprintf(wanted, sizeof wanted, "p.json:%s", column[MESSAGE]);
    bb_profile *profile = NULL;
    bb_error error = {0};
    char message[1024];
    bb_status status = bb_profile_read(text, strlen(text), "p.json", &profile, &error);
    bb_error_text(&error, message, sizeof message);
    ck_assert_msg(status == BB_INPUT && strcmp(message, wanted) == 0,
                  "%s:\n  wanted %s\n  got    %s", column[NAME], wanted, message);
    free(text);
}

START_TEST(every_invalid_profile_is_refused_at_its_place)
{
    size_t length, cases = 0;
    char *sample = read_file(SAMPLE, &length), *table = read_file(INVALID, &length);
    char *row = table;
    for (char *end; (end = strchr(row, '\n')) != NULL; row = end + 1) {
        *end = '\0';
        if (row != table && *row != '#') {
            check_case(sample, row);
            cases++;
        }
    }
    ck_assert_uint_ge(cases, 40);
    free(sample);
    free(table);
}
END_TEST

START_TEST(logarithms_are_told_as_ratios)
{
    static const char source[] = "SciPy 1.10.1, lognorm(0.1, scale=2).ppf([0.05, 0.95])";
    bb_zone zone = {.name = "wet"};
    bb_parameter rows[] = {{"corrosion.log", log(2), 0.1, 0, 0.7},
                           {"zone.wet.drift_per_hour", log(2), 0.1, 0, 0.105}};
    const bb_profile profile = {
        .zones = &zone, .zone_count = 1, .parameters = rows, .parameter_count = 2};
    const bb_ratio corrosion = bb_corrosion_ratio(&profile), hourly = bb_hourly_ratio(&profile, 0);
    check_close("ratio", source, 2, corrosion.estimate, relative(1e-15));
    check_close("its lower limit", source, 1.696660348241673, corrosion.low, relative(1e-14));
    check_close("its upper limit", source, 2.357572630341354, corrosion.high, relative(1e-14));
    ck_assert(corrosion.learned);
    ck_assert(!hourly.learned && hourly.low == corrosion.low);
    const bb_profile without = {.zones = &zone, .zone_count = 1};
    ck_assert(!bb_hourly_ratio(&without, 0).learned);
}
END_TEST

START_TEST(freeing_nothing_is_fine)
{
    bb_profile_free(NULL);
}
END_TEST

Suite *suite_profile(void)
{
    Suite *suite = suite_create("profile");
    TCase *group = tcase_create("profile");
    tcase_set_timeout(group, 120);
    tcase_add_test(group, the_sample_is_written_as_the_file_says);
    tcase_add_test(group, reading_returns_every_bit);
    tcase_add_test(group, place_time_of_day_and_lines_stay_here);
    tcase_add_test(group, a_byte_order_mark_and_carriage_returns_are_accepted);
    tcase_add_test(group, a_profile_without_targets_and_zones_is_read);
    tcase_add_test(group, a_profile_read_back_predicts_the_same_bits);
    tcase_add_test(group, the_largest_profile_is_read);
    tcase_add_test(group, nothing_is_written_that_would_be_refused);
    tcase_add_test(group, cut_off_anywhere_it_is_refused);
    tcase_add_test(group, any_byte_may_be_wrong);
    tcase_add_test(group, a_line_swapped_with_another_does_no_harm);
    tcase_add_test(group, large_deep_and_many_are_bounded);
    tcase_add_test(group, every_invalid_profile_is_refused_at_its_place);
    tcase_add_test(group, logarithms_are_told_as_ratios);
    tcase_add_test(group, freeing_nothing_is_fine);
    suite_add_tcase(suite, group);
    return suite;
}
