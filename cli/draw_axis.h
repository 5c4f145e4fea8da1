/* An axis of numbers: where its ticks stand. */
#ifndef DRAW_AXIS_H
#define DRAW_AXIS_H

#include "draw_page.h"

/* A stretch of numbers, drawn from x (or y) by so many points a number. */
struct axis {
    double from, to;      /* numbers */
    double start, length; /* points; a negative length runs up or leftward */
};

double axis_at(const struct axis *axis, double number);

/* Ticks and numbers below (a horizontal axis), or left of it (a vertical one). Returns how much
 * height or width they take. */
double axis_below(struct page *page, const struct axis *axis, double y, double size,
                  double least_step);
double axis_left(struct page *page, const struct axis *axis, double x, double size,
                 double least_step);

#endif
