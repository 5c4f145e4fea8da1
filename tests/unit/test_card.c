/* The card's layout: every text on the page, none over another, the setting large, the same bytes
 * for the same input. */
#include "sample_card.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void draw(const sample *from, bool phone, page_format format, struct page *page)
{
    struct made_card made;
    sample_make(from, &made);
    const page_kind kind = card_page(phone, "A card <for> \"one\" & all", "What it says");
    ck_assert_int_eq(page_begin(format, &kind, page), OUTCOME_DONE);
    draw_card(page, &made.card);
    sample_free(&made);
}

static void for_every_page(void (*test)(const struct page *, const char *))
{
    for (size_t i = 0; i < sample_count; i++)
        for (int phone = 0; phone < 2; phone++) {
            struct page page;
            char title[80];
            (void)snprintf(title, sizeof title, "%s%s", samples[i].title, phone ? ", phone" : "");
            draw(&samples[i], phone, PAGE_SVG, &page);
            test(&page, title);
            page_free(&page);
        }
}

static void all_on_page(const struct page *page, const char *title)
{
    const double margin = 0.02 * page->kind.width;
    ck_assert_uint_gt(page->box_count, 20);
    for (size_t i = 0; i < page->box_count; i++) {
        const text_box *box = &page->boxes[i];
        ck_assert_msg(box->x >= margin && box->y >= margin &&
                          box->x + box->width <= page->kind.width - margin &&
                          box->y + box->height <= page->kind.height - margin,
                      "%s: cut: '%s' at %.1f,%.1f, %.1f by %.1f", title, box->text, box->x, box->y,
                      box->width, box->height);
    }
}

START_TEST(no_text_is_cut)
{
    for_every_page(all_on_page);
}
END_TEST

static double shared(double a, double a_length, double b, double b_length)
{
    const double from = a > b ? a : b;
    const double to = a + a_length < b + b_length ? a + a_length : b + b_length;
    return to - from;
}

static void none_over_another(const struct page *page, const char *title)
{
    for (size_t i = 0; i < page->box_count; i++)
        for (size_t j = 0; j < i; j++) {
            const text_box *a = &page->boxes[i], *b = &page->boxes[j];
            ck_assert_msg(shared(a->x, a->width, b->x, b->width) <= 0.01 ||
                              shared(a->y, a->height, b->y, b->height) <= 0.01,
                          "%s: '%s' stands over '%s'", title, a->text, b->text);
        }
}

START_TEST(no_text_stands_over_another)
{
    for_every_page(none_over_another);
}
END_TEST

START_TEST(the_setting_is_by_far_the_largest)
{
    for (size_t i = 0; i < sample_count; i++) {
        struct page page;
        struct made_card made;
        sample_make(&samples[i], &made);
        char *setting = card_setting(&made.card);
        sample_free(&made);
        draw(&samples[i], false, PAGE_SVG, &page);
        double setting_high = 0, other_line = 0;
        for (size_t b = 0; b < page.box_count; b++)
            if (strcmp(page.boxes[b].text, setting) == 0)
                setting_high = fmax(setting_high, page.boxes[b].height);
            else if (strcmp(page.boxes[b].text, "REJECT") == 0)
                other_line = page.boxes[b].height;
        ck_assert_msg(setting_high > 2.5 * other_line, "%s: '%s' is %.1f points high",
                      samples[i].title, setting, setting_high);
        free(setting);
        page_free(&page);
    }
}
END_TEST

/* ---------------------------------------------------------------- bytes */

static char *written(const sample *from, page_format format, size_t *length)
{
    struct page page;
    char path[] = "/tmp/brineband-card-XXXXXX";
    int file = mkstemp(path);
    ck_assert_int_ge(file, 0);
    draw(from, false, format, &page);
    ck_assert_int_eq(page_write(&page, path), OUTCOME_DONE);
    FILE *stream = fopen(path, "rb");
    char *bytes = calloc(1 << 22, 1);
    ck_assert_ptr_nonnull(stream);
    ck_assert_ptr_nonnull(bytes);
    *length = fread(bytes, 1, (1 << 22) - 1, stream);
    (void)fclose(stream);
    (void)fclose(fdopen(file, "r"));
    (void)remove(path);
    return bytes;
}

START_TEST(the_same_input_gives_the_same_bytes)
{
    (void)setenv("SOURCE_DATE_EPOCH", "1778300000", 1);
    /* Cairo numbers an SVG's parts through the whole process: card.bats looks at those. */
    for (page_format format = PAGE_PDF; format <= PAGE_PNG; format++) {
        size_t first_length, second_length;
        char *first = written(&samples[0], format, &first_length);
        char *second = written(&samples[0], format, &second_length);
        ck_assert_uint_eq(first_length, second_length);
        ck_assert_int_eq(memcmp(first, second, first_length), 0);
        free(first);
        free(second);
    }
    (void)unsetenv("SOURCE_DATE_EPOCH");
}
END_TEST

START_TEST(an_svg_carries_its_title_and_description)
{
    size_t length;
    char *svg = written(&samples[0], PAGE_SVG, &length);
    ck_assert_ptr_nonnull(
        strstr(svg, "<title>A card &lt;for&gt; &quot;one&quot; &amp; all</title>"));
    ck_assert_ptr_nonnull(strstr(svg, "<desc>What it says</desc>"));
    ck_assert_ptr_nonnull(strstr(svg, "</svg>"));
    free(svg);
}
END_TEST

Suite *suite_card(void);
Suite *suite_card(void)
{
    Suite *suite = suite_create("card");
    TCase *tests = tcase_create("card");
    tcase_add_test(tests, no_text_is_cut);
    tcase_add_test(tests, no_text_stands_over_another);
    tcase_add_test(tests, the_setting_is_by_far_the_largest);
    tcase_add_test(tests, the_same_input_gives_the_same_bytes);
    tcase_add_test(tests, an_svg_carries_its_title_and_description);
    suite_add_tcase(suite, tests);
    return suite;
}
