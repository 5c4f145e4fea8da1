/* What a kept piece may lose for all that the doubt of the fit allows. */
#ifndef BB_LOSS_DOUBT_H
#define BB_LOSS_DOUBT_H

#include "outlook.h"

typedef struct {
    double high; /* 19 of 20 losses lie below it */
    double over; /* chance of a loss above the limit */
} bb_loss_doubt;

/* Of a piece of the kit in a zone under bands, over the depths to to_depth_m, every step_m, at which
 * it can be heard. */
bb_status bb_loss_doubt_of(const bb_predictor *predictor, const bb_reject_target *target,
                           const bb_bands *bands, double to_depth_m, double step_m, double limit,
                           bb_loss_doubt *doubt);

#endif
