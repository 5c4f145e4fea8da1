/* Any bytes as sweeps.csv, in pieces of a size that the first byte says, from 128 on without a kit. */
#include "hold.h"
#include "usual.h"

static bb_status read_in_pieces(const char *bytes, size_t length, size_t piece, bb_visit *visit,
                                bb_error *error)
{
    bb_sweeps_reader *reader = NULL;
    bb_status status = bb_sweeps_begin(visit, "sweeps.csv", &reader, error);
    for (size_t at = 0; status == BB_OK && at < length; at += piece)
        status = bb_sweeps_feed(reader, bytes + at, length - at < piece ? length - at : piece);
    if (status == BB_OK)
        status = bb_sweeps_end(reader);
    else
        hold(bb_sweeps_end(reader) == status, "after an error every call returns it");
    bb_sweeps_free(reader);
    return status;
}

int LLVMFuzzerTestOneInput(const unsigned char *bytes, size_t length)
{
    if (length == 0)
        return 0;
    bb_visit visit = usual_beach();
    bb_error error = {0};
    size_t piece = bytes[0] == '\n' ? length : bytes[0];
    visit.without_kit = bytes[0] >= 128;
    if (!visit.without_kit)
        usual_kit(&visit);
    bb_status status = read_in_pieces((const char *)bytes + 1, length - 1, piece > 0 ? piece : 256,
                                      &visit, &error);
    hold_reading(status, &error);
    hold(status == BB_OK || visit.cells == NULL, "a refusal leaves the visit alone");
    hold_visit(&visit);
    bb_visit_free(&visit);
    return 0;
}
