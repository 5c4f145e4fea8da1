/* The groups of targets that the program knows, and whether theirs must still sound. */
#include "groups.h"

#include "names.h"

#include <stddef.h>
#include <stdio.h>

static const bb_group groups[] = {{BB_GROUP_SMALL_GOLD, true}, {BB_GROUP_GOLD, true},
                                  {BB_GROUP_SILVER, true},     {BB_GROUP_COIN, true},
                                  {BB_GROUP_FOIL, false},      {BB_GROUP_JUNK, false},
                                  {BB_GROUP_IRON, false}};

const bb_group *bb_group_find(const char *word)
{
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        if (bb_same_word(word, groups[i].name))
            return &groups[i];
    return NULL;
}

const bb_group *bb_group_near(const char *word)
{
    char names[sizeof groups / sizeof *groups][BB_NAME_BYTES];
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        (void)snprintf(names[i], sizeof names[i], "%s", groups[i].name);
    const char *near =
        bb_nearest_name(word, names[0], sizeof groups / sizeof *groups, sizeof names[0]);
    return near == NULL ? NULL : bb_group_find(near);
}
