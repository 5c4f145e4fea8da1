/* What fit found, in words. */
#include "fit_words.h"

#include "assumed.h"
#include "files.h"
#include "names.h"
#include "next.h"
#include "out.h"
#include "suspect_words.h"
#include "swept.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CONTRADICTS_BELOW 0.01 /* chance of a difference so large among all that were learned */
#define DRIFTS_BELOW 0.001     /* likewise of a trend, of which nobody asked */
#define ANGLES_APART_DEG 30.0  /* nearer pieces leave most of the scale unlearned: judgement */
#define AT_ENDS_MOST 0.2       /* share of numbers at an end of the scale: judgement */

enum { PIECES_LEAST = 3, NUMBERS_SHOWN = 6, SUSPECTS_SHOWN = 3, ROWS_SHOWN = 12, ZONES_SHOWN = 2 };

const double fit_depths_m[FIT_DEPTHS] = {0.05, 0.10, 0.15};
const double fit_air_gap_m = 0.10;

static void say_sand(const struct fit_findings *of)
{
    for (size_t zone = 0; zone < of->learned->profile->zone_count; zone++) {
        const char *name = of->learned->profile->zones[zone].name;
        bb_prediction sand;
        double sounding;
        if (bb_predict_sand(of->learned->predictor, (int)zone, &sand, &sounding) != BB_OK)
            continue;
        const bb_bare *bare = &of->learned->profile->bare[zone];
        phrase number, doubt, sweeps;
        const char *swept = counted(&sweeps, bare->swept, "bare sweep", "bare sweeps");
        (void)rounded(&number, sand.mean, sand.sd);
        (void)rounded(&doubt, sand.sd, sand.sd);
        if (!(bare->swept > 0))
            say("Sand in zone %s was not swept bare; by physics about %s %s %s.", name, number.text,
                plus_minus(), doubt.text);
        else if (bare->number_swept == 0 && bare->heard > 0)
            say("Sand in zone %s sounded in %.0f of %s, but no number was noted; by physics about %s %s "
                "%s.", name, bare->heard, swept, number.text, plus_minus(), doubt.text);
        else if (is_silent(bare))
            say_answer("Sand in zone %s is quiet: nothing heard in %s.", name, swept);
        else
            say_answer("Sand in zone %s reads %s %s %s (nine in ten: %d to %d), from %s.", name,
                       number.text, plus_minus(), doubt.text, sand.low, sand.high, swept);
    }
}

static void say_visit(const struct fit_findings *of)
{
    const bb_profile *profile = of->learned->profile;
    const bool named = *of->visit->beach.name != '\0';
    const size_t pieces = swept_pieces(of->visit);
    phrase sweeps, targets;
    say("%s%searned from %s of %s%sbare sand%s%s.", of->visit->beach.name, named ? ": l" : "L",
        counted(&sweeps, of->visit->sweep_count - profile->left_out, "sweep", "sweeps"),
        pieces > 0 ? counted(&targets, (double)pieces, "piece", "pieces") : "",
        pieces > 0 ? " and " : "", *profile->machine.name ? ", with " : "", profile->machine.name);
}

static size_t shown_zones(const bb_profile *profile)
{
    return profile->zone_count < ZONES_SHOWN ? profile->zone_count : ZONES_SHOWN;
}

static void cell_of(struct table *cells, const struct fit_findings *of, int target, int zone,
                    double depth_m)
{
    bb_prediction prediction;
    phrase number, doubt;
    bool lost;
    if (bb_predict_masked(of->learned->predictor, target, zone, depth_m, NAN, &lost) == BB_OK &&
        lost)
        table_cell(cells, "lost");
    else if (bb_predict(of->learned->predictor, target, zone, depth_m, NAN, &prediction) != BB_OK)
        table_cell(cells, "-");
    else
        table_cell(cells, "%s%s%s", rounded(&number, prediction.mean, 1), plus_minus(),
                   rounded(&doubt, fmax(prediction.sd, 1), 1));
}

static void say_targets(const struct fit_findings *of)
{
    const bb_profile *profile = of->learned->profile;
    size_t zones = shown_zones(profile);
    if (profile->target_count == 0)
        return;
    const char *titles[2 + ZONES_SHOWN * FIT_DEPTHS] = {"<piece", "in air"};
    char *made[ZONES_SHOWN * FIT_DEPTHS];
    for (size_t i = 0; i < zones * FIT_DEPTHS; i++)
        titles[2 + i] = made[i] =
            need_text("%s%s%.0f cm", i % FIT_DEPTHS == 0 ? profile->zones[i / FIT_DEPTHS].name : "",
                      i % FIT_DEPTHS == 0 ? " " : "", fit_depths_m[i % FIT_DEPTHS] * 100);
    struct table cells;
    table_begin(&cells, 2 + zones * FIT_DEPTHS, titles);
    for (size_t target = 0; target < profile->target_count; target++) {
        table_cell(&cells, "%s", profile->targets[target].name);
        cell_of(&cells, of, (int)target, BB_ZONE_AIR, fit_air_gap_m);
        for (size_t i = 0; i < zones * FIT_DEPTHS; i++)
            cell_of(&cells, of, (int)target, (int)(i / FIT_DEPTHS), fit_depths_m[i % FIT_DEPTHS]);
    }
    say_gap();
    table_end(&cells);
    say("Two readings in three fall within the %s; lost: too deep to hear through the salt.",
        plus_minus());
    for (size_t i = 0; i < zones * FIT_DEPTHS; i++)
        free(made[i]);
}

const bb_cell *fit_next_left_out(const struct fit_findings *of, const bb_cell *cell)
{
    const bb_cell *cells = of->visit->cells, *end = cells + of->visit->cell_count;
    const long line = cell == NULL ? 0 : cell->line;
    cell = cell == NULL ? cells : cell + 1;
    while (cell < end && (!of->learned->left_out[cell - cells] || cell->line == line))
        cell++;
    return cell < end ? cell : NULL;
}

/* The rows left out: "23 (stud), 24 (stud) and 3 more". */
static void say_left_out(const struct fit_findings *of)
{
    char rows[ROWS_SHOWN * (BB_NAME_BYTES + 32)] = "";
    size_t length = 0;
    int count = 0;
    for (const bb_cell *row = NULL; (row = fit_next_left_out(of, row)) != NULL;)
        if (++count <= ROWS_SHOWN)
            length += (size_t)snprintf(rows + length, sizeof rows - length, "%s%ld (%s)",
                                       count == 1 ? "" : ", ", row->line,
                                       target_or_sand(of->visit->targets, row->target));
    if (count > ROWS_SHOWN)
        (void)snprintf(rows + length, sizeof rows - length, " and %d more", count - ROWS_SHOWN);
    if (count > 0)
        say("Left out: sweeps.csv line%s %s. Whether the salt drowned these cannot be told, and with "
            "them the fit finds no rest: sweep those pieces again, nearer the coil.",
            count == 1 ? "" : "s", rows);
}

/* What the pieces swept leave the fit blind to, and what would open its eyes. */
static void say_blind_spots(const struct fit_findings *of)
{
    bb_kit_span span;
    phrase numbers;
    if (bb_kit_span_of(of->learned->predictor, of->visit, &span) != BB_OK)
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
static void say_misses(const struct fit_findings *of)
{
    char *text = NULL;
    for (size_t i = 0; i < of->miss_count; i++) {
        const bb_miss *miss = &of->misses[i];
        const bb_cell *cell = &of->visit->cells[miss->cell];
        char *numbers = numbers_there(of->visit, cell);
        text = need_longer(text, "%s%s in %s at %.0f cm (read %s, expected %.0f)",
                           i == 0 ? "" : ", ", target_or_sand(of->visit->targets, cell->target),
                           zone_or_air(of->visit->zones, cell->zone), 100 * cell->depth_m, numbers,
                           miss->expected);
        free(numbers);
    }
    if (text != NULL)
        say("What was expected lies further from what was read than repeats do, furthest for %s: "
            "where they differ believe the readings, not the table, and sweep those pieces again.",
            text);
    free(text);
}

/* What the aged pieces told of the beach, and the times of day. */
static void say_ratios(const struct fit_findings *of)
{
    const bb_ratio corrosion = bb_corrosion_ratio(of->learned->profile);
    if (corrosion.learned)
        say("Metal corrodes here at %.1f times the tables' rate (nine in ten: %.1f to %.1f).",
            corrosion.estimate, corrosion.low, corrosion.high);
    for (size_t zone = 0; zone < of->learned->profile->zone_count; zone++) {
        const bb_ratio hourly = bb_hourly_ratio(of->learned->profile, zone);
        if (hourly.learned)
            say("The sand's answer in zone %s grew %.2f times an hour (nine in ten: %.2f to %.2f).",
                of->learned->profile->zones[zone].name, hourly.estimate, hourly.low, hourly.high);
    }
}

static bool has_drifted(const bb_bare_trend *trend, const bb_machine *machine)
{
    return trend->p_value < DRIFTS_BELOW && fabs(trend->change) >= 2 * machine->scale_step;
}

/* A setting made for sand that has changed since rejects the wrong numbers. */
static void say_trends(const struct fit_findings *of)
{
    for (size_t zone = 0; zone < of->learned->profile->zone_count; zone++) {
        const bb_bare_trend trend = bb_bare_trend_of(of->visit, zone);
        phrase numbers;
        if (has_drifted(&trend, &of->learned->profile->machine))
            say("Bare sand in zone %s %s by %s in %.1f hours: pump it again just before you hunt, in "
                "a visit of its own, for the setting here goes by all of it.",
                of->learned->profile->zones[zone].name, trend.change > 0 ? "rose" : "fell",
                counted(&numbers, rint(fabs(trend.change)), "number", "numbers"), trend.hours);
    }
}

/* What a parameter is about: its name is section.name.quantity. The caller frees it. */
static char *parameter_words(const char *name)
{
    static const struct {
        const char *section, *words;
        bool named;
    } table[] = {{"target.", "the number of ", true},
                 {"zone.", "the sand of zone ", true},
                 {"salt.", "the strength of the salt", false},
                 {"scale.", "the machine's scale", false}};
    const char *end = strrchr(name, '.');
    for (size_t i = 0; i < sizeof table / sizeof *table && end != NULL; i++) {
        const size_t length = strlen(table[i].section);
        if (strncmp(name, table[i].section, length) == 0)
            return need_text("%s%.*s", table[i].words,
                             table[i].named ? (int)(end - name - (ptrdiff_t)length) : 0,
                             name + length);
    }
    return need_text("%s", name);
}

/* What came from the earlier profile, and whether today speaks against it. */
static void say_prior(const struct fit_findings *of, const bb_profile *prior)
{
    if (prior == NULL)
        return;
    const bb_prior_contest contest = bb_prior_contest_of(of->learned->profile);
    say("From the earlier profile: %zu of %zu quantities; today's sweeps sharpened the other %zu.",
        contest.from_prior, contest.from_prior + contest.from_today, contest.from_today);
    if (!(contest.p < CONTRADICTS_BELOW))
        return;
    char *what = parameter_words(contest.furthest->name);
    say("Today contradicts it: %s lies %.1f standard errors from where it was. If the setting or the "
        "coil changed, fit again without --prior; if a piece did, give it a name of its own in kit.csv.",
        what, contest.standard_errors);
    free(what);
}

static void say_next(const struct fit_findings *of)
{
    next_step next = next_after(of->visit, of->learned->profile);
    char *folder = need_word(of->folder);
    const struct lesson *learned = of->learned;
    if (learned->suspect_count > 0)
        say("First look at sweeps.csv line %ld: mend a slip and fit again, for it moves all that follows.",
            of->visit->cells[learned->suspects[0].cell].line);
    if (next.ready)
        say("Next: 'brineband reject %s' says which numbers to reject.", folder);
    else
        say("Next: %s 'brineband reject %s' says what can be said already.", next.text, folder);
    free(folder);
}

/* What this beach adds to each piece's own number, with its standard error. */
static void say_offsets(const struct fit_findings *of)
{
    static const char *const titles[] = {"<piece", "<zone", "at 5 cm", "at 10 cm", "at 15 cm"};
    struct table table;
    table_begin(&table, 2 + FIT_DEPTHS, titles);
    for (size_t target = 0; target < of->learned->profile->target_count; target++)
        for (size_t zone = 0; zone < of->learned->profile->zone_count; zone++) {
            table_cell(&table, "%s", of->learned->profile->targets[target].name);
            table_cell(&table, "%s", of->learned->profile->zones[zone].name);
            for (size_t i = 0; i < FIT_DEPTHS; i++) {
                double offset = 0, error = 0;
                (void)bb_predict_offset(of->learned->predictor, (int)target, (int)zone,
                                        fit_depths_m[i], &offset, &error);
                table_cell(&table, "%+.1f%s%.1f", offset, plus_minus(), error);
            }
        }
    say_gap();
    say("Offset from the number in air, with its standard error:");
    table_end(&table);
}

static void say_evidence(const struct fit_findings *of)
{
    const bb_evidence *evidence = &of->learned->profile->evidence;
    struct table parameters;
    table_begin(
        &parameters, 6,
        (const char *const[]){"<parameter", "estimate", "sd", "prior", "prior sd", "<learned"});
    for (size_t i = 0; i < of->learned->profile->parameter_count; i++) {
        const bb_parameter *row = &of->learned->profile->parameters[i];
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

void fit_say(const struct fit_findings *of, const bb_profile *prior, bool verbose)
{
    say_sand(of);
    say_visit(of);
    say_targets(of);
    say_gap();
    say_left_out(of);
    say_suspects(of->visit, of->learned->suspects, of->learned->suspect_count,
                 verbose ? of->learned->suspect_count : SUSPECTS_SHOWN);
    say_misses(of);
    say_blind_spots(of);
    say_trends(of);
    say_ratios(of);
    say_prior(of, prior);
    say_assumed(of->learned->profile, prior != NULL);
    say_next(of);
    if (verbose) {
        say_offsets(of);
        say_evidence(of);
    }
}
