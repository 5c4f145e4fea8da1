/* brineband check: whether a setting holds on the sand, and whether the profile still does. */
#include "band_words.h"
#include "command.h"
#include "files.h"
#include "out.h"
#include "patience.h"
#include "pick.h"
#include "plot_check.h"
#include "profile_file.h"
#include "reject_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SWEEPS_A_MINUTE 20.0
#define MINUTES_MOST 60.0 /* of pumping bare sand that anybody would do: judgement, no source */
#define FARTHEST_TIMES 10.0 /* judgement, no source */
#define FARTHEST_DEG 30.0   /* likewise */

enum { BARE_LEAST = 5 };

typedef struct {
    const bb_profile *profile;
    const bb_check *check;
    double quiet, sweeps_a_minute;
} finding;

static bool tested(const bb_check *check)
{
    return !isnan(check->p_value);
}

/* ---------------------------------------------------------------- words */

static const char *const verdicts[] = {
    [BB_CHECK_TOO_FEW] = "too few sweeps to tell",
    [BB_CHECK_HOLDS] = "holds",
    [BB_CHECK_LIKELY] = "holds so far",
    [BB_CHECK_NOISY] = "noisy",
};

static void say_zone(const finding *of, const bb_check_setting *setting, const bb_check_zone *zone)
{
    char bands[BANDS_BYTES], low[16], high[16];
    phrase sweeps, minute, more;
    const char *name = setting->has_bands ? bands_words(bands, &setting->bands) : setting->name;
    if (zone->bare_sweeps == 0)
        return;
    say_answer("Rejecting %s in %s sand: %s. %.0f of %s sounded.", name,
               of->profile->zones[zone->zone].name, verdicts[zone->verdict], zone->sounded,
               counted(&sweeps, zone->bare_sweeps, "sweep", "sweeps"));
    say("The true share is %s to %s; at %.0f sweeps a minute that is up to %s a minute.",
        share_words(low, zone->sounded_low), share_words(high, zone->sounded_high),
        of->sweeps_a_minute,
        counted(&minute, ceil(zone->sounded_high * of->sweeps_a_minute), "false sound",
                "false sounds"));
    const double minutes = ceil(zone->sweeps_to_prove / of->sweeps_a_minute);
    if (zone->verdict == BB_CHECK_NOISY)
        say("Too much sounds. Where reject foretold it of a gold-first setting, that is its price, and "
            "quiet first is the other way; else sweep 15 bare spots with nothing rejected, fit again "
            "and ask reject.");
    else if (minutes > MINUTES_MOST)
        say("At this rate no hour of sweeps makes sure of %.0f %% quiet. Swing %d more: if as many sound "
            "again, sweep bare spots with nothing rejected, fit again and ask reject.",
            100 * of->quiet, RECHECK_SWEEPS);
    else if (zone->verdict != BB_CHECK_HOLDS)
        say("To be sure of %.0f %% quiet: %s more, %s, sounding no more often than now.",
            100 * of->quiet, counted(&more, zone->sweeps_to_prove, "sweep", "sweeps"),
            counted(&minute, minutes, "minute", "minutes"));
}

static void say_targets(const finding *of, const bb_check_setting *setting)
{
    static const char *const titles[] = {"<piece", "swept", "silent", "true share silent", "<"};
    struct table table;
    table_begin(&table, 5, titles);
    for (size_t k = 0; k < setting->target_count; k++) {
        const bb_check_target *row = &setting->targets[k];
        const bb_target *target = &of->profile->targets[row->target];
        char low[16], high[16];
        if (row->swept == 0)
            continue;
        table_cell(&table, "%s", target->name);
        table_cell(&table, "%.0f", row->swept);
        table_cell(&table, "%.0f", row->silenced);
        table_cell(&table, "%s to %s", share_words(low, row->silenced_low),
                   share_words(high, row->silenced_high));
        table_cell(&table, "%s", target->keep && row->silenced > 0 ? "costs gold or coins" : "");
    }
    if (table.cells > table.columns) {
        say_gap();
        table_end(&table);
    } else {
        table_free(&table);
    }
}

/* The answer goes by small changes: a factor so far out says only which way. */
static void say_salt(const char *zone, double times)
{
    if (times > FARTHEST_TIMES || times < 1 / FARTHEST_TIMES)
        say("Most likely the salt signal of %s sand is now far %s than it was.", zone,
            times > 1 ? "stronger" : "weaker");
    else
        say("Most likely the salt signal of %s sand is now %.1f times what it was.", zone, times);
}

static void say_change(const finding *of)
{
    const bb_check *check = of->check;
    phrase amount;
    switch (check->change) {
    case BB_CHANGE_SALT:
        say_salt(of->profile->zones[check->change_of].name, exp(check->change_amount));
        break;
    case BB_CHANGE_ANGLE:
        say("Most likely the sand of zone %s answers %s further %s, by its response angle.",
            of->profile->zones[check->change_of].name,
            fabs(check->change_amount) > FARTHEST_DEG
                ? "far"
                : counted(&amount, rint(fabs(check->change_amount)), "degree", "degrees"),
            check->change_amount > 0 ? "up the scale" : "down the scale");
        break;
    case BB_CHANGE_CURVE:
        say("Most likely the machine itself now reads %.1f numbers %s: were its settings changed?",
            fabs(check->change_amount), check->change_amount > 0 ? "higher" : "lower");
        break;
    case BB_CHANGE_TARGET:
        say("Most likely %s is not what it was: it reads %.1f numbers %s.",
            of->profile->targets[check->change_of].name, fabs(check->change_amount),
            check->change_amount > 0 ? "higher" : "lower");
        break;
    case BB_CHANGE_SPREAD:
        say("Bare %s sand spreads %.1f times as wide as the profile expects.",
            of->profile->zones[check->change_of].name, check->change_amount);
        break;
    case BB_CHANGE_NONE:
        break;
    }
}

static void say_profile(const finding *of)
{
    const bb_check *check = of->check;
    phrase readings;
    char bands[BANDS_BYTES];
    say_gap();
    if (check->dialled_in)
        say("These read as swept with %s dialled in: sand fell silent, and no number inside it was "
            "read. Whether the profile still holds such sweeps cannot tell: that takes a few with "
            "nothing rejected. The column setting of the sweeps says what was dialled in.",
            bands_words(bands, &check->settings[0].bands));
    else if (!tested(check))
        say("Whether the profile still holds cannot be told: that takes three numbers read with "
            "nothing rejected.");
    else if (check->holds)
        say("The profile still holds: %s with nothing rejected are such as it expects (as far off "
            "in %.0f of 100 visits where nothing changed).",
            counted(&readings, check->readings, "number", "numbers"), 100 * check->p_value);
    else
        say("The profile holds no longer: numbers so far off come in %.1f of 100 visits where "
            "nothing changed.", 100 * check->p_value);
    say_change(of);
    if (tested(check) && !check->holds && check->change == BB_CHANGE_TARGET)
        say("If it was swapped, or something lies beside it, give it a name of its own in kit.csv or "
            "leave its sweeps out: fitted under the old name it moves every other piece.");
    else if (tested(check) && !check->holds)
        say("Add these sweeps to a new visit and fit it, with --prior and the old profile.");
}

static double bare_sweeps(const bb_check_setting *setting)
{
    double sum = 0;
    for (size_t z = 0; z < setting->zone_count; z++)
        sum += setting->zones[z].bare_sweeps;
    return sum;
}

static bool was_swept(const bb_check_setting *setting)
{
    double swept = bare_sweeps(setting);
    for (size_t k = 0; k < setting->target_count; k++)
        swept += setting->targets[k].swept;
    return swept > 0;
}

static void say_words(const finding *of)
{
    if (of->check->learned_from) {
        say_answer("This proves nothing: these are the very sweeps that the profile was learned "
                   "from. Sweep fresh ones.");
        say_gap();
    }
    if (of->check->setting_count > 1 && !was_swept(&of->check->settings[0])) {
        char bands[BANDS_BYTES];
        say_answer("No sweep was made rejecting %s; what follows is of the settings that were used.",
                   bands_words(bands, &of->check->settings[0].bands));
        say_gap();
    }
    for (size_t s = 0; s < of->check->setting_count; s++) {
        const bb_check_setting *setting = &of->check->settings[s];
        for (size_t z = 0; z < setting->zone_count; z++)
            say_zone(of, setting, &setting->zones[z]);
        say_targets(of, setting);
    }
    if (!of->check->learned_from)
        say_profile(of);
}

/* ---------------------------------------------------------------- JSON */

static json_t *zones_json(const finding *of, const bb_check_setting *setting)
{
    json_t *zones = json_array();
    for (size_t z = 0; z < setting->zone_count; z++) {
        const bb_check_zone *zone = &setting->zones[z];
        if (zone->bare_sweeps > 0)
            json_add(
                zones,
                json_pack("{s:s,s:o,s:o,s:f,s:f,s:s,s:o}", "zone",
                          of->profile->zones[zone->zone].name, "bare_sweeps",
                          json_count(zone->bare_sweeps), "sounded", json_count(zone->sounded),
                          "sounded_low", zone->sounded_low, "sounded_high", zone->sounded_high,
                          "verdict", verdicts[zone->verdict], "sweeps_to_prove",
                          json_number_or_null(zone->sweeps_to_prove)));
    }
    return zones;
}

static json_t *targets_json(const finding *of, const bb_check_setting *setting)
{
    json_t *targets = json_array();
    for (size_t k = 0; k < setting->target_count; k++) {
        const bb_check_target *row = &setting->targets[k];
        if (row->swept > 0)
            json_add(
                targets, json_pack("{s:s,s:o,s:o,s:f,s:f}", "target",
                                   of->profile->targets[row->target].name, "swept",
                                   json_count(row->swept), "silenced", json_count(row->silenced),
                                   "silenced_low", row->silenced_low, "silenced_high",
                                   row->silenced_high));
    }
    return targets;
}

static json_t *settings_json(const finding *of)
{
    json_t *settings = json_array();
    for (size_t s = 1; s < of->check->setting_count; s++) {
        const bb_check_setting *setting = &of->check->settings[s];
        json_add(
            settings, json_pack("{s:s,s:o,s:o,s:o}", "setting", setting->name, "bands",
                                setting->has_bands ? bands_json(&setting->bands) : json_null(),
                                "zones", zones_json(of, setting), "targets",
                                targets_json(of, setting)));
    }
    return settings;
}

static json_t *change_json(const finding *of)
{
    static const char *const names[] = {[BB_CHANGE_NONE] = "none",
                                        [BB_CHANGE_SALT] = "salt level",
                                        [BB_CHANGE_ANGLE] = "sand angle",
                                        [BB_CHANGE_CURVE] = "machine",
                                        [BB_CHANGE_TARGET] = "target",
                                        [BB_CHANGE_SPREAD] = "sand spread"};
    const bb_check *check = of->check;
    const bool of_target = check->change == BB_CHANGE_TARGET;
    if (check->change == BB_CHANGE_NONE)
        return json_null();
    return json_pack("{s:s,s:o,s:f}", "what", names[check->change], "of",
                     check->change_of < 0 ? json_null()
                     : of_target ? json_string(of->profile->targets[check->change_of].name)
                                 : json_string(of->profile->zones[check->change_of].name),
                     "amount", check->change_amount);
}

static json_t *finding_json(const finding *of)
{
    const bb_check *check = of->check;
    const bb_check_setting *asked = &check->settings[0];
    return json_pack("{s:o,s:b,s:b,s:o,s:o,s:o,s:o,s:o,s:o}", "bands", bands_json(&asked->bands),
                     "learned_from", check->learned_from, "dialled_in", check->dialled_in, "zones",
                     zones_json(of, asked), "targets", targets_json(of, asked), "profile_holds",
                     tested(check) ? json_boolean(check->holds) : json_null(),
                     "p_value", json_number_or_null(check->p_value), "changed", change_json(of),
                     "settings", settings_json(of));
}

/* ---------------------------------------------------------------- running */

static double all_bare_sweeps(const bb_check *check)
{
    double sum = 0;
    for (size_t s = 0; s < check->setting_count; s++)
        sum += bare_sweeps(&check->settings[s]);
    return sum;
}

static outcome give(const struct arguments *arguments, const finding *of)
{
    if (arguments->json)
        say_json(finding_json(of));
    else
        say_words(of);
    if (all_bare_sweeps(of->check) >= BARE_LEAST || tested(of->check))
        return OUTCOME_DONE;
    bb_error error = {.status = BB_TOO_LITTLE};
    (void)snprintf(error.accepted, sizeof error.accepted,
                   "too few sweeps to tell: swing over at least %d bare spots (zone, target sand)",
                   BARE_LEAST);
    return fail(BB_TOO_LITTLE, &error);
}

/* Everything that a check looks at. */
typedef struct {
    const bb_profile *profile;
    const bb_predictor *predictor;
    bb_visit fresh;
    bb_reject *reject; /* only where its choice or its trade-off is wanted */
    bb_bands bands;    /* the setting asked about */
    bb_check *check;
} subject;

/* The bands asked about: the command line's, or those that reject would choose. */
static outcome find_bands(const struct arguments *arguments, subject *of)
{
    const bool own = option_count(arguments, "bands") > 0;
    outcome result = own ? pick_bands("check", &of->profile->machine,
                                      option_text(arguments, "bands", 0), &of->bands)
                         : OUTCOME_DONE;
    if (result != OUTCOME_DONE || (own && option_count(arguments, "plot") == 0))
        return result;
    bb_reject_options options = bb_reject_defaults();
    options.quiet = option_number_or(arguments, "quiet", options.quiet);
    bb_error error = {0};
    bb_status status = bb_reject_new(of->predictor, &options, &of->reject, &error);
    if (status != BB_OK)
        return fail(status, &error);
    of->bands = own ? of->bands : of->reject->chosen.bands;
    return OUTCOME_DONE;
}

static outcome plot(const char *path, page_format format, const subject *of)
{
    bb_reject_score asked = {0};
    struct check_plot plotted = {.profile = of->profile,
                                 .reject = of->reject,
                                 .asked = &asked,
                                 .check = of->check};
    bb_status status = bb_reject_score_bands(of->reject, &of->profile->machine, &of->bands, &asked);
    if (status == BB_OK)
        status = departures_find(of->predictor, of->profile, &of->fresh, &plotted.fresh);
    struct page page;
    outcome result =
        status == BB_OK ? plot_check(format, &plotted, &page) : fail(status, NULL);
    if (result == OUTCOME_DONE)
        result = page_write(&page, path);
    departures_free(&plotted.fresh);
    bb_reject_score_free(&asked);
    return result;
}

static outcome check_sweeps(const struct arguments *arguments, subject *of)
{
    const char *picture = option_text_or(arguments, "plot", NULL);
    page_format format = PAGE_PDF;
    bb_error error = {0};
    const double quiet = option_number_or(arguments, "quiet", bb_reject_defaults().quiet);
    outcome result =
        picture != NULL ? page_format_of("check", picture, &format) : OUTCOME_DONE;
    if (result == OUTCOME_DONE)
        result = find_bands(arguments, of);
    if (result == OUTCOME_DONE)
        result = sweeps_read(arguments->words[1], &of->fresh);
    if (result != OUTCOME_DONE)
        return result;
    patience_begin("checking");
    bb_status status =
        bb_check_new(of->predictor, &of->fresh, &of->bands, quiet, &of->check, &error);
    patience_end();
    if (status != BB_OK)
        return fail(status, &error);
    if (picture != NULL)
        result = plot(picture, format, of);
    if (result != OUTCOME_DONE)
        return result;
    return give(arguments,
                &(finding){.profile = of->profile,
                           .check = of->check,
                           .quiet = quiet,
                           .sweeps_a_minute = option_number_or(arguments, "pace", SWEEPS_A_MINUTE)});
}

static outcome run_check(const struct arguments *arguments)
{
    bb_profile *profile = NULL;
    bb_predictor *predictor = NULL;
    bb_error error = {0};
    outcome result = profile_read(arguments->words[0], &profile);
    if (result != OUTCOME_DONE)
        return result;
    subject of = {.profile = profile};
    bb_status status = bb_predictor_new(profile, &predictor, &error);
    of.predictor = predictor;
    if (status == BB_OK)
        status = bb_visit_like(profile, &of.fresh, &error);
    result = status == BB_OK ? check_sweeps(arguments, &of) : fail(status, &error);
    bb_check_free(of.check);
    bb_reject_free(of.reject);
    bb_visit_free(&of.fresh);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
    return result;
}

static const struct option options[] = {
    {.name = "bands", .value = "LIST", .kind = VALUE_TEXT,
     .help = "the setting to check, like 12-15,33-34 (reject's choice)"},
    {.name = "quiet", .value = "Q", .kind = VALUE_SHARE, .low = 0, .high = 0.999,
     .help = "share of bare sweeps that must be silent (0.95)"},
    {.name = "pace", .value = "N", .kind = VALUE_NUMBER, .low = 1, .high = 120,
     .help = "sweeps a minute, to count false sounds by (20)"},
    {.name = "plot", .value = "F.pdf", .kind = VALUE_TEXT,
     .help = "draw the trade-off and what sounded, as .pdf, .png or .svg"},
    {0},
};

const struct command command_check = {
    .name = "check",
    .usage = "PROFILE SWEEPS.csv [--bands LIST] [--plot F.pdf] [--json]",
    .summary = "does the setting hold on the sand, does the profile",
    .about =
        "Reads fresh sweeps, in the form of sweeps.csv, or those of today's folder. A sweep sounded when heard says so, or, "
        "where heard is blank, when its number lies outside the bands. Shares come with exact 95 % "
        "limits: 0 of 25 that sounded still allow 14 %; to prove 5 % takes 72. Swings counted with "
        "times make that a two-minute walk.\n"
        "Numbers read with nothing rejected test the profile too. Sweeps made under other settings "
        "(column setting) are counted beside it, a low-end reject among them.",
    .options = options,
    .words_least = 2,
    .words_most = 2,
    .run = run_check,
};
