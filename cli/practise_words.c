/* Words for an invented round, on the screen and on paper. */
#include "practise_words.h"

#include <math.h>
#include <string.h>

#include "outcome.h"

char *readings_words(const bb_round *round)
{
    char *text = need_text("%d", round->readings[0]);
    for (size_t i = 1; i < round->reading_count; i++)
        text = need_longer(text, " %d", round->readings[i]);
    return text;
}

char *truth_words(const bb_round *round)
{
    if (isnan(round->depth_m))
        return need_text("%s", round->group);
    char *text = need_text("%s", round->group);
    if (strcmp(round->group, round->target) != 0)
        text = need_longer(text, " (%s)", round->target);
    return round->depth_m > 0 ? need_longer(text, ", %.0f cm deep", 100 * round->depth_m)
                              : need_longer(text, ", on the sand");
}

char *groups_words(const bb_judgement *any)
{
    char *text = need_text("%s", "");
    for (size_t c = 0; c < any->class_count; c++)
        if (any->classes[c].base_rate > 0)
            text = need_longer(text, "%s%s", *text != '\0' ? ", " : "", any->classes[c].group);
    return text;
}
