/* The invented kits and machines. Sizes are of a kind with common pieces, none is a real one. */
#include "kits.h"

static const kit_row full[] = {
    {"stud", "disc", "gold 9ct", 7, 1.5, 0, 0, true, "small gold", true},
    {"thin ring", "ring", "gold 14ct", 18, 2, 15.6, 0, true, "gold", true},
    {"wide ring", "ring", "gold 18ct", 21, 4, 17.6, 0, true, "gold", true},
    {"silver coin", "disc", "coin silver", 24, 1.5, 0, 0, true, "coin", false},
    {"grey coin", "disc", "cupronickel", 23, 1.7, 0, 0, true, "coin", false},
    {"old coin", "disc", "bronze", 20, 1.4, 0, 25, false, "coin", false},
    {"foil", "disc", "aluminium", 18, 0.03, 0, 0, false, "foil", true},
    {"pull tab", "other", "", 0, 0, 0, 0, false, "junk", false},
    {"nail", "other", "iron", 0, 0, 0, 0, false, "iron", false},
};

static const kit_row quarter[] = {
    {"stud", "disc", "gold 9ct", 7, 1.5, 0, 0, true, "small gold", true},
    {"thin ring", "ring", "gold 14ct", 18, 2, 15.6, 0, true, "gold", true},
    {"wide ring", "ring", "gold 18ct", 21, 4, 17.6, 0, true, "gold", true},
    {"silver coin", "disc", "coin silver", 24, 1.5, 0, 0, true, "coin", false},
    {"grey coin", "disc", "cupronickel", 23, 1.7, 0, 0, true, "coin", false},
    {"foil", "disc", "aluminium", 18, 0.03, 0, 0, false, "foil", true},
};

const kit_rows *kit_of(visit_kind kind)
{
    static const kit_rows kits[VISIT_COUNT] = {
        [VISIT_FULL] = {sizeof full / sizeof *full, full},
        [VISIT_QUARTER] = {sizeof quarter / sizeof *quarter, quarter}};
    return &kits[kind];
}

const number_scale number_scales[SCALES] = {{0, 80, 1}, {-20, 60, 1}, {10, 130, 1},
                                            {0, 40, 1}, {1, 250, 3},  {0, 500, 5}};
