/* The card: one page to carry on the beach. */
#include "draw_card.h"

#include "band_words.h"
#include "draw_flow.h"
#include "draw_ridge.h"
#include "out.h"
#include "reject_words.h"

#include <math.h>
#include <stdlib.h>

page_kind card_page(bool phone, const char *title, const char *description)
{
    page_kind kind = {419.53, 595.28, 300 / 72.0, title, description};
    if (phone)
        kind = (page_kind){300, 600, 3.6, title, description};
    return kind;
}

/* What the sections draw from. */
struct subject {
    const struct card *card;
    double row_height; /* of a ridge */
};

static const struct card *card_of(const struct flow *flow)
{
    return ((const struct subject *)flow->of)->card;
}

/* ---------------------------------------------------------------- top, and the setting */

static void draw_top(struct flow *flow)
{
    const struct card *card = card_of(flow);
    const char *date = card->profile->beach.date;
    phrase visits;
    char *texts[] = {card->profile->pooled_visits > 0
                         ? need_text("A club's %s", counted(&visits, card->profile->pooled_visits,
                                                            "visit", "visits"))
                         : need_text("%s", *date ? date : "____________"),
                     time_words("Low water", card->low_water_min),
                     time_words("Turn back", card->turn_back_min)};
    flow_spread(flow, texts, 3);
    flow_rule(flow);
    flow_body(flow, NULL, card_machine(card));
}

/* Is no band broken, and are all of them not too high? */
static bool setting_fits(const struct flow *flow, const char *text, double size, double high)
{
    const bb_bands *bands = &card_of(flow)->shown->bands;
    const text_style style = {size, true, ALIGN_CENTRE};
    for (int i = 0; i < bands->count; i++) {
        char band[BAND_BYTES];
        band_words(band, bands->band[i].low, bands->band[i].high);
        if (page_text_width(flow->page, style, band) > 0.95 * flow->width)
            return false;
    }
    return page_text_height(flow->page, flow->width, style, text) <= high;
}

static double setting_size(const struct flow *flow, const char *text, double high)
{
    double fits = flow->size, most = 0.78 * high;
    if (setting_fits(flow, text, most, high))
        return most;
    while (most - fits > 0.02 * fits) {
        const double middle = (fits + most) / 2;
        *(setting_fits(flow, text, middle, high) ? &fits : &most) = middle;
    }
    return fits;
}

/* As large as it fits, by its ink: digits fill neither the top nor the bottom of their line. */
static void draw_setting(struct flow *flow)
{
    const double high = 8.5 * flow->size;
    const text_style title = {1.3 * flow->size, true, ALIGN_LEFT};
    char *text = card_setting(card_of(flow));
    const text_style style = {setting_size(flow, text, high), true, ALIGN_CENTRE};
    flow_text(flow, title, NULL, need_text("REJECT"));
    flow_gap(flow, 0.2);
    double above, ink;
    page_text_ink(flow->page, flow->width, style, text, &above, &ink);
    const double top = flow->y - above;
    (void)page_text(flow->page, flow->x, top, flow->width, style, NULL, text);
    flow->y += ink;
    flow_gap(flow, 0.5);
    free(text);
    char *standing = card_standing(card_of(flow));
    if (*standing != '\0')
        flow_strong(flow, standing);
    else
        free(standing);
    flow_body(flow, NULL, card_dialled(card_of(flow)));
    flow_body(flow, "Quiet", card_quiet(card_of(flow)));
    flow_body(flow, "Price", card_price(card_of(flow)));
}

/* ---------------------------------------------------------------- ridges */

static void add_ridge(struct ridge_chart *chart, const double *p, double silenced, char *label,
                      char *instead)
{
    chart->rows = need_more(chart->rows, chart->count + 1, sizeof *chart->rows);
    chart->rows[chart->count++] = (struct ridge){label, card_share(silenced), p, instead};
}

static void add_pieces(const struct card *card, const size_t *rows, size_t count,
                       struct ridge_chart *chart)
{
    const bb_reject *reject = card->reject;
    for (size_t i = 0; i < count; i++) {
        const bb_reject_target *row = &reject->targets[rows[i]];
        add_ridge(chart, reject->loss + rows[i] * reject->numbers,
                  silenced_share(reject, card->shown, rows[i]),
                  reject->zone_count > 1
                      ? need_text("%s, %s", row->target.name, card->profile->zones[row->zone].name)
                      : need_text("%s", row->target.name),
                  NULL);
    }
}

static void draw_chart(struct flow *flow)
{
    const struct card *card = card_of(flow);
    const bb_reject *reject = card->reject;
    struct ridge_chart chart = {.machine = &card->profile->machine,
                                .rejected = &card->shown->bands,
                                .label_title =
                                    card->shown->bands.count > 0 ? "rejected" : "nothing rejected",
                                .note_title = "silenced"};
    for (size_t i = 0; i < card->sand_count; i++)
        add_ridge(&chart, reject->sand + card->sands[i] * reject->numbers,
                  card->shown->silenced[card->sands[i]],
                  need_text("bare sand, %s",
                            card->profile->zones[reject->zones[card->sands[i]].zone].name),
                  never_sounded(card->profile, reject->zones[card->sands[i]].zone));
    add_pieces(card, card->pieces, card->piece_count, &chart);
    add_pieces(card, card->foils, card->foil_count, &chart);
    flow->y += draw_ridges(flow->page, &chart, flow->x, flow->y, flow->width,
                           ((const struct subject *)flow->of)->row_height, flow->size);
    for (size_t i = 0; i < chart.count; i++) {
        free(chart.rows[i].label);
        free(chart.rows[i].note);
        free(chart.rows[i].instead);
    }
    free(chart.rows);
}

/* ---------------------------------------------------------------- below */

static void draw_groups(struct flow *flow)
{
    const bb_number_ranges *ranges = card_of(flow)->ranges;
    const text_style style = {.size = flow->size};
    char band[BAND_BYTES];
    double label = 0;
    flow_strong(flow, need_text("Number, and chances in ten"));
    for (size_t i = 0; i < ranges->count; i++)
        label =
            fmax(label,
                 page_text_width(flow->page, style,
                                 band_words(band, ranges->ranges[i].low, ranges->ranges[i].high)));
    label += 1.5 * flow->size;
    for (size_t i = 0; i < ranges->count; i++) {
        char *text = card_chances(card_of(flow), i);
        band_words(band, ranges->ranges[i].low, ranges->ranges[i].high);
        (void)page_line(flow->page, flow->x, flow->y, style, band);
        flow->y +=
            page_text(flow->page, flow->x + label, flow->y, flow->width - label, style, NULL, text);
        free(text);
    }
}

static void draw_masked(struct flow *flow)
{
    const struct card *card = card_of(flow);
    flow_strong(flow, need_text("Too deep to hear"));
    for (size_t i = 0; i < card->sand_count; i++)
        flow_body(flow, card->profile->zones[card->reject->zones[card->sands[i]].zone].name,
                  card_masked(card, card->sands[i]));
    flow_body(flow, NULL, need_text("Lost to the salt, whatever is rejected."));
}

static void draw_recheck(struct flow *flow)
{
    flow_strong(flow, need_text("Recheck in two minutes"));
    flow_body(flow, NULL, card_recheck(card_of(flow)));
}

static void draw_stale(struct flow *flow)
{
    flow_strong(flow, need_text("This card is stale after"));
    flow_body(
        flow, NULL,
        need_text("another setting or ground balance, another coil, another zone, a storm or a "
                  "new cut in the sand."));
}

static void draw_numbers(struct flow *flow)
{
    flow_beside(flow, draw_groups, draw_masked);
}

static void draw_trust(struct flow *flow)
{
    flow_beside(flow, draw_recheck, draw_stale);
}

static void draw_cautions(struct flow *flow)
{
    flow_cautions(flow);
    flow_gap(flow, 0.4);
    flow_small(flow, NULL, card_origin(card_of(flow)));
}

/* ---------------------------------------------------------------- the whole */

#define MARGIN 0.05 /* of the page's width */

/* Lay out from the top at one size of type; returns where it ends. */
static double lay_out(struct page *page, const struct card *card, double size, double row_height)
{
    static void (*const sections[])(struct flow *) = {
        draw_top,     draw_setting, flow_rule,  draw_chart, flow_rule,
        draw_numbers, flow_rule,    draw_trust, flow_rule,  draw_cautions};
    const double margin = MARGIN * page->kind.width;
    const struct subject subject = {card, row_height};
    struct flow flow = {page, &subject, margin, margin, page->kind.width - 2 * margin, size};
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++)
        sections[i](&flow);
    return flow.y;
}

/* How large the type, and how high a ridge: a row of so many lines, or of so many points. */
struct sizes {
    double type, row_lines, row_points;
};

static double end_at(struct page *page, const struct card *card, const struct sizes *sizes)
{
    const double row = sizes->row_points > 0 ? sizes->row_points : sizes->row_lines * sizes->type;
    return lay_out(page, card, sizes->type, row);
}

/* Make one of the sizes as large as the page holds, from what it is up to most. */
static void enlarge(struct page *page, const struct card *card, struct sizes *sizes, double *one,
                    double most)
{
    const double end = page->kind.height - MARGIN * page->kind.width;
    double fits = *one;
    for (*one = most; most - fits > 0.01 * most; *one = (fits + most) / 2)
        *(end_at(page, card, sizes) <= end ? &fits : &most) = *one;
    *one = fits;
}

void draw_card(struct page *page, const struct card *card)
{
    enum { LEAST = 2, SMALL = 8, LARGE = 11 }; /* points: below SMALL ridges give way */
    struct sizes sizes = {LEAST, 1.7, 0};
    page->drawing = false;
    enlarge(page, card, &sizes, &sizes.type, LARGE);
    if (sizes.type < SMALL) {
        sizes = (struct sizes){LEAST, 1.25, 0};
        enlarge(page, card, &sizes, &sizes.type, SMALL);
    }
    sizes.row_points = sizes.row_lines * sizes.type;
    enlarge(page, card, &sizes, &sizes.row_points, 4 * sizes.type);
    page->drawing = true;
    (void)end_at(page, card, &sizes);
}
