/* Lack of fit against pure error: does a model miss more than replicates differ among themselves? */
#ifndef BB_LACK_OF_FIT_H
#define BB_LACK_OF_FIT_H

#include <stddef.h>

/* What was read at one place, and what the model expects there. */
typedef struct {
    double count;    /* of readings, at least 1 */
    double mean;     /* of them */
    double squares;  /* sum of their squared differences from that mean */
    double expected; /* by the model */
    double variance; /* of one reading among its replicates, above 0 */
    double shared;   /* variance that all readings of the place have in common, 0 and up */
} bb_replicates;

typedef struct {
    size_t places;
    double pure, lack; /* sums of squares, each by its variance */
    double pure_df;
    double squares;    /* the pure error without variances */
} bb_fit_error;

/* The part of a place in the sum of squares for lack of fit. */
double bb_place_lack(const bb_replicates *place);

/* Add one place to sums that start at nought. */
void bb_fit_error_add(bb_fit_error *sums, const bb_replicates *place);

typedef struct {
    double lack_df;
    double pure_sd;   /* NAN without replicates */
    double f, p;      /* NAN without replicates, without a spread among them, or below one degree */
} bb_lack_of_fit;

/* The test: F on (places - parameters, readings - places) degrees of freedom and the chance of one as
 * large under a model that is right. parameters: how many the readings taught, not necessarily
 * whole. Source: NIST/SEMATECH e-Handbook of Statistical Methods 4.4.4.6. */
bb_lack_of_fit bb_lack_of_fit_test(const bb_fit_error *sums, double parameters);

#endif
