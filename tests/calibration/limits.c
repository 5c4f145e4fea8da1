/* What a short calibration must hold. */
#include "tally.h"

#include <math.h>

static void require(bool holds, const simulation *of, const char *what, double found, double low,
                    double high, int *passed, int *failed)
{
    ++*(holds ? passed : failed);
    if (!holds)
        printf("    FAILED %s %s: %s %.3f, accepted %.3f to %.3f\n", family_name[of->family],
               visit_name[of->kind], what, found, low, high);
}

static void within(double found, double low, double high, const simulation *of, const char *what,
                   int *passed, int *failed)
{
    require(found >= low && found <= high, of, what, found, low, high, passed, failed);
}

void check_limits(const simulation *of, const tally *sums, int *passed, int *failed)
{
    scores all = {0};
    for (int place = 0; place < PLACES; place++)
        score_merge(&all, &sums->score[place]);
    within(sums->fitted / sums->visits, 0.85, 1, of, "share of visits fitted", passed, failed);
    within(all.covered[LEVELS - 1] / all.points, 0.85, 0.96, of, "share inside 90 %", passed,
           failed);
    within(all.covered[0] / all.points, 0.42, 0.62, of, "share inside 50 %", passed, failed);
    if (of->kind == VISIT_TWO_MINUTE) /* two ways to count the same readings */
        return;
    within(sums->wins / sums->fitted, 0.85, 1, of, "share better than offsets", passed, failed);
    within(sqrt(sums->score[SWEPT].square / sums->score[SWEPT].floor), 1, 1.3, of,
           "RMSE over the noise floor where swept", passed, failed);
}
