/* What one family and kind of visit added up to, how it is told, and the limits it must hold. */
#ifndef TALLY_H
#define TALLY_H

#include "choice.h"
#include "examine.h"
#include "recovery.h"

enum { STATUSES = BB_MEMORY + 1 };

typedef struct {
    double visits, fitted, wins;
    double with_less; /* fitted without sweeps that kept them from settling */
    int failures[STATUSES];
    double milliseconds, slowest;
    scores score[PLACES];
    double *ratio[PLACES]; /* RMSE over the noise floor, one a visit */
    size_t ratios[PLACES];
    recoveries recovery;
    choice_tally choice;
} tally;

void print_fits(const simulation *of, const tally *sums);
void print_predictions(const tally *sums);
void print_recovery(const recoveries *sums);

/* The limits of `make check`, few visits and so wider than the aims of reference/accuracy.md. Adds
 * to both counts and tells what failed. */
void check_limits(const simulation *of, const tally *sums, int *passed, int *failed);

#endif
