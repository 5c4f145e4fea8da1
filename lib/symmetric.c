/* Symmetric matrices, by products of rows alone: they are too small for a library of blocks. */
#include "symmetric.h"

#include <math.h>

double bb_product(const double *a, const double *b, size_t count)
{
    double sum[4] = {0};
    size_t i = 0;
    for (; i + 4 <= count; i += 4)
        for (size_t k = 0; k < 4; k++)
            sum[k] += a[i + k] * b[i + k];
    for (; i < count; i++)
        sum[0] += a[i] * b[i];
    return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

bool bb_symmetric_factor(double *matrix, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        double *row = matrix + i * count;
        for (size_t j = 0; j < i; j++) {
            const double *above = matrix + j * count;
            row[j] = (row[j] - bb_product(row, above, j)) / above[j];
        }
        const double square = row[i] - bb_product(row, row, i);
        if (!(square > 0))
            return false;
        row[i] = sqrt(square);
    }
    return true;
}

void bb_symmetric_solve(const double *factor, size_t count, double *b)
{
    for (size_t i = 0; i < count; i++)
        b[i] = (b[i] - bb_product(factor + i * count, b, i)) / factor[i * count + i];
    for (size_t i = count; i-- > 0;) {
        const double *row = factor + i * count;
        b[i] /= row[i];
        for (size_t j = 0; j < i; j++)
            b[j] -= row[j] * b[i];
    }
}

void bb_symmetric_invert(const double *factor, size_t count, double *room, double *inverse)
{
    /* Row j of the room: column j of the factor's inverse, from the diagonal on. */
    for (size_t j = 0; j < count; j++) {
        double *column = room + j * count;
        column[j] = 1 / factor[j * count + j];
        for (size_t i = j + 1; i < count; i++) {
            const double *row = factor + i * count;
            column[i] = -bb_product(row + j, column + j, i - j) / row[i];
        }
    }
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j <= i; j++)
            inverse[i * count + j] = inverse[j * count + i] =
                bb_product(room + i * count + i, room + j * count + i, count - i);
}

void bb_symmetric_times(const double *matrix, const double *v, size_t count, double *product)
{
    for (size_t i = 0; i < count; i++) {
        const double *row = matrix + i * count;
        product[i] = bb_product(row, v, i + 1);
        for (size_t j = 0; j < i; j++)
            product[j] += row[j] * v[i];
    }
}
