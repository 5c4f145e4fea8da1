/* Learning a visit's profile, with patience shown on a terminal. */
#ifndef LEARN_H
#define LEARN_H

#include "brineband.h"

/* *left_out: flags of the visit's cells that had to be left out; the caller frees them, whatever the
 * outcome. */
bb_status learn(const bb_visit *visit, const bb_profile *prior, bool **left_out,
                bb_profile **profile, bb_error *error);

#endif
