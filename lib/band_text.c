/* How bands of numbers are written. */
#include "band_text.h"

#include "number.h"

#include <string.h>

bb_status bb_refuse_quoted(const bb_place *place, const char *found, const bb_machine *machine)
{
    if (machine->scale_step == 1)
        return bb_refuse(place, found, "whole numbers of the scale, %d to %d", machine->scale_low,
                         machine->scale_high);
    return bb_refuse(place, found, "whole numbers of the scale, %d to %d in steps of %d",
                     machine->scale_low, machine->scale_high, machine->scale_step);
}

bb_status bb_refuse_number(const bb_place *place, const char *text, const bb_machine *machine)
{
    char found[BB_QUOTE_BYTES];
    return bb_refuse_quoted(place, *text ? bb_quote(text, found) : "nothing", machine);
}

static const char *skip_spaces(const char *text)
{
    return text + strspn(text, " \t");
}

/* Behind a dash, an ordinary one or an en dash as in print, or "to"; NULL where there is none. */
static const char *skip_dash(const char *text)
{
    static const char *const dashes[] = {"-", "\xE2\x80\x93", " to "};
    for (size_t i = 0; i < sizeof dashes / sizeof *dashes; i++)
        if (strncmp(text, dashes[i], strlen(dashes[i])) == 0)
            return text + strlen(dashes[i]);
    return NULL;
}

bool bb_bands_meant(const char *text)
{
    static const char digits[] = "0123456789";
    const char *second = skip_dash(text + strspn(text, digits));
    const bool begins = second != NULL && strspn(second, digits) > 0;
    return begins || (strspn(text, "0123456789-\xE2\x80\x93, ") == strlen(text) &&
                      strpbrk(text, "-\x93") != NULL && strpbrk(text, digits) != NULL);
}

/* One band at *text, which moves on behind it: two numbers, or one for a band of it alone. */
static bool take_band(const char **text, long *low, long *high)
{
    const char *end;
    if (!bb_whole_start(skip_spaces(*text), &end, low))
        return false;
    const char *second = skip_dash(end);
    *high = *low;
    if (second != NULL && !bb_whole_start(second, &end, high))
        return false;
    *text = skip_spaces(end);
    return true;
}

static bb_status refuse_bands(const bb_place *place, const char *text, const char *accepted)
{
    char found[BB_QUOTE_BYTES];
    return bb_refuse(place, bb_quote(text, found), "%s", accepted);
}

static bb_status add_band(const bb_place *place, const char *text, const bb_machine *machine,
                          long low, long high, bb_bands *bands)
{
    if (!bb_scale_holds(machine, low) || !bb_scale_holds(machine, high))
        return bb_refuse_number(place, text, machine);
    if (low > high)
        return refuse_bands(place, text, "bands from a lower to a higher number");
    if (bands->count > 0 && low < bands->band[bands->count - 1].high + 2L * machine->scale_step)
        return refuse_bands(place, text, "bands in rising order, a number or more between them");
    if (bands->count == BB_BANDS_MAX)
        return bb_refuse(place, "one band more", "at most %d bands", BB_BANDS_MAX);
    bands->band[bands->count].low = (int)low;
    bands->band[bands->count].high = (int)high;
    bands->count++;
    return BB_OK;
}

bb_status bb_bands_read_at(const bb_place *place, const char *text, const bb_machine *machine,
                           bb_bands *bands)
{
    static const char accepted[] = "none, or bands such as 12-15,33-34, 40 or -9 to -4";
    bb_bands read = {0};
    const char *at = skip_spaces(text);
    long low, high;
    if (strcmp(at, "none") == 0) {
        *bands = read;
        return BB_OK;
    }
    do {
        if (!take_band(&at, &low, &high))
            return refuse_bands(place, text, accepted);
        bb_status status = add_band(place, text, machine, low, high, &read);
        if (status != BB_OK)
            return status;
    } while (*at++ == ',');
    if (at[-1] != '\0')
        return refuse_bands(place, text, accepted);
    *bands = read;
    return BB_OK;
}

bb_status bb_bands_read(const char *text, const bb_machine *machine, bb_bands *bands,
                        bb_error *error)
{
    bb_place place = {error, "", 0, 0};
    return bb_bands_read_at(&place, text, machine, bands);
}
