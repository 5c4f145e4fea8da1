/* Reading the tables of discs and rings. */
#include "body_table.h"

#include <math.h>
#include <string.h>

static void chebyshev(const bb_table_axis *axis, double value, double *terms)
{
    double x =
        axis->terms > 1 ? (2.0 * value - axis->low - axis->high) / (axis->high - axis->low) : 0.0;
    terms[0] = 1.0;
    terms[1] = x;
    for (int n = 2; n < axis->terms; n++)
        terms[n] = 2.0 * x * terms[n - 1] - terms[n - 2];
}

void bb_body_table_shape(const bb_body_table *table, double log_wall, double log_thickness,
                         double features[BB_TABLE_FEATURES])
{
    double wall[BB_TABLE_TERMS], thickness[BB_TABLE_TERMS];
    chebyshev(&table->wall, log_wall, wall);
    chebyshev(&table->thickness, log_thickness, thickness);
    memset(features, 0, BB_TABLE_FEATURES * sizeof *features);
    const unsigned char *reach = table->reach;
    const int *coefficient = table->coefficient;
    for (int i = 0; i < table->wall.terms; i++)
        for (int j = 0; j < table->thickness.terms; j++) {
            double product = wall[i] * thickness[j];
            for (int f = 0; f < *reach; f++)
                features[f] += product * coefficient[f];
            coefficient += *reach++;
        }
    for (int f = 0; f < table->features; f++)
        features[f] *= BB_TABLE_UNIT;
}

/* The curves at u on the table's axis, weighted by the features, with the derivative by u. */
static void curve_at(const bb_body_table *table, const double *features, double u,
                     double complex *value, double complex *slope)
{
    int terms = table->frequency.terms;
    double width = (table->frequency.high - table->frequency.low) / table->pieces;
    int piece = (int)fmin(fmax((u - table->frequency.low) / width, 0.0), table->pieces - 1);
    bb_table_axis axis = {.low = table->frequency.low + width * piece, .terms = terms};
    axis.high = axis.low + width;
    double basis[BB_TABLE_TERMS], coefficient[2][BB_TABLE_TERMS] = {0}, sums[4] = {0};
    chebyshev(&axis, u, basis);
    double second[BB_TABLE_TERMS], derivative[BB_TABLE_TERMS] = {0}; /* of the second kind */
    double x = (2.0 * u - axis.low - axis.high) / width;
    second[0] = 1.0;
    second[1] = 2.0 * x;
    for (int n = 1; n < terms; n++) {
        if (n > 1)
            second[n] = 2.0 * x * second[n - 1] - second[n - 2];
        derivative[n] = n * second[n - 1];
    }
    const int *curve = table->curve + (long)piece * table->features * 2 * terms;
    for (int f = 0; f < table->features; f++, curve += 2L * terms) {
        const double weight = f == 0 ? 1.0 : features[f];
        for (int n = 0; n < terms; n++) {
            coefficient[0][n] += weight * curve[n];
            coefficient[1][n] += weight * curve[terms + n];
        }
    }
    for (int n = 0; n < terms; n++) {
        sums[0] += coefficient[0][n] * basis[n];
        sums[1] += coefficient[1][n] * basis[n];
        sums[2] += coefficient[0][n] * derivative[n];
        sums[3] += coefficient[1][n] * derivative[n];
    }
    *value = BB_TABLE_UNIT * (sums[0] + I * sums[1]);
    *slope = BB_TABLE_UNIT * 2.0 / width * (sums[2] + I * sums[3]);
}

void bb_body_table_at(const bb_body_table *table, const double *features, double log_s,
                      double complex *log_alpha, double complex *slope)
{
    double u = log_s + features[0], low = table->frequency.low, high = table->frequency.high;
    curve_at(table, features, fmin(fmax(u, low), high), log_alpha, slope);
    if (u < low) { /* its real part falls as s^2, its imaginary part as s */
        double fall = exp(u - low), re = creal(*log_alpha) * fall * fall,
               im = cimag(*log_alpha) * fall;
        *log_alpha = re + I * im;
        *slope = 2.0 * re + I * im;
    } else if (u > high) { /* alpha = a + b s^(-1/2), through value and slope at the end */
        double complex tail = -2.0 * (1.0 + *slope); /* b s^(-1/2) over alpha at the end */
        double fall = exp(-0.5 * (u - high));
        double complex relative = 1.0 - tail + tail * fall;
        *log_alpha += clog(relative) - (u - high);
        *slope = -0.5 * tail * fall / relative - 1.0;
    }
}
