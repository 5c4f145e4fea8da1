/* What bare sand showed: how often it sounded, with which numbers, whether the last of them stayed
 * within the range of those before, and what that range says of the next. */
#include "bare.h"

#include <limits.h>
#include <math.h>

#include <gsl/gsl_cdf.h>

#define CASES_MISSED 0.05

static void widen(int *low, int *high, int number)
{
    *low = number < *low ? number : *low;
    *high = number > *high ? number : *high;
}

void bb_bare_begin(bb_bare *bare)
{
    *bare = (bb_bare){
        .last_low = INT_MAX, .last_high = INT_MIN, .before_low = INT_MAX, .before_high = INT_MIN};
}

static void push(bb_bare *bare, bb_bare_tail *tail, int number)
{
    if (tail->held < BB_BARE_TAIL) {
        tail->numbers[tail->held++] = number;
        return;
    }
    widen(&bare->before_low, &bare->before_high, tail->numbers[tail->oldest]);
    tail->numbers[tail->oldest] = number;
    tail->oldest = (tail->oldest + 1) % BB_BARE_TAIL;
}

void bb_bare_add(bb_bare *bare, bb_bare_tail *tail, const bb_machine *machine, const bb_cell *sweep)
{
    bare->swept += sweep->count;
    if (sweep->heard == BB_HEARD_NO) {
        bare->quiet_recorded = true;
        return;
    }
    bare->heard += sweep->count;
    if (!sweep->has_reading)
        return;
    bare->number_swept += sweep->count;
    bare->counts[bb_scale_index(machine, sweep->reading)] += sweep->count;
    /* Twice the tail's length of one number leaves the same trace as any more of it. */
    for (int i = 0; i < 2 * BB_BARE_TAIL && i < sweep->count; i++)
        push(bare, tail, sweep->reading);
}

static void settle(int *low, int *high)
{
    if (*low > *high) {
        *low = 0;
        *high = -1;
    }
}

void bb_bare_end(bb_bare *bare, const bb_bare_tail *tail)
{
    for (int i = 0; i < tail->held; i++)
        widen(&bare->last_low, &bare->last_high, tail->numbers[i]);
    settle(&bare->last_low, &bare->last_high);
    settle(&bare->before_low, &bare->before_high);
}

int bb_bare_wanted(const bb_bare *bare)
{
    const bool settled = bare->last_low >= bare->before_low && bare->last_high <= bare->before_high;
    const int wanted = bare->swept < BB_BARE_LEAST || settled ? BB_BARE_LEAST : BB_BARE_ENOUGH;
    return bare->swept < wanted ? wanted - (int)bare->swept : 0;
}

bb_bare_range bb_bare_range_of(const bb_bare *bare, const bb_machine *machine)
{
    bb_bare_range range = {.outside_at_most = 1, .sd = NAN};
    const int count = (machine->scale_high - machine->scale_low) / machine->scale_step + 1;
    double sum = 0, square = 0;
    int first = count, last = -1;
    for (int n = 0; n < count; n++) {
        if (bare->counts[n] <= 0)
            continue;
        first = n < first ? n : first;
        last = n;
        range.read += bare->counts[n];
        sum += bare->counts[n] * n;
        square += bare->counts[n] * n * n;
    }
    if (range.read == 0)
        return range;
    range.low = machine->scale_low + first * machine->scale_step;
    range.high = machine->scale_low + last * machine->scale_step;
    if (range.read < 2)
        return range;
    range.sd = machine->scale_step *
               sqrt(fmax(square - sum * sum / range.read, 0) / (range.read - 1));
    range.lone_ends = (bare->counts[first] == 1) + (bare->counts[last] == 1);
    range.outside_at_most = 2 / (range.read + 1);
    range.inside_at_least = gsl_cdf_beta_Pinv(CASES_MISSED, range.read - 1, 2);
    return range;
}
