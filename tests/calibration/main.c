/* Calibration of the doubt: fits many simulated visits and says how its predictions hold.
 *
 *   build/calibration [--visits N] [--seed N] [--family F] [--visit KIND] [--recovery] [--verbose]
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "baseline.h"
#include "recovery.h"
#include "score.h"

enum { DRAWS = 3000, STATUSES = BB_MEMORY + 1 };

#define HEARD_ABOVE 3.0 /* of signal to jitter */

/* Where a prediction is made: at a place that was swept or not, too deep to hear, or bare sand. */
enum { SWEPT, UNSWEPT, MASKED, SAND, PLACES };
static const char *const place_name[PLACES] = {"swept", "unswept", "masked", "bare sand"};

typedef struct {
    double visits, fitted, wins;
    int failures[STATUSES];
    double milliseconds, slowest;
    scores score[PLACES];
    recoveries recovery;
} tally;

typedef struct {
    int visits;
    unsigned long seed;
    int family, kind; /* -1: all */
    bool recovery, verbose;
} options;

/* One fitted visit under examination. */
typedef struct {
    const truth *truth;
    const bb_predictor *predictor;
    const offsets *baseline;
    gsl_rng *random;
    scores score[PLACES];
} examination;

static double milliseconds(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

static bool examine(examination *of, truth_place place, int kind)
{
    const truth *t = of->truth;
    double chances[BB_NUMBERS_MAX];
    bb_prediction prediction;
    truth_distribution true_numbers;
    bb_status status = bb_predict(of->predictor, place.target, place.zone, place.depth_m,
                                  place.height_m, &prediction);
    if (status != BB_OK) {
        (void)fprintf(stderr, "seed %lu: no prediction: %s\n", t->of.seed, bb_status_text(status));
        return false;
    }
    truth_chances(t, &place, DRAWS, of->random, &true_numbers);
    baseline_chances(of->baseline, &t->machine, place.zone, place.target, chances);
    if (place.target >= 0 &&
        cabs(truth_response(t, &place, 0)) < HEARD_ABOVE * truth_jitter(t, &place))
        kind = MASKED;
    score_add(&of->score[kind], &true_numbers, &prediction, chances, t->machine.scale_step);
    return true;
}

/* Every piece in every zone, where it was swept and at depths where it was not. */
static bool examine_all(examination *of)
{
    static const struct {
        double depth_m, raised_m;
        int kind[VISIT_COUNT];
    } spots[] = {{0, 0, {SWEPT, SWEPT}},        {0, 0.07, {SWEPT, UNSWEPT}},
                 {0.08, 0, {SWEPT, UNSWEPT}},   {0.04, 0, {UNSWEPT, UNSWEPT}},
                 {0.12, 0, {UNSWEPT, UNSWEPT}}, {0.16, 0, {UNSWEPT, UNSWEPT}}};
    const truth *t = of->truth;
    const double swing_m = t->beach.swing_height_m;
    for (int z = 0; z < (int)t->zone_count; z++) {
        if (!examine(of, (truth_place){z, BB_TARGET_SAND, 0, swing_m, NAN}, SAND))
            return false;
        for (int k = 0; k < (int)t->target_count; k++)
            for (size_t i = 0; i < sizeof spots / sizeof *spots; i++) {
                bool laid = t->of.kind == VISIT_FULL || (z == 0 && t->target[k].laid);
                truth_place place = {z, k, spots[i].depth_m, swing_m + spots[i].raised_m, NAN};
                if (!examine(of, place, laid ? spots[i].kind[t->of.kind] : UNSWEPT))
                    return false;
            }
    }
    return true;
}

static bb_status predict_all(const simulated_visit *simulated, const bb_visit *visit,
                             const bb_profile *profile, tally *sums)
{
    bb_predictor *predictor = NULL;
    offsets baseline;
    examination of = {.truth = &simulated->truth,
                      .baseline = &baseline,
                      .random = gsl_rng_alloc(gsl_rng_mt19937)};
    bb_status status = of.random == NULL ? BB_MEMORY : bb_predictor_new(profile, &predictor, NULL);
    if (status == BB_OK) {
        gsl_rng_set(of.random, simulated->truth.of.seed + 0xf4e5);
        baseline_fit(visit, &baseline);
        of.predictor = predictor;
        status = examine_all(&of) ? BB_OK : BB_RANGE;
    }
    scores all = {0};
    for (int place = 0; place < PLACES; place++) {
        score_merge(&sums->score[place], &of.score[place]);
        score_merge(&all, &of.score[place]);
    }
    sums->wins += all.log_score >= all.baseline_log_score ? 1 : 0;
    bb_predictor_free(predictor);
    gsl_rng_free(of.random);
    return status;
}

static bool run_visit(const simulation *of, const options *wish, tally *sums)
{
    static simulated_visit simulated; /* too large for the stack of a small machine */
    bb_visit visit = {0};
    bb_profile *profile = NULL;
    bb_error error = {0};
    if (!visit_simulate(of, &simulated) || visit_read(&simulated, &visit, &error) != BB_OK) {
        char text[BB_TEXT_BYTES * 3];
        (void)bb_error_text(&error, text, sizeof text);
        (void)fprintf(stderr, "seed %lu: %s\n", of->seed, text);
        return false;
    }
    double start = milliseconds();
    bb_status status = bb_fit(&visit, NULL, &profile, &error);
    double took = milliseconds() - start;
    sums->visits += 1;
    sums->milliseconds += took;
    sums->slowest = fmax(sums->slowest, took);
    sums->failures[status]++;
    if (status == BB_OK) {
        sums->fitted += 1;
        recovery_add(&sums->recovery, &simulated.truth, profile);
        status = predict_all(&simulated, &visit, profile, sums);
    } else if (wish->verbose) {
        char text[BB_TEXT_BYTES * 3];
        (void)bb_error_text(&error, text, sizeof text);
        (void)fprintf(stderr, "%s %s seed %lu: %s\n", family_name[of->family], visit_name[of->kind],
                      of->seed, text);
        status = BB_OK;
    } else {
        status = BB_OK;
    }
    bb_profile_free(profile);
    bb_visit_free(&visit);
    return status == BB_OK;
}

static void print_result(const simulation *of, const tally *sums)
{
    printf("%-10s %-10s fitted %.0f of %.0f, %.1f ms (worst %.0f), beats the baseline in %.1f %%\n",
           family_name[of->family], visit_name[of->kind], sums->fitted, sums->visits,
           sums->milliseconds / sums->visits, sums->slowest,
           100 * sums->wins / fmax(sums->fitted, 1));
    for (int status = 1; status < STATUSES; status++)
        if (sums->failures[status] > 0)
            printf("    %d ended: %s\n", sums->failures[status], bb_status_text((bb_status)status));
    for (int place = 0; place < PLACES; place++) {
        const scores *s = &sums->score[place];
        if (s->points == 0)
            continue;
        printf("    %-10s %6.0f", place_name[place], s->points);
        for (int level = 0; level < LEVELS; level++)
            printf(" %5.1f", 100 * s->covered[level] / s->points);
        printf("  %6.3f  %7.3f %8.3f\n", sqrt(s->square / s->floor), s->log_score / s->points,
               s->baseline_log_score / s->points);
    }
}

static void print_recovery(const recoveries *r)
{
    printf("    %-8s %6s %7s %6s %8s %11s\n", "", "count", "mean z", "rms z", "in 90 %",
           "sd/prior sd");
    for (int i = 0; i < RECOVER_COUNT; i++)
        if (r->count[i] > 0)
            printf("    %-8s %6.0f %7.2f %6.2f %8.1f %11.2f\n", recovery_name[i], r->count[i],
                   r->sum[i] / r->count[i], sqrt(r->square[i] / r->count[i]),
                   100 * r->within[i] / r->count[i], r->learned[i] / r->count[i]);
}

static int index_of(const char *word, const char *const *names, int count)
{
    for (int i = 0; i < count; i++)
        if (strcmp(word, names[i]) == 0)
            return i;
    return -1;
}

static bool read_option(const char *name, const char *value, options *wish)
{
    char *end = NULL;
    if (strcmp(name, "--visits") == 0) {
        wish->visits = (int)strtol(value, &end, 10);
        return *end == '\0' && wish->visits > 0;
    }
    if (strcmp(name, "--seed") == 0) {
        wish->seed = strtoul(value, &end, 10);
        return *end == '\0';
    }
    if (strcmp(name, "--family") == 0) {
        wish->family = index_of(value, family_name, FAMILY_COUNT);
        return wish->family >= 0;
    }
    wish->kind = index_of(value, visit_name, VISIT_COUNT);
    return strcmp(name, "--visit") == 0 && wish->kind >= 0;
}

static bool read_wish(int argc, char **argv, options *wish)
{
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--recovery") == 0)
            wish->recovery = true;
        else if (strcmp(argv[i], "--verbose") == 0)
            wish->verbose = true;
        else if (i + 1 == argc || !read_option(argv[i], argv[i + 1], wish))
            return false;
        else
            i++;
    }
    return true;
}

static bool run_kind(const options *wish, truth_family family, visit_kind kind)
{
    static tally sums;
    simulation of = {.family = family, .kind = kind};
    memset(&sums, 0, sizeof sums);
    for (int i = 0; i < wish->visits; i++) {
        of.seed = wish->seed + (unsigned long)i;
        if (!run_visit(&of, wish, &sums))
            return false;
    }
    print_result(&of, &sums);
    if (wish->recovery)
        print_recovery(&sums.recovery);
    (void)fflush(stdout);
    return true;
}

int main(int argc, char **argv)
{
    options wish = {.visits = 20, .seed = 1, .family = -1, .kind = -1};
    if (!read_wish(argc, argv, &wish)) {
        (void)fprintf(stderr, "usage: calibration [--visits N] [--seed N] [--family F] "
                              "[--visit KIND] [--recovery] [--verbose]\n");
        return 2;
    }
    printf("    place      points  in 50  80   90 %%  rmse/floor  log score  baseline's\n");
    for (int family = 0; family < FAMILY_COUNT; family++)
        for (int kind = 0; kind < VISIT_COUNT; kind++)
            if ((wish.family < 0 || wish.family == family) &&
                (wish.kind < 0 || wish.kind == kind) &&
                !run_kind(&wish, (truth_family)family, (visit_kind)kind))
                return 1;
    return 0;
}
