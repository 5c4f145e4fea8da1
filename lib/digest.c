/* The canonical order of a visit's cells, and their fingerprint. */
#include "digest.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What a cell says, apart from where in its files it stands. */
typedef struct {
    const char *target, *setting;
    double saturation, dry_layer_m; /* of the zone; -1 in air */
    double depth_m, height_m;
    double tenths; /* of an hour after the first sweep, -1 without a time */
    double heard, number; /* number NAN when nothing was shown */
    double count;
} entry;

enum { KEYS = 7 }; /* numbers of an entry that tell it from another */

static void keys_of(const entry *from, double keys[KEYS])
{
    const double all[KEYS] = {from->saturation, from->dry_layer_m, from->depth_m, from->height_m,
                              from->tenths,     from->heard,       from->number};
    memcpy(keys, all, sizeof all);
}

static int compare(const void *a, const void *b)
{
    const entry *one = a, *other = b;
    int words = strcmp(one->target, other->target);
    if (words == 0)
        words = strcmp(one->setting, other->setting);
    if (words != 0)
        return words;
    double ones[KEYS], others[KEYS];
    keys_of(one, ones);
    keys_of(other, others);
    for (int i = 0; i < KEYS; i++)
        if (ones[i] != others[i])
            return ones[i] < others[i] ? -1 : 1;
    return 0;
}

static double first_hour(const bb_visit *visit)
{
    double first = INFINITY;
    for (size_t i = 0; i < visit->cell_count; i++)
        first = fmin(first, visit->cells[i].hour);
    return first;
}

static entry entry_of(const bb_visit *visit, const bb_cell *cell, double first)
{
    bool air = cell->zone == BB_ZONE_AIR, sand = cell->target == BB_TARGET_SAND;
    return (entry){
        .target = sand ? "sand" : visit->targets[cell->target].name,
        .setting = cell->setting == 0 ? "" : visit->settings[cell->setting].name,
        .saturation = air ? -1 : visit->zones[cell->zone].saturation,
        .dry_layer_m = air ? -1 : visit->zones[cell->zone].dry_layer_m,
        .depth_m = cell->depth_m,
        .height_m = cell->height_m,
        .tenths = isnan(cell->hour) ? -1 : rint(10 * (cell->hour - first)),
        .heard = cell->heard,
        .number = cell->has_reading ? (double)cell->reading : -HUGE_VAL,
        .count = cell->count,
    };
}

static void feed_text(bb_sha256 *hash, const char *text)
{
    bb_sha256_feed(hash, text, strlen(text) + 1);
}

/* As its bits, which no locale and no rounding touches; zero has one sign. */
static void feed_number(bb_sha256 *hash, double number)
{
    char text[17] = "";
    uint64_t bits;
    number += 0.0;
    memcpy(&bits, &number, sizeof bits);
    for (int i = 0; i < 16; i++)
        text[i] = "0123456789abcdef"[bits >> (60 - 4 * i) & 15];
    feed_text(hash, text);
}

static void feed_entry(bb_sha256 *hash, const entry *from)
{
    double keys[KEYS];
    keys_of(from, keys);
    feed_text(hash, from->target);
    feed_text(hash, from->setting);
    for (int i = 0; i < KEYS; i++)
        feed_number(hash, keys[i]);
    feed_number(hash, from->count);
}

static void feed_scale(bb_sha256 *hash, const bb_machine *machine)
{
    char text[64];
    (void)snprintf(text, sizeof text, "%d %d %d", machine->scale_low, machine->scale_high,
                   machine->scale_step);
    feed_text(hash, text);
}

bb_status bb_digest(const bb_visit *visit, char hex[BB_DIGEST_BYTES])
{
    entry *entries = calloc(visit->cell_count + 1, sizeof *entries);
    if (entries == NULL)
        return BB_MEMORY;
    double first = first_hour(visit);
    for (size_t i = 0; i < visit->cell_count; i++)
        entries[i] = entry_of(visit, &visit->cells[i], first);
    qsort(entries, visit->cell_count, sizeof *entries, compare);

    bb_sha256 hash;
    bb_sha256_begin(&hash);
    feed_scale(&hash, &visit->machine);
    for (size_t i = 0; i < visit->cell_count; i++) {
        bool last = i + 1 == visit->cell_count || compare(&entries[i], &entries[i + 1]) != 0;
        if (last)
            feed_entry(&hash, &entries[i]);
        else
            entries[i + 1].count += entries[i].count;
    }
    bb_sha256_end(&hash, hex);
    free(entries);
    return BB_OK;
}
