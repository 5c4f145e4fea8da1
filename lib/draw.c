/* Drawing one of many by its weight. */
#include "draw.h"

size_t bb_draw_index(gsl_rng *rng, const double *weight, size_t stride, size_t count)
{
    double left = gsl_rng_uniform(rng);
    size_t last = 0;
    for (size_t i = 0; i < count; i++) {
        const double here = *(const double *)(const void *)((const char *)weight + i * stride);
        if (left < here)
            return i;
        left -= here;
        last = here > 0 ? i : last;
    }
    return last;
}
