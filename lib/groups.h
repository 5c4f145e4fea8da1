/* The groups of targets that the program knows by name. */
#ifndef BB_GROUPS_H
#define BB_GROUPS_H

#define BB_GROUP_SAND "bare sand"
#define BB_GROUP_SMALL_GOLD "small gold"
#define BB_GROUP_GOLD "gold"
#define BB_GROUP_COIN "coin"
#define BB_GROUP_FOIL "foil"
#define BB_GROUP_JUNK "junk"
#define BB_GROUP_IRON "iron"

#endif
