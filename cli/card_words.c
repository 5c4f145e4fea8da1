/* What a card says, sentence by sentence. */
#include "card_words.h"

#include "band_words.h"
#include "out.h"
#include "outcome.h"
#include "reject_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CHANCE_SHOWN 0.15 /* groups less likely than this are left out of the table */
#define GOLD_SHOWN 0.05   /* but small gold, which nobody wants to walk past */

enum { SHARE_BYTES = 16 };

/* ---------------------------------------------------------------- rows */

/* Keep the most rows with the largest values, in the order of the report. */
static void keep_largest(size_t *rows, double *values, size_t *count, size_t most)
{
    while (*count > most) {
        size_t least = 0;
        for (size_t i = 1; i < *count; i++)
            if (!(values[i] >= values[least]))
                least = i;
        --*count;
        memmove(rows + least, rows + least + 1, (*count - least) * sizeof *rows);
        memmove(values + least, values + least + 1, (*count - least) * sizeof *values);
    }
}

static void choose_sands(struct card *card)
{
    const size_t zones = card->reject->zone_count;
    size_t *rows = need(zones, sizeof *rows), count = zones;
    double *heard = need(zones, sizeof *heard);
    for (size_t z = 0; z < zones; z++) {
        rows[z] = z;
        heard[z] = 1 - card->shown->silenced[z];
    }
    keep_largest(rows, heard, &count, SANDS_MOST);
    memcpy(card->sands, rows, count * sizeof *rows);
    card->sand_count = count;
    free(rows);
    free(heard);
}

static double lost(const struct card *card, size_t row)
{
    const double share = silenced_share(card->reject, card->shown, row);
    return isnan(share) ? -1 : share;
}

/* The row of the zone where each piece of the kit is lost most; target_count where it has none. */
static size_t *worst_rows(const struct card *card)
{
    const bb_reject *reject = card->reject;
    size_t *worst = need(card->profile->target_count, sizeof *worst);
    for (size_t k = 0; k < card->profile->target_count; k++)
        worst[k] = reject->target_count;
    for (size_t t = 0; t < reject->target_count; t++) {
        const int k = reject->targets[t].index;
        if (k >= 0 && (worst[k] == reject->target_count || lost(card, t) > lost(card, worst[k])))
            worst[k] = t;
    }
    return worst;
}

static size_t choose_pieces(const struct card *card, const size_t *worst, bool foil, size_t most,
                            size_t *chosen)
{
    const bb_profile *profile = card->profile;
    size_t *rows = need(profile->target_count, sizeof *rows), count = 0;
    double *values = need(profile->target_count, sizeof *values);
    for (size_t k = 0; k < profile->target_count; k++) {
        const bb_target *target = &profile->targets[k];
        const bool is_foil = strcmp(target->group, BB_GROUP_FOIL) == 0;
        if (worst[k] == card->reject->target_count || is_foil != foil || !(foil || target->keep))
            continue;
        values[count] = lost(card, worst[k]);
        rows[count++] = worst[k];
    }
    keep_largest(rows, values, &count, most);
    memcpy(chosen, rows, count * sizeof *rows);
    free(rows);
    free(values);
    return count;
}

void card_choose_rows(struct card *card)
{
    size_t *worst = worst_rows(card);
    choose_sands(card);
    card->piece_count = choose_pieces(card, worst, false, PIECES_MOST, card->pieces);
    card->foil_count = choose_pieces(card, worst, true, FOILS_MOST, card->foils);
    free(worst);
}

/* ---------------------------------------------------------------- top */

char *card_machine(const struct card *card)
{
    const bb_machine *machine = &card->profile->machine;
    char *text = need_text("%s", *machine->name ? machine->name : "your machine");
    if (*machine->settings)
        text = need_longer(text, " \u00b7 %s", machine->settings);
    if (machine->frequency_kind == BB_FREQUENCY_PAIR)
        text = need_longer(text, " \u00b7 %.3g and %.3g\u00a0kHz",
                           machine->lower_frequency_hz / 1e3, machine->frequency_hz / 1e3);
    else if (!machine->frequency_assumed)
        text = need_longer(text, " \u00b7 %.3g\u00a0kHz", machine->frequency_hz / 1e3);
    if (!machine->coil_assumed)
        text = need_longer(text, " \u00b7 coil %.3g\u00a0cm", 200 * machine->coil_radius_m);
    return need_longer(text, " \u00b7 swung %.2g\u00a0cm up",
                       100 * card->profile->beach.swing_height_m);
}

/* ---------------------------------------------------------------- the setting */

char *card_setting(const struct card *card)
{
    const bb_bands *bands = &card->shown->bands;
    char *text = need_text("%s", bands->count == 0 ? "nothing" : "");
    for (int i = 0; i < bands->count; i++) {
        const int low = bands->band[i].low, high = bands->band[i].high;
        text = need_longer(text, i > 0 ? ", %d" : "%d", low);
        if (low < high)
            text = need_longer(text, "%s%d", low < 0 ? "\u00a0to\u00a0" : "-", high);
    }
    return text;
}

static const char *zone_name(const struct card *card, int zone)
{
    return card->profile->zones[zone].name;
}

static char *doubt_words(const struct card *card)
{
    char high[SHARE_BYTES];
    const size_t t = card->reject->doubted;
    const bb_reject_target *target = &card->reject->targets[t];
    return need_text("Not proved for gold: %s in %s sand may lose up to %s. Sweep it more there.",
                     target->target.name, zone_name(card, target->zone),
                     share_words(high, card->reject->lost_high[t]));
}

static char *no_bare_words(const struct card *card)
{
    char *where = never_bare(card->profile, card->reject);
    char *text = need_text("Not proved: %s. Pump 15 bare spots there, a pace apart.", where);
    free(where);
    return text;
}

static char *beside_suggested(const struct card *card)
{
    static const char *const unproved[] = {
        [BB_PROOF_WHOLE] = "",
        [BB_PROOF_NO_AIR] = "Not proved for gold: no piece was swept in air. Sweep the kit in air "
                            "to know the price.",
        [BB_PROOF_POOLED] =
            "Other visits' numbers, not yet proved on your sand. Sweep the kit in air, pump 15 bare "
            "spots, sweep a stud-sized piece on them, and fit with --prior.",
        [BB_PROOF_NO_BARE] = "",
        [BB_PROOF_NO_SMALL_GOLD] = "Not proved for gold: the kit has no small gold. Sweep a "
                                   "stud-sized piece on this sand to know the price.",
        [BB_PROOF_NOT_ON_SAND] = "Not proved for gold: no small gold was swept on this sand. "
                                 "Sweep it here to know the price.",
        [BB_PROOF_DOUBTFUL] = "",
        [BB_PROOF_READ_THOUGH_LOST] = "Not proved for gold: sweep it with the setting dialled in.",
    };
    const bb_reject *reject = card->reject;
    char bands[BANDS_BYTES];
    if (!bb_bands_same(&card->shown->bands, &reject->chosen.bands))
        return need_text("Your own choice. Suggested here: %s.",
                         bands_words(bands, &reject->chosen.bands));
    if (reject->verdict == BB_VERDICT_UNPROVED && reject->proof == BB_PROOF_DOUBTFUL)
        return doubt_words(card);
    if (reject->verdict == BB_VERDICT_UNPROVED && reject->proof == BB_PROOF_NO_BARE)
        return no_bare_words(card);
    if (reject->verdict == BB_VERDICT_UNPROVED)
        return need_text("%s", unproved[reject->proof]);
    if (reject->verdict == BB_VERDICT_SHORT &&
        bb_bands_same(&reject->chosen.bands, &reject->quiet_first.bands))
        return need_text("No setting here quiets the sand as wanted. This one puts gold first.");
    if (reject->verdict == BB_VERDICT_SHORT)
        return need_text("No setting here is both quiet and safe for gold. This one puts gold "
                         "first; quiet first would be %s.",
                         bands_words(bands, &reject->quiet_first.bands));
    return need_text("%s", card->shown->bands.count == 0 ? "The sand is quiet by itself." : "");
}

char *card_standing(const struct card *card)
{
    char *beside = beside_suggested(card), *heard = yet_read(card->profile, card->reject, card->shown);
    char *slips = hard_to_believe(card->profile);
    char *text = need_text(
        "%s", card->stale ? "Older than this visit's files: fit again, and print it anew." : "");
    const char *gap = *text != '\0' ? " " : "";
    if (card->shown->bands.count > 0 && is_hardly_quiet(card->shown)) {
        text = need_longer(text, "%sThis hardly quiets the sand: no setting to hunt by.", gap);
        gap = " ";
    }
    if (heard != NULL)
        text = need_longer(text, "%sThough lost by the fit, %s. Believe that.", gap, heard);
    else if (bb_profile_misses(card->profile))
        text = need_longer(text, "%sThe fit misses some readings: where they differ believe them.",
                           gap);
    else if (slips != NULL)
        text = need_longer(text, "%s%s.", gap, slips);
    text = need_longer(text, "%s%s", *text != '\0' && *beside != '\0' ? " " : "", beside);
    free(slips);
    free(heard);
    free(beside);
    return text;
}

/* A club has no setting dialled in. */
static char *between_visits_sentence(const struct card *card)
{
    return need_longer(between_visits(card->profile, card->reject), ".");
}

char *card_dialled(const struct card *card)
{
    const bb_machine *machine = &card->profile->machine;
    char bands[BANDS_BYTES];
    const bool same = bb_bands_same(&machine->reject_now, &card->shown->bands);
    if (card->profile->pooled_visits > 0)
        return between_visits_sentence(card);
    char *text = machine->reject_now.count > 0
                     ? need_text("At the visit %s was dialled in: %s.",
                                 bands_words(bands, &machine->reject_now),
                                 same ? "the same, leave it" : "change it to the above")
                     : need_text("At the visit nothing was dialled in: %s.",
                                 same ? "leave it so" : "dial in the above");
    return machine->has_reject_below
               ? need_longer(text,
                             " Its low-end reject below %d was on, which is not counted here.",
                             machine->reject_below)
               : text;
}

/* ---------------------------------------------------------------- how quiet, at what price */

char *card_share(double share)
{
    char words[SHARE_BYTES];
    return need_text("%s", isnan(share) ? "not heard" : share_words(words, share));
}

char *card_quiet(const struct card *card)
{
    const bb_reject *reject = card->reject;
    char *text = need_text("%s", "");
    for (size_t i = 0; i < card->sand_count; i++) {
        const size_t z = card->sands[i];
        char share[SHARE_BYTES], least[SHARE_BYTES];
        phrase sweeps;
        text = need_longer(text, "%s%s sand is quiet in %s of sweeps", i > 0 ? "; " : "",
                           zone_name(card, reject->zones[z].zone),
                           share_words(share, card->shown->silenced[z]));
        if (card->profile->pooled_visits == 0 && reject->zones[z].bare_sweeps <= 0)
            text = need_longer(text, " by reckoning alone");
        else if (card->profile->pooled_visits == 0)
            text = need_longer(text, " (at least %s, by %s)",
                               share_words(least, card->shown->silenced_low[z]),
                               counted(&sweeps, reject->zones[z].bare_sweeps, "sweep", "sweeps"));
    }
    phrase more;
    if (reject->zone_count > card->sand_count)
        text = need_longer(text, "; %s, quieter",
                           counted(&more, (double)(reject->zone_count - card->sand_count),
                                   "other zone", "other zones"));
    return need_longer(text, ".");
}

static char *price_of_heard(const struct card *card)
{
    const bb_reject *reject = card->reject;
    double share = 0;
    const bb_reject_target *worst = hardest_hit(reject, card->shown, &share);
    const double depth_cm = 100 * reject->to_depth_m;
    if (worst == NULL)
        return need_text(card->piece_count == 0
                             ? "not known: the kit has no piece that must sound."
                             : "not known: no piece that must sound is heard in this sand.");
    if (share < LEAST_LOSS)
        return need_text("no kept piece %sis lost at 0 to %.0f cm.",
                         any_unheard(reject) ? "that can be heard " : "", depth_cm);
    char words[SHARE_BYTES];
    const bool proved = reject->verdict != BB_VERDICT_UNPROVED;
    char *text = need_text("%s%s%s%s in %s sand loses %s of sweeps at 0 to %.0f cm",
                           proved ? "" : "by ", proved ? "" : losses_rest_on(reject->proof),
                           proved ? "" : " ",
                           worst->target.name, zone_name(card, worst->zone),
                           share_words(words, share), depth_cm);
    if (worst->masked_from_m < reject->to_depth_m)
        text = need_longer(text,
                           ", counting those above %.0f\u00a0cm, where the salt lets it be heard",
                           100 * worst->masked_from_m);
    return need_longer(text, "; no other kept piece loses more.");
}

char *card_price(const struct card *card)
{
    return after_silenced(card->profile, card->reject, card->shown, price_of_heard(card));
}

/* ---------------------------------------------------------------- groups, and what is masked */

/* Likeliest first: "bare sand 6, foil 2". */
char *card_chances(const struct card *card, size_t range)
{
    const bb_number_ranges *ranges = card->ranges;
    const double *chance = ranges->ranges[range].chance;
    char *text = need_text("%s", "");
    bool *said = need(ranges->group_count, sizeof *said);
    for (size_t shown = 0; shown < ranges->group_count; shown++) {
        size_t next = ranges->group_count;
        for (size_t g = 0; g < ranges->group_count; g++)
            if (!said[g] && (next == ranges->group_count || chance[g] > chance[next]))
                next = g;
        const bool gold = strcmp(ranges->groups[next], BB_GROUP_SMALL_GOLD) == 0;
        said[next] = true;
        if (chance[next] < (gold ? GOLD_SHOWN : CHANCE_SHOWN))
            continue;
        text = need_longer(text, "%s%s\u00a0%.0f", *text != '\0' ? ", " : "", ranges->groups[next],
                           10 * chance[next]);
    }
    free(said);
    return text;
}

/* The small gold of one zone that is masked first; of the kit, or of the catalogue. */
static const bb_reject_target *first_masked(const bb_reject *reject, int zone, bool kit)
{
    const bb_reject_target *first = NULL;
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *row = &reject->targets[t];
        if (row->zone != zone || (row->index >= 0) != kit ||
            strcmp(row->target.group, BB_GROUP_SMALL_GOLD) != 0)
            continue;
        if (first == NULL || isnan(first->masked_from_m) ||
            row->masked_from_m < first->masked_from_m)
            first = row;
    }
    return first;
}

char *card_masked(const struct card *card, size_t zone)
{
    const int index = card->reject->zones[zone].zone;
    const bb_reject_target *first = first_masked(card->reject, index, true);
    first = first != NULL ? first : first_masked(card->reject, index, false);
    if (first == NULL)
        return need_text("not known: no small gold was swept");
    if (isnan(first->masked_from_m))
        return need_text("%s: not within 50 cm", first->target.name);
    return first->masked_from_m > 0
               ? need_text("%s: from %.0f cm on", first->target.name, 100 * first->masked_from_m)
               : need_text("%s: at any depth%s", first->target.name,
                           first->read > 0     ? " by the fit"
                           : first->swept > 0 ? ""
                                              : " by physics alone");
}

/* ---------------------------------------------------------------- recheck, and where it comes from
 */

char *card_recheck(const struct card *card)
{
    if (2 * card->recheck_sounds > card->recheck_sweeps) { /* by ear it would tell nothing */
        char *text = need_text("With nothing rejected, pump bare sand %d times, a pace apart. Nine "
                               "in ten should read",
                               card->recheck_sweeps);
        for (size_t i = 0; i < card->sand_count; i++) {
            char range[BAND_BYTES];
            const bb_reject_zone *zone = &card->reject->zones[card->sands[i]];
            const bb_bare *bare = &card->profile->bare[zone->zone];
            if (bare->swept > 0 && bare->heard == 0)
                text = need_longer(text, "%s nothing in %s sand", i > 0 ? "," : "",
                                   zone_name(card, zone->zone));
            else
                text = need_longer(text, "%s %s in %s sand", i > 0 ? "," : "",
                                   band_words(range, card->sand_low[i], card->sand_high[i]),
                                   zone_name(card, zone->zone));
        }
        return need_longer(text, ". If not, fit anew with what you read.");
    }
    return need_text("Dial in the above. Swing over bare sand %d times, a pace apart: at most %d "
                     "may sound. Lay the smallest gold that is heard here on the sand: it must "
                     "sound. If not, sweep the sand again and fit anew.",
                     card->recheck_sweeps, card->recheck_sounds);
}

char *card_origin(const struct card *card)
{
    const bb_profile *profile = card->profile;
    const struct {
        bool assumed;
        const char *what;
    } rows[] = {
        {profile->machine.frequency_assumed, "frequency"},
        {profile->machine.coil_assumed, "coil"},
        {profile->beach.swing_height_assumed, "swing height"},
        {profile->beach.water_assumed, "water"},
    };
    phrase visits, sand, air;
    char *source = profile->pooled_visits == 0
                       ? need_text("profile %.8s", profile->digest)
                       : need_text("a club's %s", counted(&visits, profile->pooled_visits, "visit",
                                                          "visits"));
    char *text = need_text("brineband %s \u00b7 %s \u00b7 learned from %s and %s in air",
                           BB_VERSION, source,
                           counted(&sand, profile->sand_sweeps, "sweep on sand", "sweeps on sand"),
                           counted(&air, profile->air_sweeps, "sweep", "sweeps"));
    free(source);
    bool first = true;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].assumed) {
            text = need_longer(text, "%s%s", first ? " \u00b7 assumed: " : ", ", rows[i].what);
            first = false;
        }
    return text;
}
