/* The sheet to write on and the lesson: every text to be read, whatever there is to sweep. */
#include "../../cli/draw_lesson.h"
#include "../../cli/draw_sheet.h"
#include "text_boxes.h"

#include <check.h>
#include <string.h>

static const bb_machine machine = {.name = "shared set", .settings = "quick, gain 7"};
static const bb_machine nameless;
static const bb_beach dated = {.date = "2026-05-09",
                               .low_water_min = 14 * 60 + 10,
                               .turn_back_min = 15 * 60,
                               .swing_height_m = 0.05};
static const bb_beach undated = {
    .low_water_min = -1, .turn_back_min = -1, .swing_height_m = 0.05, .swing_height_assumed = true};

static char long_name[] =
    "the bar beyond the second groyne: half a fine chain, its clasp still shut";
static char short_name[] = "wet: sand", how[] = "on the sand, coil at 15 cm";
static char times[] =
    "About 12 minutes at home and 48 minutes on the sand. Turn back at 15:00: begin "
    "on the sand by 14:12.";

static void check_sheet(const char *title, const bb_machine *with, const bb_beach *beach,
                        size_t stops, int boxes)
{
    enum { MOST = 40 };
    struct sheet_row rows[MOST];
    for (size_t i = 0; i < stops; i++)
        rows[i] = (struct sheet_row){i % 3 == 0 ? long_name : short_name, how, boxes};
    const struct sheet sheet = {with, beach, times, rows, stops};
    const page_kind kind = sheet_page("t", "d");
    struct page page;
    ck_assert_int_eq(page_begin(PAGE_PDF, &kind, &page), OUTCOME_DONE);
    draw_sheet(&page, &sheet);
    check_none_cut(&page, title);
    check_none_over_another(&page, title);
    page_free(&page);
}

START_TEST(a_sheet_is_one_page_whatever_is_planned)
{
    check_sheet("one stop", &machine, &dated, 1, 15);
    check_sheet("a usual plan", &nameless, &undated, 12, 8);
    check_sheet("forty stops", &machine, &dated, 40, 10);
    check_sheet("no stop", &nameless, &undated, 0, 0);
}
END_TEST

static void check_lesson(const char *title, size_t rounds, size_t pieces)
{
    static char shown[] = "-17 -18 -17", answer[] = "half a fine chain, 14 cm deep: dig";
    static char things[] = "bare sand, stud, thin ring, wide ring, silver coin, grey coin, foil";
    struct lesson_round round[12];
    struct lesson_piece piece[12];
    for (size_t i = 0; i < rounds; i++)
        round[i] = (struct lesson_round){shown, answer};
    for (size_t i = 0; i < pieces; i++)
        piece[i] = (struct lesson_piece){i == 0 ? long_name : short_name, answer};
    const struct lesson lesson = {
        "the bar beyond the second groyne", things, shown, 2, round, rounds, piece, pieces};
    const page_kind kind = lesson_page("t", "d");
    struct page page;
    ck_assert_int_eq(page_begin(PAGE_SVG, &kind, &page), OUTCOME_DONE);
    draw_lesson(&page, &lesson);
    check_none_cut(&page, title);
    check_none_over_another(&page, title);
    page_free(&page);
}

START_TEST(a_lesson_is_one_page_with_its_answers_apart)
{
    check_lesson("usual", 8, 6);
    check_lesson("full", 12, 12);
    check_lesson("without a kit", 6, 0);
}
END_TEST

Suite *suite_sheets(void);
Suite *suite_sheets(void)
{
    Suite *suite = suite_create("sheets");
    TCase *tests = tcase_create("sheets");
    tcase_add_test(tests, a_sheet_is_one_page_whatever_is_planned);
    tcase_add_test(tests, a_lesson_is_one_page_with_its_answers_apart);
    suite_add_tcase(suite, tests);
    return suite;
}
