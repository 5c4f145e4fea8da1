/* One misleading visit fitted and proved, and the counts over many. */
#ifndef TRIAL_H
#define TRIAL_H

#include "brineband.h"
#include "proof.h"

typedef struct {
    bb_status status; /* of the reading and the fit */
    bb_error error;
    proof found;
    double seconds; /* of the fit */
} trial;

trial trial_make(size_t family, unsigned long seed);

enum { TALLY_STATUSES = BB_MEMORY + 1 };

typedef struct {
    unsigned long visits, ended[TALLY_STATUSES], failed[PROOF_COUNT];
    double slowest, seconds; /* of the fits: the longest, and all */
} tally;

void tally_add(tally *to, const trial *made);
/* A line a family; the number of failures of all. */
unsigned long tallies_print(const tally *tallies);

#endif
