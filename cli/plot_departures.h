/* The panel of what was read, off what was expected. */
#ifndef PLOT_DEPARTURES_H
#define PLOT_DEPARTURES_H

#include "draw_flow.h"

/* Numbers read with nothing rejected, beside what a profile expects of them. */
struct departures {
    const bb_visit *visit;
    const bb_profile *profile;
    bb_departure *rows;
    size_t count;
};

bb_status departures_find(const bb_predictor *predictor, const bb_profile *profile,
                          const bb_visit *visit, struct departures *departures);
void departures_free(struct departures *departures);

/* The panel and its key, across the flow. */
void draw_departures(struct flow *flow, const struct departures *departures);

#endif
