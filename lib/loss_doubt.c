/* The loss as the error that all sweeps of a piece share moves its number: a share of one beach's
 * sweeps, not of the sweeps of all beaches that the fit allows. The error is taken to be the same at
 * every depth. */
#include "loss_doubt.h"

#include <math.h>

#include "cells.h"

#define REACH 3.5  /* standard deviations of the shared error */
#define LEVEL 0.95 /* of the losses lie below the high one */

enum { STEPS = 29 };

static double step_at(int i)
{
    return REACH * (2.0 * i / (STEPS - 1) - 1);
}

/* Adds the chance of a number within the bands at each value of the shared error. */
static void add_depth(const bb_machine *machine, const bb_outlook *outlook, const bb_bands *bands,
                      double loss[STEPS])
{
    for (int n = 0; n < outlook->count; n++) {
        const bb_outlook_node *node = &outlook->node[n];
        const double sd = sqrt(node->own + node->rest);
        for (int i = 0; i < STEPS; i++) {
            const double mean = node->number + node->common * step_at(i);
            for (int b = 0; b < bands->count; b++)
                loss[i] += node->weight * bb_band_chance(machine, bands->band[b].low,
                                                         bands->band[b].high, mean, sd);
        }
    }
}

/* The least loss that all but 1 - LEVEL of the weight does not exceed. */
static void summarise(const double loss[STEPS], double limit, bb_loss_doubt *doubt)
{
    double weight[STEPS], total = 0;
    for (int i = 0; i < STEPS; i++)
        total += weight[i] = exp(-0.5 * step_at(i) * step_at(i));
    *doubt = (bb_loss_doubt){.high = 1};
    for (int i = 0; i < STEPS; i++) {
        double up_to = 0;
        doubt->over += loss[i] > limit ? weight[i] / total : 0;
        for (int j = 0; j < STEPS; j++)
            up_to += loss[j] <= loss[i] ? weight[j] / total : 0;
        if (up_to >= LEVEL)
            doubt->high = fmin(doubt->high, loss[i]);
    }
}

bb_status bb_loss_doubt_of(const bb_predictor *predictor, const bb_reject_target *target,
                           const bb_bands *bands, double to_depth_m, double step_m, double limit,
                           bb_loss_doubt *doubt)
{
    const bb_machine *machine = &predictor->model->machine;
    double loss[STEPS] = {0};
    int heard = 0;
    bb_pieces pieces;
    bb_status status = bb_pieces_known(predictor, target->index, &pieces);
    for (int d = 0; d * step_m <= to_depth_m + 0.5 * step_m && status == BB_OK; d++) {
        bb_point point;
        bb_outlook outlook;
        status = bb_outlook_place(predictor, target->index, target->zone, d * step_m, NAN, &point);
        if (status == BB_OK)
            status = bb_outlook_at(predictor, &point, &pieces.at[0].subject, &outlook);
        if (status == BB_OK && !outlook.masked) {
            heard++;
            add_depth(machine, &outlook, bands, loss);
        }
    }
    for (int i = 0; i < STEPS && heard > 0; i++)
        loss[i] /= heard;
    summarise(loss, limit, doubt);
    return status;
}
