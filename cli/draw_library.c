/* Cairo and Pango, found by name. */
#include "draw_library.h"

#include <dlfcn.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#define LIBRARY "libpangocairo-1.0.so.0" /* which brings the others */

struct draw_library draw;

/* C knows no cast from an object's address to a function's; POSIX has them alike. */
#define DRAW_FUNCTION(name) {#name, offsetof(struct draw_library, name)},
static const struct {
    const char *name;
    size_t offset;
} functions[] = {DRAW_FUNCTIONS(DRAW_FUNCTION)};

outcome draw_library_load(void)
{
    static bool loaded;
    void *library = loaded ? NULL : dlopen(LIBRARY, RTLD_LAZY | RTLD_LOCAL);
    size_t found = 0;
    for (; library != NULL && found < sizeof functions / sizeof *functions; found++) {
        void *function = dlsym(library, functions[found].name);
        if (function == NULL)
            break;
        memcpy((char *)&draw + functions[found].offset, &function, sizeof function);
    }
    loaded = loaded || found == sizeof functions / sizeof *functions;
    if (!loaded)
        warn("a picture needs Pango and Cairo (Debian: libpangocairo-1.0-0): %s", dlerror());
    return loaded ? OUTCOME_DONE : OUTCOME_SYSTEM;
}
