/* Whether fresh readings are those the profile expects. */
#ifndef BB_HOLDS_H
#define BB_HOLDS_H

#include "brineband.h"

/* Set the check's readings, p value and what changed, from the sweeps with nothing rejected. */
bb_status bb_holds_test(const bb_predictor *predictor, const bb_visit *fresh, bb_check *check);

#endif
