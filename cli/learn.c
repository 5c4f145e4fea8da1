/* Learning a visit's profile, with patience shown on a terminal. */
#include "learn.h"

#include <stdlib.h>

#include "patience.h"

bb_status learn(const bb_visit *visit, const bb_profile *prior, bool **left_out,
                bb_profile **profile, bb_error *error)
{
    *left_out = calloc(visit->cell_count + 1, sizeof **left_out);
    if (*left_out == NULL)
        return BB_MEMORY;
    patience_begin("fitting");
    bb_status status = bb_fit_leaving_out(visit, prior, *left_out, profile, error);
    patience_end();
    return status;
}
