/* The help texts: the first steps, the list of commands, and one command in full. */
#include "help.h"

#include "out.h"

#include <stdio.h>
#include <string.h>

void help_first_steps(void)
{
    say_answer("brineband finds the numbers to reject on wet salt sand, so that the sand is quiet "
               "and small gold still sounds.");
    say_gap();
    say("From a new beach to a card in your pocket, in five steps:");
    say_gap();
    say_item(5, "1.", "brineband new mybeach");
    say_item(5, "", "makes a folder with three files to fill in and a sheet on how to sweep.");
    say_item(5, "2.",
             "Sweep: bare wet sand first, then your test pieces; write the numbers into "
             "mybeach/sweeps.csv.");
    say_item(5, "3.", "brineband fit mybeach");
    say_item(5, "", "learns how this beach shifts the numbers.");
    say_item(5, "4.", "brineband reject mybeach");
    say_item(5, "", "says which numbers to reject, and what that costs in gold.");
    say_item(5, "5.", "brineband card mybeach -o card.pdf");
    say_item(5, "", "puts it on one page to carry.");
    say_gap();
    say("Then sweep the sand again with that setting dialled in: 'brineband check mybeach "
        "SWEEPS.csv' tells whether it holds.");
    say_gap();
    say("'brineband mybeach' says at any time what the files allow now and what to do next. "
        "'brineband help' lists all commands.");
}

void help_all(void)
{
    say("usage: brineband COMMAND ... | brineband DIR");
    say_gap();
    for (const struct command *const *row = commands; *row != NULL; row++)
        say_item(14, (*row)->name, "%s", (*row)->summary);
    say_item(14, command_overview.name, "%s", command_overview.summary);
    say_item(14, "help NAME", "a command in full");
    say_item(14, "--version", "the program's version");
    say_gap();
    say("A PROFILE is a profile.json or a visit's folder that holds one. Every command takes "
        "--json "
        "and --help. Exit status: 0 done, 2 wrong command line, 3 bad input, 4 the data cannot "
        "support an answer, 5 a file or memory failed.");
}

static void say_option(const struct option *option)
{
    char form[80];
    (void)snprintf(form, sizeof form, "--%s%s%s%s", option->name, option->value ? " " : "",
                   option->value ? option->value : "", option->repeats ? " ..." : "");
    if (option->letter != 0) {
        char with_letter[96];
        (void)snprintf(with_letter, sizeof with_letter, "-%c, %s", option->letter, form);
        say_item(26, with_letter, "%s", option->help);
    } else {
        say_item(26, form, "%s", option->help);
    }
}

void help_command(const struct command *command)
{
    say("usage: brineband %s %s", command->name, command->usage);
    say_gap();
    for (const char *line = command->about; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        say("%.*s", (int)length, line);
        line += length + (line[length] == '\n');
    }
    say_gap();
    for (const struct option *row = command->options; row != NULL && row->name != NULL; row++)
        say_option(row);
    for (const struct option *row = common_options; row->name != NULL; row++)
        say_option(row);
}
