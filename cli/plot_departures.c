/* The panel of what was read, off what was expected. */
#include "plot_departures.h"

#include "draw_plot.h"
#include "names.h"

#include <math.h>
#include <stdlib.h>

enum { MOST = 4000, ZONES_NAMED = 4 };

#define HIGH 170.0
#define FARTHEST 5.0 /* standard deviations: what lies beyond is drawn here */

bb_status departures_find(const bb_predictor *predictor, const bb_profile *profile,
                          const bb_visit *visit, struct departures *departures)
{
    size_t found = 0;
    *departures = (struct departures){visit, profile, need(MOST, sizeof *departures->rows), 0};
    bb_status status = bb_departures(predictor, visit, MOST, departures->rows, &found);
    departures->count = found < MOST ? found : MOST;
    return status;
}

void departures_free(struct departures *departures)
{
    free(departures->rows);
}

static mark_kind mark_of_zone(int zone)
{
    static const mark_kind marks[ZONES_NAMED] = {MARK_DISC, MARK_RING, MARK_SQUARE, MARK_TRIANGLE};
    return zone == BB_ZONE_AIR ? MARK_CROSS : marks[zone % ZONES_NAMED];
}

static void draw_keys(struct flow *flow, const bb_profile *profile)
{
    const text_style plain = {.size = flow->size};
    double x = flow->x;
    for (int zone = BB_ZONE_AIR; zone < (int)profile->zone_count && zone < ZONES_NAMED; zone++) {
        const char *name = zone_or_air(profile->zones, zone);
        const double wide = page_text_width(flow->page, plain, name) + 4 * flow->size;
        if (x + wide > flow->x + flow->width && x > flow->x) {
            x = flow->x;
            flow->y += page_line_height(flow->page, plain);
        }
        (void)mark_key(flow->page, mark_of_zone(zone), x, flow->y, flow->size, name);
        x += wide;
    }
    flow->y += page_line_height(flow->page, plain);
}

void draw_departures(struct flow *flow, const struct departures *departures)
{
    const bb_machine *machine = &departures->profile->machine;
    const panel_kind kind = {
        .title = "What was read, off what was expected",
        .across = "expected number",
        .up = "off, in standard deviations (beyond 5: drawn at 5)",
        .across_from = machine->scale_low,
        .across_to = machine->scale_high,
        .up_from = -FARTHEST - 0.5,
        .up_to = FARTHEST + 0.5,
        .across_step = machine->scale_step,
        .up_step = 1,
    };
    const struct panel panel =
        panel_begin(flow->page, &kind, flow->x, flow->y, flow->width, HIGH, flow->size);
    for (int level = -2; level <= 2; level += 2)
        panel_level(&panel, level);
    for (size_t i = 0; i < departures->count; i++) {
        const bb_departure *row = &departures->rows[i];
        panel_mark(&panel, mark_of_zone(departures->visit->cells[row->cell].zone), row->expected,
                   fmax(fmin(row->off, FARTHEST), -FARTHEST));
    }
    flow->y += HIGH;
    draw_keys(flow, departures->profile);
}
