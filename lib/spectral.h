/* The eddy-current modes of a disc or ring of rectangular section, by a spectral Galerkin method. */
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

/* At most min(modes, radial*axial) modes, unsorted, strengths in units of a^3 and time constants of
 * mu0 sigma a^2; modes has room for so many. The sum of their products, the first moment, is exact
 * to rounding whatever the basis. BB_MEMORY, BB_NOT_CONVERGED. */
bb_status bb_spectral_modes(const bb_section *section, bb_mode *modes, size_t *count);

#endif
