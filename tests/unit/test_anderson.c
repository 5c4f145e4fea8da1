/* Anderson's acceleration on iterations whose end is known. */
#include "anderson.h"
#include "compare.h"

#include <check.h>
#include <math.h>

enum { COUNT = 4 };

/* Steps of x <- end + rate (x - end), coordinate by coordinate, until the step is below 1e-10. */
static int steps_to(const double rate[COUNT], bool accelerated, double found[COUNT])
{
    static const double end[COUNT] = {1, -2, 3, 0.5};
    bb_anderson history;
    double x[COUNT] = {0}, next[COUNT];
    ck_assert_int_eq(bb_anderson_new(&history, COUNT), BB_OK);
    int steps = 0;
    for (double moved = 1; moved > 1e-10 && steps < 10000; steps++) {
        moved = 0;
        for (int i = 0; i < COUNT; i++) {
            next[i] = end[i] + rate[i] * (x[i] - end[i]);
            moved = fmax(moved, fabs(next[i] - x[i]));
        }
        if (accelerated)
            bb_anderson_step(&history, x, next);
        for (int i = 0; i < COUNT; i++)
            x[i] = next[i];
        if (!(fabs(x[0]) < 1e6))
            break;
    }
    for (int i = 0; i < COUNT; i++)
        found[i] = x[i] - end[i];
    bb_anderson_free(&history);
    return steps;
}

/* With as many differences as coordinates a straight iteration ends at once: n + 1 steps to know
 * it, one to see. */
START_TEST(a_creeping_iteration_is_foreseen)
{
    const double rate[COUNT] = {0.99, 0.95, 0.5, 0.9};
    double off[COUNT];
    ck_assert_int_gt(steps_to(rate, false, off), 1000);
    ck_assert_int_le(steps_to(rate, true, off), COUNT + 4);
    for (int i = 0; i < COUNT; i++)
        check_close("end of a creeping iteration", "closed form", 0, off[i], absolute(1e-7));
}
END_TEST

START_TEST(a_swinging_iteration_is_steadied)
{
    const double rate[COUNT] = {-1.5, 0.3, -0.9, 0.8};
    double off[COUNT];
    (void)steps_to(rate, false, off);
    ck_assert_double_gt(fabs(off[0]), 1e5);
    ck_assert_int_le(steps_to(rate, true, off), COUNT + 4);
    for (int i = 0; i < COUNT; i++)
        check_close("end of a swinging iteration", "closed form", 0, off[i], absolute(1e-7));
}
END_TEST

/* cos x: not straight, its end 0.7390851332 (from memory; the root of cos x = x). */
START_TEST(a_bent_iteration_ends_sooner)
{
    int steps[2];
    for (int accelerated = 0; accelerated < 2; accelerated++) {
        bb_anderson history;
        double x = 0;
        ck_assert_int_eq(bb_anderson_new(&history, 1), BB_OK);
        for (steps[accelerated] = 0; fabs(cos(x) - x) > 1e-12; steps[accelerated]++) {
            double next = cos(x);
            if (accelerated)
                bb_anderson_step(&history, &x, &next);
            x = next;
        }
        check_close("x = cos x", "from memory", 0.7390851332, x, absolute(1e-10));
        bb_anderson_free(&history);
    }
    ck_assert_int_lt(4 * steps[1], steps[0]);
}
END_TEST

START_TEST(what_does_not_move_stays)
{
    bb_anderson history;
    double x[COUNT] = {1, 2, 3, 4}, next[COUNT] = {1, 2, 3, 4};
    ck_assert_int_eq(bb_anderson_new(&history, COUNT), BB_OK);
    for (int i = 0; i < 3; i++)
        bb_anderson_step(&history, x, next);
    bb_anderson_forget(&history);
    bb_anderson_step(&history, x, next);
    for (int i = 0; i < COUNT; i++)
        ck_assert_double_eq(next[i], x[i]);
    bb_anderson_free(&history);
}
END_TEST

Suite *suite_anderson(void);
Suite *suite_anderson(void)
{
    Suite *suite = suite_create("anderson");
    TCase *group = tcase_create("anderson");
    tcase_add_test(group, a_creeping_iteration_is_foreseen);
    tcase_add_test(group, a_swinging_iteration_is_steadied);
    tcase_add_test(group, a_bent_iteration_ends_sooner);
    tcase_add_test(group, what_does_not_move_stays);
    suite_add_tcase(suite, group);
    return suite;
}
