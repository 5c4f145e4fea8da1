/* An invented machine's curve from response angle to number, before noise and rounding. */
#ifndef SCALE_H
#define SCALE_H

#include <stdbool.h>

#include <gsl/gsl_rng.h>

enum { SCALE_KNOTS = 9, SCALE_STEPS = 3 };

typedef struct {
    double low, high;                              /* numbers at -90 and +90 degrees */
    double value[SCALE_KNOTS], slope[SCALE_KNOTS]; /* at the knots, slope in numbers per degree */
    bool logistic; /* a mixture of a straight line and logistic steps instead */
    double share[SCALE_STEPS], center_deg[SCALE_STEPS], width_deg[SCALE_STEPS];
} truth_scale;

/* A monotone cubic through random shares of the range between the knots of the model's prior. */
void scale_draw_cubic(truth_scale *scale, int low, int high, gsl_rng *random);
/* A curve that the model does not hold: steps of other places and shapes. */
void scale_draw_logistic(truth_scale *scale, int low, int high, gsl_rng *random);

double scale_number(const truth_scale *scale, double angle_deg);

#endif
