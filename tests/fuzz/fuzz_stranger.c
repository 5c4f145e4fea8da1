/* Any profile that is accepted, put to use: what a stranger may send does no harm later either. */
#include "hold.h"
#include "numbers.h"
#include "use.h"

int LLVMFuzzerTestOneInput(const unsigned char *bytes, size_t length)
{
    bb_profile *profile = NULL;
    bb_error error = {0};
    if (bb_profile_read((const char *)bytes, length, "p.json", &profile, &error) != BB_OK)
        return 0;
    use_profile(profile);
    bb_profile_free(profile);
    return 0;
}

size_t LLVMFuzzerCustomMutator(unsigned char *bytes, size_t length, size_t room, unsigned seed)
{
    return mutate_numbers(bytes, length, room, seed);
}
