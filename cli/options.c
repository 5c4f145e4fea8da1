/* Reads a command line by a table of options: numbers with units, repeats, and did-you-mean. */
#include "options.h"

#include "names.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const struct option common_options[] = {
    {.name = "json", .help = "one JSON object instead of words"},
    {.name = "help", .letter = 'h', .help = "this text"},
    {0},
};

/* ---------------------------------------------------------------- values */

/* The first unit of a kind is the one a bare number has; "" only where no unit is accepted. */
static const struct {
    value_kind kind;
    const char *name;
    double to_si;
} units[] = {
    {VALUE_NUMBER, "", 1},
    {VALUE_WHOLE, "", 1},
    {VALUE_SHARE, "", 1},
    {VALUE_SHARE, "%", 1e-2},
    {VALUE_CM, "cm", 1e-2},
    {VALUE_CM, "mm", 1e-3},
    {VALUE_CM, "m", 1},
    {VALUE_MM, "mm", 1e-3},
    {VALUE_MM, "cm", 1e-2},
    {VALUE_MM, "m", 1},
    {VALUE_KHZ, "kHz", 1e3},
    {VALUE_KHZ, "Hz", 1},
    {VALUE_CELSIUS, "C", 1},
    {VALUE_CELSIUS, "\u00b0C", 1},
    {VALUE_CONDUCTIVITY, "S/m", 1},
    {VALUE_CONDUCTIVITY, "mS/m", 1e-3},
    {VALUE_CONDUCTIVITY, "mS/cm", 1e-1},
    {VALUE_CONDUCTIVITY, "MS/m", 1e6},
};
enum { UNIT_COUNT = sizeof units / sizeof *units };

static size_t first_unit(value_kind kind)
{
    size_t i = 0;
    while (units[i].kind != kind)
        i++;
    return i;
}

/* "0 to 200 cm (or mm, m)" */
static void describe(const struct option *option, char *text, size_t size)
{
    const char *what = option->kind == VALUE_WHOLE          ? "a whole number"
                       : option->kind == VALUE_CONDUCTIVITY ? "a number with its unit,"
                                                            : "a number";
    const bool with_unit = option->kind == VALUE_CONDUCTIVITY;
    size_t at = option->low < option->high
                    ? (size_t)snprintf(text, size, "%s%g to %g", with_unit ? "with its unit " : "",
                                       option->low, option->high)
                    : (size_t)snprintf(text, size, "%s", what);
    size_t first = first_unit(option->kind), i = first;
    for (; i < UNIT_COUNT && units[i].kind == option->kind && at < size; i++)
        at += (size_t)snprintf(text + at, size - at, "%s%s",
                               i == first       ? (*units[i].name != '\0' ? " " : "")
                               : i == first + 1 ? " (or "
                                                : ", ",
                               units[i].name);
    if (i > first + 1 && at < size)
        (void)snprintf(text + at, size - at, ")");
}

/* The number at the start of text, decimal only, and where it ends. */
static bool read_number(const char *text, double *value, const char **end)
{
    size_t length = strspn(text, "+-.eE0123456789");
    char *stop = NULL;
    *end = text;
    if (length == 0 || text[length] == 'x' || text[length] == 'X')
        return false;
    *value = strtod(text, &stop);
    if (!isfinite(*value))
        return false;
    *end = stop + strspn(stop, " ");
    return stop > text;
}

static bool is_accepted(const struct option *option, double value, double shown)
{
    if (option->kind == VALUE_WHOLE && (value != floor(value) || fabs(value) > 1e9))
        return false;
    double slack = 1e-12 * (fabs(option->low) + fabs(option->high));
    return option->low >= option->high ||
           (shown >= option->low - slack && shown <= option->high + slack);
}

outcome value_read(const char *command, const char *label, const struct option *option,
                   const char *text, double *number)
{
    double value;
    const char *unit;
    size_t first = first_unit(option->kind), chosen = UNIT_COUNT;
    if (read_number(text, &value, &unit)) {
        for (size_t i = first; i < UNIT_COUNT && units[i].kind == option->kind; i++)
            if (strcmp(unit, units[i].name) == 0)
                chosen = i;
        if (*unit == '\0' && option->kind != VALUE_CONDUCTIVITY)
            chosen = first;
    }
    if (chosen < UNIT_COUNT) {
        double si = value * units[chosen].to_si;
        if (is_accepted(option, value, si / units[first].to_si)) {
            *number = si;
            return OUTCOME_DONE;
        }
    }
    char accepted[128];
    describe(option, accepted, sizeof accepted);
    return fail_command("%s: %s: found '%s', accepted %s", command, label, text, accepted);
}

/* ---------------------------------------------------------------- options and words */

static const struct option *find(const struct option *table, const char *name, size_t length)
{
    const struct option *const tables[] = {table, common_options};
    for (size_t t = 0; t < 2; t++)
        for (const struct option *row = tables[t]; row != NULL && row->name != NULL; row++)
            if (strlen(row->name) == length && strncmp(row->name, name, length) == 0)
                return row;
    return NULL;
}

static const struct option *find_letter(const struct option *table, char letter)
{
    const struct option *const tables[] = {table, common_options};
    for (size_t t = 0; t < 2; t++)
        for (const struct option *row = tables[t]; row != NULL && row->name != NULL; row++)
            if (row->letter == letter)
                return row;
    return NULL;
}

static bool is_option(const char *word)
{
    if (word[0] != '-' || word[1] == '\0')
        return false;
    return !(isdigit((unsigned char)word[1]) ||
             (word[1] == '.' && isdigit((unsigned char)word[2])));
}

static outcome not_known(const char *command, const struct option *table, const char *word)
{
    name_list names = {0};
    for (const struct option *row = table; row != NULL && row->name != NULL; row++)
        names_add(&names, row->name);
    for (const struct option *row = common_options; row->name != NULL; row++)
        names_add(&names, row->name);
    char name[BB_NAME_BYTES];
    (void)snprintf(name, sizeof name, "%.*s", (int)strcspn(word + strspn(word, "-"), "="),
                   word + strspn(word, "-"));
    const char *nearest = names_nearest(&names, name);
    outcome result =
        nearest != NULL
            ? fail_command("%s: %s is not known; did you mean --%s?", command, word, nearest)
            : fail_command("%s: %s is not known; 'brineband %s --help' lists the options", command,
                           word, command);
    names_free(&names);
    return result;
}

static outcome take(const char *command, const struct option *option, const char *text,
                    struct arguments *found)
{
    for (size_t i = 0; i < found->given_count; i++)
        if (found->given[i].option == option && !option->repeats)
            return fail_command("%s: --%s was given twice", command, option->name);
    given_option *given = &found->given[found->given_count++];
    *given = (given_option){.option = option, .text = text};
    if (option->kind == VALUE_NONE || option->kind == VALUE_TEXT)
        return OUTCOME_DONE;
    char label[BB_NAME_BYTES];
    (void)snprintf(label, sizeof label, "--%s", option->name);
    return value_read(command, label, option, text, &given->number);
}

/* One option at words[*at], with its value from the same word or the next. */
static outcome read_option(const char *command, const struct option *table, int count, char **words,
                           int *at, struct arguments *found)
{
    const char *word = words[*at], *value = NULL;
    const struct option *option;
    if (word[1] == '-') {
        size_t length = strcspn(word + 2, "=");
        option = find(table, word + 2, length);
        value = word[2 + length] == '=' ? word + 3 + length : NULL;
    } else {
        option = find_letter(table, word[1]);
        value = word[2] != '\0' ? word + 2 : NULL;
    }
    if (option == NULL)
        return not_known(command, table, word);
    if (option->kind == VALUE_NONE && value != NULL)
        return fail_command("%s: --%s takes no value", command, option->name);
    if (option->kind != VALUE_NONE && value == NULL) {
        if (*at + 1 >= count || is_option(words[*at + 1]))
            return fail_command("%s: --%s needs a value: --%s %s", command, option->name,
                                option->name, option->value);
        value = words[++*at];
    }
    return take(command, option, value, found);
}

outcome arguments_read(const char *command, const struct option *table, int count, char **words,
                       struct arguments *arguments)
{
    size_t room = count > 0 ? (size_t)count : 1;
    arguments->given = need(room, sizeof *arguments->given);
    arguments->words = need(room, sizeof *arguments->words);
    bool only_words = false;
    for (int i = 0; i < count; i++) {
        if (only_words || !is_option(words[i])) {
            arguments->words[arguments->word_count++] = words[i];
        } else if (strcmp(words[i], "--") == 0) {
            only_words = true;
        } else {
            outcome result = read_option(command, table, count, words, &i, arguments);
            if (result != OUTCOME_DONE)
                return result;
        }
    }
    arguments->json = option_count(arguments, "json") > 0;
    arguments->help = option_count(arguments, "help") > 0;
    return OUTCOME_DONE;
}

void arguments_free(struct arguments *arguments)
{
    free(arguments->given);
    free(arguments->words);
}

/* ---------------------------------------------------------------- asking */

static const given_option *nth(const struct arguments *arguments, const char *name, size_t index)
{
    for (size_t i = 0; i < arguments->given_count; i++)
        if (strcmp(arguments->given[i].option->name, name) == 0 && index-- == 0)
            return &arguments->given[i];
    return NULL;
}

size_t option_count(const struct arguments *arguments, const char *name)
{
    size_t count = 0;
    while (nth(arguments, name, count) != NULL)
        count++;
    return count;
}

const char *option_text(const struct arguments *arguments, const char *name, size_t index)
{
    const given_option *given = nth(arguments, name, index);
    return given != NULL ? given->text : NULL;
}

double option_number(const struct arguments *arguments, const char *name, size_t index)
{
    const given_option *given = nth(arguments, name, index);
    return given != NULL ? given->number : NAN;
}

const char *option_text_or(const struct arguments *arguments, const char *name,
                           const char *otherwise)
{
    const char *text = option_text(arguments, name, 0);
    return text != NULL ? text : otherwise;
}

double option_number_or(const struct arguments *arguments, const char *name, double otherwise)
{
    return nth(arguments, name, 0) != NULL ? option_number(arguments, name, 0) : otherwise;
}
