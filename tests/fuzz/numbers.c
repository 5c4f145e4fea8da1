/* Mutating JSON so that it mostly stays JSON: one number replaced by a telling one. */
#include "numbers.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

size_t LLVMFuzzerMutate(unsigned char *bytes, size_t length, size_t room); /* libFuzzer's own */

static unsigned next(unsigned *seed)
{
    *seed = *seed * 1664525U + 1013904223U; /* Knuth's constants, from memory */
    return *seed >> 8;
}

static bool of_number(unsigned char byte)
{
    return byte != '\0' && strchr("0123456789.eE+-", byte) != NULL;
}

static bool starts(const unsigned char *bytes, size_t at)
{
    return of_number(bytes[at]) && (at == 0 || strchr(" \n[:,", bytes[at - 1]) != NULL);
}

/* The words of one number, near the old one, or far from all that is accepted. */
static int write_number(char *text, size_t size, double old, unsigned *seed)
{
    static const char *const far[] = {"0",           "-0.0",       "1",      "-1",  "1e308",
                                      "-1e308",      "5e-324",     "1e-300", "1e9", "2147483647",
                                      "-2147483648", "4294967296", "1e19",   "0.5", "200",
                                      "-200",        "1e6",        "1024",   "null"};
    unsigned pick = next(seed);
    if (pick % 3 == 0)
        return snprintf(text, size, "%s", far[pick / 3 % (sizeof far / sizeof *far)]);
    double share = (next(seed) % 2001 - 1000.0) / 1000;
    return snprintf(text, size, "%.17g", pick % 3 == 1 ? old * (1 + share) : old + share);
}

static size_t change_number(unsigned char *bytes, size_t length, size_t room, unsigned *seed)
{
    size_t at = length > 0 ? next(seed) % length : 0, end, passed = 0;
    for (; passed < length && !starts(bytes, at); passed++)
        at = at + 1 < length ? at + 1 : 0;
    if (passed == length)
        return length;
    for (end = at; end < length && of_number(bytes[end]);)
        end++;
    char old[64] = "", new[64];
    double value = 0;
    (void)snprintf(old, sizeof old, "%.*s", (int)(end - at), bytes + at);
    (void)sscanf(old, "%lf", &value);
    size_t wide = (size_t)write_number(new, sizeof new, value, seed);
    if (length - (end - at) + wide > room)
        return length;
    memmove(bytes + at + wide, bytes + end, length - end);
    memcpy(bytes + at, new, wide);
    return length - (end - at) + wide;
}

size_t mutate_numbers(unsigned char *bytes, size_t length, size_t room, unsigned seed)
{
    if (next(&seed) % 4 == 0)
        return LLVMFuzzerMutate(bytes, length, room);
    for (unsigned left = 1 + next(&seed) % 3; left > 0; left--)
        length = change_number(bytes, length, room, &seed);
    return length;
}
