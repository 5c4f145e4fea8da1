/* The sheet of a plan: where to go, what to sweep, and a box for every number read. */
#include "draw_sheet.h"

#include "draw_flow.h"
#include "sweeping.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MARGIN 34.0
#define LABEL 0.33  /* of the width: left of the boxes */
#define REMARK 24.0 /* points between lines to write on */

page_kind sheet_page(const char *title, const char *description)
{
    return (page_kind){595.28, 841.89, 150 / 72.0, title, description};
}

/* ---------------------------------------------------------------- top */

static char *or_room(const char *label, const char *text)
{
    return *text != '\0' ? need_text("%s %s", label, text)
                         : need_text("%s ________________", label);
}

static void draw_top(struct flow *flow)
{
    const struct sheet *sheet = flow->of;
    char *times[] = {*sheet->beach->date ? need_text("%s", sheet->beach->date)
                                         : need_text("Date ____________"),
                     time_words("Low water", sheet->beach->low_water_min),
                     time_words("Turn back", sheet->beach->turn_back_min)};
    flow_spread(flow, times, 3);
    flow_rule(flow);
    char *machine = or_room("Machine", sheet->machine->name);
    char *settings = or_room("Settings", sheet->machine->settings);
    flow_body(flow, NULL,
              need_text("%s    %s    Swing height %.2g\u00a0cm%s", machine, settings,
                        100 * sheet->beach->swing_height_m,
                        sheet->beach->swing_height_assumed ? " (or ____\u00a0cm)" : ""));
    free(machine);
    free(settings);
    flow_body(flow, NULL, need_text("%s", sheet->times));
    flow_rule(flow);
}

/* ---------------------------------------------------------------- boxes */

/* Lines of boxes, each as long as the others or one shorter. */
static double draw_boxes(struct flow *flow, int boxes, double side)
{
    const double room = fmax(floor((1 - LABEL) * flow->width / side), 1);
    const double lines = ceil(boxes / room), high = 0.8 * side;
    const int each = (int)ceil(boxes / lines);
    for (int i = 0; i < boxes; i++)
        page_frame(flow->page, flow->x + LABEL * flow->width + i % each * side,
                   flow->y + (double)(i / each) * high, side - 3, high - 3, 0.8);
    return lines * high;
}

static void draw_row(struct flow *flow, size_t index, double side)
{
    const struct sheet *sheet = flow->of;
    const struct sheet_row *row = &sheet->rows[index];
    const double indent = 2.2 * flow->size, width = LABEL * flow->width - indent - flow->size;
    const text_style bold = {.size = flow->size, .bold = true}, plain = {.size = flow->size};
    char number[24];
    (void)snprintf(number, sizeof number, "%zu", index + 1);
    (void)page_line(flow->page, flow->x, flow->y, bold, number);
    double label = page_text(flow->page, flow->x + indent, flow->y, width, bold, NULL, row->what);
    label += page_text(flow->page, flow->x + indent, flow->y + label, width, plain, NULL, row->how);
    flow->y += fmax(label, draw_boxes(flow, row->boxes, side)) + 0.35 * flow->size;
}

/* ---------------------------------------------------------------- the whole */

static void draw_how(struct flow *flow)
{
    const double indent = 2.2 * flow->size;
    const text_style plain = {.size = flow->size};
    flow_strong(flow, need_text("How to sweep"));
    for (size_t i = 0; sweeping[i] != NULL; i++) {
        char number[24];
        (void)snprintf(number, sizeof number, "%zu.", i + 1);
        (void)page_line(flow->page, flow->x, flow->y, plain, number);
        flow->y += page_text(flow->page, flow->x + indent, flow->y, flow->width - indent, plain,
                             NULL, sweeping[i]);
    }
}

/* Lines to write on, as many as have room. */
static void draw_remarks(struct flow *flow, double room)
{
    for (double y = REMARK; y < room; y += REMARK) {
        if (y == REMARK)
            (void)page_line(flow->page, flow->x, flow->y + y - 1.4 * flow->size,
                            (text_style){.size = flow->size}, "Remarks");
        page_rule(flow->page, flow->x, flow->y + y, flow->x + flow->width, flow->y + y, 0.4);
    }
    flow->y += floor(room / REMARK) * REMARK;
}

/* With remarks points of height for remarks; returns where it ends. */
static double lay_out(struct page *page, const struct sheet *sheet, double size, double side,
                      double remarks)
{
    struct flow flow = {page, sheet, MARGIN, MARGIN, page->kind.width - 2 * MARGIN, size};
    draw_top(&flow);
    for (size_t i = 0; i < sheet->count; i++)
        draw_row(&flow, i, side);
    draw_remarks(&flow, remarks);
    flow_rule(&flow);
    draw_how(&flow);
    flow_rule(&flow);
    flow_cautions(&flow);
    return flow.y;
}

/* Boxes to write in with cold hands come first; then the type shrinks with them. */
void draw_sheet(struct page *page, const struct sheet *sheet)
{
    const double end = page->kind.height - MARGIN;
    double size = 10, side = 44;
    page->drawing = false;
    while (side > 4 && lay_out(page, sheet, size, side, 0) > end) {
        side *= 0.97;
        size = fmin(size, fmax(0.34 * side, 0.25 * side + 1.5));
    }
    const double spare = end - lay_out(page, sheet, size, side, 0);
    page->drawing = true;
    (void)lay_out(page, sheet, size, side, fmax(spare, 0));
}
