/* Which quantities a visit may give, in which unit, and how large. */
#include "quantity.h"

#include "number.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* SI value = typed number * multiply / divide; one of the two is 1, so that 7 cm is 0.07 m to the
 * last bit. The ranges are wider than what is met on a beach; they are there for slips of the
 * thumb. Those of water are where its formula holds. */
static const struct {
    const char *what;
    double low, high;
    const char *unit;
    double multiply, divide;
} quantities[] = {
    [BB_QUANTITY_FREQUENCY] = {"a frequency", 0.1, 1000, " kHz", 1000, 1},
    [BB_QUANTITY_COIL_DIAMETER] = {"a coil diameter", 5, 150, " cm", 1, 100},
    [BB_QUANTITY_HEIGHT] = {"a height of the coil", 0.5, 100, " cm", 1, 100},
    [BB_QUANTITY_DEPTH] = {"a depth", 0, 200, " cm", 1, 100},
    [BB_QUANTITY_GAP] = {"a gap between coil and target", 0.1, 200, " cm", 1, 100},
    [BB_QUANTITY_SALINITY] = {"a practical salinity", 0, 42, "", 1, 1},
    [BB_QUANTITY_TEMPERATURE] = {"a temperature", -2, 35, " degrees Celsius", 1, 1},
    [BB_QUANTITY_POROSITY] = {"a porosity", 0.1, 0.8, "", 1, 1},
    [BB_QUANTITY_SATURATION] = {"a saturation", 0, 1, "", 1, 1},
    [BB_QUANTITY_DRY_LAYER] = {"a dry layer", 0, 100, " cm", 1, 100},
    [BB_QUANTITY_SUSCEPTIBILITY] = {"a volume susceptibility", 0, 1, " (SI)", 1, 1},
    [BB_QUANTITY_CONDUCTIVITY] = {"a conductivity", 0.01, 100, " MS/m", 1e6, 1},
    [BB_QUANTITY_DIAMETER] = {"a diameter", 0.5, 1000, " mm", 1, 1000},
    [BB_QUANTITY_THICKNESS] = {"a thickness", 0.001, 500, " mm", 1, 1000},
    [BB_QUANTITY_BORE] = {"a bore", 0.1, 1000, " mm", 1, 1000},
    [BB_QUANTITY_MASS] = {"a mass", 0.001, 50000, " g", 1, 1000},
    [BB_QUANTITY_PLATING] = {"a plating", 0.01, 5000, " um", 1, 1e6},
    [BB_QUANTITY_YEARS] = {"years in salt sand", 0, 5000, "", 1, 1},
};

static bb_status refuse(const bb_place *place, const char *text, bb_quantity quantity)
{
    char found[BB_QUOTE_BYTES];
    const char *point = strchr(text, ',') != NULL ? ", with a decimal point" : "";
    return bb_refuse(place, bb_quote(text, found), "%s from %g to %g%s%s",
                     quantities[quantity].what, quantities[quantity].low, quantities[quantity].high,
                     quantities[quantity].unit, point);
}

bb_status bb_quantity_read(const bb_place *place, const char *text, bb_quantity quantity,
                           double *value)
{
    double number;
    if (!bb_number_read(text, &number) || number < quantities[quantity].low ||
        number > quantities[quantity].high)
        return refuse(place, text, quantity);
    *value = bb_quantity_to_si(quantity, number + 0.0);
    return BB_OK;
}

void bb_quantity_range(bb_quantity quantity, double *low, double *high)
{
    *low = quantities[quantity].low;
    *high = quantities[quantity].high;
}

double bb_quantity_to_si(bb_quantity quantity, double number)
{
    return number * quantities[quantity].multiply / quantities[quantity].divide;
}

static double to_15_digits(double number)
{
    char text[32];
    (void)snprintf(text, sizeof text, "%.15g", number);
    return strtod(text, NULL);
}

double bb_quantity_from_si(bb_quantity quantity, double si)
{
    double near = si * quantities[quantity].divide / quantities[quantity].multiply;
    const double tries[] = {to_15_digits(near), near, nextafter(near, -HUGE_VAL),
                            nextafter(near, HUGE_VAL)};
    for (size_t i = 0; i < sizeof tries / sizeof *tries; i++)
        if (bb_quantity_to_si(quantity, tries[i]) == si)
            return tries[i];
    return near;
}
