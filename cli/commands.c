/* The list of all commands. */
#include "command.h"

#include <string.h>

const struct command *const commands[] = {
    /* clang-format off: one a line, so that merges stay easy */
    &command_new,
    &command_plan,
    &command_fit,
    &command_predict,
    &command_reject,
    &command_check,
    &command_judge,
    &command_digs,
    &command_practise,
    &command_merge,
    &command_history,
    &command_card,
    &command_sand,
    &command_body,
    NULL,
    /* clang-format on */
};

const struct command *command_find(const char *name)
{
    for (const struct command *const *row = commands; *row != NULL; row++)
        if (strcmp((*row)->name, name) == 0)
            return *row;
    return NULL;
}
