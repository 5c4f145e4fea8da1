/* Names: the nearest one, finding one among many, and refusing one. */
#include "names.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char words[][BB_NAME_BYTES] = {"wet", "damp", "reading", "scale_high", "Perlé"};
enum { WORDS = sizeof words / sizeof *words };

START_TEST(the_nearest_name_differs_in_a_third_of_the_letters_at_most)
{
    static const struct {
        const char *word, *nearest;
    } cases[] = {
        {"wet", "wet"},
        {"WET", "wet"},
        {"wte", "wet"},
        {"wett", "wet"},
        {"we", "wet"},
        {"w", NULL},
        {"reding", "reading"},
        {"raeding", "reading"},
        {"rxaxdxnxg", NULL},
        {"scale_hight", "scale_high"},
        {"scale high", "scale_high"},
        {"", NULL},
        {"perle", "Perlé"},
        {"something else", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *got = bb_nearest_name(cases[i].word, words[0], WORDS, sizeof *words);
        ck_assert_msg((got == NULL) == (cases[i].nearest == NULL), "%s", cases[i].word);
        if (got != NULL)
            ck_assert_str_eq(got, cases[i].nearest);
    }
    ck_assert_ptr_null(bb_nearest_name("wet", NULL, 0, sizeof *words));
}
END_TEST

START_TEST(a_word_of_any_length_has_a_nearest_name_or_none)
{
    static char word[5000];
    memset(word, 'w', sizeof word - 1);
    ck_assert_ptr_null(bb_nearest_name(word, words[0], WORDS, sizeof *words));
}
END_TEST

START_TEST(every_name_of_a_full_list_is_found_by_its_index)
{
    char(*many)[BB_NAME_BYTES] = calloc(BB_INDEX_MAX, sizeof *many);
    bb_name_index *index = calloc(1, sizeof *index);
    ck_assert_ptr_nonnull(many);
    ck_assert_ptr_nonnull(index);
    bb_names names = BB_NAMES(many, BB_INDEX_MAX);
    for (size_t i = 0; i < BB_INDEX_MAX; i++) {
        (void)snprintf(many[i], sizeof many[i], "target %zu", i * i);
        ck_assert_int_eq(bb_name_index_find(index, &names, many[i]), -1);
        bb_name_index_add(index, &names, i);
    }
    for (size_t i = 0; i < BB_INDEX_MAX; i++)
        ck_assert_int_eq(bb_name_index_find(index, &names, many[i]), (long)i);
    ck_assert_int_eq(bb_name_index_find(index, &names, "target"), -1);
    free(many);
    free(index);
}
END_TEST

START_TEST(a_list_too_long_for_a_message_is_cut)
{
    char(*many)[BB_NAME_BYTES] = calloc(BB_TARGETS_MAX, sizeof *many);
    ck_assert_ptr_nonnull(many);
    for (size_t i = 0; i < BB_TARGETS_MAX; i++)
        (void)snprintf(many[i], sizeof many[i], "a name that takes some room %zu", i);
    bb_error error = {0};
    bb_place place = {&error, "kit.csv", 2, 1};
    bb_names names = BB_NAMES(many, BB_TARGETS_MAX);
    ck_assert_int_eq(bb_refuse_name(&place, "x", "a target", &names), BB_INPUT);
    free(many);
    size_t length = strlen(error.accepted);
    ck_assert_str_eq(error.accepted + length - 5, ", ...");
}
END_TEST

START_TEST(quoted_text_keeps_to_its_room_and_to_one_line)
{
    char quoted[BB_QUOTE_BYTES], text[200];
    ck_assert_str_eq(bb_quote("", quoted), "nothing");
    ck_assert_str_eq(bb_quote("two\nlines", quoted), "\"two lines\"");
    for (size_t length = 40; length < sizeof text - 2; length++) {
        memset(text, 'x', sizeof text);
        memcpy(text + length - 2, "\xe2\x82\xac", 4); /* a euro sign at every place of the cut */
        const char *got = bb_quote(text, quoted);
        ck_assert_uint_lt(strlen(got), BB_QUOTE_BYTES);
        ck_assert_int_eq(got[strlen(got) - 1], '"');
        const char *broken = strstr(got, "\xe2");
        ck_assert(broken == NULL || strncmp(broken, "\xe2\x82\xac", 3) == 0);
    }
}
END_TEST

Suite *suite_names(void)
{
    Suite *suite = suite_create("names");
    TCase *group = tcase_create("names");
    tcase_add_test(group, the_nearest_name_differs_in_a_third_of_the_letters_at_most);
    tcase_add_test(group, a_word_of_any_length_has_a_nearest_name_or_none);
    tcase_add_test(group, every_name_of_a_full_list_is_found_by_its_index);
    tcase_add_test(group, a_list_too_long_for_a_message_is_cut);
    tcase_add_test(group, quoted_text_keeps_to_its_room_and_to_one_line);
    suite_add_tcase(suite, group);
    return suite;
}
