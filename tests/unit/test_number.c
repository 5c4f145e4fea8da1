/* Numbers, dates, times of day and text as they are accepted in files. */
#include "brineband.h"

#include "compare.h"
#include "number.h"
#include "text.h"

#include <check.h>
#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LOOP = 2000 };

/* The same numbers every time: a linear congruential generator, constants of Numerical Recipes
 * (from memory; any would do). */
static uint64_t next_number(uint64_t *state)
{
    *state = *state * 6364136223846793005U + 1442695040888963407U;
    return *state >> 11;
}

START_TEST(short_decimals_are_rounded_correctly)
{
    uint64_t state = 1;
    for (int i = 0; i < LOOP; i++) {
        char text[64];
        double read = NAN;
        long digits = (long)(next_number(&state) % 1000000000000000U);
        int power = (int)(next_number(&state) % 45) - 22;
        (void)snprintf(text, sizeof text, "%ld%s%d", digits, i % 2 == 0 ? "e" : "E", power);
        ck_assert(bb_number_read(text, &read));
        check_close("decimal of up to 15 digits", "strtod of the C library", strtod(text, NULL),
                    read, absolute(0));
    }
}
END_TEST

START_TEST(long_decimals_are_right_to_the_last_place)
{
    uint64_t state = 2;
    for (int i = 0; i < LOOP; i++) {
        char text[64];
        double read = NAN;
        uint64_t first = next_number(&state), second = next_number(&state);
        (void)snprintf(text, sizeof text, "-%llu.%llu%s", (unsigned long long)first,
                       (unsigned long long)second, i % 3 == 0 ? "e-250" : "");
        ck_assert(bb_number_read(text, &read));
        check_close("decimal of 30 digits", "strtod of the C library", strtod(text, NULL), read,
                    relative(2.3e-16));
    }
}
END_TEST

START_TEST(decimals_are_read_whatever_their_dress)
{
    static const struct {
        const char *text;
        double value;
    } cases[] = {
        {"0", 0},       {"-0", 0},     {"+7", 7},          {"007", 7},
        {".5", 0.5},    {"5.", 5},     {"2.50", 2.5},      {"1e3", 1000},
        {"1E-3", 1e-3}, {"1e+2", 100}, {"0e9999", 0},      {"1e-999", 0},
        {"0.1", 0.1},   {"-40", -40},  {"4.2914", 4.2914}, {"1e308", 1e308},
        {"1e-99999999999", 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double read = NAN;
        ck_assert_msg(bb_number_read(cases[i].text, &read), "%s", cases[i].text);
        check_close("decimal", "literal of the C language", cases[i].value, read, absolute(0));
    }
}
END_TEST

START_TEST(what_is_no_plain_decimal_is_refused)
{
    static const char *const texts[] = {
        "",    " ",     "+",   "-",     ".",     "e5",   "-.",    "1e",       "1e+", "1e1.5",
        "nan", "NaN",   "inf", "-inf",  "0x1p3", "0x10", "1,5",   "1 000",    " 1",  "1 ",
        "1_0", "1e309", "--1", "1.2.3", "1f",    "١",    "1e400", "infinity",
        "1e99999999999",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        double read = 17;
        ck_assert_msg(!bb_number_read(texts[i], &read), "accepted \"%s\"", texts[i]);
        check_close("number left alone", "contract", 17, read, absolute(0));
    }
}
END_TEST

START_TEST(numbers_do_not_follow_the_locale)
{
    double read = NAN;
    char before[64];
    (void)snprintf(before, sizeof before, "%s", setlocale(LC_NUMERIC, NULL));
    if (setlocale(LC_NUMERIC, "de_DE.UTF-8") == NULL)
        (void)setlocale(LC_NUMERIC, "");
    ck_assert(bb_number_read("2.5", &read));
    ck_assert(!bb_number_read("2,5", &read));
    (void)setlocale(LC_NUMERIC, before);
    check_close("decimal", "literal of the C language", 2.5, read, absolute(0));
}
END_TEST

START_TEST(whole_numbers_have_at_most_nine_digits)
{
    static const char *const refused[] = {"",   "-",  "1.0", "1e3",        "0x1",
                                          " 1", "1 ", "++1", "1000000000", "99999999999999999999"};
    long read = 17;
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        ck_assert_msg(!bb_whole_read(refused[i], &read), "accepted \"%s\"", refused[i]);
    ck_assert_int_eq(read, 17);
    ck_assert(bb_whole_read("-999999999", &read) && read == -999999999);
    ck_assert(bb_whole_read("+0012", &read) && read == 12);
    const char *end = NULL;
    ck_assert(bb_whole_start("12-15", &end, &read) && read == 12);
    ck_assert_str_eq(end, "-15");
}
END_TEST

START_TEST(days_are_those_of_the_calendar)
{
    static const char *const days[] = {"2026-05-09", "2024-02-29", "2000-02-29", "1900-01-01",
                                       "9999-12-31"};
    static const char *const none[] = {"2023-02-29", "1900-02-29", "2100-02-29",  "2026-04-31",
                                       "2026-13-01", "2026-00-10", "2026-01-00",  "2026-1-1",
                                       "1899-12-31", "2026/05/09", "2026-05-09 ", "20260509",
                                       "",           "2026-05",    "2026-05-9"};
    for (size_t i = 0; i < sizeof days / sizeof *days; i++)
        ck_assert_msg(bb_date_accepted(days[i]), "%s", days[i]);
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        ck_assert_msg(!bb_date_accepted(none[i]), "%s", none[i]);
}
END_TEST

START_TEST(times_of_day_have_hours_and_minutes)
{
    static const char *const none[] = {"24:00", "12:60", "12",    "12:5",   "1:005", "",
                                       ":30",   "-1:30", "12.30", "12:30 ", "112:30"};
    int minutes = -1;
    ck_assert(bb_clock_read("00:00", &minutes) && minutes == 0);
    ck_assert(bb_clock_read("9:05", &minutes) && minutes == 545);
    ck_assert(bb_clock_read("23:59", &minutes) && minutes == 1439);
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        ck_assert_msg(!bb_clock_read(none[i], &minutes), "%s", none[i]);
    ck_assert_int_eq(minutes, 1439);
}
END_TEST

/* Well-formed and ill-formed sequences of The Unicode Standard 15.0, section 3.9, table 3-7. */
START_TEST(text_is_well_formed_utf8_without_control_characters)
{
    static const struct {
        const char *bytes;
        size_t accepted;
    } cases[] = {
        {"plain\ttext", 10},
        {"\xc2\xa0", 2},
        {"\xdf\xbf", 2},
        {"\xe0\xa0\x80", 3},
        {"\xed\x9f\xbf", 3},
        {"\xee\x80\x80", 3},
        {"\xef\xbf\xbf", 3},
        {"\xf0\x90\x80\x80", 4},
        {"\xf4\x8f\xbf\xbf", 4},
        {"a\xc0\x80", 1},
        {"a\xc1\xbf", 1},
        {"a\xe0\x9f\xbf", 1},
        {"a\xed\xa0\x80", 1},
        {"a\xf0\x8f\xbf\xbf", 1},
        {"a\xf4\x90\x80\x80", 1},
        {"a\xf5\x80\x80\x80", 1},
        {"a\xff", 1},
        {"a\x80", 1},
        {"a\xe2\x82", 1},
        {"a\xe2\x28\xa1", 1},
        {"a\xe2\x82\x28", 1},
        {"ab\x1b[m", 2},
        {"ab\x7f", 2},
        {"ab\xc2\x9b", 2},
        {"ab\r", 2},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        ck_assert_uint_eq(bb_text_accepted(cases[i].bytes, strlen(cases[i].bytes)),
                          cases[i].accepted);
    ck_assert_uint_eq(bb_text_accepted("a\0b", 3), 1);
    ck_assert_uint_eq(bb_text_accepted("", 0), 0);
}
END_TEST

START_TEST(characters_are_never_cut)
{
    static const char text[] = "a\xe2\x82\xac";
    ck_assert_uint_eq(bb_text_cut(text, 1), 1);
    ck_assert_uint_eq(bb_text_cut(text, 2), 1);
    ck_assert_uint_eq(bb_text_cut(text, 3), 1);
    ck_assert_uint_eq(bb_text_cut(text, 4), 4);
    const char *at = text + 1;
    ck_assert_uint_eq(bb_text_next(&at), 0x20ac); /* euro sign: U+20AC */
    ck_assert_str_eq(at, "");
    static const char broken[] = "\x82\x82";
    at = broken; /* what is no character is passed a byte at a time */
    ck_assert_uint_eq(bb_text_next(&at), 0x82);
    ck_assert_ptr_eq(at, broken + 1);
    ck_assert_uint_eq(bb_text_cut(broken, 1), 0);
}
END_TEST

Suite *suite_number(void)
{
    Suite *suite = suite_create("number");
    TCase *numbers = tcase_create("numbers");
    tcase_add_test(numbers, short_decimals_are_rounded_correctly);
    tcase_add_test(numbers, long_decimals_are_right_to_the_last_place);
    tcase_add_test(numbers, decimals_are_read_whatever_their_dress);
    tcase_add_test(numbers, what_is_no_plain_decimal_is_refused);
    tcase_add_test(numbers, numbers_do_not_follow_the_locale);
    tcase_add_test(numbers, whole_numbers_have_at_most_nine_digits);
    tcase_add_test(numbers, days_are_those_of_the_calendar);
    tcase_add_test(numbers, times_of_day_have_hours_and_minutes);
    suite_add_tcase(suite, numbers);
    TCase *text = tcase_create("text");
    tcase_add_test(text, text_is_well_formed_utf8_without_control_characters);
    tcase_add_test(text, characters_are_never_cut);
    suite_add_tcase(suite, text);
    return suite;
}
