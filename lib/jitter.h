/* Over which deviates of the sand's jitter to sum. */
#ifndef BB_JITTER_H
#define BB_JITTER_H

#include "model.h"

enum {
    BB_DEVIATES = 9, /* of the jitter in the fit */
    BB_FEW_MAX = 5,
};

typedef struct {
    int count;
    double deviate[BB_DEVIATES], weight[BB_DEVIATES]; /* weights sum to one */
} bb_deviates;

/* Where the jitter turns the sum little, a few deviates give the sum over all: Gauss's rules for those
 * deviates and weights. */
typedef struct {
    double turned; /* below it, the jitter as a share of the whole response */
    double moved;  /* below it, what one deviate moves the number by, in reading noise */
    int count;     /* deviates from the middle on, the outer ones standing on both sides */
    double deviate[BB_FEW_MAX], weight[BB_FEW_MAX];
} bb_few_nodes;

/* The first of the rules for the chance of a number that will do; NULL where none does, or where the
 * jitter may turn the sum past a knot of the curve. They stand for steps of BB_CHANCE_STEP, finer than
 * the fit's own, for there a bump misleads: each deviate for a whole step. */
#define BB_CHANCE_STEP 0.4
const bb_few_nodes *bb_few_nodes_of_chance(const bb_state *state, const bb_signal *signal);
void bb_few_deviates(const bb_few_nodes *few, bb_deviates *deviates);

/* The deviates over which the fit sums: one in air. */
void bb_deviates_of_jitter(const bb_state *state, const bb_signal *signal, bb_deviates *deviates);

/* Where the sum of target and sand turns over, in deviates of the jitter; far out where it never
 * does. There the number jumps across the scale. */
double bb_turnover(const bb_signal *signal);

/* The stretch of deviates that a node stands for. */
typedef struct {
    double middle, width, weight;
    double middle_by, width_by, weight_by; /* by the turnover, in deviates */
} bb_stretch;

/* The stretch of the node at a deviate; two where the turnover cuts it, so that sums over the nodes
 * go smoothly. Returns how many. */
int bb_stretches(double deviate, double step, double weight, double turnover, bb_stretch out[2]);

#endif
