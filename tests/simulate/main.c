/* Writes an invented visit, and its truth beside it:
 *
 *   build/simulate [--family F] [--visit KIND] [--seed N] [--day N] [--bare N] [--beach NAME] [--machine
 * NAME] DIR */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "simulate.h"
#include "typed.h"

static int usage(void)
{
    (void)fprintf(
        stderr,
        "usage: simulate [--family inside|departing|steady] [--visit full|quarter|two-minute]"
        "\n                [--seed N] [--bare N] [--beach NAME] [--machine NAME] DIR\n");
    return 2;
}

static bool find(const char *word, const char *const *names, int count, int *found)
{
    for (*found = 0; *found < count; ++*found)
        if (strcmp(word, names[*found]) == 0)
            return true;
    return false;
}

typedef struct {
    simulation of;
    unsigned long day; /* another day on the same beach, 0 for the first */
    const char *beach, *machine, *directory;
} options;

static bool read_option(const char *name, const char *value, options *wanted)
{
    char *end = NULL;
    int found;
    if (strcmp(name, "--family") == 0 && find(value, family_name, FAMILY_COUNT, &found)) {
        wanted->of.family = (truth_family)found;
        return true;
    }
    if (strcmp(name, "--visit") == 0 && find(value, visit_name, VISIT_COUNT, &found)) {
        wanted->of.kind = (visit_kind)found;
        return true;
    }
    const char **words = strcmp(name, "--beach") == 0     ? &wanted->beach
                         : strcmp(name, "--machine") == 0 ? &wanted->machine
                                                          : NULL;
    if (words != NULL) {
        *words = value;
        return true;
    }
    unsigned long number = strtoul(value, &end, 10);
    if (*value == '\0' || *end != '\0')
        return false;
    if (strcmp(name, "--seed") == 0)
        wanted->of.seed = number;
    else if (strcmp(name, "--day") == 0)
        wanted->day = number;
    else if (strcmp(name, "--bare") == 0 && number <= BARE_MAX)
        wanted->of.bare_sweeps = (int)number;
    else
        return false;
    return true;
}

static bool read_options(int argc, char **argv, options *wanted)
{
    for (int i = 1; i < argc; i++)
        if (strncmp(argv[i], "--", 2) != 0 && wanted->directory == NULL)
            wanted->directory = argv[i];
        else if (i + 1 == argc || !read_option(argv[i], argv[i + 1], wanted))
            return false;
        else
            i++;
    return wanted->directory != NULL;
}

static bool write_file(const simulated_visit *visit, const char *directory, size_t file)
{
    const bool truth_file = file == TYPED_FILES;
    char path[4096];
    if (snprintf(path, sizeof path, "%s/%s", directory,
                 truth_file ? "truth.json" : typed_file[file]) >= (int)sizeof path)
        return false;
    FILE *out = fopen(path, "w");
    if (out == NULL)
        return false;
    bool written = true;
    if (truth_file)
        written = truth_print(visit, out);
    else
        visit_print(visit, file, out);
    return fclose(out) == 0 && written;
}

static void rename_to(char name[BB_TEXT_BYTES], const char *wanted)
{
    if (wanted != NULL)
        (void)snprintf(name, BB_TEXT_BYTES, "%s", wanted);
}

int main(int argc, char **argv)
{
    static simulated_visit visit;
    options wanted = {.of = {.seed = 1}};
    if (!read_options(argc, argv, &wanted))
        return usage();
    if (!visit_simulate_day(&wanted.of, wanted.day, &visit))
        return 1;
    rename_to(visit.truth.beach.name, wanted.beach);
    rename_to(visit.truth.machine.name, wanted.machine);
    if (mkdir(wanted.directory, 0777) != 0 && errno != EEXIST) {
        perror(wanted.directory);
        return 1;
    }
    for (size_t file = 0; file <= TYPED_FILES; file++)
        if (!write_file(&visit, wanted.directory, file)) {
            perror(wanted.directory);
            return 1;
        }
    return 0;
}
