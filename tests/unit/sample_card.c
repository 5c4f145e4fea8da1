/* Cards of invented beaches. */
#include "sample_card.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const sample_piece few[] = {
    {"stud|small gold", 14.5, 2.5}, {"thin ring|small gold", 24, 2}, {"signet|gold", 41, 1.5},
    {"silver coin|coin", 68, 1.2},  {"foil scrap|foil", 13.5, 3},    {0},
};
static const sample_piece long_names[] = {
    {"a very small gold stud with a butterfly back from the old box|small gold", 12, 2},
    {"half a fine chain, links of one millimetre, clasp still shut|small gold", 9, 1.6},
    {"Fingerreif-mit-sehr-langem-Namen-ohne-jedes-Leerzeichen-darin!|small gold", 22, 2},
    {"wedding band, narrow|gold", 34, 2},
    {"wedding band, wide|gold", 38, 2},
    {"signet ring with a flat stone|gold", 44, 2},
    {"coin, small, clad|coin", 52, 2},
    {"coin, middle, worn thin|coin", 57, 2},
    {"coin, large|coin", 63, 2},
    {"silver coin, old|coin", 68, 2},
    {"silver ring, thin|gold", 71, 2},
    {"bronze medal from the regatta of nineteen hundred and something|coin", 75, 1.5},
    {"foil, crumpled to a pea|foil", 12, 3},
    {"bottle-top liner|foil", 18, 3},
    {0},
};
static const sample_piece below_zero[] = {
    {"stud|small gold", -6, 2}, {"thin ring|small gold", 8, 2}, {"signet|gold", 22, 2},
    {"coin|coin", 48, 1},       {"foil|foil", -5, 3},           {0},
};
static const sample_piece thousand[] = {
    {"stud|small gold", 310, 14}, {"thin ring|small gold", 420, 12},
    {"signet|gold", 610, 9},      {"coin|coin", 880, 6},
    {"foil|foil", 300, 25},       {0},
};
static const sample_piece no_piece[] = {{0}};

const sample samples[] = {
    {"plain",
     0,
     80,
     1,
     {2, {{9, 12}, {33, 34}}},
     {1, {{31, 34}}},
     2,
     10.5,
     0.9,
     few,
     BB_VERDICT_OK,
     BB_PROOF_WHOLE,
     false,
     true,
     "shared set|quick, gain 7"},
    {"no safe band",
     0,
     80,
     1,
     {1, {{12, 13}}},
     {0},
     2,
     13.5,
     2.5,
     few,
     BB_VERDICT_SHORT,
     BB_PROOF_WHOLE,
     false,
     true,
     "shared set|quick, gain 7"},
    {"long names",
     0,
     80,
     1,
     {2, {{4, 7}, {29, 31}}},
     {2, {{4, 7}, {29, 31}}},
     3,
     5.5,
     1,
     long_names,
     BB_VERDICT_OK,
     BB_PROOF_WHOLE,
     false,
     true,
     "the machine that the club bought second hand and repaired twice since|"
     "the slow programme, gain one below the middle, tones of five kinds, threshold barely heard"},
    {"below zero",
     -20,
     60,
     1,
     {2, {{-20, -15}, {-2, 3}}},
     {0},
     1,
     -17,
     1,
     below_zero,
     BB_VERDICT_OK,
     BB_PROOF_WHOLE,
     false,
     false,
     "old faithful|"},
    {"a thousand numbers",
     0,
     999,
     1,
     {1, {{180, 231}}},
     {0},
     1,
     205,
     12,
     thousand,
     BB_VERDICT_OK,
     BB_PROOF_WHOLE,
     false,
     true,
     "fine scale|"},
    {"sand alone",
     0,
     80,
     1,
     {1, {{9, 12}}},
     {0},
     1,
     10.5,
     0.9,
     no_piece,
     BB_VERDICT_UNPROVED,
     BB_PROOF_NO_AIR,
     false,
     false,
     "|"},
    {"quiet already",
     0,
     80,
     1,
     {0},
     {1, {{31, 34}}},
     1,
     10.5,
     0.9,
     few,
     BB_VERDICT_OK,
     BB_PROOF_WHOLE,
     false,
     true,
     "shared set|quick, gain 7"},
    {"eight bands",
     0,
     980,
     20,
     {8,
      {{0, 20}, {60, 60}, {100, 140}, {200, 220}, {300, 320}, {400, 420}, {500, 520}, {960, 980}}},
     {0},
     16,
     110,
     12,
     thousand,
     BB_VERDICT_OK,
     BB_PROOF_WHOLE,
     true,
     true,
     "steps of 20|"},
};
const size_t sample_count = sizeof samples / sizeof *samples;

/* ---------------------------------------------------------------- making */

static void *room(size_t count, size_t size)
{
    void *block = calloc(count + 1, size);
    if (block == NULL)
        abort();
    return block;
}

static void split(const char *text, char *first, char *second, size_t size)
{
    const char *bar = strchr(text, '|');
    (void)snprintf(first, size, "%.*s", (int)(bar - text), text);
    (void)snprintf(second, size, "%s", bar + 1);
}

static void curve(const bb_machine *machine, double mean, double sd, double weight, double *p)
{
    double sum = 0;
    size_t n = 0;
    for (int number = machine->scale_low; number <= machine->scale_high;
         number += machine->scale_step, n++)
        sum += p[n] = exp(-0.5 * pow((number - mean) / sd, 2));
    for (size_t i = 0; i < n; i++)
        p[i] *= weight / sum;
}

static double rejected(const bb_machine *machine, const bb_bands *bands, const double *p)
{
    double sum = 0;
    for (int b = 0; b < bands->count; b++)
        for (int number = bands->band[b].low; number <= bands->band[b].high;
             number += machine->scale_step)
            sum += p[(number - machine->scale_low) / machine->scale_step];
    return sum;
}

static bb_profile *make_profile(const sample *from)
{
    bb_profile *profile = room(1, sizeof *profile);
    split(from->words, profile->machine.name, profile->machine.settings, BB_TEXT_BYTES);
    profile->machine.scale_low = from->low;
    profile->machine.scale_high = from->high;
    profile->machine.scale_step = from->step;
    profile->machine.frequency_hz = 7000;
    profile->machine.coil_radius_m = 0.14;
    profile->machine.reject_now = from->now;
    profile->machine.reject_bands = BB_BANDS_MAX;
    profile->machine.coil_assumed = *profile->machine.name == '\0';
    profile->machine.frequency_assumed = profile->machine.coil_assumed;
    profile->beach.swing_height_m = 0.05;
    (void)snprintf(profile->beach.date, sizeof profile->beach.date, "%s",
                   from->dated ? "2026-05-09" : "");
    static const char *const zones[] = {"wet", "damp", "the bar beyond the second groyne"};
    profile->zone_count = from->zone_count;
    profile->zones = room(from->zone_count, sizeof *profile->zones);
    profile->bare = room(from->zone_count, sizeof *profile->bare);
    profile->target_sweeps = room((BB_TARGETS_MAX + 1) * (from->zone_count + 1),
                                  sizeof *profile->target_sweeps);
    for (size_t z = 0; z < from->zone_count; z++)
        (void)snprintf(profile->zones[z].name, BB_NAME_BYTES, "%s%.0zu",
                       z < 3 ? zones[z] : "strip ", z < 3 ? 0 : z);
    while (from->pieces[profile->target_count].name != NULL)
        profile->target_count++;
    profile->targets = room(profile->target_count, sizeof *profile->targets);
    for (size_t k = 0; k < profile->target_count; k++) {
        bb_target *target = &profile->targets[k];
        split(from->pieces[k].name, target->name, target->group, BB_NAME_BYTES);
        target->keep = strcmp(target->group, "foil") != 0;
    }
    profile->sand_sweeps = 212;
    profile->air_sweeps = 60;
    (void)snprintf(profile->digest, sizeof profile->digest, "%s", "3f9a2c71d08be645");
    return profile;
}

static bb_reject *make_reject(const sample *from, const bb_profile *profile)
{
    bb_reject *reject = room(1, sizeof *reject);
    reject->verdict = from->verdict;
    reject->proof = from->proof;
    reject->numbers = (size_t)((from->high - from->low) / from->step) + 1;
    reject->zone_count = from->zone_count;
    reject->zones = room(from->zone_count, sizeof *reject->zones);
    reject->sand = room(from->zone_count * reject->numbers, sizeof *reject->sand);
    reject->targets = room(from->zone_count * profile->target_count, sizeof *reject->targets);
    reject->loss =
        room(from->zone_count * profile->target_count * reject->numbers, sizeof *reject->loss);
    reject->to_depth_m = 0.1;
    for (size_t z = 0; z < from->zone_count; z++) {
        const double sounding = from->bands.count > 0 ? 0.98 : 0.02;
        reject->zones[z] = (bb_reject_zone){
            .zone = (int)z, .bare_sweeps = 25, .sounding_share = sounding,
            .middle_low = NAN, .middle_high = NAN};
        curve(&profile->machine, from->sand_mean + (double)z * from->sand_sd,
              from->sand_sd * (1 + 0.2 * (double)z), sounding, reject->sand + z * reject->numbers);
    }
    for (size_t k = 0; k < profile->target_count; k++)
        for (size_t z = 0; z < from->zone_count; z++) {
            const size_t t = reject->target_count++;
            reject->targets[t] =
                (bb_reject_target){.target = profile->targets[k],
                                   .index = (int)k,
                                   .zone = (int)z,
                                   .binds = profile->targets[k].keep,
                                   .audible = k != 1 || z != 1,
                                   .masked_from_m = k == 0 ? 0.06 + 0.03 * (double)z : NAN};
            if (reject->targets[t].audible)
                curve(&profile->machine, from->pieces[k].mean, from->pieces[k].sd, 1,
                      reject->loss + t * reject->numbers);
        }
    return reject;
}

static void make_score(const bb_reject *reject, const bb_machine *machine, const bb_bands *bands,
                       bb_reject_score *score)
{
    score->bands = *bands;
    score->silenced = room(reject->zone_count, sizeof *score->silenced);
    score->silenced_low = room(reject->zone_count, sizeof *score->silenced_low);
    score->lost = room(reject->target_count, sizeof *score->lost);
    score->read_lost = room(reject->target_count, sizeof *score->read_lost);
    for (size_t z = 0; z < reject->zone_count; z++) {
        score->silenced[z] = 1 - reject->zones[z].sounding_share +
                             rejected(machine, bands, reject->sand + z * reject->numbers);
        score->silenced_low[z] = fmax(score->silenced[z] - 0.1, 0);
    }
    for (size_t t = 0; t < reject->target_count; t++) {
        score->read_lost[t] = NAN;
        score->lost[t] = reject->targets[t].audible
                             ? rejected(machine, bands, reject->loss + t * reject->numbers)
                             : NAN;
    }
}

/* Seven ranges, each with a few groups. */
static bb_number_ranges *make_ranges(const sample *from)
{
    enum { GROUPS = 4, RANGES = 7 };
    static const char *const names[GROUPS] = {"small gold", "foil", "the club's own word",
                                              "bare sand"};
    bb_number_ranges *ranges = room(1, sizeof *ranges);
    ranges->group_count = GROUPS;
    ranges->groups = room(GROUPS, sizeof *ranges->groups);
    ranges->count = RANGES;
    ranges->ranges = room(RANGES, sizeof *ranges->ranges);
    ranges->chances = room(RANGES * GROUPS, sizeof *ranges->chances);
    for (int g = 0; g < GROUPS; g++)
        (void)snprintf(ranges->groups[g], BB_NAME_BYTES, "%s", names[g]);
    for (int i = 0; i < RANGES; i++) {
        const int part = (from->high - from->low) / RANGES;
        double *chance = ranges->chances + i * GROUPS;
        ranges->ranges[i] =
            (bb_number_range){from->low + i * part, from->low + (i + 1) * part - 1, chance};
        chance[i % GROUPS] = 0.5;
        chance[(i + 1) % GROUPS] = 0.3;
        chance[(i + 2) % GROUPS] = i < 2 ? 0.2 : 0.1;
    }
    return ranges;
}

void sample_make(const sample *from, struct made_card *made)
{
    static const bb_bands suggested = {1, {{100, 140}}}, wider = {1, {{9, 18}}};
    bb_profile *profile = make_profile(from);
    bb_reject *reject = make_reject(from, profile);
    make_score(reject, &profile->machine, from->own ? &suggested : &from->bands, &reject->chosen);
    make_score(reject, &profile->machine, &from->bands, &reject->own);
    if (from->verdict == BB_VERDICT_SHORT)
        make_score(reject, &profile->machine, &wider, &reject->quiet_first);
    bb_number_ranges *ranges = make_ranges(from);
    *made = (struct made_card){.profile = profile, .reject = reject, .ranges = ranges};
    made->card = (struct card){.profile = profile,
                               .low_water_min = from->dated ? 14 * 60 + 10 : -1,
                               .turn_back_min = from->dated ? 15 * 60 : -1,
                               .reject = reject,
                               .shown = from->own ? &reject->own : &reject->chosen,
                               .ranges = ranges,
                               .recheck_sweeps = 20,
                               .recheck_sounds = from->verdict == BB_VERDICT_SHORT ? 15 : 3};
    card_choose_rows(&made->card);
    for (size_t i = 0; i < made->card.sand_count; i++) {
        made->card.sand_low[i] = (int)(from->sand_mean - from->sand_sd);
        made->card.sand_high[i] = (int)(from->sand_mean + from->sand_sd);
    }
}

static void free_score(bb_reject_score *score)
{
    free(score->silenced);
    free(score->silenced_low);
    free(score->lost);
    free(score->read_lost);
}

void sample_free(struct made_card *made)
{
    free_score(&made->reject->chosen);
    free_score(&made->reject->own);
    free_score(&made->reject->quiet_first);
    free(made->reject->zones);
    free(made->reject->sand);
    free(made->reject->targets);
    free(made->reject->loss);
    free(made->reject);
    free(made->profile->zones);
    free(made->profile->bare);
    free(made->profile->target_sweeps);
    free(made->profile->targets);
    free(made->profile);
    bb_number_ranges_free(made->ranges);
}
