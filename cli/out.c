/* Words on standard output, wrapped to 80 columns, and JSON. */
#include "out.h"

#include "outcome.h"

#include <langinfo.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

/* ---------------------------------------------------------------- words */

static size_t width_of(const char *text, size_t length)
{
    size_t width = 0;
    for (size_t i = 0; i < length; i++)
        width += ((unsigned char)text[i] & 0xC0) != 0x80; /* count code points of UTF-8 */
    return width;
}

/* A terminal may be narrower than the page, a phone's above all. */
static size_t columns_of(FILE *file)
{
    enum { NARROWEST = 30 };
    struct winsize size;
    if (ioctl(fileno(file), TIOCGWINSZ, &size) != 0 || size.ws_col < NARROWEST)
        return OUT_COLUMNS;
    return size.ws_col < OUT_COLUMNS ? size.ws_col : OUT_COLUMNS;
}

void put_wrapped(FILE *file, size_t at, size_t indent, const char *text)
{
    const size_t columns = columns_of(file);
    bool first = true;
    for (const char *word = text + strspn(text, " "); *word != '\0';) {
        size_t length = strcspn(word, " "), width = width_of(word, length);
        if (!first && at + 1 + width > columns) {
            (void)fprintf(file, "\n%*s", (int)indent, "");
            at = indent;
            first = true;
        }
        (void)fprintf(file, "%s%.*s", first ? "" : " ", (int)length, word);
        at += width + !first;
        first = false;
        word += length + strspn(word + length, " ");
    }
    (void)fputc('\n', file);
}

void say(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = need_text_of(format, arguments);
    va_end(arguments);
    put_wrapped(stdout, 0, 0, text);
    free(text);
}

static bool coloured(void)
{
    const char *no_color = getenv("NO_COLOR");
    return isatty(STDOUT_FILENO) && (no_color == NULL || *no_color == '\0');
}

void say_answer(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = need_text_of(format, arguments);
    va_end(arguments);
    (void)fputs(coloured() ? "\033[1m" : "", stdout);
    put_wrapped(stdout, 0, 0, text);
    (void)fputs(coloured() ? "\033[0m" : "", stdout);
    free(text);
}

void say_item(size_t indent, const char *label, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = need_text_of(format, arguments);
    va_end(arguments);
    size_t width = width_of(label, strlen(label)) + 2;
    printf("  %s", label);
    if (width + 1 > indent)
        printf("\n%*s", (int)indent, "");
    else
        printf("%*s", (int)(indent - width), "");
    put_wrapped(stdout, indent, indent, text);
    free(text);
}

void say_gap(void)
{
    (void)putchar('\n');
}

bool out_utf8(void)
{
    return strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
}

const char *plus_minus(void)
{
    return out_utf8() ? "\u00b1" : "+/-";
}

const char *counted(phrase *buffer, double count, const char *singular, const char *plural)
{
    (void)snprintf(buffer->text, sizeof buffer->text, "%.0f %s", count,
                   count == 1 ? singular : plural);
    return buffer->text;
}

const char *rounded(phrase *buffer, double value, double doubt)
{
    int decimals = doubt > 0 && isfinite(doubt) ? (int)ceil(-log10(doubt)) : 0;
    decimals = decimals < 0 ? 0 : decimals > 6 ? 6 : decimals;
    (void)snprintf(buffer->text, sizeof buffer->text, "%.*f", decimals, value);
    if (strtod(buffer->text, NULL) == 0) /* not -0 */
        (void)snprintf(buffer->text, sizeof buffer->text, "%.*f", decimals, 0.0);
    return buffer->text;
}

/* ---------------------------------------------------------------- tables */

void table_begin(struct table *table, size_t columns, const char *const *titles)
{
    table->columns = columns;
    table->cells = 0;
    table->text = NULL;
    for (size_t i = 0; i < columns; i++)
        table_cell(table, "%s", titles[i]);
}

void table_cell(struct table *table, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    table->text = need_more(table->text, table->cells + 1, sizeof *table->text);
    table->text[table->cells++] = need_text_of(format, arguments);
    va_end(arguments);
}

static bool stands_left(const struct table *table, size_t column)
{
    return table->text[column][0] == '<';
}

static const char *cell_text(const struct table *table, size_t row, size_t column)
{
    const char *text = table->text[row * table->columns + column];
    return row == 0 && *text == '<' ? text + 1 : text;
}

static size_t widest_cell(const struct table *table, size_t column, size_t first_row)
{
    size_t widest = 0;
    for (size_t row = first_row; row * table->columns < table->cells; row++) {
        const char *text = cell_text(table, row, column);
        size_t width = width_of(text, strlen(text));
        widest = width > widest ? width : widest;
    }
    return widest;
}

/* Narrow one column by at most `over` without going under least; returns what is still over. */
static size_t narrow(size_t *width, size_t least, size_t over)
{
    size_t room = *width > least ? *width - least : 0, taken = room < over ? room : over;
    *width -= taken;
    return over - taken;
}

/* Each column's width. What is wider than the page is cut: names in the columns that stand left,
 * then titles of the others, whose numbers stay whole. */
static void measure(const struct table *table, size_t *widths)
{
    enum { NAME_LEAST = 9 };
    size_t total = 0;
    for (size_t column = 0; column < table->columns; column++) {
        widths[column] = widest_cell(table, column, 0);
        total += widths[column] + 2;
    }
    const size_t columns = columns_of(stdout);
    size_t over = total > columns + 2 ? total - columns - 2 : 0;
    for (size_t column = 0; column < table->columns; column++)
        if (stands_left(table, column))
            over = narrow(&widths[column], NAME_LEAST, over);
    for (size_t column = 0; column < table->columns; column++)
        if (!stands_left(table, column))
            over = narrow(&widths[column], widest_cell(table, column, 1), over);
}

/* Blanks are owed until something follows them, so that no line ends with any. */
static void print_cell(const char *text, size_t width, bool left, size_t *owed)
{
    size_t length = strlen(text), wide = width_of(text, length);
    bool cut = wide > width;
    while (cut && width_of(text, length) > width - 1)
        length--;
    const size_t pad = cut ? 0 : width - wide;
    size_t inked = length;
    while (!cut && inked > 0 && text[inked - 1] == ' ')
        inked--;
    if (inked > 0) {
        printf("%*s%.*s%s", (int)(*owed + (left ? 0 : pad)), "", (int)inked, text, cut ? "~" : "");
        *owed = length - inked + (left ? pad : 0);
    } else {
        *owed += pad + length;
    }
    *owed += 2;
}

void table_print(const struct table *table)
{
    size_t *widths = need(table->columns, sizeof *widths);
    measure(table, widths);
    for (size_t row = 0; row * table->columns < table->cells; row++) {
        size_t owed = 0;
        for (size_t column = 0; column < table->columns; column++)
            print_cell(cell_text(table, row, column), widths[column], stands_left(table, column),
                       &owed);
        (void)putchar('\n');
    }
    free(widths);
}

void table_free(struct table *table)
{
    for (size_t i = 0; i < table->cells; i++)
        free(table->text[i]);
    free(table->text);
}

void table_end(struct table *table)
{
    table_print(table);
    table_free(table);
}

/* ---------------------------------------------------------------- JSON */

static bool json_due;

void json_expect(void)
{
    json_due = true;
}

bool json_is_due(void)
{
    return json_due;
}

/* Room of ours: the library's own grows, and where it cannot, words are dropped unsaid. */
struct json_text {
    char *bytes;
    size_t length, room;
};

static int take_piece(const char *piece, size_t size, void *context)
{
    struct json_text *text = context;
    if (text->room - text->length < size) {
        text->room = 2 * (text->length + size);
        text->bytes = need_more(text->bytes, text->room, 1);
    }
    memcpy(text->bytes + text->length, piece, size);
    text->length += size;
    return 0;
}

void say_json(json_t *object)
{
    struct json_text text = {NULL, 0, 0};
    if (object == NULL ||
        json_dump_callback(object, take_piece, &text, JSON_REAL_PRECISION(15)) != 0)
        exit((int)fail(BB_MEMORY, NULL));
    (void)fwrite(text.bytes, 1, text.length, stdout);
    (void)putchar('\n');
    free(text.bytes);
    json_decref(object);
    json_due = false;
}

void json_add(json_t *list, json_t *member)
{
    if (json_array_append_new(list, member) != 0)
        exit((int)fail(BB_MEMORY, NULL));
}

void json_join(json_t *object, json_t *more)
{
    if (json_object_update_new(object, more) != 0)
        exit((int)fail(BB_MEMORY, NULL));
}

json_t *json_number_or_null(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *json_count(double count)
{
    return json_integer((json_int_t)count);
}
