/* The reject setting in words: what to dial in, how quiet it is, what it costs. */
#include "reject_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "band_words.h"
#include "out.h"
#include "outcome.h"
#include "swept.h"

#define HARDLY_QUIET 0.5 /* more than half of the sweeps still sound; judgement, no source */

enum { ITEM = 17 }; /* column of what stands beside a label */

const char *share_words(char buffer[16], double share)
{
    const double whole = rint(100 * share);
    if (share < LEAST_LOSS)
        (void)snprintf(buffer, 16, "0 %%");
    else if (share > 0.995 && share < 1)
        (void)snprintf(buffer, 16, "over 99 %%");
    else if (share > 0 && share < 0.005)
        (void)snprintf(buffer, 16, "under 1 %%");
    else
        (void)snprintf(buffer, 16, "%.0f %%", whole);
    return buffer;
}

json_t *bands_json(const bb_bands *bands)
{
    json_t *list = json_array();
    for (int b = 0; b < bands->count; b++)
        json_add(list,
                              json_pack("[i,i]", bands->band[b].low, bands->band[b].high));
    return list;
}

const char *verdict_name(bb_verdict verdict)
{
    static const char *const names[] = {
        [BB_VERDICT_OK] = "ok", [BB_VERDICT_SHORT] = "short", [BB_VERDICT_UNPROVED] = "unproved"};
    return names[verdict];
}

double silenced_share(const bb_reject *reject, const bb_reject_score *score, size_t row)
{
    return reject->targets[row].audible ? score->lost[row] : score->read_lost[row];
}

const bb_reject_target *hardest_hit(const bb_reject *reject, const bb_reject_score *score,
                                    double *lost)
{
    const bb_reject_target *worst = NULL;
    for (size_t t = 0; t < reject->target_count; t++)
        if (reject->targets[t].binds && (worst == NULL || score->lost[t] > *lost)) {
            worst = &reject->targets[t];
            *lost = score->lost[t];
        }
    return worst;
}

/* "wet sand falls silent 97 % of the time, damp sand always"; the caller frees it. */
static char *silence_words(const bb_profile *profile, const bb_reject *reject,
                           const bb_reject_score *score)
{
    char *text = need_text("%s", "");
    for (size_t z = 0; z < reject->zone_count; z++) {
        char silenced[16];
        text = need_longer(text, "%s%s sand is quiet in %s of sweeps", z == 0 ? "" : ", ",
                           profile->zones[reject->zones[z].zone].name,
                           share_words(silenced, score->silenced[z]));
    }
    return text;
}

char *never_sounded(const bb_profile *profile, int zone)
{
    const bb_bare *bare = &profile->bare[zone];
    phrase sweeps;
    if (!is_silent(bare))
        return NULL;
    return need_text("none of %s sounded", counted(&sweeps, bare->swept, "sweep", "sweeps"));
}

bool is_hardly_quiet(const bb_reject_score *score)
{
    return score->worst_silence < HARDLY_QUIET;
}

static bool any_kept(const bb_reject *reject)
{
    bool any = false;
    for (size_t t = 0; t < reject->target_count; t++)
        any = any || reject->targets[t].binds ||
              (reject->targets[t].index >= 0 && reject->targets[t].target.keep);
    return any;
}

static bool is_unheard(const bb_reject_target *row)
{
    return row->index >= 0 && row->target.keep && !row->audible;
}

bool any_unheard(const bb_reject *reject)
{
    for (size_t t = 0; t < reject->target_count; t++)
        if (is_unheard(&reject->targets[t]))
            return true;
    return false;
}

/* Of the sweeps that read a piece lost by the model, those that the setting silences. */
static double silent_sweeps(const bb_reject_target *row, double share)
{
    return rint(row->read * share);
}

/* "stud in wet sand and ring in wet sand", of such pieces of which the setting silences all that was read,
 * or ""; the caller frees it. */
static char *silenced_here(const bb_profile *profile, const bb_reject *reject, const bb_reject_score *score)
{
    char *text = need_text("%s", "");
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *row = &reject->targets[t];
        if (is_unheard(row) && row->read > 0 &&
            silent_sweeps(row, score->read_lost[t]) == row->read)
            text = need_longer(text, "%s%s in %s sand", *text == '\0' ? "" : " and ",
                               row->target.name, profile->zones[row->zone].name);
    }
    return text;
}

char *after_silenced(const bb_profile *profile, const bb_reject *reject, const bb_reject_score *score,
                     char *of_heard)
{
    char *silenced = silenced_here(profile, reject, score);
    char *text = *silenced == '\0' ? need_text("%s", of_heard)
                                   : need_text("all that was read of %s falls silent; of the others %s",
                                               silenced, of_heard);
    free(of_heard);
    free(silenced);
    return text;
}

/* Of the pieces that can be heard. */
static char *loss_words(const bb_profile *profile, const bb_reject *reject,
                        const bb_reject_score *score)
{
    double lost = 0;
    char share[16];
    const bb_reject_target *worst = hardest_hit(reject, score, &lost);
    if (!any_kept(reject))
        return need_text("there is no kept piece to lose: the kit has none");
    if (worst == NULL)
        return need_text("no kept piece can be heard through this sand to %.0f cm",
                         reject->to_depth_m * 100);
    if (lost < LEAST_LOSS)
        return need_text("no kept piece %sloses anything to %.0f cm",
                         any_unheard(reject) ? "that can be heard " : "", reject->to_depth_m * 100);
    char *text = need_text("hardest hit is %s in %s sand: %s to %.0f cm",
                           worst->target.name, profile->zones[worst->zone].name,
                           share_words(share, lost),
                           fmin(reject->to_depth_m, worst->masked_from_m) * 100);
    return worst->masked_from_m < reject->to_depth_m
               ? need_longer(text, ", then lost to salt")
               : text;
}

static char *cost_words(const bb_profile *profile, const bb_reject *reject,
                        const bb_reject_score *score)
{
    return after_silenced(profile, reject, score, loss_words(profile, reject, score));
}

const char *losses_rest_on(bb_proof proof)
{
    return proof == BB_PROOF_POOLED                                            ? "the club's visits"
           : proof == BB_PROOF_DOUBTFUL || proof == BB_PROOF_READ_THOUGH_LOST ? "these sweeps"
                                                                               : "reckoning alone";
}

static void say_score(const bb_profile *profile, const bb_reject *reject,
                      const bb_reject_score *score, bool proved)
{
    char *silence = silence_words(profile, reject, score);
    char *cost = cost_words(profile, reject, score);
    const bool reckoned = !proved && reject->proof == BB_PROOF_NO_BARE;
    const char *with = score->bands.count == 0 ? "As it is,"
                       : reckoned              ? "By reckoning alone, with it"
                                               : "With it";
    if (!any_kept(reject) && !proved)
        say("%s %s.", with, silence);
    else if (proved || reckoned)
        say("%s %s; %s.", with, silence, cost);
    else
        say("With it %s. Not proved for gold; by %s %s.", silence, losses_rest_on(reject->proof), cost);
    free(silence);
    free(cost);
}

static bool is_counted(const bb_reject *reject, size_t zone)
{
    for (size_t z = 0; z < reject->zone_count; z++)
        if (reject->zones[z].zone == (int)zone)
            return true;
    return false;
}

/* Zones that a few silent sweeps leave open. */
static void say_not_counted(const bb_profile *profile, const bb_reject *reject)
{
    for (size_t z = 0; z < profile->zone_count; z++) {
        const bb_bare *bare = &profile->bare[z];
        phrase sweeps;
        if (!is_counted(reject, z) && is_silent(bare))
            say("Zone %s is not counted: nothing was heard there, but in no more than %s. Pump it "
                "again.",
                profile->zones[z].name, counted(&sweeps, bare->swept, "bare sweep", "bare sweeps"));
    }
}

/* How far the silence rests on few sweeps, and what more of them would show. */
static void say_how_sure(const bb_profile *profile, const bb_reject *reject,
                         const bb_reject_score *score)
{
    char *text = NULL, least[16], then[16];
    for (size_t z = 0; z < reject->zone_count; z++) {
        const bb_reject_zone *zone = &reject->zones[z];
        const double more = BB_BARE_ENOUGH - zone->bare_sweeps;
        if (zone->bare_sweeps <= 0)
            continue;
        text = need_longer(text, "%s %s sand at least %s quiet by %.0f bare sweeps",
                           text == NULL ? "How sure, 19 times of 20:" : ";",
                           profile->zones[zone->zone].name,
                           share_words(least, score->silenced_low[z]), zone->bare_sweeps);
        if (more > 0)
            text = need_longer(text, " (%.0f more: %s)", more,
                               share_words(then, score->silenced_low_more[z]));
    }
    if (text != NULL)
        say("%s.", text);
    free(text);
    say_not_counted(profile, reject);
}

/* What is known of a choice whose search was stopped. */
static void say_proved_so_far(const bb_reject_score *score, bool quiet_first)
{
    char share[16];
    phrase numbers;
    if (score->proved)
        return;
    if (quiet_first)
        say("The search was stopped: a setting as quiet may lose less, but none under %s.",
            share_words(share, score->least_loss));
    else if (score->most_silence < 1)
        say("The search was stopped: a setting that spares gold may be quieter, but none over %s.",
            share_words(share, score->most_silence));
    else if (score->fewest < score->numbers)
        say("The search was stopped: fewer numbers may do, but no fewer than %s.",
            counted(&numbers, score->fewest, "number", "numbers"));
    else
        say("The search was stopped: no fewer numbers do, but others may be a little quieter.");
}

char *yet_read(const bb_profile *profile, const bb_reject *reject, const bb_reject_score *score)
{
    char *text = NULL;
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *row = &reject->targets[t];
        const double silent = silent_sweeps(row, score->read_lost[t]);
        char band[BAND_BYTES];
        if (!is_unheard(row) || !(row->read > 0))
            continue;
        text = need_longer(text, "%s%s in %s sand read %s, ", text == NULL ? "" : "; ",
                           row->target.name, profile->zones[row->zone].name,
                           band_words(band, row->read_low, row->read_high));
        text = silent == 0 ? need_longer(text, "none of %.0f sweeps silent", row->read)
               : silent == row->read
                   ? need_longer(text, silent == 1 ? "its one sweep silent" : "all %.0f sweeps silent",
                                 row->read)
                   : need_longer(text, "%.0f of %.0f sweeps silent", silent, row->read);
    }
    return text;
}

/* "stud in wet sand, ring in damp sand" of kept pieces that no setting can save and of which nothing was
 * read, whether they taught the fit there or not, or NULL; the caller frees it. */
static char *unheard(const bb_profile *profile, const bb_reject *reject, bool swept)
{
    char *text = NULL;
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *row = &reject->targets[t];
        if (is_unheard(row) && !(row->read > 0) && (row->swept > 0) == swept)
            text = need_longer(text, "%s%s in %s sand", text == NULL ? "" : ", ", row->target.name,
                               profile->zones[row->zone].name);
    }
    return text;
}

/* Kept pieces that no setting can save, and what the sweeps say of them. */
static void say_unheard(const bb_profile *profile, const bb_reject *reject)
{
    char *swept = unheard(profile, reject, true), *not_swept = unheard(profile, reject, false);
    char *read = yet_read(profile, reject, &reject->chosen);
    if (swept != NULL)
        say("The salt hides at any depth, whatever is rejected: %s.", swept);
    if (not_swept != NULL)
        say("By physics alone, for no sweep heard them there, the salt hides at any depth: %s.",
            not_swept);
    if (read != NULL)
        say("By the model lost to the salt at any depth, but swept here, and with this setting: %s. "
            "Where they differ believe your sweeps.", read);
    free(swept);
    free(not_swept);
    free(read);
}

/* What would decide an unproved choice. */
static const char *const proofs[] = {
    [BB_PROOF_WHOLE] = "",
    [BB_PROOF_NO_AIR] = "nothing was swept in air in this visit: the machine's own numbers rest on "
                        "physics or on a club's profile. At home, sweep each piece of the kit in air, 10 cm from the coil",
    [BB_PROOF_POOLED] = "it comes from other visits. Sweep each piece of the kit in air at "
                        "home, pump the coil 15 times over bare wet sand, lay a stud-sized piece there, 4 "
                        "sweeps, and fit with --prior and this profile",
    [BB_PROOF_NO_BARE] = "",
    [BB_PROOF_NO_SMALL_GOLD] = "there is no small gold in the kit. Lay a stud-sized piece on this "
                               "wet sand and sweep it 4 times",
    [BB_PROOF_NOT_ON_SAND] = "the small gold of the kit was not swept on this sand. Lay it there "
                             "and sweep it 4 times",
    [BB_PROOF_DOUBTFUL] = "",
    [BB_PROOF_READ_THOUGH_LOST] = "",
};

static void say_read_though_lost(const bb_profile *profile, const bb_reject *reject)
{
    const bb_reject_target *row = &reject->targets[reject->doubted];
    say("Not proved because %s in %s sand was heard though the model calls it lost, and %.0f of its "
        "%.0f sweeps fall silent. Dial the setting in, sweep it there 4 times at two depths, and count "
        "them with 'brineband check'.",
        row->target.name, profile->zones[row->zone].name,
        silent_sweeps(row, reject->chosen.read_lost[reject->doubted]), row->read);
}

static void say_doubt(const bb_profile *profile, const bb_reject *reject)
{
    char high[16], chance[16], limit[16];
    const size_t t = reject->doubted;
    say("Not proved because %s in %s sand may lose as much as %s: the chance that it loses over %s is "
        "%s. Lay it there at two depths and sweep it 4 times at each.",
        reject->targets[t].target.name, profile->zones[reject->targets[t].zone].name,
        share_words(high, reject->lost_high[t]), share_words(limit, reject->max_loss),
        share_words(chance, reject->over_limit[t]));
}

char *never_bare(const bb_profile *profile, const bb_reject *reject)
{
    char *text = NULL;
    for (size_t z = 0; z < reject->zone_count; z++)
        if (!(reject->zones[z].bare_sweeps > 0))
            text = need_longer(text, "%s%s", text == NULL ? "" : " and ",
                               profile->zones[reject->zones[z].zone].name);
    return need_longer(text, " sand was never swept bare");
}

static void say_no_bare(const bb_profile *profile, const bb_reject *reject)
{
    char *where = never_bare(profile, reject);
    say("Not proved because %s: its numbers are reckoned from physics and from the pieces. Pump the "
        "coil 15 times over bare sand there, a pace apart.", where);
    free(where);
}

/* ", for now: wet sand was pumped only 4 times" where any zone was pumped so little, else ""; the caller
 * frees it. */
static char *for_now(const bb_profile *profile, const bb_reject *reject)
{
    char *text = need_text("%s", "");
    for (size_t z = 0; z < reject->zone_count; z++) {
        const bb_reject_zone *zone = &reject->zones[z];
        phrase times;
        if (!(zone->bare_sweeps > 0) || zone->bare_sweeps >= BB_BARE_LEAST)
            continue;
        text = need_longer(text, "%s %s sand was pumped only %s", *text != '\0' ? "," : ", for now:",
                           profile->zones[zone->zone].name,
                           counted(&times, zone->bare_sweeps, "time", "times"));
    }
    return text;
}

static void say_proved(const bb_profile *profile, const bb_reject *reject)
{
    char bands[BANDS_BYTES], *few = for_now(profile, reject);
    char *silenced = silenced_here(profile, reject, &reject->chosen);
    if (reject->chosen.bands.count == 0)
        say_answer("Nothing to reject here: the sand is quiet without it%s.", few);
    else
        say_answer("Reject %s%s%s%s.", bands_words(bands, &reject->chosen.bands), few,
                   *silenced != '\0' ? "; it silences " : "", silenced);
    free(silenced);
    free(few);
    say_score(profile, reject, &reject->chosen, true);
    say_how_sure(profile, reject, &reject->chosen);
    say_proved_so_far(&reject->chosen, false);
}

char *between_visits(const bb_profile *profile, const bb_reject *reject)
{
    char *text = need_text("From visit to visit the middle of the sand's numbers lies, nine in ten,");
    for (size_t z = 0; z < reject->zone_count; z++) {
        const bb_reject_zone *zone = &reject->zones[z];
        text = need_longer(text, "%s at %.0f to %.0f in %s sand", z == 0 ? "" : ",",
                           zone->middle_low, zone->middle_high, profile->zones[zone->zone].name);
    }
    return text;
}

static void say_unproved(const bb_profile *profile, const bb_reject *reject)
{
    char bands[BANDS_BYTES], *few = for_now(profile, reject);
    const bool pooled = reject->proof == BB_PROOF_POOLED;
    say_answer("%s %s to quiet the sand; not proved %s%s.", pooled ? "Start with" : "Reject",
               bands_words(bands, &reject->chosen.bands),
               pooled                                ? "on your sand"
               : reject->proof == BB_PROOF_NO_BARE ? "on this sand"
                                                     : "for gold",
               few);
    free(few);
    say_score(profile, reject, &reject->chosen, false);
    if (pooled) {
        char *range = between_visits(profile, reject);
        say("%s: so wide are these bands. Yours will be narrower.", range);
        free(range);
    }
    if (!pooled)
        say_how_sure(profile, reject, &reject->chosen);
    say_proved_so_far(&reject->chosen, false);
    if (reject->proof == BB_PROOF_DOUBTFUL)
        say_doubt(profile, reject);
    else if (reject->proof == BB_PROOF_READ_THOUGH_LOST)
        say_read_though_lost(profile, reject);
    else if (reject->proof == BB_PROOF_NO_BARE)
        say_no_bare(profile, reject);
    else
        say("Not proved because %s.", proofs[reject->proof]);
}

static void say_short(const bb_profile *profile, const bb_reject *reject)
{
    char gold[BANDS_BYTES], quiet[BANDS_BYTES], silence[16], loss[16];
    say_answer(reject->undecided ? "No setting that is both quiet and safe for gold was found here."
                                 : "No setting is both quiet and safe for gold here.");
    if (reject->undecided)
        say("The search was stopped before it was sure that there is none.");
    say("Gold first: reject %s.", bands_words(gold, &reject->chosen.bands));
    say_score(profile, reject, &reject->chosen, true);
    say_proved_so_far(&reject->chosen, false);
    if (is_hardly_quiet(&reject->chosen))
        say("That hardly quiets this sand: it is no setting to hunt by.");
    if (bb_bands_same(&reject->chosen.bands, &reject->quiet_first.bands)) {
        say("No %d ranges quiet this sand to %s.", reject->at_most,
            share_words(silence, reject->quiet));
    } else {
        say("Quiet first: reject %s.", bands_words(quiet, &reject->quiet_first.bands));
        say_score(profile, reject, &reject->quiet_first, true);
        say_proved_so_far(&reject->quiet_first, true);
    }
    say("Wanted: %s quiet, no kept piece losing over %s.", share_words(silence, reject->quiet),
        share_words(loss, reject->max_loss));
}

void say_bare_range(const bb_profile *profile, const bb_reject *reject)
{
    char band[BAND_BYTES], at_least[16], silenced[16];
    phrase count, spread;
    for (size_t z = 0; z < reject->zone_count; z++) {
        const bb_bare_range *read = &reject->zones[z].read;
        if (read->read == 0)
            continue;
        say_gap();
        say("What the pumps alone say of %s sand:",
            profile->zones[reject->zones[z].zone].name);
        say_item(ITEM, "read", "%s", counted(&count, read->read, "number", "numbers"));
        say_item(ITEM, "range", "%s", band_words(band, read->low, read->high));
        if (read->read < 2)
            continue;
        say_item(ITEM, "spread", "%s numbers: two readings in three lie within it of the middle",
                 rounded(&spread, read->sd, read->sd / sqrt(2 * (read->read - 1))));
        say_item(ITEM, "next outside", "at most 2 pumps in %.0f%s", read->read + 1,
                 read->lone_ends < 2 ? "; likely less, an end was read twice" : "");
        say_item(ITEM, "it holds", "at least %s of all pumps, 19 times of 20",
                 share_words(at_least, read->inside_at_least));
        say_item(ITEM, "the setting", "silences %s, by these numbers and their spread",
                 share_words(silenced, reject->chosen.silenced[z]));
    }
    say_item(ITEM, "to prove gold", "at home, each piece of the kit in air; here, a stud-sized piece "
             "on this sand, 4 sweeps");
}

char *hard_to_believe(const bb_profile *profile)
{
    const bool one = profile->hard_to_believe == 1;
    phrase readings;
    if (!(profile->hard_to_believe > 0))
        return NULL;
    return need_text("%s behind it %s hard to believe; 'brineband fit' names %s",
                     counted(&readings, profile->hard_to_believe, "reading", "readings"),
                     one ? "is" : "are", one ? "it" : "them");
}

void say_setting(const bb_profile *profile, const bb_reject *reject)
{
    static void (*const say_verdict[])(const bb_profile *, const bb_reject *) = {
        [BB_VERDICT_OK] = say_proved,
        [BB_VERDICT_SHORT] = say_short,
        [BB_VERDICT_UNPROVED] = say_unproved};
    say_verdict[reject->verdict](profile, reject);
    if (2 * (size_t)reject->chosen.numbers > reject->numbers)
        say("That is most of the scale: next to nothing could sound. Look for slips among the numbers "
            "of bare sand, and pump it again.");
    say_unheard(profile, reject);
    if (bb_profile_misses(profile))
        say("This rests on a profile that misses some of its readings by more than repeats differ: "
            "where they differ believe the readings, and check the setting with fresh sweeps.");
    char *slips = hard_to_believe(profile);
    if (slips != NULL)
        say("%s: a slip of the pen may have moved the setting.", slips);
    free(slips);
}

static const char *remedy_words(const bb_profile *profile, const bb_remedy *remedy, phrase *words)
{
    switch (remedy->kind) {
    case BB_REMEDY_BARE_SWEEPS:
        (void)snprintf(words->text, sizeof words->text, "bare sweeps, up to %.0f in each zone",
                       remedy->amount);
        break;
    case BB_REMEDY_SMALL_GOLD:
        (void)snprintf(words->text, sizeof words->text, "small gold, %.0f sweeps in each zone",
                       remedy->amount);
        break;
    case BB_REMEDY_HEIGHT:
        (void)snprintf(words->text, sizeof words->text, "a swing %.1f cm over the sand",
                       remedy->amount * 100);
        break;
    case BB_REMEDY_COIL:
        (void)snprintf(words->text, sizeof words->text, "a coil of %.0f cm", remedy->amount * 100);
        break;
    case BB_REMEDY_FREQUENCY:
        (void)snprintf(words->text, sizeof words->text, "%.3g kHz", remedy->amount / 1000);
        break;
    case BB_REMEDY_ZONE:
        (void)snprintf(words->text, sizeof words->text, "only the %s zone",
                       profile->zones[(size_t)remedy->amount].name);
        break;
    }
    return words->text;
}

void say_remedies(const bb_profile *profile, const bb_remedy *remedies, size_t count)
{
    say_gap();
    if (count == 0) {
        say("Nothing that can be computed would help: not more sweeps, a lower swing, a smaller coil, "
            "another frequency or one zone alone.");
        return;
    }
    static const char *const titles[] = {"<what would help", "quiet then, gold safe", "more by"};
    struct table table;
    table_begin(&table, 3, titles);
    for (size_t i = 0; i < count; i++) {
        phrase words;
        char share[16];
        table_cell(&table, "%s", remedy_words(profile, &remedies[i], &words));
        table_cell(&table, "%s", share_words(share, remedies[i].silence));
        table_cell(&table, "%s", share_words(share, remedies[i].gain));
    }
    table_end(&table);
}

json_t *remedies_json(const bb_profile *profile, const bb_remedy *remedies, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        phrase words;
        json_add(list, json_pack("{s:s,s:f,s:f}", "remedy",
                                              remedy_words(profile, &remedies[i], &words),
                                              "silenced", remedies[i].silence, "gain",
                                              remedies[i].gain));
    }
    return list;
}
