/* How well sand conducts with water in its pores. */
#include "brineband.h"

#include <math.h>

/* Archie's exponents for clean beach sand: 1.5 is also the mean-field value for spheres (Sen, Scala
 * and Cohen 1981, from memory); natural sands 1.4 to 1.6 (Jackson et al. 1978, from memory). */
static const double CEMENTATION = 1.5;
static const double CEMENTATION_SD = 0.1;
static const double SATURATION_EXPONENT = 2;
static const double POROSITY_SD = 0.03; /* beaches 0.35 to 0.45: common practice, no source */

bb_status bb_archie_conductivity(double water_S_per_m, double porosity, double saturation,
                                 double cementation, double saturation_exponent,
                                 double *sigma_S_per_m)
{
    if (!(water_S_per_m >= 0 && isfinite(water_S_per_m) && porosity > 0 && porosity < 1 &&
          saturation >= 0 && saturation <= 1 && cementation >= 1 && cementation <= 5 &&
          saturation_exponent >= 1 && saturation_exponent <= 5))
        return BB_RANGE;
    const double full = pow(porosity, cementation);
    if (full > 2 * porosity / (3 - porosity)) /* Hashin and Shtrikman, insulating grains */
        return BB_RANGE;
    *sigma_S_per_m = water_S_per_m * full * pow(saturation, saturation_exponent);
    return BB_OK;
}

bb_status bb_sand_conductivity(double water_S_per_m, double porosity, double saturation,
                               double *sigma_S_per_m)
{
    return bb_archie_conductivity(water_S_per_m, porosity, saturation, CEMENTATION,
                                  SATURATION_EXPONENT, sigma_S_per_m);
}

double bb_sand_relative_sd(double porosity)
{
    return hypot(CEMENTATION_SD * log(porosity), CEMENTATION * POROSITY_SD / porosity);
}
