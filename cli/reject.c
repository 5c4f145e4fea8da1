/* brineband reject: which numbers to reject, how quiet that is, and what it costs. */
#include "band_words.h"
#include "command.h"
#include "next.h"
#include "number_plot.h"
#include "out.h"
#include "patience.h"
#include "pick.h"
#include "profile_file.h"
#include "reject_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BESIDE = 2, PRICED = 4, ROWS_PLOTTED = 8 };

typedef struct {
    const char *path; /* of the profile */
    const bb_profile *profile;
    const bb_reject *reject;
    bb_remedy remedies[BB_REMEDIES_MAX];
    size_t remedy_count;
} answer;

static const char *zone_name(const answer *of, int zone)
{
    return of->profile->zones[zone].name;
}

static bool is_foil(const bb_target *target)
{
    return strcmp(target->group, "foil") == 0;
}

static bool in_kit(const bb_reject_target *row)
{
    return row->index >= 0;
}

/* ---------------------------------------------------------------- words */

static void depth_cell(struct table *table, const bb_reject_target *row)
{
    if (!row->audible)
        table_cell(table, "everywhere");
    else if (isnan(row->masked_from_m))
        table_cell(table, "never");
    else
        table_cell(table, "%.0f cm", row->masked_from_m * 100);
}

static void loss_cell(struct table *table, double lost)
{
    char share[16];
    table_cell(table, "%s", isnan(lost) ? "-" : share_words(share, lost));
}

/* What each piece of the kit loses, in the order of the kit. */
static void say_targets(const answer *of)
{
    const bb_reject *reject = of->reject;
    const bool own = reject->own.lost != NULL;
    static const char *const titles[] = {"<piece",        "<zone",       "<must sound",
                                         "lost",          "lost to salt from", "with yours"};
    struct table table;
    table_begin(&table, own ? 6 : 5, titles);
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *row = &reject->targets[t];
        if (!in_kit(row) && !row->binds)
            continue;
        table_cell(&table, "%s", row->target.name);
        table_cell(&table, "%s", zone_name(of, row->zone));
        table_cell(&table, "%s", row->target.keep || row->binds ? "yes" : "no");
        loss_cell(&table, silenced_share(reject, &reject->chosen, t));
        depth_cell(&table, row);
        if (own)
            loss_cell(&table, reject->own.lost[t]);
    }
    if (table.cells > table.columns) {
        say_gap();
        table_end(&table);
        say("Lost: to the rejected numbers, from the surface to %.0f cm. Lost to salt: too deep to "
            "hear through the salt, whatever is rejected.", reject->to_depth_m * 100);
    } else {
        table_free(&table);
    }
}

/* Is the number one of those on both sides of an edge? */
static bool beside_an_edge(const bb_machine *machine, const bb_bands *bands, int number)
{
    for (int b = 0; b < bands->count; b++) {
        int below = (bands->band[b].low - number) / machine->scale_step;
        int above = (number - bands->band[b].high) / machine->scale_step;
        if ((below <= BESIDE && below > -BESIDE) || (above <= BESIDE && above > -BESIDE))
            return true;
    }
    return false;
}

/* What the numbers beside the edges hold of one row, in all. */
static double held_beside(const answer *of, size_t t)
{
    const bb_machine *machine = &of->profile->machine;
    double sum = 0;
    for (size_t n = 0; n < of->reject->numbers; n++)
        if (beside_an_edge(machine, &of->reject->chosen.bands,
                           bb_scale_number(machine, n)))
            sum += of->reject->loss[t * of->reject->numbers + n];
    return sum;
}

/* The rows priced: of kept pieces and foil in the first zone, those that the edges touch most. */
static size_t priced_rows(const answer *of, size_t rows[PRICED])
{
    const bb_reject *reject = of->reject;
    size_t count = 0;
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *row = &reject->targets[t];
        if (!in_kit(row) || !row->audible || row->zone != reject->zones[0].zone ||
            !(row->binds || is_foil(&row->target)))
            continue;
        size_t at = count;
        while (at > 0 && held_beside(of, t) > held_beside(of, rows[at - 1]))
            at--;
        if (at == PRICED)
            continue;
        count += count < PRICED;
        memmove(rows + at + 1, rows + at, (count - 1 - at) * sizeof *rows);
        rows[at] = t;
    }
    return count;
}

static void say_prices(const answer *of)
{
    const bb_reject *reject = of->reject;
    const bb_machine *machine = &of->profile->machine;
    size_t rows[PRICED];
    const size_t priced = priced_rows(of, rows);
    const char *titles[3 + PRICED] = {"<number", "<now", "sand heard"};
    for (size_t i = 0; i < priced; i++)
        titles[3 + i] = reject->targets[rows[i]].target.name;
    struct table table;
    table_begin(&table, 3 + priced, titles);
    for (size_t n = 0; n < reject->numbers; n++) {
        const int number = bb_scale_number(machine, n);
        if (!beside_an_edge(machine, &reject->chosen.bands, number))
            continue;
        table_cell(&table, "%d", number);
        table_cell(&table, "%s", bb_bands_hold(&reject->chosen.bands, number) ? "rejected" : "heard");
        loss_cell(&table, reject->sand[n]);
        for (size_t i = 0; i < priced; i++)
            loss_cell(&table, reject->loss[rows[i] * reject->numbers + n]);
    }
    if (table.cells == table.columns) {
        table_free(&table);
        return;
    }
    say_gap();
    say("What each number beside the edges holds, in %s sand:",
        zone_name(of, reject->zones[0].zone));
    table_end(&table);
}

static bool any_binds(const bb_reject *reject)
{
    for (size_t t = 0; t < reject->target_count; t++)
        if (reject->targets[t].binds)
            return true;
    return false;
}

static void say_trade_off(const answer *of)
{
    const bb_reject *reject = of->reject;
    const bool losses = any_binds(reject);
    static const char *const titles[] = {"<reject", "numbers", "quiet", "lost at worst"};
    struct table table;
    phrase ranges;
    bool proved = true;
    table_begin(&table, losses ? 4 : 3, titles);
    for (size_t i = 0; i < reject->frontier_count; i++) {
        const bb_reject_score *score = &reject->frontier[i];
        char bands[BANDS_BYTES];
        proved = proved && score->proved;
        table_cell(&table, "%s", bands_words(bands, &score->bands));
        table_cell(&table, "%d", score->numbers);
        loss_cell(&table, score->worst_silence);
        if (losses)
            loss_cell(&table, score->worst_loss);
    }
    say_gap();
    say("The trade-off, up to %s, quietest zone last to fall silent:",
        counted(&ranges, reject->at_most, "range", "ranges"));
    table_end(&table);
    if (!proved)
        say("The search for some of these was cut short: fewer numbers may do there.");
}

static void say_plot(const answer *of)
{
    const bb_reject *reject = of->reject;
    number_row rows[ROWS_PLOTTED];
    char labels[ROWS_PLOTTED][2 * BB_NAME_BYTES], *instead[ROWS_PLOTTED] = {NULL};
    size_t count = 0;
    for (size_t z = 0; z < reject->zone_count && count < 2; z++, count++) {
        (void)snprintf(labels[count], sizeof labels[count], "%s sand",
                       zone_name(of, reject->zones[z].zone));
        instead[count] = never_sounded(of->profile, reject->zones[z].zone);
        rows[count] = (number_row){labels[count], reject->sand + z * reject->numbers, instead[count]};
    }
    for (size_t t = 0; t < reject->target_count && count < ROWS_PLOTTED; t++) {
        const bb_reject_target *row = &reject->targets[t];
        if (!in_kit(row) || !row->audible || row->zone != reject->zones[0].zone ||
            !(row->binds || is_foil(&row->target)))
            continue;
        (void)snprintf(labels[count], sizeof labels[count], "%s", row->target.name);
        rows[count] = (number_row){labels[count], reject->loss + t * reject->numbers, NULL};
        count++;
    }
    say_gap();
    say_number_plot(&of->profile->machine, rows, count, &reject->chosen.bands);
    for (size_t r = 0; r < count; r++)
        free(instead[r]);
}

static void say_reminders(const answer *of)
{
    const bb_machine *machine = &of->profile->machine;
    say_gap();
    say("Foil and small gold share numbers wherever their sizes match: no number parts them, and what "
        "sounds may be either.");
    if (of->reject->chosen.bands.count > 0)
        say("Wider is not safer: what is not in the kit lives in those numbers too.");
    if (machine->has_reject_below)
        say("The low-end reject below %d may silence neither the sand nor small gold: prove it with "
            "'brineband check'.", machine->reject_below);
}

static void say_own(const answer *of)
{
    const bb_reject *reject = of->reject;
    if (reject->own.lost == NULL)
        return;
    char bands[BANDS_BYTES], silence[16], loss[16];
    say_gap();
    say("Your own setting %s: the noisiest zone is quiet in %s of sweeps, the kept piece hit "
        "hardest loses %s.", bands_words(bands, &reject->own.bands),
        share_words(silence, reject->own.worst_silence), share_words(loss, reject->own.worst_loss));
    const bb_machine *machine = &of->profile->machine;
    phrase needed, held;
    if (!machine->reject_bands_assumed && reject->own.bands.count > machine->reject_bands)
        say("It takes %s; by reject_bands in beach.ini this machine holds %s.",
            counted(&needed, (double)reject->own.bands.count, "range", "ranges"),
            counted(&held, machine->reject_bands, "range", "ranges"));
}

static void say_dialled_in(const answer *of)
{
    char bands[BANDS_BYTES];
    const bb_bands *now = &of->profile->machine.reject_now;
    if (now->count > 0 && !bb_bands_same(now, &of->reject->chosen.bands))
        say("Dialled in today: %s.", bands_words(bands, now));
}

/* After an unproved or a missing setting the way on stands beside it. */
static void say_next(const answer *of)
{
    char *path = need_word(of->path), pump[256];
    if (of->profile->pooled_visits == 0 &&
        next_bare_sand(of->profile->zones, of->profile->bare, of->profile->zone_count, pump,
                       sizeof pump))
        say("First: %s Then fit again.", pump);
    if (of->reject->verdict == BB_VERDICT_OK)
        say("Next: 'brineband card %s -o card.pdf' puts it on one page. On the sand dial it in, swing "
            "over bare sand and pieces, and let 'brineband check %s SWEEPS.csv' say whether it holds.",
            path, path);
    free(path);
}

static void say_words(const answer *of)
{
    say_setting(of->profile, of->reject);
    if (of->reject->verdict == BB_VERDICT_SHORT)
        say_remedies(of->profile, of->remedies, of->remedy_count);
    if (of->reject->bare_only)
        say_bare_range(of->profile, of->reject);
    say_dialled_in(of);
    say_own(of);
    say_plot(of);
    say_targets(of);
    if (of->reject->chosen.bands.count > 0)
        say_prices(of);
    if (of->reject->frontier_count > 1)
        say_trade_off(of);
    say_reminders(of);
    say_next(of);
}

/* ---------------------------------------------------------------- JSON */

static json_t *range_json(const bb_bare_range *read)
{
    if (read->read == 0)
        return json_null();
    return json_pack("{s:o,s:i,s:i,s:o,s:f,s:f}", "numbers", json_count(read->read), "low",
                     read->low, "high", read->high, "sd", json_number_or_null(read->sd),
                     "next_outside_at_most", read->outside_at_most, "range_holds_at_least",
                     read->inside_at_least);
}

static json_t *zones_json(const answer *of, const bb_reject_score *score)
{
    json_t *zones = json_array();
    for (size_t z = 0; z < of->reject->zone_count; z++) {
        const bb_reject_zone *zone = &of->reject->zones[z];
        json_add(zones, json_pack("{s:s,s:f,s:f,s:f,s:o,s:f,s:o,s:o,s:o}", "zone",
                                        zone_name(of, zone->zone),
                                        "silenced", score->silenced[z], "silenced_low",
                                        score->silenced_low[z], "silenced_low_after_25",
                                        score->silenced_low_more[z], "bare_sweeps",
                                        json_count(zone->bare_sweeps), "sounding_share",
                                        zone->sounding_share, "next_visit_low",
                                        json_number_or_null(zone->middle_low), "next_visit_high",
                                        json_number_or_null(zone->middle_high), "read",
                                        range_json(&zone->read)));
    }
    return zones;
}

static json_t *targets_json(const answer *of, const bb_reject_score *score)
{
    json_t *targets = json_array();
    for (size_t t = 0; t < of->reject->target_count; t++) {
        const bb_reject_target *row = &of->reject->targets[t];
        const double from_cm = row->audible ? row->masked_from_m * 100 : 0;
        const bool chosen = score == &of->reject->chosen; /* the doubt is of its loss alone */
        json_add(
            targets, json_pack("{s:s,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:s,s:b,s:b}", "target", row->target.name,
                               "zone", zone_name(of, row->zone), "lost",
                               json_number_or_null(score->lost[t]), "lost_high",
                               json_number_or_null(chosen ? of->reject->lost_high[t] : NAN),
                               "over_limit",
                               json_number_or_null(chosen ? of->reject->over_limit[t] : NAN),
                               "read_though_lost", json_count(row->read), "read_lost",
                               json_number_or_null(score->read_lost[t]),
                               "masked_from_cm", json_number_or_null(from_cm), "group",
                               row->target.group, "binds", (int)row->binds, "from_catalogue",
                               (int)!in_kit(row)));
    }
    return targets;
}

static json_t *neighbours_json(const answer *of)
{
    const bb_reject *reject = of->reject;
    const bb_machine *machine = &of->profile->machine;
    json_t *neighbours = json_array();
    for (size_t n = 0; n < reject->numbers; n++) {
        const int number = bb_scale_number(machine, n);
        if (!beside_an_edge(machine, &reject->chosen.bands, number))
            continue;
        json_t *sand = json_array(), *lost = json_array();
        for (size_t z = 0; z < reject->zone_count; z++)
            json_add(sand, json_pack("{s:s,s:f}", "zone",
                                                  zone_name(of, reject->zones[z].zone), "silenced",
                                                  reject->sand[z * reject->numbers + n]));
        for (size_t t = 0; t < reject->target_count; t++)
            if (reject->targets[t].audible && in_kit(&reject->targets[t]))
                json_add(
                    lost, json_pack("{s:s,s:s,s:f}", "target", reject->targets[t].target.name,
                                    "zone", zone_name(of, reject->targets[t].zone), "lost",
                                    reject->loss[t * reject->numbers + n]));
        json_add(neighbours,
                              json_pack("{s:i,s:b,s:o,s:o}", "number", number, "rejected",
                                        (int)bb_bands_hold(&reject->chosen.bands, number), "zones",
                                        sand, "targets", lost));
    }
    return neighbours;
}

static json_t *score_json(const answer *of, const bb_reject_score *score)
{
    if (score->lost == NULL)
        return json_null();
    return json_pack("{s:o,s:b,s:i,s:f,s:f,s:o,s:o}", "bands", bands_json(&score->bands), "exact",
                     (int)score->proved, "numbers", score->numbers, "silenced", score->worst_silence, "worst_loss",
                     score->worst_loss, "zones", zones_json(of, score), "targets",
                     targets_json(of, score));
}

static json_t *frontier_json(const answer *of)
{
    json_t *frontier = json_array();
    for (size_t i = 0; i < of->reject->frontier_count; i++) {
        const bb_reject_score *score = &of->reject->frontier[i];
        json_add(frontier, json_pack("{s:o,s:f,s:f,s:i,s:b}", "bands",
                                     bands_json(&score->bands), "silenced", score->worst_silence,
                                     "worst_loss", score->worst_loss, "numbers", score->numbers,
                                     "exact", (int)score->proved));
    }
    return frontier;
}

static const char *const proof_names[] = {
    [BB_PROOF_WHOLE] = "learned here",
    [BB_PROOF_NO_AIR] = "no air sweeps",
    [BB_PROOF_POOLED] = "from other visits, not yet proved on this sand",
    [BB_PROOF_NO_BARE] = "sand never swept bare",
    [BB_PROOF_NO_SMALL_GOLD] = "no small gold in the kit",
    [BB_PROOF_NOT_ON_SAND] = "small gold not swept on this sand",
    [BB_PROOF_DOUBTFUL] = "learned here, too little to be sure of gold",
    [BB_PROOF_READ_THOUGH_LOST] = "gold heard here that the model calls lost",
};

static json_t *answer_json(const answer *of)
{
    const bb_reject *reject = of->reject;
    return json_pack(
        "{s:s,s:o,s:b,s:o,s:o,s:o,s:o,s:s,s:o,s:o,s:o,s:f,s:f,s:f,s:o}", "verdict",
        verdict_name(reject->verdict), "bands", bands_json(&reject->chosen.bands), "exact",
        (int)(reject->chosen.proved && !reject->undecided), "zones",
        zones_json(of, &reject->chosen), "targets", targets_json(of, &reject->chosen), "neighbours",
        neighbours_json(of), "frontier", frontier_json(of), "rests_on", proof_names[reject->proof],
        "quiet_first", score_json(of, &reject->quiet_first), "own", score_json(of, &reject->own),
        "remedies", remedies_json(of->profile, of->remedies, of->remedy_count), "quiet",
        reject->quiet, "max_loss", reject->max_loss, "to_depth_cm", reject->to_depth_m * 100,
        "hard_to_believe", json_count(of->profile->hard_to_believe));
}

/* ---------------------------------------------------------------- running */

static outcome give(const struct arguments *arguments, const bb_profile *profile,
                    const bb_predictor *predictor, const bb_reject_options *options)
{
    bb_error error = {0};
    bb_reject *reject = NULL;
    answer of = {.path = arguments->words[0], .profile = profile};
    patience_begin("choosing");
    bb_status status = bb_reject_new(predictor, options, &reject, &error);
    of.reject = reject;
    if (status == BB_OK && reject->verdict == BB_VERDICT_SHORT)
        status = bb_remedies(profile, options, of.remedies, &of.remedy_count, &error);
    patience_end();
    if (status != BB_OK) {
        bb_reject_free(reject);
        return fail(status, &error);
    }
    if (arguments->json)
        say_json(answer_json(&of));
    else
        say_words(&of);
    outcome result = reject->verdict == BB_VERDICT_SHORT ? OUTCOME_TOO_LITTLE : OUTCOME_DONE;
    bb_reject_free(reject);
    return result;
}

static outcome find_zones(const struct arguments *arguments, const bb_profile *profile, int *zones,
                          bb_reject_options *options)
{
    outcome result = OUTCOME_DONE;
    options->zone_count = option_count(arguments, "zone");
    options->zones = options->zone_count > 0 ? zones : NULL;
    for (size_t i = 0; i < options->zone_count && result == OUTCOME_DONE; i++)
        result = pick_zone("reject", profile, option_text(arguments, "zone", i), false, &zones[i]);
    return result;
}

static outcome run_reject(const struct arguments *arguments)
{
    bb_profile *profile = NULL;
    bb_predictor *predictor = NULL;
    bb_reject_options options = bb_reject_defaults();
    bb_bands own = {0};
    bb_error error = {0};
    outcome result = profile_read(arguments->words[0], &profile);
    if (result != OUTCOME_DONE)
        return result;
    options.quiet = option_number_or(arguments, "quiet", options.quiet);
    options.max_loss = option_number_or(arguments, "max-loss", options.max_loss);
    options.to_depth_m = option_number_or(arguments, "to-depth", options.to_depth_m);
    options.at_most = (int)option_number_or(arguments, "at-most", options.at_most);
    options.with_catalogue = option_count(arguments, "with-catalogue") > 0;
    int *zones = need(option_count(arguments, "zone") + 1, sizeof *zones);
    result = find_zones(arguments, profile, zones, &options);
    if (result == OUTCOME_DONE && option_count(arguments, "bands") > 0) {
        options.own = &own;
        result = pick_bands("reject", &profile->machine, option_text(arguments, "bands", 0), &own);
    }
    if (result == OUTCOME_DONE) {
        bb_status status = bb_predictor_new(profile, &predictor, &error);
        result = status == BB_OK ? give(arguments, profile, predictor, &options)
                                 : fail(status, &error);
    }
    bb_predictor_free(predictor);
    free(zones);
    bb_profile_free(profile);
    return result;
}

static const struct option options[] = {
    {.name = "zone", .value = "Z", .kind = VALUE_TEXT, .repeats = true,
     .help = "only this zone; repeat for more (all that were swept bare)"},
    {.name = "at-most", .value = "K", .kind = VALUE_WHOLE, .low = 0, .high = BB_BANDS_MAX,
     .help = "so many separate ranges (as many as the machine has)"},
    {.name = "with-catalogue", .help = "small gold that was never swept must sound too"},
    {.name = "quiet", .value = "Q", .kind = VALUE_SHARE, .low = 0, .high = 1,
     .help = "share of bare sweeps that must be silent (0.95)"},
    {.name = "max-loss", .value = "L", .kind = VALUE_SHARE, .low = 0, .high = 1,
     .help = "share that a kept piece may lose (0.05)"},
    {.name = "to-depth", .value = "CM", .kind = VALUE_CM, .low = 0, .high = 50,
     .help = "average the losses from the surface to here (10 cm)"},
    {.name = "bands", .value = "LIST", .kind = VALUE_TEXT,
     .help = "compare your own setting, like 12-15,33-34"},
    {0},
};

const struct command command_reject = {
    .name = "reject",
    .usage = "PROFILE [--zone Z]... [--at-most K] [--bands LIST] [--json]",
    .summary = "which numbers to reject, how quiet, at what price",
    .about =
        "Chooses the fewest numbers whose rejection keeps every zone's sand quiet while no piece "
        "that must still sound loses more than the limit. A wider band is never better for its own "
        "sake. Numbers come from the profile; each share counts sweeps.\n"
        "How sure: quiet is the best estimate, from the bare sweeps and what the model makes of "
        "them; \"at least\" is what so few bare sweeps can vouch for, 19 times of 20, and rises "
        "as more of them stay silent. What a piece loses is a best estimate without such a limit: it counts "
        "the scatter of sweeps and the doubt of the fit, and rests on physics where the piece was "
        "not swept here. 'brineband check' counts both on fresh sweeps.\n"
        "When no setting does both it gives two, gold first and quiet first, and ends with status "
        "4. When the losses rest on reckoning alone it says so: not proved for gold, and the one "
        "sweep that would decide it.",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run_reject,
};
