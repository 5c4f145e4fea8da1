/* What a judge holds: all that may sound in one zone, and how often each group is met there. */
#ifndef BB_JUDGE_H
#define BB_JUDGE_H

#include "base_rates.h"
#include "soundings.h"

struct bb_judge {
    bb_predictor *predictor;
    int zone;
    double depth_m; /* NAN for all depths alike */
    bb_candidates candidates;
    bb_soundings soundings;
    bb_base_rates rates;
    size_t classes, numbers, sand; /* sand: the class of bare sand, the last */
    double *chance;                /* classes x numbers: what each class shows, outliers aside */
    double sand_worth;             /* readings that the sand's distribution is worth */
};

#endif
