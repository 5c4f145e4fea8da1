/* A visit that any bytes stand for, as the three files a user would type. */
#include "draw.h"

#include "brineband.h"
#include "hold.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { ZONES_MAX = 3, PIECES_MAX = 5, ROWS_MAX = 48 };

/* Bytes not drawn yet, the scale and what was named so far. */
typedef struct {
    const unsigned char *at, *end;
    unsigned zones, pieces;
    int scale_low, step;
    unsigned numbers;
} deck;

/* 0 to below; 0 when all is drawn. */
static unsigned draw(deck *deck, unsigned below)
{
    unsigned value = 0;
    for (unsigned range = below; range > 1; range >>= 8)
        value = value << 8 | (deck->at < deck->end ? *deck->at++ : 0);
    return value % below;
}

static double draw_from(deck *deck, double low, double high)
{
    return low + (high - low) * draw(deck, 1001) / 1000;
}

__attribute__((format(printf, 3, 4))) static void put(char *text, size_t size, const char *format,
                                                      ...)
{
    size_t used = strlen(text);
    va_list arguments;
    va_start(arguments, format);
    int more = vsnprintf(text + used, size - used, format, arguments);
    va_end(arguments);
    hold(more >= 0 && (size_t)more < size - used, "a drawn file has room");
}
#define PUT(text, ...) put(text, sizeof(text), __VA_ARGS__)

/* ---------------------------------------------------------------- beach.ini */

static void draw_scale(deck *deck, drawn_visit *visit)
{
    static const int steps[] = {1, 1, 1, 1, 2, 5, 100};
    deck->step = steps[draw(deck, sizeof steps / sizeof *steps)];
    deck->scale_low = deck->step * ((int)draw(deck, 101) - 50);
    deck->numbers = 2 + draw(deck, draw(deck, 32) == 31 ? BB_NUMBERS_MAX - 1 : 120);
    PUT(visit->beach, "[machine]\nscale_low = %d\nscale_high = %d\nscale_step = %d\n",
        deck->scale_low, deck->scale_low + deck->step * (int)(deck->numbers - 1), deck->step);
}

static void draw_machine(deck *deck, drawn_visit *visit)
{
    draw_scale(deck, visit);
    switch (draw(deck, 5)) {
    case 0:
        PUT(visit->beach, "frequency_khz = several\n");
        break;
    case 1:
        PUT(visit->beach, "frequency_khz = %g, %g\n", draw_from(deck, 0.1, 20),
            draw_from(deck, 20.5, 1000));
        break;
    case 2:
        PUT(visit->beach, "frequency_khz = %g\n", draw_from(deck, 0.1, 1000));
        break;
    case 3:
        PUT(visit->beach, "frequency_khz = %g\n", draw_from(deck, 3, 40));
        break;
    default:
        break;
    }
    if (draw(deck, 2) != 0)
        PUT(visit->beach, "coil_diameter_cm = %g\n", draw_from(deck, 5, 150));
    if (draw(deck, 2) != 0)
        PUT(visit->beach, "reject_bands = %u\n", 1 + draw(deck, BB_BANDS_MAX));
}

static void draw_beach(deck *deck, drawn_visit *visit)
{
    static const char *const waters[] = {"sea", "brackish", "fresh"};
    PUT(visit->beach, "[beach]\n");
    if (draw(deck, 2) != 0)
        PUT(visit->beach, "swing_height_cm = %g\n", draw_from(deck, 0.5, 100));
    if (draw(deck, 2) != 0)
        PUT(visit->beach, "water = %s\n", waters[draw(deck, 3)]);
    else if (draw(deck, 2) != 0)
        PUT(visit->beach, "water_salinity = %g\nwater_temperature_c = %g\n", draw_from(deck, 0, 42),
            draw_from(deck, -2, 35));
    if (draw(deck, 3) == 0)
        PUT(visit->beach, "sand_porosity = %g\n", draw_from(deck, 0.1, 0.8));
    if (draw(deck, 4) == 0)
        PUT(visit->beach, "susceptibility_si = %g\n", draw_from(deck, 0, draw(deck, 2) ? 1 : 1e-3));
}

static void draw_zones(deck *deck, drawn_visit *visit)
{
    static const char *const wetness[] = {"dry", "damp", "wet"};
    deck->zones = 1 + draw(deck, ZONES_MAX);
    for (unsigned i = 0; i < deck->zones; i++) {
        PUT(visit->beach, "[zone z%u]\n", i);
        if (draw(deck, 2) != 0)
            PUT(visit->beach, "wetness = %s\n", wetness[draw(deck, 3)]);
        else
            PUT(visit->beach, "saturation = %g\n", draw_from(deck, 0, 1));
        if (draw(deck, 4) == 0)
            PUT(visit->beach, "dry_layer_cm = %g\n", draw_from(deck, 0, 100));
    }
}

/* ---------------------------------------------------------------- kit.csv */

static void draw_material(deck *deck, drawn_visit *visit)
{
    const bb_material *material = bb_material_at(draw(deck, (unsigned)bb_material_count()));
    if (draw(deck, 4) == 0)
        PUT(visit->kit, "%g,", draw_from(deck, 0.01, 100));
    else
        PUT(visit->kit, "%s,", material->name);
}

/* Shape to bore; sizes from the smallest to the largest that are accepted. */
static void draw_body(deck *deck, drawn_visit *visit)
{
    double diameter = draw_from(deck, 0.5, draw(deck, 4) == 0 ? 1000 : 40);
    double thickness = draw_from(deck, 0.001, draw(deck, 4) == 0 ? 500 : 3);
    switch (draw(deck, 5)) {
    case 0:
        PUT(visit->kit, "other,,,,");
        break;
    case 1:
        PUT(visit->kit, "sphere,");
        draw_material(deck, visit);
        PUT(visit->kit, "%g,,", diameter);
        break;
    case 2:
        PUT(visit->kit, "ring,");
        draw_material(deck, visit);
        PUT(visit->kit, "%g,%g,%g", diameter, thickness, draw_from(deck, 0.2, 0.99) * diameter);
        break;
    default:
        PUT(visit->kit, "disc,");
        draw_material(deck, visit);
        PUT(visit->kit, "%g,%g,", diameter, thickness);
        break;
    }
}

static void draw_kit(deck *deck, drawn_visit *visit)
{
    static const char *const groups[] = {"small gold", "gold", "coin", "foil",
                                         "junk",       "iron", "own"};
    static const char *const keep[] = {"", "yes", "no"};
    deck->pieces = draw(deck, PIECES_MAX + 1);
    PUT(visit->kit, "target,shape,material,diameter_mm,thickness_mm,bore_mm,years,keep,group\n");
    for (unsigned i = 0; i < deck->pieces; i++) {
        PUT(visit->kit, "p%u,", i);
        draw_body(deck, visit);
        PUT(visit->kit, ",");
        if (draw(deck, 3) == 0)
            PUT(visit->kit, "%g", draw_from(deck, 0, draw(deck, 2) ? 5000 : 50));
        PUT(visit->kit, ",%s,%s\n", keep[draw(deck, 3)], groups[draw(deck, 7)]);
    }
}

/* ---------------------------------------------------------------- sweeps.csv */

/* Numbers near each other, as a machine shows them, or anywhere. */
static void draw_readings(deck *deck, drawn_visit *visit)
{
    unsigned middle = draw(deck, deck->numbers), spread = draw(deck, 3) == 0 ? deck->numbers : 5;
    for (unsigned left = 1 + draw(deck, 8); left > 0; left--) {
        unsigned number = (middle + draw(deck, spread)) % deck->numbers;
        PUT(visit->sweeps, "%d ", deck->scale_low + deck->step * (int)number);
    }
}

static void draw_place(deck *deck, drawn_visit *visit)
{
    unsigned piece = draw(deck, deck->pieces + 1), zone = draw(deck, deck->zones + 1);
    bool sand = piece == deck->pieces, air = zone == deck->zones && !sand;
    if (air)
        PUT(visit->sweeps, "air,p%u,%g,", piece, draw_from(deck, 0.1, draw(deck, 4) ? 30 : 200));
    else if (sand)
        PUT(visit->sweeps, "z%u,sand,,", zone % deck->zones);
    else
        PUT(visit->sweeps, "z%u,p%u,%g,", zone, piece,
            draw_from(deck, 0, draw(deck, 4) ? 30 : 200));
    if (!air && draw(deck, 6) == 0)
        PUT(visit->sweeps, "%g", draw_from(deck, 0.5, 100));
    PUT(visit->sweeps, ",");
}

static void draw_row(deck *deck, drawn_visit *visit)
{
    static const char *const settings[] = {"", "", "", "own words"};
    draw_place(deck, visit);
    if (draw(deck, 6) == 0)
        PUT(visit->sweeps, "%u", 1 + draw(deck, draw(deck, 8) == 0 ? 1000000 : 30));
    PUT(visit->sweeps, ",");
    if (draw(deck, 4) == 0)
        PUT(visit->sweeps, "%02u:%02u", draw(deck, 24), draw(deck, 60));
    PUT(visit->sweeps, ",%s,", settings[draw(deck, 4)]);
    unsigned heard = draw(deck, 6);
    PUT(visit->sweeps, "%s,", heard == 0 ? "no" : heard < 3 ? "yes" : "");
    if (heard != 0 && (heard != 1 || draw(deck, 2) != 0))
        draw_readings(deck, visit);
    PUT(visit->sweeps, "\n");
}

void draw_visit(const unsigned char *bytes, size_t length, drawn_visit *visit)
{
    deck deck = {.at = bytes, .end = bytes + length};
    visit->beach[0] = visit->kit[0] = visit->sweeps[0] = '\0';
    draw_machine(&deck, visit);
    draw_beach(&deck, visit);
    draw_zones(&deck, visit);
    draw_kit(&deck, visit);
    PUT(visit->sweeps, "zone,target,depth_cm,height_cm,times,time,setting,heard,reading\n");
    for (unsigned left = ROWS_MAX; left > 0 && deck.at < deck.end; left--)
        draw_row(&deck, visit);
}
