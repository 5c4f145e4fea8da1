/* Ridges: how often each thing shows each number, one above the other over one axis of numbers. */
#include "draw_ridge.h"

#include "band_words.h"
#include "draw_axis.h"
#include "draw_library.h"

#include <math.h>

#define SHOWN_SHARE 2e-3 /* of a ridge's peak: what is lower draws as nothing */
#define RIDGE_SHADE 0.82
enum { BRACKET = 5, GAP = 8 };

/* Where the columns stand. */
struct frame {
    double label_width, note_width;
    struct axis numbers;
};

static double peak_of(const double *p, size_t count)
{
    double peak = 0;
    for (size_t i = 0; i < count; i++)
        peak = fmax(peak, p[i]);
    return peak;
}

/* Only the stretch of the scale where something is read or rejected, a little wider. */
static void choose_stretch(const struct ridge_chart *chart, struct axis *numbers)
{
    const bb_machine *machine = chart->machine;
    const size_t count = bb_scale_count(machine);
    double low = machine->scale_high, high = machine->scale_low;
    for (size_t row = 0; row < chart->count; row++) {
        if (chart->rows[row].instead != NULL)
            continue;
        const double seen = SHOWN_SHARE * peak_of(chart->rows[row].p, count);
        for (size_t i = 0; i < count; i++) {
            const double number = bb_scale_number(machine, i);
            if (chart->rows[row].p[i] > seen) {
                low = fmin(low, number);
                high = fmax(high, number);
            }
        }
    }
    for (int i = 0; i < chart->rejected->count; i++) {
        low = fmin(low, chart->rejected->band[i].low);
        high = fmax(high, chart->rejected->band[i].high);
    }
    const double margin = fmax(2 * machine->scale_step, 0.04 * (high - low));
    numbers->from = fmax(fmin(low, high) - margin, machine->scale_low - machine->scale_step);
    numbers->to = fmin(fmax(low, high) + margin, machine->scale_high + machine->scale_step);
}

static double widest_of(struct page *page, const struct ridge_chart *chart, bool notes,
                        text_style style)
{
    text_style bold = style;
    bold.bold = true;
    double widest = page_text_width(page, bold, notes ? chart->note_title : chart->label_title);
    for (size_t i = 0; i < chart->count; i++)
        widest = fmax(widest, page_text_width(page, style,
                                              notes ? chart->rows[i].note : chart->rows[i].label));
    return widest;
}

static struct frame make_frame(struct page *page, const struct ridge_chart *chart, double x,
                               double width, text_style style)
{
    struct frame made = {
        .label_width = fmin(widest_of(page, chart, false, style), 0.34 * width),
        .note_width = fmin(widest_of(page, chart, true, style), 0.30 * width),
    };
    choose_stretch(chart, &made.numbers);
    made.numbers.start = x + made.label_width + GAP;
    made.numbers.length = width - made.label_width - made.note_width - 2 * GAP;
    return made;
}

/* ---------------------------------------------------------------- brackets */

/* The rejected numbers: half a step beyond either end. */
static void band_ends(const struct ridge_chart *chart, const struct frame *frame, int band,
                      double *left, double *right)
{
    const double half = 0.5 * chart->machine->scale_step;
    *left = axis_at(&frame->numbers, chart->rejected->band[band].low - half);
    *right = axis_at(&frame->numbers, chart->rejected->band[band].high + half);
}

static const char *band_of(const struct ridge_chart *chart, int band, char *text)
{
    return band_words(text, chart->rejected->band[band].low, chart->rejected->band[band].high);
}

/* Labels of brackets that would touch stand one above the other. Returns how high they all are. */
static double draw_brackets(struct page *page, const struct ridge_chart *chart,
                            const struct frame *frame, double y, text_style style)
{
    style.align = ALIGN_LEFT;
    style.bold = true;
    const double line = page_line_height(page, style);
    const double first = frame->numbers.start, last = first + frame->numbers.length;
    double ends[BB_BANDS_MAX], lefts[BB_BANDS_MAX];
    int level[BB_BANDS_MAX], levels = 0;
    char text[BAND_BYTES];
    for (int i = 0; i < chart->rejected->count; i++) {
        double left, right;
        band_ends(chart, frame, i, &left, &right);
        const double wide = page_text_width(page, style, band_of(chart, i, text));
        lefts[i] = fmin(fmax((left + right - wide) / 2, first), last - wide);
        for (level[i] = 0; level[i] < levels && ends[level[i]] + 4 > lefts[i]; level[i]++)
            ;
        levels = level[i] == levels ? levels + 1 : levels;
        ends[level[i]] = lefts[i] + wide;
    }
    for (int i = 0; i < chart->rejected->count; i++) {
        double left, right;
        band_ends(chart, frame, i, &left, &right);
        const double top = y + levels * line + 1;
        page_line(page, lefts[i], y + (levels - 1 - level[i]) * line, style,
                  band_of(chart, i, text));
        page_rule(page, left, top, right, top, 1.4);
        page_rule(page, left, top, left, top + BRACKET, 1.4);
        page_rule(page, right, top, right, top + BRACKET, 1.4);
    }
    return levels * line + 1 + BRACKET;
}

/* ---------------------------------------------------------------- rows */

static void draw_outline(struct page *page, const struct ridge_chart *chart,
                         const struct frame *frame, const struct ridge *row, double base,
                         double high)
{
    const size_t count = bb_scale_count(chart->machine);
    const double peak = peak_of(row->p, count);
    if (!page->drawing || !(peak > 0))
        return;
    draw.cairo_new_path(page->cairo);
    for (size_t i = 0; i < count; i++) {
        const double number = bb_scale_number(chart->machine, i);
        if (number >= frame->numbers.from && number <= frame->numbers.to)
            draw.cairo_line_to(page->cairo, axis_at(&frame->numbers, number),
                          base - high * row->p[i] / peak);
    }
    cairo_path_t *outline = draw.cairo_copy_path(page->cairo);
    double x, y;
    draw.cairo_get_current_point(page->cairo, &x, &y);
    draw.cairo_line_to(page->cairo, x, base);
    draw.cairo_line_to(page->cairo, frame->numbers.start, base);
    draw.cairo_close_path(page->cairo);
    draw.cairo_set_source_rgb(page->cairo, RIDGE_SHADE, RIDGE_SHADE, RIDGE_SHADE);
    draw.cairo_fill(page->cairo);
    draw.cairo_set_source_rgb(page->cairo, 0, 0, 0);
    draw.cairo_append_path(page->cairo, outline);
    draw.cairo_path_destroy(outline);
    draw.cairo_set_line_width(page->cairo, 1);
    draw.cairo_stroke(page->cairo);
}

/* At the left end of the axis, or at the right where a bracket's lines come down on the left. */
static void draw_instead(struct page *page, const struct ridge_chart *chart,
                         const struct frame *frame, const struct ridge *row, double base,
                         text_style style)
{
    const double wide = page_text_width(page, style, row->instead);
    double x = frame->numbers.start, left, right;
    for (int i = 0; i < chart->rejected->count; i++) {
        band_ends(chart, frame, i, &left, &right);
        if (left < frame->numbers.start + wide + GAP)
            x = frame->numbers.start + frame->numbers.length - wide;
    }
    page_line(page, x, base - page_line_height(page, style), style, row->instead);
}

/* A long label takes more lines, and its row more height. */
static double draw_row(struct page *page, const struct ridge_chart *chart,
                       const struct frame *frame, const struct ridge *row, double x, double y,
                       double row_height, text_style style)
{
    const double note_x = frame->numbers.start + frame->numbers.length + GAP;
    const text_style right = {.size = style.size, .align = ALIGN_RIGHT};
    const double label = page_text_height(page, frame->label_width, style, row->label);
    const double note = page_text_height(page, frame->note_width, right, row->note);
    const double high = fmax(row_height, fmax(label, note) + 1), base = y + high;
    page_text(page, x, base - label, frame->label_width, style, NULL, row->label);
    page_text(page, note_x, base - note, frame->note_width, right, NULL, row->note);
    if (row->instead != NULL)
        draw_instead(page, chart, frame, row, base - 1, style);
    else
        draw_outline(page, chart, frame, row, base - 1, 0.86 * row_height);
    page_rule(page, frame->numbers.start, base - 1, frame->numbers.start + frame->numbers.length,
              base - 1, 0.4);
    return high;
}

double draw_ridges(struct page *page, const struct ridge_chart *chart, double x, double y,
                   double width, double row_height, double size)
{
    const text_style style = {.size = size}, bold = {.size = size, .bold = true};
    const text_style right = {.size = size, .bold = true, .align = ALIGN_RIGHT};
    const struct frame frame = make_frame(page, chart, x, width, style);
    double at = y + draw_brackets(page, chart, &frame, y, style);
    const double top = at - BRACKET, titles = at - page_line_height(page, bold);
    page_line(page, x, fmax(titles, y), bold, chart->label_title);
    page_line(page, x + width, fmax(titles, y), right, chart->note_title);
    at = fmax(at, y + page_line_height(page, bold));
    for (size_t i = 0; i < chart->count; i++)
        at += draw_row(page, chart, &frame, &chart->rows[i], x, at, row_height, style);
    for (int i = 0; i < chart->rejected->count; i++) {
        double left, last;
        band_ends(chart, &frame, i, &left, &last);
        page_dots(page, left, top, left, at, 0.7);
        page_dots(page, last, top, last, at, 0.7);
    }
    return at + axis_below(page, &frame.numbers, at, size, chart->machine->scale_step) - y;
}
