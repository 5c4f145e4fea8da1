/* The next sweeps: which places, how often, in which order, and what doubt is left after them. */
#include "brineband.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cells.h"
#include "groups.h"
#include "learning.h"
#include "predictor.h"
#include "prior.h"
#include "status.h"

/* The pace of work, in minutes; common practice, no source. */
#define MINUTES_A_SWEEP 0.07
#define MINUTES_TO_LAY 0.5
#define MINUTES_TO_BURY 1.5
#define MINUTES_TO_RAISE 0.2
#define MINUTES_TO_WALK 2.0
#define MINUTES_A_PUMP 0.1

#define RAISED_M 0.05
#define NEAR_WEIGHT 4.0 /* of a number beside the sand's, over one far from it */
#define NEAR_NUMBERS 0.05 /* of the scale: how near is beside */
#define GOLD_WEIGHT 3.0
#define AS_MUCH 1.1 /* of the doubt left with holes: then none is dug */

enum {
    LAYING_SWEEPS = 2,
    LAYINGS_MOST = 2,    /* of one place */
    SWEEPS_USUAL = 24,
    SWEEPS_MOST = 400,
    PLACES_A_TARGET = 4  /* in one zone, see places below */
};

/* Where a piece can be swept in a zone; depth under the sand, lift of the coil above its swing. */
static const struct {
    double depth_m, lift_m, minutes;
} places[PLACES_A_TARGET] = {
    {0, 0, MINUTES_TO_LAY},
    {0, RAISED_M, MINUTES_TO_LAY},
    {0, 2 * RAISED_M, MINUTES_TO_LAY},
    {0.08, 0, MINUTES_TO_BURY},
};
enum { ON_THE_SAND = PLACES_A_TARGET - 1 };

static const double decided_depths_m[] = {0.02, 0.05, 0.10};
enum { DECIDED_DEPTHS = sizeof decided_depths_m / sizeof *decided_depths_m };

/* One laying that could be swept. */
typedef struct {
    bb_point point;
    size_t first; /* at the same zone and piece on the sand: laid once for all of these */
    double minutes; /* to lay or bury it there */
} candidate;

typedef struct {
    const bb_visit *visit;
    bb_model *model;
    double *theta, *covariance;
    bb_answer *answers;
    bb_state state;
    candidate *candidates;
    double *gradient, *variance;
    size_t candidate_count, without_holes; /* holes come last */
    double *interest, *weight;
    size_t interest_count;
    int *times;
} planning;

/* ---------------------------------------------------------------- what is known */

static bb_status know_prior(planning *plan, bb_error *error)
{
    const bb_visit *visit = plan->visit;
    bb_prior prior = {0};
    bb_noise noise;
    bb_status status = bb_model_new(&visit->machine, &visit->beach, visit->zones, visit->zone_count,
                                    visit->targets, visit->target_count, NAN, &plan->model, error);
    if (status == BB_OK)
        status = bb_prior_new(plan->model, visit->zones, NULL, &prior, error);
    const size_t p = prior.count;
    if (status == BB_OK) {
        plan->theta = calloc(p, sizeof *plan->theta);
        plan->covariance = calloc(p * p, sizeof *plan->covariance);
        plan->answers = calloc(visit->target_count + 1, sizeof *plan->answers);
        status = plan->theta && plan->covariance && plan->answers
                     ? bb_prior_covariance(&prior, plan->covariance)
                     : BB_MEMORY;
    }
    if (status == BB_OK) {
        memcpy(plan->theta, prior.mean, p * sizeof *plan->theta);
        bb_model_noise_prior(plan->model, visit->zones, &noise);
        const bb_noise_level level = bb_noise_level_of(&noise, visit->zone_count);
        /* NOLINTNEXTLINE(clang-analyzer-unix.Malloc): release() frees what planning has */
        status = bb_state_set(&plan->state, plan->model, plan->theta, &level, plan->answers);
    }
    bb_prior_free(&prior);
    return status;
}

static bb_status know_profile(planning *plan, const bb_profile *profile, bb_error *error)
{
    bb_predictor *predictor = NULL;
    bb_status status = bb_predictor_new(profile, &predictor, error);
    if (status != BB_OK)
        return status;
    plan->model = predictor->model; /* taken over with all that the state points to */
    plan->theta = predictor->theta;
    plan->covariance = predictor->covariance;
    plan->answers = predictor->answers;
    plan->state = predictor->state;
    predictor->model = NULL;
    predictor->theta = predictor->covariance = NULL;
    predictor->answers = NULL;
    bb_predictor_free(predictor);
    return BB_OK;
}

/* What so many layings at a place teach. room: twice the parameters. */
static bb_status learn(planning *plan, const bb_point *point, double sweeps, double layings,
                       double *room)
{
    const size_t p = (size_t)plan->model->layout.count;
    double mean, variance;
    memset(room, 0, p * sizeof *room);
    bb_status status = bb_laying_expect(&plan->state, point, sweeps, room, &mean, &variance);
    if (status == BB_OK)
        (void)bb_mean_absorb(plan->covariance, p, room, variance / layings, room + p);
    return status;
}

/* Without a profile, what was swept already counts all the same. */
static bb_status know_sweeps(planning *plan)
{
    bb_cells cells;
    double *room = calloc(2 * (size_t)plan->model->layout.count, sizeof *room);
    bb_status status = room == NULL ? BB_MEMORY : bb_cells_new(plan->visit, &cells);
    if (status != BB_OK) {
        free(room);
        return status;
    }
    for (size_t i = 0; status == BB_OK && i < cells.place_count; i++)
        status = learn(plan, &cells.places[i].point, cells.places[i].sweeps, 1, room);
    bb_cells_free(&cells);
    free(room);
    return status;
}

/* ---------------------------------------------------------------- what is decided */

static bool is_gold(const bb_target *target)
{
    return strcmp(target->group, BB_GROUP_SMALL_GOLD) == 0;
}

/* The sand's number in each zone, and each kept target's at a few depths, nearer ones weighing more. */
static bb_status set_interests(planning *plan)
{
    const bb_visit *visit = plan->visit;
    const size_t p = (size_t)plan->model->layout.count;
    const size_t room = visit->zone_count * (1 + visit->target_count * DECIDED_DEPTHS) + 1;
    const double near = NEAR_NUMBERS * (visit->machine.scale_high - visit->machine.scale_low);
    plan->interest = calloc(room * p, sizeof *plan->interest);
    plan->weight = calloc(room, sizeof *plan->weight);
    if (plan->interest == NULL || plan->weight == NULL)
        return BB_MEMORY;
    for (size_t z = 0; z < visit->zone_count; z++) {
        bb_point point = {(int)z, BB_TARGET_SAND, 0, plan->model->swing_height_m, NAN};
        bb_expected sand, expected;
        bb_gradient gradient;
        bb_status status = bb_expect(&plan->state, &point, &sand, &gradient);
        if (status != BB_OK)
            return status;
        bb_gradient_row(&gradient, plan->interest + plan->interest_count * p);
        plan->weight[plan->interest_count++] = 1 + NEAR_WEIGHT;
        for (size_t k = 0; k < visit->target_count; k++)
            for (int d = 0; d < DECIDED_DEPTHS && visit->targets[k].keep; d++) {
                point.target = (int)k;
                point.depth_m = decided_depths_m[d];
                status = bb_expect(&plan->state, &point, &expected, &gradient);
                if (status != BB_OK)
                    return status;
                const double off = (expected.mean - sand.mean) / near;
                bb_gradient_row(&gradient, plan->interest + plan->interest_count * p);
                plan->weight[plan->interest_count++] =
                    (1 + NEAR_WEIGHT * exp(-0.5 * off * off)) *
                    (is_gold(&visit->targets[k]) ? GOLD_WEIGHT : 1);
            }
    }
    return BB_OK;
}

/* Typical sd of what is decided, numbers. */
static double doubt(const planning *plan)
{
    const size_t p = (size_t)plan->model->layout.count;
    double sum = 0, weights = 0;
    for (size_t i = 0; i < plan->interest_count; i++) {
        const double *interest = plan->interest + i * p;
        for (size_t a = 0; a < p; a++)
            for (size_t b = 0; b < p; b++)
                sum += plan->weight[i] * interest[a] * plan->covariance[a * p + b] * interest[b];
        weights += plan->weight[i];
    }
    return weights > 0 ? sqrt(sum / weights) : 0;
}

/* ---------------------------------------------------------------- what could be swept */

static bb_status add_candidate(planning *plan, bb_point point, size_t first, double minutes)
{
    const size_t p = (size_t)plan->model->layout.count, c = plan->candidate_count++;
    double mean;
    plan->candidates[c] = (candidate){point, first, minutes};
    return bb_laying_expect(&plan->state, &point, LAYING_SWEEPS, plan->gradient + c * p, &mean,
                            &plan->variance[c]);
}

static bb_status add_places(planning *plan, int from, int to)
{
    bb_status status = BB_OK;
    for (size_t k = 0; k < plan->visit->target_count; k++)
        for (size_t z = 0; z < plan->visit->zone_count; z++) {
            const size_t first = plan->candidate_count;
            for (int i = from; i < to && status == BB_OK; i++)
                status = add_candidate(plan,
                                       (bb_point){(int)z, (int)k, places[i].depth_m,
                                                  plan->model->swing_height_m + places[i].lift_m,
                                                  NAN},
                                       first, places[i].minutes);
        }
    return status;
}

static bb_status set_candidates(planning *plan)
{
    const bb_visit *visit = plan->visit;
    const size_t p = (size_t)plan->model->layout.count;
    const size_t room = visit->target_count * (1 + visit->zone_count * PLACES_A_TARGET) + 1;
    plan->candidates = calloc(room, sizeof *plan->candidates);
    plan->gradient = calloc(room * p, sizeof *plan->gradient);
    plan->variance = calloc(room, sizeof *plan->variance);
    plan->times = calloc(2 * room, sizeof *plan->times);
    if (!plan->candidates || !plan->gradient || !plan->variance || !plan->times)
        return BB_MEMORY;
    bb_status status = BB_OK;
    for (size_t k = 0; k < visit->target_count && status == BB_OK; k++)
        status = add_candidate(plan, (bb_point){BB_ZONE_AIR, (int)k, BB_BENCH_M, 0, NAN},
                               plan->candidate_count, MINUTES_TO_RAISE);
    if (status == BB_OK)
        status = add_places(plan, 0, ON_THE_SAND);
    plan->without_holes = plan->candidate_count;
    return status == BB_OK ? add_places(plan, ON_THE_SAND, PLACES_A_TARGET) : status;
}

/* ---------------------------------------------------------------- the plan */

static void add_stop(bb_plan *plan, const bb_point *point, int sweeps, double minutes)
{
    plan->stops[plan->stop_count++] = (bb_plan_stop){.zone = point->zone,
                                                     .target = point->target,
                                                     .depth_m = point->depth_m,
                                                     .height_m = point->height_m,
                                                     .sweeps = sweeps,
                                                     .minutes = minutes};
    plan->sweeps += sweeps;
    *(point->zone == BB_ZONE_AIR ? &plan->minutes_home : &plan->minutes_sand) += minutes;
}

static bool in_air_already(const bb_visit *visit, int target)
{
    for (size_t i = 0; i < visit->cell_count; i++)
        if (visit->cells[i].zone == BB_ZONE_AIR && visit->cells[i].target == target &&
            visit->cells[i].has_reading)
            return true;
    return false;
}

/* What the sweeps already given leave, as a count of layings: of a count asked for the last one may
 * be cut. */
static size_t layings_left(const bb_plan *plan, const bb_plan_options *options)
{
    const int wanted = options->sweeps > 0          ? options->sweeps + LAYING_SWEEPS - 1
                       : isnan(options->minutes) ? SWEEPS_USUAL
                                                    : SWEEPS_MOST;
    return wanted > plan->sweeps ? (size_t)((wanted - plan->sweeps) / LAYING_SWEEPS) : 0;
}

/* A piece that lies there already only needs the coil raised. */
static double minutes_of(const planning *of, const int *times, size_t index)
{
    const candidate *at = &of->candidates[index];
    double laying = at->minutes;
    for (size_t c = at->first; c < index; c++)
        if (times[c] > 0)
            laying = MINUTES_TO_RAISE;
    return times[index] > 0 ? laying + times[index] * LAYING_SWEEPS * MINUTES_A_SWEEP : 0;
}

/* Minutes on the sand that the chosen layings take. */
static double minutes_chosen(const planning *of, const int *times)
{
    double minutes = 0;
    for (size_t c = 0; c < of->candidate_count; c++)
        if (of->candidates[c].point.zone != BB_ZONE_AIR)
            minutes += minutes_of(of, times, c);
    return minutes;
}

/* At most so many runs as the minutes hold, among the first candidates. */
static bb_status choose_among(const planning *of, size_t candidates, size_t runs, double left,
                              int *times, double *after, bool *cut)
{
    bb_design_problem problem = {.parameters = (size_t)of->model->layout.count,
                                 .covariance = of->covariance,
                                 .candidates = candidates,
                                 .gradient = of->gradient,
                                 .variance = of->variance,
                                 .interests = of->interest_count,
                                 .interest = of->interest,
                                 .weight = of->weight,
                                 .most = LAYINGS_MOST};
    double before;
    size_t fits = 0, too_many = candidates * LAYINGS_MOST + 1;
    too_many = runs < too_many ? runs + 1 : too_many;
    problem.runs = too_many - 1;
    bb_status status = bb_design_choose(&problem, times, &before, after);
    *cut = minutes_chosen(of, times) > left;
    if (status != BB_OK || !*cut)
        return status;
    while (too_many - fits > 1 && status == BB_OK) {
        problem.runs = (fits + too_many) / 2;
        status = bb_design_choose(&problem, times, &before, after);
        *(minutes_chosen(of, times) > left ? &too_many : &fits) = problem.runs;
    }
    problem.runs = fits;
    return status == BB_OK ? bb_design_choose(&problem, times, &before, after) : status;
}

/* Holes are dug only where raising the coil does not tell as much. */
static bb_status choose_layings(planning *of, const bb_plan_options *options, bb_plan *plan)
{
    const size_t runs = layings_left(plan, options);
    const double left = options->minutes - plan->minutes_sand; /* NAN: no limit */
    int *with_holes = of->times + of->candidate_count + 1;
    double raised = 0, dug = 0;
    bool cut_raised = false, cut_dug = false;
    if (of->candidate_count == 0 || of->interest_count == 0)
        return BB_OK;
    bb_status status =
        choose_among(of, of->without_holes, runs, left, of->times, &raised, &cut_raised);
    if (status == BB_OK)
        status =
            choose_among(of, of->candidate_count, runs, left, with_holes, &dug, &cut_dug);
    const bool holes = raised > AS_MUCH * AS_MUCH * dug;
    if (holes)
        memcpy(of->times, with_holes, of->candidate_count * sizeof *of->times);
    plan->cut |= holes ? cut_dug : cut_raised;
    return status;
}

static int walking_order(const void *one, const void *other)
{
    const bb_plan_stop *a = one, *b = other;
    if (a->zone != b->zone)
        return a->zone < b->zone ? -1 : 1;
    if (a->target != b->target)
        return a->target < b->target ? -1 : 1;
    if (a->depth_m != b->depth_m)
        return a->depth_m < b->depth_m ? -1 : 1;
    return (a->height_m > b->height_m) - (a->height_m < b->height_m);
}

static void add_pumps(const planning *of, const bb_plan_options *options, bb_plan *plan)
{
    const bb_visit *visit = of->visit;
    for (size_t z = 0; z < visit->zone_count; z++) {
        int pumps = bb_bare_wanted(&visit->bare[z]);
        if (options->sweeps > 0)
            pumps = (int)fmin(pumps, options->sweeps - plan->sweeps);
        const double walk = plan->minutes_sand > 0 ? MINUTES_TO_WALK : 0;
        const double left = options->minutes - plan->minutes_sand - walk;
        if (!isnan(left) && pumps * MINUTES_A_PUMP > left) {
            pumps = left > 0 ? (int)(left / MINUTES_A_PUMP) : 0;
            plan->cut = true;
        }
        const bb_point point = {(int)z, BB_TARGET_SAND, 0, of->model->swing_height_m, NAN};
        if (pumps > 0)
            add_stop(plan, &point, pumps, pumps * MINUTES_A_PUMP + walk);
    }
}

/* At home a sweep costs nothing, and without it a piece's own number is unknown: what a count asked
 * for still holds. */
static void choose_home(planning *of, const bb_plan_options *options, const bb_plan *plan)
{
    int left = options->sweeps > 0 ? options->sweeps - plan->sweeps : INT_MAX;
    for (size_t c = 0; c < of->candidate_count && options->sweeps > 0; c++)
        left -= of->times[c] * LAYING_SWEEPS;
    for (size_t c = 0; c < of->candidate_count && left >= LAYING_SWEEPS; c++) {
        const bb_point *point = &of->candidates[c].point;
        if (point->zone != BB_ZONE_AIR || of->times[c] > 0 ||
            in_air_already(of->visit, point->target))
            continue;
        of->times[c] = 1;
        left -= LAYING_SWEEPS;
    }
}

static void add_layings(planning *of, const bb_plan_options *options, bb_plan *plan)
{
    for (size_t c = 0; c < of->candidate_count; c++) {
        const bb_point *point = &of->candidates[c].point;
        const int times = of->times[c];
        const int sweeps = options->sweeps > 0
                               ? (int)fmin(times * LAYING_SWEEPS, options->sweeps - plan->sweeps)
                               : times * LAYING_SWEEPS;
        const double minutes = minutes_of(of, of->times, c);
        const bool held = point->zone == BB_ZONE_AIR || isnan(options->minutes) ||
                          plan->minutes_sand + minutes <= options->minutes;
        if (sweeps > 0 && held)
            add_stop(plan, point, sweeps, minutes);
        plan->cut = plan->cut || (times > 0 && !held);
    }
}

/* What the stops from here on teach. */
static bb_status learn_stops(planning *of, const bb_plan *plan, size_t from)
{
    double *room = calloc(2 * (size_t)of->model->layout.count, sizeof *room);
    bb_status status = room == NULL ? BB_MEMORY : BB_OK;
    for (size_t i = from; i < plan->stop_count && status == BB_OK; i++) {
        const bb_plan_stop *stop = &plan->stops[i];
        const bb_point point = {stop->zone, stop->target, stop->depth_m, stop->height_m, NAN};
        status = stop->target == BB_TARGET_SAND
                     ? learn(of, &point, stop->sweeps, 1, room)
                     : learn(of, &point, LAYING_SWEEPS, stop->sweeps / (double)LAYING_SWEEPS, room);
    }
    free(room);
    return status;
}

static bb_status lay_out(planning *of, const bb_plan_options *options, bb_plan *plan)
{
    plan->stops =
        calloc(of->candidate_count + of->visit->zone_count + 1, sizeof *plan->stops);
    if (plan->stops == NULL)
        return BB_MEMORY;
    plan->doubt_before = doubt(of);
    add_pumps(of, options, plan);
    const size_t pumped = plan->stop_count;
    bb_status status = learn_stops(of, plan, 0);
    if (status == BB_OK)
        status = choose_layings(of, options, plan);
    if (status != BB_OK)
        return status;
    choose_home(of, options, plan);
    add_layings(of, options, plan);
    status = learn_stops(of, plan, pumped);
    plan->doubt_after = doubt(of);
    qsort(plan->stops, plan->stop_count, sizeof *plan->stops, walking_order);
    return status;
}

static void release(planning *of)
{
    bb_model_free(of->model);
    free(of->theta);
    free(of->covariance);
    free(of->answers);
    free(of->candidates);
    free(of->gradient);
    free(of->variance);
    free(of->interest);
    free(of->weight);
    free(of->times);
}

bb_status bb_plan_new(const bb_visit *visit, const bb_profile *profile,
                      const bb_plan_options *options, bb_plan **out, bb_error *error)
{
    if (options->sweeps < 0 || options->sweeps > SWEEPS_MOST || options->minutes <= 0)
        return bb_error_say(error, BB_RANGE, "a plan has 1 to %d sweeps and more than 0 minutes",
                            SWEEPS_MOST);
    planning of = {.visit = visit};
    bb_plan *plan = calloc(1, sizeof *plan);
    bb_status status = plan == NULL      ? BB_MEMORY
                       : profile != NULL ? know_profile(&of, profile, error)
                                         : know_prior(&of, error);
    if (status == BB_OK && profile == NULL)
        status = know_sweeps(&of);
    if (status == BB_OK)
        status = set_interests(&of);
    if (status == BB_OK)
        status = set_candidates(&of);
    if (status == BB_OK)
        status = lay_out(&of, options, plan);
    release(&of);
    if (status != BB_OK) {
        bb_plan_free(plan);
        return bb_error_say(error, status, "%s", bb_status_text(status));
    }
    *out = plan;
    return BB_OK;
}

void bb_plan_free(bb_plan *plan)
{
    if (plan != NULL)
        free(plan->stops);
    free(plan);
}
