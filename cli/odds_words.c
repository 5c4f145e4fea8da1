/* Odds with their range, in words and in JSON. */
#include "odds_words.h"

#include "reject_words.h"

#include <math.h>
#include <stdio.h>

const char *odds_range(phrase *buffer, bb_odds odds)
{
    (void)snprintf(buffer->text, sizeof buffer->text, "%.0f-%.0f %%", floor(100 * odds.low),
                   ceil(100 * odds.high));
    return buffer->text;
}

const char *odds_words(phrase *buffer, bb_odds odds)
{
    char likely[16];
    phrase range;
    (void)snprintf(buffer->text, sizeof buffer->text, "%s (%.40s)",
                   share_words(likely, odds.probability), odds_range(&range, odds));
    return buffer->text;
}

json_t *odds_json(bb_odds odds)
{
    if (isnan(odds.probability))
        return json_null();
    return json_pack("{s:f,s:f,s:f}", "probability", odds.probability, "low", odds.low, "high",
                     odds.high);
}
