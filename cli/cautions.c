/* The cautions that the program shows, in one place. */
#include "cautions.h"

#include "out.h"

#include <string.h>

const caution cautions[] = {
    {"Tide", "Read a tide table, set a turn-back time and keep it. Never turn your back on the "
             "sea. Know where the water can cut you off."},
    {"Others know", "Someone knows where you are and when you will be back. The phone is charged. "
                    "Night, cold, waves and soft ground count double alone."},
    {"Allowed", "Have permission; know the local by-laws and the protected sites."},
    {"Leave it well", "Fill every hole, below the tide line too. Take hooks, sharps and junk home. "
                      "Keep your distance from other people."},
    {"Ordnance", "If it may be ammunition or a bomb, leave it alone: mark the place from a "
                 "distance and report it to the authorities."},
    {"Gear", "Rinse it in fresh water."},
    {"Rules", "These lines only inform; local codes and licensed practice decide."},
    {0},
};

void say_cautions(void)
{
    for (const caution *row = cautions; row->heading != NULL; row++)
        say_item(17, row->heading, "%s", row->sentence);
}

void say_caution(const char *heading)
{
    for (const caution *row = cautions; row->heading != NULL; row++)
        if (strcmp(row->heading, heading) == 0)
            say_item(17, row->heading, "%s", row->sentence);
}
