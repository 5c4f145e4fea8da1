/* The probability of each class given what was read, with its range over draws of the fit. */
#ifndef BB_POSTERIOR_H
#define BB_POSTERIOR_H

#include "judge.h"
#include "repeats.h"

/* What was read of one target, and how likely what was heard beside it is. */
typedef struct {
    bb_repeats repeats;
    double if_ferrous, if_not;
} bb_question;

typedef struct {
    size_t classes;
    double *probability; /* of each class */
    double *drawn;       /* the same in each draw, classes x BB_DRAWS */
    double weight[BB_DRAWS]; /* how well each draw explains what was read; they sum to one */
} bb_posterior;

bb_status bb_posterior_new(const bb_judge *judge, const bb_question *question,
                           bb_posterior *posterior);
void bb_posterior_free(bb_posterior *posterior);

/* Of all the classes that are marked, together. */
bb_odds bb_posterior_odds(const bb_posterior *posterior, const bool *marked);

/* The chance of what was read, over all classes, and the share in it of those that are marked: their
 * probability, without a range. */
bb_status bb_question_chance(const bb_judge *judge, const bb_question *question,
                             const bool *marked, double *chance, double *share);

#endif
