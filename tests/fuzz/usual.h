/* The beach and the kit beside a file that is fuzzed. */
#ifndef USUAL_H
#define USUAL_H

#include "brineband.h"

/* Two zones, a scale of -10 to 90; the caller frees the visit. */
bb_visit usual_beach(void);

/* Three targets more. */
void usual_kit(bb_visit *visit);

/* What a few sweeps of both teach; the caller frees it. */
bb_profile *usual_profile(void);

#endif
