/* Any bytes as beach.ini. */
#include "hold.h"

#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *bytes, size_t length)
{
    static const bb_visit untouched;
    bb_visit visit = untouched;
    bb_error error = {0};
    bb_status status = bb_beach_read((const char *)bytes, length, "beach.ini", &visit, &error);
    hold_reading(status, &error);
    if (status == BB_OK)
        hold_visit(&visit);
    else
        hold(memcmp(&visit, &untouched, sizeof visit) == 0, "a refusal leaves the visit alone");
    bb_visit_free(&visit);
    return 0;
}
