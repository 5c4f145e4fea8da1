/* Angle and strength of a response, and the angular frequency it is asked at. */
#include "brineband.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

double bb_angular_frequency(double frequency_hz)
{
    return 2 * PI * frequency_hz;
}

double bb_response_angle_deg(bb_complex response)
{
    return atan2(response.re, response.im) * (180 / PI);
}

double bb_response_strength(bb_complex response)
{
    return hypot(response.re, response.im);
}
