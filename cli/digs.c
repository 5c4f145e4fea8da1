/* brineband digs: how past calls fared, what was dug where, and how often. */
#include "command.h"
#include "files.h"
#include "out.h"
#include "profile_file.h"
#include "reject_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define WIDE_OFF 2.0     /* standard deviations that are more than chance */
#define FEW_CALLS 30     /* below, a score tells little: judgement, no source */

enum { PLOT_COLUMNS = 41 };

typedef struct {
    const bb_profile *profile;
    bb_digs digs;
    double *chance;
    bool *came;
    bb_brier brier;
    bb_finds *finds;
    size_t finds_count;
    const char *update; /* file of the new profile, NULL for none */
    bool replace;
} counting;

/* ---------------------------------------------------------------- the score in words */

static void say_score(const counting *of)
{
    const bb_brier *brier = &of->brier;
    const double off = (double)brier->came - brier->expected;
    phrase digs, error, expected;
    say_answer("%s: %zu held something to keep; judge would have called %s %s %s.",
               counted(&digs, (double)brier->calls, "hole", "holes"), brier->came,
               rounded(&expected, brier->expected, fmax(brier->expected_sd, 0.5)), plus_minus(),
               rounded(&error, brier->expected_sd, fmax(brier->expected_sd, 0.5)));
    if (fabs(off) <= WIDE_OFF * brier->expected_sd)
        say("That agrees within chance.%s",
            brier->calls < FEW_CALLS ? " With so few holes, so would calls that are wrong." : "");
    else
        say("That is more than chance: its calls were too %s here. Count more digs with --update, "
            "or sweep the kit again.", off > 0 ? "low" : "high");
}

static void say_brier(const bb_brier *brier)
{
    char overall[16];
    phrase resolution;
    say("Brier score %.3f %s %.3f: 0 is foreknowledge; calling %s each time gives %.3f. It is "
        "reliability %.3f (0 when what is called at 30 %% comes 30 times in 100) less resolution "
        "%s (how far the calls part keepers from the rest) plus uncertainty %.3f (of the digs "
        "themselves).", brier->score, plus_minus(), isnan(brier->se) ? 1 : brier->se,
        share_words(overall, (double)brier->came / (double)brier->calls), brier->uncertainty,
        brier->reliability, rounded(&resolution, brier->resolution, 1e-3), brier->uncertainty);
}

static size_t column_of(double share)
{
    return (size_t)lround(share * (PLOT_COLUMNS - 1));
}

/* "[---o----]" by the limits, o where it came, + where it was called, * both. */
static void say_bin(const bb_brier_bin *bin, size_t index)
{
    char bar[PLOT_COLUMNS + 1];
    const size_t low = column_of(bin->low), high = column_of(bin->high);
    const size_t came = column_of((double)bin->came / (double)bin->calls);
    const size_t called = column_of(bin->called);
    memset(bar, ' ', PLOT_COLUMNS);
    memset(bar + low, '-', high - low + 1);
    bar[PLOT_COLUMNS] = '\0';
    bar[low] = '[';
    bar[high] = ']';
    bar[called] = '+';
    bar[came] = came == called ? '*' : 'o';
    size_t length = PLOT_COLUMNS;
    while (length > 0 && bar[length - 1] == ' ')
        bar[--length] = '\0';
    printf("%3zu-%3zu %%  %5zu  %5zu  |%s\n", 10 * index, 10 * index + 10, bin->calls, bin->came,
           bar);
}

static void say_bins(const bb_brier *brier)
{
    printf("%-9s  %5s  %5s  %-10s%-10s%-10s%-10s%s\n", "called", "holes", "keep", "|0", "25", "50",
           "75", "100 %");
    for (size_t b = 0; b < BB_BRIER_BINS; b++)
        if (brier->bins[b].calls > 0)
            say_bin(&brier->bins[b], b);
    say("o: share that held something to keep, in its 95 %% limits; +: what was called.");
}

/* ---------------------------------------------------------------- what was dug */

static double dug_in(const counting *of, size_t zone)
{
    double sum = 0;
    for (size_t i = 0; i < of->finds_count; i++)
        sum += of->finds[i].dug[zone];
    return sum;
}

/* The deepest of a group in a zone, NAN where no depth was given. */
static double deepest(const counting *of, size_t zone, const char *group)
{
    double depth = NAN;
    for (size_t i = 0; i < of->digs.count; i++) {
        const bb_dig *dig = &of->digs.digs[i];
        if (dig->zone == (int)zone && strcmp(dig->found, group) == 0)
            depth = fmax(depth, dig->depth_m);
    }
    return depth;
}

static void say_rates(const counting *of)
{
    static const char *const titles[] = {"<zone",  "<found", "holes",
                                         "share", "95 % limits", "deepest"};
    struct table table;
    table_begin(&table, 6, titles);
    for (size_t z = 0; z < of->profile->zone_count; z++) {
        const double all = dug_in(of, z);
        for (size_t i = 0; i < of->finds_count; i++) {
            const bb_finds *finds = &of->finds[i];
            const double dug = finds->dug[z], depth = deepest(of, z, finds->group);
            char share[16], low[16], high[16];
            if (dug == 0)
                continue;
            table_cell(&table, "%s", of->profile->zones[z].name);
            table_cell(&table, "%s", finds->group);
            table_cell(&table, "%.0f", dug);
            table_cell(&table, "%s", share_words(share, dug / all));
            table_cell(&table, "%s to %s", share_words(low, bb_binomial_lower(dug, all, BB_TAIL_95)),
                       share_words(high, bb_binomial_upper(dug, all, BB_TAIL_95)));
            if (isnan(depth))
                table_cell(&table, "-");
            else
                table_cell(&table, "%.0f cm", 100 * depth);
        }
    }
    table_end(&table);
}

static void say_spot(struct table *table, const char *name, bb_spot_rate rate)
{
    if (rate.holes == 0 && rate.hours == 0)
        return;
    table_cell(table, "%s", name);
    table_cell(table, "%zu", rate.holes);
    table_cell(table, "%zu", rate.kept);
    if (isnan(rate.per_hour)) {
        for (int i = 0; i < 3; i++)
            table_cell(table, "-");
        return;
    }
    table_cell(table, "%.1f", rate.hours);
    table_cell(table, "%.2g", rate.per_hour);
    table_cell(table, "%.2g to %.2g", rate.low, rate.high);
}

static void say_spots(const bb_digs *digs)
{
    static const char *const titles[] = {"<where", "holes",    "keep",
                                         "hours", "an hour", "95 % limits"};
    struct table table;
    if (digs->spot_count == 0)
        return;
    table_begin(&table, 6, titles);
    for (size_t i = 0; i < digs->spot_count; i++)
        say_spot(&table, digs->spots[i], bb_digs_rate(digs, (int)i));
    say_spot(&table, "(no spot named)", bb_digs_rate(digs, -1));
    say_gap();
    table_end(&table);
    say("Your own counts, things to keep an hour; spots whose limits overlap are not told apart.");
}

static void say_update(const counting *of)
{
    if (of->update == NULL)
        say("Nothing was written. --update NEW.json makes a profile whose odds start from these "
            "finds.");
    else if (of->profile->finds_count > 0)
        say("%s holds these finds, in place of those the profile had. Use it with judge and "
            "practise.", of->update);
    else
        say("%s holds these finds: judge and practise start from them there.", of->update);
}

static void say_words(const counting *of)
{
    say_score(of);
    say_brier(&of->brier);
    say_gap();
    say_bins(&of->brier);
    say_gap();
    say_rates(of);
    say_spots(&of->digs);
    say_gap();
    if (of->profile->finds_count > 0)
        say("The calls started from finds the profile holds already; if those are these same "
            "digs, the score flatters.");
    say("What you heard and left is in none of this: dig a stretch now and then without choosing, "
        "and write the empty holes down too.");
    say_update(of);
}

/* ---------------------------------------------------------------- JSON */

static json_t *bins_json(const bb_brier *brier)
{
    json_t *list = json_array();
    for (size_t b = 0; b < BB_BRIER_BINS; b++) {
        const bb_brier_bin *bin = &brier->bins[b];
        if (bin->calls > 0)
            json_add(list, json_pack("{s:f,s:i,s:i,s:f,s:f}", "called", bin->called,
                                                  "holes", (int)bin->calls, "kept", (int)bin->came,
                                                  "low", bin->low, "high", bin->high));
    }
    return list;
}

static json_t *rates_json(const counting *of)
{
    json_t *list = json_array();
    for (size_t z = 0; z < of->profile->zone_count; z++)
        for (size_t i = 0; i < of->finds_count; i++) {
            const double dug = of->finds[i].dug[z], all = dug_in(of, z);
            const double depth = 100 * deepest(of, z, of->finds[i].group);
            if (dug > 0)
                json_add(
                    list, json_pack("{s:s,s:s,s:o,s:f,s:f,s:f,s:o}", "zone",
                                    of->profile->zones[z].name, "group", of->finds[i].group, "dug",
                                    json_count(dug), "share", dug / all, "low",
                                    bb_binomial_lower(dug, all, BB_TAIL_95), "high",
                                    bb_binomial_upper(dug, all, BB_TAIL_95), "deepest_cm",
                                    json_number_or_null(depth)));
        }
    return list;
}

static json_t *spots_json(const bb_digs *digs)
{
    json_t *list = json_array();
    for (int i = 0; i < (int)digs->spot_count; i++) {
        const bb_spot_rate rate = bb_digs_rate(digs, i);
        json_add(
            list, json_pack("{s:s,s:i,s:i,s:f,s:o,s:o,s:o}", "where", digs->spots[i], "holes",
                            (int)rate.holes, "kept", (int)rate.kept, "hours", rate.hours,
                            "kept_per_hour", json_number_or_null(rate.per_hour), "low",
                            json_number_or_null(rate.low), "high", json_number_or_null(rate.high)));
    }
    return list;
}

static json_t *digs_json(const counting *of)
{
    const bb_brier *brier = &of->brier;
    json_t *score = json_pack(
        "{s:f,s:o,s:f,s:f,s:f,s:o}", "score", brier->score, "se", json_number_or_null(brier->se),
        "reliability", brier->reliability, "resolution", brier->resolution, "uncertainty",
        brier->uncertainty, "skill", json_number_or_null(brier->skill));
    return json_pack("{s:i,s:i,s:f,s:f,s:o,s:o,s:o,s:o,s:s,s:s?}", "holes", (int)brier->calls,
                     "kept", (int)brier->came, "kept_expected", brier->expected,
                     "kept_expected_sd", brier->expected_sd, "brier", score, "bins",
                     bins_json(brier), "rates", rates_json(of), "spots", spots_json(&of->digs),
                     "base_rates", of->profile->finds_count > 0 ? "finds" : "even", "updated",
                     of->update);
}

/* ---------------------------------------------------------------- reading and writing */

static outcome read_all(const struct arguments *arguments, counting *of)
{
    for (size_t i = 1; i < arguments->word_count; i++) {
        char *text;
        size_t length;
        bb_error error = {0};
        outcome result = file_read(arguments->words[i], &text, &length);
        if (result != OUTCOME_DONE)
            return result;
        bb_status status =
            bb_digs_read(text, length, arguments->words[i], of->profile, &of->digs, &error);
        free(text);
        if (status != BB_OK)
            return fail(status, &error);
    }
    return OUTCOME_DONE;
}

static outcome count_up(counting *of)
{
    const size_t count = of->digs.count;
    bb_error error = {0};
    of->chance = need(count + 1, sizeof *of->chance);
    of->came = need(count + 1, sizeof *of->came);
    for (size_t i = 0; i < count; i++)
        of->came[i] = of->digs.digs[i].keep;
    bb_status status = bb_digs_calls(of->profile, &of->digs, of->chance, &error);
    if (status == BB_OK)
        status = bb_digs_count(of->profile, &of->digs, &of->finds, &of->finds_count);
    if (status == BB_OK)
        status = bb_brier_score(of->chance, of->came, count, &of->brier);
    if (status != BB_TOO_LITTLE || error.accepted[0] != '\0')
        return status == BB_OK ? OUTCOME_DONE : fail(status, &error);
    (void)snprintf(error.accepted, sizeof error.accepted,
                   "digs: no hole to count yet: a row each, with zone, reading and found (nothing, "
                   "for an empty hole)");
    error.status = BB_TOO_LITTLE;
    return fail(BB_TOO_LITTLE, &error);
}

static outcome write_update(counting *of)
{
    bb_profile *changed = NULL;
    bb_status status = bb_profile_copy(of->profile, &changed);
    if (status != BB_OK)
        return fail(status, NULL);
    free(changed->finds);
    changed->finds = of->finds;
    changed->finds_count = of->finds_count;
    outcome result = profile_write(of->update, changed, changed->beach.name[0] != '\0');
    changed->finds = NULL;
    bb_profile_free(changed);
    return result;
}

/* A file that is there is left alone unless its replacing was asked for. */
static outcome check_update(const counting *of)
{
    if (of->update == NULL || of->replace || access(of->update, F_OK) != 0)
        return OUTCOME_DONE;
    return fail_command("digs: %s is there already; another name, or --replace to write over it",
                        of->update);
}

static outcome run_digs(const struct arguments *arguments)
{
    bb_profile *profile = NULL;
    counting of = {.update = option_text(arguments, "update", 0),
                   .replace = option_count(arguments, "replace") > 0};
    outcome result = check_update(&of);
    if (result == OUTCOME_DONE)
        result = profile_read(arguments->words[0], &profile);
    of.profile = profile;
    if (result == OUTCOME_DONE)
        result = read_all(arguments, &of);
    if (result == OUTCOME_DONE)
        result = count_up(&of);
    if (result == OUTCOME_DONE && of.update != NULL)
        result = write_update(&of);
    if (result == OUTCOME_DONE && arguments->json)
        say_json(digs_json(&of));
    else if (result == OUTCOME_DONE)
        say_words(&of);
    free(of.finds);
    free(of.chance);
    free(of.came);
    bb_digs_free(&of.digs);
    bb_profile_free(profile);
    return result;
}

static const struct option options[] = {
    {.name = "update", .value = "NEW.json", .kind = VALUE_TEXT,
     .help = "write a profile whose odds start from these finds"},
    {.name = "replace", .help = "--update may write over a file that is there"},
    {0},
};

const struct command command_digs = {
    .name = "digs",
    .usage = "PROFILE DIGS.csv... [--update NEW.json] [--json]",
    .summary = "score past calls against finds; update the odds",
    .about =
        "Reads what you dug, a row a hole: zone,reading,found (a group such as small gold, foil, "
        "coin, junk or iron, a piece of the kit or the catalogue, or nothing), and if you like "
        "depth_cm,where,time,minutes,lat,lon,note. Several readings of one target stand in one "
        "field, spaces between. A row with minutes but no reading and no find counts time spent.\n"
        "It says how often a hole held something to keep beside how often judge would have called "
        "it, by the number alone. The Brier score is the mean squared miss of those calls. With "
        "few holes all limits are wide: they are exact 95 % limits, and where they hold what was "
        "called, nothing speaks against it.\n"
        "--update writes a profile whose odds start from these finds, in each zone, with half a "
        "find added for every group, so that a few holes move the odds only a little. Give all "
        "your files of digs at once: they replace the finds the profile had, so none counts "
        "twice. A new fit starts without finds; count them again.\n"
        "where is any words for a spot (a cut, lee of a groyne, weed line); minutes the time "
        "spent there. Positions, times and notes are checked, then forgotten: no other file and no "
        "other command ever sees them, and where stays in this command's own answer.",
    .options = options,
    .words_least = 2,
    .words_most = (size_t)-1,
    .run = run_digs,
};
