/* Calibration of the doubt: fits many simulated visits and says how predictions and bands hold. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "club.h"
#include "new_visit.h"
#include "odds.h"
#include "posterior.h"
#include "tally.h"
#include "worth.h"

typedef struct {
    int visits, bare;
    unsigned long seed;
    int family, kind; /* -1: all */
    bool recovery, reject, check, verbose, clubs, new_visit, plans, odds, untold, posterior;
    int passed, failed; /* of the limits that --check holds the table to */
} options;

static const char usage[] =
    "usage: calibration [--visits N] [--seed N] [--family F] [--visit KIND] [--bare N]\n"
    "                   [--recovery] [--reject] [--check] [--verbose] [--clubs] [--plans] [--odds]\n"
    "                   [--new-visit] [--untold] [--posterior]\n"
    "--bare: bare sweeps a zone instead of the visit's own. --recovery: the parameters too.\n"
    "--reject: the choice of bands instead of the predictions. --check: hold the table to\n"
    "the limits of make check. --clubs: a short visit with and without a club of four.\n"
    "--plans: N beaches swept by the plan, and evenly. --odds: N invented finds, called.\n"
    "--new-visit: N clubs of each size, and how often a new visit lies within their limits.\n"
    "--untold: the searcher knows no frequency of the machine.\n"
    "--posterior: predictions over draws from the posterior, ten seconds a visit.\n";

/* Of this process alone: the machine may be busy. */
static double milliseconds(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

static void complain(const simulation *of, bb_status status, const bb_error *error)
{
    char text[3 * BB_TEXT_BYTES] = "";
    (void)bb_error_text(error, text, sizeof text);
    (void)fprintf(stderr, "%s %s seed %lu: %s\n", family_name[of->family], visit_name[of->kind],
                  of->seed, *text == '\0' ? bb_status_text(status) : text);
}

static bb_status predictions(const truth *t, const bb_visit *visit, bb_predictor *const *draws,
                             size_t count, gsl_rng *random, tally *sums)
{
    scores scored[PLACES] = {{0}}, all = {0};
    bb_status status = examine(t, visit, draws, count, random, scored);
    for (int place = 0; place < PLACES; place++) {
        score_merge(&sums->score[place], &scored[place]);
        score_merge(&all, &scored[place]);
        if (scored[place].points > 0)
            sums->ratio[place][sums->ratios[place]++] =
                sqrt(scored[place].square / scored[place].floor);
    }
    sums->wins += all.log_score >= all.baseline_log_score ? 1 : 0;
    return status;
}

/* As a posterior drawn from would predict. */
static bb_status predict_by_draws(const truth *t, const bb_visit *visit, const bb_profile *profile,
                                  bool verbose, gsl_rng *random, tally *sums)
{
    bb_predictor *draws[POSTERIOR_DRAWS];
    double taken;
    bb_status status = posterior_draw(visit, profile, random, draws, &taken);
    if (status == BB_OK && verbose)
        printf("%s %s seed %lu: %.2f of the steps taken\n", family_name[t->of.family],
               visit_name[t->of.kind], t->of.seed, taken);
    if (status == BB_OK)
        status = predictions(t, visit, draws, POSTERIOR_DRAWS, random, sums);
    posterior_free(draws);
    return status;
}

/* As the commands do: what was read over pieces lost by the fit belongs to its profile. */
static bb_status whole_predictor(const bb_visit *visit, bb_profile *profile, bb_predictor **predictor)
{
    bb_predictor *first = NULL;
    bb_status status = bb_predictor_new(profile, &first, NULL);
    if (status == BB_OK)
        status = bb_read_though_lost(first, visit, profile);
    bb_predictor_free(first);
    return status == BB_OK ? bb_predictor_new(profile, predictor, NULL) : status;
}

static bb_status learn_from(const truth *t, const bb_visit *visit, bb_profile *profile,
                            const options *wish, tally *sums)
{
    bb_predictor *predictor = NULL;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    bb_status status = random == NULL ? BB_MEMORY : whole_predictor(visit, profile, &predictor);
    if (status == BB_OK) {
        gsl_rng_set(random, t->of.seed + 0xf4e5);
        recovery_add(&sums->recovery, t, profile);
        if (wish->reject)
            status = choice_add(&sums->choice, t, visit, predictor, random, wish->verbose)
                         ? BB_OK
                         : BB_RANGE;
        else if (wish->posterior)
            status = predict_by_draws(t, visit, profile, wish->verbose, random, sums);
        else
            status = predictions(t, visit, &predictor, 1, random, sums);
    }
    bb_predictor_free(predictor);
    gsl_rng_free(random);
    return status;
}

/* False only where the program itself is at fault: a fit may be refused. */
static bool run_visit(const simulation *of, const options *wish, tally *sums)
{
    static simulated_visit simulated; /* too large for a small stack */
    bb_visit visit = {0};
    bb_profile *profile = NULL;
    bb_error error = {0};
    if (!visit_simulate(of, &simulated))
        return false;
    bb_status status = simulated_visit_read(&simulated, &visit, &error);
    if (status != BB_OK) {
        complain(of, status, &error);
        return false;
    }
    double start = milliseconds();
    bool left_out[SWEEPS_MAX];
    bb_status fitted = bb_fit_leaving_out(&visit, NULL, left_out, &profile, &error);
    double took = milliseconds() - start;
    sums->visits += 1;
    sums->milliseconds += took;
    sums->slowest = fmax(sums->slowest, took);
    sums->failures[fitted]++;
    if (fitted == BB_OK) {
        sums->fitted += 1;
        sums->with_less += profile->left_out > 0 ? 1 : 0;
        status = learn_from(&simulated.truth, &visit, profile, wish, sums);
    }
    if (status != BB_OK || (fitted != BB_OK && wish->verbose))
        complain(of, status != BB_OK ? status : fitted, &error);
    bb_profile_free(profile);
    bb_visit_free(&visit);
    return status == BB_OK;
}

static int index_of(const char *word, const char *const *names, int count)
{
    for (int i = 0; i < count; i++)
        if (strcmp(word, names[i]) == 0)
            return i;
    return -1;
}

static bool read_number(const char *value, int most, int *number)
{
    char *end;
    long read = strtol(value, &end, 10);
    *number = (int)read;
    return *value != '\0' && *end == '\0' && read > 0 && read <= most;
}

static bool read_option(const char *name, const char *value, options *wish)
{
    enum { VISITS_MAX = 1000000 };
    int seed;
    if (strcmp(name, "--visits") == 0)
        return read_number(value, VISITS_MAX, &wish->visits);
    if (strcmp(name, "--bare") == 0)
        return read_number(value, BARE_MAX, &wish->bare);
    if (strcmp(name, "--seed") == 0) {
        bool read = read_number(value, VISITS_MAX, &seed);
        wish->seed = (unsigned long)seed;
        return read;
    }
    if (strcmp(name, "--family") == 0) {
        wish->family = index_of(value, family_name, FAMILY_COUNT);
        return wish->family >= 0;
    }
    wish->kind = index_of(value, visit_name, VISIT_COUNT);
    return strcmp(name, "--visit") == 0 && wish->kind >= 0;
}

static bool *flag_of(const char *name, options *wish)
{
    const struct {
        const char *name;
        bool *flag;
    } flags[] = {{"--recovery", &wish->recovery}, {"--reject", &wish->reject},
                 {"--check", &wish->check},       {"--verbose", &wish->verbose},
                 {"--clubs", &wish->clubs},       {"--new-visit", &wish->new_visit},
                 {"--plans", &wish->plans},       {"--odds", &wish->odds},
                 {"--untold", &wish->untold},     {"--posterior", &wish->posterior}};
    for (size_t i = 0; i < sizeof flags / sizeof *flags; i++)
        if (strcmp(name, flags[i].name) == 0)
            return flags[i].flag;
    return NULL;
}

static bool read_options(int argc, char **argv, options *wish)
{
    for (int i = 1; i < argc; i++) {
        bool *flag = flag_of(argv[i], wish);
        if (flag != NULL)
            *flag = true;
        else if (i + 1 == argc || !read_option(argv[i], argv[i + 1], wish))
            return false;
        else
            i++;
    }
    return true;
}

static bool run_kind(options *wish, truth_family family, visit_kind kind, tally *sums)
{
    simulation of = {
        .family = family, .kind = kind, .bare_sweeps = wish->bare, .untold = wish->untold};
    for (int i = 0; i < wish->visits; i++) {
        of.seed = wish->seed + (unsigned long)i;
        if (!run_visit(&of, wish, sums))
            return false;
    }
    print_fits(&of, sums);
    if (wish->reject)
        choice_print(&sums->choice);
    else
        print_predictions(sums);
    if (wish->check)
        check_limits(&of, sums, &wish->passed, &wish->failed);
    if (wish->recovery)
        print_recovery(&sums->recovery);
    (void)fflush(stdout);
    return true;
}

static bool run(options *wish, truth_family family, visit_kind kind)
{
    tally sums = {0};
    double *ratios = calloc((size_t)wish->visits * PLACES, sizeof *ratios);
    for (size_t place = 0; place < PLACES && ratios != NULL; place++)
        sums.ratio[place] = ratios + place * (size_t)wish->visits;
    bool done = ratios != NULL && run_kind(wish, family, kind, &sums);
    free(ratios);
    return done;
}

int main(int argc, char **argv)
{
    options wish = {.visits = 20, .seed = 1, .family = -1, .kind = -1};
    if (!read_options(argc, argv, &wish)) {
        (void)fputs(usage, stderr);
        return 2;
    }
    if (wish.odds)
        return odds_run(wish.visits, wish.seed) ? 0 : 1;
    if (wish.plans)
        return worth_run(wish.visits, wish.seed) ? 0 : 1;
    if (wish.new_visit)
        return new_visits_run(wish.visits, wish.seed) ? 0 : 1;
    if (wish.clubs)
        return clubs_run(wish.visits, wish.seed) ? 0 : 1;
    printf("%s\n",
           wish.reject
               ? "    rule               visits  silence  silent 0.90+  costs gold   needless  "
                 "numbers/truth-known  within one"
               : "    place      points  in 50  80   90 %  rmse/floor, median  log score"
                 "  baseline's");
    for (int family = 0; family < FAMILY_COUNT; family++)
        for (int kind = 0; kind < VISIT_COUNT; kind++)
            if ((wish.family < 0 || wish.family == family) &&
                (wish.kind < 0 || wish.kind == kind) &&
                !run(&wish, (truth_family)family, (visit_kind)kind))
                return 1;
    if (wish.check)
        printf("calibration: %d passed, %d failed\n", wish.passed, wish.failed);
    return wish.failed == 0 ? 0 : 1;
}
