/* Reads a visit's sweeps and says how many: for counting instructions, without the fit behind it. */
#include "brineband.h"

#include <stdio.h>
#include <stdlib.h>

static size_t load(const char *folder, const char *name, char *bytes, size_t size)
{
    char path[512];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        exit(1);
    size_t length = fread(bytes, 1, size, file);
    (void)fclose(file);
    return length;
}

int main(int count, char **words)
{
    static char bytes[1 << 24];
    bb_visit visit = {0};
    bb_error error = {0};
    if (count != 2)
        return 2;
    size_t length = load(words[1], "beach.ini", bytes, sizeof bytes);
    bb_status status = bb_beach_read(bytes, length, "beach.ini", &visit, &error);
    length = load(words[1], "kit.csv", bytes, sizeof bytes);
    if (status == BB_OK)
        status = bb_kit_read(bytes, length, "kit.csv", &visit, &error);
    length = load(words[1], "sweeps.csv", bytes, sizeof bytes);
    if (status == BB_OK)
        status = bb_sweeps_read(bytes, length, "sweeps.csv", &visit, &error);
    printf("%.0f sweeps, %zu cells\n", visit.sweep_count, visit.cell_count);
    bb_visit_free(&visit);
    return (int)status;
}
