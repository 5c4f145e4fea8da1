/* Takes sweeps from another program as they come, however many, and counts the sand's numbers:
 * PROGRAM | stream_readings. Memory grows with the distinct readings only. */
#include <brineband.h>
#include <stdio.h>
#include <string.h>

static const char beach[] = "[machine]\nscale_low = -20\nscale_high = 99\n[zone wet]\nwetness = wet\n";

static bb_status read_all(FILE *stream, bb_sweeps_reader *reader) {
    char piece[4096]; /* may end in the middle of a row, or of a number */
    bb_status status = BB_OK;
    size_t length;
    while (status == BB_OK && (length = fread(piece, 1, sizeof piece, stream)) > 0)
        status = bb_sweeps_feed(reader, piece, length);
    return status == BB_OK ? bb_sweeps_end(reader) : status;
}

static void tell(const bb_visit *visit) {
    const bb_bare *bare = &visit->bare[0];
    printf("%.0f sweeps in %zu distinct cells\n", visit->sweep_count, visit->cell_count);
    for (int number = visit->machine.scale_low; number <= visit->machine.scale_high; number++) {
        double count = bare->counts[number - visit->machine.scale_low];
        if (count > 0) printf("%4d %.0f\n", number, count);
    }
}

int main(void) {
    bb_visit visit = {0};
    bb_error error = {0};
    bb_sweeps_reader *reader = NULL;
    bb_status status = bb_beach_read(beach, strlen(beach), "beach", &visit, &error);
    if (status == BB_OK) status = bb_sweeps_begin(&visit, "standard input", &reader, &error);
    if (status == BB_OK) status = read_all(stdin, reader);
    if (status == BB_OK) {
        tell(&visit);
    } else {
        char text[4 * BB_TEXT_BYTES];
        bb_error_text(&error, text, sizeof text);
        fprintf(stderr, "%s\n", text);
    }
    bb_sweeps_free(reader);
    bb_visit_free(&visit);
    return status == BB_OK ? 0 : 1;
}
