/* Tells a tally as a table. */
#include "tally.h"

#include <math.h>

#include <gsl/gsl_statistics_double.h>

void print_fits(const simulation *of, const tally *sums)
{
    printf("%-9s %-10s fitted %.0f of %.0f in %.1f ms (worst %.0f)", family_name[of->family],
           visit_name[of->kind], sums->fitted, sums->visits, sums->milliseconds / sums->visits,
           sums->slowest);
    if (sums->with_less > 0)
        printf(", %.0f of them with sweeps left out", sums->with_less);
    for (int status = 1; status < STATUSES; status++)
        if (sums->failures[status] > 0)
            printf("; %d: %s", sums->failures[status], bb_status_text((bb_status)status));
    printf("\n");
}

void print_predictions(const tally *sums)
{
    for (int place = 0; place < PLACES; place++) {
        const scores *s = &sums->score[place];
        if (s->points == 0)
            continue;
        printf("    %-10s %6.0f", place_name[place], s->points);
        for (int level = 0; level < LEVELS; level++)
            printf(" %5.1f", 100 * s->covered[level] / s->points);
        printf("  %6.3f %6.3f  %7.3f %8.3f\n", sqrt(s->square / s->floor),
               gsl_stats_median(sums->ratio[place], 1, sums->ratios[place]),
               s->log_score / s->points, s->baseline_log_score / s->points);
    }
    if (sums->fitted > 0)
        printf("    better log score than the offset-per-zone fit in %.1f %% of visits\n",
               100 * sums->wins / sums->fitted);
}

void print_recovery(const recoveries *r)
{
    printf("    %-8s %6s %7s %6s %8s %11s\n", "", "count", "mean z", "rms z", "in 90 %",
           "sd/prior sd");
    for (int i = 0; i < RECOVER_COUNT; i++)
        if (r->count[i] > 0)
            printf("    %-8s %6.0f %7.2f %6.2f %8.1f %11.2f\n", recovery_name[i], r->count[i],
                   r->sum[i] / r->count[i], sqrt(r->square[i] / r->count[i]),
                   100 * r->within[i] / r->count[i], r->learned[i] / r->count[i]);
}
