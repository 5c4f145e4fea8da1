/* Cairo and Pango, loaded when a picture is first drawn: most commands draw none, and loading these two
 * with all that they need takes three times as long as the rest of the start. */
#ifndef BB_CLI_DRAW_LIBRARY_H
#define BB_CLI_DRAW_LIBRARY_H

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <pango/pangocairo.h>

#include "outcome.h"

/* Their functions that are called here. */
#define DRAW_FUNCTIONS(F) \
    F(cairo_append_path) F(cairo_arc) F(cairo_clip) F(cairo_close_path) \
    F(cairo_copy_path) F(cairo_create) F(cairo_destroy) F(cairo_fill) \
    F(cairo_fill_preserve) F(cairo_font_options_create) F(cairo_font_options_destroy) \
    F(cairo_font_options_set_antialias) F(cairo_font_options_set_hint_metrics) \
    F(cairo_font_options_set_hint_style) F(cairo_get_current_point) \
    F(cairo_image_surface_create) F(cairo_line_to) F(cairo_move_to) F(cairo_new_path) \
    F(cairo_paint) F(cairo_path_destroy) F(cairo_pdf_surface_create_for_stream) \
    F(cairo_pdf_surface_set_metadata) F(cairo_rectangle) F(cairo_restore) \
    F(cairo_rotate) F(cairo_save) F(cairo_set_dash) F(cairo_set_line_cap) \
    F(cairo_set_line_join) F(cairo_set_line_width) F(cairo_set_source_rgb) \
    F(cairo_show_page) F(cairo_status) F(cairo_status_to_string) F(cairo_stroke) \
    F(cairo_surface_destroy) F(cairo_surface_finish) F(cairo_surface_set_device_scale) \
    F(cairo_surface_status) F(cairo_surface_write_to_png_stream) \
    F(cairo_svg_surface_create_for_stream) F(cairo_svg_surface_set_document_unit) \
    F(cairo_translate) F(g_free) F(g_markup_escape_text) F(g_object_unref) \
    F(pango_attr_list_insert) F(pango_attr_list_new) F(pango_attr_list_unref) \
    F(pango_attr_weight_new) F(pango_cairo_context_set_font_options) \
    F(pango_cairo_font_map_get_default) F(pango_cairo_font_map_set_resolution) \
    F(pango_cairo_show_layout) F(pango_context_set_round_glyph_positions) \
    F(pango_font_description_free) F(pango_font_description_from_string) \
    F(pango_font_description_new) F(pango_font_description_set_absolute_size) \
    F(pango_font_description_set_family_static) F(pango_font_description_set_weight) \
    F(pango_font_map_create_context) F(pango_font_map_load_font) \
    F(pango_layout_get_extents) F(pango_layout_get_text) F(pango_layout_new) \
    F(pango_layout_set_alignment) F(pango_layout_set_attributes) \
    F(pango_layout_set_font_description) F(pango_layout_set_single_paragraph_mode) \
    F(pango_layout_set_text) F(pango_layout_set_width) F(pango_layout_set_wrap) \
    F(pango_units_from_double) F(pango_units_to_double)

#define DRAW_FUNCTION(name) __typeof__(name) *name;
extern struct draw_library {
    DRAW_FUNCTIONS(DRAW_FUNCTION)
} draw;
#undef DRAW_FUNCTION

/* Fills in draw; OUTCOME_SYSTEM, and says so, where the libraries are not installed. */
outcome draw_library_load(void);

#endif
