/* Nonlinear least squares on sums that bend: Gauss and Newton's curvature, with a secant estimate of
 * what it leaves out (Dennis, Gay and Welsch 1981, ACM Trans. Math. Softw. 7:348), damped as
 * Levenberg and Marquardt do. Fast, and no judge of its own end: bb_least_squares_solve is. */
#ifndef BB_DESCENT_H
#define BB_DESCENT_H

#include "brineband.h"

typedef struct {
    size_t count; /* of parameters, in units in which a step of one is large */
    /* Half the sum of squares at x; its gradient J'r; J'J, count x count, the lower triangle. Any
     * status but BB_OK means that x cannot be. */
    bb_status (*evaluate)(const double *x, double *half_sum, double *gradient, double *curvature,
                          void *context);
    void *context;
    int max_iterations;
    double tolerance; /* stop when the half sum has less than this to lose */
} bb_descent;

/* x: start, replaced by the end. BB_NOT_CONVERGED, BB_MEMORY, or what evaluate said of the start. */
bb_status bb_descend(const bb_descent *descent, double *x, double *half_sum, int *iterations);

#endif
