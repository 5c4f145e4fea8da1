/* What a command line may hold, and what it holds: options from one table, and the words left. */
#ifndef OPTIONS_H
#define OPTIONS_H

#include "outcome.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum {
    VALUE_NONE, /* the option stands alone */
    VALUE_TEXT,
    VALUE_NUMBER,
    VALUE_WHOLE,
    VALUE_SHARE,       /* 0.95 or 95% */
    VALUE_CM,          /* a length; its unit may follow; handed over in m */
    VALUE_MM,          /* the same, bare numbers are mm */
    VALUE_KHZ,         /* a frequency; handed over in Hz */
    VALUE_CELSIUS,     /* handed over in degrees Celsius */
    VALUE_CONDUCTIVITY /* its unit must follow; handed over in S/m */
} value_kind;

struct option {
    const char *name;  /* without its dashes; a table ends with a row without a name */
    char letter;       /* the short form, or 0 */
    const char *value; /* what help calls the value: "CM" */
    value_kind kind;
    double low, high; /* accepted, in the unit that help names; both 0: any */
    bool repeats;
    const char *help; /* one line */
};

extern const struct option common_options[]; /* --json and --help */

typedef struct {
    const struct option *option;
    const char *text;
    double number; /* in SI, by the option's kind */
} given_option;

struct arguments {
    given_option *given;
    size_t given_count;
    const char **words; /* what is no option, in order */
    size_t word_count;
    bool json, help;
};

/* Sort what follows the command's name into options and words. --json and --help are always
 * taken; --opt=value and --opt value are the same; what parses as a number or a band, like -5 or
 * -5--3, is never an option; after -- nothing is. */
outcome arguments_read(const char *command, const struct option *table, int count, char **words,
                       struct arguments *arguments);
void arguments_free(struct arguments *arguments);

/* How often an option was given, and the index-th value of it. */
size_t option_count(const struct arguments *arguments, const char *name);
const char *option_text(const struct arguments *arguments, const char *name, size_t index);
double option_number(const struct arguments *arguments, const char *name, size_t index);
/* The value given last, or otherwise when it was not given. */
const char *option_text_or(const struct arguments *arguments, const char *name,
                           const char *otherwise);
double option_number_or(const struct arguments *arguments, const char *name, double otherwise);

/* A value that is no option's, read by the same rules (the number of "judge P 27"). label is what
 * an error calls it. */
outcome value_read(const char *command, const char *label, const struct option *option,
                   const char *text, double *number);

#endif
