/* Prints what the manual and the shells are to know of the commands, from the commands' own tables:
 * manual names | commands | cautions | page NAME DATE | completion. */
#include "../cautions.h"
#include "../command.h"

#include "brineband.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

/* ---------------------------------------------------------------- roff */

/* Text as roff: a dash that joins no two letters is a minus, nothing starts a request. */
static void put_roff(const char *text, size_t length)
{
    if (length > 0 && (*text == '.' || *text == '\''))
        (void)fputs("\\&", stdout);
    for (size_t i = 0; i < length; i++) {
        const bool joins = i > 0 && i + 1 < length && isalpha((unsigned char)text[i - 1]) &&
                           isalpha((unsigned char)text[i + 1]);
        if (text[i] == '-' && !joins)
            (void)fputs("\\-", stdout);
        else if (text[i] == '\\')
            (void)fputs("\\e", stdout);
        else
            (void)putchar(text[i]);
    }
}

static void put_words(const char *text)
{
    put_roff(text, strlen(text));
}

static void put_bold(const char *text)
{
    (void)fputs("\\fB", stdout);
    put_words(text);
    (void)fputs("\\fR", stdout);
}

static void put_option(const struct option *option)
{
    (void)puts(".TP");
    if (option->letter != 0) {
        const char letter[] = {'-', option->letter, '\0'};
        put_bold(letter);
        (void)fputs(", ", stdout);
    }
    (void)fputs("\\fB\\-\\-", stdout);
    put_words(option->name);
    (void)fputs("\\fR", stdout);
    if (option->value != NULL) {
        (void)fputs(" \\fI", stdout);
        put_words(option->value);
        (void)fputs("\\fR", stdout);
    }
    (void)puts(option->repeats ? " ..." : "");
    put_words(option->help);
    if (option->low < option->high)
        printf("; from %g to %g", option->low, option->high);
    (void)puts("");
}

static void put_options(const struct option *table)
{
    for (const struct option *row = table; row != NULL && row->name != NULL; row++)
        put_option(row);
}

static void put_paragraphs(const char *text)
{
    for (const char *first = text; *text != '\0';) {
        const size_t length = strcspn(text, "\n");
        if (text != first)
            (void)puts(".PP");
        put_roff(text, length);
        (void)puts("");
        text += length + (text[length] == '\n');
    }
}

static void put_page(const struct command *command, const char *date)
{
    (void)fputs(".TH BRINEBAND-", stdout);
    for (const char *letter = command->name; *letter != '\0'; letter++)
        (void)putchar(toupper((unsigned char)*letter));
    printf(" 1 \"%s\" \"brineband %s\" \"User commands\"\n.SH NAME\nbrineband\\-%s \\- ", date,
           BB_VERSION, command->name);
    put_words(command->summary);
    (void)puts("\n.SH SYNOPSIS");
    put_bold("brineband ");
    put_bold(command->name);
    (void)fputs(" ", stdout);
    put_words(command->usage);
    (void)puts("\n.SH DESCRIPTION");
    put_paragraphs(command->about);
    (void)puts(".SH OPTIONS");
    put_options(command->options);
    put_options(common_options);
}

static void put_commands(void)
{
    for (const struct command *const *row = commands; *row != NULL; row++) {
        (void)fputs(".TP\n\\fBbrineband\\-", stdout);
        put_words((*row)->name);
        (void)puts("\\fR(1)");
        put_words((*row)->summary);
        (void)puts("");
    }
}

static void put_cautions(void)
{
    for (const caution *row = cautions; row->heading != NULL; row++) {
        (void)puts(".TP");
        put_bold(row->heading);
        (void)puts("");
        put_words(row->sentence);
        (void)puts("");
    }
}

/* ---------------------------------------------------------------- completion */

/* Between single quotes of a shell. */
static void put_quoted(const char *text)
{
    (void)putchar('\'');
    for (; *text != '\0'; text++)
        if (*text == '\'')
            (void)fputs("'\\''", stdout);
        else
            (void)putchar(*text);
    (void)putchar('\'');
}

static void put_shell_option(const struct option *option)
{
    char line[256];
    const char *value = option->value != NULL ? option->value : "";
    if (option->letter != 0) {
        (void)snprintf(line, sizeof line, "-%c|%s|%s", option->letter, value, option->help);
        (void)fputs(" \\\n        ", stdout);
        put_quoted(line);
    }
    (void)snprintf(line, sizeof line, "--%s|%s|%s", option->name, value, option->help);
    (void)fputs(" \\\n        ", stdout);
    put_quoted(line);
}

static void put_shell_command(const struct command *command)
{
    printf("    %s) printf '%%s\\n'", command->name);
    for (const struct option *row = command->options; row != NULL && row->name != NULL; row++)
        put_shell_option(row);
    for (const struct option *row = common_options; row->name != NULL; row++)
        put_shell_option(row);
    (void)puts(" ;;");
}

/* Shell functions that print the table: a line a command "NAME|summary", and a line an option of
 * the command named "OPTION|VALUE|help". */
static void put_completion(void)
{
    (void)fputs("_brineband_commands() {\n    printf '%s\\n'", stdout);
    for (const struct command *const *row = commands; *row != NULL; row++) {
        char line[256];
        (void)snprintf(line, sizeof line, "%s|%s", (*row)->name, (*row)->summary);
        (void)fputs(" \\\n        ", stdout);
        put_quoted(line);
    }
    (void)puts(" \\\n        'help|a command in full'\n}\n_brineband_options() {\n    case $1 in");
    for (const struct command *const *row = commands; *row != NULL; row++)
        put_shell_command(*row);
    (void)puts("    esac\n}");
}

int main(int count, char **words)
{
    const char *what = count > 1 ? words[1] : "";
    const struct command *command = count > 3 ? command_find(words[2]) : NULL;
    if (strcmp(what, "names") == 0)
        for (const struct command *const *row = commands; *row != NULL; row++)
            (void)puts((*row)->name);
    else if (strcmp(what, "commands") == 0)
        put_commands();
    else if (strcmp(what, "cautions") == 0)
        put_cautions();
    else if (strcmp(what, "completion") == 0)
        put_completion();
    else if (strcmp(what, "page") == 0 && command != NULL)
        put_page(command, words[3]);
    else
        return 2;
    return 0;
}
