/* A check in pictures: the trade-off, what sounded, and fresh numbers off what was expected. */
#ifndef PLOT_CHECK_H
#define PLOT_CHECK_H

#include "plot_departures.h"

struct check_plot {
    const bb_profile *profile;
    const bb_reject *reject;
    const bb_reject_score *asked; /* the setting that was checked */
    const bb_check *check;
    struct departures fresh;
};

/* Draw it; page_write writes it. */
outcome plot_check(page_format format, const struct check_plot *plot, struct page *drawn);

#endif
