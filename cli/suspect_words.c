/* Sweeps that a profile finds hard to believe. */
#include "suspect_words.h"

#include "names.h"
#include "out.h"

void say_suspects(const bb_visit *visit, const bb_suspect *suspects, size_t count, size_t shown)
{
    for (size_t i = 0; i < count && i < shown; i++) {
        const bb_cell *cell = &visit->cells[suspects[i].cell];
        say("Hard to believe: sweeps.csv line %ld, %s read %d where %.0f to %.0f was expected. A "
            "slip of the pen, or metal beside it?",
            cell->line, target_or_sand(visit->targets, cell->target), cell->reading,
            suspects[i].low, suspects[i].high);
    }
    if (count > shown)
        say("%zu more like it: 'brineband fit --verbose' lists them.", count - shown);
}

json_t *suspects_json(const bb_visit *visit, const bb_suspect *suspects, size_t count)
{
    json_t *rows = json_array();
    for (size_t i = 0; i < count; i++) {
        const bb_cell *cell = &visit->cells[suspects[i].cell];
        json_add(rows, json_pack("{s:I,s:s,s:i,s:f,s:f,s:f}", "line", (json_int_t)cell->line,
                                 "target", target_or_sand(visit->targets, cell->target), "reading",
                                 cell->reading, "expected", suspects[i].expected, "low",
                                 suspects[i].low, "high", suspects[i].high));
    }
    return rows;
}
