/* A conducting, perhaps permeable sphere in a uniform field. */
#ifndef BB_SPHERE_H
#define BB_SPHERE_H

#include "brineband.h"

#include <complex.h>

/* Polarizability alpha (m^3) and its derivative by ln omega, for a sphere of positive radius and
 * conductivity and any positive permeability; relative accuracy 1e-13 for omega mu0 mu sigma a^2
 * from 0 up. */
void bb_sphere_polarizability(const bb_body *sphere, double omega_rad_per_s, double complex *alpha,
                              double complex *slope);

/* The n-th mode (1 first) of a non-magnetic sphere. */
bb_mode bb_sphere_mode(const bb_body *sphere, size_t n);

#endif
