/* brineband fit: learn a profile from a visit, write it, and say what was learned. */
#include "assumed.h"
#include "command.h"
#include "files.h"
#include "learn.h"
#include "names.h"
#include "next.h"
#include "out.h"
#include "plot_fit.h"
#include "profile_file.h"
#include "swept.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CONTRADICTS_BELOW 0.01 /* chance of a difference so large among all that were learned */
#define DRIFTS_BELOW 0.001     /* likewise of a trend, of which nobody asked */
#define ANGLES_APART_DEG 30.0  /* nearer pieces leave most of the scale unlearned: judgement, no source */
#define AT_ENDS_MOST 0.2       /* share of numbers at an end of the scale: judgement, no source */

enum {
    PIECES_LEAST = 3,
    MISSES_SHOWN = 3,
    NUMBERS_SHOWN = 6,
    SUSPECTS_SHOWN = 3,
    ROWS_SHOWN = 12,
    SUSPECTS_MOST = 64,
    ZONES_SHOWN = 2
};

static const double depths_m[] = {0.05, 0.10, 0.15};
static const double air_gap_m = 0.10;
enum { DEPTHS = sizeof depths_m / sizeof *depths_m };

/* What the words and the JSON both draw on. */
typedef struct {
    const char *folder, *path;
    const bb_visit *visit;
    const bb_profile *profile;
    const bool *left_out; /* a flag a cell */
    bb_predictor *predictor;
    bb_suspect suspects[SUSPECTS_MOST];
    size_t suspect_count;
    bb_miss misses[MISSES_SHOWN]; /* none where the profile holds all that was read */
    size_t miss_count;
} summary;

/* ---------------------------------------------------------------- words */

static void say_sand(const summary *of)
{
    for (size_t zone = 0; zone < of->profile->zone_count; zone++) {
        const char *name = of->profile->zones[zone].name;
        bb_prediction sand;
        double sounding;
        if (bb_predict_sand(of->predictor, (int)zone, &sand, &sounding) != BB_OK)
            continue;
        const bb_bare *bare = &of->profile->bare[zone];
        phrase number, doubt, sweeps;
        const char *swept = counted(&sweeps, bare->swept, "bare sweep", "bare sweeps");
        (void)rounded(&number, sand.mean, sand.sd);
        (void)rounded(&doubt, sand.sd, sand.sd);
        if (!(bare->swept > 0))
            say("Sand in zone %s was not swept bare; by physics about %s %s %s.", name, number.text,
                plus_minus(), doubt.text);
        else if (is_silent(bare))
            say_answer("Sand in zone %s is quiet: nothing heard in %s.", name, swept);
        else
            say_answer("Sand in zone %s reads %s %s %s (nine in ten: %d to %d), from %s.", name,
                       number.text, plus_minus(), doubt.text, sand.low, sand.high, swept);
    }
}

static void say_visit(const summary *of)
{
    const bb_profile *profile = of->profile;
    const bool named = *of->visit->beach.name != '\0';
    const size_t pieces = swept_pieces(of->visit);
    phrase sweeps, targets;
    say("%s%searned from %s of %s%sbare sand%s%s.", of->visit->beach.name, named ? ": l" : "L",
        counted(&sweeps, of->visit->sweep_count - profile->left_out, "sweep", "sweeps"),
        pieces > 0 ? counted(&targets, (double)pieces, "piece", "pieces") : "",
        pieces > 0 ? " and " : "", *profile->machine.name ? ", with " : "",
        profile->machine.name);
}

static size_t shown_zones(const bb_profile *profile)
{
    return profile->zone_count < ZONES_SHOWN ? profile->zone_count : ZONES_SHOWN;
}

static void cell_of(struct table *cells, const summary *of, int target, int zone, double depth_m)
{
    bb_prediction prediction;
    phrase number, doubt;
    bool lost;
    if (bb_predict_masked(of->predictor, target, zone, depth_m, NAN, &lost) == BB_OK && lost)
        table_cell(cells, "lost");
    else if (bb_predict(of->predictor, target, zone, depth_m, NAN, &prediction) != BB_OK)
        table_cell(cells, "-");
    else
        table_cell(cells, "%s%s%s", rounded(&number, prediction.mean, 1), plus_minus(),
                   rounded(&doubt, fmax(prediction.sd, 1), 1));
}

static void say_targets(const summary *of)
{
    const bb_profile *profile = of->profile;
    size_t zones = shown_zones(profile);
    if (profile->target_count == 0)
        return;
    const char *titles[2 + ZONES_SHOWN * DEPTHS] = {"<piece", "in air"};
    char *made[ZONES_SHOWN * DEPTHS];
    for (size_t i = 0; i < zones * DEPTHS; i++)
        titles[2 + i] = made[i] =
            need_text("%s%s%.0f cm", i % DEPTHS == 0 ? profile->zones[i / DEPTHS].name : "",
                      i % DEPTHS == 0 ? " " : "", depths_m[i % DEPTHS] * 100);
    struct table cells;
    table_begin(&cells, 2 + zones * DEPTHS, titles);
    for (size_t target = 0; target < profile->target_count; target++) {
        table_cell(&cells, "%s", profile->targets[target].name);
        cell_of(&cells, of, (int)target, BB_ZONE_AIR, air_gap_m);
        for (size_t i = 0; i < zones * DEPTHS; i++)
            cell_of(&cells, of, (int)target, (int)(i / DEPTHS), depths_m[i % DEPTHS]);
    }
    say_gap();
    table_end(&cells);
    say("Two readings in three fall within the %s; lost: too deep to hear through the salt.",
        plus_minus());
    for (size_t i = 0; i < zones * DEPTHS; i++)
        free(made[i]);
}

static const char *target_name(const bb_visit *visit, int target)
{
    return target == BB_TARGET_SAND ? "sand" : visit->targets[target].name;
}

static void say_suspects(const summary *of)
{
    for (size_t i = 0; i < of->suspect_count && i < SUSPECTS_SHOWN; i++) {
        const bb_cell *cell = &of->visit->cells[of->suspects[i].cell];
        say("Hard to believe: sweeps.csv line %ld, %s read %d where %.0f to %.0f was expected. A "
            "slip of the pen, or metal beside it?",
            cell->line, target_name(of->visit, cell->target), cell->reading, of->suspects[i].low,
            of->suspects[i].high);
    }
    if (of->suspect_count > SUSPECTS_SHOWN)
        say("%zu more like it: --verbose lists them.", of->suspect_count - SUSPECTS_SHOWN);
}

/* A cell of the next row that was left out, NULL after the last; begin with NULL. */
static const bb_cell *next_left_out(const summary *of, const bb_cell *cell)
{
    const bb_cell *cells = of->visit->cells, *end = cells + of->visit->cell_count;
    const long line = cell == NULL ? 0 : cell->line;
    cell = cell == NULL ? cells : cell + 1;
    while (cell < end && (!of->left_out[cell - cells] || cell->line == line))
        cell++;
    return cell < end ? cell : NULL;
}

/* The rows left out: "23 (stud), 24 (stud) and 3 more". */
static void say_left_out(const summary *of)
{
    char rows[ROWS_SHOWN * (BB_NAME_BYTES + 32)] = "";
    size_t length = 0;
    int count = 0;
    for (const bb_cell *row = NULL; (row = next_left_out(of, row)) != NULL;)
        if (++count <= ROWS_SHOWN)
            length += (size_t)snprintf(rows + length, sizeof rows - length, "%s%ld (%s)",
                                       count == 1 ? "" : ", ", row->line,
                                       target_name(of->visit, row->target));
    if (count > ROWS_SHOWN)
        (void)snprintf(rows + length, sizeof rows - length, " and %d more", count - ROWS_SHOWN);
    if (count > 0)
        say("Left out: sweeps.csv line%s %s. Whether the salt drowned these cannot be told, and with "
            "them the fit finds no rest: sweep those pieces again, nearer the coil.",
            count == 1 ? "" : "s", rows);
}

/* What the pieces swept leave the fit blind to, and what would open its eyes. */
static void say_blind_spots(const summary *of)
{
    bb_kit_span span;
    phrase numbers;
    if (bb_kit_span_of(of->predictor, of->visit, &span) != BB_OK)
        return;
    const double at_ends = span.at_low_end + span.at_high_end;
    if (span.air_pieces > 0 && span.air_pieces < PIECES_LEAST)
        say("Too few pieces in air to learn the machine's scale: sweep foil, small gold and a "
            "silver coin too.");
    else if (span.air_pieces > 0 && span.angles_apart_deg < ANGLES_APART_DEG)
        say("The pieces swept in air all answer alike, within %.0f degrees: the rest of the scale is "
            "guessed. Add pieces that read far apart, foil and a silver coin.",
            fmax(1, span.angles_apart_deg));
    if (at_ends > AT_ENDS_MOST * span.readings)
        say("%s of pieces out of %.0f stand at an end of the scale, where the machine tells them "
            "apart no longer: sweep pieces that read between %d and %d.",
            counted(&numbers, at_ends, "number", "numbers"), span.readings,
            of->visit->machine.scale_low, of->visit->machine.scale_high);
}

/* The numbers read where a cell was: a slip of the pen shows among them. */
static char *numbers_there(const bb_visit *visit, const bb_cell *cell)
{
    char *numbers = need_text("%d", cell->reading);
    int shown = 1, last = cell->reading;
    for (const bb_cell *at = cell; at < visit->cells + visit->cell_count; at++) {
        const bool there = at->zone == cell->zone && at->target == cell->target &&
                           at->depth_m == cell->depth_m && at->height_m == cell->height_m &&
                           at->setting == 0 && at->has_reading;
        if (!there || at->reading == last)
            continue;
        if (++shown > NUMBERS_SHOWN)
            return need_longer(numbers, " ...");
        numbers = need_longer(numbers, " %d", at->reading);
        last = at->reading;
    }
    return numbers;
}

/* The worst of them: "stud in wet at 5 cm (read 23 62, expected 14)". */
static void say_misses(const summary *of)
{
    char *text = NULL;
    for (size_t i = 0; i < of->miss_count; i++) {
        const bb_miss *miss = &of->misses[i];
        const bb_cell *cell = &of->visit->cells[miss->cell];
        char *numbers = numbers_there(of->visit, cell);
        text = need_longer(text, "%s%s in %s at %.0f cm (read %s, expected %.0f)",
                           i == 0 ? "" : ", ", target_name(of->visit, cell->target),
                           zone_or_air(of->visit->zones, cell->zone), 100 * cell->depth_m,
                           numbers, miss->expected);
        free(numbers);
    }
    if (text != NULL)
        say("What was expected lies further from what was read than repeats do, furthest for %s: "
            "where they differ believe the readings, not the table, and sweep those pieces again.",
            text);
    free(text);
}

/* What the aged pieces told of the beach, and the times of day. */
static void say_ratios(const summary *of)
{
    const bb_ratio corrosion = bb_corrosion_ratio(of->profile);
    if (corrosion.learned)
        say("Metal corrodes here at %.1f times the tables' rate (nine in ten: %.1f to %.1f).",
            corrosion.estimate, corrosion.low, corrosion.high);
    for (size_t zone = 0; zone < of->profile->zone_count; zone++) {
        const bb_ratio hourly = bb_hourly_ratio(of->profile, zone);
        if (hourly.learned)
            say("The sand's answer in zone %s grew %.2f times an hour (nine in ten: %.2f to %.2f).",
                of->profile->zones[zone].name, hourly.estimate, hourly.low, hourly.high);
    }
}

static bool has_drifted(const bb_bare_trend *trend, const bb_machine *machine)
{
    return trend->p_value < DRIFTS_BELOW && fabs(trend->change) >= 2 * machine->scale_step;
}

/* A setting made for sand that has changed since rejects the wrong numbers. */
static void say_trends(const summary *of)
{
    for (size_t zone = 0; zone < of->profile->zone_count; zone++) {
        const bb_bare_trend trend = bb_bare_trend_of(of->visit, zone);
        phrase numbers;
        if (has_drifted(&trend, &of->profile->machine))
            say("Bare sand in zone %s %s by %s in %.1f hours: pump it again just before you hunt, in "
                "a visit of its own, for the setting here goes by all of it.",
                of->profile->zones[zone].name, trend.change > 0 ? "rose" : "fell",
                counted(&numbers, rint(fabs(trend.change)), "number", "numbers"), trend.hours);
    }
}

/* What came from the earlier profile, and whether today speaks against it. */
static void say_prior(const summary *of, const bb_profile *prior)
{
    if (prior == NULL)
        return;
    const bb_prior_contest contest = bb_prior_contest_of(of->profile);
    say("From the earlier profile: %zu of %zu quantities; today's sweeps sharpened the other %zu.",
        contest.from_prior, contest.from_prior + contest.from_today, contest.from_today);
    if (contest.p < CONTRADICTS_BELOW)
        say("Today contradicts it: %s lies %.1f standard errors from where it was. If the setting, "
            "the coil or the piece changed, fit again without --prior.",
            contest.furthest->name, contest.standard_errors);
}

static void say_next(const summary *of)
{
    next_step next = next_after(of->visit);
    if (next.ready)
        say("Next: 'brineband reject %s' says which numbers to reject.", of->folder);
    else
        say("Next: %s 'brineband reject %s' says what can be said already.", next.text, of->folder);
}

/* What this beach adds to each piece's own number, with its standard error. */
static void say_offsets(const summary *of)
{
    static const char *const titles[] = {"<piece", "<zone", "at 5 cm", "at 10 cm", "at 15 cm"};
    struct table table;
    table_begin(&table, 2 + DEPTHS, titles);
    for (size_t target = 0; target < of->profile->target_count; target++)
        for (size_t zone = 0; zone < of->profile->zone_count; zone++) {
            table_cell(&table, "%s", of->profile->targets[target].name);
            table_cell(&table, "%s", of->profile->zones[zone].name);
            for (size_t i = 0; i < DEPTHS; i++) {
                double offset = 0, error = 0;
                (void)bb_predict_offset(of->predictor, (int)target, (int)zone, depths_m[i], &offset,
                                        &error);
                table_cell(&table, "%+.1f%s%.1f", offset, plus_minus(), error);
            }
        }
    say_gap();
    say("Offset from the number in air, with its standard error:");
    table_end(&table);
}

static void say_evidence(const summary *of)
{
    const bb_evidence *evidence = &of->profile->evidence;
    struct table parameters;
    table_begin(
        &parameters, 6,
        (const char *const[]){"<parameter", "estimate", "sd", "prior", "prior sd", "<learned"});
    for (size_t i = 0; i < of->profile->parameter_count; i++) {
        const bb_parameter *row = &of->profile->parameters[i];
        table_cell(&parameters, "%s", row->name);
        table_cell(&parameters, "%.3f", row->estimate);
        table_cell(&parameters, "%.3f", row->sd);
        table_cell(&parameters, "%.3f", row->prior_mean);
        table_cell(&parameters, "%.3f", row->prior_sd);
        table_cell(&parameters, "%s", bb_parameter_learned(row) ? "yes" : "assumed");
    }
    say_gap();
    table_end(&parameters);
    say("Settled in %d rounds, %d steps; gradient %.1e, rank %zu, condition %.1e; a second start "
        "ends %.1e standard errors away.",
        evidence->rounds, evidence->iterations, evidence->gradient, evidence->rank,
        evidence->condition, evidence->restart_distance);
    if (isnan(evidence->lack_of_fit_p))
        say("Lack of fit cannot be told from the spread of repeats: there are too few.");
    else
        say("Lack of fit against repeats: p = %.3f.", evidence->lack_of_fit_p);
}

static void say_summary(const summary *of, const bb_profile *prior, bool verbose)
{
    say_sand(of);
    say_visit(of);
    say_targets(of);
    say_gap();
    say_left_out(of);
    say_suspects(of);
    say_misses(of);
    say_blind_spots(of);
    say_trends(of);
    say_ratios(of);
    say_prior(of, prior);
    say_assumed(of->profile, prior != NULL);
    say_next(of);
    if (verbose) {
        say_offsets(of);
        say_evidence(of);
    }
}

/* ---------------------------------------------------------------- JSON */

static json_t *sand_json(const summary *of)
{
    json_t *zones = json_array();
    for (size_t zone = 0; zone < of->profile->zone_count; zone++) {
        const bb_bare *bare = &of->profile->bare[zone];
        bb_prediction sand;
        double sounding;
        json_t *row =
            json_pack("{s:s,s:o,s:o}", "zone", of->profile->zones[zone].name, "bare_sweeps",
                      json_count(bare->swept), "sounded", json_count(bare->heard));
        if (bb_predict_sand(of->predictor, (int)zone, &sand, &sounding) == BB_OK)
            json_join(row, json_pack("{s:f,s:f,s:f,s:i,s:i}", "sounding_share",
                                                  sounding, "mean", sand.mean, "sd", sand.sd, "low",
                                                  sand.low, "high", sand.high));
        const bb_bare_trend trend = bb_bare_trend_of(of->visit, zone);
        json_join(row, json_pack("{s:o,s:o,s:o}", "change", json_number_or_null(trend.change),
                                 "change_hours", json_number_or_null(trend.hours), "change_p",
                                 json_number_or_null(trend.p_value)));
        json_add(zones, row);
    }
    return zones;
}

static void append_target(json_t *targets, const summary *of, int target, int zone, double depth_m)
{
    bb_prediction at;
    double offset = NAN, error = NAN;
    if (bb_predict(of->predictor, target, zone, depth_m, NAN, &at) != BB_OK)
        return;
    if (zone != BB_ZONE_AIR)
        (void)bb_predict_offset(of->predictor, target, zone, depth_m, &offset, &error);
    json_add(
        targets,
        json_pack("{s:s,s:s,s:f,s:f,s:f,s:i,s:i,s:o,s:o,s:o}", "target",
                  of->profile->targets[target].name,
                  "zone", zone_or_air(of->profile->zones, zone), "depth_cm",
                  depth_m * 100, "mean", at.mean, "sd", at.sd, "low", at.low, "high", at.high,
                  "masked", at.over_sand ? json_boolean(at.masked) : json_null(), "offset_from_air",
                  json_number_or_null(offset), "offset_se", json_number_or_null(error)));
}

static json_t *targets_json(const summary *of)
{
    json_t *targets = json_array();
    for (size_t target = 0; target < of->profile->target_count; target++) {
        append_target(targets, of, (int)target, BB_ZONE_AIR, air_gap_m);
        for (size_t zone = 0; zone < of->profile->zone_count; zone++)
            for (size_t i = 0; i < DEPTHS; i++)
                append_target(targets, of, (int)target, (int)zone, depths_m[i]);
    }
    return targets;
}

static json_t *parameter_json(const bb_parameter *row)
{
    return json_pack("{s:s,s:f,s:f,s:f,s:f,s:b}", "name", row->name, "estimate", row->estimate,
                     "sd", row->sd, "prior_mean", row->prior_mean, "prior_sd", row->prior_sd,
                     "learned", (int)bb_parameter_learned(row));
}

static json_t *parameters_json(const bb_profile *profile)
{
    json_t *parameters = json_array();
    for (size_t i = 0; i < profile->parameter_count; i++)
        json_add(parameters, parameter_json(&profile->parameters[i]));
    json_add(parameters, parameter_json(&profile->noise.reading));
    json_add(parameters, parameter_json(&profile->noise.wander));
    for (size_t zone = 0; zone < profile->zone_count; zone++)
        json_add(parameters, parameter_json(&profile->noise.jitter[zone]));
    return parameters;
}

static json_t *evidence_json(const bb_evidence *evidence)
{
    return json_pack("{s:b,s:i,s:i,s:f,s:I,s:f,s:f,s:f,s:o,s:o,s:o,s:f,s:f}", "converged",
                     (int)evidence->converged, "rounds", evidence->rounds, "iterations",
                     evidence->iterations, "gradient", evidence->gradient, "rank",
                     (json_int_t)evidence->rank, "condition", evidence->condition, "chi2",
                     evidence->chi2, "restart_distance", evidence->restart_distance,
                     "pure_error_sd", json_number_or_null(evidence->pure_error_sd), "lack_of_fit_f",
                     json_number_or_null(evidence->lack_of_fit_f), "lack_of_fit_p",
                     json_number_or_null(evidence->lack_of_fit_p), "lack_of_fit_df",
                     evidence->lack_of_fit_df, "pure_error_df", evidence->pure_error_df);
}

static json_t *suspects_json(const summary *of)
{
    json_t *suspects = json_array();
    for (size_t i = 0; i < of->suspect_count; i++) {
        const bb_suspect *suspect = &of->suspects[i];
        const bb_cell *cell = &of->visit->cells[suspect->cell];
        json_add(suspects,
                              json_pack("{s:I,s:s,s:i,s:f,s:f,s:f}", "line", (json_int_t)cell->line,
                                        "target", target_name(of->visit, cell->target), "reading",
                                        cell->reading, "expected", suspect->expected, "low",
                                        suspect->low, "high", suspect->high));
    }
    return suspects;
}

static json_t *misses_json(const summary *of)
{
    json_t *misses = json_array();
    for (size_t i = 0; i < of->miss_count; i++) {
        const bb_miss *miss = &of->misses[i];
        json_add(misses, json_pack("{s:I,s:f,s:f}", "line",
                                   (json_int_t)of->visit->cells[miss->cell].line, "read", miss->read,
                                   "expected", miss->expected));
    }
    return misses;
}

/* The rows whose sweeps were left out. */
static json_t *left_out_json(const summary *of)
{
    json_t *rows = json_array();
    for (const bb_cell *row = NULL; (row = next_left_out(of, row)) != NULL;)
        json_add(rows, json_integer(row->line));
    return rows;
}

static json_t *summary_json(const summary *of)
{
    next_step next = next_after(of->visit);
    return json_pack("{s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:s}", "profile", of->path, "sweeps",
                     json_count(of->visit->sweep_count), "zones", sand_json(of), "targets",
                     targets_json(of), "assumed", assumed_json(of->profile), "suspects",
                     suspects_json(of), "misses", misses_json(of), "left_out", left_out_json(of), "parameters",
                     parameters_json(of->profile), "evidence",
                     evidence_json(&of->profile->evidence), "next",
                     next.ready ? "choose bands: brineband reject" : next.text);
}

/* ---------------------------------------------------------------- running */

/* No profile: still say what the bare sand read and what to do. */
static void say_what_can_be_said(const bb_visit *visit)
{
    for (size_t zone = 0; zone < visit->zone_count; zone++)
        say_bare_sand(visit, zone);
    next_step next = next_after(visit);
    if (!next.ready)
        say_item(14, "next", "%s", next.text);
}

static outcome report(const struct arguments *arguments, const bb_visit *visit,
                      const bb_profile *profile, const bool *left_out, const bb_profile *prior,
                      const char *path)
{
    summary of = {.folder = arguments->words[0],
                  .path = path,
                  .visit = visit,
                  .profile = profile,
                  .left_out = left_out};
    bb_error error = {0};
    bb_status status = bb_predictor_new(profile, &of.predictor, &error);
    if (status == BB_OK)
        status = bb_suspects(of.predictor, visit, SUSPECTS_MOST, of.suspects, &of.suspect_count);
    if (status == BB_OK && bb_profile_misses(profile))
        status = bb_misses(of.predictor, visit, MISSES_SHOWN, of.misses, &of.miss_count);
    if (status == BB_OK && arguments->json)
        say_json(summary_json(&of));
    else if (status == BB_OK)
        say_summary(&of, prior, option_count(arguments, "verbose") > 0);
    bb_predictor_free(of.predictor);
    return status == BB_OK ? OUTCOME_DONE : fail(status, &error);
}

/* path: of the profile, which is written already. */
static outcome draw(const char *picture, page_format format, const bb_visit *visit,
                    const bb_profile *profile, const char *path)
{
    struct page page;
    outcome result = plot_fit(format, visit, profile, &page);
    if (result == OUTCOME_DONE)
        result = page_write(&page, picture);
    if (result != OUTCOME_DONE)
        warn("%s is written all the same", path);
    return result;
}

static outcome fit_visit(const struct arguments *arguments, const bb_visit *visit,
                         const bb_profile *prior, page_format format)
{
    bb_error error = {0};
    bb_profile *profile = NULL;
    bool *left_out;
    bb_status status = learn(visit, prior, &left_out, &profile, &error);
    if (status != BB_OK) {
        if (!arguments->json)
            say_what_can_be_said(visit);
        free(left_out);
        return fail(status, &error);
    }
    char *path = path_join(arguments->words[0], "profile.json");
    if (option_count(arguments, "anonymous") > 0)
        bb_profile_anonymise(profile);
    const char *picture = option_text_or(arguments, "plot", NULL);
    outcome result = profile_write(path, profile, option_count(arguments, "with-place") > 0);
    if (result == OUTCOME_DONE && picture != NULL)
        result = draw(picture, format, visit, profile, path);
    if (result == OUTCOME_DONE)
        result = report(arguments, visit, profile, left_out, prior, path);
    free(path);
    free(left_out);
    bb_profile_free(profile);
    return result;
}

static outcome run_fit(const struct arguments *arguments)
{
    bb_visit visit = {0};
    bb_profile *prior = NULL;
    const char *prior_path = option_text(arguments, "prior", 0);
    const char *picture = option_text_or(arguments, "plot", NULL);
    page_format format = PAGE_PDF;
    outcome result = picture != NULL ? page_format_of("fit", picture, &format) : OUTCOME_DONE;
    if (result == OUTCOME_DONE)
        result = visit_read(arguments->words[0], &visit);
    if (result == OUTCOME_DONE && prior_path != NULL)
        result = profile_read(prior_path, &prior);
    if (result == OUTCOME_DONE)
        result = fit_visit(arguments, &visit, prior, format);
    bb_profile_free(prior);
    bb_visit_free(&visit);
    return result;
}

static const struct option options[] = {
    {.name = "prior",
     .value = "P.json",
     .kind = VALUE_TEXT,
     .help = "begin from an earlier profile, or a club's"},
    {.name = "with-place", .help = "write the beach's name into the profile"},
    {.name = "anonymous", .help = "without the machine's name, the date cut to its month"},
    {.name = "plot",
     .value = "F.pdf",
     .kind = VALUE_TEXT,
     .help = "draw the curve, departures and depths, as .pdf, .png or .svg"},
    {.name = "verbose", .help = "also the parameters and the evidence that the fit settled"},
    {0},
};

const struct command command_fit = {
    .name = "fit",
    .usage = "DIR [--prior P.json] [--with-place] [--anonymous] [--plot F.pdf] [--verbose] "
             "[--json]",
    .summary = "learn how this beach shifts the numbers; writes profile.json",
    .about =
        "Learns, from the sweeps in DIR, what number the wet sand shows, how much it wanders, and "
        "what each piece shows in air and at each depth here, every number with its doubt. What "
        "was not swept is taken from physics and said to be assumed.\n"
        "Writes DIR/profile.json, which reject, predict, check and judge read. It holds no place, "
        "no time of day and no remark. When the sweeps cannot support a profile it writes none, "
        "says what to sweep, and ends with status 4. Sweeps at the edge of what the salt drowns can "
        "keep a fit from settling: those it leaves out, and names.",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run_fit,
};
