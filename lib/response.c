/* Angle and strength of a response. */
#include "brineband.h"

#include <math.h>

double bb_response_angle_deg(bb_complex response)
{
    return atan2(response.re, response.im) * (180 / 3.14159265358979323846);
}

double bb_response_strength(bb_complex response)
{
    return hypot(response.re, response.im);
}
