/* The parts of a choice of bands: its rows, and the choice without its report. */
#ifndef BB_REJECT_H
#define BB_REJECT_H

#include "brineband.h"

#define BB_REJECT_STEP_M 0.01   /* of the depths that a target's numbers are averaged over */
#define BB_REJECT_DEEPEST_M 0.5 /* that is asked about */

/* The sand of the zones that are to be quiet and the kit's targets in them, with the catalogue's small gold
 * that the kit lacks where asked for, into the room made for them. BB_RANGE, BB_MEMORY. */
bb_status bb_reject_rows(const bb_predictor *predictor, const bb_reject_options *options,
                         bool catalogue, bb_reject *reject);

/* Silence of the worst zone that bands within the loss allowed reach, whether or not the losses were
 * learned here: a setting that reaches it was found. */
bb_status bb_reject_safe_silence(const bb_predictor *predictor, const bb_reject_options *options,
                                 double *silence);

#endif
