/* A first lesson on one page: guess, sweep, see. */
#include "draw_lesson.h"

#include "draw_flow.h"

#include <math.h>
#include <stdio.h>

#define MARGIN 40.0

page_kind lesson_page(const char *title, const char *description)
{
    return (page_kind){595.28, 841.89, 150 / 72.0, title, description};
}

/* ---------------------------------------------------------------- tables to write in */

typedef struct {
    const char *title;
    double share; /* of the width */
} column;

static double widths_before(const column *columns, size_t index)
{
    double share = 0;
    for (size_t i = 0; i < index; i++)
        share += columns[i].share;
    return share;
}

/* A row of cells: texts, or room to write where there is none. */
static void draw_row(struct flow *flow, const column *columns, size_t count,
                     const char *const *texts, bool bold)
{
    const double pad = 0.35 * flow->size;
    double high = bold ? 0 : 1.9 * flow->size;
    for (size_t i = 0; i < count; i++) {
        const text_style style = {.size = flow->size, .bold = bold};
        const double width = columns[i].share * flow->width - 2 * pad;
        high = fmax(high, page_text_height(flow->page, width, style, texts[i]) + 2 * pad);
    }
    for (size_t i = 0; i < count; i++) {
        const text_style style = {.size = flow->size, .bold = bold};
        const double x = flow->x + widths_before(columns, i) * flow->width;
        const double width = columns[i].share * flow->width;
        if (*texts[i] != '\0')
            (void)page_text(flow->page, x + pad, flow->y + pad, width - 2 * pad, style, NULL,
                            texts[i]);
        page_frame(flow->page, x, flow->y, width, high, 0.6);
    }
    flow->y += high;
}

static void draw_titles(struct flow *flow, const column *columns, size_t count)
{
    const char *titles[8];
    for (size_t i = 0; i < count; i++)
        titles[i] = columns[i].title;
    draw_row(flow, columns, count, titles, true);
}

static void draw_rounds(struct flow *flow)
{
    static const column columns[] = {{"", 0.06},
                                     {"The machine reads", 0.30},
                                     {"I guess it is", 0.44},
                                     {"I dig (yes, no)", 0.20}};
    const struct lesson *lesson = flow->of;
    draw_titles(flow, columns, 4);
    for (size_t i = 0; i < lesson->round_count; i++) {
        char number[24];
        (void)snprintf(number, sizeof number, "%zu", i + 1);
        draw_row(flow, columns, 4, (const char *const[]){number, lesson->rounds[i].shown, "", ""},
                 false);
    }
}

static void draw_pieces(struct flow *flow)
{
    static const column columns[] = {{"", 0.06},
                                     {"My piece", 0.26},
                                     {"In air I guess", 0.17},
                                     {"It reads", 0.17},
                                     {"On the sand I guess", 0.17},
                                     {"It reads", 0.17}};
    const struct lesson *lesson = flow->of;
    draw_titles(flow, columns, 6);
    for (size_t i = 0; i < lesson->piece_count; i++) {
        char letter[2] = {(char)('A' + i), '\0'};
        draw_row(flow, columns, 6,
                 (const char *const[]){letter, lesson->pieces[i].piece, "", "", "", ""}, false);
    }
}

/* ---------------------------------------------------------------- answers */

/* Answers run on in one paragraph, so that a glance at one does not give away the next. */
static char *answers(const struct lesson *lesson)
{
    char *text = need_text("%s", "");
    for (size_t i = 0; i < lesson->round_count; i++)
        text = need_longer(text, "%s%zu: %s.", i > 0 ? "  " : "", i + 1, lesson->rounds[i].answer);
    for (size_t i = 0; i < lesson->piece_count; i++)
        text = need_longer(text, "  %c: %s, %s.", (char)('A' + i), lesson->pieces[i].piece,
                           lesson->pieces[i].answer);
    return text;
}

/* Upside down at the foot of the page; returns how much of it they take. */
static double draw_answers(struct page *page, const struct lesson *lesson, double size)
{
    struct flow flow = {page, lesson, MARGIN, MARGIN, page->kind.width - 2 * MARGIN, size};
    page->upside_down = true;
    flow_small(&flow, "Answers", answers(lesson));
    page->upside_down = false;
    flow_gap(&flow, 1);
    page_dots(page, MARGIN, page->kind.height - flow.y, page->kind.width - MARGIN,
              page->kind.height - flow.y, 0.8);
    return flow.y;
}

/* ---------------------------------------------------------------- the whole */

static double lay_out(struct page *page, const struct lesson *lesson, double size)
{
    struct flow flow = {page, lesson, MARGIN, MARGIN, page->kind.width - 2 * MARGIN, size};
    flow_text(&flow, (text_style){.size = 2 * size, .bold = true}, NULL,
              need_text("Guess, sweep, see"));
    flow_gap(&flow, 0.4);
    flow_body(&flow, NULL,
              need_text("A metal finder shows one number for what lies below. Wet salt sand has a "
                        "number of its own and pulls every other number towards it, the more the "
                        "deeper a piece lies. Nobody learns that from a list: guess first, then "
                        "look. Fold the foot of this page back before you begin."));
    flow_rule(&flow);
    flow_body(&flow, "1 Guess",
              need_text("Readings invented from this beach, zone %s: some sweeps over each thing. "
                        "What is it, and would you dig? It may be %s. Bare sand here reads %s nine "
                        "times in ten.",
                        lesson->zone, lesson->things, lesson->sand));
    flow_gap(&flow, 0.5);
    draw_rounds(&flow);
    flow_rule(&flow);
    flow_body(&flow, "2 Sweep",
              need_text("Your own pieces, on a clean spot. Write your guess before you sweep; read "
                        "in air, coil 10 cm off, then with the piece on the sand."));
    flow_gap(&flow, 0.5);
    draw_pieces(&flow);
    flow_rule(&flow);
    flow_body(
        &flow, "3 See",
        need_text("Unfold. Count a point for each right dig and each right leave, and one for "
                  "each number guessed within %d. Small gold and foil of its size share their "
                  "numbers: nobody parts them without a hole. Fill it.",
                  lesson->near));
    flow_gap(&flow, 0.8);
    return flow.y + draw_answers(page, lesson, size);
}

void draw_lesson(struct page *page, const struct lesson *lesson)
{
    double size = 12;
    page->drawing = false;
    while (size > 3 && lay_out(page, lesson, size) > page->kind.height)
        size *= 0.98;
    page->drawing = true;
    (void)lay_out(page, lesson, size);
}
