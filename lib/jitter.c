/* Over which deviates of the sand's jitter to sum: equal steps, whose rule is exact to rounding for
 * smooth functions (Trefethen and Weideman 2014, SIAM Review 56:385), fewer where these will do. */
#include "jitter.h"

#include <math.h>

#include "constants.h"

/* exp(-xi^2/2) at xi = -3.2, -2.4, ..., 3.2, scaled to sum to one. */
static const bb_deviates all = {
    BB_DEVIATES,
    {-3.2, -2.4, -1.6, -0.8, 0, 0.8, 1.6, 2.4, 3.2},
    {1.907691333360479e-03, 1.791957668843843e-02, 8.875624436927046e-02, 2.318043704135041e-01,
     3.192242343908530e-01, 2.318043704135041e-01, 8.875624436927046e-02, 1.791957668843843e-02,
     1.907691333360479e-03}};

/* Below the limits an expectation errs by less than 1e-8 of the reading noise. */
static const bb_few_nodes few_of_all[] = {
    {0.010, 0.2, 2, {0, 1.7182185521971902}, {0.66241471083066772, 0.16879264458466614}},
    {0.030, 1.0, 3,
     {0, 1.2989161356950352, 2.6837232598889633},
     {0.51304360866259557, 0.22760747478671048, 0.015870720881991748}},
};

/* Likewise a log chance, by less than 1e-8. */
static const bb_few_nodes few_of_chance[] = {
    {0.002, 0.02, 2, {0, 1.7232387006966705}, {0.66394094517254421, 0.16802952741372789}},
    {0.015, 0.10, 3,
     {0, 1.3166571718739176, 2.7358650767949901},
     {0.51940229336484841, 0.22597294866143787, 0.014325904656137922}},
    {0.03, 0.22, 4,
     {0, 1.0732440548120763, 2.1685548686837048, 3.2700955799058566},
     {0.4266220617379117, 0.24251208798338486, 0.042192771696483093, 0.0019841094511761997}},
    {0.06, 0.37, 5,
     {0, 0.90297568265228676, 1.8074941518590558, 2.6997385808569068, 3.4930160071025074},
     {0.36005051687419298, 0.23992764564625901, 0.070378944972629406, 0.0090684501822333145,
      0.00059970076178178231}},
};

#define CHANCE_REACH 3.6 /* deviates, of the 19 steps that few do for */

static const bb_deviates middle = {1, {0}, {1}};

/* reach: deviates within which the jitter must not turn the sum past a knot. */
static const bb_few_nodes *few_nodes_for(const bb_state *state, const bb_signal *signal,
                                         const bb_few_nodes *rules, int count, double reach)
{
    const double complex total = signal->target + signal->residual * signal->ground;
    const double power = creal(total) * creal(total) + cimag(total) * cimag(total);
    const double turned = signal->jitter / sqrt(power);
    if (signal->sand || signal->air || !(turned < rules[count - 1].turned))
        return NULL;
    const double angle = bb_folded_angle_deg(creal(total), cimag(total));
    const double turn_deg = asin(reach * turned) * BB_DEG;
    if (!bb_curve_is_one_span(angle - turn_deg, angle + turn_deg))
        return NULL;
    const double moved = turned * BB_DEG * bb_curve_steepest(&state->curve, angle);
    for (int i = 0; i < count; i++)
        if (turned < rules[i].turned && moved < rules[i].moved * state->noise.reading)
            return &rules[i];
    return NULL;
}

const bb_few_nodes *bb_few_nodes_of_chance(const bb_state *state, const bb_signal *signal)
{
    return few_nodes_for(state, signal, few_of_chance,
                            sizeof few_of_chance / sizeof *few_of_chance, CHANCE_REACH);
}

void bb_few_deviates(const bb_few_nodes *few, bb_deviates *deviates)
{
    deviates->count = 2 * few->count - 1;
    for (int i = 0; i < deviates->count; i++) {
        const int from_middle = (i + 1) / 2;
        deviates->deviate[i] = (i % 2 ? -1 : 1) * few->deviate[from_middle];
        deviates->weight[i] = few->weight[from_middle];
    }
}

void bb_deviates_of_jitter(const bb_state *state, const bb_signal *signal, bb_deviates *deviates)
{
    enum { RULES = sizeof few_of_all / sizeof *few_of_all };
    const bb_few_nodes *few =
        few_nodes_for(state, signal, few_of_all, RULES, all.deviate[BB_DEVIATES - 1]);
    if (few != NULL)
        bb_few_deviates(few, deviates);
    else
        *deviates = signal->air ? middle : all;
}

double bb_turnover(const bb_signal *signal)
{
    const double along = cimag(signal->ground);
    if (signal->sand || signal->air || !(along > 0))
        return -INFINITY;
    return -(cimag(signal->target) / along + signal->residual) / signal->jitter;
}

int bb_stretches(double deviate, double step, double weight, double turnover, bb_stretch out[2])
{
    const double low = deviate - 0.5 * step, high = deviate + 0.5 * step, density = weight / step;
    if (!(turnover > low && turnover < high)) {
        out[0] = (bb_stretch){.middle = deviate, .width = step, .weight = weight};
        return 1;
    }
    out[0] = (bb_stretch){0.5 * (low + turnover), turnover - low, density * (turnover - low),
                          0.5, 1, density};
    out[1] = (bb_stretch){0.5 * (turnover + high), high - turnover, density * (high - turnover),
                          0.5, -1, -density};
    return 2;
}
