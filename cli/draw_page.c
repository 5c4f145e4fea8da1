/* A page to draw on, in points, that becomes a PDF, a PNG or an SVG. */
#include "draw_page.h"

#include "draw_library.h"
#include "files.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

/* Wide faces with open shapes first: they survive a bad printer. The system's own sans comes last.
 */
static const char *const families = "DejaVu Sans, Verdana, Noto Sans, Liberation Sans, sans-serif";

static const struct {
    const char *suffix;
    page_format format;
} formats[] = {{".pdf", PAGE_PDF}, {".png", PAGE_PNG}, {".svg", PAGE_SVG}};

outcome page_format_of(const char *command, const char *path, page_format *format)
{
    size_t length = strlen(path);
    for (size_t i = 0; i < sizeof formats / sizeof *formats; i++)
        if (length > 4 && strcasecmp(path + length - 4, formats[i].suffix) == 0) {
            *format = formats[i].format;
            return OUTCOME_DONE;
        }
    return fail_command("%s: found '%s', accepted a file that ends with .pdf, .png or .svg",
                        command, path);
}

/* ---------------------------------------------------------------- begin */

static cairo_status_t take_bytes(void *closure, const unsigned char *data, unsigned int length)
{
    struct page *page = closure;
    if (page->length + length > page->room) {
        page->room = 2 * (page->length + length);
        page->bytes = need_more(page->bytes, page->room, 1);
    }
    memcpy(page->bytes + page->length, data, length);
    page->length += length;
    return CAIRO_STATUS_SUCCESS;
}

/* The day the file says it was made: SOURCE_DATE_EPOCH, so that the same input can give the same
 * bytes, or today; without the time of day, for a card is passed on. */
static void made_when(char text[32])
{
    const char *fixed = getenv("SOURCE_DATE_EPOCH");
    char *end = NULL;
    time_t when = fixed != NULL && *fixed != '\0' ? (time_t)strtoll(fixed, &end, 10) : time(NULL);
    if (end != NULL && *end != '\0')
        when = time(NULL);
    struct tm utc;
    if (gmtime_r(&when, &utc) == NULL || strftime(text, 32, "%Y-%m-%dT00:00:00Z", &utc) == 0)
        *text = '\0';
}

static void begin_pdf(struct page *page)
{
    char when[32];
    made_when(when);
    page->surface =
        draw.cairo_pdf_surface_create_for_stream(take_bytes, page, page->kind.width,
                                                 page->kind.height);
    draw.cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_TITLE, page->title);
    draw.cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_SUBJECT,
                                        page->description);
    draw.cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_CREATOR,
                                   "brineband " BB_VERSION);
    draw.cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_CREATE_DATE, when);
}

static void begin_svg(struct page *page)
{
    page->surface =
        draw.cairo_svg_surface_create_for_stream(take_bytes, page, page->kind.width,
                                                 page->kind.height);
    draw.cairo_svg_surface_set_document_unit(page->surface, CAIRO_SVG_UNIT_PT);
}

static void begin_png(struct page *page)
{
    const double scale = page->kind.pixels_per_point;
    page->surface =
        draw.cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)lround(page->kind.width * scale),
                                   (int)lround(page->kind.height * scale));
    draw.cairo_surface_set_device_scale(page->surface, scale, scale);
}

/* Text is measured alike for every format: no hinting, no rounding to a device's pixels. All pages
 * share Pango's own map of fonts: to read the system's fonts anew takes longer than to draw. */
static outcome begin_text(struct page *page)
{
    PangoFontMap *map = draw.pango_cairo_font_map_get_default();
    draw.pango_cairo_font_map_set_resolution((PangoCairoFontMap *)map, 72);
    page->pango = draw.pango_font_map_create_context(map);
    cairo_font_options_t *options = draw.cairo_font_options_create();
    draw.cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    draw.cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    draw.cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    draw.pango_cairo_context_set_font_options(page->pango, options);
    draw.pango_context_set_round_glyph_positions(page->pango, FALSE);
    draw.cairo_font_options_destroy(options);
    PangoFontDescription *any = draw.pango_font_description_from_string(families);
    PangoFont *font = draw.pango_font_map_load_font(map, page->pango, any);
    draw.pango_font_description_free(any);
    if (font != NULL) {
        draw.g_object_unref(font);
        return OUTCOME_DONE;
    }
    warn("this system has no fonts; a picture needs one (Debian: fonts-dejavu-core)");
    return OUTCOME_SYSTEM;
}

outcome page_begin(page_format format, const page_kind *kind, struct page *made)
{
    static void (*const begin[])(struct page *) = {
        [PAGE_PDF] = begin_pdf, [PAGE_PNG] = begin_png, [PAGE_SVG] = begin_svg};
    *made = (struct page){.kind = *kind,
                          .format = format,
                          .drawing = true,
                          .title = need_text("%s", kind->title),
                          .description = need_text("%s", kind->description)};
    outcome result = draw_library_load();
    if (result == OUTCOME_DONE)
        result = begin_text(made);
    if (result == OUTCOME_DONE) {
        begin[format](made);
        made->cairo = draw.cairo_create(made->surface);
        draw.cairo_set_source_rgb(made->cairo, 1, 1, 1);
        draw.cairo_paint(made->cairo);
        draw.cairo_set_source_rgb(made->cairo, 0, 0, 0);
        draw.cairo_set_line_cap(made->cairo, CAIRO_LINE_CAP_BUTT);
        draw.cairo_set_line_join(made->cairo, CAIRO_LINE_JOIN_ROUND);
    } else {
        page_free(made);
    }
    return result;
}

void page_free(struct page *page)
{
    if (page->cairo != NULL)
        draw.cairo_destroy(page->cairo);
    if (page->surface != NULL)
        draw.cairo_surface_destroy(page->surface);
    if (page->pango != NULL)
        draw.g_object_unref(page->pango);
    for (size_t i = 0; i < page->box_count; i++)
        free(page->boxes[i].text);
    free(page->boxes);
    free(page->title);
    free(page->description);
    free(page->bytes);
    memset(page, 0, sizeof *page);
}

/* ---------------------------------------------------------------- write */

/* Cairo writes no title and no description into an SVG: they go in behind its opening tag. */
static void describe_svg(struct page *page)
{
    static const char opening[] = "<svg ";
    take_bytes(page, (const unsigned char *)"", 1);
    const char *tag = strstr(page->bytes, opening);
    const char *end = tag != NULL ? strchr(tag, '>') : NULL;
    if (end == NULL)
        return;
    char *title = draw.g_markup_escape_text(page->title, -1);
    char *description = draw.g_markup_escape_text(page->description, -1);
    char *whole = need_text("%.*s<svg role=\"img\" %.*s\n<title>%s</title>\n<desc>%s</desc>%s",
                            (int)(tag - page->bytes), page->bytes,
                            (int)(end + 1 - tag - (ptrdiff_t)strlen(opening)),
                            tag + strlen(opening), title, description, end + 1);
    draw.g_free(title);
    draw.g_free(description);
    free(page->bytes);
    page->bytes = whole;
    page->length = strlen(whole);
}

outcome page_write(struct page *page, const char *path)
{
    draw.cairo_show_page(page->cairo);
    cairo_status_t status = draw.cairo_status(page->cairo);
    if (page->format == PAGE_PNG && status == CAIRO_STATUS_SUCCESS)
        status = draw.cairo_surface_write_to_png_stream(page->surface, take_bytes, page);
    draw.cairo_surface_finish(page->surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = draw.cairo_surface_status(page->surface);
    if (page->format == PAGE_SVG)
        describe_svg(page);
    outcome result = OUTCOME_SYSTEM;
    if (status == CAIRO_STATUS_SUCCESS)
        result = file_write(path, page->bytes, page->length);
    else
        warn("%s: cannot draw: %s", path, draw.cairo_status_to_string(status));
    page_free(page);
    return result;
}

outcome page_draw_high(page_format format, page_kind kind,
                       double (*lay_out)(struct page *page, const void *of), const void *of,
                       struct page *drawn)
{
    outcome result = page_begin(format, &kind, drawn);
    if (result != OUTCOME_DONE)
        return result;
    drawn->drawing = false;
    kind.height = lay_out(drawn, of);
    page_free(drawn);
    result = page_begin(format, &kind, drawn);
    if (result == OUTCOME_DONE)
        (void)lay_out(drawn, of);
    return result;
}

/* ---------------------------------------------------------------- text */

static PangoLayout *lay_out(struct page *page, text_style style, const char *lead, const char *text)
{
    PangoLayout *layout = draw.pango_layout_new(page->pango);
    PangoFontDescription *font = draw.pango_font_description_new();
    draw.pango_font_description_set_family_static(font, families);
    draw.pango_font_description_set_absolute_size(font, style.size * PANGO_SCALE);
    draw.pango_font_description_set_weight(font,
                                           style.bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    draw.pango_layout_set_font_description(layout, font);
    draw.pango_font_description_free(font);
    char *whole = lead != NULL ? need_text("%s  %s", lead, text) : need_text("%s", text);
    draw.pango_layout_set_text(layout, whole, -1);
    free(whole);
    if (lead != NULL) {
        PangoAttrList *list = draw.pango_attr_list_new();
        PangoAttribute *bold = draw.pango_attr_weight_new(PANGO_WEIGHT_BOLD);
        bold->end_index = (guint)strlen(lead);
        draw.pango_attr_list_insert(list, bold);
        draw.pango_layout_set_attributes(layout, list);
        draw.pango_attr_list_unref(list);
    }
    return layout;
}

static void add_box(struct page *page, double x, double y, PangoLayout *layout)
{
    PangoRectangle ink;
    draw.pango_layout_get_extents(layout, &ink, NULL);
    text_box box = {x + draw.pango_units_to_double(ink.x), y + draw.pango_units_to_double(ink.y),
                    draw.pango_units_to_double(ink.width), draw.pango_units_to_double(ink.height),
                    need_text("%s", draw.pango_layout_get_text(layout))};
    if (page->upside_down) {
        box.x = page->kind.width - box.x - box.width;
        box.y = page->kind.height - box.y - box.height;
    }
    page->boxes = need_more(page->boxes, page->box_count + 1, sizeof *page->boxes);
    page->boxes[page->box_count++] = box;
}

static void place_layout(struct page *page, PangoLayout *layout, double x, double y)
{
    if (!page->drawing)
        return;
    add_box(page, x, y, layout);
    draw.cairo_save(page->cairo);
    if (page->upside_down) {
        draw.cairo_translate(page->cairo, page->kind.width, page->kind.height);
        draw.cairo_rotate(page->cairo, G_PI);
    }
    draw.cairo_move_to(page->cairo, x, y);
    draw.pango_cairo_show_layout(page->cairo, layout);
    draw.cairo_restore(page->cairo);
}

static void size_of(PangoLayout *layout, double *width, double *height)
{
    PangoRectangle box;
    draw.pango_layout_get_extents(layout, NULL, &box);
    *width = draw.pango_units_to_double(box.width);
    *height = draw.pango_units_to_double(box.height);
}

static PangoLayout *lay_out_lines(struct page *page, double width, text_style style,
                                  const char *lead, const char *text)
{
    static const PangoAlignment aligned[] = {PANGO_ALIGN_LEFT, PANGO_ALIGN_CENTER,
                                             PANGO_ALIGN_RIGHT};
    PangoLayout *layout = lay_out(page, style, lead, text);
    draw.pango_layout_set_width(layout, draw.pango_units_from_double(width));
    draw.pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    draw.pango_layout_set_alignment(layout, aligned[style.align]);
    return layout;
}

double page_text(struct page *page, double x, double y, double width, text_style style,
                 const char *lead, const char *text)
{
    PangoLayout *layout = lay_out_lines(page, width, style, lead, text);
    place_layout(page, layout, x, y);
    double wide, high;
    size_of(layout, &wide, &high);
    draw.g_object_unref(layout);
    return high;
}

void page_text_ink(struct page *page, double width, text_style style, const char *text,
                   double *above, double *height)
{
    PangoLayout *layout = lay_out_lines(page, width, style, NULL, text);
    PangoRectangle ink;
    draw.pango_layout_get_extents(layout, &ink, NULL);
    *above = draw.pango_units_to_double(ink.y);
    *height = draw.pango_units_to_double(ink.height);
    draw.g_object_unref(layout);
}

double page_line(struct page *page, double x, double y, text_style style, const char *text)
{
    static const double shift[] = {0, 0.5, 1};
    PangoLayout *layout = lay_out(page, style, NULL, text);
    draw.pango_layout_set_single_paragraph_mode(layout, TRUE);
    double wide, high;
    size_of(layout, &wide, &high);
    place_layout(page, layout, x - shift[style.align] * wide, y);
    draw.g_object_unref(layout);
    return wide;
}

double page_text_height(struct page *page, double width, text_style style, const char *text)
{
    const bool drawing = page->drawing;
    page->drawing = false;
    double height = page_text(page, 0, 0, width, style, NULL, text);
    page->drawing = drawing;
    return height;
}

double page_text_width(struct page *page, text_style style, const char *text)
{
    const bool drawing = page->drawing;
    page->drawing = false;
    double width = page_line(page, 0, 0, style, text);
    page->drawing = drawing;
    return width;
}

double page_line_height(struct page *page, text_style style)
{
    PangoLayout *layout = lay_out(page, style, NULL, "Ag");
    double wide, high;
    size_of(layout, &wide, &high);
    draw.g_object_unref(layout);
    return high;
}

/* ---------------------------------------------------------------- lines */

static void stroke(struct page *page, double thickness)
{
    draw.cairo_set_line_width(page->cairo, thickness);
    draw.cairo_stroke(page->cairo);
}

void page_rule(struct page *page, double x1, double y1, double x2, double y2, double thickness)
{
    if (!page->drawing)
        return;
    draw.cairo_move_to(page->cairo, x1, y1);
    draw.cairo_line_to(page->cairo, x2, y2);
    stroke(page, thickness);
}

void page_dots(struct page *page, double x1, double y1, double x2, double y2, double thickness)
{
    if (!page->drawing)
        return;
    draw.cairo_set_dash(page->cairo, (const double[]){1.5, 2}, 2, 0);
    page_rule(page, x1, y1, x2, y2, thickness);
    draw.cairo_set_dash(page->cairo, NULL, 0, 0);
}

void page_frame(struct page *page, double x, double y, double width, double height,
                double thickness)
{
    if (!page->drawing)
        return;
    draw.cairo_rectangle(page->cairo, x, y, width, height);
    stroke(page, thickness);
}

void page_shade(struct page *page, double x, double y, double width, double height, double darkness)
{
    if (!page->drawing)
        return;
    draw.cairo_set_source_rgb(page->cairo, 1 - darkness, 1 - darkness, 1 - darkness);
    draw.cairo_rectangle(page->cairo, x, y, width, height);
    draw.cairo_fill(page->cairo);
    draw.cairo_set_source_rgb(page->cairo, 0, 0, 0);
}
