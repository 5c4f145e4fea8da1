/* Visits in a picture: what bare sand read and what was to be rejected, a zone a panel. */
#ifndef PLOT_HISTORY_H
#define PLOT_HISTORY_H

#include "draw_page.h"

/* One visit, as far as its sand goes. */
typedef struct {
    const char *path;
    char date[BB_NAME_BYTES];
    bb_machine machine;
    size_t zone_count;
    bb_zone *zones;
    bb_prediction *sand; /* one a zone */
    double *bare;
    bool *silent; /* of bare sweeps none sounded */
    bb_bands bands;
    bb_verdict verdict;
} past_visit;

/* Its date, or its file where it has none. */
const char *past_visit_label(const past_visit *visit);
/* Where the zone of this name stands; zone_count where there is none. */
size_t past_visit_zone(const past_visit *visit, const char *name);
/* Is visits[i] the first that has a zone of this name? */
bool past_visit_first(const past_visit *visits, size_t i, const char *name);

/* Draw visits of one number scale; page_write writes it. */
outcome plot_history(page_format format, const past_visit *visits, size_t count,
                     struct page *drawn);

#endif
