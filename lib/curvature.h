/* What all sweeps say together of the parameters, as the noise terms decide it: the curvature of the
 * sum of squares, whose determinant tells what the fitted parameters took from the residuals. */
#ifndef BB_CURVATURE_H
#define BB_CURVATURE_H

#include "cells.h"
#include "prior.h"

typedef struct {
    size_t count;    /* parameters */
    double *prior;   /* count x count, what the prior says */
    double *matrix;  /* count x count, lower triangle: the curvature, then its factor */
    double *variance;      /* one a place, of one reading */
    double (*half_by)[3];  /* half its derivatives by the noise terms of the place */
    double *line;          /* count: room */
} bb_curvature;

/* For the places of cells. BB_MEMORY. */
bb_status bb_curvature_new(const bb_prior *prior, const bb_cells *cells, bb_curvature *curvature);
void bb_curvature_free(bb_curvature *curvature);

/* Half the log of the determinant with the variances that are set, NAN when it is not positive. */
double bb_curvature_half_log(bb_curvature *curvature, const bb_cells *cells);

/* After bb_curvature_half_log: the variance that its inverse gives a number with this gradient. */
double bb_curvature_variance(bb_curvature *curvature, const bb_gradient *gradient);

#endif
