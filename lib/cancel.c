/* What a salt-cancelling pair of frequencies keeps of a response. */
#include "brineband.h"

#include <math.h>

bb_complex bb_cancelled(bb_complex upper, bb_complex lower, double upper_hz, double lower_hz)
{
    const double share = upper_hz / lower_hz;
    return (bb_complex){upper.re - share * lower.re, upper.im - share * lower.im};
}

double bb_cancel_survival(bb_complex upper, bb_complex lower, double upper_hz, double lower_hz)
{
    const bb_complex kept = bb_cancelled(upper, lower, upper_hz, lower_hz);
    return hypot(kept.re, kept.im) / hypot(upper.re, upper.im);
}
