/* What a sweep over a piece may show: the jitter of the sand's residual in equal steps, at each the
 * noise of one sweep and the doubt of the parameters, which all sweeps over the piece share. */
#include "outlook.h"

#include <math.h>
#include <string.h>

#include "constants.h"
#include "jitter.h"

#define REACH 6.0        /* standard deviations of the jitter covered on either side */
#define PIECE_STEP 0.75  /* of the time parameter, in its standard deviations */
#define MASKED_BELOW 3.0 /* signal to ground */

/* ---------------------------------------------------------------- pieces */

bb_status bb_pieces_known(const bb_predictor *predictor, int target, bb_pieces *pieces)
{
    const bb_model *model = predictor->model;
    if (target < 0 || target >= (int)model->target_count)
        return BB_RANGE;
    pieces->kind = model->target[target];
    pieces->count = 1;
    pieces->middle = 0;
    pieces->at[0].weight = 1;
    pieces->at[0].subject = (bb_subject){
        .kind = &pieces->kind,
        .answer = predictor->answers[target],
        .time = predictor->theta[model->layout.first_target + 2 * target],
        .swept = true,
    };
    return BB_OK;
}

/* Each step stands for all of its width; the variance that this adds is taken from the weights. */
static double step_weight(double x, double step)
{
    return exp(-0.5 * x * x / (1 - step * step / 12));
}

bb_status bb_pieces_other(const bb_predictor *predictor, const bb_target *target, double sd_log,
                          bb_pieces *pieces)
{
    bb_status status = bb_model_target_set(predictor->model, target, sd_log, &pieces->kind);
    const bb_model_target *kind = &pieces->kind;
    double total = 0;
    pieces->count = pieces->middle = 0;
    for (int i = 0; i < BB_PIECES_MAX && status == BB_OK; i++) {
        const double x = PIECE_STEP * (i - BB_PIECES_MAX / 2);
        const double time = kind->mean_time + x * kind->sd_time;
        if (kind->kind == BB_KIND_IRON && fabs(time) > 90) /* degrees */
            continue;
        if (x == 0)
            pieces->middle = pieces->count;
        bb_subject *subject = &pieces->at[pieces->count].subject;
        *subject = (bb_subject){.kind = kind,
                                .time = time,
                                .time_sd = kind->sd_time * PIECE_STEP / sqrt(12),
                                .strength_sd = kind->sd_strength};
        pieces->at[pieces->count].weight = step_weight(x, PIECE_STEP);
        total += pieces->at[pieces->count].weight;
        pieces->count++;
        status = bb_state_answer(&predictor->state, kind, time, 0, &subject->answer);
    }
    for (int i = 0; i < pieces->count; i++)
        pieces->at[i].weight /= total;
    return status;
}

/* ---------------------------------------------------------------- detection */

/* The share of the ground, and the strength of the target, that a salt-cancelling pair keeps. */
static bb_status cancel(const bb_predictor *predictor, const bb_subject *of, const bb_point *point,
                        const bb_signal *signal, double *strength, double *ground_kept)
{
    const bb_model *model = predictor->model;
    const double f2 = model->machine.frequency_hz, f1 = model->machine.lower_frequency_hz;
    const bb_ground *ground = &model->zone[point->zone].ground;
    const double radius_m = model->machine.coil_radius_m;
    bb_complex upper, lower;
    bb_answer answer;
    bb_status status = bb_ground_response(ground, model->omega, radius_m, point->height_m, &upper);
    if (status == BB_OK)
        status = bb_ground_response(ground, model->omega * f1 / f2, radius_m, point->height_m,
                                    &lower);
    if (status == BB_OK)
        status = bb_state_answer(&predictor->state, of->kind, of->time, log(f1 / f2), &answer);
    if (status != BB_OK)
        return status;
    double complex at_f1 = cabs(of->answer.alpha) > 0
                               ? signal->target / of->answer.alpha * answer.alpha
                               : 0;
    *strength = bb_response_strength(
        bb_cancelled((bb_complex){creal(signal->target), cimag(signal->target)},
                     (bb_complex){creal(at_f1), cimag(at_f1)}, f2, f1));
    *ground_kept = bb_response_strength(upper) > 0 ? bb_cancel_survival(upper, lower, f2, f1) : 1;
    return BB_OK;
}

/* What detects a target: its own response against the jitter of the ground's, both as the machine
 * takes them. */
static bb_status detect(const bb_predictor *predictor, const bb_subject *of, const bb_point *point,
                        const bb_signal *signal, bb_outlook *outlook)
{
    double strength = cabs(signal->target), ground_kept = 1;
    bb_status status = BB_OK;
    if (predictor->model->machine.frequency_kind == BB_FREQUENCY_PAIR)
        status = cancel(predictor, of, point, signal, &strength, &ground_kept);
    outlook->over_sand = true;
    outlook->signal_to_ground = strength / (signal->jitter * ground_kept);
    outlook->masked = outlook->signal_to_ground < MASKED_BELOW;
    return status;
}

/* ---------------------------------------------------------------- nodes */

bb_status bb_outlook_place(const bb_predictor *predictor, int target, int zone, double depth_m,
                           double height_m, bb_point *point)
{
    const bool air = zone == BB_ZONE_AIR;
    if (zone < BB_ZONE_AIR || zone >= (int)predictor->model->zone_count || !(depth_m >= 0) ||
        depth_m > BB_DEEPEST_M || (air && depth_m <= 0))
        return BB_RANGE;
    if (isnan(height_m))
        height_m = predictor->model->swing_height_m;
    if (!(height_m > 0) || height_m > BB_DEEPEST_M)
        return BB_RANGE;
    *point = (bb_point){zone, target, depth_m, air ? 0 : height_m, NAN};
    return BB_OK;
}

bb_status bb_outlook_known(const bb_predictor *predictor, int target, int zone, double depth_m,
                           double height_m, bb_point *point, bb_pieces *pieces)
{
    bb_status status = bb_outlook_place(predictor, target, zone, depth_m, height_m, point);
    return status == BB_OK ? bb_pieces_known(predictor, target, pieces) : status;
}

/* The covariance of what one place's numbers depend on; a piece that was never swept adds the
 * doubt of its own two parameters, which come last. */
typedef struct {
    double entry[BB_GRADIENT_MAX][BB_GRADIENT_MAX];
} local_covariance;

static void localise(const bb_predictor *predictor, const bb_subject *of,
                     const bb_gradient *gradient, local_covariance *local)
{
    const int n = gradient->count;
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++)
            local->entry[i][j] =
                gradient->column[i] < 0 || gradient->column[j] < 0
                    ? 0
                    : predictor->covariance[(size_t)gradient->column[i] *
                                                predictor->parameter_count +
                                            (size_t)gradient->column[j]];
    if (!of->swept) {
        local->entry[n - 2][n - 2] += of->time_sd * of->time_sd;
        local->entry[n - 1][n - 1] += of->strength_sd * of->strength_sd;
    }
}

static double dot(const bb_gradient *gradient, const double *other)
{
    double sum = 0;
    for (int i = 0; i < gradient->count; i++)
        sum += gradient->value[i] * other[i];
    return sum;
}

static void times(const local_covariance *local, const bb_gradient *gradient,
                  double product[BB_GRADIENT_MAX])
{
    for (int i = 0; i < gradient->count; i++)
        product[i] = dot(gradient, local->entry[i]);
}

static double variance(const local_covariance *local, const bb_gradient *gradient)
{
    double sum = 0;
    for (int i = 0; i < gradient->count; i++) {
        double below = 0;
        for (int j = 0; j < i; j++)
            below += local->entry[i][j] * gradient->value[j];
        sum += gradient->value[i] * (2 * below + local->entry[i][i] * gradient->value[i]);
    }
    return sum;
}

/* The shared error goes along the mean gradient; what a node's doubt has beside it is its rest. */
static void share(const bb_predictor *predictor, const bb_subject *of,
                  const bb_gradient *gradients, bb_outlook *outlook)
{
    bb_gradient *common = &outlook->common;
    *common = gradients[0];
    memset(common->value, 0, sizeof common->value);
    for (int n = 0; n < outlook->count; n++)
        for (int i = 0; i < common->count; i++)
            common->value[i] += outlook->node[n].weight * gradients[n].value[i];
    local_covariance local;
    double along[BB_GRADIENT_MAX] = {0};
    localise(predictor, of, common, &local);
    times(&local, common, along);
    const double length = sqrt(fmax(dot(common, along), 0));
    for (int i = 0; i < common->count; i++) {
        common->value[i] = length > 0 ? common->value[i] / length : 0;
        along[i] = length > 0 ? along[i] / length : 0;
    }
    for (int n = 0; n < outlook->count; n++) {
        bb_outlook_node *node = &outlook->node[n];
        node->common = dot(&gradients[n], along);
        node->rest = fmax(variance(&local, &gradients[n]) - node->common * node->common, 0);
    }
}

/* The most that a deviate moves the number, in reading noise, wherever the jitter may turn the sum
 * to; infinite where it may turn it over, so that the number jumps. */
static double most_moved(const bb_state *state, const bb_signal *signal)
{
    const double complex total = signal->target + signal->residual * signal->ground;
    const double turned = signal->jitter / cabs(total);
    if (!(bb_turnover(signal) < -REACH) || !(REACH * turned < 1))
        return INFINITY;
    const double angle = bb_folded_angle_deg(creal(total), cimag(total));
    const double turn = asin(REACH * turned) * BB_DEG;
    double steepest = 0;
    for (int side = -1; side <= 1; side++)
        steepest = fmax(steepest, bb_curve_steepest(&state->curve, angle + side * turn));
    return turned * BB_DEG * steepest / state->noise.reading;
}

/* The weaker the target beside all that the ground may do, the more the sum of both may turn; few
 * do where a step moves the number by little more than its noise. */
static int node_count(const bb_state *state, const bb_signal *signal)
{
    static const struct {
        double stronger, moved;
        int nodes;
    } counts[] = {{10, INFINITY, 17}, {0, 1.5, 17}, {2, INFINITY, 33}, {0, 3, 33}};
    const double ground = signal->residual + REACH * signal->jitter;
    if (signal->air)
        return 1;
    const double moved = most_moved(state, signal);
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++)
        if (cabs(signal->target) > counts[i].stronger * ground && moved <= counts[i].moved)
            return counts[i].nodes;
    return BB_OUTLOOK_NODES;
}

/* Deviates of the jitter, each standing for a step. */
typedef struct {
    int count;
    double step, deviate[BB_OUTLOOK_NODES], weight[BB_OUTLOOK_NODES];
} steps;

static void set_steps(const bb_state *state, const bb_signal *signal, steps *at)
{
    const bb_few_nodes *few = bb_few_nodes_of_chance(state, signal);
    if (few != NULL) {
        bb_deviates fewer;
        bb_few_deviates(few, &fewer);
        at->count = fewer.count;
        at->step = BB_CHANCE_STEP;
        memcpy(at->deviate, fewer.deviate, sizeof fewer.deviate);
        memcpy(at->weight, fewer.weight, sizeof fewer.weight);
        return;
    }
    double total = 0;
    at->count = node_count(state, signal);
    at->step = at->count > 1 ? 2 * REACH / (at->count - 1) : 0;
    for (int i = 0; i < at->count; i++) {
        at->deviate[i] = at->step * (i - at->count / 2);
        at->weight[i] = step_weight(at->deviate[i], at->step);
        total += at->weight[i];
    }
    for (int i = 0; i < at->count; i++)
        at->weight[i] /= total;
}

static void set_nodes(const bb_predictor *predictor, const bb_point *point, const bb_subject *of,
                      const bb_signal *signal, bb_outlook *outlook)
{
    const bb_state *state = &predictor->state;
    bb_gradient gradients[BB_OUTLOOK_NODES];
    steps at;
    set_steps(state, signal, &at);
    gradients[0] = (bb_gradient){0}; /* never left so, which an analyser cannot see */
    outlook->count = at.count;
    for (int i = 0; i < at.count; i++) {
        bb_node node;
        bb_pull pull = {0};
        bb_node_at(state, signal, at.deviate[i], &node);
        bb_pull_add(signal, &node, 1, &pull);
        bb_gradient_set(state, point, signal, &pull, &gradients[i]);
        const double spread = node.slope * node.by_jitter * at.step;
        outlook->node[i] = (bb_outlook_node){
            .weight = at.weight[i],
            .number = node.number,
            .own = state->noise.reading * state->noise.reading + node.wander * node.wander +
                   spread * spread / 12,
        };
    }
    share(predictor, of, gradients, outlook);
}

static bb_status begin(const bb_predictor *predictor, const bb_subject *subject, bb_point *point,
                       bb_signal *signal, bb_outlook *outlook)
{
    if (!subject->swept)
        point->target = BB_TARGET_SAND; /* it has no parameters of its own in the profile */
    outlook->count = 0;
    outlook->over_sand = outlook->masked = false;
    outlook->signal_to_ground = 0;
    bb_status status = bb_signal_at(&predictor->state, point, &subject->answer, signal);
    return status != BB_OK || signal->air ? status
                                          : detect(predictor, subject, point, signal, outlook);
}

bb_status bb_outlook_detect(const bb_predictor *predictor, const bb_point *point,
                            const bb_subject *subject, bb_outlook *outlook)
{
    bb_signal signal;
    bb_point own = *point;
    return begin(predictor, subject, &own, &signal, outlook);
}

bb_status bb_outlook_at(const bb_predictor *predictor, const bb_point *point,
                        const bb_subject *subject, bb_outlook *outlook)
{
    bb_signal signal;
    bb_point own = *point;
    bb_status status = begin(predictor, subject, &own, &signal, outlook);
    if (status == BB_OK)
        set_nodes(predictor, &own, subject, &signal, outlook);
    return status;
}

double bb_outlook_node_sd(const bb_outlook_node *node)
{
    return sqrt(node->own + node->common * node->common + node->rest);
}

double bb_outlook_tail(const bb_outlook *outlook, const bb_machine *machine, int number)
{
    const double half = 0.5 * machine->scale_step;
    double up_to = 0, from = 0;
    for (int i = 0; i < outlook->count; i++) {
        const bb_outlook_node *node = &outlook->node[i];
        const double per_sd = M_SQRT1_2 / bb_outlook_node_sd(node);
        up_to += 0.5 * node->weight * erfc((node->number - number - half) * per_sd);
        from += 0.5 * node->weight * erfc((number - half - node->number) * per_sd);
    }
    return fmin(number < machine->scale_high ? up_to : 1, number > machine->scale_low ? from : 1);
}
