/* Statuses in words, and the error record that keeps the first error. */
#include "status.h"

#include <check.h>
#include <string.h>

START_TEST(every_status_has_its_own_words)
{
    for (int a = BB_OK; a <= BB_MEMORY; a++) {
        ck_assert_int_gt((int)strlen(bb_status_text((bb_status)a)), 0);
        for (int b = BB_OK; b < a; b++)
            ck_assert_str_ne(bb_status_text((bb_status)a), bb_status_text((bb_status)b));
    }
    ck_assert_str_eq(bb_status_text((bb_status)(BB_MEMORY + 1)), "an unknown status");
    ck_assert_str_eq(bb_status_text((bb_status)-1), "an unknown status");
}
END_TEST

START_TEST(the_first_error_wins)
{
    bb_error error = {0};
    bb_error_at(&error, BB_INPUT, "kit.csv", 3, 2, "\"dics\"", "disc, ring, sphere or other");
    bb_error_say(&error, BB_MEMORY, "never seen");
    char text[256];
    int length = bb_error_text(&error, text, sizeof text);
    ck_assert_str_eq(text, "kit.csv:3:2: found \"dics\", accepted disc, ring, sphere or other");
    ck_assert_int_eq(length, (int)strlen(text));
    ck_assert_int_eq(error.status, BB_INPUT);
}
END_TEST

START_TEST(an_error_without_a_place_is_a_sentence)
{
    bb_error error = {0};
    ck_assert_int_eq(bb_error_say(&error, BB_TOO_LITTLE, "sweep %d more", 7), BB_TOO_LITTLE);
    char text[256];
    bb_error_text(&error, text, sizeof text);
    ck_assert_str_eq(text, "sweep 7 more");
}
END_TEST

START_TEST(no_record_is_no_trouble)
{
    ck_assert_int_eq(bb_error_say(NULL, BB_RANGE, "x"), BB_RANGE);
    ck_assert_int_eq(bb_error_at(NULL, BB_INPUT, "a", 1, 1, "b", "c"), BB_INPUT);
}
END_TEST

Suite *suite_status(void)
{
    Suite *suite = suite_create("status");
    TCase *group = tcase_create("status");
    tcase_add_test(group, every_status_has_its_own_words);
    tcase_add_test(group, the_first_error_wins);
    tcase_add_test(group, an_error_without_a_place_is_a_sentence);
    tcase_add_test(group, no_record_is_no_trouble);
    suite_add_tcase(suite, group);
    return suite;
}
