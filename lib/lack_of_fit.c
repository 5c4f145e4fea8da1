/* Lack of fit against pure error, from sums over places. */
#include "lack_of_fit.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

#include "status.h"

BB_CALLS_GSL;

double bb_place_lack(const bb_replicates *place)
{
    const double off = place->mean - place->expected;
    return off * off / (place->variance / place->count + place->shared);
}

void bb_fit_error_add(bb_fit_error *sums, const bb_replicates *place)
{
    sums->places++;
    sums->pure += place->squares / place->variance;
    sums->lack += bb_place_lack(place);
    sums->pure_df += place->count - 1;
    sums->squares += place->squares;
}

bb_lack_of_fit bb_lack_of_fit_test(const bb_fit_error *sums, double parameters)
{
    bb_lack_of_fit test = {
        .lack_df = (double)sums->places - parameters, .pure_sd = NAN, .f = NAN, .p = NAN};
    if (sums->pure_df > 0)
        test.pure_sd = sqrt(sums->squares / sums->pure_df);
    if (sums->pure_df > 0 && sums->pure > 0 && test.lack_df >= 1) {
        test.f = sums->lack / test.lack_df / (sums->pure / sums->pure_df);
        test.p = gsl_cdf_fdist_Q(test.f, test.lack_df, sums->pure_df);
    }
    return test;
}
