/* Fits visits drawn to mislead, and proves each answer:
 *
 *   build/adversarial [VISITS [FIRST_SEED [FAMILY]]]   a table of families, and what failed
 *   build/adversarial write FAMILY SEED DIR            the visit as it would be typed
 *
 * Exit status 1 when a profile does not hold or a refusal teaches nothing. */
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "adversary.h"
#include "proof.h"
#include "simulate/typed.h"
#include "trial.h"

static bool find_family(const char *name, size_t *family)
{
    for (*family = 0; *family < adversary_count; ++*family)
        if (strcmp(name, adversaries[*family].name) == 0)
            return true;
    return false;
}

static int write_visit(size_t family, unsigned long seed, const char *directory)
{
    static scene drawn;
    scene_draw(&drawn, family, seed);
    (void)mkdir(directory, 0777);
    for (size_t file = 0; file < TYPED_FILES; file++) {
        char path[4096];
        (void)snprintf(path, sizeof path, "%s/%s", directory, typed_file[file]);
        FILE *out = fopen(path, "w");
        if (out == NULL) {
            perror(path);
            return 1;
        }
        scene_print(&drawn, file, out);
        (void)fclose(out);
    }
    return 0;
}

static void say_failure(size_t family, unsigned long seed, const trial *made)
{
    char text[4 * BB_TEXT_BYTES] = "";
    if (made->status != BB_OK)
        (void)bb_error_text(&made->error, text, sizeof text);
    (void)printf("# %s, seed %lu: %s (%.3g), Newton step %.2g sd, sd ratio %.2f to %.2f, noise "
                 "%.2g %s\n",
                 adversaries[family].name, seed, proof_words[made->found.failure],
                 made->found.figure, made->found.newton, made->found.sd_low, made->found.sd_high,
                 made->found.noise, text);
}

int main(int argc, char **argv)
{
    size_t only = adversary_count;
    if (argc == 5 && strcmp(argv[1], "write") == 0 && find_family(argv[2], &only))
        return write_visit(only, strtoul(argv[3], NULL, 10), argv[4]);
    const unsigned long visits = argc > 1 ? strtoul(argv[1], NULL, 10) : adversary_count;
    const unsigned long first = argc > 2 ? strtoul(argv[2], NULL, 10) : 0;
    if (argc > 3 && !find_family(argv[3], &only)) {
        (void)fprintf(stderr, "no family %s\n", argv[3]);
        return 2;
    }
    tally *tallies = calloc(adversary_count, sizeof *tallies);
    if (tallies == NULL)
        return 1;
    for (unsigned long i = 0; i < visits; i++) {
        const size_t family = only < adversary_count ? only : i % adversary_count;
        const unsigned long seed = first + (only < adversary_count ? i : i / adversary_count);
        const trial made = trial_make(family, seed);
        tally_add(&tallies[family], &made);
        if (made.found.failure != PROOF_HOLDS)
            say_failure(family, seed, &made);
    }
    const unsigned long failed = tallies_print(tallies);
    free(tallies);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
