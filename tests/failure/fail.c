/* Makes what a program asks of the system fail, from outside: loaded before it by LD_PRELOAD.
 *
 * FAIL=allocations  At every allocation the process forks. In the child that allocation fails (in a
 *   second child all later ones too); the parent waits, judges how the child ended, and goes on. So
 *   one run tries them all. FAIL_STACKS=n: only the first n of each call stack; FAIL_EVERY=n: only
 *   every n-th of these.
 * FAIL=write:3      The third write (fsync, rename, close) fails; half of what was to be written
 * is. FAIL=kill:3       The process is killed at the third of all these, half of a write done.
 *
 * A child must end with the status of the system's failures (5) and say so, or with 0 and what
 * FAIL_STDOUT holds, for there are failures that do no harm. Complaints and the count go to the
 * file FAIL_REPORT. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

/* The allocator beneath ours: glibc's own names for it. */
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *block, size_t size);

enum { FILES = 32, FRAMES = 24, STACKS = 1 << 16, WORDS = 1 << 20, STATUS_SYSTEM = 5 };

static bool armed;    /* allocations are tried */
static bool inside;   /* ours are not */
static bool starving; /* in a child: every further allocation fails */
static long stacks_most, every = 1, asked, tried, complaints, calls_left = -1;
static bool kills;
static const char *call_name = "";
static int report = -1;
static uint64_t stack_hash[STACKS];
static unsigned char stack_seen[STACKS];
static char output[WORDS];

/* ---------------------------------------------------------------- the report */

__attribute__((format(printf, 1, 2))) static void complain(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    complaints++;
    (void)vdprintf(report, format, arguments);
    va_end(arguments);
}

static size_t slurp(const char *path, char *text, size_t size)
{
    int file = open(path, O_RDONLY);
    size_t length = 0;
    for (ssize_t got; file >= 0 && (got = read(file, text + length, size - 1 - length)) > 0;)
        length += (size_t)got;
    (void)close(file);
    text[length] = '\0';
    return length;
}

/* ---------------------------------------------------------------- children */

static bool same_output(const char *path)
{
    static char wanted[WORDS];
    const char *expected = getenv("FAIL_STDOUT");
    return expected == NULL ||
           (slurp(expected, wanted, sizeof wanted) == slurp(path, output, sizeof output) &&
            strcmp(wanted, output) == 0);
}

static void judge(int status, const char *out, const char *err, bool all)
{
    static char said[4096];
    size_t length = slurp(err, said, sizeof said);
    bool failed = WIFEXITED(status) && WEXITSTATUS(status) == STATUS_SYSTEM && length > 1;
    bool harmless = WIFEXITED(status) && WEXITSTATUS(status) == 0 && same_output(out);
    if (failed || harmless)
        return;
    void *frames[FRAMES];
    complain("allocation %ld%s: %s %d, said: %s\n", tried, all ? " and all later ones" : "",
             WIFSIGNALED(status) ? "killed by signal" : "ended with",
             WIFSIGNALED(status) ? WTERMSIG(status) : WEXITSTATUS(status),
             length > 0 ? said : "nothing\n");
    backtrace_symbols_fd(frames, backtrace(frames, FRAMES), report);
}

/* Where open files stand, which a child shares and moves. */
static void keep_places(off_t places[FILES], bool back)
{
    for (int file = STDERR_FILENO + 1; file < FILES; file++)
        if (!back)
            places[file] = lseek(file, 0, SEEK_CUR);
        else if (places[file] >= 0)
            (void)lseek(file, places[file], SEEK_SET);
}

/* What writes down coverage when the program ends does not ask whether it got its memory. */
static void leave_alone(void)
{
    inside = true;
}

/* True in the child, where the allocation is to fail. */
static bool try_child(bool all)
{
    static bool asked_to;
    off_t places[FILES];
    char out[64], err[64];
    if (!asked_to) /* here, so that it comes before what the program does at its end */
        asked_to = atexit(leave_alone) == 0;
    (void)snprintf(out, sizeof out, "/tmp/fail.%d.out", (int)getpid());
    (void)snprintf(err, sizeof err, "/tmp/fail.%d.err", (int)getpid());
    keep_places(places, false);
    pid_t child = fork();
    if (child == 0) {
        armed = false;
        starving = all;
        (void)dup2(open(out, O_WRONLY | O_CREAT | O_TRUNC, 0600), STDOUT_FILENO);
        (void)dup2(open(err, O_WRONLY | O_CREAT | O_TRUNC, 0600), STDERR_FILENO);
        (void)alarm(30);
        return true;
    }
    int status = 0;
    if (child < 0 || waitpid(child, &status, 0) != child)
        complain("allocation %ld could not be tried: %s\n", tried, strerror(errno));
    else
        judge(status, out, err, all);
    keep_places(places, true);
    (void)unlink(out);
    (void)unlink(err);
    return false;
}

/* Whether this call stack was tried often enough. */
static bool worn(void)
{
    void *frames[FRAMES];
    uint64_t hash = 1469598103934665603U; /* FNV-1a, from memory */
    if (stacks_most == 0)
        return false;
    for (int left = backtrace(frames, FRAMES); left > 0; left--)
        hash = (hash ^ (uintptr_t)frames[left - 1]) * 1099511628211U;
    size_t slot = hash % STACKS;
    while (stack_seen[slot] > 0 && stack_hash[slot] != hash)
        slot = (slot + 1) % STACKS;
    stack_hash[slot] = hash;
    if (stack_seen[slot] >= stacks_most)
        return true;
    stack_seen[slot]++;
    return false;
}

static bool fails(void)
{
    if (starving && !inside) {
        errno = ENOMEM;
        return true;
    }
    if (!armed || inside)
        return false;
    inside = true;
    int before = errno;
    bool child = false;
    if (!worn() && ++asked % every == 0) {
        tried++;
        child = try_child(false) || try_child(true);
    }
    inside = false;
    errno = child ? ENOMEM : before;
    return child;
}

void *malloc(size_t size)
{
    return fails() ? NULL : __libc_malloc(size);
}

void *calloc(size_t count, size_t size)
{
    return fails() ? NULL : __libc_calloc(count, size);
}

void *realloc(void *block, size_t size)
{
    return fails() ? NULL : __libc_realloc(block, size);
}

/* ---------------------------------------------------------------- calls of the system */

/* Whether this is the call that fails; does not return when the process is to be killed. */
static bool call_fails(const char *name, int file, const void *bytes, size_t size)
{
    static ssize_t (*real_write)(int, const void *, size_t);
    if (calls_left <= 0 || (!kills && strcmp(name, call_name) != 0) || --calls_left > 0)
        return false;
    *(void **)&real_write = dlsym(RTLD_NEXT, "write");
    if (size > 0)
        (void)!real_write(file, bytes, size / 2);
    (void)dprintf(report, "1 tried, 0 complaints\n");
    if (kills)
        (void)raise(SIGKILL);
    errno = ENOSPC;
    return true;
}

ssize_t write(int file, const void *bytes, size_t size)
{
    static ssize_t (*real)(int, const void *, size_t);
    if (file > STDERR_FILENO && file != report && call_fails("write", file, bytes, size))
        return -1;
    *(void **)&real = dlsym(RTLD_NEXT, "write");
    return real(file, bytes, size);
}

int fsync(int file)
{
    static int (*real)(int);
    if (call_fails("fsync", file, NULL, 0))
        return -1;
    *(void **)&real = dlsym(RTLD_NEXT, "fsync");
    return real(file);
}

int close(int file)
{
    static int (*real)(int);
    *(void **)&real = dlsym(RTLD_NEXT, "close");
    return call_fails("close", file, NULL, 0) ? (void)real(file), -1 : real(file);
}

int rename(const char *old, const char *new)
{
    static int (*real)(const char *, const char *);
    if (call_fails("rename", -1, NULL, 0))
        return -1;
    *(void **)&real = dlsym(RTLD_NEXT, "rename");
    return real(old, new);
}

/* ---------------------------------------------------------------- begin and end */

__attribute__((constructor)) static void begin(void)
{
    static char whole_output[WORDS];
    const char *fail = getenv("FAIL"), *stacks = getenv("FAIL_STACKS");
    const char *share = getenv("FAIL_EVERY");
    const char *path = getenv("FAIL_REPORT");
    if (fail == NULL || path == NULL)
        return;
    void *frames[FRAMES];
    (void)backtrace(frames, FRAMES); /* its first call allocates */
    (void)setvbuf(stdout, whole_output, _IOFBF,
                  sizeof whole_output); /* so that a child has it all */
    report =
        open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600); /* appends: keeps no place */
    stacks_most = stacks != NULL ? atol(stacks) : 0;
    every = share != NULL ? atol(share) : 1;
    const char *colon = strchr(fail, ':');
    if (colon != NULL) {
        kills = strncmp(fail, "kill", 4) == 0;
        static char name[16];
        (void)snprintf(name, sizeof name, "%.*s", (int)(colon - fail), fail);
        call_name = name;
        calls_left = atol(colon + 1);
    }
    armed = colon == NULL;
}

__attribute__((destructor)) static void end(void)
{
    inside = true; /* what is printed here may allocate */
    if (armed)
        (void)dprintf(report, "%ld tried, %ld complaints\n", tried, complaints);
}
