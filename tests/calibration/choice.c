/* Scores the program's reject bands, and the thumb rule's, on the true distributions. */
#include "choice.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SAND_DRAWS = 22000, DRAWS = 800, DEPTHS = 11 }; /* a loss of 5 % to 0.25 % */

#define HEARD_ABOVE                                                                                \
    3.0 /* of signal to jitter: below it a target is masked, whatever is rejected                  \
         */
#define QUIET 0.95
#define MAX_LOSS 0.05

/* The true rows: what sounds on each zone's bare sand, what each kept target shows. */
typedef struct {
    bb_band_problem problem;
    double *sand, *loss;
} true_rows;

static void add_row(double *row, const truth_distribution *numbers, double weight)
{
    for (size_t n = 0; n < numbers->count; n++)
        row[n] += weight * numbers->chances[n];
}

static void set_sand(const truth *t, gsl_rng *random, true_rows *rows)
{
    for (size_t z = 0; z < t->zone_count; z++) {
        const truth_place place = {(int)z, BB_TARGET_SAND, 0, t->beach.swing_height_m, NAN};
        truth_distribution numbers;
        truth_chances(t, &place, SAND_DRAWS, random, &numbers);
        add_row(rows->sand + z * rows->problem.numbers, &numbers, t->zone[z].sounding);
    }
}

/* Average over the depths where it can be heard; false where there is none. */
static bool set_target(const truth *t, size_t zone, size_t target, gsl_rng *random, double *row,
                       size_t numbers)
{
    truth_place place = {(int)zone, (int)target, 0, t->beach.swing_height_m, NAN};
    double heard = 0;
    for (int cm = 0; cm < DEPTHS; cm++) {
        truth_distribution shown;
        place.depth_m = cm / 100.0;
        if (truth_signal_to_ground(t, &place) < HEARD_ABOVE)
            break;
        truth_chances(t, &place, DRAWS, random, &shown);
        add_row(row, &shown, 1);
        heard += 1;
    }
    for (size_t n = 0; n < numbers && heard > 0; n++)
        row[n] /= heard;
    return heard > 0;
}

static bool rows_new(const truth *t, gsl_rng *random, true_rows *rows)
{
    const size_t numbers = scale_count(&t->machine);
    rows->sand = calloc(t->zone_count * numbers, sizeof *rows->sand);
    rows->loss = calloc((t->target_count * t->zone_count + 1) * numbers, sizeof *rows->loss);
    if (rows->sand == NULL || rows->loss == NULL)
        return false;
    rows->problem = (bb_band_problem){.numbers = numbers,
                                      .zones = t->zone_count,
                                      .sand = rows->sand,
                                      .loss = rows->loss,
                                      .at_most = t->machine.reject_bands,
                                      .quiet = QUIET,
                                      .max_loss = MAX_LOSS};
    set_sand(t, random, rows);
    for (size_t k = 0; k < t->target_count; k++)
        for (size_t z = 0; z < t->zone_count && t->target[k].told.keep; z++)
            if (set_target(t, z, k, random, rows->loss + rows->problem.losses * numbers, numbers))
                rows->problem.losses++;
    return true;
}

static void rows_free(true_rows *rows)
{
    free(rows->sand);
    free(rows->loss);
}

/* Lowest to highest bare reading of each zone that is not quiet by itself, one number wider; bands
 * that touch are one. */
static bb_band_choice thumb_rule(const bb_visit *visit, size_t numbers)
{
    bool rejected[BB_NUMBERS_MAX] = {false};
    for (size_t z = 0; z < visit->zone_count; z++) {
        const bb_bare *bare = &visit->bare[z];
        size_t low = numbers, high = 0;
        for (size_t n = 0; n < numbers; n++)
            if (bare->counts[n] > 0) {
                low = low < n ? low : n;
                high = n;
            }
        if (low == numbers || bare->heard <= (1 - QUIET) * bare->swept)
            continue;
        for (size_t n = low > 0 ? low - 1 : 0; n <= high + 1 && n < numbers; n++)
            rejected[n] = true;
    }
    bb_band_choice choice = {0};
    for (size_t n = 0; n < numbers; n++) {
        if (!rejected[n])
            continue;
        if (n == 0 || !rejected[n - 1])
            choice.band[choice.count++].low = (int)n;
        choice.band[choice.count - 1].high = (int)n;
    }
    return choice;
}

static bb_band_choice choice_of(const bb_machine *machine, const bb_bands *bands)
{
    bb_band_choice choice = {.count = bands->count};
    for (int b = 0; b < bands->count; b++) {
        choice.band[b].low = (bands->band[b].low - machine->scale_low) / machine->scale_step;
        choice.band[b].high = (bands->band[b].high - machine->scale_low) / machine->scale_step;
    }
    return choice;
}

/* known: the choice with the truth known, NULL where there is none. */
static bool tally_rule(rule_tally *tally, const bb_band_problem *problem, bb_band_choice *choice,
                       const bb_band_choice *known)
{
    if (bb_bands_score(problem, choice) != BB_OK)
        return false;
    tally->visits += 1;
    tally->silence += choice->worst_silence;
    tally->quiet += choice->worst_silence >= 0.90 ? 1 : 0;
    tally->costly += choice->worst_loss > MAX_LOSS ? 1 : 0;
    tally->avoidable += choice->worst_loss > MAX_LOSS && known != NULL ? 1 : 0;
    if (known != NULL) {
        tally->compared += 1;
        tally->numbers += choice->numbers;
        tally->known_numbers += known->numbers;
        tally->within_one += abs(choice->numbers - known->numbers) <= 1 ? 1 : 0;
    }
    return true;
}

static void tell(const truth *t, const bb_reject *reject, const bb_band_choice *choice,
                 const bb_band_choice *thumb, const bb_band_choice *known)
{
    double over = 0, high = 0;
    for (size_t k = 0; k < reject->target_count; k++)
        if (reject->targets[k].binds) {
            over = fmax(over, reject->over_limit[k]);
            high = fmax(high, reject->lost_high[k]);
        }
    static const char *const words[VERDICTS] = {"ok", "short", "unproved"};
    (void)fprintf(stderr, "%s %s seed %lu: %s", family_name[t->of.family], visit_name[t->of.kind],
                  t->of.seed, words[reject->verdict]);
    for (int b = 0; b < reject->chosen.bands.count; b++)
        (void)fprintf(stderr, " %d-%d", reject->chosen.bands.band[b].low,
                      reject->chosen.bands.band[b].high);
    (void)fprintf(stderr,
                  ", truly silent %.3f (said %.3f), loses %.3f (said %.3f), %d numbers of %d; "
                  "thumb rule silent %.3f, loses %.3f, %d numbers; over %.4f high %.4f\n",
                  choice->worst_silence, reject->chosen.worst_silence, choice->worst_loss,
                  reject->chosen.worst_loss, choice->numbers, known == NULL ? -1 : known->numbers,
                  thumb->worst_silence, thumb->worst_loss, thumb->numbers, over, high);
}

static bool compare(choice_tally *tally, const truth *t, const bb_visit *visit,
                    const bb_reject *reject, const true_rows *rows, bool verbose)
{
    bb_band_choice known = {0}, chosen, thumb;
    bb_status status = bb_bands_choose(&rows->problem, &known);
    if (status != BB_OK && status != BB_TOO_LITTLE && status != BB_NOT_CONVERGED)
        return false;
    const bb_band_choice *reference = status == BB_OK ? &known : NULL;
    tally->hopeless += status == BB_TOO_LITTLE ? 1 : 0;
    tally->needless += status == BB_OK && known.numbers == 0 ? 1 : 0;
    tally->verdicts[reject->verdict] += 1;
    chosen = choice_of(&t->machine, &reject->chosen.bands);
    thumb = thumb_rule(visit, rows->problem.numbers);
    bb_band_problem score = rows->problem;
    score.at_most = BB_BANDS_MAX;
    bool scored = tally_rule(&tally->thumb, &score, &thumb, reference);
    if (reject->verdict == BB_VERDICT_OK)
        scored = scored && tally_rule(&tally->rule, &score, &chosen, reference);
    if (reject->verdict == BB_VERDICT_UNPROVED)
        scored = scored && tally_rule(&tally->loose, &score, &chosen, reference);
    if (verbose && bb_bands_score(&score, &chosen) == BB_OK)
        tell(t, reject, &chosen, &thumb, reference);
    return scored;
}

bool choice_add(choice_tally *tally, const truth *t, const bb_visit *visit,
                const bb_predictor *predictor, gsl_rng *random, bool verbose)
{
    const bb_reject_options options = bb_reject_defaults();
    bb_reject *reject = NULL;
    true_rows rows = {0};
    bool done = bb_reject_new(predictor, &options, &reject, NULL) == BB_OK &&
                rows_new(t, random, &rows) && compare(tally, t, visit, reject, &rows, verbose);
    rows_free(&rows);
    bb_reject_free(reject);
    return done;
}

bool choice_truth(const truth *t, const bb_reject *reject, gsl_rng *random, double *silence,
                  double *loss)
{
    true_rows rows = {0};
    bool done = rows_new(t, random, &rows);
    bb_band_choice chosen = choice_of(&t->machine, &reject->chosen.bands);
    rows.problem.at_most = BB_BANDS_MAX;
    done = done && bb_bands_score(&rows.problem, &chosen) == BB_OK;
    *silence = chosen.worst_silence;
    *loss = chosen.worst_loss;
    rows_free(&rows);
    return done;
}

bool choice_regret(const truth *t, const bb_reject *reject, gsl_rng *random, double *regret)
{
    double silence, loss;
    const bool done = choice_truth(t, reject, random, &silence, &loss);
    *regret = fmax(QUIET - silence, 0) + fmax(loss - MAX_LOSS, 0);
    return done;
}

static void print_rule(const char *name, const rule_tally *tally)
{
    if (tally->visits == 0)
        return;
    printf("    %-18s %6.0f  %8.3f  %10.1f %%  %8.1f %%  %8.1f %%", name, tally->visits,
           tally->silence / tally->visits, 100 * tally->quiet / tally->visits,
           100 * tally->costly / tally->visits, 100 * tally->avoidable / tally->visits);
    if (tally->known_numbers > 0)
        printf("  %8.2f  %6.1f %%", tally->numbers / tally->known_numbers,
               100 * tally->within_one / tally->compared);
    printf("\n");
}

void choice_print(const choice_tally *tally)
{
    printf("    ok %.0f, short %.0f, unproved %.0f; truth known: none safe in %.0f, none needed in "
           "%.0f\n",
           tally->verdicts[BB_VERDICT_OK], tally->verdicts[BB_VERDICT_SHORT],
           tally->verdicts[BB_VERDICT_UNPROVED], tally->hopeless, tally->needless);
    print_rule("bands, ok", &tally->rule);
    print_rule("bands, unproved", &tally->loose);
    print_rule("thumb rule", &tally->thumb);
}
