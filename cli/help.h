/* The help texts: the first steps, the list of commands, and one command in full. */
#ifndef HELP_H
#define HELP_H

#include "command.h"

void help_first_steps(void);
void help_all(void);
void help_command(const struct command *command);

#endif
