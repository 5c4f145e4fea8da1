/* Constants of physics, and of what is said of a doubt. */
#ifndef BB_CONSTANTS_H
#define BB_CONSTANTS_H

#define BB_PI 3.14159265358979323846
#define BB_DEG (180 / BB_PI) /* degrees a radian */
#define BB_NINE_IN_TEN 0.95 /* below the upper end of the range that holds nine in ten */
/* H/m: 4 pi 1e-7, exact until 2019 and 5e-10 below CODATA 2018; the published check values use it. */
#define BB_MU0 (4e-7 * BB_PI)

#endif
