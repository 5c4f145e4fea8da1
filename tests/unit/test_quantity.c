/* What was typed comes back from SI as it was. */
#include "quantity.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

START_TEST(what_was_typed_comes_back)
{
    for (int q = BB_QUANTITY_FREQUENCY; q <= BB_QUANTITY_YEARS; q++)
        for (int hundredths = -200; hundredths <= 20000; hundredths++) {
            char text[32];
            (void)snprintf(text, sizeof text, "%d.%02d", hundredths / 100, abs(hundredths) % 100);
            double typed = strtod(text, NULL), si = bb_quantity_to_si((bb_quantity)q, typed);
            ck_assert_msg(bb_quantity_from_si((bb_quantity)q, si) == typed,
                          "quantity %d: %s came back as %.17g", q, text,
                          bb_quantity_from_si((bb_quantity)q, si));
        }
}
END_TEST

/* Some values are no quotient of a double by 100: the nearest is then off by one bit at
 * most, and from then on nothing moves. */
START_TEST(any_value_settles_at_once)
{
    for (int q = BB_QUANTITY_FREQUENCY; q <= BB_QUANTITY_YEARS; q++)
        for (int i = 1; i < 1000; i++) {
            double si = sqrt(i);
            bb_quantity quantity = (bb_quantity)q;
            double back = bb_quantity_to_si(quantity, bb_quantity_from_si(quantity, si));
            double again = bb_quantity_to_si(quantity, bb_quantity_from_si(quantity, back));
            ck_assert(back == si || back == nextafter(si, 0) || back == nextafter(si, 1e9));
            ck_assert_double_eq(again, back);
        }
}
END_TEST

START_TEST(an_unknown_quantity_stays_unknown)
{
    ck_assert_double_nan(bb_quantity_from_si(BB_QUANTITY_DEPTH, NAN));
    ck_assert_double_nan(bb_quantity_to_si(BB_QUANTITY_DEPTH, NAN));
}
END_TEST

Suite *suite_quantity(void)
{
    Suite *suite = suite_create("quantity");
    TCase *group = tcase_create("quantity");
    tcase_add_test(group, what_was_typed_comes_back);
    tcase_add_test(group, any_value_settles_at_once);
    tcase_add_test(group, an_unknown_quantity_stays_unknown);
    suite_add_tcase(suite, group);
    return suite;
}
