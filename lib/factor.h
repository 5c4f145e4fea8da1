/* Cholesky's factor from the last row up, A = L'L: what is zero in a row of A stays zero in L, so
 * that targets, which meet only in the parameters before them, cost no more together than one by
 * one. Matrices are count x count; of symmetric ones the lower triangle is read. */
#ifndef BB_FACTOR_H
#define BB_FACTOR_H

#include <stdbool.h>
#include <stddef.h>

/* The lower triangle becomes L's; false, and the matrix spoilt, when it is not positive definite. */
bool bb_factor(double *matrix, size_t count);

/* L'Lx = b: b becomes x. */
void bb_factor_solve(const double *factor, size_t count, double *b);

/* b' times the inverse of A times b. b is spoilt. */
double bb_factor_square(const double *factor, size_t count, double *b);

/* The inverse of A, both triangles. */
void bb_factor_inverse(const double *factor, size_t count, double *inverse);

#endif
