/* Whether a plan's sweeps are worth more than as many spread evenly. */
#ifndef WORTH_H
#define WORTH_H

#include <stdbool.h>

/* So many full beaches of the inside family, each swept by the plan and evenly; prints the mean band
 * regret and the log score near the band of both. False where the program itself is at fault. */
bool worth_run(int beaches, unsigned long first_seed);

#endif
