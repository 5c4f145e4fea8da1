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

static const bb_deviates middle = {1, {0}, {1}};

const bb_few_nodes *bb_few_nodes_for(const bb_state *state, const bb_signal *signal,
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
        bb_few_nodes_for(state, signal, few_of_all, RULES, all.deviate[BB_DEVIATES - 1]);
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
