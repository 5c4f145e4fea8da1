/* A panel of a plot: a frame with axes and a title, and what is drawn inside. */
#ifndef DRAW_PLOT_H
#define DRAW_PLOT_H

#include "draw_axis.h"
#include "draw_flow.h"

#define PLOT_MARGIN 34.0 /* points */
#define PLOT_SIZE 8.0    /* of the type, points */

/* Draw a page of plots as high as what is on it, beginning with its title, which is freed. sections
 * draws what follows. */
outcome plot_page(page_format format, char *title, const char *description,
                  void (*sections)(struct flow *flow), const void *of, struct page *drawn);

typedef struct {
    const char *title;
    const char *across, *up; /* what the axes carry, with the unit */
    double across_from, across_to, up_from, up_to;
    double across_step, up_step; /* the closest that ticks may stand */
} panel_kind;

struct panel {
    struct page *page;
    struct axis across, up;
    double size; /* of the type */
};

/* Draw the frame into the box x, y, width, height. */
struct panel panel_begin(struct page *page, const panel_kind *kind, double x, double y,
                         double width, double height, double size);

/* Each takes points in the panel's own units; what lies outside it is cut off. */
void panel_line(const struct panel *panel, const double *across, const double *up, size_t count,
                bool dashed);
void panel_band(const struct panel *panel, const double *across, const double *low,
                const double *high, size_t count);
void panel_level(const struct panel *panel, double up);
void panel_upright(const struct panel *panel, double across);
void panel_bar(const struct panel *panel, double across, double low, double high);

/* Marks differ by shape alone. */
typedef enum { MARK_DISC, MARK_RING, MARK_SQUARE, MARK_TRIANGLE, MARK_CROSS } mark_kind;
void panel_mark(const struct panel *panel, mark_kind mark, double across, double up);
/* A mark beside its words, from x, y on: returns how wide both are. */
double mark_key(struct page *page, mark_kind mark, double x, double y, double size,
                const char *text);

#endif
