/* What merge says of a club's visits, to people. */
#include "merge_words.h"

#include "command.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FOREST_COLUMNS = 40, FOREST_ROWS = 16, LABEL_COLUMNS = 22, ENOUGH_VISITS = 5, LEFT_OUT = 10 };

#define PULLS 0.5      /* of the mean's standard error: a visit that moves it so far is named */
#define DOMINATES 0.5  /* of all weights, or of two visits' the next */
#define DOMINATES_ONE 0.75
#define AGREE_P 0.05

static const struct {
    const char *key, *words, *noun;
    bool factor; /* a logarithm, shown as a factor */
} kinds[BB_MERGE_KINDS] = {
    [BB_MERGE_SALT] = {"salt_level", "salt, x usual", "salt level", true},
    [BB_MERGE_ANGLE] = {"sand_angle", "angle off, deg", "sand angle", false},
    [BB_MERGE_JITTER] = {"sand_jitter", "jitter, x usual", "jitter", true},
    [BB_MERGE_READING] = {"reading_noise", "noise, numbers", "reading noise", true},
    [BB_MERGE_WANDER] = {"angle_wander", "wander, deg", "wander", true},
    [BB_MERGE_PARAMETER] = {"parameter", "value", "value", false},
};

static const char *const fates[] = {
    [BB_MERGE_COUNTED] = "counted",
    [BB_MERGE_TWICE] = "the same sweeps as another file: counted once",
    [BB_MERGE_POOLED] = "a club's profile already: merge its visits' own profiles instead",
    [BB_MERGE_FROM_PRIOR] = ("fitted from another profile, whose visits would count again: fit it "
                             "without --prior and merge that"),
};

const char *merge_kind_key(bb_merge_kind kind)
{
    return kinds[kind].key;
}

bool merge_kind_is_logarithm(bb_merge_kind kind)
{
    return kinds[kind].factor;
}

static const char *file_label(const merging *of, size_t visit)
{
    const char *path = of->paths[visit], *slash = strrchr(path, '/');
    if (slash == NULL || slash == path || strcmp(slash + 1, "profile.json") != 0)
        return slash == NULL ? path : slash + 1;
    while (slash > path && slash[-1] != '/')
        slash--;
    return slash;
}

/* ---------------------------------------------------------------- figures */

static double shown(const bb_merge_quantity *quantity, double value)
{
    return kinds[quantity->kind].factor ? exp(value) : value;
}

typedef char figure[24];

/* A factor spans decades: two or three digits of it, wherever its point is. */
static const char *figure_of(figure *to, const bb_merge_quantity *quantity, double value)
{
    const double at = shown(quantity, value);
    if (kinds[quantity->kind].factor && at < 0.01)
        (void)snprintf(*to, sizeof *to, "<0.01");
    else if (kinds[quantity->kind].factor && at > 999)
        (void)snprintf(*to, sizeof *to, ">999");
    else
        (void)snprintf(*to, sizeof *to, "%.*f", fabs(at) < 9.95 ? 2 : fabs(at) < 99.5 ? 1 : 0, at);
    return *to;
}

static const char *agreement(const bb_merge_quantity *quantity)
{
    return quantity->pooled.count < 2         ? "alone"
           : quantity->pooled.q_p < AGREE_P ? "differ"
                                              : "agree";
}

/* What it is and where: a zone's or the machine's quantity, or a parameter by its name. */
static void name_cells(struct table *table, const bb_merge_quantity *quantity)
{
    static const char target[] = "target.";
    const size_t skipped =
        strncmp(quantity->name, target, sizeof target - 1) == 0 ? sizeof target - 1 : 0;
    const bool parameter = quantity->kind == BB_MERGE_PARAMETER;
    table_cell(table, "%s", parameter ? quantity->name + skipped : kinds[quantity->kind].words);
    table_cell(table, "%s", parameter ? "" : quantity->name);
}

static void limits_cell(struct table *table, const bb_merge_quantity *row, double low, double high)
{
    figure from, to;
    if (isnan(low))
        table_cell(table, "-");
    else
        table_cell(table, "%s to %s", figure_of(&from, row, low), figure_of(&to, row, high));
}

static bool is_shown(const bb_merge_quantity *quantity, bool all)
{
    return all || quantity->kind != BB_MERGE_PARAMETER;
}

static void spread_cells(struct table *table, const bb_pooled *pooled)
{
    if (pooled->count < 2) {
        table_cell(table, "-");
        table_cell(table, "-");
        return;
    }
    table_cell(table, "%.1f/%zu", pooled->q, pooled->count - 1);
    table_cell(table, "%.0f %%", 100 * pooled->i2);
}

static void say_quantities(const merging *of, bool all)
{
    static const char *const titles[] = {"<quantity", "<zone", "visits", "mean", "next visit",
                                         "<they", "Q/df", "I2"};
    enum { PLAIN = 6, ALL = sizeof titles / sizeof *titles };
    struct table table;
    figure mean;
    bool several = false;
    table_begin(&table, all ? ALL : PLAIN, titles);
    for (size_t i = 0; i < of->quantity_count; i++) {
        const bb_merge_quantity *row = &of->quantities[i];
        const bb_pooled *pooled = &row->pooled;
        if (!is_shown(row, all))
            continue;
        name_cells(&table, row);
        table_cell(&table, "%zu", pooled->count);
        table_cell(&table, "%s", figure_of(&mean, row, pooled->mean));
        limits_cell(&table, row, pooled->new_low, pooled->new_high);
        table_cell(&table, "%s", agreement(row));
        several = several || pooled->count > 1;
        if (all)
            spread_cells(&table, pooled);
    }
    say_gap();
    table_end(&table);
    say("x usual: times what the physics and the usual machine give. Next visit: where nine in ten "
        "visits should lie.%s",
        several ? " They agree: no further apart than their own doubts explain."
                : " One visit alone has nothing to agree with: merge more.");
    if (all)
        say("Q/df: Cochran's Q and what it would be on average if visits differed by their own "
            "doubt alone. I2: the share of the spread that is between visits, tau2 / (tau2 + "
            "typical variance within).");
}

/* Standard deviations, of a factor those of its logarithm. */
static void say_spreads(const merging *of)
{
    static const char *const titles[] = {"<quantity", "<zone", "between", "within", "se",
                                         "95 % of the mean", "chance of Q"};
    struct table table;
    table_begin(&table, 7, titles);
    for (size_t i = 0; i < of->quantity_count; i++) {
        const bb_merge_quantity *row = &of->quantities[i];
        const bb_pooled *pooled = &row->pooled;
        if (pooled->count < 2)
            continue;
        name_cells(&table, row);
        table_cell(&table, "%.3f", sqrt(pooled->tau2));
        table_cell(&table, "%.3f", sqrt(pooled->typical_variance));
        table_cell(&table, "%.3f", pooled->se_knapp_hartung);
        limits_cell(&table, row, pooled->mean_low, pooled->mean_high);
        table_cell(&table, "%.3f", pooled->q_p);
    }
    say_gap();
    table_end(&table);
    say("between, within: standard deviations from visit to visit and of a typical visit's own "
        "finding, of its logarithm where the quantity is a factor. se: of the mean, by Knapp and "
        "Hartung, never under the plain one.");
}

/* ---------------------------------------------------------------- forest plot */

static size_t column_of(double value, double low, double high)
{
    const double share = (value - low) / (high - low) * (FOREST_COLUMNS - 1);
    return share <= 0 ? 0 : share >= FOREST_COLUMNS - 1 ? FOREST_COLUMNS - 1 : (size_t)share;
}

/* The span of the picture. */
typedef struct {
    double left, right;
} span;

static void line_cell(struct table *table, const span *of, double low, double middle, double high,
                      char mark)
{
    char line[FOREST_COLUMNS + 1];
    memset(line, ' ', FOREST_COLUMNS);
    line[FOREST_COLUMNS] = '\0';
    for (size_t c = column_of(low, of->left, of->right); c <= column_of(high, of->left, of->right);
         c++)
        line[c] = '-';
    line[column_of(middle, of->left, of->right)] = mark;
    table_cell(table, "%s", line);
}

static int by_estimate(const void *a, const void *b)
{
    const double one = ((const bb_merge_entry *)a)->estimate,
                 other = ((const bb_merge_entry *)b)->estimate;
    return (one > other) - (one < other);
}

static span span_of(const bb_merge_quantity *quantity)
{
    span made = {quantity->pooled.new_low, quantity->pooled.new_high};
    for (size_t i = 0; i < quantity->pooled.count; i++) {
        const bb_merge_entry *entry = &quantity->entries[i];
        made.left = fmin(made.left, entry->estimate - 2 * entry->sd);
        made.right = fmax(made.right, entry->estimate + 2 * entry->sd);
    }
    return made;
}

/* Some of many visits, evenly from the lowest to the highest. */
static void visit_rows(const merging *of, const bb_merge_quantity *quantity, const span *in,
                       struct table *table)
{
    const size_t count = quantity->pooled.count, rows = count < FOREST_ROWS ? count : FOREST_ROWS;
    bb_merge_entry *sorted = need(count, sizeof *sorted);
    figure at;
    memcpy(sorted, quantity->entries, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, by_estimate);
    for (size_t row = 0; row < rows; row++) {
        const bb_merge_entry *entry = &sorted[rows == 1 ? 0 : row * (count - 1) / (rows - 1)];
        table_cell(table, "%s", file_label(of, entry->visit));
        line_cell(table, in, entry->estimate - 2 * entry->sd, entry->estimate,
                  entry->estimate + 2 * entry->sd, 'o');
        table_cell(table, "%s", figure_of(&at, quantity, entry->estimate));
        table_cell(table, "%.0f %%", 100 * entry->weight);
    }
    free(sorted);
}

/* Each visit with the room of two standard errors, and below it the club and the next visit. */
static void say_forest(const merging *of, const bb_merge_quantity *quantity)
{
    static const char *const titles[] = {"<visit", "<", "mean", "weight"};
    const bb_pooled *pooled = &quantity->pooled;
    const span in = span_of(quantity);
    struct table table;
    figure mean;
    say_gap();
    say("%s sand: %s%s", quantity->name, kinds[quantity->kind].words,
        pooled->count > FOREST_ROWS ? "; some of the visits, lowest to highest" : "");
    table_begin(&table, 4, titles);
    visit_rows(of, quantity, &in, &table);
    table_cell(&table, "club");
    line_cell(&table, &in, pooled->mean_low, pooled->mean, pooled->mean_high, '#');
    table_cell(&table, "%s", figure_of(&mean, quantity, pooled->mean));
    table_cell(&table, "%s", "");
    table_cell(&table, "next visit");
    line_cell(&table, &in, pooled->new_low, pooled->mean, pooled->new_high, '#');
    table_cell(&table, "%s", "");
    table_cell(&table, "%s", "");
    table_end(&table);
}

/* ---------------------------------------------------------------- pulls and next */

static void say_pull(const merging *of, const bb_merge_quantity *row, const bb_merge_entry *entry)
{
    const size_t count = row->pooled.count;
    const char *in = *row->name == '\0' ? "" : " of ", *sand = *row->name == '\0' ? "" : " sand";
    figure with, without;
    if (entry->weight > (count > 2 ? DOMINATES : DOMINATES_ONE))
        say("%s carries %.0f %% of the %s%s%s%s, for it claims to know it best: without it %s, "
            "with it %s.", file_label(of, entry->visit), 100 * entry->weight,
            kinds[row->kind].noun, in, row->name, sand,
            figure_of(&without, row, row->pooled.mean - entry->shift),
            figure_of(&with, row, row->pooled.mean));
    else if (count > 2 && fabs(entry->shift) > PULLS * row->pooled.se_knapp_hartung)
        say("%s pulls the %s%s%s%s: without it %s, with it %s; its weight is %.0f %%.",
            file_label(of, entry->visit), kinds[row->kind].noun, in, row->name, sand,
            figure_of(&without, row, row->pooled.mean - entry->shift),
            figure_of(&with, row, row->pooled.mean), 100 * entry->weight);
}

static void say_pulls(const merging *of)
{
    for (size_t i = 0; i < of->quantity_count; i++) {
        const bb_merge_quantity *row = &of->quantities[i];
        for (size_t e = 0; is_shown(row, false) && row->pooled.count > 1 && e < row->pooled.count;
             e++)
            say_pull(of, row, &row->entries[e]);
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

char *merge_next(const merging *of)
{
    const bb_merge_quantity *worst = weakest(of);
    phrase visits;
    if (worst == NULL)
        return need_text("no visit learned anything of its sand: pump 15 bare spots and lay two "
                         "pieces on the sand in each zone");
    if (worst->pooled.count < ENOUGH_VISITS)
        return need_text("the club knows least of the %s in %s sand, from %zu of %s: sweep 15 bare "
                         "spots and two pieces on the sand there, on another day",
                         kinds[worst->kind].noun, worst->name, worst->pooled.count,
                         counted(&visits, of->club->pooled_visits, "visit", "visits"));
    if (worst->pooled.i2 > 0.5)
        return need_text("visits truly differ in the %s in %s sand: other beaches and tides tell "
                         "more than longer visits", kinds[worst->kind].noun, worst->name);
    return need_text("visits agree within their doubt in %s sand: longer visits there tell more "
                     "than further ones", worst->name);
}

static void say_left_out(const merging *of)
{
    size_t left_out = 0;
    for (size_t i = 0; i < of->count; i++)
        if (of->fates[i] != BB_MERGE_COUNTED && left_out++ < LEFT_OUT)
            say("Left out: %s, %s.", of->paths[i], fates[of->fates[i]]);
    if (left_out > LEFT_OUT)
        say("And %zu more were left out; --json lists them.", left_out - LEFT_OUT);
}

void merge_say(const merging *of, bool verbose)
{
    phrase visits;
    say_answer("Pooled %s into %s.",
               counted(&visits, of->club->pooled_visits, "visit", "visits"), of->output);
    say_left_out(of);
    if (of->club->any_machine)
        say("Only what is the beach's was pooled: the profile knows no machine, and serves as "
            "--prior for any.");
    say_quantities(of, verbose);
    if (verbose)
        say_spreads(of);
    for (size_t i = 0; i < of->quantity_count; i++)
        if (of->quantities[i].kind <= BB_MERGE_ANGLE && of->quantities[i].pooled.count > 1)
            say_forest(of, &of->quantities[i]);
    say_gap();
    say_pulls(of);
    char *next = merge_next(of);
    say("Next: %s.", next);
    free(next);
    if (of->club->any_machine)
        say("A newcomer starts with 'brineband fit DIR --prior %s'.", of->output);
    else
        say("A newcomer starts with 'brineband reject %s', not yet proved on their sand, and then "
            "with 'brineband fit DIR --prior %s'.", of->output, of->output);
    say("The file names zones and pieces as the visits did: pass it on only if no such name tells a "
        "place or a person.");
}
