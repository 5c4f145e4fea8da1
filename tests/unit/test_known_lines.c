/* Lines that were read before: found again with what they said, or forgotten, never mistaken. */
#include "known_lines.h"

#include <check.h>
#include <stdio.h>
#include <string.h>

enum { ENOUGH = 64, KINDS = 3 }; /* lines from which on they are kept; kinds of each */

static bool known_as(const bb_known_lines *lines, const char *line, size_t kind, uint32_t *meaning)
{
    uint32_t like;
    return bb_known_lines_find(lines, line, strlen(line), kind, meaning, &like);
}

static bool known(const bb_known_lines *lines, const char *line, uint32_t *meaning)
{
    return known_as(lines, line, 0, meaning);
}

static bb_known_lines *lines_that_keep(void)
{
    bb_known_lines *lines = bb_known_lines_new(KINDS);
    ck_assert_ptr_nonnull(lines);
    for (size_t i = 0; i < ENOUGH; i++)
        bb_known_lines_keep(lines, "any", 3, 0, 5);
    return lines;
}

START_TEST(lines_are_kept_from_the_sixty_fourth_on)
{
    bb_known_lines *lines = bb_known_lines_new(KINDS);
    uint32_t meaning = 0;
    char line[32];
    ck_assert_ptr_nonnull(lines);
    for (size_t i = 1; i < ENOUGH; i++) {
        (void)snprintf(line, sizeof line, "wet,sand,,%zu", i);
        bb_known_lines_keep(lines, line, strlen(line), 0, (uint32_t)i);
        ck_assert(!known(lines, line, &meaning));
    }
    bb_known_lines_keep(lines, "wet,ring,5,34", 13, 0, 17);
    ck_assert(known(lines, "wet,ring,5,34", &meaning));
    ck_assert_uint_eq(meaning, 17);
    ck_assert(!known(lines, "wet,ring,5,35", &meaning));
    ck_assert(!known(lines, "wet,ring,5,3", &meaning));
    bb_known_lines_free(lines);
}
END_TEST

START_TEST(empty_and_long_lines_are_never_kept)
{
    bb_known_lines *lines = lines_that_keep();
    uint32_t meaning = 0;
    char line[BB_KNOWN_LINE_BYTES + 2];
    for (size_t length = 0; length <= BB_KNOWN_LINE_BYTES + 1; length++) {
        memset(line, 'x', length);
        line[length] = '\0';
        bb_known_lines_keep(lines, line, length, 0, (uint32_t)length);
        ck_assert_int_eq(known(lines, line, &meaning), length > 0 && length <= BB_KNOWN_LINE_BYTES);
    }
    bb_known_lines_free(lines);
    bb_known_lines_free(NULL);
}
END_TEST

START_TEST(each_kind_of_a_line_has_a_meaning_of_its_own)
{
    bb_known_lines *lines = lines_that_keep();
    uint32_t meaning = 0, like = 0;
    bb_known_lines_keep(lines, "wet,ring,5,34,", 14, 1, 17);
    ck_assert(!known_as(lines, "wet,ring,5,34,", 2, &meaning));
    bb_known_lines_keep(lines, "wet,ring,5,34,", 14, 2, 23);
    ck_assert(known_as(lines, "wet,ring,5,34,", 1, &meaning));
    ck_assert_uint_eq(meaning, 17);
    ck_assert(bb_known_lines_find(lines, "wet,ring,5,34,", 14, 2, &meaning, &like));
    ck_assert_uint_eq(meaning, 23);
    ck_assert_uint_eq(like, 17);
    bb_known_lines_keep(lines, "wet,ring,5,35,", 14, 0, UINT32_MAX); /* no number for it */
    ck_assert(!known_as(lines, "wet,ring,5,35,", 0, &meaning));
    bb_known_lines_free(lines);
}
END_TEST

START_TEST(a_line_that_takes_a_slot_takes_no_meaning_of_the_one_before)
{
    bb_known_lines *lines = lines_that_keep();
    uint32_t meaning = 0;
    char line[16];
    bb_known_lines_keep(lines, "first", 5, 1, 17);
    for (size_t i = 0; known_as(lines, "first", 1, &meaning); i++) {
        ck_assert_uint_lt(i, 1000000);
        (void)snprintf(line, sizeof line, "%zu", i);
        bb_known_lines_keep(lines, line, strlen(line), 0, 1);
        ck_assert(!known_as(lines, line, 1, &meaning));
    }
    bb_known_lines_free(lines);
}
END_TEST

Suite *suite_known_lines(void);
Suite *suite_known_lines(void)
{
    Suite *suite = suite_create("known lines");
    TCase *tests = tcase_create("known lines");
    tcase_add_test(tests, lines_are_kept_from_the_sixty_fourth_on);
    tcase_add_test(tests, empty_and_long_lines_are_never_kept);
    tcase_add_test(tests, each_kind_of_a_line_has_a_meaning_of_its_own);
    tcase_add_test(tests, a_line_that_takes_a_slot_takes_no_meaning_of_the_one_before);
    suite_add_tcase(suite, tests);
    return suite;
}
