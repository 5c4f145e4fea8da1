/* Angle and strength of a response, and the angular frequency it is asked at. */
#include "brineband.h"
#include "constants.h"

#include <math.h>

double bb_angular_frequency(double frequency_hz)
{
    return 2 * BB_PI * frequency_hz;
}

double bb_response_angle_deg(bb_complex response)
{
    return atan2(response.re, response.im) * (180 / BB_PI);
}

double bb_response_strength(bb_complex response)
{
    return hypot(response.re, response.im);
}
