/* What a command is: its name, its words of help, the options it takes, and what runs it. */
#ifndef COMMAND_H
#define COMMAND_H

#include "options.h"

struct command {
    const char *name;
    const char *usage;            /* what follows the name */
    const char *summary;          /* one line of at most 60 columns, without a full stop */
    const char *about;            /* what it answers and how to read it; a line each paragraph */
    const struct option *options; /* besides --json and --help */
    size_t words_least, words_most;
    outcome (*run)(const struct arguments *arguments);
};

/* All commands, in the order in which a visit needs them; ends with a NULL. */
extern const struct command *const commands[];
const struct command *command_find(const char *name);

extern const struct command command_card;
extern const struct command command_check;
extern const struct command command_digs;
extern const struct command command_fit;
extern const struct command command_judge;
extern const struct command command_history;
extern const struct command command_merge;
extern const struct command command_new;
extern const struct command command_overview;
extern const struct command command_plan;
extern const struct command command_practise;
extern const struct command command_predict;
extern const struct command command_reject;
extern const struct command command_sand;
extern const struct command command_body;

#endif
