/* Finds the command that the first word names, reads the rest by its table, and runs it. */
#include "command.h"
#include "help.h"
#include "names.h"
#include "out.h"

#include <errno.h>
#include <locale.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

/* Names the word of the usage that the command line lacks. */
static outcome fail_short(const struct command *command, size_t given)
{
    const char *word = command->usage;
    for (; given > 0; given--)
        word += strcspn(word, " ") + 1;
    return fail_command("%s: %.*s is missing; usage: brineband %s %s", command->name,
                        (int)strcspn(word, " "), word, command->name, command->usage);
}

static outcome run(const struct command *command, int count, char **words)
{
    struct arguments arguments = {0};
    outcome result = arguments_read(command->name, command->options, count, words, &arguments);
    if (arguments.json)
        json_expect();
    if (result == OUTCOME_DONE) {
        if (arguments.help)
            help_command(command);
        else if (arguments.word_count < command->words_least)
            result = fail_short(command, arguments.word_count);
        else if (arguments.word_count > command->words_most)
            result = fail_command("%s: '%s' is one word too many; usage: brineband %s %s",
                                  command->name, arguments.words[command->words_most],
                                  command->name, command->usage);
        else
            result = command->run(&arguments);
    }
    arguments_free(&arguments);
    return result;
}

static outcome unknown(const char *word)
{
    if (strchr(word, '/') != NULL)
        return fail_command("%s: no such folder; 'brineband new' makes one", word);
    name_list names = {0};
    names_add(&names, "help");
    names_add(&names, "--version");
    for (const struct command *const *row = commands; *row != NULL; row++)
        names_add(&names, (*row)->name);
    const char *nearest = names_nearest(&names, word);
    outcome result =
        nearest != NULL
            ? fail_command("'%s' is no command and no folder here; did you mean '%s'?", word,
                           nearest)
            : fail_command("'%s' is no command and no folder here; 'brineband help' lists them",
                           word);
    names_free(&names);
    return result;
}

static bool is_nearly_version(const char *word)
{
    name_list names = {0};
    names_add(&names, "--version");
    const bool nearly = word[0] == '-' && names_nearest(&names, word) != NULL;
    names_free(&names);
    return nearly;
}

static outcome run_help(int count, char **words)
{
    if (count == 0) {
        help_all();
        return OUTCOME_DONE;
    }
    const struct command *command = command_find(words[0]);
    if (command == NULL)
        return unknown(words[0]);
    help_command(command);
    return OUTCOME_DONE;
}

static outcome dispatch(int count, char **words)
{
    if (count == 0) {
        help_first_steps();
        return OUTCOME_DONE;
    }
    const char *word = words[0];
    if (strcmp(word, "help") == 0 || strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)
        return run_help(count - 1, words + 1);
    if (strcmp(word, "--version") == 0) {
        printf("brineband %s\n", BB_VERSION);
        return OUTCOME_DONE;
    }
    const struct command *command = command_find(word);
    if (command != NULL)
        return run(command, count - 1, words + 1);
    if (is_nearly_version(word))
        return unknown(word);
    struct stat status;
    if (word[0] == '-' || (stat(word, &status) == 0 && S_ISDIR(status.st_mode)))
        return run(&command_overview, count, words);
    return unknown(word);
}

int main(int count, char **words)
{
    (void)setlocale(LC_CTYPE, "");
    outcome result = dispatch(count > 0 ? count - 1 : 0, words + 1);
    if (fflush(stdout) != 0 || ferror(stdout) != 0)
        result = fail_system("standard output", "write");
    return (int)result;
}
