/* The quantities a visit may give: the unit each is typed in and the range that is accepted. */
#ifndef BB_QUANTITY_H
#define BB_QUANTITY_H

#include "place.h"

typedef enum {
    BB_QUANTITY_FREQUENCY,
    BB_QUANTITY_COIL_DIAMETER,
    BB_QUANTITY_HEIGHT,
    BB_QUANTITY_DEPTH,
    BB_QUANTITY_GAP,
    BB_QUANTITY_SALINITY,
    BB_QUANTITY_TEMPERATURE,
    BB_QUANTITY_POROSITY,
    BB_QUANTITY_SATURATION,
    BB_QUANTITY_DRY_LAYER,
    BB_QUANTITY_SUSCEPTIBILITY,
    BB_QUANTITY_CONDUCTIVITY,
    BB_QUANTITY_DIAMETER,
    BB_QUANTITY_THICKNESS,
    BB_QUANTITY_BORE,
    BB_QUANTITY_MASS,
    BB_QUANTITY_PLATING,
    BB_QUANTITY_YEARS
} bb_quantity;

/* Reads a number in the quantity's unit; *value is in SI (temperature in degC, years in years). */
bb_status bb_quantity_read(const bb_place *place, const char *text, bb_quantity quantity,
                           double *value);

/* The range accepted, in the unit that is typed. */
void bb_quantity_range(bb_quantity quantity, double *low, double *high);

/* A number as typed in SI, and back: the number that bb_quantity_to_si makes this very value of,
 * the shortest where several do, so that what was typed comes back as it was. Where none does, the
 * nearest (1 unit in the last place). NAN stays NAN. */
double bb_quantity_to_si(bb_quantity quantity, double number);
double bb_quantity_from_si(bb_quantity quantity, double si);

#endif
