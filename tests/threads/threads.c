/* The library from several threads at once, each on its own objects: every thread must end with the
 * same text. Built with a thread sanitizer, which ends the program where two touch the same memory.
 *
 *   build/threads tests/data/full */
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz/hold.h"
#include "fuzz/use.h"

enum { THREADS = 4, ROUNDS = 2, FILES = 3, FILE_BYTES = 1 << 16 };

typedef struct {
    char text[FILES][FILE_BYTES];
} visit_files;

typedef struct {
    const visit_files *files;
    pthread_barrier_t *start; /* so that nothing is set up before all are there */
    char *written[ROUNDS];
} work;

static void read_visit(const visit_files *files, bb_visit *visit)
{
    bb_error error = {0};
    const char *beach = files->text[0], *kit = files->text[1], *sweeps = files->text[2];
    hold(bb_beach_read(beach, strlen(beach), "beach.ini", visit, &error) == BB_OK, "beach.ini");
    hold(bb_kit_read(kit, strlen(kit), "kit.csv", visit, &error) == BB_OK, "kit.csv");
    hold(bb_sweeps_read(sweeps, strlen(sweeps), "sweeps.csv", visit, &error) == BB_OK,
         "sweeps.csv");
}

static void plan(const bb_visit *visit, const bb_profile *profile)
{
    const bb_plan_options options = {.sweeps = 6, .minutes = NAN};
    bb_plan *made = NULL;
    bb_error error = {0};
    hold(bb_plan_new(visit, profile, &options, &made, &error) == BB_OK, "a plan is made");
    bb_plan_free(made);
}

static void *run(void *argument)
{
    work *own = argument;
    (void)pthread_barrier_wait(own->start);
    for (int round = 0; round < ROUNDS; round++) {
        bb_visit visit = {0};
        bb_profile *profile = NULL, *again = NULL;
        bb_error error = {0};
        read_visit(own->files, &visit);
        hold(bb_fit(&visit, NULL, &profile, &error) == BB_OK, "the visit is fitted");
        hold(bb_fit(&visit, profile, &again, &error) == BB_OK, "and again from its own profile");
        own->written[round] = use_written(profile);
        use_profile(profile);
        plan(&visit, profile);
        hold(bb_material_find("no such metal") == NULL, "an unknown material");
        bb_profile_free(profile);
        bb_profile_free(again);
        bb_visit_free(&visit);
    }
    return NULL;
}

static bool read_files(const char *folder, visit_files *files)
{
    static const char *const names[FILES] = {"beach.ini", "kit.csv", "sweeps.csv"};
    bool whole = true;
    for (int i = 0; i < FILES; i++) {
        char path[4096];
        (void)snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        FILE *file = fopen(path, "rb");
        const size_t length = file == NULL ? 0 : fread(files->text[i], 1, FILE_BYTES - 1, file);
        whole = whole && length > 0;
        if (file != NULL)
            (void)fclose(file);
    }
    return whole;
}

int main(int argc, char **argv)
{
    static visit_files files;
    pthread_t threads[THREADS];
    pthread_barrier_t start;
    work works[THREADS];
    int same = 0;
    if (argc != 2 || !read_files(argv[1], &files)) {
        (void)fputs("usage: threads VISIT\n", stderr);
        return 2;
    }
    (void)pthread_barrier_init(&start, NULL, THREADS);
    for (int i = 0; i < THREADS; i++) {
        works[i] = (work){.files = &files, .start = &start};
        hold(pthread_create(&threads[i], NULL, run, &works[i]) == 0, "a thread starts");
    }
    for (int i = 0; i < THREADS; i++)
        (void)pthread_join(threads[i], NULL);
    for (int i = 0; i < THREADS; i++)
        for (int round = 0; round < ROUNDS; round++)
            same += strcmp(works[i].written[round], works[0].written[0]) == 0;
    for (int i = 0; i < THREADS; i++)
        for (int round = 0; round < ROUNDS; round++)
            free(works[i].written[round]);
    (void)pthread_barrier_destroy(&start);
    printf("%d passed, %d failed\n", same, THREADS * ROUNDS - same);
    return same == THREADS * ROUNDS ? 0 : 1;
}
