/* The numbers that a machine shows, and bands of them. */
#include "brineband.h"

bool bb_scale_holds(const bb_machine *machine, long number)
{
    return number >= machine->scale_low && number <= machine->scale_high &&
           (number - machine->scale_low) % machine->scale_step == 0;
}

size_t bb_scale_count(const bb_machine *machine)
{
    return bb_scale_index(machine, machine->scale_high) + 1;
}

size_t bb_scale_index(const bb_machine *machine, int number)
{
    return (size_t)((number - machine->scale_low) / machine->scale_step);
}

int bb_scale_number(const bb_machine *machine, size_t index)
{
    return machine->scale_low + (int)index * machine->scale_step;
}

bool bb_bands_hold(const bb_bands *bands, int number)
{
    for (int b = 0; b < bands->count; b++)
        if (number >= bands->band[b].low && number <= bands->band[b].high)
            return true;
    return false;
}

bool bb_bands_same(const bb_bands *a, const bb_bands *b)
{
    bool same = a->count == b->count;
    for (int i = 0; same && i < a->count; i++)
        same = a->band[i].low == b->band[i].low && a->band[i].high == b->band[i].high;
    return same;
}
