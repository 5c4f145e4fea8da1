/* What can go wrong, in words, and the record of where it did. */
#include "status.h"

#include <stdarg.h>
#include <stdio.h>

#include <gsl/gsl_errno.h>

const char *bb_status_text(bb_status status)
{
    static const char *const texts[] = {
        [BB_OK] = "done",
        [BB_INPUT] = "the input says something that is not accepted",
        [BB_RANGE] = "a value lies outside the range stated for it",
        [BB_UNKNOWN] = "the name is not known",
        [BB_TOO_LITTLE] = "the data cannot support an answer",
        [BB_NOT_CONVERGED] = "the solver did not settle",
        [BB_RANK] = "the data do not determine the parameters",
        [BB_MEMORY] = "memory ran out",
    };
    size_t index = (size_t)status;
    return index < sizeof texts / sizeof *texts ? texts[index] : "an unknown status";
}

bb_status bb_error_at(bb_error *error, bb_status status, const char *path, long line, long column,
                      const char *found, const char *accepted)
{
    if (error != NULL && error->status == BB_OK) {
        error->status = status;
        error->line = line;
        error->column = column;
        (void)snprintf(error->path, sizeof error->path, "%s", path);
        (void)snprintf(error->found, sizeof error->found, "%s", found);
        (void)snprintf(error->accepted, sizeof error->accepted, "%s", accepted);
    }
    return status;
}

bb_status bb_error_say(bb_error *error, bb_status status, const char *format, ...)
{
    if (error != NULL && error->status == BB_OK) {
        va_list arguments;
        va_start(arguments, format);
        error->status = status;
        error->line = 0;
        (void)vsnprintf(error->accepted, sizeof error->accepted, format, arguments);
        va_end(arguments);
    }
    return status;
}

bb_status bb_out_of_memory(bb_error *error)
{
    return bb_error_say(error, BB_MEMORY, "%s", bb_status_text(BB_MEMORY));
}

int bb_error_text(const bb_error *error, char *text, size_t size)
{
    if (error->line == 0)
        return snprintf(text, size, "%s",
                        error->accepted[0] ? error->accepted : bb_status_text(error->status));
    return snprintf(text, size, "%s:%ld:%ld: found %s, accepted %s", error->path, error->line,
                    error->column, error->found, error->accepted);
}

const char bb_gsl_is_quiet = 1;

__attribute__((constructor)) static void quiet_gsl(void)
{
    (void)gsl_set_error_handler_off();
}
