/* brineband predict: what number to expect of a target, in a zone, at a depth. */
#include "command.h"
#include "names.h"
#include "out.h"
#include "pick.h"
#include "profile_file.h"
#include "swept.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DEPTHS_USUAL = 10, WIDE_DEPTHS = 5, LONG_ROWS = 24 };

static const double usual_step_m = 0.02;
static const double wide_m[WIDE_DEPTHS] = {0.02, 0.05, 0.10, 0.15, 0.20};

/* One target asked about, of the kit, of the catalogue, or bare sand. */
typedef struct {
    const char *name;
    int target;
    bb_target other;
    double sd_log;
} subject;

typedef struct {
    const bb_profile *profile;
    const bb_predictor *predictor;
    subject *subjects;
    size_t subject_count;
    int *zones;
    size_t zone_count;
    double *depths_m;
    size_t depth_count;
    bool depths_given;
} question;

static bb_status predict_one(const question *of, const subject *about, int zone, double depth_m,
                             bb_prediction *prediction)
{
    return about->target == PICKED_FROM_CATALOGUE
               ? bb_predict_other(of->predictor, &about->other, about->sd_log, zone, depth_m, NAN,
                                  prediction)
               : bb_predict(of->predictor, about->target, zone, depth_m, NAN, prediction);
}

/* What is expected there, and but for bare sand what pulls it there. */
static bb_status ask(const question *of, const subject *about, int zone, double depth_m,
                     bb_prediction *at, bb_shift_parts *parts)
{
    *parts = (bb_shift_parts){NAN, NAN, NAN, NAN};
    bb_status status = predict_one(of, about, zone, depth_m, at);
    if (status != BB_OK || about->target == BB_TARGET_SAND)
        return status;
    return about->target == PICKED_FROM_CATALOGUE
               ? bb_predict_other_parts(of->predictor, &about->other, about->sd_log, zone, depth_m,
                                        NAN, parts)
               : bb_predict_parts(of->predictor, about->target, zone, depth_m, NAN, parts);
}

/* Bare sand has one prediction a zone, and none in air. */
static size_t depths_of(const question *of, const subject *about, int zone)
{
    if (about->target != BB_TARGET_SAND)
        return of->depth_count;
    return zone == BB_ZONE_AIR ? 0 : 1;
}

/* ---------------------------------------------------------------- JSON */

static json_t *prediction_json(const question *of, const subject *about, int zone, double depth_m,
                               const bb_prediction *at, const bb_shift_parts *parts)
{
    const bool sand = about->target == BB_TARGET_SAND;
    json_t *p = json_array();
    for (size_t i = 0; i < at->count; i++)
        json_add(p, json_real(at->p[i]));
    return json_pack("{s:s,s:s,s:o,s:f,s:f,s:i,s:i,s:o,s:o,s:o,s:o,s:o,s:o,s:{s:i,s:i,s:o}}",
                     "target", about->name,
                     "zone", zone_or_air(of->profile->zones, zone), "depth_cm",
                     sand ? json_null() : json_real(depth_m * 100), "mean", at->mean, "sd", at->sd,
                     "low", at->low, "high", at->high, "masked",
                     at->over_sand ? json_boolean(at->masked) : json_null(), "signal_to_ground",
                     at->over_sand ? json_number_or_null(at->signal_to_ground) : json_null(),
                     "clean_in_air", json_number_or_null(parts->clean_in_air), "pull_corrosion",
                     json_number_or_null(parts->corrosion), "pull_salt",
                     json_number_or_null(parts->salt), "pull_depth",
                     json_number_or_null(parts->depth), "pmf", "from", of->profile->machine.scale_low, "step",
                     of->profile->machine.scale_step, "p", p);
}

static bb_status answer_json(const question *of, json_t **answer)
{
    json_t *predictions = json_array();
    bb_status status = BB_OK;
    for (size_t s = 0; s < of->subject_count; s++)
        for (size_t z = 0; z < of->zone_count; z++)
            for (size_t d = 0; d < depths_of(of, &of->subjects[s], of->zones[z]); d++) {
                const subject *about = &of->subjects[s];
                bb_prediction at;
                bb_shift_parts parts;
                status = ask(of, about, of->zones[z], of->depths_m[d], &at, &parts);
                if (status != BB_OK) {
                    json_decref(predictions);
                    return status;
                }
                json_add(predictions, prediction_json(of, about, of->zones[z], of->depths_m[d],
                                                      &at, &parts));
            }
    *answer = json_pack("{s:o}", "predictions", predictions);
    return *answer != NULL ? BB_OK : BB_MEMORY;
}

/* ---------------------------------------------------------------- words */

static void number_cell(struct table *table, const bb_prediction *at)
{
    phrase number, doubt;
    if (at->over_sand && at->masked)
        table_cell(table, "lost");
    else
        table_cell(table, "%s%s%s", rounded(&number, at->mean, fmax(at->sd, 1)), plus_minus(),
                   rounded(&doubt, fmax(at->sd, 1), 1));
}

/* One line a target and zone, a column a depth. */
static bb_status say_wide(const question *of, const double *depths_m, size_t depth_count)
{
    char titles[2 + 16][24] = {"<piece", "<zone"};
    const char *title[2 + 16];
    struct table table;
    bb_status status = BB_OK;
    for (size_t i = 0; i < 2 + depth_count; i++)
        title[i] = titles[i];
    for (size_t d = 0; d < depth_count; d++)
        (void)snprintf(titles[2 + d], sizeof titles[2 + d], "%.0f cm", depths_m[d] * 100);
    table_begin(&table, 2 + depth_count, title);
    for (size_t s = 0; s < of->subject_count; s++)
        for (size_t z = 0; z < of->zone_count && status == BB_OK; z++) {
            const subject *about = &of->subjects[s];
            if (about->target == BB_TARGET_SAND && of->zones[z] == BB_ZONE_AIR)
                continue;
            table_cell(&table, "%s", about->name);
            table_cell(&table, "%s", zone_or_air(of->profile->zones, of->zones[z]));
            for (size_t d = 0; d < depth_count && status == BB_OK; d++) {
                bb_prediction at;
                status = predict_one(of, about, of->zones[z], depths_m[d], &at);
                if (status == BB_OK && about->target == BB_TARGET_SAND && d > 0)
                    table_cell(&table, "same");
                else if (status == BB_OK)
                    number_cell(&table, &at);
            }
        }
    if (status == BB_OK)
        table_print(&table);
    table_free(&table);
    if (status == BB_OK)
        say("Lost: too deep to hear through the salt. Two readings in three fall within the %s.",
            plus_minus());
    if (status == BB_OK && bb_profile_misses(of->profile))
        say("But this profile misses some of its readings by more than repeats differ: the %s does not "
            "hold, least of all for pieces and depths that were not swept.", plus_minus());
    return status;
}

/* Corrosion has a column only where a piece that lost metal is asked about. */
static bool asks_aged(const question *of)
{
    for (size_t s = 0; s < of->subject_count; s++) {
        const subject *about = &of->subjects[s];
        if (about->target == PICKED_FROM_CATALOGUE ? about->other.years > 0
                                                   : about->target != BB_TARGET_SAND &&
                                                         of->profile->targets[about->target].years > 0)
            return true;
    }
    return false;
}

static void part_cell(struct table *table, double part)
{
    const double least = 0.05; /* of a number: less is printed as none */
    if (isnan(part))
        table_cell(table, "-");
    else if (fabs(part) < least)
        table_cell(table, "0");
    else
        table_cell(table, "%+.1f", part);
}

static bb_status say_row(const question *of, struct table *table, const subject *about, int zone,
                         double depth_m, bool aged, bool *lost)
{
    const bool sand = about->target == BB_TARGET_SAND;
    phrase number;
    bb_prediction at;
    bb_shift_parts parts;
    bb_status status = ask(of, about, zone, depth_m, &at, &parts);
    if (status != BB_OK)
        return status;
    table_cell(table, "%s", about->name);
    table_cell(table, "%s", zone_or_air(of->profile->zones, zone));
    if (sand)
        table_cell(table, "-");
    else
        table_cell(table, "%.3g cm", depth_m * 100);
    table_cell(table, "%s", rounded(&number, at.mean, fmax(at.sd, 0.1)));
    table_cell(table, "%d to %d", at.low, at.high);
    if (sand)
        table_cell(table, "-");
    else
        table_cell(table, "%.1f", parts.clean_in_air);
    if (aged)
        part_cell(table, parts.corrosion);
    part_cell(table, parts.salt);
    part_cell(table, parts.depth);
    *lost = at.over_sand && at.masked;
    table_cell(table, "%s", *lost ? "lost" : "");
    return BB_OK;
}

/* One line a prediction, with its range and what pulls it from the clean piece's number in air. */
static bb_status say_long(const question *of)
{
    static const char *const titles[2][10] = {
        {"<piece", "<zone", "depth", "expect", "nine in ten", "in air", "salt", "deep", "<"},
        {"<piece", "<zone", "depth", "expect", "nine in ten", "in air", "worn", "salt", "deep",
         "<"}};
    struct table table;
    const bool aged = asks_aged(of);
    bool any_lost = false, lost = false;
    bb_status status = BB_OK;
    table_begin(&table, aged ? 10 : 9, titles[aged]);
    for (size_t s = 0; s < of->subject_count; s++)
        for (size_t z = 0; z < of->zone_count; z++)
            for (size_t d = 0;
                 d < depths_of(of, &of->subjects[s], of->zones[z]) && status == BB_OK; d++) {
                status = say_row(of, &table, &of->subjects[s], of->zones[z], of->depths_m[d], aged,
                                 &lost);
                any_lost = any_lost || lost;
            }
    if (status == BB_OK) {
        table_print(&table);
        say("In air: the clean piece's number. %salt (lying on the sand), then depth pull it to "
            "the one expected.", aged ? "Wear by corrosion, s" : "S");
    }
    if (any_lost && status == BB_OK)
        say("lost: too deep to hear through the salt, whatever is rejected.");
    table_free(&table);
    return status;
}

static size_t row_count(const question *of)
{
    size_t rows = 0;
    for (size_t s = 0; s < of->subject_count; s++)
        for (size_t z = 0; z < of->zone_count; z++)
            rows += depths_of(of, &of->subjects[s], of->zones[z]);
    return rows;
}

static bb_status say_words(const question *of)
{
    if (of->depths_given && (row_count(of) <= LONG_ROWS || of->depth_count > 8))
        return say_long(of);
    return of->depths_given ? say_wide(of, of->depths_m, of->depth_count)
                            : say_wide(of, wide_m, WIDE_DEPTHS);
}

static void say_silent_sand(const question *of)
{
    for (size_t s = 0; s < of->subject_count; s++)
        for (size_t z = 0; z < of->zone_count && of->subjects[s].target == BB_TARGET_SAND; z++) {
            if (of->zones[z] == BB_ZONE_AIR)
                continue;
            const bb_bare *bare = &of->profile->bare[of->zones[z]];
            phrase sweeps;
            if (is_silent(bare))
                say("Sand in zone %s was never heard in %s: its number is by physics alone.",
                    of->profile->zones[of->zones[z]].name,
                    counted(&sweeps, bare->swept, "sweep", "sweeps"));
        }
}

/* A pair of frequencies cancels what grows with frequency; black sand answers alike at both. */
static void say_black_sand(const question *of)
{
    static const bb_complex alike = {-1, 0};
    const bb_machine *machine = &of->profile->machine;
    bool magnetic = of->profile->beach.black_sand_possible;
    for (size_t i = 0; i < of->zone_count; i++)
        if (of->zones[i] != BB_ZONE_AIR)
            magnetic |= of->profile->zones[of->zones[i]].susceptibility > 0;
    if (machine->frequency_kind == BB_FREQUENCY_PAIR && magnetic)
        say("Black sand: this pair of frequencies cancels salt, but leaves %.0f %% of what black "
            "sand answers. One frequency, or less of that sand, may hear deeper.",
            100 * bb_cancel_survival(alike, alike, machine->frequency_hz,
                                     machine->lower_frequency_hz));
}

static const struct {
    const char *option, *words;
} what_ifs[] = {{"frequency", "frequency"},       {"coil-diameter", "coil"},
                {"height", "swing height"},       {"salinity", "salinity"},
                {"temperature", "temperature"},   {"saturation", "wetness of the sand"},
                {"dry-layer", "dry layer"},       {"years", "time in the sand"}};
enum { WHAT_IFS = sizeof what_ifs / sizeof *what_ifs };

static void say_what_if(const struct arguments *arguments)
{
    char *text = NULL;
    for (size_t i = 0; i < WHAT_IFS; i++)
        if (option_count(arguments, what_ifs[i].option) > 0)
            text = need_longer(text, "%s%s", text == NULL ? "" : ", ", what_ifs[i].words);
    if (text != NULL)
        say("What if, with another %s: by physics alone, with what was learned here carried over.",
            text);
    free(text);
}

/* ---------------------------------------------------------------- running */

static outcome ask_subjects(const struct arguments *arguments, const bb_profile *profile,
                            question *of)
{
    const size_t given = option_count(arguments, "target");
    of->subject_count = given > 0 ? given : profile->target_count + 1;
    of->subjects = need(of->subject_count, sizeof *of->subjects);
    outcome result = OUTCOME_DONE;
    for (size_t i = 0; i < of->subject_count && result == OUTCOME_DONE; i++) {
        subject *about = &of->subjects[i];
        about->name = given > 0                   ? option_text(arguments, "target", i)
                      : i < profile->target_count ? profile->targets[i].name
                                                  : "sand";
        result = pick_target("predict", profile, about->name, &about->target, &about->other,
                             &about->sd_log);
    }
    return result;
}

static outcome ask_zones(const struct arguments *arguments, const bb_profile *profile, question *of)
{
    const size_t given = option_count(arguments, "zone");
    of->zone_count = given > 0 ? given : profile->zone_count;
    of->zones = need(of->zone_count + 1, sizeof *of->zones);
    outcome result = OUTCOME_DONE;
    for (size_t i = 0; i < of->zone_count && result == OUTCOME_DONE; i++) {
        of->zones[i] = (int)i;
        if (given > 0)
            result = pick_zone("predict", profile, option_text(arguments, "zone", i), true,
                               &of->zones[i]);
    }
    return result;
}

static void ask_depths(const struct arguments *arguments, question *of)
{
    const size_t given = option_count(arguments, "depth");
    of->depths_given = given > 0;
    of->depth_count = given > 0 ? given : DEPTHS_USUAL;
    of->depths_m = need(of->depth_count, sizeof *of->depths_m);
    for (size_t i = 0; i < of->depth_count; i++)
        of->depths_m[i] =
            given > 0 ? option_number(arguments, "depth", i) : usual_step_m * (double)(i + 1);
}

static outcome ask_what_if(const struct arguments *arguments, bb_profile **profile)
{
    const bb_what_if changes = {
        .frequency_hz = option_number_or(arguments, "frequency", NAN),
        .coil_radius_m = option_number_or(arguments, "coil-diameter", NAN) / 2,
        .swing_height_m = option_number_or(arguments, "height", NAN),
        .water_salinity = option_number_or(arguments, "salinity", NAN),
        .water_temperature_c = option_number_or(arguments, "temperature", NAN),
        .saturation = option_number_or(arguments, "saturation", NAN),
        .dry_layer_m = option_number_or(arguments, "dry-layer", NAN),
        .years = option_number_or(arguments, "years", NAN),
    };
    bb_error error = {0};
    bb_profile *changed = NULL;
    bb_status status = bb_profile_what_if(*profile, &changes, &changed, &error);
    if (status == BB_RANGE)
        return fail_command("predict: %s", error.accepted);
    if (status != BB_OK)
        return fail(status, &error);
    bb_profile_free(*profile);
    *profile = changed;
    return OUTCOME_DONE;
}

static outcome answer(const struct arguments *arguments, const question *of)
{
    bb_error error = {0};
    json_t *object = NULL;
    if (!arguments->json)
        say_what_if(arguments);
    bb_status status = arguments->json ? answer_json(of, &object) : say_words(of);
    if (status == BB_RANGE)
        return fail_command("predict: depths are 0 to 200 cm, in air above 0");
    if (status != BB_OK)
        return fail(status, &error);
    if (object != NULL) {
        say_json(object);
    } else {
        say_silent_sand(of);
        say_black_sand(of);
    }
    return OUTCOME_DONE;
}

static outcome run_predict(const struct arguments *arguments)
{
    bb_profile *profile = NULL;
    bb_predictor *predictor = NULL;
    bb_error error = {0};
    question of = {0};
    outcome result = profile_read(arguments->words[0], &profile);
    if (result == OUTCOME_DONE)
        result = ask_what_if(arguments, &profile);
    if (result == OUTCOME_DONE)
        result = ask_subjects(arguments, profile, &of);
    if (result == OUTCOME_DONE)
        result = ask_zones(arguments, profile, &of);
    if (result == OUTCOME_DONE) {
        ask_depths(arguments, &of);
        bb_status status = bb_predictor_new(profile, &predictor, &error);
        of.profile = profile;
        of.predictor = predictor;
        result = status == BB_OK ? answer(arguments, &of) : fail(status, &error);
    }
    bb_predictor_free(predictor);
    free(of.subjects);
    free(of.zones);
    free(of.depths_m);
    bb_profile_free(profile);
    return result;
}

static const struct option options[] = {
    {.name = "target", .value = "T", .kind = VALUE_TEXT, .repeats = true,
     .help = "this piece, of the kit or the catalogue, or sand; repeat for more"},
    {.name = "zone", .value = "Z", .kind = VALUE_TEXT, .repeats = true,
     .help = "this zone, or air; repeat for more"},
    {.name = "depth", .value = "CM", .kind = VALUE_CM, .low = 0, .high = 200, .repeats = true,
     .help = "this depth (in air the gap to the coil); repeat for more"},
    {.name = "frequency", .value = "KHZ", .kind = VALUE_KHZ, .low = 0.5, .high = 200,
     .help = "what if the machine worked at this frequency"},
    {.name = "coil-diameter", .value = "CM", .kind = VALUE_CM, .low = 5, .high = 150,
     .help = "what if the coil were this wide"},
    {.name = "height", .value = "CM", .kind = VALUE_CM, .low = 0.5, .high = 100,
     .help = "what if it were swung at this height"},
    {.name = "salinity", .value = "S", .kind = VALUE_NUMBER, .low = 0, .high = 42,
     .help = "what if the water had this salinity"},
    {.name = "temperature", .value = "C", .kind = VALUE_CELSIUS, .low = -2, .high = 35,
     .help = "what if the water had this temperature"},
    {.name = "saturation", .value = "SHARE", .kind = VALUE_SHARE, .low = 0, .high = 1,
     .help = "what if so much of the pores held water"},
    {.name = "dry-layer", .value = "CM", .kind = VALUE_CM, .low = 0, .high = 200,
     .help = "what if so much dry sand lay on top"},
    {.name = "years", .value = "N", .kind = VALUE_NUMBER, .low = 0, .high = 1000,
     .help = "what if the pieces had lain so long in the sand"},
    {0},
};

const struct command command_predict = {
    .name = "predict",
    .usage = "PROFILE [--target T]... [--zone Z]... [--depth CM]... [--json]",
    .summary = "what number to expect of a piece at a depth",
    .about =
        "Gives the number each piece should show, with the range that nine readings in ten keep, and "
        "what pulls it there from the clean piece's number in air: the metal that corrosion took, "
        "the salt of the sand it lies on, then what burying it adds, for the sand counts for more "
        "as the piece fades. The parts add up. Several targets, zones and depths are all answered. "
        "Lost means too deep to hear through the salt, whatever is rejected.\n"
        "The other options ask what if: the answer is then physics alone, with what was learned "
        "here carried over.",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run_predict,
};
