/* What was swept, counted and in words, before any model. */
#include "swept.h"

#include "out.h"

#include <stdio.h>

double swept_in_air(const bb_visit *visit)
{
    double count = 0;
    for (size_t i = 0; i < visit->cell_count; i++)
        if (visit->cells[i].zone == BB_ZONE_AIR && visit->cells[i].setting == 0)
            count += visit->cells[i].count;
    return count;
}

double swept_on_sand(const bb_visit *visit, int target)
{
    double count = 0;
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        bool wanted = target == BB_TARGET_ANY ? cell->target >= 0 : cell->target == target;
        if (cell->zone >= 0 && cell->setting == 0 && wanted)
            count += cell->count;
    }
    return count;
}

static void range_of(const bb_visit *visit, const bb_bare *bare, phrase *text)
{
    const bb_machine *machine = &visit->machine;
    const size_t count = bb_scale_count(machine);
    size_t low = 0, high = count;
    for (size_t i = 0; i < count; i++)
        if (bare->counts[i] > 0) {
            low = high == count ? i : low;
            high = i;
        }
    if (high == count)
        (void)snprintf(text->text, sizeof text->text, "no number shown");
    else if (low == high)
        (void)snprintf(text->text, sizeof text->text, "always %d", bb_scale_number(machine, low));
    else
        (void)snprintf(text->text, sizeof text->text, "numbers %d to %d",
                       bb_scale_number(machine, low), bb_scale_number(machine, high));
}

void say_bare_sand(const bb_visit *visit, size_t zone)
{
    const bb_bare *bare = &visit->bare[zone];
    phrase sweeps, numbers;
    range_of(visit, bare, &numbers);
    if (bare->swept == 0)
        say_item(14, visit->zones[zone].name, "bare sand not swept yet");
    else if (bare->quiet_recorded && bare->heard == 0)
        say_item(14, visit->zones[zone].name, "%s of bare sand, none of them heard",
                 counted(&sweeps, bare->swept, "sweep", "sweeps"));
    else if (bare->quiet_recorded)
        say_item(14, visit->zones[zone].name, "%s of bare sand, %.0f of them heard, %s",
                 counted(&sweeps, bare->swept, "sweep", "sweeps"), bare->heard, numbers.text);
    else
        say_item(14, visit->zones[zone].name, "%s of bare sand, %s",
                 counted(&sweeps, bare->swept, "sweep", "sweeps"), numbers.text);
}

size_t swept_pieces(const bb_visit *visit)
{
    bool swept[BB_TARGETS_MAX] = {false};
    size_t pieces = 0;
    for (size_t i = 0; i < visit->cell_count; i++) {
        const int target = visit->cells[i].target;
        if (target < 0 || swept[target])
            continue;
        swept[target] = true;
        pieces++;
    }
    return pieces;
}

bool is_silent(const bb_bare *bare)
{
    return bare->swept > 0 && !(bare->heard > 0);
}
