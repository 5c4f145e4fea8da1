/* How to sweep, in ten lines. */
#include "sweeping.h"

#include <stddef.h>

const char *const sweeping[] = {
    "Set the machine as you will use it and leave it: one setting, one calibration. Nothing "
    "rejected while you learn the sand.",
    "At home: each piece in air, 5 and 10 cm from the coil, three sweeps each.",
    "Rinse and dry the pieces; salt water on a piece is part of its number.",
    "Swing at one height, the height you always use, and write it down.",
    "Bare sand first: pump the coil up and down over 15 spots, a pace apart, where nothing sounds "
    "but the sand. Write every number, also the odd ones. If the last five went beyond the others, "
    "go on to 25.",
    "A piece: check that its spot is bare, lay it flat on the sand, sweep it three times from two "
    "sides. Only silence or the sand's own number? Write heard no, and no number.",
    "Depth without digging: leave the piece on the sand and raise the coil to a mark, 10 and 15 "
    "cm, or what the plan says. Write that as height_cm.",
    "A buried piece has a string on it that reaches the air. Close the hole over it and press the "
    "sand down, or the hole is what you measure.",
    "Small gold and a scrap of foil of its size matter most: sweep both.",
    "Count the pieces back in before you leave. Fill every hole.",
    NULL,
};
