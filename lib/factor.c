/* Cholesky's factor that keeps zeros (Golub and Van Loan 2013, Matrix Computations, 4.2 and 4.3; the
 * order of elimination as in George and Liu 1981). */
#include "factor.h"

#include <math.h>
#include <string.h>

/* Takes the square of row k from the rows above it. */
static void take_square(double *matrix, size_t count, size_t k)
{
    const double *from = matrix + k * count;
    for (size_t i = 0; i < k; i++) {
        double *row = matrix + i * count;
        const double along = from[i];
        for (size_t j = 0; along != 0 && j <= i; j++)
            row[j] -= along * from[j];
    }
}

bool bb_factor(double *matrix, size_t count)
{
    for (size_t k = count; k-- > 0;) {
        double *row = matrix + k * count;
        if (!(row[k] > 0))
            return false;
        const double root = row[k] = sqrt(row[k]);
        for (size_t j = 0; j < k; j++)
            row[j] /= root;
        take_square(matrix, count, k);
    }
    return true;
}

/* L'y = b: b becomes y. */
static void solve_upper(const double *factor, size_t count, double *b)
{
    for (size_t k = count; k-- > 0;) {
        const double *row = factor + k * count;
        if (b[k] == 0)
            continue;
        b[k] /= row[k];
        for (size_t j = 0; j < k; j++)
            b[j] -= row[j] * b[k];
    }
}

void bb_factor_solve(const double *factor, size_t count, double *b)
{
    solve_upper(factor, count, b);
    for (size_t k = 0; k < count; k++) {
        const double *row = factor + k * count;
        for (size_t j = 0; j < k; j++)
            b[k] -= row[j] * b[j];
        b[k] /= row[k];
    }
}

double bb_factor_square(const double *factor, size_t count, double *b)
{
    double sum = 0;
    solve_upper(factor, count, b);
    for (size_t i = 0; i < count; i++)
        sum += b[i] * b[i];
    return sum;
}

void bb_factor_inverse(const double *factor, size_t count, double *inverse)
{
    memset(inverse, 0, count * count * sizeof *inverse);
    for (size_t i = 0; i < count; i++) {
        inverse[i * count + i] = 1;
        bb_factor_solve(factor, count, inverse + i * count);
    }
}
