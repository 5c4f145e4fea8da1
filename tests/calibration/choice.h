/* How well a choice of reject bands does against the truth. */
#ifndef CHOICE_H
#define CHOICE_H

#include "simulate/simulate.h"

enum { VERDICTS = BB_VERDICT_UNPROVED + 1 };

/* What one rule did over many visits. */
typedef struct {
    double visits;
    double silence;       /* sum of the worst zone's true silence */
    double quiet;         /* visits whose worst zone is silent in 0.90 of sweeps or more */
    double costly;        /* visits in which a kept target truly loses more than 0.05 */
    double avoidable;     /* of these, visits in which a safe choice exists for who knows the truth */
    double numbers;       /* rejected, in visits where the truth-known choice exists too */
    double known_numbers; /* by that choice, in the same visits */
    double compared;
    double within_one; /* of them, visits within one number of that choice */
} rule_tally;

typedef struct {
    double verdicts[VERDICTS];
    double hopeless;  /* visits in which no choice is safe even with the truth known */
    double needless;  /* visits whose sand is quiet without a band */
    rule_tally rule;  /* the program's, where its verdict is ok */
    rule_tally loose; /* the program's, where its verdict is unproved */
    rule_tally thumb; /* lowest to highest bare reading, one wider, in every visit */
} choice_tally;

bool choice_add(choice_tally *tally, const truth *t, const bb_visit *visit,
                const bb_predictor *predictor, gsl_rng *random, bool verbose);
/* How silent the noisiest zone truly is, and what the kept piece hit hardest truly loses. */
bool choice_truth(const truth *t, const bb_reject *reject, gsl_rng *random, double *silence,
                  double *loss);
/* What a choice truly lacks: silence below 0.95 in the worst zone, and loss above 0.05 of the worst
 * kept target. */
bool choice_regret(const truth *t, const bb_reject *reject, gsl_rng *random, double *regret);
void choice_print(const choice_tally *tally);

#endif
