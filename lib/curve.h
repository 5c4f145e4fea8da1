/* The machine's curve: response angle (degrees) to number, monotone by construction. */
#ifndef BB_CURVE_H
#define BB_CURVE_H

#include <stdbool.h>

enum { BB_CURVE_KNOTS = 9, BB_CURVE_SPANS = 8, BB_CURVE_PARAMETERS = 10 };

extern const double bb_curve_angle_deg[BB_CURVE_KNOTS];

/* A curve set out for evaluation. Parameters: number at -90 degrees, number at +90 degrees, then
 * the log slope of each span, whose exponentials times the span's width share out the range. */
typedef struct {
    double value[BB_CURVE_KNOTS];                       /* numbers */
    double slope[BB_CURVE_KNOTS];                       /* numbers per degree */
    double value_by[BB_CURVE_KNOTS][BB_CURVE_PARAMETERS]; /* derivatives by the parameters */
    double slope_by[BB_CURVE_KNOTS][BB_CURVE_PARAMETERS];
} bb_curve;

void bb_curve_set(bb_curve *curve, const double parameters[BB_CURVE_PARAMETERS]);

/* The part of each knot in the number at one angle: number = sum of value weights times knot
 * values and slope weights times knot slopes, over the two knots of one span. */
typedef struct {
    int span;
    double value[2], slope[2];
} bb_curve_weights;

/* The number at an angle of -90 to 90 degrees; *slope (numbers per degree), *weights may be NULL. */
double bb_curve_number(const bb_curve *curve, double angle_deg, double *slope,
                       bb_curve_weights *weights);

/* The curve's second derivative there, numbers per square degree. */
double bb_curve_bend(const bb_curve *curve, double angle_deg);

/* No knot lies between the angles, and both are on the scale. */
bool bb_curve_is_one_span(double from_deg, double to_deg);

/* No less than the slope anywhere between the knots on either side of the angle. */
double bb_curve_steepest(const bb_curve *curve, double angle_deg);

#endif
