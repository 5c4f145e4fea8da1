/* Chooses reject bands from distributions of the caller's own, without any visit: ten numbers, sand
 * that shows 2 to 4 and sometimes 7, and a ring that shows 4 to 6. */
#include <brineband.h>
#include <stdio.h>

enum { NUMBERS = 10 };

static const double sand[NUMBERS] = {0, 0, 0.2, 0.5, 0.2, 0, 0, 0.1, 0, 0};
static const double ring[NUMBERS] = {0, 0, 0, 0, 0.1, 0.5, 0.4, 0, 0, 0};

static void tell(const char *words, const bb_band_choice *choice) {
    printf("%s: reject", words);
    for (int b = 0; b < choice->count; b++)
        printf(" %d-%d", choice->band[b].low, choice->band[b].high);
    printf("; sand quiet in %.0f %%, ring lost in %.0f %%\n", 100 * choice->worst_silence,
           100 * choice->worst_loss);
}

int main(void) {
    bb_band_problem problem = {.numbers = NUMBERS,
                               .zones = 1,
                               .sand = sand,
                               .losses = 1,
                               .loss = ring,
                               .at_most = 2,
                               .quiet = 0.95,
                               .max_loss = 0.10};
    bb_band_choice choice;
    bb_status status = bb_bands_choose(&problem, &choice);
    if (status == BB_OK) tell("within both limits", &choice);

    problem.max_loss = 0.05; /* now the 4 must stay, and no setting is quiet enough */
    if (status == BB_OK && bb_bands_choose(&problem, &choice) == BB_TOO_LITTLE) {
        status = bb_bands_gold_first(&problem, &choice);
        if (status == BB_OK) tell("the ring first", &choice);
        if (status == BB_OK) status = bb_bands_quiet_first(&problem, &choice);
        if (status == BB_OK) tell("quiet first", &choice);
    }
    if (status != BB_OK) fprintf(stderr, "%s\n", bb_status_text(status));
    return status == BB_OK ? 0 : 1;
}
