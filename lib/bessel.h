/* Bessel functions of many orders at once. */
#ifndef BB_BESSEL_H
#define BB_BESSEL_H

#include <stddef.h>

/* J_2, J_4, ..., by recurrence downward, normalised by J_0 + 2 sum J_2n = 1. */
void bb_bessel_even(double k, size_t count, double *value);

/* J_2, J_4, ... or Y_2, Y_4, ... from those of order 0 and 1, upward: for orders below k. */
void bb_bessel_even_upward(double k, double order0, double order1, size_t count, double *value);

/* Spherical j_0 ... j_{count-1}, by recurrence downward. */
void bb_bessel_spherical(double x, size_t count, double *value);

/* Spherical functions of orders 0 ... count - 1 below x from the first two, upward. */
void bb_bessel_spherical_upward(double x, double order0, double order1, size_t count,
                                double *value);

/* up[n] = I_{n+3/2} / I_{n+1/2}, down[n] = K_{n-1/2} / K_{n+1/2} and both[n] = I_{n+1/2} K_{n+1/2}:
 * finite where the functions themselves would overflow. */
void bb_bessel_modified(double x, size_t count, double *up, double *down, double *both);

#endif
