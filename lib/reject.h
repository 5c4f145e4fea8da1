/* The choice of bands without its report. */
#ifndef BB_REJECT_H
#define BB_REJECT_H

#include "brineband.h"

/* Silence of the worst zone that bands within the loss allowed reach, whether or not the losses were
 * learned here: a setting that reaches it was found. */
bb_status bb_reject_safe_silence(const bb_predictor *predictor, const bb_reject_options *options,
                                 double *silence);

#endif
