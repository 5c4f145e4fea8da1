/* A profile on the disk, also under the name of its visit's folder. */
#include "profile_file.h"

#include "files.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool is_newer(const struct stat *a, const struct stat *b)
{
    if (a->st_mtim.tv_sec != b->st_mtim.tv_sec)
        return a->st_mtim.tv_sec > b->st_mtim.tv_sec;
    return a->st_mtim.tv_nsec > b->st_mtim.tv_nsec;
}

/* The visit's file that is newer than its profile, or NULL; the caller frees it. */
static char *newer_source(const char *folder, const char *profile)
{
    static const char *const sources[] = {"sweeps.csv", "kit.csv", "beach.ini"};
    struct stat made, source;
    if (stat(profile, &made) != 0)
        return NULL;
    for (size_t i = 0; i < sizeof sources / sizeof *sources; i++) {
        char *path = path_join(folder, sources[i]);
        if (stat(path, &source) == 0 && is_newer(&source, &made))
            return path;
        free(path);
    }
    return NULL;
}

profile_state profile_state_of(const char *folder)
{
    char *profile = path_join(folder, "profile.json");
    char *newer = newer_source(folder, profile);
    profile_state state = access(profile, F_OK) != 0 ? PROFILE_NONE
                          : newer != NULL            ? PROFILE_STALE
                                                     : PROFILE_CURRENT;
    free(newer);
    free(profile);
    return state;
}

static void warn_if_stale(const char *folder, const char *profile)
{
    char *newer = newer_source(folder, profile), *word = need_word(folder);
    if (newer != NULL)
        warn("%s is newer than its profile; 'brineband fit %s' brings that up to date", newer, word);
    free(newer);
    free(word);
}

outcome profile_read(const char *path, bb_profile **profile)
{
    struct stat status;
    bool folder = stat(path, &status) == 0 && S_ISDIR(status.st_mode);
    char *file = folder ? path_join(path, "profile.json") : need_text("%s", path);
    if (folder && access(file, F_OK) != 0 && errno == ENOENT) {
        char *word = need_word(path);
        warn("%s holds no profile yet; 'brineband fit %s' makes it", path, word);
        free(word);
        free(file);
        return OUTCOME_INPUT;
    }
    char *text;
    size_t length;
    outcome result = file_read(file, &text, &length);
    if (result == OUTCOME_DONE) {
        bb_error error = {0};
        bb_status read = bb_profile_read(text, length, file, profile, &error);
        free(text);
        result = read == BB_OK ? OUTCOME_DONE : fail(read, &error);
    }
    if (folder && result == OUTCOME_DONE)
        warn_if_stale(path, file);
    free(file);
    return result;
}

outcome profile_write(const char *path, const bb_profile *profile, bool with_place)
{
    bb_error error = {0};
    char *text = NULL;
    bb_status status = bb_profile_write(profile, with_place, &text, &error);
    if (status != BB_OK)
        return fail(status, &error);
    outcome result = file_write(path, text, strlen(text));
    free(text);
    return result;
}
