/* Distributions along the machine's numbers, as a picture in text. */
#ifndef NUMBER_PLOT_H
#define NUMBER_PLOT_H

#include "brineband.h"

typedef struct {
    const char *label;
    const double *chances; /* one a number of the scale */
    const char *instead;   /* words in their place, or NULL */
} number_row;

/* One line a row, heights by share of the row's own peak; below, the numbers and the bands. Plain
 * ASCII where the locale has no UTF-8; never wider than 80 columns. */
void say_number_plot(const bb_machine *machine, const number_row *rows, size_t count,
                     const bb_bands *bands);

#endif
