/* Whether the texts of a page can all be read. */
#include "text_boxes.h"

#include <check.h>

void check_none_cut(const struct page *page, const char *title)
{
    const double margin = 0.02 * page->kind.width;
    ck_assert_uint_gt(page->box_count, 0);
    for (size_t i = 0; i < page->box_count; i++) {
        const text_box *box = &page->boxes[i];
        ck_assert_msg(box->x >= margin && box->y >= margin &&
                          box->x + box->width <= page->kind.width - margin &&
                          box->y + box->height <= page->kind.height - margin,
                      "%s: cut: '%s' at %.1f,%.1f, %.1f by %.1f", title, box->text, box->x, box->y,
                      box->width, box->height);
    }
}

static double shared(double a, double a_length, double b, double b_length)
{
    const double from = a > b ? a : b;
    const double to = a + a_length < b + b_length ? a + a_length : b + b_length;
    return to - from;
}

void check_none_over_another(const struct page *page, const char *title)
{
    for (size_t i = 0; i < page->box_count; i++)
        for (size_t j = 0; j < i; j++) {
            const text_box *a = &page->boxes[i], *b = &page->boxes[j];
            ck_assert_msg(shared(a->x, a->width, b->x, b->width) <= 0.01 ||
                              shared(a->y, a->height, b->y, b->height) <= 0.01,
                          "%s: '%s' stands over '%s'", title, a->text, b->text);
        }
}
