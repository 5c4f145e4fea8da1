/* Visits in a picture. */
#include "plot_history.h"

#include "band_words.h"
#include "draw_plot.h"
#include "out.h"
#include "reject_words.h"

#include <stdio.h>
#include <string.h>

#define HIGH 150.0
#define HALF_WIDE 0.3 /* of the grey for what is rejected, in visits */

typedef struct {
    const past_visit *visits;
    size_t count;
} series;

const char *past_visit_label(const past_visit *visit)
{
    return *visit->date != '\0' ? visit->date : visit->path;
}

size_t past_visit_zone(const past_visit *visit, const char *name)
{
    size_t z = 0;
    while (z < visit->zone_count && strcmp(visit->zones[z].name, name) != 0)
        z++;
    return z;
}

bool past_visit_first(const past_visit *visits, size_t i, const char *name)
{
    for (size_t j = 0; j < i; j++)
        if (past_visit_zone(&visits[j], name) < visits[j].zone_count)
            return false;
    return true;
}

/* ---------------------------------------------------------------- a zone */

static void draw_rejected(const struct panel *panel, const past_visit *visit, double at)
{
    const double step = visit->machine.scale_step, ends[] = {at - HALF_WIDE, at + HALF_WIDE};
    for (int b = 0; b < visit->bands.count; b++) {
        const double low = visit->bands.band[b].low - step / 2,
                     high = visit->bands.band[b].high + step / 2;
        panel_band(panel, ends, (const double[]){low, low}, (const double[]){high, high}, 2);
    }
}

static void draw_zone(struct flow *flow, const series *of, const char *name)
{
    const bb_machine *machine = &of->visits[0].machine;
    char *title = need_text("What bare %s sand reads", name);
    const panel_kind kind = {
        .title = title,
        .across = "visit",
        .up = "number",
        .across_from = 0.5,
        .across_to = (double)of->count + 0.5,
        .up_from = machine->scale_low,
        .up_to = machine->scale_high,
        .across_step = 1,
        .up_step = machine->scale_step,
    };
    const struct panel panel =
        panel_begin(flow->page, &kind, flow->x, flow->y, flow->width, HIGH, PLOT_SIZE);
    for (size_t i = 0; i < of->count; i++) {
        const past_visit *visit = &of->visits[i];
        const size_t z = past_visit_zone(visit, name);
        draw_rejected(&panel, visit, (double)i + 1);
        if (z == visit->zone_count)
            continue;
        panel_bar(&panel, (double)i + 1, visit->sand[z].low, visit->sand[z].high);
        panel_mark(&panel, visit->bare[z] > 0 ? MARK_DISC : MARK_RING, (double)i + 1,
                   visit->sand[z].mean);
    }
    free(title);
    flow->y += HIGH;
    flow_gap(flow, 0.8);
}

/* ---------------------------------------------------------------- the whole */

static void draw_visits(struct flow *flow, const series *of)
{
    double x = flow->x;
    x += mark_key(flow->page, MARK_DISC, x, flow->y, PLOT_SIZE, "swept bare") + 2 * PLOT_SIZE;
    x += mark_key(flow->page, MARK_RING, x, flow->y, PLOT_SIZE, "not swept bare, from physics") +
         2 * PLOT_SIZE;
    (void)page_line(flow->page, x, flow->y, (text_style){.size = PLOT_SIZE},
                    "bar: nine readings in ten; grey: to be rejected");
    flow->y += 1.8 * PLOT_SIZE;
    for (size_t i = 0; i < of->count; i++) {
        char bands[BANDS_BYTES], number[24];
        (void)snprintf(number, sizeof number, "%zu", i + 1);
        flow_body(flow, number,
                  need_text("%s: reject %s (%s)", past_visit_label(&of->visits[i]),
                            bands_words(bands, &of->visits[i].bands),
                            verdict_name(of->visits[i].verdict)));
    }
}

static void draw_sections(struct flow *flow)
{
    const series *of = flow->of;
    for (size_t i = 0; i < of->count; i++)
        for (size_t z = 0; z < of->visits[i].zone_count; z++)
            if (past_visit_first(of->visits, i, of->visits[i].zones[z].name))
                draw_zone(flow, of, of->visits[i].zones[z].name);
    draw_visits(flow, of);
}

outcome plot_history(page_format format, const past_visit *visits, size_t count, struct page *drawn)
{
    const series of = {visits, count};
    phrase visits_words;
    return plot_page(
        format,
        need_text("The sand over %s", counted(&visits_words, (double)count, "visit", "visits")),
        "What bare sand read at each visit, and which numbers were to be rejected.", draw_sections,
        &of, drawn);
}
