/* A line on standard error while work takes longer than a second: "fitting, 3 s". */
#include "patience.h"

#include <signal.h>
#include <stdbool.h>
#include <string.h>
#include <sys/time.h>
#include <unistd.h>

static const char *volatile doing_now;
static volatile sig_atomic_t seconds;

/* In a signal's handler only write() may be called. */
static void put(const char *text, size_t length)
{
    const ssize_t written = write(STDERR_FILENO, text, length);
    (void)written; /* a line that cannot be shown is no loss */
}

static void tick(int signal)
{
    char digits[16];
    size_t at = sizeof digits;
    (void)signal;
    seconds = seconds + 1;
    for (int rest = seconds; rest > 0; rest /= 10)
        digits[--at] = (char)('0' + rest % 10);
    put("\r", 1);
    put(doing_now, strlen(doing_now));
    put(", ", 2);
    put(digits + at, sizeof digits - at);
    put(" s", 2);
}

static void set_timer(time_t every_s)
{
    const struct itimerval every = {{every_s, 0}, {every_s, 0}};
    (void)setitimer(ITIMER_REAL, &every, NULL);
}

void patience_begin(const char *doing)
{
    struct sigaction action = {.sa_handler = tick, .sa_flags = SA_RESTART};
    if (!isatty(STDERR_FILENO))
        return;
    doing_now = doing;
    (void)sigemptyset(&action.sa_mask);
    if (sigaction(SIGALRM, &action, NULL) == 0)
        set_timer(1);
}

void patience_end(void)
{
    if (doing_now == NULL)
        return;
    set_timer(0);
    if (seconds > 0)
        put("\r\033[K", 4);
    seconds = 0;
    doing_now = NULL;
}
