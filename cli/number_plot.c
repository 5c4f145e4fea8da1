/* Distributions along the machine's numbers, as a picture in text. */
#include "number_plot.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "out.h"

enum { LABEL_COLUMNS = 14, PLOT_COLUMNS = OUT_COLUMNS - LABEL_COLUMNS - 3, LEVELS = 8 };

#define LEAST_SHOWN 0.002

static const char *const blocks[LEVELS + 1] = {" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
static const char *const ascii[LEVELS + 1] = {" ", ".", ":", "-", "=", "+", "*", "#", "@"};

/* The stretch of the scale where anything happens, and how many numbers share a column. */
typedef struct {
    size_t first, last, each;
} stretch;

static stretch shown(const bb_machine *machine, const number_row *rows, size_t count,
                     const bb_bands *bands)
{
    const size_t numbers = bb_scale_count(machine);
    stretch of = {numbers - 1, 0, 1};
    for (size_t n = 0; n < numbers; n++) {
        bool any = bb_bands_hold(bands, bb_scale_number(machine, n));
        for (size_t r = 0; r < count; r++)
            any = any || (rows[r].instead == NULL && rows[r].chances[n] >= LEAST_SHOWN);
        if (any && n < of.first)
            of.first = n;
        if (any)
            of.last = n;
    }
    if (of.first > of.last)
        of = (stretch){0, numbers - 1, 1};
    of.first -= of.first > 1 ? 2 : of.first;
    of.last = of.last + 2 < numbers ? of.last + 2 : numbers - 1;
    of.each = (of.last - of.first) / PLOT_COLUMNS + 1;
    return of;
}

static double column_chance(const double *chances, stretch of, size_t column)
{
    double sum = 0;
    for (size_t n = of.first + column * of.each;
         n < of.first + (column + 1) * of.each && n <= of.last; n++)
        sum += chances[n];
    return sum;
}

static void say_row(const number_row *row, stretch of, size_t columns)
{
    if (row->instead != NULL) {
        printf("%-*.*s %s\n", LABEL_COLUMNS, LABEL_COLUMNS, row->label, row->instead);
        return;
    }
    double peak = 0;
    for (size_t c = 0; c < columns; c++)
        peak = fmax(peak, column_chance(row->chances, of, c));
    size_t last = columns;
    while (last > 0 && column_chance(row->chances, of, last - 1) < LEAST_SHOWN * peak)
        last--;
    printf("%-*.*s ", LABEL_COLUMNS, LABEL_COLUMNS, row->label);
    for (size_t c = 0; c < last; c++) {
        double share = peak > 0 ? column_chance(row->chances, of, c) / peak : 0;
        size_t level = share < LEAST_SHOWN ? 0 : (size_t)ceil(share * LEVELS);
        fputs((out_utf8() ? blocks : ascii)[level < LEVELS ? level : LEVELS], stdout);
    }
    putchar('\n');
}

static int trimmed(const char *text, size_t length)
{
    while (length > 0 && text[length - 1] == ' ')
        length--;
    return (int)length;
}

static void say_axis(const bb_machine *machine, stretch of, size_t columns, const bb_bands *bands)
{
    char marks[PLOT_COLUMNS + 2], labels[PLOT_COLUMNS + 16];
    memset(marks, ' ', sizeof marks);
    memset(labels, ' ', sizeof labels);
    size_t free_from = 0;
    for (size_t c = 0; c < columns; c++) {
        const int number = bb_scale_number(machine, of.first + c * of.each);
        const int last = number + (int)(of.each - 1) * machine->scale_step;
        for (int b = 0; b < bands->count; b++) {
            const bool inside = last >= bands->band[b].low && number <= bands->band[b].high;
            if (inside)
                marks[c] = number <= bands->band[b].low    ? '['
                           : last >= bands->band[b].high ? ']'
                                                           : '=';
        }
        if (c >= free_from && number % (5 * machine->scale_step) == 0) {
            char text[16];
            int length = snprintf(text, sizeof text, "%d", number);
            if (c + (size_t)length <= columns + 2) {
                memcpy(labels + c, text, (size_t)length);
                free_from = c + (size_t)length + 1;
            }
        }
    }
    printf("%-*s %.*s\n", LABEL_COLUMNS, "", trimmed(labels, sizeof labels), labels);
    if (bands->count > 0)
        printf("%-*s %.*s\n", LABEL_COLUMNS, "rejected", trimmed(marks, columns), marks);
}

void say_number_plot(const bb_machine *machine, const number_row *rows, size_t count,
                     const bb_bands *bands)
{
    const stretch of = shown(machine, rows, count, bands);
    const size_t columns = (of.last - of.first) / of.each + 1;
    for (size_t r = 0; r < count; r++)
        say_row(&rows[r], of, columns);
    say_axis(machine, of, columns, bands);
}
