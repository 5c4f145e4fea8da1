/* The life of a visit: what it owns. */
#include "brineband.h"

#include <stdlib.h>

void bb_visit_free(bb_visit *visit)
{
    if (visit == NULL)
        return;
    free(visit->zones);
    free(visit->targets);
    free(visit->cells);
    free(visit->settings);
    free(visit->bare);
    *visit = (bb_visit){0};
}
