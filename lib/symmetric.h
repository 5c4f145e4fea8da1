/* Symmetric matrices, row by row, of which only the lower triangle is read: factor, solve, invert. */
#ifndef BB_SYMMETRIC_H
#define BB_SYMMETRIC_H

#include <stdbool.h>
#include <stddef.h>

/* The Cholesky factor in place of the lower triangle; false when the matrix is not positive
 * definite. */
bool bb_symmetric_factor(double *matrix, size_t count);

/* x such that matrix x = b, in place of b, from its factor. */
void bb_symmetric_solve(const double *factor, size_t count, double *b);

/* Both triangles of the inverse from the factor; room: count x count. */
void bb_symmetric_invert(const double *factor, size_t count, double *room, double *inverse);

/* matrix v, from the lower triangle. */
void bb_symmetric_times(const double *matrix, const double *v, size_t count, double *product);

/* In one order whatever the compiler, yet without waiting for one sum. */
double bb_product(const double *a, const double *b, size_t count);

#endif
