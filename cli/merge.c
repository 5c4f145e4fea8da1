/* brineband merge: a club's profiles pooled into one to start from. */
#include "command.h"
#include "out.h"
#include "profile_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FOREST_COLUMNS = 40, FOREST_ROWS = 16, LABEL_COLUMNS = 22, ENOUGH_VISITS = 5 };

#define PULLS 0.5      /* of the mean's standard error: a visit that moves it so far is named */
#define DOMINATES 0.5  /* of all weights */
#define AGREE_P 0.05

typedef struct {
    const char *const *paths;
    bb_merge_fate *fates;
    size_t count;
    bb_merge *merge;
    bb_profile *club;
    const bb_merge_quantity *quantities;
    size_t quantity_count;
    const char *output;
} merging;

static const struct {
    const char *key, *words, *noun;
    bool factor; /* a logarithm, shown as a factor */
} kinds[BB_MERGE_KINDS] = {
    [BB_MERGE_SALT] = {"salt_level", "salt, times usual", "salt level", true},
    [BB_MERGE_ANGLE] = {"sand_angle", "angle off, degrees", "sand angle", false},
    [BB_MERGE_JITTER] = {"sand_jitter", "jitter, times usual", "jitter", true},
    [BB_MERGE_READING] = {"reading_noise", "noise, numbers", "reading noise", true},
    [BB_MERGE_WANDER] = {"angle_wander", "wander, degrees", "wander", true},
    [BB_MERGE_PARAMETER] = {"parameter", "piece", "number", false},
};

static const char *const fates[] = {
    [BB_MERGE_COUNTED] = "counted",
    [BB_MERGE_TWICE] = "the same sweeps as another file: counted once",
    [BB_MERGE_POOLED] = "a club's profile already: merge its visits' own profiles instead",
    [BB_MERGE_FROM_PRIOR] = ("fitted from another profile, whose visits would count again: fit it "
                             "without --prior and merge that"),
};

/* ---------------------------------------------------------------- words */

static const char *file_label(const merging *of, size_t visit)
{
    const char *path = of->paths[visit], *slash = strrchr(path, '/');
    if (slash == NULL || slash == path || strcmp(slash + 1, "profile.json") != 0)
        return slash == NULL ? path : slash + 1;
    while (slash > path && slash[-1] != '/')
        slash--;
    return slash;
}

static double shown(const bb_merge_quantity *quantity, double value)
{
    return kinds[quantity->kind].factor ? exp(value) : value;
}

static bool is_shown(const bb_merge_quantity *quantity, bool all)
{
    return all || quantity->kind != BB_MERGE_PARAMETER;
}

static const char *agreement(const bb_merge_quantity *quantity)
{
    if (quantity->pooled.count < 2)
        return "one visit";
    return quantity->pooled.q_p < AGREE_P ? "visits differ" : "visits agree";
}

static void say_quantities(const merging *of, bool all)
{
    static const char *const titles[] = {"<quantity",  "<zone or part", "visits", "mean",
                                         "next visit", "I2",            "<"};
    struct table table;
    table_begin(&table, 7, titles);
    for (size_t i = 0; i < of->quantity_count; i++) {
        const bb_merge_quantity *row = &of->quantities[i];
        const bb_pooled *pooled = &row->pooled;
        if (!is_shown(row, all))
            continue;
        table_cell(&table, "%s", kinds[row->kind].words);
        table_cell(&table, "%s", row->name);
        table_cell(&table, "%zu", pooled->count);
        table_cell(&table, "%.2f", shown(row, pooled->mean));
        if (pooled->count > 1)
            table_cell(&table, "%.2f to %.2f", shown(row, pooled->new_low),
                       shown(row, pooled->new_high));
        else
            table_cell(&table, "-");
        if (pooled->count > 1)
            table_cell(&table, "%.0f %%", 100 * pooled->i2);
        else
            table_cell(&table, "-");
        table_cell(&table, "%s", agreement(row));
    }
    say_gap();
    table_end(&table);
    say("Next visit: where nine in ten visits should lie. I2: share of the spread that is between "
        "visits, tau2 / (tau2 + typical variance within).");
}

static size_t column_of(double value, double low, double high)
{
    const double share = (value - low) / (high - low) * (FOREST_COLUMNS - 1);
    return share <= 0 ? 0 : share >= FOREST_COLUMNS - 1 ? FOREST_COLUMNS - 1 : (size_t)share;
}

static void say_line(const char *label, double low, double middle, double high, double left,
                     double right, const char *mark)
{
    char line[FOREST_COLUMNS + 1];
    memset(line, ' ', FOREST_COLUMNS);
    line[FOREST_COLUMNS] = '\0';
    for (size_t c = column_of(low, left, right); c <= column_of(high, left, right); c++)
        line[c] = '-';
    line[column_of(middle, left, right)] = *mark;
    printf("%-*.*s %s", LABEL_COLUMNS, LABEL_COLUMNS, label, line);
}

/* Each visit with the room of two standard errors, and below it the club and the next visit. */
static void say_forest(const merging *of, const bb_merge_quantity *quantity)
{
    const bb_pooled *pooled = &quantity->pooled;
    double left = pooled->new_low, right = pooled->new_high;
    for (size_t i = 0; i < pooled->count; i++) {
        const bb_merge_entry *entry = &quantity->entries[i];
        left = fmin(left, entry->estimate - 2 * entry->sd);
        right = fmax(right, entry->estimate + 2 * entry->sd);
    }
    say_gap();
    say("%s sand: %s", quantity->name, kinds[quantity->kind].words);
    for (size_t i = 0; i < pooled->count && i < FOREST_ROWS; i++) {
        const bb_merge_entry *entry = &quantity->entries[i];
        say_line(file_label(of, entry->visit), entry->estimate - 2 * entry->sd, entry->estimate,
                 entry->estimate + 2 * entry->sd, left, right, "o");
        printf(" %6.2f  %3.0f %%\n", shown(quantity, entry->estimate), 100 * entry->weight);
    }
    if (pooled->count > FOREST_ROWS)
        printf("%zu more\n", pooled->count - FOREST_ROWS);
    say_line("club", pooled->mean_low, pooled->mean, pooled->mean_high, left, right, "#");
    printf(" %6.2f\n", shown(quantity, pooled->mean));
    say_line("next visit", pooled->new_low, pooled->mean, pooled->new_high, left, right, "#");
    putchar('\n');
}

static void say_pulls(const merging *of)
{
    for (size_t i = 0; i < of->quantity_count; i++) {
        const bb_merge_quantity *row = &of->quantities[i];
        for (size_t e = 0; row->kind <= BB_MERGE_ANGLE && row->pooled.count > 2 && e < row->pooled.count;
             e++) {
            const bb_merge_entry *entry = &row->entries[e];
            if (fabs(entry->shift) > PULLS * row->pooled.se_knapp_hartung ||
                entry->weight > DOMINATES)
                say("%s pulls the %s of %s sand: without it %.2f, with it %.2f; its weight is "
                    "%.0f %%.", file_label(of, entry->visit), kinds[row->kind].noun, row->name,
                    shown(row, row->pooled.mean - entry->shift), shown(row, row->pooled.mean),
                    100 * entry->weight);
        }
    }
}

/* The quantity of a zone that is known worst: found by fewest visits, else most between them. */
static const bb_merge_quantity *weakest(const merging *of)
{
    const bb_merge_quantity *worst = NULL;
    for (size_t i = 0; i < of->quantity_count; i++) {
        const bb_merge_quantity *row = &of->quantities[i];
        if (row->kind <= BB_MERGE_JITTER &&
            (worst == NULL || row->pooled.count < worst->pooled.count ||
             (row->pooled.count == worst->pooled.count &&
              row->pooled.tau2 > worst->pooled.tau2)))
            worst = row;
    }
    return worst;
}

static char *next_words(const merging *of)
{
    const bb_merge_quantity *worst = weakest(of);
    if (worst == NULL)
        return need_text("no visit learned anything of its sand: pump 15 bare spots and lay two "
                         "pieces on the sand in each zone");
    if (worst->pooled.count < ENOUGH_VISITS)
        return need_text("the club knows least of the %s in %s sand, from %zu of %d visits: sweep "
                         "15 bare spots and two pieces on the sand there, on another day",
                         kinds[worst->kind].noun, worst->name, worst->pooled.count,
                         of->club->pooled_visits);
    if (worst->pooled.i2 > 0.5)
        return need_text("visits truly differ in the %s in %s sand: other beaches and tides tell "
                         "more than longer visits", kinds[worst->kind].noun, worst->name);
    return need_text("visits agree within their doubt in %s sand: longer visits there tell more "
                     "than further ones", worst->name);
}

static void say_words(const merging *of, bool verbose)
{
    phrase visits;
    say_answer("Pooled %s into %s.",
               counted(&visits, of->club->pooled_visits, "visit", "visits"), of->output);
    for (size_t i = 0; i < of->count; i++)
        if (of->fates[i] != BB_MERGE_COUNTED)
            say("Left out: %s, %s.", of->paths[i], fates[of->fates[i]]);
    if (of->club->any_machine)
        say("Only what is the beach's was pooled: the profile knows no machine, and serves as "
            "--prior for any.");
    say_quantities(of, verbose);
    for (size_t i = 0; i < of->quantity_count; i++)
        if (of->quantities[i].kind <= BB_MERGE_ANGLE && of->quantities[i].pooled.count > 1)
            say_forest(of, &of->quantities[i]);
    say_gap();
    say_pulls(of);
    char *next = next_words(of);
    say("Next: %s.", next);
    free(next);
    say("A newcomer starts with 'brineband reject %s', not yet proved on their sand, and then with "
        "'brineband fit DIR --prior %s'.", of->output, of->output);
}

/* ---------------------------------------------------------------- JSON */

static json_t *entries_json(const merging *of, const bb_merge_quantity *row)
{
    json_t *list = json_array();
    for (size_t i = 0; i < row->pooled.count; i++)
        json_array_append_new(
            list, json_pack("{s:s,s:f,s:f,s:f,s:o}", "file", of->paths[row->entries[i].visit],
                            "estimate", row->entries[i].estimate, "sd", row->entries[i].sd,
                            "weight", row->entries[i].weight, "shift",
                            json_number_or_null(row->entries[i].shift)));
    return list;
}

static json_t *quantities_json(const merging *of)
{
    json_t *list = json_array();
    for (size_t i = 0; i < of->quantity_count; i++) {
        const bb_merge_quantity *row = &of->quantities[i];
        const bb_pooled *pooled = &row->pooled;
        json_array_append_new(
            list,
            json_pack("{s:s,s:s,s:b,s:i,s:f,s:f,s:f,s:o,s:o,s:o,s:o,s:f,s:f,s:o,s:f,s:o,s:o}",
                      "quantity", kinds[row->kind].key, "name", row->name, "logarithm",
                      (int)kinds[row->kind].factor, "visits", (int)pooled->count, "mean",
                      pooled->mean, "se", pooled->se, "se_knapp_hartung", pooled->se_knapp_hartung,
                      "mean_low", json_number_or_null(pooled->mean_low), "mean_high",
                      json_number_or_null(pooled->mean_high), "next_low",
                      json_number_or_null(pooled->new_low), "next_high",
                      json_number_or_null(pooled->new_high), "tau2", pooled->tau2, "q", pooled->q,
                      "q_p", json_number_or_null(pooled->q_p), "i2", pooled->i2,
                      "typical_variance", json_number_or_null(pooled->typical_variance),
                      "by_visit", entries_json(of, row)));
    }
    return list;
}

static json_t *merge_json(const merging *of)
{
    static const char *const names[] = {[BB_MERGE_COUNTED] = "counted",
                                        [BB_MERGE_TWICE] = "twice",
                                        [BB_MERGE_POOLED] = "pooled already",
                                        [BB_MERGE_FROM_PRIOR] = "from a prior"};
    json_t *files = json_array();
    for (size_t i = 0; i < of->count; i++)
        json_array_append_new(files, json_pack("{s:s,s:s}", "file", of->paths[i], "counted",
                                               names[of->fates[i]]));
    char *next = next_words(of);
    json_t *object = json_pack("{s:s,s:i,s:o,s:o,s:s}", "profile", of->output, "visits",
                               of->club->pooled_visits, "files", files, "quantities",
                               quantities_json(of), "next", next);
    free(next);
    return object;
}

/* ---------------------------------------------------------------- running */

/* One profile in memory at a time. */
static outcome add_all(merging *of)
{
    outcome result = OUTCOME_DONE;
    for (size_t i = 0; i < of->count && result == OUTCOME_DONE; i++) {
        bb_profile *profile = NULL;
        bb_error error = {0};
        result = profile_read(of->paths[i], &profile);
        if (result != OUTCOME_DONE)
            break;
        bb_status status =
            bb_merge_add(of->merge, profile, of->paths[i], &of->fates[i], &error);
        bb_profile_free(profile);
        if (status != BB_OK)
            result = fail(status, &error);
    }
    return result;
}

static outcome give(const struct arguments *arguments, merging *of)
{
    bb_error error = {0};
    bb_status status = bb_merge_end(of->merge, &of->club, &of->quantities, &of->quantity_count,
                                    &error);
    if (status != BB_OK)
        return fail(status, &error);
    if (option_count(arguments, "anonymous") > 0)
        bb_profile_anonymise(of->club);
    outcome result = profile_write(of->output, of->club, option_count(arguments, "with-place") > 0);
    if (result == OUTCOME_DONE && arguments->json)
        say_json(merge_json(of));
    else if (result == OUTCOME_DONE)
        say_words(of, option_count(arguments, "verbose") > 0);
    bb_profile_free(of->club);
    return result;
}

static outcome read_method(const struct arguments *arguments, bb_merge_options *options)
{
    const char *method = option_text_or(arguments, "method", "pm");
    options->any_machine = option_count(arguments, "any-machine") > 0;
    options->method = strcmp(method, "dl") == 0 ? BB_POOL_DERSIMONIAN_LAIRD : BB_POOL_PAULE_MANDEL;
    return strcmp(method, "dl") == 0 || strcmp(method, "pm") == 0
               ? OUTCOME_DONE
               : fail_command("merge: --method: found \"%s\", accepted pm or dl", method);
}

static outcome run_merge(const struct arguments *arguments)
{
    bb_merge_options options = {0};
    bb_error error = {0};
    merging of = {.paths = arguments->words,
                  .count = arguments->word_count,
                  .output = option_text(arguments, "output", 0)};
    if (of.output == NULL)
        return fail_command("merge: say where to write the club's profile: -o CLUB.json");
    outcome result = read_method(arguments, &options);
    if (result != OUTCOME_DONE)
        return result;
    of.fates = need(of.count, sizeof *of.fates);
    bb_status status = bb_merge_begin(&options, &of.merge, &error);
    result = status == BB_OK ? add_all(&of) : fail(status, &error);
    if (result == OUTCOME_DONE)
        result = give(arguments, &of);
    bb_merge_free(of.merge);
    free(of.fates);
    return result;
}

static const struct option options[] = {
    {.name = "output", .letter = 'o', .value = "CLUB.json", .kind = VALUE_TEXT,
     .help = "where to write the club's profile"},
    {.name = "method", .value = "M", .kind = VALUE_TEXT,
     .help = "spread between visits: pm (Paule-Mandel) or dl (DerSimonian-Laird)"},
    {.name = "any-machine",
     .help = "pool only what is the beach's, over different machines"},
    {.name = "anonymous", .help = "without the machine's name, the date cut to its month"},
    {.name = "with-place", .help = "write the beach's name, where all profiles agree on it"},
    {.name = "verbose", .help = "also each piece's own quantities"},
    {0},
};

const struct command command_merge = {
    .name = "merge",
    .usage = "P.json... -o CLUB.json [--any-machine] [--anonymous] [--json]",
    .summary = "pool a club's profiles into one to start from",
    .about =
        "Pools visits made with one machine and setting. Each quantity is taken as differing from "
        "visit to visit; what a visit took from its prior is left out of the pool. The same visit "
        "is counted once, known by its sweeps. A profile of another machine or setting, or a "
        "piece that goes by a name taken by another one, stops the merge and is named.\n"
        "The club's profile holds no place, no time of day and no remark. A newcomer with the same "
        "machine uses it with predict, reject and card, or as --prior of fit.",
    .options = options,
    .words_least = 1,
    .words_most = (size_t)-1,
    .run = run_merge,
};
