/* How a number, a date or a time of day is written. */
#include "number.h"

#include <math.h>
#include <stddef.h>

/* Digits read so far, as digits * 10^power. */
struct decimal {
    unsigned long long digits;
    int power;
    bool any;
};

static bool is_digit(char character)
{
    return character >= '0' && character <= '9';
}

/* Takes digits; each counts shift to the power when it is kept, else 1 + shift. */
static const char *take_digits(const char *at, int shift, struct decimal *decimal)
{
    static const unsigned long long full = 100000000000000000ULL; /* ten times more still fits */
    for (; is_digit(*at); at++) {
        decimal->any = true;
        if (decimal->digits < full) {
            decimal->digits = decimal->digits * 10 + (unsigned)(*at - '0');
            decimal->power += shift;
        } else {
            decimal->power += 1 + shift;
        }
    }
    return at;
}

static const char *take_exponent(const char *at, struct decimal *decimal)
{
    if (*at != 'e' && *at != 'E')
        return at;
    at++;
    bool negative = *at == '-';
    if (*at == '-' || *at == '+')
        at++;
    int exponent = 0;
    decimal->any = is_digit(*at);
    for (; is_digit(*at); at++)
        exponent = exponent < 10000 ? exponent * 10 + (*at - '0') : exponent;
    decimal->power += negative ? -exponent : exponent;
    return at;
}

/* Both factors are exact, so the one product or quotient is correctly rounded (Clinger 1990). */
static double scale_exactly(unsigned long long digits, int power)
{
    static const double tens[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                  1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                  1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    return power < 0 ? (double)digits / tens[-power] : (double)digits * tens[power];
}

static double scale(unsigned long long digits, int power)
{
    enum { POWER_MAX = 22 };
    static const unsigned long long digits_max = 1ULL << 53;
    if (digits <= digits_max && power >= -POWER_MAX && power <= POWER_MAX)
        return scale_exactly(digits, power);
    return (double)((long double)digits * powl(10.0L, (long double)power));
}

bool bb_number_read(const char *text, double *value)
{
    struct decimal decimal = {0, 0, false};
    bool negative = *text == '-';
    if (*text == '-' || *text == '+')
        text++;
    text = take_digits(text, 0, &decimal);
    if (*text == '.')
        text = take_digits(text + 1, -1, &decimal);
    if (!decimal.any)
        return false;
    text = take_exponent(text, &decimal);
    if (!decimal.any || *text != '\0')
        return false;
    double size = decimal.digits == 0 ? 0.0 : scale(decimal.digits, decimal.power);
    if (!isfinite(size))
        return false;
    *value = negative ? -size : size;
    return true;
}

bool bb_whole_start(const char *text, const char **end, long *value)
{
    enum { DIGITS_MAX = 9 };
    bool negative = *text == '-';
    if (*text == '-' || *text == '+')
        text++;
    long size = 0;
    int digits = 0;
    for (; is_digit(*text) && digits <= DIGITS_MAX; text++, digits++)
        size = size * 10 + (*text - '0');
    *end = text;
    if (digits == 0 || digits > DIGITS_MAX)
        return false;
    *value = negative ? -size : size;
    return true;
}

bool bb_whole_read(const char *text, long *value)
{
    const char *end;
    long whole;
    if (!bb_whole_start(text, &end, &whole) || *end != '\0')
        return false;
    *value = whole;
    return true;
}

/* Exactly count digits. */
static bool take_count(const char **text, int count, int *value)
{
    *value = 0;
    for (int i = 0; i < count; i++, (*text)++) {
        if (!is_digit(**text))
            return false;
        *value = *value * 10 + (**text - '0');
    }
    return true;
}

static bool take_mark(const char **text, char mark)
{
    return *(*text)++ == mark;
}

bool bb_clock_read(const char *text, int *minutes)
{
    int hour, minute;
    int hour_digits = is_digit(text[0]) && text[1] == ':' ? 1 : 2;
    if (!take_count(&text, hour_digits, &hour) || !take_mark(&text, ':') ||
        !take_count(&text, 2, &minute) || *text != '\0' || hour > 23 || minute > 59)
        return false;
    *minutes = hour * 60 + minute;
    return true;
}

bool bb_date_accepted(const char *text)
{
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int year, month, day;
    if (!take_count(&text, 4, &year) || !take_mark(&text, '-') || !take_count(&text, 2, &month) ||
        !take_mark(&text, '-') || !take_count(&text, 2, &day) || *text != '\0')
        return false;
    if (year < 1900 || month < 1 || month > 12)
        return false;
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return day >= 1 && day <= lengths[month - 1] + (leap && month == 2 ? 1 : 0);
}
