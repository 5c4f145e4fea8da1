/* A check in pictures. */
#include "plot_check.h"

#include "band_words.h"
#include "draw_plot.h"
#include "out.h"
#include "reject_words.h"

#include <math.h>
#include <stdlib.h>

#define HIGH 190.0

/* ---------------------------------------------------------------- trade-off */

/* A letter for the index-th setting of the trade-off. */
static void put_letter(char letter[2], size_t index)
{
    letter[0] = (char)('a' + index);
    letter[1] = '\0';
}

static void draw_settings(struct flow *flow, const struct check_plot *plot)
{
    const bb_reject *reject = plot->reject;
    for (size_t i = 0; i <= reject->frontier_count; i++) {
        const bool asked = i == reject->frontier_count;
        const bb_reject_score *score = asked ? plot->asked : &reject->frontier[i];
        char letter[2], bands[BANDS_BYTES], quiet[16], loss[16];
        put_letter(letter, i);
        flow_body(flow, asked ? "checked" : letter,
                  need_text("reject %s: %s quiet, %s lost", bands_words(bands, &score->bands),
                            share_words(quiet, score->worst_silence),
                            share_words(loss, score->worst_loss)));
    }
}

static double most_lost(const struct check_plot *plot)
{
    double most = fmax(2 * plot->reject->max_loss, plot->asked->worst_loss);
    for (size_t i = 0; i < plot->reject->frontier_count; i++)
        most = fmax(most, plot->reject->frontier[i].worst_loss);
    return fmin(100 * most + 3, 102);
}

static void draw_trade_off(struct flow *flow, const struct check_plot *plot)
{
    const bb_reject *reject = plot->reject;
    const panel_kind kind = {
        .title = "Trade-off: the fewest numbers for each silence, whatever they cost",
        .across = "sweeps over the kept piece that loses most, lost, %",
        .up = "bare sweeps that stay silent in the loudest zone, %",
        .across_from = 0,
        .across_to = most_lost(plot),
        .up_from = 0,
        .up_to = 100,
        .across_step = 1,
        .up_step = 1,
    };
    const struct panel panel =
        panel_begin(flow->page, &kind, flow->x, flow->y, flow->width, HIGH, PLOT_SIZE);
    double lost[16], silent[16];
    size_t count = 0;
    panel_level(&panel, 100 * reject->quiet);
    panel_upright(&panel, 100 * reject->max_loss);
    for (; count < reject->frontier_count && count < 16; count++) {
        lost[count] = 100 * reject->frontier[count].worst_loss;
        silent[count] = 100 * reject->frontier[count].worst_silence;
    }
    panel_line(&panel, lost, silent, count, true);
    for (size_t i = 0; i < count; i++)
        panel_mark(&panel, MARK_RING, lost[i], silent[i]);
    panel_mark(&panel, MARK_DISC, 100 * plot->asked->worst_loss, 100 * plot->asked->worst_silence);
    flow->y += HIGH;
    double x = flow->x;
    x += mark_key(flow->page, MARK_RING, x, flow->y, PLOT_SIZE,
                  "trade-off, a at the lower end") +
         2 * PLOT_SIZE;
    x += mark_key(flow->page, MARK_DISC, x, flow->y, PLOT_SIZE, "checked") + 2 * PLOT_SIZE;
    (void)page_line(flow->page, x, flow->y, (text_style){.size = PLOT_SIZE},
                    "dotted: what is wanted");
    flow->y += 1.6 * PLOT_SIZE;
    draw_settings(flow, plot);
}

/* ---------------------------------------------------------------- what sounded */

static double most_sounded(const struct check_plot *plot)
{
    const bb_check_setting *asked = &plot->check->settings[0];
    double most = 2 * (1 - plot->reject->quiet);
    for (size_t z = 0; z < asked->zone_count; z++)
        if (asked->zones[z].bare_sweeps > 0)
            most = fmax(most, asked->zones[z].sounded_high);
    return fmin(100 * most + 2, 100);
}

static void draw_sounded(struct flow *flow, const struct check_plot *plot)
{
    const bb_check_setting *asked = &plot->check->settings[0];
    const panel_kind kind = {
        .title = "What sounded on bare sand, with exact 95 % limits",
        .across = "zone",
        .up = "bare sweeps that sounded, %",
        .across_from = 0.5,
        .across_to = (double)asked->zone_count + 0.5,
        .up_from = 0,
        .up_to = most_sounded(plot),
        .across_step = 1,
        .up_step = 1,
    };
    const struct panel panel =
        panel_begin(flow->page, &kind, flow->x, flow->y, flow->width, HIGH, PLOT_SIZE);
    char *names = need_text("%s", "");
    panel_level(&panel, 100 * (1 - plot->reject->quiet));
    for (size_t z = 0; z < asked->zone_count; z++) {
        const bb_check_zone *zone = &asked->zones[z];
        phrase swept;
        names = need_longer(names, "%s%zu\u00a0%s, %s", z > 0 ? "; " : "", z + 1,
                            plot->profile->zones[zone->zone].name,
                            counted(&swept, zone->bare_sweeps, "bare sweep", "bare sweeps"));
        if (zone->bare_sweeps == 0)
            continue;
        panel_bar(&panel, (double)z + 1, 100 * zone->sounded_low, 100 * zone->sounded_high);
        panel_mark(&panel, MARK_DISC, (double)z + 1, 100 * zone->sounded / zone->bare_sweeps);
    }
    flow->y += HIGH;
    flow_body(flow, NULL, need_longer(names, ". Dotted: what may sound."));
}

/* ---------------------------------------------------------------- the whole */

static void draw_sections(struct flow *flow)
{
    const struct check_plot *plot = flow->of;
    draw_trade_off(flow, plot);
    flow_gap(flow, 1.5);
    draw_sounded(flow, plot);
    flow_gap(flow, 1.5);
    draw_departures(flow, &plot->fresh);
}

outcome plot_check(page_format format, const struct check_plot *plot, struct page *drawn)
{
    char bands[BANDS_BYTES];
    return plot_page(
        format, need_text("Check of the setting %s", bands_words(bands, &plot->asked->bands)),
        "The trade-off, what sounded on bare sand, and what was read off what was expected.",
        draw_sections, plot, drawn);
}
