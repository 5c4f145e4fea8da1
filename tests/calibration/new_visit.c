/* Whether a new visit lies where its club says: 90 % limits of invented clubs, over the number of
 * visits and over how well a visit knows itself. */
#include "new_visit.h"

#include <math.h>
#include <stdio.h>

#include <gsl/gsl_randist.h>

#include "brineband.h"

enum { MOST = 20 };

/* Visits differ with variance 1; each one's own variance is typical within, by a factor of sd 0.7. */
static bool covers(gsl_rng *random, size_t visits, double within, bb_pooled *pooled)
{
    double estimate[MOST], variance[MOST];
    for (size_t i = 0; i < visits; i++) {
        variance[i] = within * exp(gsl_ran_gaussian(random, 0.7));
        estimate[i] = gsl_ran_gaussian(random, 1) + gsl_ran_gaussian(random, sqrt(variance[i]));
    }
    const double fresh = gsl_ran_gaussian(random, 1);
    return bb_pool(estimate, variance, visits, BB_POOL_PAULE_MANDEL, pooled) == BB_OK &&
           fresh >= pooled->new_low && fresh <= pooled->new_high;
}

bool new_visits_run(int clubs, unsigned long seed)
{
    static const size_t visits[] = {3, 4, 6, 10, 20};
    static const double withins[] = {0.001, 0.05, 0.2, 0.5, 1, 3};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return false;
    gsl_rng_set(random, seed);
    printf("within / between");
    for (size_t v = 0; v < sizeof visits / sizeof *visits; v++)
        printf("  %2zu visits", visits[v]);
    for (size_t w = 0; w < sizeof withins / sizeof *withins; w++) {
        printf("\n%16g", withins[w]);
        for (size_t v = 0; v < sizeof visits / sizeof *visits; v++) {
            int inside = 0;
            bb_pooled pooled;
            for (int i = 0; i < clubs; i++)
                inside += covers(random, visits[v], withins[w], &pooled);
            printf("  %7.1f %%", 100.0 * inside / clubs);
        }
    }
    putchar('\n');
    gsl_rng_free(random);
    return true;
}
