/* The eddy-current modes of a disc or ring of rectangular section, by a spectral Galerkin method.
 */
#ifndef BB_SPECTRAL_H
#define BB_SPECTRAL_H

#include "brineband.h"

/* Lengths in units of the outer radius a. */
typedef struct {
    double thickness; /* axial, above 0 */
    double bore;      /* inner radius, 0 for a disc, below 1 */
    int radial;       /* basis functions along the radius, at least 2 */
    int axial;        /* and, even ones only, along the axis, at least 1 */
    size_t modes;     /* the most that are wanted */
} bb_section;

/* A section with some `unknowns` basis functions, shared out so that both directions resolve the
 * same skin depth at their edges. 100 unknowns hold 1e-5 to w = 100 and 400 hold 1e-5 to w = 1000,
 * w being angular frequency times the mean time constant. */
bb_section bb_section_of(double thickness, double bore, int unknowns, size_t modes);

/* At most min(modes, radial*axial) modes, unsorted, strengths in units of a^3 and time constants of
 * mu0 sigma a^2; modes has room for so many. The sum of their products, the first moment, is exact
 * to rounding whatever the basis. BB_MEMORY, BB_NOT_CONVERGED. */
bb_status bb_spectral_modes(const bb_section *section, bb_mode *modes, size_t *count);

#endif
