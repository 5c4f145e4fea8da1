/* What a card says, sentence by sentence. Every text is the caller's to free. */
#ifndef CARD_WORDS_H
#define CARD_WORDS_H

#include "brineband.h"

/* The most zones, kept pieces and pieces of foil that one page has room for. */
enum { SANDS_MOST = 4, PIECES_MOST = 12, FOILS_MOST = 3 };

/* All that a card rests on. */
struct card {
    const bb_profile *profile;
    bool stale; /* a file of the visit is newer */
    int low_water_min, turn_back_min; /* minutes after midnight, -1: left open to write in */
    const bb_reject *reject;
    const bb_reject_score *shown; /* the setting that the card is for */
    const bb_number_ranges *ranges;
    int recheck_sweeps, recheck_sounds; /* so many swings, and the most that may sound */
    int sand_low[SANDS_MOST],
        sand_high[SANDS_MOST]; /* numbers that nine in ten read, as in sands */
    /* Of the report: the zones that are quieted least, and of the pieces that are lost most the
     * row of the zone where each is lost most. */
    size_t sands[SANDS_MOST], pieces[PIECES_MOST], foils[FOILS_MOST];
    size_t sand_count, piece_count, foil_count;
};

/* Choose the rows that the page has room for. */
void card_choose_rows(struct card *card);

/* The setting alone, each band in one piece: "9-12, 33-34", or "nothing". */
char *card_setting(const struct card *card);
char *card_machine(const struct card *card);
/* Of the setting beside the suggested one, and of a profile that is stale; or empty. */
char *card_standing(const struct card *card);
char *card_dialled(const struct card *card);
char *card_quiet(const struct card *card);
char *card_price(const struct card *card);
char *card_share(double share); /* "4 %", "<1 %", or "not heard" for NAN */
char *card_chances(const struct card *card, size_t range);
char *card_masked(const struct card *card, size_t zone);
char *card_recheck(const struct card *card);
char *card_origin(const struct card *card);

#endif
