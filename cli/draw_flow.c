/* Sections that follow each other down a page. */
#include "draw_flow.h"

#include "cautions.h"

#include <math.h>
#include <stdlib.h>

void flow_text(struct flow *flow, text_style style, const char *lead, char *text)
{
    flow->y += page_text(flow->page, flow->x, flow->y, flow->width, style, lead, text);
    free(text);
}

void flow_body(struct flow *flow, const char *lead, char *text)
{
    flow_text(flow, (text_style){.size = flow->size}, lead, text);
}

void flow_small(struct flow *flow, const char *lead, char *text)
{
    flow_text(flow, (text_style){.size = 0.88 * flow->size}, lead, text);
}

void flow_strong(struct flow *flow, char *text)
{
    flow_text(flow, (text_style){.size = flow->size, .bold = true}, NULL, text);
}

void flow_gap(struct flow *flow, double lines)
{
    flow->y += lines * flow->size;
}

void flow_rule(struct flow *flow)
{
    flow_gap(flow, 0.45);
    page_rule(flow->page, flow->x, flow->y, flow->x + flow->width, flow->y, 0.8);
    flow_gap(flow, 0.35);
}

void flow_spread(struct flow *flow, char **texts, size_t count)
{
    text_style style = {1.2 * flow->size, true, ALIGN_LEFT};
    double room;
    do {
        style.size *= 0.98;
        room = flow->width;
        for (size_t i = 0; i < count; i++)
            room -= page_text_width(flow->page, style, texts[i]);
    } while (room < (double)(count - 1) * style.size && style.size > 1);
    double x = flow->x;
    for (size_t i = 0; i < count; i++) {
        x += page_line(flow->page, x, flow->y, style, texts[i]) + room / (double)(count - 1);
        free(texts[i]);
    }
    flow->y += page_line_height(flow->page, style);
}

void flow_beside(struct flow *flow, void (*left)(struct flow *), void (*right)(struct flow *))
{
    if (flow->width < 40 * flow->size) {
        left(flow);
        flow_gap(flow, 0.5);
        right(flow);
        return;
    }
    struct flow half = *flow, other = *flow;
    half.width = other.width = (flow->width - 1.5 * flow->size) / 2;
    other.x += flow->width - other.width;
    left(&half);
    right(&other);
    flow->y = fmax(half.y, other.y);
}

void flow_cautions(struct flow *flow)
{
    for (const caution *row = cautions; row->heading != NULL; row++)
        flow_small(flow, row->heading, need_text("%s", row->sentence));
}

char *time_words(const char *label, int minutes)
{
    return minutes < 0 ? need_text("%s __:__", label)
                       : need_text("%s %d:%02d", label, minutes / 60, minutes % 60);
}
