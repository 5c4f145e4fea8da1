/* The polarizability of every disc and every ring, tabulated. */
#ifndef BB_BODY_TABLE_H
#define BB_BODY_TABLE_H

#include <complex.h>

/* Lengths are in units of the outer radius a, frequency is s = omega mu0 sigma a^2.
 * With T the mean time constant (weighted by strength times time constant) over mu0 sigma a^2,
 *   ln(alpha / (j s first moment)) = mean(u) + sum_k c_k(shape) curve_k(u),  u = ln(s T),
 * where ln T and the c_k are Chebyshev sums over ln(wall) and ln(thickness), and the curves are
 * Chebyshev sums on equal pieces of u. */
enum { BB_TABLE_FEATURES = 40, BB_TABLE_TERMS = 64 };

typedef struct {
    double low, high; /* natural logarithms */
    int terms;
} bb_table_axis;

typedef struct {
    bb_table_axis wall, thickness, frequency; /* frequency: u, terms on each piece */
    int pieces;
    int features;               /* ln T, then c_k */
    const unsigned char *reach; /* [wall term][thickness term]: the first so many features move */
    const int *coefficient;     /* of those features, one after another, in BB_TABLE_UNIT */
    const int *curve;           /* [piece][mean, curve_k][re, im][term], in BB_TABLE_UNIT */
} bb_body_table;

#define BB_TABLE_UNIT 1e-8

extern const bb_body_table bb_disc_table, bb_ring_table;

/* The features of a shape: table->features of them, the rest 0. The wall (ignored for a disc) and
 * the thickness must lie on the table's axes. */
void bb_body_table_shape(const bb_body_table *table, double log_wall, double log_thickness,
                         double features[BB_TABLE_FEATURES]);

/* ln(alpha / (j s first moment)) and its derivative by ln s, for a shape of those features; s may be
 * any: below the table the first terms of the series in s, above it a constant less a term in
 * s^(-1/2). */
void bb_body_table_at(const bb_body_table *table, const double *features, double log_s,
                      double complex *log_alpha, double complex *slope);

#endif
