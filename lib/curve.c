/* The machine's monotone curve from response angle to number, with its derivatives.
 *
 * Cubic Hermite between fixed knots. Knot slopes are weighted harmonic means of the neighbouring
 * secants (Fritsch and Butland 1984, SIAM J. Sci. Stat. Comput. 5:300), the end slopes the end
 * secants: monotone for any parameters and smooth in them, as a gradient needs. */
#include "curve.h"

#include <math.h>
#include <string.h>

const double bb_curve_angle_deg[BB_CURVE_KNOTS] = {-90, -40, 0, 10, 25, 45, 65, 80, 90};

enum { SPANS = BB_CURVE_SPANS, PARAMETERS = BB_CURVE_PARAMETERS };

static double span_width(int span)
{
    return bb_curve_angle_deg[span + 1] - bb_curve_angle_deg[span];
}

/* Knot values: the range shared out by softmax(log slope + log width). */
static void set_values(bb_curve *curve, const double *parameters)
{
    const double *log_slope = parameters + 2;
    double share[SPANS], total = 0, top = log_slope[0];
    for (int i = 1; i < SPANS; i++)
        top = fmax(top, log_slope[i]);
    for (int i = 0; i < SPANS; i++)
        total += share[i] = span_width(i) * exp(log_slope[i] - top);
    for (int i = 0; i < SPANS; i++)
        share[i] /= total;

    const double low = parameters[0], range = parameters[1] - parameters[0];
    double below = 0; /* share of the range below knot k */
    for (int k = 0; k <= SPANS; k++) {
        double *by = curve->value_by[k];
        curve->value[k] = k == SPANS ? parameters[1] : low + range * below;
        by[0] = 1 - below;
        by[1] = below;
        for (int i = 0; i < SPANS; i++)
            by[2 + i] = range * share[i] * ((i < k ? 1 : 0) - below);
        if (k < SPANS)
            below = k == SPANS - 1 ? 1 : below + share[k];
    }
}

static void set_slopes(bb_curve *curve)
{
    double secant[SPANS], secant_by[SPANS][PARAMETERS];
    for (int i = 0; i < SPANS; i++) {
        secant[i] = (curve->value[i + 1] - curve->value[i]) / span_width(i);
        for (int p = 0; p < PARAMETERS; p++)
            secant_by[i][p] = (curve->value_by[i + 1][p] - curve->value_by[i][p]) / span_width(i);
    }
    for (int end = 0; end < 2; end++) {
        int knot = end ? SPANS : 0, span = end ? SPANS - 1 : 0;
        curve->slope[knot] = secant[span];
        memcpy(curve->slope_by[knot], secant_by[span], sizeof secant_by[span]);
    }
    for (int k = 1; k < SPANS; k++) {
        double before = span_width(k - 1), after = span_width(k);
        double weight = 3 * (before + after);
        double w1 = (before + 2 * after) / weight, w2 = (2 * before + after) / weight;
        double s1 = secant[k - 1], s2 = secant[k], mean = w1 * s2 + w2 * s1;
        bool flat = !(mean > 0);
        curve->slope[k] = flat ? 0 : s1 * s2 / mean;
        for (int p = 0; p < PARAMETERS; p++)
            curve->slope_by[k][p] = flat ? 0
                                         : (w1 * s2 * s2 * secant_by[k - 1][p] +
                                            w2 * s1 * s1 * secant_by[k][p]) / (mean * mean);
    }
}

void bb_curve_set(bb_curve *curve, const double parameters[BB_CURVE_PARAMETERS])
{
    set_values(curve, parameters);
    set_slopes(curve);
}

/* The span of an angle and how far along it lies, 0 to 1. */
static int span_of(double angle_deg, double *along)
{
    int i = SPANS - 1;
    while (i > 0 && !(angle_deg > bb_curve_angle_deg[i]))
        i--;
    *along = fmin(fmax((angle_deg - bb_curve_angle_deg[i]) / span_width(i), 0), 1);
    return i;
}

double bb_curve_number(const bb_curve *curve, double angle_deg, double *slope,
                       bb_curve_weights *weights)
{
    double t;
    const int i = span_of(angle_deg, &t);
    const double width = span_width(i), u = 1 - t;
    const bb_curve_weights at = {.span = i,
                                 .value = {(1 + 2 * t) * u * u, t * t * (3 - 2 * t)},
                                 .slope = {width * t * u * u, -width * t * t * u}};
    if (slope != NULL)
        *slope = 6 * t * u * (curve->value[i + 1] - curve->value[i]) / width +
                 u * (1 - 3 * t) * curve->slope[i] + t * (3 * t - 2) * curve->slope[i + 1];
    if (weights != NULL)
        *weights = at;
    return at.value[0] * curve->value[i] + at.value[1] * curve->value[i + 1] +
           at.slope[0] * curve->slope[i] + at.slope[1] * curve->slope[i + 1];
}

double bb_curve_bend(const bb_curve *curve, double angle_deg)
{
    double t;
    const int i = span_of(angle_deg, &t);
    const double width = span_width(i);
    return (6 * (1 - 2 * t) * (curve->value[i + 1] - curve->value[i]) / width +
            (6 * t - 4) * curve->slope[i] + (6 * t - 2) * curve->slope[i + 1]) / width;
}

bool bb_curve_is_one_span(double from_deg, double to_deg)
{
    double t;
    return from_deg >= bb_curve_angle_deg[0] &&
           to_deg <= bb_curve_angle_deg[span_of(from_deg, &t) + 1];
}

/* The slope is a parabola whose middle is 1.5 secants less a quarter of the slopes at the knots. */
double bb_curve_steepest(const bb_curve *curve, double angle_deg)
{
    double t;
    const int i = span_of(angle_deg, &t);
    const double secant = (curve->value[i + 1] - curve->value[i]) / span_width(i);
    return fmax(1.5 * secant, fmax(curve->slope[i], curve->slope[i + 1]));
}
