/* The files of a visit: reading them whole or in pieces, and writing one so that the old or the
 * new is there, never half. */
#include "files.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

char *path_join(const char *folder, const char *name)
{
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/')
        length--;
    return need_text("%.*s/%s", (int)length, folder, name);
}

/* ---------------------------------------------------------------- reading */

outcome file_read(const char *path, char **text, size_t *length)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return fail_system(path, "open");
    size_t room = 1 << 14, got = 0;
    char *bytes = need(room, 1);
    for (size_t more; (more = fread(bytes + got, 1, room - 1 - got, file)) > 0;) {
        got += more;
        if (got == room - 1)
            bytes = need_more(bytes, room *= 2, 1);
    }
    outcome result = ferror(file) ? fail_system(path, "read") : OUTCOME_DONE;
    (void)fclose(file);
    if (result != OUTCOME_DONE) {
        free(bytes);
        return result;
    }
    bytes[got] = '\0';
    *text = bytes;
    *length = got;
    return OUTCOME_DONE;
}

/* A line that counts the megabytes read, on a terminal, from the first second on. */
typedef struct {
    time_t begun;
    double bytes;
    int shown;
} progress;

static void progress_add(progress *line, const char *path, size_t bytes)
{
    line->bytes += (double)bytes;
    if (!isatty(STDERR_FILENO) || time(NULL) - line->begun < 2 + line->shown)
        return;
    line->shown = (int)(time(NULL) - line->begun);
    (void)fprintf(stderr, "\r%s: %.0f MB read", path, line->bytes / 1e6);
}

static void progress_end(const progress *line)
{
    if (line->shown > 0)
        (void)fputs("\r\033[K", stderr);
}

static bb_status feed(FILE *file, const char *path, bb_sweeps_reader *reader)
{
    enum { PIECE = 1 << 16 };
    char *piece = need(PIECE, 1);
    progress line = {.begun = time(NULL)};
    bb_status status = BB_OK;
    for (size_t got; status == BB_OK && (got = fread(piece, 1, PIECE, file)) > 0;) {
        status = bb_sweeps_feed(reader, piece, got);
        progress_add(&line, path, got);
    }
    progress_end(&line);
    free(piece);
    return status;
}

static outcome read_sweeps(const char *path, bb_visit *visit)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return fail_system(path, "open");
    bb_error error = {0};
    bb_sweeps_reader *reader = NULL;
    bb_status status = bb_sweeps_begin(visit, path, &reader, &error);
    if (status == BB_OK)
        status = feed(file, path, reader);
    bool unread = ferror(file) != 0;
    if (status == BB_OK && !unread)
        status = bb_sweeps_end(reader);
    outcome result = unread            ? fail_system(path, "read")
                     : status != BB_OK ? fail(status, &error)
                                       : OUTCOME_DONE;
    bb_sweeps_free(reader);
    (void)fclose(file);
    return result;
}

outcome sweeps_read(const char *path, bb_visit *visit)
{
    struct stat status;
    const bool folder = stat(path, &status) == 0 && S_ISDIR(status.st_mode);
    char *file = folder ? path_join(path, "sweeps.csv") : need_text("%s", path);
    outcome result = read_sweeps(file, visit);
    free(file);
    return result;
}

typedef bb_status text_reader(const char *text, size_t length, const char *path, bb_visit *visit,
                              bb_error *error);

static outcome read_into(text_reader *reader, const char *path, bb_visit *visit)
{
    char *text = NULL;
    size_t length = 0;
    outcome result = file_read(path, &text, &length);
    if (result != OUTCOME_DONE)
        return result;
    bb_error error = {0};
    bb_status status = reader(text, length, path, visit, &error);
    free(text);
    return status == BB_OK ? OUTCOME_DONE : fail(status, &error);
}

/* No folder, or none of a visit. */
static outcome fail_missing(const char *folder, const char *what)
{
    char *word = need_word(folder);
    warn("%s: %s; 'brineband new %s' makes a visit's files", folder, what, word);
    free(word);
    return OUTCOME_SYSTEM;
}

static bool is_missing(const char *path)
{
    return access(path, F_OK) != 0 && errno == ENOENT;
}

outcome visit_read(const char *folder, bb_visit *visit)
{
    char *beach = path_join(folder, "beach.ini"), *kit = path_join(folder, "kit.csv");
    char *sweeps = path_join(folder, "sweeps.csv");
    outcome result = is_missing(folder)  ? fail_missing(folder, "no such folder")
                     : is_missing(beach) ? fail_missing(folder, "no beach.ini in it")
                                         : read_into(bb_beach_read, beach, visit);
    if (result == OUTCOME_DONE) {
        visit->without_kit = is_missing(kit);
        result = visit->without_kit ? OUTCOME_DONE : read_into(bb_kit_read, kit, visit);
    }
    if (result == OUTCOME_DONE)
        result = sweeps_read(sweeps, visit);
    if (result != OUTCOME_DONE)
        bb_visit_free(visit);
    free(beach);
    free(kit);
    free(sweeps);
    return result;
}

/* ---------------------------------------------------------------- writing */

static bool write_all(int file, const char *text, size_t length)
{
    while (length > 0) {
        ssize_t wrote = write(file, text, length);
        if (wrote < 0 && errno == EINTR)
            continue;
        if (wrote < 0)
            return false;
        text += wrote;
        length -= (size_t)wrote;
    }
    return true;
}

/* Write, flush to the disk and close; errno tells what failed. */
static bool fill(int file, const char *text, size_t length)
{
    bool done = write_all(file, text, length) && fsync(file) == 0;
    int reason = errno;
    if (close(file) != 0 && done)
        return false;
    errno = reason;
    return done;
}

static mode_t usual_mode(void)
{
    mode_t mask = umask(0);
    (void)umask(mask);
    return 0666 & ~mask;
}

/* Make the rename itself last; some file systems cannot, which is no failure of ours. */
static void flush_folder(const char *path)
{
    const char *slash = strrchr(path, '/');
    char *folder =
        slash != NULL ? need_text("%.*s", (int)(slash - path + 1), path) : need_text(".");
    int handle = open(folder, O_RDONLY | O_DIRECTORY);
    if (handle >= 0) {
        (void)fsync(handle);
        (void)close(handle);
    }
    free(folder);
}

static outcome replace(const char *path, const char *text, size_t length)
{
    char *temporary = need_text("%s.XXXXXX", path);
    int file = mkstemp(temporary);
    bool done = false;
    if (file >= 0) {
        (void)fchmod(file, usual_mode()); /* not every file system has modes */
        done = fill(file, text, length) && rename(temporary, path) == 0;
    }
    outcome result = done ? OUTCOME_DONE : fail_system(path, "write");
    if (file >= 0 && !done)
        (void)unlink(temporary);
    if (done)
        flush_folder(path);
    free(temporary);
    return result;
}

outcome file_write(const char *path, const char *text, size_t length)
{
    sigset_t stops, before;
    (void)sigemptyset(&stops);
    (void)sigaddset(&stops, SIGINT);
    (void)sigaddset(&stops, SIGTERM);
    (void)sigaddset(&stops, SIGHUP);
    (void)sigprocmask(SIG_BLOCK, &stops, &before); /* so that no temporary file stays behind */
    outcome result = replace(path, text, length);
    (void)sigprocmask(SIG_SETMASK, &before, NULL);
    return result;
}

outcome file_make(const char *path, const char *text)
{
    int file = open(path, O_WRONLY | O_CREAT | O_EXCL, 0666);
    if (file < 0)
        return fail_system(path, "make");
    if (fill(file, text, strlen(text)))
        return OUTCOME_DONE;
    outcome result = fail_system(path, "write");
    (void)unlink(path);
    return result;
}
