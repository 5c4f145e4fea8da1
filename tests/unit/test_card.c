/* The card's layout: every text on the page, none over another, the setting large, the same bytes
 * for the same input. */
#include "sample_card.h"
#include "text_boxes.h"

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

START_TEST(no_text_is_cut_or_stands_over_another)
{
    for (size_t i = 0; i < sample_count; i++)
        for (int phone = 0; phone < 2; phone++) {
            struct page page;
            char title[80];
            (void)snprintf(title, sizeof title, "%s%s", samples[i].title, phone ? ", phone" : "");
            draw(&samples[i], phone, PAGE_SVG, &page);
            check_none_cut(&page, title);
            check_none_over_another(&page, title);
            page_free(&page);
        }
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
    tcase_add_test(tests, no_text_is_cut_or_stands_over_another);
    tcase_add_test(tests, the_setting_is_by_far_the_largest);
    tcase_add_test(tests, the_same_input_gives_the_same_bytes);
    tcase_add_test(tests, an_svg_carries_its_title_and_description);
    suite_add_tcase(suite, tests);
    return suite;
}
