/* Numbers as JSON writes them: each is read again as it was, and with 15 digits where those do. */
#include "json.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_rng.h>

static void check_written(double number)
{
    char wanted[64], found[64];
    json_t *list = json_pack("[f]", number);
    char *text = bb_json_text(list);
    ck_assert_ptr_nonnull(text);
    (void)snprintf(wanted, sizeof wanted, "%.15g", number);
    if (strtod(wanted, NULL) != number)
        (void)snprintf(wanted, sizeof wanted, "%.17g", number);
    ck_assert_int_eq(sscanf(text, " [ %60[^] \n] ", found), 1);
    ck_assert_double_eq(strtod(found, NULL), number);
    if (strpbrk(wanted, ".e") != NULL)
        ck_assert_str_eq(found, wanted);
    free(text);
    json_decref(list);
}

START_TEST(numbers_are_written_with_the_digits_they_need)
{
    enum { NUMBERS = 20000, DIGITS_MAX = 17 };
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (int i = 0; i < NUMBERS; i++) {
        const int digits = 1 + (int)gsl_rng_uniform_int(random, DIGITS_MAX);
        const int power = (int)gsl_rng_uniform_int(random, 60) - 40;
        const double whole = floor(gsl_rng_uniform(random) * pow(10, digits));
        char text[64];
        (void)snprintf(text, sizeof text, "%.0fe%d", whole, power);
        const double number = strtod(text, NULL);
        check_written(number);
        check_written(-number);
        check_written(nextafter(number, INFINITY));
    }
    gsl_rng_free(random);
}
END_TEST

Suite *suite_json_text(void);
Suite *suite_json_text(void)
{
    Suite *suite = suite_create("json text");
    TCase *tests = tcase_create("json text");
    tcase_add_test(tests, numbers_are_written_with_the_digits_they_need);
    suite_add_tcase(suite, tests);
    return suite;
}
