/* A page to draw on, in points, that becomes a PDF, a PNG or an SVG. */
#ifndef DRAW_PAGE_H
#define DRAW_PAGE_H

#include "outcome.h"

#include <cairo.h>
#include <pango/pango.h>
#include <stdbool.h>
#include <stddef.h>

typedef enum { PAGE_PDF, PAGE_PNG, PAGE_SVG } page_format;

/* The format that a file's suffix asks for; another suffix is a wrong command line. */
outcome page_format_of(const char *command, const char *path, page_format *format);

/* The ink of a text: x, y of its upper left corner, in points from the page's. */
typedef struct {
    double x, y, width, height;
    char *text;
} text_box;

typedef struct {
    double width, height;    /* points, 72 an inch */
    double pixels_per_point; /* of a PNG */
    const char *title, *description;
} page_kind;

struct page {
    page_kind kind;
    char *title, *description; /* its own copies */
    page_format format;
    bool drawing;     /* false: texts are measured, and nothing is drawn */
    bool upside_down; /* texts stand on their heads, x and y from the lower right corner */
    cairo_t *cairo;
    cairo_surface_t *surface;
    PangoContext *pango;
    char *bytes; /* of the file, as Cairo hands them over */
    size_t length, room;
    text_box *boxes; /* of all texts drawn */
    size_t box_count;
};

/* A blank white page. Fails where the system has no fonts. */
outcome page_begin(page_format format, const page_kind *kind, struct page *made);
/* Finish the page, write it to path, and release it. */
outcome page_write(struct page *page, const char *path);
void page_free(struct page *page);

/* Draw a page as high as what is on it. lay_out returns the height that it takes. */
outcome page_draw_high(page_format format, page_kind kind,
                       double (*lay_out)(struct page *page, const void *of), const void *of,
                       struct page *drawn);

typedef enum { ALIGN_LEFT, ALIGN_CENTRE, ALIGN_RIGHT } text_align;
typedef struct {
    double size; /* of the type, points */
    bool bold;
    text_align align;
} text_style;

/* A paragraph, broken into lines of at most width, its upper left corner at x, y: returns its
 * height. A lead (may be NULL) stands before it in bold. */
double page_text(struct page *page, double x, double y, double width, text_style style,
                 const char *lead, const char *text);
/* One line as wide as it is: where it would stand round x, by its alignment. */
double page_line(struct page *page, double x, double y, text_style style, const char *text);
/* How far below its top a paragraph's ink starts, and how high the ink is. */
void page_text_ink(struct page *page, double width, text_style style, const char *text,
                   double *above, double *height);
/* How high a paragraph would be, how wide and high a line. */
double page_text_height(struct page *page, double width, text_style style, const char *text);
double page_text_width(struct page *page, text_style style, const char *text);
double page_line_height(struct page *page, text_style style);

/* Black lines and boxes; each does nothing while the page is only measured. */
void page_rule(struct page *page, double x1, double y1, double x2, double y2, double thickness);
void page_dots(struct page *page, double x1, double y1, double x2, double y2, double thickness);
void page_frame(struct page *page, double x, double y, double width, double height,
                double thickness);
void page_shade(struct page *page, double x, double y, double width, double height,
                double darkness);

#endif
