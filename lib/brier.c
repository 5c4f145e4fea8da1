/* How good called chances were: the Brier score and its three parts. */
#include "brineband.h"

#include <math.h>
#include <string.h>

static size_t bin_of(double chance)
{
    const size_t bin = (size_t)(BB_BRIER_BINS * chance);
    return bin < BB_BRIER_BINS ? bin : BB_BRIER_BINS - 1;
}

static double share_of(size_t part, size_t whole)
{
    return (double)part / (double)whole;
}

/* Counts and sums of every bin; called holds the sum until all are in. */
static bb_status sum_up(const double *chance, const bool *came, size_t count, bb_brier *brier)
{
    for (size_t i = 0; i < count; i++) {
        if (isnan(chance[i]))
            continue;
        if (chance[i] < 0 || chance[i] > 1)
            return BB_RANGE;
        bb_brier_bin *bin = &brier->bins[bin_of(chance[i])];
        bin->calls++;
        bin->came += came[i];
        bin->called += chance[i];
        brier->calls++;
        brier->came += came[i];
        brier->expected += chance[i];
        brier->expected_sd += chance[i] * (1 - chance[i]);
        brier->score += (chance[i] - came[i]) * (chance[i] - came[i]);
    }
    return brier->calls > 0 ? BB_OK : BB_TOO_LITTLE;
}

static void finish_bins(bb_brier *brier)
{
    for (size_t b = 0; b < BB_BRIER_BINS; b++) {
        bb_brier_bin *bin = &brier->bins[b];
        const double calls = (double)bin->calls, came = (double)bin->came;
        bin->called = calls > 0 ? bin->called / calls : NAN;
        bin->low = calls > 0 ? bb_binomial_lower(came, calls, BB_TAIL_95) : 0;
        bin->high = calls > 0 ? bb_binomial_upper(came, calls, BB_TAIL_95) : 1;
    }
}

static double standard_error(const double *chance, const bool *came, size_t count,
                             const bb_brier *brier)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        const double miss = chance[i] - came[i];
        if (!isnan(chance[i]))
            sum += (miss * miss - brier->score) * (miss * miss - brier->score);
    }
    return brier->calls > 1 ? sqrt(sum / (double)(brier->calls - 1) / (double)brier->calls) : NAN;
}

/* The spread of the chances within a bin and its agreement with what came. */
static double within_bins(const double *chance, const bool *came, size_t count,
                          const bb_brier *brier)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        if (isnan(chance[i]))
            continue;
        const bb_brier_bin *bin = &brier->bins[bin_of(chance[i])];
        const double off = chance[i] - bin->called;
        sum += 2 * off * (came[i] - share_of(bin->came, bin->calls)) - off * off;
    }
    return sum / (double)brier->calls;
}

bb_status bb_brier_score(const double *chance, const bool *came, size_t count, bb_brier *out)
{
    bb_brier brier = {0};
    bb_status status = sum_up(chance, came, count, &brier);
    if (status != BB_OK)
        return status;
    const double calls = (double)brier.calls, overall = share_of(brier.came, brier.calls);
    finish_bins(&brier);
    brier.expected_sd = sqrt(brier.expected_sd);
    brier.score /= calls;
    brier.se = standard_error(chance, came, count, &brier);
    brier.uncertainty = overall * (1 - overall);
    brier.skill = brier.uncertainty > 0 ? 1 - brier.score / brier.uncertainty : NAN;
    for (size_t b = 0; b < BB_BRIER_BINS; b++) {
        const bb_brier_bin *bin = &brier.bins[b];
        if (bin->calls == 0)
            continue;
        const double weight = share_of(bin->calls, brier.calls);
        const double share = share_of(bin->came, bin->calls);
        brier.reliability += weight * (bin->called - share) * (bin->called - share);
        brier.resolution += weight * (share - overall) * (share - overall);
    }
    brier.resolution += within_bins(chance, came, count, &brier);
    *out = brier;
    return BB_OK;
}
