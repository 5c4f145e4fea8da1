/* Ridges: how often each thing shows each number, one above the other over one axis of numbers. */
#ifndef DRAW_RIDGE_H
#define DRAW_RIDGE_H

#include "draw_page.h"

struct ridge {
    char *label, *note; /* left and right of it */
    const double *p;    /* of each number of the scale */
    char *instead;      /* words in its place, or NULL */
};

struct ridge_chart {
    const bb_machine *machine;
    const bb_bands *rejected;
    const char *label_title, *note_title;
    struct ridge *rows;
    size_t count;
};

/* Draw them from x, y, each at least row_height points high, the rejected numbers under brackets.
 * Returns the height used. */
double draw_ridges(struct page *page, const struct ridge_chart *chart, double x, double y,
                   double width, double row_height, double size);

#endif
