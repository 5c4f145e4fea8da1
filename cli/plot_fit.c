/* A fit in pictures. */
#include "plot_fit.h"

#include "draw_plot.h"
#include "out.h"
#include "plot_departures.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { TARGETS_MOST = 12, ZONES_MOST = 3, DEPTHS = 61, ANGLES = 91 };

#define WIDE 170.0  /* height of a panel over the whole width */
#define SMALL 118.0 /* height of a panel of one piece and zone */

typedef struct {
    const bb_profile *profile;
    bb_predictor *predictor;
    struct departures departures;
    size_t targets, zones; /* those to draw */
} plotted;

static const bb_cell *cell_of(const plotted *of, size_t departure)
{
    return &of->departures.visit->cells[of->departures.rows[departure].cell];
}

/* ---------------------------------------------------------------- the curve */

/* Letters along the top where the pieces stand, so close that they would touch one above another.
 */
static void draw_letters(const plotted *of, const struct panel *panel, double top)
{
    const text_style style = {.size = PLOT_SIZE, .align = ALIGN_CENTRE, .bold = true};
    double last[TARGETS_MOST];
    int levels = 0;
    for (size_t k = 0; k < of->targets; k++) {
        double angle;
        if (bb_air_angle(of->predictor, (int)k, &angle) != BB_OK)
            continue;
        const double x = axis_at(&panel->across, angle);
        int level = 0;
        while (level < levels && fabs(last[level] - x) < 1.2 * PLOT_SIZE)
            level++;
        levels = level == levels ? levels + 1 : levels;
        last[level] = x;
        const char letter[2] = {(char)('A' + k), '\0'};
        panel_upright(panel, angle);
        page_shade(panel->page, x - 0.5 * PLOT_SIZE, top + 1.15 * PLOT_SIZE * level, PLOT_SIZE,
                   1.2 * PLOT_SIZE, 0);
        (void)page_line(panel->page, x, top + 1.15 * PLOT_SIZE * level, style, letter);
    }
}

static void draw_curve(const plotted *of, struct flow *flow)
{
    const bb_machine *machine = &of->profile->machine;
    const panel_kind kind = {
        .title = "The machine's curve, with the sweeps in air",
        .across = "response angle, degrees: -90 magnetic, 0 resistor, 90 mirror",
        .up = "number",
        .across_from = -90,
        .across_to = 90,
        .up_from = machine->scale_low,
        .up_to = machine->scale_high,
        .across_step = 15,
        .up_step = machine->scale_step,
    };
    const struct panel panel =
        panel_begin(flow->page, &kind, flow->x, flow->y, flow->width, WIDE, PLOT_SIZE);
    double angles[ANGLES], numbers[ANGLES], low[ANGLES], high[ANGLES];
    for (int i = 0; i < ANGLES; i++) {
        double se = 0;
        angles[i] = -90 + 2.0 * i;
        (void)bb_machine_curve(of->predictor, angles[i], &numbers[i], &se);
        low[i] = numbers[i] - 2 * se;
        high[i] = numbers[i] + 2 * se;
    }
    panel_band(&panel, angles, low, high, ANGLES);
    panel_line(&panel, angles, numbers, ANGLES, false);
    for (size_t i = 0; i < of->departures.count; i++) {
        const bb_cell *cell = cell_of(of, i);
        double angle;
        if (cell->zone == BB_ZONE_AIR && cell->target != BB_TARGET_SAND &&
            bb_air_angle(of->predictor, cell->target, &angle) == BB_OK)
            panel_mark(&panel, MARK_CROSS, angle, cell->reading);
    }
    draw_letters(of, &panel, panel.up.start + panel.up.length + 1);
    flow->y += WIDE;
    char *letters = need_text("%s", "");
    for (size_t k = 0; k < of->targets; k++)
        letters = need_longer(letters, "%s%c\u00a0%s", k > 0 ? ", " : "", (char)('A' + k),
                              of->profile->targets[k].name);
    flow_body(flow, NULL, need_longer(letters, ". Grey: two standard errors of the curve."));
}

/* ---------------------------------------------------------------- depth */

static double deepest_cm(const plotted *of)
{
    double deepest = 15;
    for (size_t i = 0; i < of->departures.count; i++)
        if (cell_of(of, i)->zone != BB_ZONE_AIR)
            deepest = fmax(deepest, 100 * cell_of(of, i)->depth_m);
    return fmin(ceil(deepest / 5) * 5 + 5, 60);
}

/* A raised coil stands for so much depth. */
static double depth_cm(const plotted *of, const bb_cell *cell)
{
    const double raised = cell->height_m - of->profile->beach.swing_height_m;
    return 100 * (cell->depth_m + (cell->height_m > 0 ? raised : 0));
}

static void draw_sweeps(const plotted *of, const struct panel *panel, int target, int zone)
{
    for (size_t i = 0; i < of->departures.count; i++) {
        const bb_cell *cell = cell_of(of, i);
        const bool raised = cell->height_m > of->profile->beach.swing_height_m + 1e-6;
        if (cell->target == target && cell->zone == zone)
            panel_mark(panel, raised ? MARK_RING : MARK_DISC, depth_cm(of, cell), cell->reading);
    }
}

/* The expected number as a line, whole as far down as it can be heard, dashed below. */
static void draw_expected(const plotted *of, const struct panel *panel, int target, int zone)
{
    double depths[DEPTHS], mean[DEPTHS], low[DEPTHS], high[DEPTHS];
    size_t count = 0, heard = 0;
    bb_prediction at;
    if (!panel->page->drawing)
        return;
    while (count < DEPTHS && (double)count <= panel->across.to &&
           bb_predict(of->predictor, target, zone, 0.01 * (double)count, NAN, &at) == BB_OK) {
        depths[count] = (double)count;
        mean[count] = at.mean;
        low[count] = at.low;
        high[count] = at.high;
        count++;
        heard = at.masked ? heard : count;
    }
    panel_band(panel, depths, low, high, count);
    panel_line(panel, depths, mean, heard, false);
    const size_t from = heard > 0 ? heard - 1 : 0;
    panel_line(panel, depths + from, mean + from, count - from, true);
}

static void draw_depth(const plotted *of, struct flow *flow, size_t target, size_t zone, double x,
                       double width)
{
    const bb_machine *machine = &of->profile->machine;
    char *title =
        need_text("%s, %s", of->profile->targets[target].name, of->profile->zones[zone].name);
    const panel_kind kind = {
        .title = title,
        .across = "depth, cm",
        .up = "number",
        .across_from = 0,
        .across_to = deepest_cm(of),
        .up_from = machine->scale_low,
        .up_to = machine->scale_high,
        .across_step = 5,
        .up_step = machine->scale_step,
    };
    const struct panel panel = panel_begin(flow->page, &kind, x, flow->y, width, SMALL, PLOT_SIZE);
    draw_expected(of, &panel, (int)target, (int)zone);
    draw_sweeps(of, &panel, (int)target, (int)zone);
    free(title);
}

static void draw_depths(const plotted *of, struct flow *flow)
{
    const double gap = 14,
                 width = (flow->width - gap * (double)(of->zones - 1)) / (double)of->zones;
    flow_strong(flow, need_text("The expected number against depth, with the sweeps"));
    flow_body(flow, NULL,
              need_text("Grey: nine readings in ten. Dashed: too deep to hear through the salt. "
                        "Rings: the coil raised instead of the piece buried."));
    flow_gap(flow, 0.6);
    for (size_t target = 0; target < of->targets; target++) {
        for (size_t zone = 0; zone < of->zones; zone++)
            draw_depth(of, flow, target, zone, flow->x + (double)zone * (width + gap), width);
        flow->y += SMALL + 4;
    }
}

/* ---------------------------------------------------------------- the whole */

static void draw_sections(struct flow *flow)
{
    const plotted *of = flow->of;
    draw_curve(of, flow);
    flow_gap(flow, 1);
    draw_departures(flow, &of->departures);
    flow_gap(flow, 1);
    if (of->targets > 0 && of->zones > 0)
        draw_depths(of, flow);
}

static outcome draw(const plotted *of, page_format format, struct page *drawn)
{
    const bb_profile *profile = of->profile;
    return plot_page(
        format,
        need_text("Fit of %s%s%s", *profile->machine.name ? profile->machine.name : "a visit",
                  *profile->beach.date ? ", " : "", profile->beach.date),
        "The machine's curve, what was read off what was expected, and numbers against depth.",
        draw_sections, of, drawn);
}

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

outcome plot_fit(page_format format, const bb_visit *visit, const bb_profile *profile,
                 struct page *drawn)
{
    plotted of = {.profile = profile,
                  .targets = least(profile->target_count, TARGETS_MOST),
                  .zones = least(profile->zone_count, ZONES_MOST)};
    bb_error error = {0};
    bb_status status = bb_predictor_new(profile, &of.predictor, &error);
    if (status == BB_OK)
        status = departures_find(of.predictor, profile, visit, &of.departures);
    outcome result = status == BB_OK ? draw(&of, format, drawn) : fail(status, &error);
    bb_predictor_free(of.predictor);
    departures_free(&of.departures);
    return result;
}
