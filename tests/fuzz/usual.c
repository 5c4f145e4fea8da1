/* The beach and the kit beside a file that is fuzzed. */
#include "usual.h"

#include "hold.h"

#include <string.h>

bb_visit usual_beach(void)
{
    static const char text[] = "[machine]\nscale_low = -10\nscale_high = 90\n"
                               "[zone wet]\nwetness = wet\n[zone damp]\nwetness = damp\n";
    bb_visit visit = {0};
    bb_error error = {0};
    hold(bb_beach_read(text, strlen(text), "beach.ini", &visit, &error) == BB_OK,
         "the usual beach is read");
    return visit;
}

void usual_kit(bb_visit *visit)
{
    static const char text[] = "target,group\nstud,small gold\nband,gold\nfoil,foil\n";
    bb_error error = {0};
    hold(bb_kit_read(text, strlen(text), "kit.csv", visit, &error) == BB_OK,
         "the usual kit is read");
}
