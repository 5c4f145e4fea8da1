/* Drawing one of many by its weight. */
#include "draw.h"

#include <string.h>

size_t bb_draw_index(gsl_rng *rng, const double *weight, size_t stride, size_t count)
{
    const void *first = weight;
    double left = gsl_rng_uniform(rng), here;
    size_t last = 0;
    for (size_t i = 0; i < count; i++) {
        memcpy(&here, (const char *)first + i * stride, sizeof here);
        if (left < here)
            return i;
        left -= here;
        last = here > 0 ? i : last;
    }
    return last;
}
