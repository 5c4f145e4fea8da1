/* Runs the suite of every tests/unit/test_NAME.c, which it knows by the list the build makes. */
#include "compare.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>

#define SUITE(make) Suite *make(void);
#include "suites.inc"
#undef SUITE

#define SUITE(make) make,
static Suite *(*const suites[])(void) = {
#include "suites.inc"
};

int main(void)
{
    SRunner *runner = srunner_create(NULL);
    for (size_t i = 0; i < sizeof suites / sizeof *suites; i++)
        srunner_add_suite(runner, suites[i]());
    srunner_set_fork_status(runner, CK_NOFORK); /* one process, so that comparisons add up */
    srunner_run_all(runner, CK_ENV);
    int run = srunner_ntests_run(runner), failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    compare_report();
    printf("unit: %d passed, %d failed\n", run - failed, failed);
    (void)fflush(stdout); /* a sanitizer may end the program before it is */
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
