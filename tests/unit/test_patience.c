/* The line that shows work going on: on a terminal alone, and gone when the work is done. */
#include "../../cli/patience.h"

#include <check.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Standard error goes to file while work seems to take two seconds. */
static void work_before(int file)
{
    const int before = dup(STDERR_FILENO);
    ck_assert_int_ge(before, 0);
    (void)dup2(file, STDERR_FILENO);
    patience_begin("fitting");
    if (isatty(STDERR_FILENO)) {
        (void)raise(SIGALRM);
        (void)raise(SIGALRM);
    }
    patience_end();
    (void)dup2(before, STDERR_FILENO);
    (void)close(before);
}

START_TEST(a_terminal_is_told_what_is_done_and_for_how_long)
{
    static const char wanted[] = "\rfitting, 1 s\rfitting, 2 s\r\033[K";
    char shown[sizeof wanted] = "";
    const int terminal = posix_openpt(O_RDWR | O_NOCTTY);
    if (terminal < 0) {
        (void)fprintf(stderr, "patience: not tested, no terminals here\n");
        return;
    }
    ck_assert_int_eq(grantpt(terminal), 0);
    ck_assert_int_eq(unlockpt(terminal), 0);
    const int screen = open(ptsname(terminal), O_RDWR | O_NOCTTY);
    ck_assert_int_ge(screen, 0);
    work_before(screen);
    for (size_t got = 0; got < sizeof wanted - 1;) { /* a terminal hands over what it has */
        const ssize_t more = read(terminal, shown + got, sizeof wanted - 1 - got);
        ck_assert_int_gt(more, 0);
        got += (size_t)more;
    }
    ck_assert_str_eq(shown, wanted);
    (void)close(screen);
    (void)close(terminal);
}
END_TEST

START_TEST(a_file_is_told_nothing)
{
    FILE *file = tmpfile();
    ck_assert_ptr_nonnull(file);
    work_before(fileno(file));
    ck_assert_int_eq(lseek(fileno(file), 0, SEEK_END), 0);
    (void)fclose(file);
}
END_TEST

Suite *suite_patience(void);
Suite *suite_patience(void)
{
    Suite *suite = suite_create("patience");
    TCase *tests = tcase_create("patience");
    tcase_add_test(tests, a_terminal_is_told_what_is_done_and_for_how_long);
    tcase_add_test(tests, a_file_is_told_nothing);
    suite_add_tcase(suite, tests);
    return suite;
}
