/* The number of a bare-sand sweep that sounds: what the physics says and what was read. */
#ifndef BB_SAND_NUMBER_H
#define BB_SAND_NUMBER_H

#include "brineband.h"

/* The chance of each number of the scale when the sand's angle is centre plus spread times a
 * Student t of so many degrees of freedom, and the number at an angle is normal about number(angle)
 * with this sd. p: room for every number; set to sum to one. */
void bb_sand_model(const bb_machine *machine, double centre_deg, double spread_deg, double freedom,
                   double (*number)(double angle_deg, const void *context), const void *context,
                   double sd, double *p);

/* Five parts the model (NULL: none, when the machine's curve is not known) and one part a kernel for
 * each number read. A single reading far from all others is an outlier: it has no kernel, but such
 * may come again, anywhere on the scale. BB_TOO_LITTLE with neither model nor reading. */
bb_status bb_sand_mix(const bb_bare *bare, const bb_machine *machine, const double *model,
                      double *p);

/* Readings that this mixture is worth. */
double bb_sand_worth(const bb_bare *bare, bool modelled);

/* The share of bare sweeps that sound at all: (heard + 1/2) / (swept + 1), and 1 where a silent
 * sweep was never recorded. */
double bb_sounding_share(const bb_bare *bare);

#endif
