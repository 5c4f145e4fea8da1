/* A panel of a plot: a frame with axes and a title, and what is drawn inside. */
#include "draw_plot.h"

#include "draw_library.h"
#include "out.h"

#include <math.h>
#include <stdlib.h>

#define SHADE 0.82
#define MARK_SIZE 2.4 /* points, half a mark's width */

typedef struct {
    void (*sections)(struct flow *flow);
    const void *of;
} plotted;

static double lay_out(struct page *page, const void *subject)
{
    const plotted *plot = subject;
    struct flow flow = {
        page, plot->of, PLOT_MARGIN, PLOT_MARGIN, page->kind.width - 2 * PLOT_MARGIN, PLOT_SIZE};
    flow_text(&flow, (text_style){.size = 1.5 * PLOT_SIZE, .bold = true}, NULL,
              need_text("%s", page->title));
    flow_gap(&flow, 0.8);
    plot->sections(&flow);
    return flow.y + PLOT_MARGIN;
}

outcome plot_page(page_format format, char *title, const char *description,
                  void (*sections)(struct flow *flow), const void *of, struct page *drawn)
{
    const page_kind kind = {595.28, 100, 150 / 72.0, title, description};
    outcome result = page_draw_high(format, kind, lay_out, &(plotted){sections, of}, drawn);
    free(title);
    return result;
}

struct panel panel_begin(struct page *page, const panel_kind *kind, double x, double y,
                         double width, double height, double size)
{
    const text_style bold = {.size = size, .bold = true}, plain = {.size = size};
    const double line = page_line_height(page, plain);
    const double title = page_text(page, x, y, width, bold, NULL, kind->title);
    const double top = y + title + 1.6 * line, left = x + 4.2 * size;
    const double bottom = y + height - 2.3 * line;
    const struct panel panel = {
        .page = page,
        .across = {kind->across_from, kind->across_to, left, x + width - left},
        .up = {kind->up_from, kind->up_to, bottom, top - bottom},
        .size = size,
    };
    (void)page_line(page, x, y + title, plain, kind->up);
    (void)page_line(page, x + width, y + height - line,
                    (text_style){.size = size, .align = ALIGN_RIGHT}, kind->across);
    (void)axis_below(page, &panel.across, panel.up.start, size, kind->across_step);
    (void)axis_left(page, &panel.up, left, size, kind->up_step);
    return panel;
}

static double across_at(const struct panel *panel, double value)
{
    return axis_at(&panel->across, value);
}

static double up_at(const struct panel *panel, double value)
{
    return axis_at(&panel->up, value);
}

/* From here to end_inside, the panel's box bounds all that is drawn. */
static void begin_inside(const struct panel *panel)
{
    cairo_t *cairo = panel->page->cairo;
    draw.cairo_save(cairo);
    draw.cairo_rectangle(cairo, panel->across.start, panel->up.start, panel->across.length,
                    panel->up.length);
    draw.cairo_clip(cairo);
    draw.cairo_new_path(cairo);
}

static void end_inside(const struct panel *panel)
{
    draw.cairo_restore(panel->page->cairo);
    draw.cairo_new_path(panel->page->cairo);
}

void panel_line(const struct panel *panel, const double *across, const double *up, size_t count,
                bool dashed)
{
    if (!panel->page->drawing)
        return;
    begin_inside(panel);
    for (size_t i = 0; i < count; i++)
        draw.cairo_line_to(panel->page->cairo, across_at(panel, across[i]), up_at(panel, up[i]));
    if (dashed)
        draw.cairo_set_dash(panel->page->cairo, (const double[]){2.5, 2.5}, 2, 0);
    draw.cairo_set_line_width(panel->page->cairo, 1.2);
    draw.cairo_stroke(panel->page->cairo);
    end_inside(panel);
}

void panel_band(const struct panel *panel, const double *across, const double *low,
                const double *high, size_t count)
{
    if (!panel->page->drawing || count == 0)
        return;
    begin_inside(panel);
    for (size_t i = 0; i < count; i++)
        draw.cairo_line_to(panel->page->cairo, across_at(panel, across[i]), up_at(panel, low[i]));
    for (size_t i = count; i-- > 0;)
        draw.cairo_line_to(panel->page->cairo, across_at(panel, across[i]), up_at(panel, high[i]));
    draw.cairo_close_path(panel->page->cairo);
    draw.cairo_set_source_rgb(panel->page->cairo, SHADE, SHADE, SHADE);
    draw.cairo_fill(panel->page->cairo);
    end_inside(panel);
}

void panel_level(const struct panel *panel, double up)
{
    page_dots(panel->page, panel->across.start, up_at(panel, up),
              panel->across.start + panel->across.length, up_at(panel, up), 0.7);
}

void panel_upright(const struct panel *panel, double across)
{
    page_dots(panel->page, across_at(panel, across), panel->up.start, across_at(panel, across),
              panel->up.start + panel->up.length, 0.7);
}

void panel_bar(const struct panel *panel, double across, double low, double high)
{
    const double x = across_at(panel, across), from = up_at(panel, low), to = up_at(panel, high);
    page_rule(panel->page, x, from, x, to, 1);
    page_rule(panel->page, x - MARK_SIZE, from, x + MARK_SIZE, from, 1);
    page_rule(panel->page, x - MARK_SIZE, to, x + MARK_SIZE, to, 1);
}

/* ---------------------------------------------------------------- marks */

static void trace(cairo_t *cairo, mark_kind mark, double x, double y, double size)
{
    draw.cairo_new_path(cairo);
    switch (mark) {
    case MARK_SQUARE:
        draw.cairo_rectangle(cairo, x - size, y - size, 2 * size, 2 * size);
        break;
    case MARK_TRIANGLE:
        draw.cairo_move_to(cairo, x, y - 1.2 * size);
        draw.cairo_line_to(cairo, x + 1.2 * size, y + size);
        draw.cairo_line_to(cairo, x - 1.2 * size, y + size);
        draw.cairo_close_path(cairo);
        break;
    case MARK_CROSS:
        draw.cairo_move_to(cairo, x - size, y - size);
        draw.cairo_line_to(cairo, x + size, y + size);
        draw.cairo_move_to(cairo, x - size, y + size);
        draw.cairo_line_to(cairo, x + size, y - size);
        break;
    case MARK_DISC:
    case MARK_RING:
        draw.cairo_arc(cairo, x, y, size, 0, 2 * G_PI);
        break;
    }
}

static void draw_mark(struct page *page, mark_kind mark, double x, double y)
{
    if (!page->drawing)
        return;
    trace(page->cairo, mark, x, y, MARK_SIZE);
    if (mark == MARK_DISC) {
        draw.cairo_fill(page->cairo);
        return;
    }
    if (mark != MARK_CROSS) {
        draw.cairo_set_source_rgb(page->cairo, 1, 1, 1);
        draw.cairo_fill_preserve(page->cairo);
        draw.cairo_set_source_rgb(page->cairo, 0, 0, 0);
    }
    draw.cairo_set_line_width(page->cairo, 0.9);
    draw.cairo_stroke(page->cairo);
}

void panel_mark(const struct panel *panel, mark_kind mark, double across, double up)
{
    if (across >= panel->across.from && across <= panel->across.to && up >= panel->up.from &&
        up <= panel->up.to)
        draw_mark(panel->page, mark, across_at(panel, across), up_at(panel, up));
}

double mark_key(struct page *page, mark_kind mark, double x, double y, double size,
                const char *text)
{
    const text_style plain = {.size = size};
    draw_mark(page, mark, x + MARK_SIZE, y + page_line_height(page, plain) / 2);
    return 3.5 * MARK_SIZE + page_line(page, x + 3.5 * MARK_SIZE, y, plain, text);
}
