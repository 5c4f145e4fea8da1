/* How much thickness a metal loses. */
#ifndef BB_CORROSION_H
#define BB_CORROSION_H

/* Metres lost from one face in sea or wet salt sand after years (0 up) at a severity (0 up, 1 as in
 * reference/corrosion_rates.csv); 0 for a metal that is not in that table. The rate is constant:
 * wrong by a factor of 2 or 3, as that table says. */
double bb_corrosion_loss_m(const char *material, double years, double severity);

/* The exponents of ISO 9224: of the mean site (B1), and two standard deviations above (B2). */
typedef enum { BB_EXPONENT_MEAN, BB_EXPONENT_UPPER } bb_exponent;

/* Metres lost from one face in the air of the shore: first_year_m is the loss of the first year.
 * years^b up to 20 years, then on at the rate reached there; 0 for a metal without an exponent. */
double bb_corrosion_air_loss_m(const char *material, double first_year_m, bb_exponent exponent,
                               double years);

#endif
