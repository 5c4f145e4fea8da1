/* How a command ends: its exit status, and the sentence about it on standard error. */
#include "outcome.h"

#include "out.h"

#include <errno.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static outcome outcome_of(bb_status status)
{
    static const outcome outcomes[] = {
        [BB_OK] = OUTCOME_DONE,
        [BB_INPUT] = OUTCOME_INPUT,
        [BB_RANGE] = OUTCOME_COMMAND_LINE, /* ranges in files are BB_INPUT */
        [BB_UNKNOWN] = OUTCOME_COMMAND_LINE,
        [BB_TOO_LITTLE] = OUTCOME_TOO_LITTLE,
        [BB_NOT_CONVERGED] = OUTCOME_TOO_LITTLE,
        [BB_RANK] = OUTCOME_TOO_LITTLE,
        [BB_MEMORY] = OUTCOME_SYSTEM,
    };
    return outcomes[status];
}

/* A person reads it in 80 columns, a program in one line. */
static void put_problem(const char *text)
{
    (void)fflush(stdout);
    if (isatty(STDERR_FILENO))
        put_wrapped(stderr, 0, 0, text);
    else
        (void)fprintf(stderr, "%s\n", text);
}

static void say_problem(const char *format, va_list arguments)
{
    char *words = need_text_of(format, arguments), *text = need_text("brineband: %s", words);
    put_problem(text);
    free(text);
    free(words);
}

void warn(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    say_problem(format, arguments);
    va_end(arguments);
}

/* A program that asked for an object is told in one what is missing. */
static outcome end(bb_status status, const char *text)
{
    const outcome result = outcome_of(status);
    if (result == OUTCOME_TOO_LITTLE && json_is_due())
        say_json(json_pack("{s:s}", "missing", text));
    return result;
}

outcome fail(bb_status status, const bb_error *error)
{
    if (error == NULL || error->status == BB_OK) {
        warn("%s", bb_status_text(status));
        return end(status, bb_status_text(status));
    }
    char text[4 * BB_TEXT_BYTES];
    (void)bb_error_text(error, text, sizeof text);
    if (error->line == 0)
        warn("%s", text);
    else
        put_problem(text);
    return end(status, text);
}

outcome fail_command(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    say_problem(format, arguments);
    va_end(arguments);
    return OUTCOME_COMMAND_LINE;
}

outcome fail_system(const char *path, const char *doing)
{
    warn("%s: cannot %s: %s", path, doing, strerror(errno));
    return OUTCOME_SYSTEM;
}

/* Said without asking for memory again. */
_Noreturn static void end_without_memory(void)
{
    char text[BB_TEXT_BYTES];
    (void)snprintf(text, sizeof text, "brineband: %s", bb_status_text(BB_MEMORY));
    put_problem(text);
    exit(OUTCOME_SYSTEM);
}

void *need(size_t count, size_t size)
{
    void *block = calloc(count > 0 ? count : 1, size);
    if (block == NULL)
        end_without_memory();
    return block;
}

void *need_more(void *block, size_t count, size_t size)
{
    void *grown = count <= SIZE_MAX / size ? realloc(block, count * size) : NULL;
    if (grown == NULL)
        end_without_memory();
    return grown;
}

static char *append(char *text, const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    int more = vsnprintf(NULL, 0, format, again);
    va_end(again);
    size_t length = text != NULL ? strlen(text) : 0;
    text = need_more(text, length + (size_t)(more < 0 ? 0 : more) + 1, 1);
    (void)vsnprintf(text + length, (size_t)more + 1, format, arguments);
    return text;
}

char *need_text(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = append(NULL, format, arguments);
    va_end(arguments);
    return text;
}

char *need_word(const char *path)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_./,:=+-";
    const bool quote = path[strspn(path, plain)] != '\0';
    char *text = need_text("%s", quote ? "\"" : "");
    for (; *path != '\0'; path++)
        text = need_longer(text, "%s%c", strchr("\"\\$`", *path) != NULL ? "\\" : "", *path);
    return need_longer(text, "%s", quote ? "\"" : "");
}

char *need_longer(char *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    text = append(text, format, arguments);
    va_end(arguments);
    return text;
}

char *need_text_of(const char *format, va_list arguments)
{
    return append(NULL, format, arguments);
}
