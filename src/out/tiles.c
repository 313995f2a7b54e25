#include "out/tiles.h"

#include <cairo-pdf.h>
#include <math.h>

#include "base/check.h"
#include "base/file.h"
#include "base/text.h"
#include "out/paint.h"

#define POINTS_PER_MM (72.0 / 25.4)
#define CROSS_MM 4.0
#define RULE_MM 100.0

static size_t pages_for(double length_mm, double inner_mm, double step_mm) {
    return length_mm <= inner_mm ? 1 : 1 + (size_t)ceil((length_mm - inner_mm) / step_mm - 1e-9);
}

TileGrid tiles_grid(double width_mm, double height_mm, double paper_width_mm,
                    double paper_height_mm) {
    TileGrid grid = {.inner_w_mm = paper_width_mm - 2.0 * TILE_MARGIN_MM,
                     .inner_h_mm = paper_height_mm - 2.0 * TILE_MARGIN_MM};
    grid.step_x_mm = grid.inner_w_mm - TILE_OVERLAP_MM;
    grid.step_y_mm = grid.inner_h_mm - TILE_OVERLAP_MM;
    CHECK(grid.step_x_mm > 0.0 && grid.step_y_mm > 0.0);
    grid.columns = pages_for(width_mm, grid.inner_w_mm, grid.step_x_mm);
    grid.rows = pages_for(height_mm, grid.inner_h_mm, grid.step_y_mm);
    return grid;
}

/* What is around the drawing on a page, as a list of the page's own. */
static void draw_edge(DrawList *list, const TileGrid *grid, size_t column, size_t row) {
    DrawTextStyle small = {.height_mm = STYLE_NOTE_MM};
    double left = TILE_MARGIN_MM;
    double top = TILE_MARGIN_MM;
    double right = left + grid->inner_w_mm;
    double low = top + grid->inner_h_mm;
    draw_layer(list, LAYER_FRAME);
    draw_rectangle(list, (DrawBox){left, top, right, low}, STYLE_THIN_MM);
    /* Middles of the corners that neighbours share. */
    for (int i = 0; i < 4; i++) {
        double x = i % 2 == 0 ? left + TILE_OVERLAP_MM / 2.0 : right - TILE_OVERLAP_MM / 2.0;
        double y = i < 2 ? top + TILE_OVERLAP_MM / 2.0 : low - TILE_OVERLAP_MM / 2.0;
        draw_line(list, x - CROSS_MM, y, x + CROSS_MM, y, STYLE_THIN_MM);
        draw_line(list, x, y - CROSS_MM, x, y + CROSS_MM, STYLE_THIN_MM);
    }
    draw_layer(list, LAYER_NOTE);
    draw_text_fit(list, left + RULE_MM + 6.0, low + 6.0, small,
                  arena_format(list->arena,
                               "row %zu of %zu, column %zu of %zu; print at 100 %%; crosses on "
                               "crosses",
                               row + 1, grid->rows, column + 1, grid->columns),
                  grid->inner_w_mm - RULE_MM - 6.0);
    draw_line(list, left, low + 4.0, left + RULE_MM, low + 4.0, STYLE_THIN_MM);
    for (int i = 0; i <= 10; i++) {
        double x = left + 10.0 * i;
        draw_line(list, x, low + 4.0, x, low + (i % 5 == 0 ? 1.0 : 2.5), STYLE_THIN_MM);
    }
    draw_text(list, left + 2.0, low + 8.0, small, "100 mm");
}

static cairo_status_t take_bytes(void *buffer, const unsigned char *bytes, unsigned length) {
    buffer_add(buffer, (const char *)bytes, length);
    return CAIRO_STATUS_SUCCESS;
}

Status tiles_write(const DrawList *list, double paper_width_mm, double paper_height_mm,
                   const char *path, size_t *pages) {
    Arena arena = {0};
    Buffer out = {.arena = &arena};
    TileGrid grid = tiles_grid(list->width_mm, list->height_mm, paper_width_mm, paper_height_mm);
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
        take_bytes, &out, paper_width_mm * POINTS_PER_MM, paper_height_mm * POINTS_PER_MM);
    /* The same job gives the same bytes, whatever the day. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
    cairo_t *cairo = cairo_create(surface);
    *pages = grid.columns * grid.rows;
    for (size_t i = 0; i < *pages; i++) {
        size_t column = i % grid.columns;
        size_t row = i / grid.columns;
        DrawList edge;
        draw_start(&edge, &arena, list->fonts, paper_width_mm, paper_height_mm);
        draw_edge(&edge, &grid, column, row);
        cairo_identity_matrix(cairo);
        cairo_scale(cairo, POINTS_PER_MM, POINTS_PER_MM);
        paint_list(cairo, &edge, true);
        cairo_save(cairo);
        /* Inside the frame's line, for painting the list whitens its ground. */
        double inset_mm = STYLE_THIN_MM;
        cairo_rectangle(cairo, TILE_MARGIN_MM + inset_mm, TILE_MARGIN_MM + inset_mm,
                        grid.inner_w_mm - 2.0 * inset_mm, grid.inner_h_mm - 2.0 * inset_mm);
        cairo_clip(cairo);
        cairo_translate(cairo, TILE_MARGIN_MM - (double)column * grid.step_x_mm,
                        TILE_MARGIN_MM - (double)row * grid.step_y_mm);
        paint_list(cairo, list, true);
        cairo_restore(cairo);
        /* Crosses lie above the drawing. */
        cairo_set_source_rgb(cairo, 0.1, 0.1, 0.1);
        cairo_set_line_width(cairo, STYLE_THIN_MM);
        for (size_t j = 0; j < edge.count; j++) {
            const DrawItem *item = &edge.items[j];
            if (item->kind == DRAW_PATH && item->layer == LAYER_FRAME && item->point_count == 2) {
                const DrawPoint *points = draw_points(&edge, item);
                cairo_move_to(cairo, points[0].x_mm, points[0].y_mm);
                cairo_line_to(cairo, points[1].x_mm, points[1].y_mm);
            }
        }
        cairo_stroke(cairo);
        cairo_show_page(cairo);
    }
    cairo_destroy(cairo);
    cairo_surface_finish(surface);
    cairo_status_t said = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    Status status = said == CAIRO_STATUS_SUCCESS
                        ? file_write(path, out.bytes, out.length)
                        : status_failed(cairo_status_to_string(said), path, 0);
    arena_free(&arena);
    return status;
}
