/* An axis of numbers: where its ticks stand. */
#include "draw_axis.h"

#include <math.h>
#include <stdio.h>

enum { TICK = 3 };

double axis_at(const struct axis *axis, double number)
{
    return axis->start + (number - axis->from) / (axis->to - axis->from) * axis->length;
}

/* The distance of ticks that gives each label room points: 1, 2 or 5 times a power of ten, and at
 * least least. */
static double axis_step(const struct axis *axis, double room, double least)
{
    const double wanted = fmax(room / fabs(axis->length) * (axis->to - axis->from), least);
    const double power = pow(10, floor(log10(wanted * (1 + 1e-9))));
    static const double steps[] = {1, 2, 5};
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (steps[i] * power >= wanted * (1 - 1e-9))
            return steps[i] * power;
    return 10 * power;
}

static void tick_text(char *text, size_t size, double number, double step)
{
    const int decimals = step < 1 ? (int)ceil(-log10(step) - 1e-9) : 0;
    (void)snprintf(text, size, "%.*f", decimals, number + 0.0);
}

static double first_tick(const struct axis *axis, double step)
{
    return ceil(axis->from / step - 1e-9) * step;
}

double axis_below(struct page *page, const struct axis *axis, double y, double size,
                  double least_step)
{
    const text_style style = {.size = size, .align = ALIGN_CENTRE};
    char widest[32], text[32];
    tick_text(widest, sizeof widest, axis->to, 1);
    tick_text(text, sizeof text, axis->from, 1);
    const double room =
        fmax(page_text_width(page, style, widest), page_text_width(page, style, text)) + 2 * size;
    const double step = axis_step(axis, room, least_step);
    page_rule(page, axis->start, y, axis->start + axis->length, y, 0.6);
    for (double at = first_tick(axis, step); at <= axis->to + 1e-9 * step; at += step) {
        tick_text(text, sizeof text, fabs(at) < 1e-9 * step ? 0 : at, step);
        page_rule(page, axis_at(axis, at), y, axis_at(axis, at), y + TICK, 0.6);
        page_line(page, axis_at(axis, at), y + TICK, style, text);
    }
    return TICK + page_line_height(page, style);
}

double axis_left(struct page *page, const struct axis *axis, double x, double size,
                 double least_step)
{
    const text_style style = {.size = size, .align = ALIGN_RIGHT};
    const double high = page_line_height(page, style);
    const double step = axis_step(axis, 1.6 * high, least_step);
    double widest = 0;
    page_rule(page, x, axis->start, x, axis->start + axis->length, 0.6);
    for (double at = first_tick(axis, step); at <= axis->to + 1e-9 * step; at += step) {
        char text[32];
        tick_text(text, sizeof text, fabs(at) < 1e-9 * step ? 0 : at, step);
        page_rule(page, x - TICK, axis_at(axis, at), x, axis_at(axis, at), 0.6);
        widest =
            fmax(widest, page_line(page, x - TICK - 2, axis_at(axis, at) - high / 2, style, text));
    }
    return TICK + 2 + widest;
}
