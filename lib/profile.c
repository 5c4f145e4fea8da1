/* What a profile owns. */
#include "brineband.h"

#include <stdlib.h>

void bb_profile_free(bb_profile *profile)
{
    if (profile == NULL)
        return;
    free(profile->zones);
    free(profile->targets);
    free(profile->parameters);
    free(profile->covariance);
    free(profile->bare);
    free(profile->target_sweeps);
    free(profile);
}
