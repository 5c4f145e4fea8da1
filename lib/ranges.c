/* Which stretches of the scale tell most about the group of what lies under them. */
#include "brineband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "judge.h"

#define TOLD 0.9      /* share wanted of what the single numbers tell about the group */
#define TRIMMED 0.005 /* of a stretch's weight, at either end */

/* ---------------------------------------------------------------- what each group shows */

/* Sums over numbers of the chance that a piece of the group shows them: (numbers + 1) x groups. */
struct shown {
    size_t numbers, groups;
    double *prefix;
};

/* A group weighs as often as it is met, and zones weigh alike. */
static void add_judge(const bb_judge *judge, const struct shown *shown)
{
    for (size_t g = 0; g < shown->groups; g++)
        for (size_t n = 0; n < shown->numbers; n++)
            shown->prefix[(n + 1) * shown->groups + g] +=
                judge->rates.mean[g] * judge->chance[g * shown->numbers + n];
}

static bb_status set_shown(const bb_judge *const *judges, size_t count, bb_number_ranges *made,
                           struct shown *shown)
{
    *shown = (struct shown){.numbers = judges[0]->numbers, .groups = judges[0]->classes};
    made->group_count = shown->groups;
    made->groups = calloc(shown->groups, sizeof *made->groups);
    shown->prefix = calloc((shown->numbers + 1) * shown->groups, sizeof *shown->prefix);
    if (made->groups == NULL || shown->prefix == NULL)
        return BB_MEMORY;
    for (size_t g = 0; g < shown->groups; g++)
        memcpy(made->groups[g], judges[0]->candidates.groups[g].name, BB_NAME_BYTES);
    for (size_t j = 0; j < count; j++)
        add_judge(judges[j], shown);
    for (size_t i = shown->groups; i < (shown->numbers + 1) * shown->groups; i++)
        shown->prefix[i] += shown->prefix[i - shown->groups];
    return BB_OK;
}

static double weight_of(const struct shown *shown, size_t group, size_t from, size_t to)
{
    return shown->prefix[to * shown->groups + group] - shown->prefix[from * shown->groups + group];
}

static double weight_of_all(const struct shown *shown, size_t from, size_t to)
{
    double weight = 0;
    for (size_t g = 0; g < shown->groups; g++)
        weight += weight_of(shown, g, from, to);
    return weight;
}

/* What numbers from to to - 1 tell when only "one of them" is known: sum of w log(w / total). */
static double told(const struct shown *shown, size_t from, size_t to)
{
    const double total = weight_of_all(shown, from, to);
    double sum = 0;
    for (size_t g = 0; g < shown->groups; g++) {
        const double weight = weight_of(shown, g, from, to);
        if (weight > 0)
            sum += weight * log(weight / total);
    }
    return sum;
}

/* ---------------------------------------------------------------- cutting the scale */

/* best[k * (numbers + 1) + n]: the most that k + 1 stretches of the first n numbers tell; before:
 * where the last of them starts. */
struct cuts {
    double *best;
    size_t *before;
};

static void cut(const struct shown *shown, size_t at_most, struct cuts *cuts)
{
    const size_t side = shown->numbers + 1;
    for (size_t i = 0; i < at_most * side; i++)
        cuts->best[i] = -HUGE_VAL;
    for (size_t from = 0; from < shown->numbers; from++)
        for (size_t to = from + 1; to < side; to++) {
            const double here = told(shown, from, to);
            for (size_t k = from == 0 ? 0 : 1; k < (from == 0 ? 1 : at_most); k++) {
                const double sum = (k > 0 ? cuts->best[(k - 1) * side + from] : 0) + here;
                if (sum > cuts->best[k * side + to]) {
                    cuts->best[k * side + to] = sum;
                    cuts->before[k * side + to] = from;
                }
            }
        }
}

/* The fewest stretches that tell nearly what the single numbers do. */
static size_t enough(const struct shown *shown, size_t at_most, const struct cuts *cuts)
{
    const size_t side = shown->numbers + 1;
    double single = 0;
    for (size_t n = 0; n < shown->numbers; n++)
        single += told(shown, n, n + 1);
    const double one = cuts->best[shown->numbers];
    for (size_t k = 0; k < at_most; k++)
        if (cuts->best[k * side + shown->numbers] - one >= TOLD * (single - one))
            return k + 1;
    return at_most;
}

/* Leave out the ends of a stretch where next to nothing is shown. */
static void trim(const struct shown *shown, size_t *from, size_t *to)
{
    const size_t first = *from, last = *to;
    const double small = TRIMMED * weight_of_all(shown, first, last);
    while (*from + 1 < last && weight_of_all(shown, first, *from + 1) < small)
        ++*from;
    while (*to > *from + 1 && weight_of_all(shown, *to - 1, last) < small)
        --*to;
}

static void set_range(const struct shown *shown, const bb_machine *machine, size_t from, size_t to,
                      bb_number_range *range)
{
    const double total = weight_of_all(shown, from, to);
    for (size_t g = 0; g < shown->groups; g++)
        range->chance[g] = total > 0 ? weight_of(shown, g, from, to) / total : 0;
    trim(shown, &from, &to);
    range->low = bb_scale_number(machine, from);
    range->high = bb_scale_number(machine, to - 1);
}

static bb_status set_ranges(const struct shown *shown, const bb_machine *machine, size_t at_most,
                            bb_number_ranges *made)
{
    const size_t side = shown->numbers + 1;
    struct cuts cuts = {calloc(at_most * side, sizeof(double)),
                        calloc(at_most * side, sizeof(size_t))};
    made->ranges = calloc(at_most, sizeof *made->ranges);
    made->chances = calloc(at_most * shown->groups, sizeof *made->chances);
    bb_status status =
        cuts.best && cuts.before && made->ranges && made->chances ? BB_OK : BB_MEMORY;
    if (status == BB_OK) {
        cut(shown, at_most, &cuts);
        made->count = enough(shown, at_most, &cuts);
        size_t to = shown->numbers;
        for (size_t k = made->count; k-- > 0;) {
            const size_t from = cuts.before[k * side + to];
            made->ranges[k].chance = made->chances + k * shown->groups;
            set_range(shown, machine, from, to, &made->ranges[k]);
            to = from;
        }
    }
    free(cuts.best);
    free(cuts.before);
    return status;
}

bb_status bb_number_ranges_new(const bb_judge *const *judges, size_t judge_count, size_t at_most,
                               bb_number_ranges **ranges)
{
    if (judge_count == 0 || at_most == 0 || at_most > judges[0]->numbers)
        return BB_RANGE;
    bb_number_ranges *made = calloc(1, sizeof *made);
    struct shown shown = {0};
    bb_status status = made == NULL ? BB_MEMORY : set_shown(judges, judge_count, made, &shown);
    if (status == BB_OK)
        status = set_ranges(&shown, &judges[0]->predictor->model->machine, at_most, made);
    free(shown.prefix);
    if (status != BB_OK)
        bb_number_ranges_free(made);
    else
        *ranges = made;
    return status;
}

void bb_number_ranges_free(bb_number_ranges *ranges)
{
    if (ranges == NULL)
        return;
    free(ranges->groups);
    free(ranges->ranges);
    free(ranges->chances);
    free(ranges);
}
