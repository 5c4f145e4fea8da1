/* From parameters to what one sweep shows: how the target answers, what the sand adds, and the
 * number the machine's curve makes of the sum, with every derivative. */
#include "model.h"

#include <math.h>
#include <string.h>

#include "constants.h"
#include "jitter.h"

#define SEVERITY_STEP 1e-4 /* of log severity, for a central difference */
#define IRON_BEND_DEG 4.0  /* within so much of an end of the scale iron's angle gives way */

/* Iron's angle cannot leave the scale's own range: near an end its parameter gives way smoothly, for
 * beyond it the number would jump to the other end. */
static double within_scale_deg(double parameter, double *slope)
{
    const double end = parameter < 0 ? -90 : 90, inward = parameter < 0 ? 1 : -1;
    const double room = inward * (parameter - end) / IRON_BEND_DEG;
    *slope = 1 / (1 + exp(-room));
    return end + inward * IRON_BEND_DEG * (fmax(room, 0) + log1p(exp(-fabs(room))));
}

/* A piece without sizes: one pole whose time parameter is ln(omega tau) at the machine's own
 * frequency; iron without a computed body: its time parameter is the angle itself. */
static void answer_unsized(const bb_model_target *target, double time, double log_frequency,
                           bb_answer *answer)
{
    answer->by_severity = answer->by_frequency = 0;
    if (target->kind == BB_KIND_IRON) {
        double slope;
        const double angle = within_scale_deg(time, &slope) / BB_DEG;
        answer->alpha = BB_UNKNOWN_STRENGTH_M3 * (sin(angle) + I * cos(angle));
        answer->by_time = slope * BB_UNKNOWN_STRENGTH_M3 * (cos(angle) - I * sin(angle)) / BB_DEG;
    } else {
        double complex turns = I * exp(time + log_frequency);
        answer->alpha = BB_UNKNOWN_STRENGTH_M3 * turns / (1 + turns);
        answer->by_time = BB_UNKNOWN_STRENGTH_M3 * turns / ((1 + turns) * (1 + turns));
        answer->by_frequency = answer->by_time;
    }
}

/* The polarizability of a piece that has lost metal. */
static bb_status aged_alpha(const bb_model *model, const bb_model_target *target, double omega,
                            double severity, double complex *alpha, double complex *slope)
{
    bb_body body;
    bb_target_kind kind;
    *alpha = *slope = 0;
    bb_status status =
        bb_target_body(&target->source, model->temperature_c, severity, &body, &kind);
    if (status != BB_OK || kind != BB_KIND_BODY) /* worn to its core: no body any more */
        return status;
    if (!bb_is_body(&body))
        return BB_RANGE;
    bb_shaped_body shaped = bb_shaped_body_of(&body);
    bb_shaped_body_answer(&shaped, omega, alpha, slope);
    return BB_OK;
}

static double parameter_or(const double *theta, int index, double otherwise)
{
    return index >= 0 ? theta[index] : otherwise;
}

bb_status bb_state_answer(const bb_state *state, const bb_model_target *target, double time,
                          double log_shift, bb_answer *answer)
{
    const bb_model *model = state->model;
    const double log_frequency = parameter_or(state->theta, model->layout.frequency, 0) + log_shift;
    const double severity_log = parameter_or(state->theta, model->layout.severity, 0);
    if (target->kind != BB_KIND_BODY) {
        answer_unsized(target, time, log_frequency, answer);
        return BB_OK;
    }
    const double omega = model->omega * exp(time + log_frequency);
    answer->by_severity = 0;
    bb_status status = BB_OK;
    if (target->aged) {
        double complex more, less, unused;
        status =
            aged_alpha(model, target, omega, exp(severity_log), &answer->alpha, &answer->by_time);
        if (status == BB_OK)
            status =
                aged_alpha(model, target, omega, exp(severity_log + SEVERITY_STEP), &more, &unused);
        if (status == BB_OK)
            status =
                aged_alpha(model, target, omega, exp(severity_log - SEVERITY_STEP), &less, &unused);
        if (status == BB_OK)
            answer->by_severity = (more - less) / (2 * SEVERITY_STEP);
    } else {
        bb_shaped_body_answer(&target->body, omega, &answer->alpha, &answer->by_time);
    }
    answer->by_frequency = answer->by_time;
    return status;
}

bb_status bb_state_set(bb_state *state, const bb_model *model, const double *theta,
                       const bb_noise_level *noise, bb_answer *answers)
{
    const bb_layout *at = &model->layout;
    if (!(theta[1] > theta[0])) /* ends of the scale */
        return BB_RANGE;
    state->model = model;
    state->theta = theta;
    state->noise = *noise;
    state->answer = answers;
    bb_curve_set(&state->curve, theta);
    for (size_t k = 0; k < model->target_count; k++) {
        bb_status status = bb_state_answer(state, &model->target[k],
                                           theta[at->first_target + 2 * (int)k], 0, &answers[k]);
        if (status != BB_OK)
            return status;
    }
    return BB_OK;
}

/* The ground at another height follows the physics: its strength by ratio, its angle by shift. */
static bb_status ground_at(const bb_state *state, const bb_point *point, bb_signal *signal)
{
    const bb_model *model = state->model;
    const bb_layout *at = &model->layout;
    const bb_model_zone *zone = &model->zone[point->zone];
    bb_lift lift;
    bb_status status = bb_model_lift(model, point->zone, point->height_m, &lift);
    if (status != BB_OK)
        return status;
    const double *theta = state->theta;
    const int drift = at->drift[point->zone];
    signal->hours = drift >= 0 && !isnan(point->hour) ? point->hour - model->drift_hour : 0;
    double log_level = theta[at->level] + theta[at->residual[point->zone]] +
                       parameter_or(theta, drift, 0) * signal->hours;
    signal->residual = BB_RESIDUAL_SHARE * zone->strength * lift.ratio * exp(log_level);
    signal->jitter = state->noise.jitter[point->zone] * lift.ratio;
    signal->angle_deg = theta[at->angle[point->zone]] + lift.shift_deg;
    signal->ground = sin(signal->angle_deg / BB_DEG) + I * cos(signal->angle_deg / BB_DEG);
    return BB_OK;
}

bb_status bb_signal_at(const bb_state *state, const bb_point *point, const bb_answer *answer,
                       bb_signal *signal)
{
    const bb_model *model = state->model;
    memset(signal, 0, sizeof *signal);
    signal->sand = point->target == BB_TARGET_SAND && answer == NULL;
    signal->air = point->zone == BB_ZONE_AIR;
    if (!signal->air) {
        bb_status status = ground_at(state, point, signal);
        if (status != BB_OK || signal->sand)
            return status;
    }
    if (answer == NULL)
        answer = &state->answer[point->target];
    const double a = model->machine.coil_radius_m;
    const double gap = point->depth_m + (signal->air ? 0 : point->height_m);
    const double reach = a * a + gap * gap;
    double log_strength =
        point->target >= 0 ? state->theta[model->layout.first_target + 2 * point->target + 1] : 0;
    /* (H/I)^2 / a with H/I = a^2 / (2 reach^(3/2)) */
    double coupling = exp(log_strength) * a * a * a / (4 * reach * reach * reach);
    signal->target = coupling * answer->alpha;
    signal->by_time = coupling * answer->by_time;
    signal->by_frequency = coupling * answer->by_frequency;
    signal->by_severity = coupling * answer->by_severity;
    signal->falloff_per_m = -6 * gap / reach;
    return BB_OK;
}

double bb_folded_angle_deg(double x, double r)
{
    return r == 0 ? copysign(90, x) : atan(x / r) * BB_DEG;
}

/* d(angle) for a change of the total response. */
static double turn(double by_x, double by_r, double complex change)
{
    return by_x * creal(change) + by_r * cimag(change);
}

void bb_node_at(const bb_state *state, const bb_signal *signal, double xi, bb_node *node)
{
    double angle, turned = 0;
    memset(node, 0, offsetof(bb_node, curve));
    if (signal->sand) {
        turned = signal->angle_deg + state->noise.wander * xi;
        angle = fmin(fmax(turned, -90), 90);
        node->by_jitter = state->noise.wander;
    } else {
        node->residual = signal->residual + signal->jitter * xi;
        const double complex total = signal->target + node->residual * signal->ground;
        const double x = creal(total), r = cimag(total), power = x * x + r * r;
        angle = bb_folded_angle_deg(x, r);
        if (power > 0) {
            node->by_x = r / power * BB_DEG;
            node->by_r = -x / power * BB_DEG;
            node->by_jitter = signal->jitter * turn(node->by_x, node->by_r, signal->ground);
            node->wander = state->noise.wander * signal->residual / sqrt(power);
        }
    }
    node->angle_deg = angle;
    node->number = bb_curve_number(&state->curve, angle, &node->slope, &node->curve);
    if (fabs(turned) > 90) /* the sand's angle stays at the end of the scale */
        node->slope = 0;
    node->wander *= node->slope;
}

void bb_pull_add(const bb_signal *signal, const bb_node *node, double weight, bb_pull *pull)
{
    for (int k = 0; k < 2; k++) {
        pull->knot_value[node->curve.span + k] += weight * node->curve.value[k];
        pull->knot_slope[node->curve.span + k] += weight * node->curve.slope[k];
    }
    const double slope = weight * node->slope;
    pull->x += slope * node->by_x;
    pull->r += slope * node->by_r;
    /* turning the ground by an angle moves it along its own normal, conj(ground) here */
    pull->angle +=
        signal->sand
            ? slope
            : slope * node->residual / BB_DEG *
                  (node->by_x * cimag(signal->ground) - node->by_r * creal(signal->ground));
}

void bb_gradient_set(const bb_state *state, const bb_point *point, const bb_signal *signal,
                     const bb_pull *pull, bb_gradient *gradient)
{
    const bb_layout *at = &state->model->layout;
    const bool over_sand = point->zone >= 0, target = point->target >= 0;
    const int z = over_sand ? point->zone : 0;
    const int own = at->first_target + 2 * point->target;
    const double by_level = turn(pull->x, pull->r, signal->residual * signal->ground);
    const struct {
        int column;
        double value;
    } entries[] = {
        {at->frequency, turn(pull->x, pull->r, signal->by_frequency)},
        {at->severity, turn(pull->x, pull->r, signal->by_severity)},
        {over_sand ? at->level : -1, by_level},
        {over_sand ? at->residual[z] : -1, by_level},
        {over_sand ? at->angle[z] : -1, pull->angle},
        {over_sand ? at->drift[z] : -1, by_level * signal->hours},
        {target ? own : -1, turn(pull->x, pull->r, signal->by_time)},
        {target ? own + 1 : -1, turn(pull->x, pull->r, signal->target)},
    };
    enum { ENTRIES = sizeof entries / sizeof *entries, OWN = ENTRIES - 2 };
    gradient->count = BB_CURVE_PARAMETERS;
    for (int i = 0; i < BB_CURVE_PARAMETERS; i++) {
        gradient->column[i] = i;
        gradient->value[i] = 0;
    }
    for (int k = 0; k < BB_CURVE_KNOTS; k++)
        for (int i = 0; (pull->knot_value[k] != 0 || pull->knot_slope[k] != 0) &&
                        i < BB_CURVE_PARAMETERS; i++)
            gradient->value[i] += pull->knot_value[k] * state->curve.value_by[k][i] +
                                  pull->knot_slope[k] * state->curve.slope_by[k][i];
    for (int i = 0; i < ENTRIES; i++) {
        if ((i < OWN || signal->sand) && entries[i].column < 0)
            continue;
        gradient->column[gradient->count] = entries[i].column;
        gradient->value[gradient->count++] = entries[i].value;
    }
}

void bb_gradient_add_square(const bb_gradient *restrict gradient, double weight,
                            double *restrict matrix, size_t count)
{
    for (int i = 0; i < gradient->count; i++) {
        double *restrict row = matrix + (size_t)gradient->column[i] * count;
        const double along = weight * gradient->value[i];
        if (i < BB_CURVE_PARAMETERS) {
            for (int j = 0; j <= i; j++)
                row[j] += along * gradient->value[j];
            continue;
        }
        for (int j = 0; j < BB_CURVE_PARAMETERS; j++)
            row[j] += along * gradient->value[j];
        for (int j = BB_CURVE_PARAMETERS; j <= i; j++)
            row[gradient->column[j]] += along * gradient->value[j];
    }
}

double bb_gradient_variance(const double *covariance, size_t count, const bb_gradient *gradient)
{
    double sum = 0;
    for (int i = 0; i < gradient->count && gradient->column[i] >= 0; i++) {
        const double *row = covariance + (size_t)gradient->column[i] * count;
        double below = 0;
        for (int j = 0; j < i; j++)
            below += row[gradient->column[j]] * gradient->value[j];
        sum += gradient->value[i] *
               (2 * below + row[gradient->column[i]] * gradient->value[i]);
    }
    return fmax(sum, 0);
}

double bb_reading_variance(const bb_expected *expected, double step)
{
    return expected->variance + step * step / 12;
}

double bb_laying_variance(const bb_expected *expected, double step)
{
    return bb_reading_variance(expected, step) / BB_LAYING_WORTH +
           expected->depth_sd * expected->depth_sd;
}

bb_status bb_expect(const bb_state *state, const bb_point *point, bb_expected *expected,
                    bb_gradient *gradient)
{
    bb_signal signal;
    bb_status status = bb_signal_at(state, point, NULL, &signal);
    if (status != BB_OK)
        return status;
    bb_pull pull = {0};
    bb_deviates over;
    double mean = 0, square = 0, wander = 0;
    bb_deviates_of_jitter(state, &signal, &over);
    for (int i = 0; i < over.count; i++) {
        bb_node node;
        const double weight = over.weight[i];
        bb_node_at(state, &signal, over.deviate[i], &node);
        mean += weight * node.number;
        square += weight * node.number * node.number;
        wander += weight * node.wander * node.wander;
        bb_pull_add(&signal, &node, weight, &pull);
    }
    if (gradient != NULL)
        bb_gradient_set(state, point, &signal, &pull, gradient);
    expected->mean = mean;
    expected->variance =
        state->noise.reading * state->noise.reading + wander + fmax(square - mean * mean, 0);
    expected->depth_sd =
        signal.air
            ? 0
            : BB_DEPTH_ERROR_M * fabs(signal.falloff_per_m * turn(pull.x, pull.r, signal.target));
    return BB_OK;
}
