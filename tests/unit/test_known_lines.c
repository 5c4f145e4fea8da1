/* Lines that were read before: found again with what they said, or forgotten, never mistaken. */
#include "known_lines.h"

#include <check.h>
#include <stdio.h>
#include <string.h>

enum { ENOUGH = 64, LONGEST = 55 }; /* lines from which on they are kept; bytes of one */

static bool known(const bb_known_lines *lines, const char *line, size_t *meaning)
{
    return bb_known_lines_find(lines, line, strlen(line), meaning);
}

START_TEST(lines_are_kept_from_the_sixty_fourth_on)
{
    bb_known_lines *lines = bb_known_lines_new();
    size_t meaning = 0;
    char line[32];
    ck_assert_ptr_nonnull(lines);
    for (size_t i = 1; i < ENOUGH; i++) {
        (void)snprintf(line, sizeof line, "wet,sand,,%zu", i);
        bb_known_lines_keep(lines, line, strlen(line), i);
        ck_assert(!known(lines, line, &meaning));
    }
    bb_known_lines_keep(lines, "wet,ring,5,34", 13, 17);
    ck_assert(known(lines, "wet,ring,5,34", &meaning));
    ck_assert_uint_eq(meaning, 17);
    ck_assert(!known(lines, "wet,ring,5,35", &meaning));
    ck_assert(!known(lines, "wet,ring,5,3", &meaning));
    bb_known_lines_free(lines);
}
END_TEST

START_TEST(empty_and_long_lines_are_never_kept)
{
    bb_known_lines *lines = bb_known_lines_new();
    size_t meaning = 0;
    char line[LONGEST + 2];
    ck_assert_ptr_nonnull(lines);
    for (size_t i = 0; i < ENOUGH; i++)
        bb_known_lines_keep(lines, "any", 3, i);
    for (size_t length = 0; length <= LONGEST + 1; length++) {
        memset(line, 'x', length);
        line[length] = '\0';
        bb_known_lines_keep(lines, line, length, length);
        ck_assert_int_eq(known(lines, line, &meaning), length > 0 && length <= LONGEST);
    }
    bb_known_lines_free(lines);
    bb_known_lines_free(NULL);
}
END_TEST

Suite *suite_known_lines(void);
Suite *suite_known_lines(void)
{
    Suite *suite = suite_create("known lines");
    TCase *tests = tcase_create("known lines");
    tcase_add_test(tests, lines_are_kept_from_the_sixty_fourth_on);
    tcase_add_test(tests, empty_and_long_lines_are_never_kept);
    suite_add_tcase(suite, tests);
    return suite;
}
