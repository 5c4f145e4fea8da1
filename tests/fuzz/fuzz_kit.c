/* Any bytes as kit.csv. */
#include "hold.h"
#include "usual.h"

int LLVMFuzzerTestOneInput(const unsigned char *bytes, size_t length)
{
    bb_visit visit = usual_beach();
    bb_error error = {0};
    bb_status status = bb_kit_read((const char *)bytes, length, "kit.csv", &visit, &error);
    hold_reading(status, &error);
    hold(status == BB_OK || visit.targets == NULL, "a refusal leaves the visit alone");
    hold_visit(&visit);
    bb_visit_free(&visit);
    return 0;
}
