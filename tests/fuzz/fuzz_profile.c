/* Any bytes as profile.json: either a profile, which is written and read back the same, or refused
 * at its place. */
#include "hold.h"
#include "numbers.h"
#include "use.h"

#include <stdlib.h>

int LLVMFuzzerTestOneInput(const unsigned char *bytes, size_t length)
{
    bb_profile *profile = NULL;
    bb_error error = {0};
    bb_status status = bb_profile_read((const char *)bytes, length, "p.json", &profile, &error);
    hold_reading(status, &error);
    if (status == BB_OK)
        free(use_written(profile));
    else
        hold(profile == NULL, "a refusal makes no profile");
    bb_profile_free(profile);
    return 0;
}

size_t LLVMFuzzerCustomMutator(unsigned char *bytes, size_t length, size_t room, unsigned seed)
{
    return mutate_numbers(bytes, length, room, seed);
}
